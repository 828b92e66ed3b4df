"""The Checks sheet and the command check find the same faults: both come from one list of rules.

A fault of each kind is planted in each cell that can have it. The command has to find each in its
place and no other; the sheet has to count, line by line, what the command finds.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from live_engine import live_engine
from openpyxl.utils import get_column_letter
from planted_faults import in_forms, in_tables, line_of

from cultivar_fx.errors import CellError
from workbook_template.build import lay_out
from workbook_template.demo.data import demo_entries
from workbook_template.operations.input_rules import typed_faults
from workbook_template.reading.entries import read
from workbook_template.schema import SINGLE_INPUTS
from workbook_template.schema.fields import Field
from workbook_template.sheets import all_sheets
from workbook_template.writing.blocks import Form, Settings
from workbook_template.writing.layout import Book, Entries
from workbook_template.writing.saving import workbook_bytes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from office import Office
    from planted_faults import Cell

    from workbook_template.reading.entries import Reading
    from workbook_template.writing.layout import Value

UNITS = "us"
SETTINGS = Settings(units=UNITS, batch_rows=1, typed_functions=False)
FORMS = {
    row.key: block.title
    for sheet in all_sheets(SETTINGS)
    for block in sheet.blocks
    if isinstance(block, Form)
    for row in block.rows
    if isinstance(row, Field)
}
RULES = (
    "outside their limits, or text",
    "not on their list",
    "texts of more than",
    "rows with a required cell",
    "rows without",
    "duplicate names",
)
IN_FORMS = list(in_forms(UNITS))


class Planted(NamedTuple):
    """A workbook with faults in its tables, without the values of its formulas."""

    path: Path
    book: Book
    faults: dict[Cell, str]


@cache
def planted(truth_values: bool = True, singles: int | None = None) -> Planted:
    """Write a workbook with every fault of tables, and some of forms."""
    tables, faults = in_tables(UNITS, truth_values)
    typed = {} if singles is None else IN_FORMS[singles]
    book = lay_out(SETTINGS, Entries({**demo_entries(UNITS).singles, **typed}, tables))
    path = Path(mkdtemp(prefix="planted-")) / "farm.xlsx"
    path.write_bytes(workbook_bytes(book.workbook, book.filled))
    return Planted(path, book, faults)


@cache
def engine() -> Any:
    """Return the engine of the stored values with the workbook in it."""
    return live_engine(planted().path.read_bytes())


@cache
def reading() -> Reading:
    """Return what the command reads of the workbook."""
    return read(planted().path)


def in_engine(value: Value) -> Any:
    """Write a value as the engine takes it."""
    if isinstance(value, CellError):
        return {"type": "Error", "kind": "Na"}
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def counted(lines: Iterable[tuple[str, Any]]) -> Counter[str]:
    """Return what the lines of Checks that come from rules count, by their words."""
    found: Counter[str] = Counter()
    for words, count in lines:
        if count and any(rule in words for rule in RULES):
            found[words] += count
    return found


def cells(faults: Iterable[Cell]) -> set[tuple[str, str]]:
    """Return the sheet and the address of cells of tables."""
    places = ((planted().book.columns[key, column], row) for key, row, column in faults)
    return {
        (place.sheet, f"{get_column_letter(place.column)}{place.first + row}")
        for place, row in places
    }


def cells_of_forms(keys: Iterable[str]) -> set[tuple[str, str]]:
    places = (planted().book.cells[key] for key in keys)
    return {(one.sheet, f"{get_column_letter(one.column)}{one.row}") for one in places}


def lines_of_forms(keys: Iterable[str]) -> Counter[str]:
    """Return how often each line has to count faults of single inputs."""
    return Counter(f"{FORMS[key]}: {line_of(SINGLE_INPUTS[key], in_form=True)}" for key in keys)


def lines_in_engine() -> Counter[str]:
    place = planted().book.columns["checks", "state"]
    rows = range(place.first, place.last + 1)
    return counted(
        tuple(engine().get_value(place.sheet, row, column) for column in (1, 3)) for row in rows
    )


def test_check_finds_each_fault_of_a_table_and_no_other() -> None:
    found = {(one.sheet, one.cell) for one in typed_faults(reading())}
    assert found == cells(planted().faults)


def test_the_sheet_counts_each_fault_of_a_table() -> None:
    assert lines_in_engine() == Counter(planted().faults.values())


@pytest.mark.parametrize("kind", range(len(IN_FORMS)))
def test_check_and_sheet_find_each_fault_of_a_form(kind: int) -> None:
    typed, at = IN_FORMS[kind], planted().book.cells
    file = replace(reading(), singles=dict(reading().singles))
    for key, value in typed.items():
        file.singles[key] = file.singles[key]._replace(value=value)
        engine().set_value(at[key].sheet, at[key].row, at[key].column, in_engine(value))
    engine().evaluate_all()
    lines = lines_in_engine()
    for key in typed:
        value = in_engine(reading().singles[key].value)
        engine().set_value(at[key].sheet, at[key].row, at[key].column, value)
    found = {(one.sheet, one.cell) for one in typed_faults(file)}
    assert found == cells(planted().faults) | cells_of_forms(typed)
    assert lines == Counter(planted().faults.values()) + lines_of_forms(typed)


def test_libreoffice_counts_the_same(office: Office) -> None:
    # It takes a truth value for the number 1.
    place = planted(False, 1).book.columns["checks", "state"]
    with office.document(planted(False, 1).path) as document:
        document.calculate()
        rows = document.read(place.sheet, place.first - 1, 0, place.last - place.first + 1, 3)
    lines = counted((row[0], row[2]) for row in rows)
    assert lines == Counter(planted(False, 1).faults.values()) + lines_of_forms(IN_FORMS[1])
