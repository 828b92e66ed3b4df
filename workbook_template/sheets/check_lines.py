"""The lines of the Checks sheet: what each counts, and how it finds the first cell to fix."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from cultivar_fx.formula.parse import parse
from cultivar_fx.formula.tree import Place, walk
from workbook_template.rules.cells import is_broken
from workbook_template.rules.to_fix import (
    END,
    FAULT,
    WARNING,
    WITH_FAULT,
    WITH_WARNING,
    label_named,
    labels,
    needs,
)
from workbook_template.schema import SINGLE_INPUTS
from workbook_template.schema.columns import first_row_where
from workbook_template.schema.fields import TO_FIX, Field, Table
from workbook_template.writing.blocks import Check, Form, Grid, TableBlock
from workbook_template.writing.layout import telling_columns, zone_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workbook_template.writing.blocks import Block, Sheet

FOUND, SENTENCE = "\1", "\2"
"""Stand in templates for cells of the line itself: what it found first, and its sentence."""


class Line(NamedTuple):
    """One line of the Checks sheet, as templates.

    Attributes
    ----------
    sheet : str
        The sheet that it looks at.
    check : Check
        What it counts, and its words.
    first : str
        Of a table, the first row that is meant; of single inputs, each with its address and its
        sentence. Empty where the check looks at no cell that is typed.
    sentence : str
        What is wrong there.
    cell : str
        The address of the first cell that is meant.
    is_of_inputs : bool
        Whether it counts what is typed; everything else may rest on that.
    """

    sheet: str
    check: Check
    first: str = ""
    sentence: str = ""
    cell: str = ""
    is_of_inputs: bool = False

    @property
    def waits(self) -> bool:
        """Return whether it may fail just because something that is typed is wrong."""
        if self.is_of_inputs or self.check.is_warning:
            return False
        return not all(
            node.key in SINGLE_INPUTS
            for node in walk(parse(self.check.found))
            if isinstance(node, Place)
        )


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
        yield Line(sheet, _below(block.table), is_of_inputs=True)
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
    """Make the line of single inputs: the address of each that is wrong, and what it needs."""
    wrong = "&".join(
        f'REPT(ADDRESS(ROW({cell}),COLUMN({cell}),4)&" {needs(one, units)}",'
        f"{is_broken(one, cell, units)})"
        for one, cell in cells
    )
    found = f'(LEN({FOUND})-LEN(SUBSTITUTE({FOUND},"{END}","")))/LEN("{END}")'
    behind = f'FIND(" ",{FOUND})'
    return Line(
        sheet,
        Check(f"{title}: cells to fix", found),
        first=wrong,
        sentence=f'IFERROR(MID({FOUND},{behind}+1,FIND("{END}",{FOUND})-{behind}),"")',
        cell=f'IFERROR(LEFT({FOUND},{behind}-1),"")',
        is_of_inputs=True,
    )


def _of_rows(sheet: str, table: Table, mark: str, pattern: str) -> Line:
    """Make the line of the rows of a table whose text has a mark."""
    texts = f"{{{table.key}.{TO_FIX}}}"
    text = f"INDEX({texts},{FOUND})"
    named = labels(table)
    words = ",".join(f'"{label}"' for label in named.values())
    columns = ",".join(f"COLUMN({{{table.key}.{key}}})" for key in named)
    column = f"CHOOSE(MATCH({label_named(SENTENCE, mark)},{{{words}}},0),{columns})"
    sentence = f'{text}&""'
    if mark == WARNING:  # behind the faults of the row
        sentence = f'MID({text},FIND({label_named(text, mark)}&"{mark}",{text}),LEN({text}))'
    return Line(
        sheet,
        _counted(table, texts, mark, pattern),
        first=_first_row(table, texts, pattern),
        sentence=f'CHOOSE(1+COUNT({FOUND}),"",{sentence})',
        cell=f'CHOOSE(1+COUNT({FOUND}),"",ADDRESS(ROW({text}),{column},4))',
        is_of_inputs=mark == FAULT,
    )


def _first_row(table: Table, texts: str, pattern: str) -> str:
    """Number the first row of a table that has such a text, or any, where it has no other kind.

    Engines differ in how they match patterns in what is computed.
    """
    if table.warnings:
        return f'IFERROR(MATCH("{pattern}",{texts},0),"")'
    has_text = f'({texts}<>"")'
    row = first_row_where(has_text, f"{table.key}.{TO_FIX}")
    return f'CHOOSE(1+(SUMPRODUCT({has_text}*1)>0),"",{row}-ROW(INDEX({texts},1))+1)'


def _counted(table: Table, texts: str, mark: str, pattern: str) -> Check:
    """Make the check that counts rows, and with them those whose formulas were not filled down."""
    found = f'COUNTIF({texts},"{pattern}")'
    if mark == WARNING:
        return Check(f"{table.title}: rows to check", found, is_warning=True)
    return Check(f"{table.title}: rows to fix", f"{found}+ROWS({texts})-COUNTA({texts})")


def _below(table: Table) -> Check:
    """Count what was typed below the last row of a table, where nothing counts it."""
    counted = "+".join(
        f"COUNTA({zone_name(table.key, one.key)})-COUNTA({{{table.key}.{one.key}}})"
        for one in telling_columns(table)
    )
    return Check(f"{table.title}: cells filled below the last row of the table", counted)
