"""Names, labels and headings that were moved without each other: nothing takes another's value."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from farm_edits import blank
from openpyxl.workbook.defined_name import DefinedName
from reading import place
from workbooks import loaded, reading_of

from workbook_template.operations.carry_over import carried
from workbook_template.schema import SINGLE_INPUTS
from workbook_template.writing.layout import input_name

if TYPE_CHECKING:
    from openpyxl import Workbook


def at(workbook: Workbook, key: str) -> Any:
    sheet, row, column = place(workbook, key)
    return workbook[sheet].cell(row + 1, column + 1)


def moved_by_a_script() -> Workbook:
    workbook = loaded(blank("us"))
    workbook["Farm"].insert_rows(8, 3)  # the library moves no name
    return workbook


def test_an_untouched_workbook_is_believed() -> None:
    reading = reading_of(loaded(blank("us")))
    assert (reading.doubts, reading.renamed, reading.misheaded) == ({}, set(), {})
    assert reading.singles.keys() == SINGLE_INPUTS.keys()


def test_no_input_takes_the_value_of_another() -> None:
    before = reading_of(loaded(blank("us"))).singles
    reading = reading_of(moved_by_a_script())
    entries, _, report = carried(reading)
    for key, value in entries.singles.items():
        assert value == before[key].value, key
    assert len(reading.doubts) > 40
    values = [value for line in entries.carried for value in line[6:]]
    lost = [
        key
        for key in reading.doubts
        if before[key].value is not None and before[key].value not in values
    ]
    assert lost == []
    text = "\n".join(report.lines())
    assert "Carried to their places: all." not in text
    for key in reading.doubts:
        assert SINGLE_INPUTS[key].label in text


def test_a_table_is_found_again_below_rows_put_in_by_a_script() -> None:
    workbook = loaded(blank("us"))
    before = reading_of(workbook).tables["strains"]
    workbook["Strains"].insert_rows(3, 2)
    found = reading_of(workbook).tables["strains"]
    assert found.area.top == before.area.top + 2
    assert found.columns == before.columns
    first = [{key: one.value for key, one in row.cells.items()} for row in before.rows]
    assert [{key: one.value for key, one in row.cells.items()} for row in found.rows] == first


def test_a_name_that_points_to_the_cell_of_another_input_is_not_believed() -> None:
    workbook = loaded(blank("us"))
    other = workbook.defined_names[input_name("rent")].attr_text
    name = input_name("farm_name")
    workbook.defined_names[name] = DefinedName(name, attr_text=other)
    assert {"rent", "farm_name"} <= reading_of(workbook).doubts.keys()


def test_labels_that_were_exchanged_are_not_believed() -> None:
    workbook = loaded(blank("us"))
    one, other = at(workbook, "private_money"), at(workbook, "private_labels")
    labels = [cell.parent.cell(cell.row, 1) for cell in (one, other)]
    labels[0].value, labels[1].value = labels[1].value, labels[0].value
    assert reading_of(workbook).doubts.keys() == {"private_money", "private_labels"}


def test_a_label_in_the_growers_own_words_is_believed() -> None:
    workbook = loaded(blank("us"))
    cell = at(workbook, "hourly_wage")
    cell.parent.cell(cell.row, 1).value = "Stundenlohn"
    reading = reading_of(workbook)
    assert (reading.doubts, reading.renamed) == ({}, {"hourly_wage"})
    assert reading.singles["hourly_wage"].value == cell.value


def test_the_cells_of_a_grid_are_believed_below_their_heading_only() -> None:
    workbook = loaded(blank("us"))
    workbook["Mix card"].insert_rows(12, 2)
    reading = reading_of(workbook)
    assert "weigh" in reading.doubts
    assert "weigh" not in reading.tables


@pytest.mark.parametrize("table", ["equipment", "ingredients"])
def test_headings_exchanged_by_hand_are_seen(table: str) -> None:
    workbook = loaded(blank("us"))
    found = reading_of(workbook).tables[table]
    numbers = [found.columns[key] for key in ("price", next(iter(found.columns)))]
    cells = [workbook[found.area.sheet].cell(found.area.top, number) for number in numbers]
    cells[0].value, cells[1].value = cells[1].value, cells[0].value
    assert f"{table}.price" in reading_of(workbook).misheaded
