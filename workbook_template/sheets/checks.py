"""Checks: everything that can be checked, its tolerance, and one word for all of it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from workbook_template.schema.cards import CHECKS
from workbook_template.schema.fields import Field, Table, dimension_of
from workbook_template.writing.page import Calculated, Check, Custom, Form, Grid, Sheet, TableBlock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.writer import Writer

_OUTSIDE = re.compile(r"\{!([\w.]+)\}")
AN_ERROR = "an error"
"""What a check finds where what it looks at cannot be computed."""
_STATE_COLUMN = 5
_TOGETHER = (
    Calculated(
        "faults",
        "Checks that need a look",
        "count",
        'ROWS({checks.state})-COUNTIF({checks.state},"OK")',
        "",
        is_key=True,
    ),
    Calculated(
        "master_check",
        "State of the workbook",
        "state",
        'CHOOSE(1+({faults}>0),"OK",{faults}&" to look at, see the sheet Checks")',
        "Shown on every sheet.",
        is_key=True,
    ),
)


def form_checks(sheet: Sheet) -> list[Check]:
    """Make a check of the inputs of each form: within limits, and numbers where they belong."""
    return [
        Check(
            f"{block.title}: inputs outside their limits, or text for a number",
            "+".join(f"{{!{field.key}}}" for field in numbers),
        )
        for block in sheet.blocks
        if isinstance(block, Form)
        and (numbers := [row for row in block.rows if isinstance(row, Field) and row.is_number])
    ]


def table_checks(table: Table | Grid) -> list[Check]:
    """Make the checks that every table gets from its columns."""
    numbers = [one for one in table.columns if isinstance(one, Field) and one.is_number]
    checks = []
    if numbers:
        outside = "+".join(f"{{!{table.key}.{one.key}}}" for one in numbers)
        checks.append(Check(f"{table.title}: figures outside their limits, or text", outside))
    if isinstance(table, Table):
        checks += _row_checks(table)
    return checks


def _row_checks(table: Table) -> list[Check]:
    """Make the checks of rows: unfinished ones, nameless ones, names twice or unknown."""
    first = f"{{{table.key}.{table.first.key}}}"
    others = table.fields[1:]
    # LibreOffice counts nothing where the first condition is that a cell is blank.
    blanks = "+".join(
        f'COUNTIFS({first},"{_filled(table.first)}",{{{table.key}.{one.key}}},"")'
        for one in others
        if one.required
    )
    nameless = "+".join(
        f'COUNTIFS({{{table.key}.{one.key}}},"{_filled(one)}",{first},"")' for one in others
    )
    checks = []
    if blanks:
        checks.append(Check(f"{table.title}: rows with a blank that is needed", blanks))
    if nameless and table.first.required:
        words = f"{table.title}: rows without {table.first.label.lower()}"
        checks.append(Check(words, nameless))
    computed = {column.key for column in table.columns if not isinstance(column, Field)}
    if "times_named" in computed:
        twice = f'COUNTIF({{{table.key}.times_named}},">1")'
        checks.append(Check(f"{table.title}: rows whose name stands twice", twice))
    if "found" in computed:
        unknown = f"COUNTIF({{{table.key}.found}},0)"
        checks.append(Check(f"{table.title}: rows with a choice that is on no list", unknown))
    return checks


def _filled(field: Field) -> str:
    """Give the condition that counts cells that hold something."""
    return ">=0" if field.is_number else "?*"


def all_checks(sheets: Sequence[Sheet]) -> list[tuple[str, Check]]:
    """Give every check of a workbook with these sheets, each with the name of its sheet."""
    checks: list[tuple[str, Check]] = []
    for sheet in sheets:
        tables: list[Table | Grid] = [
            block if isinstance(block, Grid) else block.table
            for block in sheet.blocks
            if isinstance(block, Grid | TableBlock)
        ]
        found = [
            *form_checks(sheet),
            *(check for table in tables for check in table_checks(table)),
            *sheet.checks,
        ]
        checks += [(sheet.name, check) for check in found]
    return checks


def sheet(checks: Sequence[tuple[str, Check]]) -> Sheet:
    """Lay the sheet out."""

    def place(writer: Writer, row: int) -> None:
        writer.place_column("checks", "state", row + 2, row + 1 + len(checks), _STATE_COLUMN)

    def write(writer: Writer, row: int) -> None:
        writer.section(row, "All checks")
        for column, words in enumerate(("Check", "Sheet", "Found", "Allowed", "State"), 1):
            writer.text(row + 1, column, words, "farm heading")
        for offset, (name, check) in enumerate(checks, 2):
            _write_check(writer, row + offset, name, check)
        writer.alarm(f"E{row + 2}:E{row + 1 + len(checks)}", f'E{row + 2}<>"OK"')

    return Sheet(
        name="Checks",
        purpose="What does not add up, and where. One word for all of it stands on every sheet.",
        blocks=[
            Form("All together", (*_TOGETHER, *CHECKS.fields)),
            Custom(len(checks) + 2, write, place),
        ],
        widths=(66, 16, 12, 12, 16),
    )


def _write_check(writer: Writer, row: int, sheet_name: str, check: Check) -> None:
    writer.text(row, 1, check.words, "farm text")
    writer.link(row, 2, sheet_name)
    number = dimension_of("rounding")
    found = _OUTSIDE.sub(lambda at: writer.outside(at[1]), check.found)
    writer.formula(row, 3, f'IFERROR({found},"{AN_ERROR}")', number, waits=False)
    writer.formula(row, 4, check.allowed, number, waits=False)
    state = writer.worksheet.cell(row, _STATE_COLUMN, f'=IF(C{row}<=D{row},"OK","look here")')
    state.style = "farm result text"
