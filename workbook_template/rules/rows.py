"""The rules of rows: how each is counted on a sheet, and which rows of a table break it."""

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


class RowRule(NamedTuple):
    """One thing that the rows of a table have to be.

    Attributes
    ----------
    line : str
        Its line on the Checks sheet, without the title of the table; ``{first}`` is the label of
        the column that makes a row.
    how_often : callable
        Template, of a table: counts what breaks the rule; empty where nothing can.
    broken : callable
        What breaks it, of a table and what is typed into each of its rows, by column.
    """

    line: str
    how_often: Callable[[Table], str]
    broken: Callable[[Table, Rows, Context], Iterator[Broken]]


def _first(table: Table) -> str:
    return f"{{{table.key}.{table.first.key}}}"


def _needed(table: Table) -> list[Field]:
    return [one for one in table.fields[1:] if one.required]


def _count_blanks(table: Table) -> str:
    # LibreOffice counts nothing where the first condition is that a cell is blank.
    return "+".join(
        f'COUNTIFS({_first(table)},"<>",{{{table.key}.{one.key}}},"")' for one in _needed(table)
    )


def _blanks(table: Table, rows: Rows, context: Context) -> Iterator[Broken]:
    for number, row in enumerate(rows):
        for one in _needed(table) if table.first.key in row else ():
            if one.key not in row:
                text = needed(one, context.units, context.currency) if one.is_number else "a text"
                words = f"{one.label}: is blank, and the row needs it ({text})."
                yield Broken(number, one.key, words)


def _count_nameless(table: Table) -> str:
    # An empty text, as programs paste it for a formula that shows nothing, is a blank as well.
    return "+".join(
        f"ROWS({{{table.key}.{one.key}}})-COUNTBLANK({{{table.key}.{one.key}}})"
        f'-COUNTIF({_first(table)},"<>")+COUNTIFS({_first(table)},"<>",{{{table.key}.{one.key}}},"")'
        for one in table.fields[1:]
        if table.first.required
    )


def _nameless(table: Table, rows: Rows, _context: Context) -> Iterator[Broken]:
    words = f"{table.first.label} is missing; the row is ignored."
    for number, row in enumerate(rows):
        if row and table.first.required and table.first.key not in row:
            yield Broken(number, table.first.key, words)


def _count_named_twice(table: Table) -> str:
    return f'COUNTIF({{{table.key}.times_named}},">1")' if table.unique else ""


def _named_twice(table: Table, rows: Rows, _context: Context) -> Iterator[Broken]:
    key, label = table.first.key, table.first.label
    names = [as_text(row[key]) if key in row else "" for row in rows]
    times = Counter(names)
    for number, name in enumerate(names):
        if table.unique and name and times[name] > 1:
            yield Broken(number, key, f"{label}: duplicate name, in {times[name]} rows.")


ROW_RULES = (
    RowRule("rows with a required cell left blank", _count_blanks, _blanks),
    RowRule("rows without {first}", _count_nameless, _nameless),
    RowRule("duplicate names", _count_named_twice, _named_twice),
)
