"""Columns, and parts of formulas, that several logs share."""

from __future__ import annotations

from workbook_template.schema.fields import (
    Computed,
    Field,
    Rule,
)

FIRST_DATE = "61 or more"
"""Dates before March 1900 are counted differently from program to program."""

LEAST_SUBSTRATE_MOISTURE = 0.2
"""Far drier than anything grows in."""

_DUE_TABLES = ("batches.batch", "spawn_lots.lot", "starts.crop", "stock.line", "spawn_stock.line")
"""What the due list reads, each by one of its columns, in the order of rows of one day."""
_ROWS_DUE = "(1+" + "+".join(f"ROWS({{{column}}})" for column in _DUE_TABLES) + ")"
"""More than the rows of all of these: a row's part of it is below 1."""

MONTH = 'YEAR({%s})&"-"&TEXT(MONTH({%s}),"00")'


def row_of(table: str, key: str, *needed: str) -> str:
    """Return the name in a row of a table, blank until the columns named are filled."""
    filled = "*".join(f"COUNT(INDEX({{{table}.{column}}},{{line}}))" for column in needed)
    return f'CHOOSE(1+{filled},"",INDEX({{{table}.{key}}},{{line}})&"")'


def due_rank(day: str, table: str, only: str = "") -> Computed:
    """Make the column that puts a row into the due list: its day, and a part of a day for the row.

    The seven days are today and the six after it. Whatever the row, the part is below a day, and
    it is put behind a whole one: it tells rows apart and never changes the date.
    """
    tables = [column.partition(".")[0] for column in _DUE_TABLES]
    before = [f"ROWS({{{column}}})" for column in _DUE_TABLES[: tables.index(table)]]
    row = f"({'+'.join([*before, '{line}'])})"
    soon = f"1+({{{day}}}<{{today}}+7){only}"
    rank = f'CHOOSE({soon},"",INT({{{day}}})+{row}/{_ROWS_DUE})'
    note = "The date, and after the decimal point a part of a day that tells rows apart."
    return Computed("rank", "Place in the due list", "number", rank, note, is_working=True)


def iso_date(key: str) -> str:
    """Write a date as text, in words that mean the same in every language of a program."""
    return f'YEAR({key})&"-"&TEXT(MONTH({key}),"00")&"-"&TEXT(DAY({key}),"00")'


def first_row_where(condition: str, column: str) -> str:
    """Write the row of the sheet in which a condition on a column holds first.

    Where it holds nowhere, it is the row behind the column. Not every engine takes ROW of a whole
    range for its rows.
    """
    behind = f"ROWS({{{column}}})+1"
    place = f"IFERROR(SUMPRODUCT(MATCH(1,({condition})*1,0)),{behind})"
    return f"(ROW(INDEX({{{column}}},1))-1+{place})"


def before_above(table: str) -> Computed:
    """Make the column that says where a log goes back in time."""
    return Computed(
        "backward",
        "Before the row above",
        "count",
        f"({{date}}<N(INDEX({{{table}.date}},MAX(1,{{line}}-1))))*1",
        "1 where the date is before that of the row above.",
        is_working=True,
    )


def line_of(table: str, key: str) -> Computed:
    """Make the column that numbers the rows of a table, by the rows of one of its keys."""
    formula = f"ROW({{{key}}})-ROW(INDEX({{{table}.{key}}},1))+1"
    return Computed(
        "line", "Row", "count", formula, "Numbers the rows of the table.", is_working=True
    )


def place_of(key: str, label: str, column: str, choice: str = "") -> Computed:
    """Make the column that says in which row of another table a choice stands.

    One that may be left out is named: a blank is found where LibreOffice finds another blank.
    """
    found = f"MATCH({{{choice or column.partition('.')[2]}}},{{{column}}},0)"
    formula = f'IFERROR({found},"")'
    if choice:
        formula = f'CHOOSE(1+({{{choice}}}<>""),"",{formula})'
    return Computed(
        key,
        label,
        "count",
        formula,
        "Where the rest of the row looks it up; empty where it is not on its list.",
        finds=choice or column.partition(".")[2],
        is_working=True,
    )


def after_today(key: str) -> Rule:
    """Make the rule that a day is not to come."""
    return Rule(key, "after today", f"N({{{key}}})>{{today}}")


def long_before(table: str, key: str) -> Rule:
    """Make the warning of a day that lies long before that of the row above: a wrong year."""
    above = f"N(INDEX({{{table}.{key}}},MAX(1,{{line}}-1)))"
    return Rule(
        key,
        "long before the row above",
        f"COUNT({{{key}}})*({{{key}}}+{{days_back}}<{above})*({above}<={{today}})",
    )


NOTE = Field("note", "Note", "text", help="Whatever you want to remember.", required=False)
