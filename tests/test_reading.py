"""Reading a workbook that somebody worked with: what tells one input from another, and what not."""

from __future__ import annotations

from datetime import date, time
from typing import TYPE_CHECKING, Any

import pytest
from farm_edits import blank, enter, serial
from openpyxl.styles import Alignment
from openpyxl.utils import range_boundaries
from openpyxl.worksheet.cell_range import MultiCellRange
from openpyxl.worksheet.filters import AutoFilter
from workbooks import loaded, made, reading_of, saved_by

from cultivar_fx.errors import CellError
from workbook_template.demo.data import demo_entries
from workbook_template.errors import Damaged
from workbook_template.reading.entries import read
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import grid_name, input_name

if TYPE_CHECKING:
    from pathlib import Path

    from office import Office
    from openpyxl import Workbook

    from workbook_template.reading.entries import Reading


@pytest.fixture
def workbook() -> Workbook:
    return loaded(blank("us"))


def saved(workbook: Workbook, folder: Path, *sheets: str) -> Reading:
    """Save some of the sheets, and read the file."""
    for sheet in workbook.worksheets:
        if sheet.title not in sheets:
            del workbook[sheet.title]
    workbook.save(folder / "farm.xlsx")
    return read(folder / "farm.xlsx")


def rows(reading: Reading, table: str) -> list[dict[str, Any]]:
    return [
        {key: one.value for key, one in row.cells.items()} for row in reading.tables[table].rows
    ]


def drop_properties(workbook: Workbook) -> None:
    workbook.custom_doc_props.props.clear()


# What the workbook was made for


def test_the_properties_say_what_it_was_made_for(workbook: Workbook) -> None:
    del workbook["Start"]
    assert reading_of(workbook).settings == Settings("us", "€", False, 10, False)


def test_the_sheet_start_says_it_where_the_properties_are_lost(workbook: Workbook) -> None:
    drop_properties(workbook)
    workbook["Start"].title = "Anfang"
    assert reading_of(workbook).settings == Settings("us", "€", False, 10, False)


def test_headings_tell_the_units_where_all_else_is_lost(workbook: Workbook) -> None:
    drop_properties(workbook)
    del workbook["Start"]
    assert reading_of(workbook).settings.units == "us"


def test_units_are_never_guessed(workbook: Workbook) -> None:
    drop_properties(workbook)
    del workbook["Start"]
    for sheet in workbook.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if any(unit in str(cell.value) for unit in (", lb", ", cfm")):
                    cell.value = None
    for sheet in [one for one in workbook.worksheets if one.tables]:
        del workbook[sheet.title]
    with pytest.raises(Damaged, match="does not say any more whether its units are us or metric"):
        reading_of(workbook)


# Everything that is there


@pytest.mark.parametrize("program", ["ours", "LibreOffice"])
def test_everything_that_was_typed_is_read(program: str, office: Office) -> None:
    path = saved_by(office, "us") if program == "LibreOffice" else made("us", "demo").path
    reading, demo = read(path), demo_entries("us")
    assert reading.settings == Settings("us", "$", invented=True)
    assert reading.absent == []
    assert {key: reading.singles[key].value for key in demo.singles} == demo.singles
    for key, typed in demo.tables.items():
        filled = [
            {name: value for name, value in row.items() if value is not None} for row in typed
        ]
        assert rows(reading, key) == filled


@pytest.mark.parametrize(
    "value",
    [
        "=1+1", "62 %", " ", "123", 62, -1e-9, True, date(2024, 2, 29), time(6, 30),
        CellError("#N/A", ""), 1e15,
    ],
)  # fmt: skip
def test_what_was_typed_comes_back_as_it_was(
    workbook: Workbook, tmp_path: Path, value: Any
) -> None:
    names = ("altitude", "as_of", "farm_name")
    for name in names:
        cell = workbook.defined_names[input_name(name)].attr_text.rpartition("!")[2]
        enter(workbook["Farm"][cell], value)
    singles = saved(workbook, tmp_path, "Farm").singles
    for name in names:
        found = singles[name]
        assert found.formula == ""
        assert serial(found.value) == serial(value), name  # a cell for dates shows 62 as one
        assert isinstance(found.value, bool) == isinstance(value, bool), name


