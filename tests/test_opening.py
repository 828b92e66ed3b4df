"""Opening a workbook: our own in every guise, the rest in a sentence."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from packages import BOOK, BOOK_RELATIONS, SHEET_RELATIONS, packed, parts, small_workbook, with_part
from workbooks import made

from workbook_template.errors import (
    CannotRead,
    Encrypted,
    NotAWorkbook,
    Refusal,
    TooLarge,
    Unsafe,
)
from workbook_template.safety import scan
from workbook_template.safety.opening import filled_cells, open_workbook, schema_version
from workbook_template.safety.package import examine
from workbook_template.safety.scan import Limits
from workbook_template.schema import SCHEMA_VERSION
from workbook_template.writing.layout import input_name

if TYPE_CHECKING:
    from office import Office
    from openpyxl import Workbook

    from workbook_template.safety.opening import OpenedWorkbook


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    path = tmp_path / "farm.xlsx"
    path.write_bytes(small_workbook())
    return path


def contents(workbook: Workbook) -> dict[str, object]:
    """Return every filled cell by its place."""
    return {
        f"{sheet.title}!{cell.coordinate}": cell.value
        for sheet in workbook.worksheets
        for cell in filled_cells(sheet)
    }


def with_values(opened: OpenedWorkbook) -> dict[str, object]:
    """Return the same with the stored value in place of each formula."""
    cells = {
        (sheet.title, cell.row, cell.column): cell
        for sheet in opened.formulas.worksheets
        for cell in filled_cells(sheet)
    }
    formulas = {place for place, cell in cells.items() if cell.data_type == "f"}
    stored = {(name, *at): cell for name, one in opened.values.items() for at, cell in one.items()}
    assert stored.keys() <= formulas
    kept = {place: cell for place, cell in cells.items() if place not in formulas} | stored
    return {f"{name}!{cell.coordinate}": cell.value for (name, _, _), cell in kept.items()}


@pytest.mark.parametrize(("units", "filled"), [("us", "demo"), ("metric", "empty")])
def test_every_cell_of_a_workbook_is_read(units: str, filled: str) -> None:
    """The library reads the same file without our checks: no cell more, none less."""
    workbook = made(units, filled)
    opened = open_workbook(workbook.path)
    assert contents(opened.formulas) == contents(workbook.formulas)
    assert with_values(opened) == contents(workbook.values)


def test_names_tables_comments_and_validations_are_read(farm: Path) -> None:
    workbook = open_workbook(farm).formulas
    sheet = workbook["Ingredients"]
    assert sheet["A28"].comment.text == "weighed twice"
    assert list(sheet.tables) == ["Ingredients"]
    assert input_name("farm_name") in workbook.defined_names
    assert sheet.data_validations.dataValidation


def test_a_workbook_that_libreoffice_saved_is_known(
    farm: Path, tmp_path: Path, office: Office
) -> None:
    with office.document(farm) as document:
        document.store(tmp_path / "again.xlsx")
    workbook = open_workbook(tmp_path / "again.xlsx").formulas
    assert schema_version(workbook, "again.xlsx") == SCHEMA_VERSION
    assert workbook["Ingredients"]["D7"].value == 2.5
    assert workbook["Ingredients"]["A7"].data_type == "s"


def test_a_workbook_with_macros_is_read_without_them(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsm"
    main = "openxmlformats-officedocument.spreadsheetml.sheet.main"
    with_macros = {**parts(), "xl/vbaProject.bin": b"\xd0\xcf"}
    types = with_macros["[Content_Types].xml"].decode()
    types = types.replace(main, "ms-excel.sheet.macroEnabled.main")
    path.write_bytes(packed({**with_macros, "[Content_Types].xml": types.encode()}))
    workbook = open_workbook(path).formulas
    assert workbook["Ingredients"]["D7"].value == 2.5
    assert workbook.vba_archive is None


def test_pivot_tables_and_pictures_are_passed_over(tmp_path: Path) -> None:
    """Even where they are broken: nobody reads them."""
    kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    changed = parts()
    for name, old, new in (
        (BOOK, "</definedNames>", '</definedNames><pivotCaches><pivotCache cacheId="1" r:id="p1"/>'
         "</pivotCaches>"),
        (BOOK_RELATIONS, "</Relationships>", f'<Relationship Id="p1" Target="pivotCache/p.xml" '
         f'Type="{kind}/pivotCacheDefinition"/></Relationships>'),
        (SHEET_RELATIONS, "</Relationships>", f'<Relationship Id="d1" Target="/xl/d.xml" '
         f'Type="{kind}/drawing"/></Relationships>'),
    ):  # fmt: skip
        changed[name] = changed[name].replace(old.encode(), new.encode())
    broken = b"<a><b></a>"
    path = tmp_path / "farm.xlsx"
    path.write_bytes(packed({**changed, "xl/pivotCache/p.xml": broken, "xl/d.xml": broken}))
    assert open_workbook(path).formulas["Ingredients"]["D7"].value == 2.5


def test_a_larger_workbook_is_read_on_demand(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scan, "USUAL", Limits(work=1000))
    with pytest.raises(TooLarge, match="add --large"):
        open_workbook(farm)
    assert open_workbook(farm, large=True).formulas["Ingredients"]["D7"].value == 2.5


def test_limits_are_limits() -> None:
    with pytest.raises(TooLarge):
        examine(small_workbook(), "farm.xlsx", limits=Limits(file_bytes=1000))
    with pytest.raises(TooLarge):
        examine(small_workbook(), "farm.xlsx", limits=Limits(unpacked_bytes=1000))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("none.xlsx", "There is no file"),
        (".", "is a folder"),
        ("x" * 300, "its name is too long"),
        ("farm.xlsx/farm.xlsx", "not a directory"),
        ("a\0b", "There is no file"),
    ],
)
def test_a_place_without_a_workbook_is_one_sentence(farm: Path, name: str, words: str) -> None:
    with pytest.raises(CannotRead, match=words) as refusal:
        open_workbook(farm.parent / name)
    assert str(refusal.value).isprintable()


def test_what_never_ends_is_no_file(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.xlsx")
    with pytest.raises(CannotRead, match="is not a file"):
        open_workbook(tmp_path / "pipe.xlsx")


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="a system without devices")
def test_a_device_that_takes_the_place_of_a_file_is_no_file(
    farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even where it does so after somebody looked."""
    opened = os.open
    monkeypatch.setattr(os, "open", lambda _, flags: opened("/dev/zero", flags))
    with pytest.raises(CannotRead, match="is not a file"):
        open_workbook(farm)


