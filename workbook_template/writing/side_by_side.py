"""A form with two values to a line: what might be, and beside it what is today."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema.fields import Field
from workbook_template.writing.blocks import LABEL, UNIT, VALUE, Calculated, Form

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

WHAT_IF, TODAY = "What if", "Today"
_TODAY, _TODAY_UNIT, _NOTE = 4, 5, 6


@dataclass(frozen=True)
class SideBySide(Form):
    """Labels with two values each: of the rows, every second one is that of today.

    An input stands next to its label, where a name of ours is looked for beside its own words.
    """

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return len(self.rows) // 2 + 2

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        for number, line in enumerate(self.rows):
            here = row + 1 + number // 2
            column = _TODAY if number % 2 else VALUE
            words = line.dimension.is_text
            writer.place_cell(line.key, here, column, isinstance(line, Field), words)
            writer.book.dimensions[line.key] = line.dimension
            if isinstance(line, Calculated):
                writer.book.forms[line.key] = line

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, self.title)
        writer.text(row, VALUE, WHAT_IF, "farm section")
        writer.text(row, _TODAY, TODAY, "farm section")
        for here, (line, today) in enumerate(zip(self.rows[::2], self.rows[1::2]), row + 1):
            writer.text(here, LABEL, line.label, "farm label")
            writer.shrink(here, LABEL)
            for column in (UNIT, _TODAY_UNIT):
                writer.text(here, column, writer.unit(line.dimension), "farm unit")
            if isinstance(line, Field):
                writer.input(here, VALUE, line, writer.value_of(line))
                writer.note(here, _NOTE, line)
            else:
                self._write_result(writer, here, VALUE, line)
                writer.text(here, _NOTE, line.note, "farm note")
            if isinstance(today, Calculated):
                self._write_result(writer, here, _TODAY, today)

    @staticmethod
    def _write_result(writer: Writer, row: int, column: int, line: Calculated) -> None:
        style = "farm key result" if line.is_key else None
        writer.formula(row, column, line.formula, line.dimension, style, waits_for=line.waits_for)
