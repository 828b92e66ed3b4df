"""The rules of rows: which rows of a table break one, and what is wrong with them."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from workbook_template.rules.cells import as_text
from workbook_template.writing.validation import needed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from workbook_template.rules.cells import Context
    from workbook_template.schema.fields import Field, Table
    from workbook_template.writing.layout import Value

    Rows = Sequence[Mapping[str, Value]]


class Broken(NamedTuple):
    """A broken rule: the number of the row, from 0; the key of the column; what is wrong."""

    row: int
    key: str
    sentence: str


def _needed(table: Table) -> list[Field]:
    return [one for one in table.fields[1:] if one.required]


def _blanks(table: Table, rows: Rows, context: Context) -> Iterator[Broken]:
    for number, row in enumerate(rows):
        for one in _needed(table) if table.first.key in row else ():
            if one.key not in row:
                text = needed(one, context.units, context.currency) if one.is_number else "a text"
                words = f"{one.label}: is blank, and the row needs it ({text})."
                yield Broken(number, one.key, words)


def _nameless(table: Table, rows: Rows, _context: Context) -> Iterator[Broken]:
    words = f"{table.first.label} is missing; the row is ignored."
    for number, row in enumerate(rows):
        if row and table.first.required and table.first.key not in row:
            yield Broken(number, table.first.key, words)


def _named_twice(table: Table, rows: Rows, _context: Context) -> Iterator[Broken]:
    key, label = table.first.key, table.first.label
    names = [as_text(row[key]) if key in row else "" for row in rows]
    times = Counter(names)
    for number, name in enumerate(names):
        if table.unique and name and times[name] > 1:
            yield Broken(number, key, f"{label}: duplicate name, in {times[name]} rows.")


ROW_RULES: tuple[Callable[[Table, Rows, Context], Iterator[Broken]], ...] = (
    _blanks,
    _nameless,
    _named_twice,
)
"""What every table's rows have to be, each with what breaks it: of a table and what is typed into
each of its rows, by column. The sheet's side of them is in ``to_fix``."""
