"""What all tests share: one running office, and randomness that repeats."""

from __future__ import annotations

import os
import tempfile
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings
from office import Office, OfficeMissing, installed

if TYPE_CHECKING:
    from collections.abc import Iterator

COUNTS = pytest.StashKey[Counter[str]]()

# One of the libraries that only tests need brings lxml along, which openpyxl then reads and writes
# with. Most farms' computers have none; test_file_format.py tries both.
os.environ.setdefault("OPENPYXL_LXML", "False")

# Every run draws the same inputs, unless --seed says otherwise.
settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.load_profile("repeatable")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--seed", default="0", help="draw other random inputs for the native formulas")
    parser.addoption(
        "--carry-over-seeds", default="12", help="how many workbooks to work with at random"
    )


def pytest_configure(config: pytest.Config) -> None:
    config.stash[COUNTS] = Counter()


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Hand on what one of several processes counted."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["counts"] = dict(session.config.stash[COUNTS])


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Add up what the processes counted."""
    node.config.stash[COUNTS].update(getattr(node, "workeroutput", {}).get("counts", {}))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for what, count in sorted(terminalreporter.config.stash[COUNTS].items()):
        terminalreporter.write_line(f"{count} {what}")


@pytest.fixture(scope="session", autouse=True)
def temporary_files() -> Iterator[None]:
    """Keep all files that tests make in one folder, which goes with them."""
    before = tempfile.tempdir
    with tempfile.TemporaryDirectory(prefix="tests-", ignore_cleanup_errors=True) as folder:
        Path(folder).chmod(0o711)  # where root runs the tests, nobody installs the add-in there
        tempfile.tempdir = folder
        yield
        tempfile.tempdir = before


@pytest.fixture(scope="session")
def seed(request: pytest.FixtureRequest) -> str:
    return str(request.config.getoption("--seed"))


@pytest.fixture(scope="session")
def counts(request: pytest.FixtureRequest) -> Counter[str]:
    """What the summary of the run counts, by its description."""
    return request.config.stash[COUNTS]


@pytest.fixture(scope="session")
def office() -> Iterator[Office]:
    """One LibreOffice for all tests. Without it they fail: nothing else proves the formulas."""
    missing = ""
    try:
        installed()
    except OfficeMissing as error:
        missing = str(error)
    if missing:
        pytest.fail(missing, pytrace=False)
    with Office() as running:
        yield running