def test_a_formula_is_told_from_text(workbook: Workbook, tmp_path: Path) -> None:
    workbook["Farm"]["B8"] = "=2*410"
    workbook["Farm"]["B6"].value = "=2*410"
    workbook["Farm"]["B6"].data_type = "s"
    reading = saved(workbook, tmp_path, "Farm")
    assert reading.singles["altitude"].formula == "=2*410"
    assert (reading.singles["farm_name"].value, reading.singles["farm_name"].formula) == (
        "=2*410",
        "",
    )


# What tells


def test_an_input_is_known_by_its_name_wherever_it_is(workbook: Workbook) -> None:
    sheet = workbook["Farm"]
    sheet.title = "Bob's farm"
    sheet["J40"], sheet["K40"] = sheet["A8"].value, 820
    sheet["A8"] = None
    workbook.defined_names[input_name("altitude")].attr_text = "'Bob''s farm'!$K$40"
    found = reading_of(workbook).singles["altitude"]
    assert (found.sheet, found.cell, found.value) == ("Bob's farm", "K40", 820)


def test_the_moistures_of_the_mix_card_keep_their_lines(workbook: Workbook) -> None:
    sheet, _, cells = workbook.defined_names[grid_name("weigh", "measured")].attr_text.rpartition(
        "!"
    )
    third = workbook[sheet.strip("'")][cells.replace("$", "")][2][0]
    third.value = 0.4
    assert rows(reading_of(workbook), "weigh") == [{}, {}, {"measured": 0.4}, *[{}] * 5]


def fill(workbook: Workbook) -> Any:
    """Type two rows into the table of losses, and give its sheet."""
    sheet = workbook["Losses"]
    for row, line in enumerate((("B1", date(2026, 5, 1), 3), ("B2", date(2026, 5, 2), 4)), 7):
        for column, value in enumerate(line, 1):
            sheet.cell(row, column, value)
    return sheet


FILLED = [
    {"batch": "B1", "date": date(2026, 5, 1), "blocks": 3},
    {"batch": "B2", "date": date(2026, 5, 2), "blocks": 4},
]


def test_a_table_is_known_by_its_headings_where_it_is_none_any_more(workbook: Workbook) -> None:
    sheet = fill(workbook)
    del sheet.tables["Losses"]
    sheet.title = "Verluste"
    assert rows(reading_of(workbook), "losses") == FILLED


def test_columns_are_known_wherever_they_were_moved(workbook: Workbook) -> None:
    sheet = fill(workbook)
    for row in range(6, 9):
        sheet.cell(row, 1).value, sheet.cell(row, 3).value = (
            sheet.cell(row, 3).value,
            sheet.cell(row, 1).value,
        )
    reading = reading_of(workbook)
    assert rows(reading, "losses") == FILLED
    assert reading.tables["losses"].columns["batch"] == 3


@pytest.mark.parametrize("words", ["Date", "DATE,  yyyy-mm-dd", "Day", None])
def test_a_column_with_another_heading_is_known_by_the_title_of_its_cells(
    workbook: Workbook, words: str | None
) -> None:
    sheet = fill(workbook)
    sheet["B6"] = words
    assert rows(reading_of(workbook), "losses") == FILLED


def test_a_column_is_known_by_what_an_earlier_version_called_it(workbook: Workbook) -> None:
    sheet = fill(workbook)
    sheet["B6"] = "Found on, yyyy-mm-dd"
    for one in sheet.data_validations.dataValidation:
        one.promptTitle = "Found on" if one.promptTitle == "Date" else one.promptTitle
    for mark in workbook.custom_doc_props.props:
        if mark.name == "cultivar_fx losses.date":
            mark.value = "Found on"
    assert rows(reading_of(workbook), "losses") == FILLED


