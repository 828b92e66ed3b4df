"""Puts on the looks that somebody gave cells and columns of an earlier workbook."""

from __future__ import annotations

from copy import copy
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.styles import PatternFill
from openpyxl.utils import get_column_letter

if TYPE_CHECKING:
    from workbook_template.safety.looks import Look
    from workbook_template.writing.layout import Book

LABEL = -1
"""Stands for the row of the words beside a single input."""


class Dressed(NamedTuple):
    """A cell by what it is: a single input or its label, or a column of a table and its row."""

    table: str
    key: str
    row: int = 0


def dress(book: Book) -> None:
    """Put the looks among a book's entries on its cells, and the widths on its columns.

    Parameters
    ----------
    book : Book
        A workbook in memory, its cells written.
    """
    for which, look in book.entries.looks.items():
        place = _place(book, which)
        if place is not None:
            _put_on(book.workbook[place[0]].cell(*place[1:]), look)
    for (sheet, column), width in book.entries.widths.items():
        if sheet in book.workbook.sheetnames:
            dimensions: Any = book.workbook[sheet].column_dimensions
            dimensions[get_column_letter(column)].width = width


def _place(book: Book, which: Dressed) -> tuple[str, int, int] | None:
    """Return where a cell is; nothing where the workbook has no such cell."""
    if which.table:
        column = book.columns.get((which.table, which.key))
        if column is None or column.first + which.row > column.last:
            return None
        return column.sheet, column.first + which.row, column.column
    cell = book.cells.get(which.key)
    if cell is None or cell.column <= 1:
        return None
    return cell.sheet, cell.row, cell.column - (which.row == LABEL)


def _put_on(cell: Any, look: Look) -> None:
    cell._style = copy(cell._style)  # other cells share it
    if look.fill is not None:
        cell.fill = PatternFill("solid", start_color=look.fill, end_color=look.fill)
    font = copy(cell.font)
    if look.color is not None:
        font.color = look.color
    if look.bold is not None:
        font.b = look.bold
    if look.italic is not None:
        font.i = look.italic
    if look.underline is not None:
        font.u = None if look.underline == "none" else look.underline
    if look.strike is not None:
        font.strike = look.strike
    if look.size is not None:
        font.sz = look.size
    cell.font = font
