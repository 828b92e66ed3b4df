"""The environment that the README's commands make for themselves, with pip stood in for."""

from __future__ import annotations

import ast
import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from workbook_template import bootstrap as own_environment
from workbook_template import system_packages

PROGRAMS = Path(own_environment.__file__).parent


class Pip:
    """Keeps what it was asked for; ends in the ways it is told to."""

    def __init__(self) -> None:
        self.asked: list[list[str]] = []
        self.complaint = ""

    def run(self, command: list[Any], **_: Any) -> subprocess.CompletedProcess[str]:
        self.asked.append([str(part) for part in command])
        if "pip" in self.asked[-1]:
            return subprocess.CompletedProcess(command, int(bool(self.complaint)), self.complaint)
        return subprocess.CompletedProcess(command, 3)


@pytest.fixture
def pip(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Pip:
    """Stand in for pip and for venv, in a checkout of its own."""
    pip = Pip()
    environment = tmp_path / ".venv"

    def create(folder: Path, **_: object) -> None:
        folder.mkdir(exist_ok=True)
        (folder / "python").touch()

    (tmp_path / "pyproject.toml").write_text("one")
    monkeypatch.setattr(own_environment, "PROJECT", tmp_path)
    monkeypatch.setattr(own_environment, "ENVIRONMENT", environment)
    monkeypatch.setattr(own_environment, "PYTHON", environment / "python")
    monkeypatch.setattr(own_environment.venv, "create", create)
    monkeypatch.setattr(subprocess, "run", pip.run)
    return pip


def test_first_use_installs_the_project_and_says_so(
    pip: Pip, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert own_environment.set_up("test") == tmp_path / ".venv" / "python"
    assert [command[-2:] for command in pip.asked] == [["-e", ".[test]"]]
    assert "this is done once" in capsys.readouterr().err


def test_second_use_installs_nothing(pip: Pip) -> None:
    own_environment.set_up()
    own_environment.set_up()
    assert [command[-1] for command in pip.asked] == ["."]


def test_another_extra_is_installed_into_the_same_environment(pip: Pip) -> None:
    own_environment.set_up()
    own_environment.set_up("test")
    assert [command[-1] for command in pip.asked] == [".", ".[test]"]


def test_changed_requirements_are_installed(pip: Pip, tmp_path: Path) -> None:
    own_environment.set_up()
    (tmp_path / "pyproject.toml").write_text("two")
    own_environment.set_up()
    assert len(pip.asked) == 2


# What pip 23 writes without a connection, with a full disk, and for a library that is not there.
@pytest.mark.parametrize(
    ("complaint", "sentence"),
    [
        (
            "WARNING: Retrying (Retry(total=0, connect=None)) after connection broken\n"
            "ERROR: Could not find a version that satisfies the requirement setuptools>=77 "
            "(from versions: none)\nERROR: No matching distribution found for setuptools>=77\n",
            r"^pip cannot reach PyPI \(pypi.org\).*try again",
        ),
        (
            "ERROR: Could not install packages due to an OSError: [Errno 28] No space left\n",
            r"^pip cannot install the libraries: .* No space left What pip says: ",
        ),
        (
            "ERROR: No matching distribution found for pint>=0.24.4\nERROR: more\n",
            r"libraries: No matching distribution found for pint>=0.24.4 What pip says: ",
        ),
        ("Killed\n", r"libraries: it ends with status 1. What pip says: "),
    ],
)
def test_failed_installation_is_one_line_and_is_tried_again(
    pip: Pip, complaint: str, sentence: str
) -> None:
    pip.complaint = complaint
    with pytest.raises(SystemExit, match=sentence) as ended:
        own_environment.set_up()
    assert "\n" not in str(ended.value)
    pip.complaint = ""
    own_environment.set_up()
    assert len(pip.asked) == 2


def test_words_of_a_pip_within_pip_are_read_in_its_log(
    pip: Pip, monkeypatch: pytest.MonkeyPatch
) -> None:
    def run(command: list[Any], **_: Any) -> subprocess.CompletedProcess[str]:
        log = Path(command[command.index("--log") + 1])
        log.write_text("2026-03-14   WARNING: Retrying (Retry(total=4)) after connection broken\n")
        return subprocess.CompletedProcess(command, 1, "error: subprocess-exited-with-error\n")

    monkeypatch.setattr(subprocess, "run", run)
    with pytest.raises(SystemExit, match=r"^pip cannot reach PyPI"):
        own_environment.set_up()


def test_environment_that_was_never_finished_is_made_anew(
    pip: Pip, monkeypatch: pytest.MonkeyPatch
) -> None:
    pip.complaint = "ERROR: no"
    with pytest.raises(SystemExit):
        own_environment.set_up()
    made: list[Path] = []
    monkeypatch.setattr(own_environment.venv, "create", lambda folder, **_: made.append(folder))
    pip.complaint = ""
    own_environment.set_up()
    own_environment.set_up("test")
    assert made == [own_environment.ENVIRONMENT]


@pytest.fixture
def debian_without_venv(monkeypatch: pytest.MonkeyPatch) -> None:
    """Debian's own Python, whose installer of pip is in a package of its own."""
    monkeypatch.setattr(own_environment, "find_spec", lambda _: None)
    monkeypatch.setattr(system_packages, "is_debian", lambda: True)


@pytest.mark.usefixtures("debian_without_venv")
def test_debian_gets_what_makes_an_environment_first(
    pip: Pip, monkeypatch: pytest.MonkeyPatch
) -> None:
    installed: list[str] = []
    monkeypatch.setattr(system_packages, "install", installed.append)
    own_environment.set_up()
    assert installed == [f"python3.{sys.version_info.minor}-venv"]  # Debian's name for it
    assert len(pip.asked) == 1


@pytest.mark.usefixtures("debian_without_venv", "pip")
def test_debian_that_may_not_be_changed_is_told_the_command(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refused(*_: str) -> None:
        raise system_packages.NotInstalled("installing needs root")

    monkeypatch.setattr(system_packages, "install", refused)
    with pytest.raises(SystemExit, match=r"needs root\. .*: sudo apt-get install .*-venv$"):
        own_environment.set_up()


@pytest.mark.parametrize("name", ["bootstrap.py", "make_demo.py", "make_samples.py"])
def test_what_says_so_can_be_read_by_a_python_that_is_too_old(name: str) -> None:
    ast.parse((PROGRAMS / name).read_text(encoding="utf-8"), feature_version=(3, 6))
    assert "from __future__" not in (PROGRAMS / name).read_text(encoding="utf-8")


def test_python_that_is_too_old_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 9))
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or later"):
        own_environment.set_up()


@pytest.mark.parametrize(
    ("program", "module", "ending"),
    [
        ("make_demo.py", "workbook_template.cli", ["--demo", "--units", "us", "--force"]),
        ("make_samples.py", "workbook_template.demo.samples", []),
    ],
)
def test_command_runs_in_the_environment_and_hands_on_its_status(
    pip: Pip, program: str, module: str, ending: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", [program, "--force"])
    monkeypatch.setattr(sys, "path", [*sys.path])
    with pytest.raises(SystemExit) as ended:
        runpy.run_path(str(PROGRAMS / program), run_name="__main__")
    assert ended.value.code == 3
    assert pip.asked[-1][1:3] == ["-m", module]
    assert pip.asked[-1][len(pip.asked[-1]) - len(ending) :] == ending
