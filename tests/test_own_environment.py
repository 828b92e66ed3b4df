"""The environment that the README's commands make for themselves, with pip stood in for."""

from __future__ import annotations

import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from workbook_template import own_environment

PROGRAMS = Path(own_environment.__file__).parent


class Pip:
    """Keeps what it was asked for; fails where it is told to."""

    def __init__(self) -> None:
        self.asked: list[list[str]] = []
        self.fails = False

    def run(self, command: list[Any], **_: Any) -> subprocess.CompletedProcess[str]:
        self.asked.append([str(part) for part in command])
        if self.fails:
            raise subprocess.CalledProcessError(1, "pip")
        return subprocess.CompletedProcess(command, 3)


@pytest.fixture
def pip(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Pip:
    """Stand in for pip and for venv, in a checkout of its own."""
    pip = Pip()
    environment = tmp_path / ".venv"

    def create(folder: Path, **_: object) -> None:
        folder.mkdir()
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


def test_failed_installation_says_what_it_takes_and_is_tried_again(pip: Pip) -> None:
    pip.fails = True
    with pytest.raises(SystemExit, match="python3-venv"):
        own_environment.set_up()
    pip.fails = False
    own_environment.set_up()
    assert len(pip.asked) == 2


def test_python_that_is_too_old_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 9))
    with pytest.raises(SystemExit, match=r"needs Python 3\.11 or later"):
        own_environment.set_up()


@pytest.mark.parametrize(
    ("program", "module", "ending"),
    [
        ("make_demo.py", "cultivar_fx.cli", ["--demo", "--units", "us", "--force"]),
        ("make_samples.py", "workbook_template.invented.samples", []),
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
