"""The driver of LibreOffice: what it reads and writes, and what it says where there is none."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import office
import pytest
from office import Office, OfficeMissing, address, installed

from cultivar_fx.errors import CellError
from workbook_template import system_packages

if TYPE_CHECKING:
    from collections.abc import Iterator


def test_values_blanks_and_errors_come_back(office: Office) -> None:
    with office.document() as document:
        sheet = document.sheets[0]
        document.write(sheet, 0, 0, [[1.5, None, "wet", CellError("#DIV/0!", "")]])
        assert document.read(sheet, 0, 0, right=4) == [[1.5, None, "wet", CellError("#DIV/0!", "")]]


@pytest.mark.parametrize(
    ("formula", "code"),
    [
        ("SQRT(-1)", "#NUM!"),
        ("#NUM!", "#NUM!"),
        ('"wet"+1', "#VALUE!"),
        ("NA()", "#N/A"),
        ("1/0", "#DIV/0!"),
        ("NO_SUCH_FUNCTION()", "#NAME?"),
        ("#REF!", "#REF!"),
    ],
)
def test_errors_are_those_that_excel_shows(office: Office, formula: str, code: str) -> None:
    # Excel's error of each formula: from memory.
    with office.document() as document:
        document.fill(document.sheets[0], 0, 0, formula)
        assert document.read(document.sheets[0], 0, 0) == [[CellError(code, "")]]


def test_file_keeps_formulas_and_is_computed_anew(office: Office, tmp_path: Path) -> None:
    with office.document() as document:
        document.write(document.sheets[0], 0, 0, [[2.0, 3.0]])
        document.fill(document.sheets[0], 0, 2, "A1*B1")
        document.fill(document.sheets[0], 0, 3, "A1/0")
        document.store(tmp_path / "product.xlsx")
    with office.document(tmp_path / "product.xlsx") as document:
        document.write(document.sheets[0], 0, 0, [[5.0]])
        document.calculate()
        sheet = document.contents()[document.sheets[0]]
    assert sheet.values[0][:3] == [5.0, 3.0, 15.0]
    assert sheet.formulas[0][2] == "=A1*B1"
    assert sheet.errors() == {"D1": "#DIV/0!"}


def test_what_is_written_into_a_kept_document_is_taken_back(office: Office, tmp_path: Path) -> None:
    error = CellError("#N/A", "")
    with office.document() as document:
        document.write(document.sheets[0], 0, 0, [["wet", 2.0, None, None, error]])
        document.write_formulas(document.sheets[0], 0, 2, [["=B1*2"]])
        document.write_formulas(document.sheets[0], 0, 3, [["'=1+1"]])
        document.store(tmp_path / "kept.xlsx")
    with office.kept(tmp_path / "kept.xlsx") as document:
        sheet = document.sheets[0]
        for number in (5.0, 7.0):
            document.write(sheet, 0, 0, [[number] * 2, [number] * 2])
        document.fill(sheet, 0, 2, "A1", right=3)
        assert document.read(sheet, 0, 0, right=5) == [[7.0] * 5]
    with office.kept(tmp_path / "kept.xlsx") as document:
        found = document.contents()[sheet]
    assert found.formulas[0] == ["wet", "2", "=B1*2", "=1+1", "=#N/A"]
    assert found.values[0] == ["wet", 2.0, 4.0, "=1+1", error]
    assert not any(map(any, found.values[1:]))


def test_failed_request_says_why_and_the_office_lives_on(office: Office) -> None:
    with office.document() as document:
        with pytest.raises(RuntimeError, match="no such sheet"):
            document.read("no such sheet", 0, 0)
        assert document.read(document.sheets[0], 0, 0) == [[None]]


@pytest.fixture
def nothing_installed(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No program on the PATH, and none in the folders where LibreOffice may be."""
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.setattr(office, "office_folders", list)
    installed.cache_clear()
    yield
    installed.cache_clear()


# The commands that install LibreOffice elsewhere than on Debian: from memory.
@pytest.mark.parametrize(
    ("platform", "is_debian", "install"),
    [
        ("linux", True, "apt-get install .*libreoffice-calc python3-uno"),
        ("linux", False, "libreoffice.org"),
        ("darwin", False, "brew install --cask libreoffice"),
        ("win32", False, "winget install TheDocumentFoundation.LibreOffice"),
    ],
)
@pytest.mark.usefixtures("nothing_installed")
def test_missing_office_is_named_with_what_to_install(
    platform: str, is_debian: bool, install: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(system_packages, "is_debian", lambda: is_debian)
    with pytest.raises(OfficeMissing, match=install):
        installed()


@pytest.mark.usefixtures("nothing_installed")
def test_office_off_the_path_is_found_with_its_own_python(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "soffice").touch()
    bridge = tmp_path / "python"
    bridge.write_text("#!/bin/sh\n")
    bridge.chmod(0o755)
    monkeypatch.setattr(office, "office_folders", lambda: [tmp_path])
    monkeypatch.setattr(Path, "exists", lambda path: tmp_path in path.parents and path.is_file())
    assert installed() == (str(bridge), str(tmp_path / "soffice"))


@pytest.mark.parametrize(
    ("row", "column", "name"), [(0, 0, "A1"), (6, 25, "Z7"), (9, 702, "AAA10")]
)
def test_address(row: int, column: int, name: str) -> None:
    assert address(row, column) == name
