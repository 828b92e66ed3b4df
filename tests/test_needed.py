"""What the test command does where LibreOffice is missing, with the system stood in for."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import needed
import office
import pytest

from workbook_template import system_packages

TESTS = Path(__file__).parent
MISSING = "LibreOffice Calc or its Python bridge is missing"


class System:
    """A Debian that keeps what is run in it; what fails there is told by its words."""

    def __init__(self) -> None:
        self.ran: list[str] = []
        self.failing: dict[str, str] = {}

    def run(self, command: list[str], **_: Any) -> subprocess.CompletedProcess[str]:
        line = " ".join(command)
        self.ran.append(line)
        complaints = [says for words, says in self.failing.items() if words in line]
        return subprocess.CompletedProcess(command, bool(complaints), "".join(complaints))


@pytest.fixture
def system(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> System:
    """Stand in for a Debian without LibreOffice, where root works."""
    system = System()
    debian = tmp_path / "debian_version"
    debian.touch()
    monkeypatch.setattr(system_packages, "DEBIAN", debian)
    monkeypatch.setattr(shutil, "which", lambda name: None if "office" in name else name)
    monkeypatch.setattr(subprocess, "run", system.run)
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(office, "office_folders", list)
    monkeypatch.delenv("CI", raising=False)
    office.installed.cache_clear()
    return system


def test_root_of_debian_gets_it_and_is_told(
    system: System, capsys: pytest.CaptureFixture[str]
) -> None:
    needed.install_office()
    begin = "env DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=120"
    names = "libreoffice-calc python3-uno fonts-liberation"
    assert system.ran == [
        f"{begin} update",
        f"{begin} install --yes --no-install-recommends {names}",
    ]
    said = capsys.readouterr().err
    assert re.fullmatch(r"Installing libreoffice-calc, .* with apt-get; .*once\.\n", said)


def test_sudo_without_a_password_is_used(system: System, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    needed.install_office()
    assert system.ran[0] == "sudo -n true"
    assert all(line.startswith("sudo -n env DEBIAN") for line in system.ran[1:])
    assert len(system.ran) == 3


@pytest.mark.parametrize(
    ("failing", "reason"),
    [
        ({"sudo -n true": "password"}, "installing needs root, or sudo without a password"),
        ({"apt-get": "E: Unable to locate package\nE: more"}, "apt-get failed: E: Unable to loc"),
    ],
)
def test_where_it_cannot_be_installed_one_line_says_why(
    failing: dict[str, str],
    reason: str,
    system: System,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    system.failing = failing
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    needed.install_office()
    said = capsys.readouterr().err.splitlines()
    assert said[-1].startswith(f"LibreOffice is missing and cannot be installed: {reason}")
    assert said[-1].endswith("What needs it is not run.")


def test_other_systems_are_left_alone(system: System, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(system_packages, "DEBIAN", TESTS / "no such file")
    needed.install_office()
    assert system.ran == []


def test_where_a_change_is_checked_it_is_a_failure(
    system: System, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CI", "true")
    system.failing = {"apt-get": "E: no network"}
    with pytest.raises(SystemExit, match=r"apt-get failed: E: no network\. All tests have to run"):
        needed.install_office()


def test_nothing_is_done_where_it_is_there(system: System, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(needed, "office_missing", str)
    needed.install_office()
    assert system.ran == []


def run_without_office(tmp_path: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a file of tests, of which some need LibreOffice, where none is found."""
    hidden = (
        "import office\noffice.office_folders = list\noffice.shutil.which = lambda name: None\n"
    )
    (tmp_path / "hidden_office.py").write_text(hidden)
    paths = os.pathsep.join([str(tmp_path), str(TESTS / "support"), str(TESTS.parent)])
    command = [sys.executable, "-m", "pytest", "-p", "hidden_office", "test_texts.py"]
    return subprocess.run(
        command,
        cwd=TESTS,
        env={**os.environ, "CI": "", "PYTHONPATH": paths, **environment},
        capture_output=True,
        encoding="utf-8",
    )


def test_what_needs_it_is_counted_at_the_end_with_the_command(tmp_path: Path) -> None:
    done = run_without_office(tmp_path)
    last = done.stdout.splitlines()[-1]
    assert done.returncode == 0, done.stdout
    assert last.startswith(f"1 test was not run. {MISSING}. This installs it: ")
    assert "1 deselected" in done.stdout


def test_what_needs_it_fails_where_a_change_is_checked(tmp_path: Path) -> None:
    done = run_without_office(tmp_path, CI="true")
    assert done.returncode == 1
    assert f"{MISSING}. This installs it: " in done.stdout
    assert "deselected" not in done.stdout
