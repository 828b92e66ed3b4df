"""Carried over: what stood outside of the cells to type in, in an earlier copy of the workbook."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.writing.blocks import FIRST_ROW, Custom, Lines, Sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.layout import Value
    from workbook_template.writing.writer import Writer

CARRIED_OVER = "Carried over"
HEADINGS = ("File", "Sheet", "Cells", "What it is", "Belongs to", "Formula", "Value or note")
"""Where a line came from, what it is, and its values from the last heading on to the right."""

_WIDTHS = (22, 16, 11, 32, 32, 28, 24)
_MORE_VALUES = 14
_HOW = (
    "Each line says where it stood. Type what you still need where it belongs, and delete the "
    "line; with the last line the sheet goes.",
    "The numbers are as they were, in the units of that file. A formula stands here as text; its "
    "value is what it had come to.",
)


def sheet(lines: Sequence[Sequence[Value]]) -> Sheet:
    """Lay the sheet out."""

    def write(writer: Writer, row: int) -> None:
        writer.section(row, "What was carried over")
        for column, words in enumerate(HEADINGS, 1):
            writer.text(row + 1, column, words, "farm heading")
        for here, line in enumerate(lines, row + 2):
            for column, value in enumerate(line, 1):
                writer.value(here, column, value)

    longest = max((len(line) for line in lines), default=0)
    return Sheet(
        name=CARRIED_OVER,
        purpose="What stood outside of the cells to type in when this workbook was made anew.",
        blocks=[Lines("How to read it", _HOW, "farm text"), Custom(len(lines) + 2, write)],
        widths=(*_WIDTHS, *(_MORE_VALUES,) * (longest - len(_WIDTHS))),
        printed_columns=len(_WIDTHS),
        landscape=True,
        set_page=_unprotect,
    )


def _unprotect(writer: Writer) -> None:
    """Let the grower delete lines."""
    writer.worksheet.protection.sheet = False
    writer.worksheet.print_title_rows = f"1:{FIRST_ROW - 2}"
