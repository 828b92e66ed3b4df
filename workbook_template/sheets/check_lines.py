"""The lines of the Checks sheet: what each counts, and how it finds the first cell that is meant."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from workbook_template.rules.cells import is_broken
from workbook_template.rules.to_fix import (
    FAULT,
    WARNING,
    WITH_FAULT,
    WITH_WARNING,
    label_named,
    labels,
)
from workbook_template.schema.fields import TO_FIX, Field, Table
from workbook_template.writing.blocks import Check, Form, Grid, TableBlock

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workbook_template.writing.blocks import Block, Sheet

ROW, SENTENCE, CELLS = "\1", "\2", "\3"
"""Stand in templates for cells of the line itself: the row of the table, its text, the cells."""


class Line(NamedTuple):
    """One line of the Checks sheet, as templates.

    Attributes
    ----------
    sheet : str
        The sheet that it looks at.
    check : Check
        What it counts, and its words.
    row : str
        Of a table, the first row that is meant; empty where there is none.
    sentence : str
        What that row says.
    cells : str
        The addresses of the cells that are meant, a blank behind each.
    is_of_inputs : bool
        Whether it counts what is typed; everything else may rest on that.
    """

    sheet: str
    check: Check
    row: str = ""
    sentence: str = ""
    cells: str = ""
    is_of_inputs: bool = False


def all_lines(sheets: Sequence[Sheet], units: str) -> list[Line]:
    """Return every line of a workbook with these sheets, those that only warn at the end."""
    lines = [
        line
        for sheet in sheets
        for line in (
            *(line for block in sheet.blocks for line in _of_block(sheet.name, block, units)),
            *(Line(sheet.name, check) for check in sheet.checks),
        )
    ]
    return sorted(lines, key=lambda line: line.check.is_warning)


def _of_block(sheet: str, block: Block, units: str) -> Iterator[Line]:
    """Yield the lines for what is typed into a block of a sheet."""
    if isinstance(block, TableBlock):
        yield _of_rows(sheet, block.table, FAULT, WITH_FAULT)
        if block.table.warnings:
            yield _of_rows(sheet, block.table, WARNING, WITH_WARNING)
    elif isinstance(block, Form):
        fields = [one for one in block.rows if isinstance(one, Field)]
        if fields:
            yield _of_cells(sheet, block.title, [(one, f"{{{one.key}}}") for one in fields], units)
    elif isinstance(block, Grid):
        cells = [
            (one, f"INDEX({{{block.key}.{one.key}}},{row})")
            for one in block.columns
            if isinstance(one, Field)
            for row in range(1, block.rows + 1)
        ]
        if cells:
            yield _of_cells(sheet, block.title, cells, units)


def _of_cells(sheet: str, title: str, cells: Sequence[tuple[Field, str]], units: str) -> Line:
    """Make the line of single inputs."""
    wrong = "&".join(
        f'REPT(ADDRESS(ROW({cell}),COLUMN({cell}),4)&" ",{is_broken(one, cell, units)})'
        for one, cell in cells
    )
    found = f'LEN({CELLS})-LEN(SUBSTITUTE({CELLS}," ",""))'
    return Line(sheet, Check(f"{title}: cells to fix", found), cells=wrong, is_of_inputs=True)


def _of_rows(sheet: str, table: Table, mark: str, pattern: str) -> Line:
    """Make the line of the rows of a table whose text has a mark."""
    texts = f"{{{table.key}.{TO_FIX}}}"
    named = labels(table)
    words = ",".join(f'"{label}"' for label in named.values())
    columns = ",".join(f"COLUMN({{{table.key}.{key}}})" for key in named)
    column = f"CHOOSE(MATCH({label_named(SENTENCE, mark)},{{{words}}},0),{columns})"
    return Line(
        sheet,
        _counted(table, texts, mark, pattern),
        row=f'IFERROR(MATCH("{pattern}",{texts},0),"")',
        sentence=f'CHOOSE(1+COUNT({ROW}),"",INDEX({texts},{ROW})&"")',
        cells=f'CHOOSE(1+COUNT({ROW}),"",ADDRESS(ROW(INDEX({texts},{ROW})),{column},4))',
        is_of_inputs=mark == FAULT,
    )


def _counted(table: Table, texts: str, mark: str, pattern: str) -> Check:
    """Make the check that counts rows, and with them those whose formulas were not filled down."""
    found = f'COUNTIF({texts},"{pattern}")'
    if mark == WARNING:
        return Check(f"{table.title}: rows to check", found, is_warning=True)
    return Check(f"{table.title}: rows to fix", f"{found}+ROWS({texts})-COUNTA({texts})")
