"""The rules of rows: how each is counted on a sheet, and which rows of a table break it."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from workbook_template.rules.cells import as_text
from workbook_template.writing.accepted import needed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from workbook_template.rules.cells import Context
    from workbook_template.schema.fields import Table
    from workbook_template.writing.book import Value

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
    words : callable
        The line of the sheet Checks, of a table, without its title.
    count : callable
        Template, of a table: how often the rule is broken; empty where it never is.
    broken : callable
        What breaks it, of a table and its rows: what is typed into each, by column.
    """

    words: Callable[[Table], str]
    count: Callable[[Table], str]
    broken: Callable[[Table, Rows, Context], Iterator[Broken]]


# Blank cells


def _count_unfinished(table: Table) -> str:
    # LibreOffice counts nothing where the first condition is that a cell is blank.
    return "+".join(
        f'COUNTIFS({_first(table)},"<>",{{{table.key}.{one.key}}},"")'
        for one in table.fields[1:]
        if one.required
    )


def _unfinished(table: Table, rows: Rows, context: Context) -> Iterator[Broken]:
    needs = [one for one in table.fields[1:] if one.required]
    for number, row in enumerate(rows):
        for one in needs:
            if table.first.key in row and one.key not in row:
                text = needed(one, context.units, context.currency) if one.is_number else "a text"
                words = f"{one.label}: is blank, and the row needs it ({text})."
                yield Broken(number, one.key, words)


def _count_nameless(table: Table) -> str:
    return "+".join(
        f'COUNTIFS({{{table.key}.{one.key}}},"<>",{_first(table)},"")'
        for one in table.fields[1:]
        if table.first.required
    )


def _nameless(table: Table, rows: Rows, context: Context) -> Iterator[Broken]:
    words = f"The row has no {table.first.label.lower()}, so nothing counts it."
    for number, row in enumerate(rows):
        if row and table.first.required and table.first.key not in row:
            yield Broken(number, table.first.key, words)


# Names


def _count_twice(table: Table) -> str:
    return f'COUNTIF({{{table.key}.times_named}},">1")' if table.unique else ""


def _twice(table: Table, rows: Rows, context: Context) -> Iterator[Broken]:
    key, label = table.first.key, table.first.label
    names = [as_text(row[key]) if key in row else "" for row in rows]
    times = Counter(names)
    for number, name in enumerate(names):
        if table.unique and name and times[name] > 1:
            yield Broken(number, key, f"{label}: this name stands {times[name]} times here.")


def _first(table: Table) -> str:
    return f"{{{table.key}.{table.first.key}}}"


UNFINISHED = RowRule(
    lambda table: "rows with a blank that is needed", _count_unfinished, _unfinished
)
NAMELESS = RowRule(
    lambda table: f"rows without {table.first.label.lower()}", _count_nameless, _nameless
)
TWICE = RowRule(lambda table: "rows whose name stands twice", _count_twice, _twice)
ROW_RULES = (UNFINISHED, NAMELESS, TWICE)
