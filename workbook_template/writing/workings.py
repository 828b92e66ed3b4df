"""The workings: intermediate steps that nobody reads to decide, out of a person's sight.

Those of a grid stand in the same rows of a gray sheet at the end, with the lists of its own that
a sheet is computed from below them. Those of a growing table stay in its rows, where they fill
down with it, in one folded group of columns at the right.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from openpyxl.utils import get_column_letter

from workbook_template.writing.blocks import FIRST_ROW, Grid, Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Block
    from workbook_template.writing.writer import Writer

HEADING = "Workings"
_NAME = "{} workings"
_FIRST_WIDTH, _WIDTH = 26.0, 13.0


def workings_name(sheet: str) -> str:
    """Return the name of the sheet that holds the workings of a sheet."""
    return _NAME.format(sheet)


def is_workings(sheet: str) -> bool:
    """Return whether a sheet of ours holds the workings of another."""
    return sheet.endswith(workings_name(""))


@dataclass(frozen=True)
class _Beside:
    """The workings of one block, in the rows that it has on its own sheet."""

    block: Block

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return self.block.height()

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        if isinstance(self.block, Grid):
            self.block.place_columns(writer, row, self.block.workings)

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        if isinstance(self.block, Grid) and self.block.workings:
            self.block.write_columns(writer, row, self.block.workings)


def workings_of(sheet: Sheet) -> Sheet | None:
    """Return the sheet of a sheet's workings; none where it has none.

    Parameters
    ----------
    sheet : Sheet
        As it is written, with the rows that its tables have.

    Returns
    -------
    Sheet or None
        The workings, with their own name.
    """
    grids = [block for block in sheet.blocks if isinstance(block, Grid) and block.workings]
    if not grids and not sheet.workings:
        return None
    lists = [
        replace(block, is_in_workings=True) if isinstance(block, Grid) else block
        for block in sheet.workings
    ]
    columns = [len(grid.workings) for grid in grids]
    columns += [len(block.columns) for block in lists if isinstance(block, Grid)]
    return Sheet(
        name=workings_name(sheet.name),
        purpose=f"How the {sheet.name} sheet gets its figures. There is nothing to type here.",
        blocks=[*map(_Beside, sheet.blocks), *lists],
        widths=(_FIRST_WIDTH, *[_WIDTH] * (max(columns, default=1) - 1)),
        landscape=True,
        is_workings=True,
    )


def fold_workings(writer: Writer) -> None:
    """Fold the workings of the tables of a sheet, one group of columns at its right."""
    worksheet, shown = writer.worksheet, writer.sheet.printed_columns
    tables = [block for block in writer.sheet.blocks if isinstance(block, TableBlock)]
    last = max((len(block.columns) for block in tables), default=0)
    if last > shown:
        first, end = get_column_letter(shown + 1), get_column_letter(last)
        worksheet.column_dimensions.group(first, end, outline_level=1, hidden=True)
        writer.text(FIRST_ROW - 1, shown + 1, HEADING, "farm purpose")