def test_a_column_that_nothing_tells_is_named(workbook: Workbook) -> None:
    sheet = fill(workbook)
    sheet["B6"] = "Day"
    sheet.data_validations.dataValidation = []
    assert reading_of(workbook).absent == ["losses.date"]


def test_what_is_gone_is_named(workbook: Workbook) -> None:
    del workbook["Losses"]
    del workbook.defined_names[input_name("altitude")]
    workbook.defined_names[input_name("burden")].attr_text = "#REF!"
    assert reading_of(workbook).absent == ["altitude", "burden", "losses"]


# Rows


def test_rows_typed_below_a_table_are_its_rows(workbook: Workbook) -> None:
    sheet = fill(workbook)
    bottom = int(sheet.tables["Losses"].ref.split(":")[1][1:])
    sheet.cell(bottom + 1, 1, "B3")
    sheet.cell(bottom + 2, 3, 5)
    sheet.cell(bottom + 4, 1, "a remark further down")
    assert rows(reading_of(workbook), "losses") == [*FILLED, {"batch": "B3"}, {"blocks": 5}]


def test_a_row_typed_below_may_hold_a_formula_of_its_own(workbook: Workbook) -> None:
    sheet = fill(workbook)
    bottom = int(sheet.tables["Losses"].ref.split(":")[1][1:])
    sheet.cell(bottom + 1, 1, "B3")
    sheet.cell(bottom + 1, 3, "=2*6")
    last = reading_of(workbook).tables["losses"].rows[-1].cells
    assert (last["batch"].value, last["blocks"].formula) == ("B3", "=2*6")


def test_a_total_below_a_table_is_no_row(workbook: Workbook) -> None:
    sheet = fill(workbook)
    bottom = int(sheet.tables["Losses"].ref.split(":")[1][1:])
    sheet.cell(bottom + 1, 1, "Total")
    sheet.cell(bottom + 1, 3, f"=SUM(C7:C{bottom})")
    assert rows(reading_of(workbook), "losses") == FILLED


def test_a_total_row_of_the_table_is_no_row(workbook: Workbook) -> None:
    sheet = fill(workbook)
    excel = sheet.tables["Losses"]
    left, right = excel.ref.split(":")
    bottom = int(right[1:]) + 1
    excel.ref, excel.totalsRowCount = f"{left}:{right[0]}{bottom}", 1
    sheet.cell(bottom, 1, "Total")
    assert rows(reading_of(workbook), "losses") == FILLED


def test_the_title_below_a_table_is_no_row(workbook: Workbook) -> None:
    """The gap between two tables is filled, and the next title follows at once."""
    sheet = workbook["Recipes"]
    bottom = range_boundaries(sheet.tables["Recipes"].ref)[3]
    sheet.cell(bottom + 1, 1, "in the gap")
    assert sheet.cell(bottom + 2, 1).value == "What is in each recipe"
    assert rows(reading_of(workbook), "recipes") == [{"recipe": "in the gap"}]


def test_filtered_rows_are_read(workbook: Workbook, tmp_path: Path) -> None:
    sheet = fill(workbook)
    sheet.tables["Losses"].autoFilter = AutoFilter(ref=sheet.tables["Losses"].ref)
    sheet.row_dimensions[7].hidden = True
    assert rows(saved(workbook, tmp_path, "Losses"), "losses") == FILLED


def test_looks_do_not_matter(workbook: Workbook, tmp_path: Path) -> None:
    sheet = fill(workbook)
    sheet["A7"].style = "Normal"
    sheet["A7"].alignment = Alignment(horizontal="right")
    sheet["C7"].number_format = "0.000"
    sheet.data_validations.dataValidation[0].sqref = MultiCellRange("A7")
    assert rows(saved(workbook, tmp_path, "Losses"), "losses") == FILLED