def test_a_file_that_another_program_holds_is_one_sentence(
    farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object) -> None:  # what Windows says of a workbook that is open in a program
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(os, "open", held)
    with pytest.raises(CannotRead, match="it is open in another program, or you have no perm"):
        open_workbook(farm)


COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1")


@pytest.mark.parametrize(
    ("data", "kind", "cure"),
    [
        (packed({"mimetype": b"x"}), NotAWorkbook, "save it as Excel 2007-365"),
        (packed({"xl/workbook.bin": b"x"}), NotAWorkbook, "save it as .xlsx"),
        (COMPOUND, NotAWorkbook, "save it as .xlsx"),
        (COMPOUND + "EncryptedPackage".encode("utf-16-le"), Encrypted, "save it without one"),
    ],
    ids=["ods", "xlsb", "xls", "encrypted"],
)
def test_the_sentence_about_another_kind_says_what_to_do(
    tmp_path: Path, data: bytes, kind: type[Refusal], cure: str
) -> None:
    (tmp_path / "farm").write_bytes(data)
    with pytest.raises(kind, match=cure):
        open_workbook(tmp_path / "farm")


@pytest.mark.parametrize(
    ("part", "cure"),
    [
        ("xl/vbaProject.bin", "save it as a workbook without macros"),
        ("xl/externalLinks/externalLink1.xml", "break the link"),
        ("xl/connections.xml", "delete the connection"),
        ("xl/embeddings/oleObject1.bin", "delete that object"),
    ],
)
def test_the_sentence_about_a_danger_says_what_to_do(tmp_path: Path, part: str, cure: str) -> None:
    (tmp_path / "farm.xlsx").write_bytes(with_part(part, "<a/>"))
    with pytest.raises(Unsafe, match=cure):
        open_workbook(tmp_path / "farm.xlsx")


def test_our_workbook_saved_as_opendocument_comes_back(
    farm: Path, tmp_path: Path, office: Office
) -> None:
    """What the sentence about .ods files tells to do, done."""
    with office.document(farm) as document:
        document.store(tmp_path / "farm.ods")
    with pytest.raises(NotAWorkbook, match="OpenDocument"):
        open_workbook(tmp_path / "farm.ods")
    with office.document(tmp_path / "farm.ods") as document:
        document.store(tmp_path / "back.xlsx")
    assert open_workbook(tmp_path / "back.xlsx").formulas["Ingredients"]["D7"].value == 2.5


def test_the_file_is_not_touched(farm: Path) -> None:
    before = farm.stat()
    open_workbook(farm)
    assert (farm.read_bytes(), farm.stat().st_mtime_ns) == (small_workbook(), before.st_mtime_ns)
    assert BOOK in parts()


def test_file_that_takes_more_memory_than_there_is_is_a_sentence(
    farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr("workbook_template.safety.reader.Cell", fail)
    with pytest.raises(TooLarge, match="takes more memory than there is"):
        open_workbook(farm)


def test_more_text_than_a_farm_has_is_not_read(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Limits, "of_file", lambda large: Limits(letters=10**9 if large else 100))
    with pytest.raises(TooLarge, match="holds more text"):
        open_workbook(farm)
    assert open_workbook(farm, large=True).formulas.worksheets
