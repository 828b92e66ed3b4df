"""Sentences that compute themselves, such as the answer on top of a sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema.fields import dimension_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from workbook_template.writing.writer import Writer

_STYLE = "farm text"
_LINE = 15.0
"""Height of a line of text, in points."""


@dataclass(frozen=True)
class Sentences:
    """A section of computed sentences, one a row, over the width of the sheet.

    ``lines`` gives the template of each by the key of its cell; ``high`` is how many lines of
    text a sentence may take, which nobody knows before it is computed.
    """

    title: str
    lines: Mapping[str, str]
    high: int = 1

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return len(self.lines) + 2

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        for offset, key in enumerate(self.lines, 1):
            writer.place_cell(key, row + offset, 1, is_input=False, is_text=True)

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, self.title)
        for here, template in enumerate(self.lines.values(), row + 1):
            writer.wide_text(here, "", _STYLE)
            writer.worksheet.row_dimensions[here].height = _LINE * self.high
            writer.formula(here, 1, template, dimension_of("state"), _STYLE, waits=False)
