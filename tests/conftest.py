"""What all tests share: one running office, and randomness that repeats."""

from __future__ import annotations

import gc
import os
import tempfile
from collections import Counter
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import iterparse

import as_on_farms  # noqa: F401
import pytest
import shared
from hypothesis import settings
from needed import NEEDED, all_must_run
from office import Office
from openpyxl.worksheet import _reader

if TYPE_CHECKING:
    from collections.abc import Generator, Iterator
    from types import ModuleType

# The library's own way of reading harmless XML takes a fifth longer for a workbook. What tests hand
# to it they, or LibreOffice, wrote; strangers' files go through the package's reader.
_reader.iterparse = iterparse

COUNTS = pytest.StashKey[Counter[str]]()
NOT_RUN = pytest.StashKey[dict[str, int]]()

# Every run draws the same inputs, unless --seed says otherwise.
settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.load_profile("repeatable")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--seed", default="0", help="draw other random inputs for the native formulas")
    parser.addoption(
        "--carry-over-seeds", default="4", help="how many workbooks to work with at random"
    )
    parser.addoption(
        "--history-seeds", default="2", help="how many honest histories a workbook lives through"
    )
    parser.addoption("--farm-seeds", default="30", help="how many farms to simulate losses of")


def pytest_configure(config: pytest.Config) -> None:
    config.stash[COUNTS] = Counter()
    config.stash[NOT_RUN] = {}
    if not hasattr(config, "workerinput"):
        folder = tempfile.TemporaryDirectory(prefix="shared-", ignore_cleanup_errors=True)
        os.environ[shared.VARIABLE] = folder.name
        config.add_cleanup(folder.cleanup)


@pytest.hookimpl(trylast=True)  # what is chosen by name has been chosen
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the tests whose fixtures need what this machine lacks, unless all must run."""
    if all_must_run():
        return
    for fixture, missing in NEEDED.items():
        needing = [item for item in items if fixture in getattr(item, "fixturenames", ())]
        if needing and (reason := missing()):
            left_out = set(needing)
            items[:] = [item for item in items if item not in left_out]
            config.hook.pytest_deselected(items=needing)
            config.stash[NOT_RUN][reason] = len(needing)


def pytest_collection_finish() -> None:
    """Look for no garbage among the tests and what they import: all of it stays to the end.

    Workbooks come and go by hundreds of thousands of cells, so it is looked for more rarely, too.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 10, 10)


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> Generator[None]:
    """Hand on what one of several processes counted; end with what was not run."""
    config = session.config
    is_worker = hasattr(config, "workeroutput")
    if is_worker:
        config.workeroutput["counts"] = dict(config.stash[COUNTS])
        config.workeroutput["not run"] = config.stash[NOT_RUN]
    yield
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    if reporter is not None and not is_worker:
        for reason, count in config.stash[NOT_RUN].items():
            were = "test was" if count == 1 else "tests were"
            reporter.write_line(f"{count} {were} not run. {reason}")


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Add up what the processes counted."""
    output = getattr(node, "workeroutput", {})
    node.config.stash[COUNTS].update(output.get("counts", {}))
    node.config.stash[NOT_RUN].update(output.get("not run", {}))  # the same from each


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


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Tell a test how many farms to simulate."""
    if "farm_seeds" in metafunc.fixturenames:
        seeds = int(metafunc.config.getoption("--farm-seeds"))
        metafunc.parametrize("farm_seeds", [seeds], ids=[f"{seeds} farms"])


@pytest.fixture
def without_values() -> Iterator[None]:
    """Let workbooks be written without the values of their formulas, and large.

    For tests of what was typed: the values take a quarter of the time of a carry-over.
    """
    with shared.without_values():
        yield


@pytest.fixture(scope="session")
def coolprop() -> ModuleType:
    """A library that takes seconds to load, in the process that asks for it only."""
    return import_module("CoolProp.CoolProp")


@pytest.fixture(scope="session")
def libreoffice() -> None:
    """What needs LibreOffice asks for it here. Nothing else proves the formulas."""
    if missing := NEEDED["libreoffice"]():
        pytest.fail(missing, pytrace=False)


@pytest.fixture(scope="session")
def pyodide() -> None:
    """What needs Pyodide asks for it here."""
    if missing := NEEDED["pyodide"]():
        pytest.fail(missing, pytrace=False)


@pytest.fixture(scope="session")
def office(libreoffice: None) -> Iterator[Office]:
    """One LibreOffice for all tests."""
    with Office() as running:
        yield running
