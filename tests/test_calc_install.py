"""Finding LibreOffice's program for extensions, and its complaints in a sentence."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from cultivar_fx.hosts import calc_install


@pytest.fixture
def office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of a LibreOffice with the program for extensions, and no other one."""
    program = tmp_path / "unopkg"
    program.touch()
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.setattr(calc_install, "office_folders", lambda: [tmp_path])
    return tmp_path


LISTED = "All deployed user extensions:\n\nIdentifier: org.cultivar_fx.calc\n  Version: 0.1.0\n"
NOT_LISTED = "All deployed user extensions:\n\nIdentifier: org.cultivar_fx.calculator\n"
"""As LibreOffice 24.2 writes its list."""


def answering(monkeypatch: pytest.MonkeyPatch, *endings: tuple[int, str]) -> list[list[str]]:
    """Let the program end in these ways, one after the other, and give what it is asked."""
    asked: list[list[str]] = []
    left = list(endings)

    def run(command: list[str], **_: Any) -> subprocess.CompletedProcess[str]:
        asked.append(command)
        status, words = left.pop(0)
        out, complaint = ("", words) if status else (words, "")
        return subprocess.CompletedProcess(command, status, out, complaint)

    monkeypatch.setattr(subprocess, "run", run)
    return asked


@pytest.mark.parametrize(
    ("complaint", "sentence"),
    [
        ("cannot run unopkg as root", "it takes no functions for root. Run the command as the"),
        ("noise\nERROR: Exception occurred: no room at ./desktop.cxx:9", "refuses: no room$"),
        ("out of order", "refuses: out of order$"),
        ("", "refuses: it does not say why.$"),
    ],
)
def test_complaint_becomes_a_sentence(
    office: Path, complaint: str, sentence: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for change in (calc_install.install, calc_install.uninstall):
        answering(monkeypatch, (1, complaint))
        with pytest.raises(ValueError, match=sentence):
            change(office / "profile")


def test_old_one_is_taken_out_by_nothing_but_the_new_one(
    office: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = answering(monkeypatch, (0, ""), (0, LISTED))
    assert calc_install.install(office / "profile").startswith("Installed")
    assert [command[1] for command in asked] == ["add", "list"]
    assert "--force" in asked[0]


def test_removal_that_does_not_last_is_an_error(
    office: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answering(monkeypatch, (0, LISTED), (0, ""), (0, LISTED))
    with pytest.raises(ValueError, match="still lists it"):
        calc_install.uninstall(office / "profile")


def test_nothing_is_removed_where_another_is_installed(
    office: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = answering(monkeypatch, (0, NOT_LISTED))
    assert "nothing was done" in calc_install.uninstall(office / "profile")
    assert len(asked) == 1


def test_installation_that_is_not_listed_afterwards_is_an_error(
    office: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = answering(monkeypatch, (0, ""), (0, NOT_LISTED))
    with pytest.raises(ValueError, match="does not list it"):
        calc_install.install(office / "profile")
    assert [command[1] for command in asked] == ["add", "list"]


def test_program_that_does_not_end_is_an_error(
    office: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def run(command: list[str], **_: Any) -> None:
        raise subprocess.TimeoutExpired(command, 1)

    monkeypatch.setattr(subprocess, "run", run)
    with pytest.raises(ValueError, match="does not end"):
        calc_install.uninstall(office / "profile")


def test_office_without_python_says_so(office: Path) -> None:
    (office / "soffice.bin").touch()
    with pytest.raises(ValueError, match="has no Python"):
        calc_install.install(office / "profile")


@pytest.mark.parametrize(
    ("platform", "folder"),
    [
        ("win32", Path("C:/Programs", "LibreOffice", "program")),
        ("darwin", Path("/Applications/LibreOffice.app/Contents/MacOS")),
        ("linux", Path("/usr/lib/libreoffice/program")),
    ],
)
def test_usual_places_of_each_system(
    platform: str, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ProgramFiles", "C:/Programs")
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert folder in calc_install.office_folders()


@pytest.mark.parametrize(
    ("platform", "profile"),
    [
        ("win32", "settings/LibreOffice/4"),
        ("darwin", "home/Library/Application Support/LibreOffice/4"),
        ("linux", "config/libreoffice/4"),
    ],
)
def test_running_office_is_known_by_the_lock_in_the_usual_profile(
    office: Path, platform: str, profile: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("APPDATA", str(office / "settings"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(office / "config"))
    monkeypatch.setattr(Path, "home", lambda: office / "home")
    monkeypatch.setattr(sys, "platform", platform)
    (office / profile).mkdir(parents=True)
    (office / profile / ".lock").touch()
    with pytest.raises(ValueError, match="LibreOffice is running"):
        calc_install.install()
