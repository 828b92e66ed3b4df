"""Holds what is typed into a workbook against the rules: each broken one in a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from openpyxl.utils import get_column_letter

from workbook_template.reading.earlier_places import field_now
from workbook_template.reading.entries import fields_of
from workbook_template.rules.cells import Context, name_of, wrong
from workbook_template.rules.rows import ROW_RULES
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.writing.layout import tuple_key

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook_template.reading.contents import Found
    from workbook_template.reading.entries import Reading
    from workbook_template.reading.tables import TableFound
    from workbook_template.schema.fields import Field
    from workbook_template.writing.layout import Value


class Fault(NamedTuple):
    """One broken rule.

    Attributes
    ----------
    sheet, cell : str
        Where; the cell is an empty text where there is none.
    value : Value
        What stands there.
    sentence : str
        What is wrong and what is needed.
    is_warning : bool
        Whether it may well be right, and is only worth a look.
    """

    sheet: str
    cell: str
    value: Value
    sentence: str
    is_warning: bool = False


def typed_faults(reading: Reading) -> Iterator[Fault]:
    """Find what breaks a rule of the cells to type in.

    Parameters
    ----------
    reading : Reading
        A workbook that was read.

    Yields
    ------
    Fault
        One for each broken rule.
    """
    context = _context(reading)
    for key, found in reading.singles.items():
        yield from _of_cell(SINGLE_INPUTS[key], found, context)
    for key, found in reading.moved.items():
        yield from _of_cell(field_now(key), found, context)
    for key, table in reading.tables.items():
        fields = fields_of(key)
        for row in table.rows:
            for column, found in row.cells.items():
                yield from _of_cell(fields[column], found, context)
        if key in TABLES:
            yield from _of_rows(table, context)


def _context(reading: Reading) -> Context:
    """Return the units of a workbook, and its lists, each read at its first use."""
    lists: dict[str, set[object]] = {}

    def listed(choices: str) -> set[object]:
        if choices not in lists:
            table, column = tuple_key(choices)
            rows = (
                [row.cells for row in reading.tables[table].rows] if table in reading.tables else []
            )
            rows += reading.moved_rows.get(table, [])
            lists[choices] = {name_of(cells[column].value) for cells in rows if column in cells}
        return lists[choices]

    return Context(reading.settings.units, reading.settings.currency, listed)


def _of_cell(one: Field, found: Found, context: Context) -> Iterator[Fault]:
    """Find what is wrong with what was typed into a cell."""
    if found.value is not None:
        sentence = wrong(one, found.value, context)
    else:
        sentence = f"{one.label}: the file holds no value for its formula." if found.formula else ""
    if sentence:
        yield Fault(found.sheet, found.cell, found.value, sentence)


def _of_rows(table: TableFound, context: Context) -> Iterator[Fault]:
    """Find what is wrong with the rows of a table; what a column that is gone lacks is not new."""
    schema = TABLES[table.key]
    rows = [{key: found.value for key, found in row.cells.items()} for row in table.rows]
    for rule in ROW_RULES:
        for number, key, sentence in rule(schema, rows, context):
            row = table.rows[number]
            if key in row.cells:
                found = row.cells[key]
                yield Fault(found.sheet, found.cell, found.value, sentence)
            elif key in table.columns or key == schema.first.key:
                column = table.columns.get(key, table.area.left)
                cell = f"{get_column_letter(column)}{row.row}"
                yield Fault(table.area.sheet, cell, None, sentence)
