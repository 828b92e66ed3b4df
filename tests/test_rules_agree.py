"""The sheets and the command check find the same faults: both come from one list of rules.

A fault of each kind is planted in each cell that can have it. The command has to find each in its
place and no other; the row has to say so in its column To fix, and Checks has to count the rows.
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
from planted_faults import in_forms, in_tables

from cultivar_fx.errors import CellError
from workbook_template.build import lay_out
from workbook_template.demo.data import demo_entries
from workbook_template.operations.input_rules import typed_faults
from workbook_template.reading.entries import read
from workbook_template.rules.to_fix import FAULT, labels, sentences
from workbook_template.schema import TABLES
from workbook_template.schema.fields import TO_FIX, Field
from workbook_template.sheets import all_sheets
from workbook_template.writing.blocks import Form, Settings
from workbook_template.writing.layout import Book, Entries
from workbook_template.writing.saving import workbook_bytes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

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
GRIDS = {"weigh": "Weigh out"}
IN_FORMS = list(in_forms(UNITS))


class Planted(NamedTuple):
    """A workbook with faults in its tables, without the values of its formulas."""

    path: Path
    book: Book
    faults: set[Cell]


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


def counts(value: Callable[[str, int, int], Any], book: Book) -> Counter[str]:
    """Return what the lines of Checks count that look at what is typed, by their words."""
    place = book.columns["checks", "state"]
    lines = (
        (value(place.sheet, row, 1), value(place.sheet, row, 3))
        for row in range(place.first, place.last + 1)
    )
    kinds = (": rows to fix", ": cells to fix")
    found: Counter[str] = Counter()
    for words, count in lines:  # several sheets have a form of one title
        if words.endswith(kinds) and count:
            found[words] += count
    return found


def texts(value: Callable[[str, int, int], Any], book: Book) -> dict[tuple[str, int], str]:
    """Return what the rows of tables say, by table and row; a blank row says nothing."""
    places = {key: book.columns[key, TO_FIX] for key in TABLES}
    return {
        (key, row - place.first): str(value(place.sheet, row, place.column) or "")
        for key, place in places.items()
        for row in range(place.first, place.last + 1)
    }


def of_cells(said: Mapping[tuple[str, int], str]) -> set[Cell]:
    """Return the cells that the rows blame for what a cell alone can have wrong."""
    return {
        (key, row, next(one for one in labels(TABLES[key]) if named(key, one) == sentence.label))
        for (key, row), text in said.items()
        for sentence in sentences(text)
        if sentence.mark == FAULT
        and sentence.words not in {rule.words for rule in TABLES[key].faults}
    }


def named(key: str, column: str) -> str:
    return TABLES[key].column(column).label


def rows_and_cells(said: Mapping[tuple[str, int], str], faults: Iterable[Cell]) -> Counter[str]:
    """Return how often each line has to count: rows of tables with a fault, cells of grids."""
    rows = (f"{TABLES[key].title}: rows to fix" for (key, _), text in said.items() if FAULT in text)
    grids = (f"{GRIDS[key]}: cells to fix" for key, _, _ in faults if key in GRIDS)
    return Counter([*rows, *grids])


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
    return Counter(f"{FORMS[key]}: cells to fix" for key in keys)


def in_engine_now(sheet: str, row: int, column: int) -> Any:
    return engine().get_value(sheet, row, column)


def test_check_finds_each_fault_of_a_table_and_no_other() -> None:
    found = {(one.sheet, one.cell) for one in typed_faults(reading())}
    assert found == cells(planted().faults)


def test_each_row_says_what_is_wrong_with_it_and_no_other_does() -> None:
    assert of_cells(texts(in_engine_now, planted().book)) == {
        cell for cell in planted().faults if cell[0] in TABLES
    }


def test_the_sheet_counts_each_row_with_a_fault() -> None:
    said = texts(in_engine_now, planted().book)
    assert counts(in_engine_now, planted().book) == rows_and_cells(said, planted().faults)


@pytest.mark.parametrize("kind", range(len(IN_FORMS)))
def test_check_and_sheet_find_each_fault_of_a_form(kind: int) -> None:
    typed, at = IN_FORMS[kind], planted().book.cells
    file = replace(reading(), singles=dict(reading().singles))
    for key, value in typed.items():
        file.singles[key] = file.singles[key]._replace(value=value)
        engine().set_value(at[key].sheet, at[key].row, at[key].column, in_engine(value))
    engine().evaluate_all()
    lines = counts(in_engine_now, planted().book)
    said = texts(in_engine_now, planted().book)
    for key in typed:
        value = in_engine(reading().singles[key].value)
        engine().set_value(at[key].sheet, at[key].row, at[key].column, value)
    found = {(one.sheet, one.cell) for one in typed_faults(file)}
    assert found == cells(planted().faults) | cells_of_forms(typed)
    assert lines == rows_and_cells(said, planted().faults) + lines_of_forms(typed)


def test_libreoffice_says_and_counts_the_same(office: Office) -> None:
    # It takes a truth value for the number 1.
    workbook = planted(False, 1)
    with office.document(workbook.path) as document:
        document.calculate()
        shown = {name: sheet.values for name, sheet in document.contents().items()}

    def value(sheet: str, row: int, column: int) -> Any:
        cells = shown[sheet][row - 1] if row <= len(shown[sheet]) else []
        return cells[column - 1] if column <= len(cells) else None

    said = texts(value, workbook.book)
    assert of_cells(said) == {cell for cell in workbook.faults if cell[0] in TABLES}
    expected = rows_and_cells(said, workbook.faults) + lines_of_forms(IN_FORMS[1])
    assert counts(value, workbook.book) == expected
