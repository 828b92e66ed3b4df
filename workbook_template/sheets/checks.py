"""Checks: everything that can be checked, its tolerance, and one word for all of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.rules.cells import by_rule
from workbook_template.rules.rows import ROW_RULES
from workbook_template.schema.cards import CHECKS
from workbook_template.schema.fields import Computed, Field, Table, dimension_of
from workbook_template.writing.blocks import (
    Calculated,
    Check,
    Custom,
    Form,
    Grid,
    Sheet,
    TableBlock,
)
from workbook_template.writing.layout import telling_columns, zone_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workbook_template.writing.blocks import Block
    from workbook_template.writing.writer import Writer

NAME = "Checks"
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
        'CHOOSE(1+({faults}>0),"OK",{faults}&" failed, see the Checks sheet")',
        "Shown on every sheet.",
        is_key=True,
    ),
)
_FORM = Form("Summary", (*_TOGETHER, *CHECKS.fields))


def all_checks(sheets: Sequence[Sheet], units: str) -> list[tuple[str, Check]]:
    """Return every check of a workbook with these sheets, each with the name of its sheet."""
    checks = [
        (sheet.name, check)
        for sheet in sheets
        for check in (*_of_blocks(sheet.blocks, units), *sheet.checks)
    ]
    return [*checks, *((NAME, check) for check in _of_blocks([_FORM], units))]


def _of_blocks(blocks: Sequence[Block], units: str) -> Iterator[Check]:
    """Yield the checks that the rules make for what is typed into the blocks of a sheet."""
    for block in blocks:
        if isinstance(block, Form):
            for rule, fields in by_rule(_inputs(block.rows)):
                count = rule.count_inputs(fields, units)
                yield Check(f"{block.title}: {rule.in_form}", count)
        elif isinstance(block, Grid | TableBlock):
            table = block if isinstance(block, Grid) else block.table
            for rule, fields in by_rule(_inputs(table.columns)):
                count = rule.count_cells(table.key, fields, units)
                yield Check(f"{table.title}: {rule.in_table}", count)
            if isinstance(table, Table):
                yield from (*_of_rows(table), *_of_formulas(table), _below(table))


def _of_rows(table: Table) -> Iterator[Check]:
    for rule in ROW_RULES:
        if count := rule.how_often(table):
            words = rule.line.format(first=table.first.label.lower())
            yield Check(f"{table.title}: {words}", count)


def _of_formulas(table: Table) -> Iterator[Check]:
    """Count the rows that somebody put in between and whose formulas were not filled down."""
    computed = [one for one in table.columns if isinstance(one, Computed)]
    if computed:
        column = f"{{{table.key}.{computed[0].key}}}"
        yield Check(
            f"{table.title}: rows without their formulas", f"ROWS({column})-COUNTA({column})"
        )


def _below(table: Table) -> Check:
    """Count what was typed below the last row of a table, where nothing counts it."""
    counted = "+".join(
        f"COUNTA({zone_name(table.key, one.key)})-COUNTA({{{table.key}.{one.key}}})"
        for one in telling_columns(table)
    )
    return Check(f"{table.title}: cells filled below the last row of the table", counted)


def _inputs(rows: Sequence[object]) -> list[Field]:
    return [one for one in rows if isinstance(one, Field)]


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
        name=NAME,
        purpose="What does not add up, and where. One word for all of it stands on every sheet.",
        blocks=[
            _FORM,
            Custom(len(checks) + 2, write, place),
        ],
        widths=(66, 16, 12, 12, 16),
    )


def _write_check(writer: Writer, row: int, sheet_name: str, check: Check) -> None:
    writer.text(row, 1, check.words, "farm text")
    writer.link(row, 2, sheet_name)
    number = dimension_of("rounding")
    writer.formula(row, 3, f'IFERROR({check.found},"{AN_ERROR}")', number, waits=False)
    writer.formula(row, 4, check.allowed, number, waits=False)
    state = writer.worksheet.cell(row, _STATE_COLUMN, f'=IF(C{row}<=D{row},"OK","check this")')
    state.style = "farm result text"
