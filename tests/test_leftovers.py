"""What is found outside of the cells to type in: all of it, and nothing that we wrote ourselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from farm_edits import blank
from openpyxl.comments import Comment
from openpyxl.packaging.custom import IntProperty
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.cell_range import CellRange
from workbooks import loaded, made, reading_of, saved_by

from workbook_template.reading.alignment import Alignment
from workbook_template.reading.entries import read
from workbook_template.reading.own_formulas import OTHER_FORMULA, TYPED_OVER
from workbook_template.reading.unmatched import (
    CHANGED_WORDS,
    EXTRA_CELL,
    EXTRA_SHEET,
    NAME,
    NOTE,
    TYPED_FORMULA,
    Leftover,
    Search,
)

if TYPE_CHECKING:
    from pathlib import Path

    from office import Office
    from openpyxl import Workbook


@pytest.fixture
def workbook() -> Workbook:
    return loaded(blank("us"))


def found(workbook: Workbook) -> list[Leftover]:
    return Search(reading_of(workbook)).leftovers


def short(leftovers: list[Leftover]) -> list[tuple[str, str, str]]:
    return [(one.kind, one.found.sheet, one.found.cell) for one in leftovers]


@pytest.mark.parametrize(("units", "filled"), [("us", "demo"), ("metric", "empty")])
def test_a_workbook_as_we_write_it_has_none(units: str, filled: str) -> None:
    assert Search(read(made(units, filled).path)).leftovers == []


def test_a_workbook_that_libreoffice_saved_has_none(office: Office) -> None:
    assert Search(read(saved_by(office, "us"))).leftovers == []


def test_what_lies_below_merged_cells_is_found(
    workbook: Workbook, office: Office, tmp_path: Path
) -> None:
    """Cells that were merged keep what they held: LibreOffice saves it, and shows it again."""
    farm = workbook["Farm"]
    farm["H30"], farm["H31"], farm["I31"] = "seen", "not seen", 42
    farm["H31"].comment = Comment("ask Ana", "us")
    farm.merged_cells.add(CellRange("H30:I31"))
    workbook.save(tmp_path / "merged.xlsx")
    with office.document(tmp_path / "merged.xlsx") as document:
        document.store(tmp_path / "saved.xlsx")
    leftovers = Search(read(tmp_path / "saved.xlsx")).leftovers
    assert [(one.kind, one.found.cell, one.found.value, one.found.note) for one in leftovers] == [
        (EXTRA_CELL, "H30", "seen", ""),
        (EXTRA_CELL, "H31", "not seen", "ask Ana"),
        (NOTE, "H31", "not seen", "ask Ana"),
        (EXTRA_CELL, "I31", 42, ""),
    ]


def test_each_kind_is_told(workbook: Workbook) -> None:
    farm, costing, batches = (workbook[name] for name in ("Farm", "Costing", "Batches"))
    farm["B8"] = "=2*410"
    farm["A8"] = "Height"
    farm["H30"] = "=1+1"
    farm["B6"].comment = Comment("ask Ana", "us")
    costing["B37"] = 3.2
    costing["B36"] = "=B37*2"
    batches["T7"] = 1
    batches["A7"] = "B1"
    workbook["Losses"]["F6"] = "Sorte"
    extra = workbook.create_sheet("My list")
    extra["C4"] = 40
    workbook.defined_names["my_price"] = DefinedName("my_price", attr_text="Farm!$H$30")
    leftovers = found(workbook)
    assert short(leftovers) == [
        (NOTE, "Farm", "B6"),
        (CHANGED_WORDS, "Farm", "A8"),
        (TYPED_FORMULA, "Farm", "B8"),
        (EXTRA_CELL, "Farm", "H30"),
        (TYPED_OVER, "Batches", "T7"),
        (CHANGED_WORDS, "Losses", "F6"),
        (OTHER_FORMULA, "Costing", "B36"),
        (TYPED_OVER, "Costing", "B37"),
        (EXTRA_SHEET, "My list", "C4"),
        (NAME, "", ""),
    ]
    about = {(one.found.sheet, one.found.cell): one.about for one in leftovers}
    assert about["Costing", "B37"] == f"{costing['A37'].value}, €/block"
    assert about["Batches", "T7"] == "State: B1"
    assert about["Farm", "B8"] == "Altitude"


@pytest.mark.parametrize(("sheet", "at"), [("Farm", 10), ("Spawn", 8), ("Trials", 16)])
def test_rows_that_were_put_in_are_seen_through(
    tmp_path: Path, office: Office, sheet: str, at: int
) -> None:
    with office.document(made("us", "demo").path) as document:
        document.insert(sheet, "Rows", at - 1, 2)
        document.write(sheet, at, 1, [["between"]])
        document.store(tmp_path / "farm.xlsx")
    search = Search(read(tmp_path / "farm.xlsx"))
    assert short(search.leftovers) == [(EXTRA_CELL, sheet, f"B{at + 1}")]
    assert search.destroyed == []


def test_a_renamed_sheet_is_known_and_a_copied_one_is_extra(workbook: Workbook) -> None:
    workbook["Sources"].title = "Quellen"
    for sheet in workbook.worksheets:
        for cell in (one for row in sheet.iter_rows() for one in row if one.data_type == "f"):
            if isinstance(cell.value, str):  # as every program renames a sheet
                cell.value = cell.value.replace("'Sources'!", "'Quellen'!")
    copy = workbook.copy_worksheet(workbook["Ingredients"])
    cells = sum(cell.value is not None for row in copy.iter_rows() for cell in row)
    leftovers = found(workbook)
    assert {(one.kind, one.found.sheet) for one in leftovers} == {(EXTRA_SHEET, copy.title)}
    assert len(leftovers) == cells


@pytest.mark.parametrize("said", [None, 99], ids=["none", "a later one"])
def test_formulas_of_an_unknown_release_are_not_taken_for_the_growers(
    workbook: Workbook, said: int | None
) -> None:
    workbook["Costing"]["Q37"] = "=B37*2"
    workbook["Batches"]["T7"] = "=1+1"
    workbook["Costing"]["B37"] = 3.2
    workbook["Costing"]["B36"] = "=B37*2"
    properties = workbook.custom_doc_props  # type: ignore[attr-defined]
    del properties["cultivar_fx release"]
    if said:
        properties.append(IntProperty(name="cultivar_fx release", value=said))
    assert short(found(workbook)) == [(TYPED_OVER, "Costing", "B37")]


def test_the_line_of_an_inserted_row_moves_what_is_below_it() -> None:
    ours = {(1, 1): "Title", (4, 1): "Name", (4, 2): 1, (5, 2): 2, (9, 1): "End"}
    theirs = {(1, 1): "Title", (7, 1): "Name", (7, 2): 1, (8, 2): 2, (10, 1): "End"}
    alignment = Alignment(ours, theirs)
    assert [alignment.place(*one) for one in ((1, 1), (4, 2), (5, 2), (9, 1))] == [
        (1, 1),
        (7, 2),
        (8, 2),
        (10, 1),
    ]
    assert alignment.place(8, 2) == (0, 2), "that row is gone"


def test_columns_that_moved_are_followed() -> None:
    ours = {(1, 1): "Title", (4, 1): "Name", (4, 2): 1}
    theirs = {(1, 3): "Title", (4, 3): "Name", (4, 4): 1}
    assert Alignment(ours, theirs).place(4, 2) == (4, 4)
