"""Grids whose headings compute themselves, such as the Monday of a week; breaks between pages."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from openpyxl.utils import get_column_letter

from workbook_template.schema.fields import Computed, dimension_of
from workbook_template.writing.blocks import Grid

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from workbook_template.writing.writer import Writer

WEEKS = 12
_NUMBERS = range(1, WEEKS + 1)


@dataclass(frozen=True)
class HeadedGrid(Grid):
    """A grid where the headings of some columns are formulas.

    ``headings`` gives the template and the unit of each by the column's key. In the columns of
    ``alarmed`` whatever is above 1, a share above 100 %, stands out.
    """

    headings: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    alarmed: Sequence[str] = ()

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        super().write(writer, row)
        for number, column in enumerate(self.shown, 1):
            if column.key in self.headings:
                template, unit = self.headings[column.key]
                writer.formula(row + 1, number, template, dimension_of(unit), "farm heading")
            if column.key in self.alarmed:
                letter, first = get_column_letter(number), row + 2
                cells = f"{letter}{first}:{letter}{first + self.rows - 1}"
                writer.alarm(cells, f"AND(ISNUMBER({letter}{first}),{letter}{first}>1)")


@dataclass(frozen=True)
class FirstWeekGrid(HeadedGrid):
    """The grid whose headings are the cells ``week_1`` to ``week_12`` that others point to."""

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        super().place(writer, row)
        for number, column in enumerate(self.shown, 1):
            if column.key in self.headings:
                writer.place_cell(f"week_{column.key[1:]}", row + 1, number, is_input=False)


def week_columns(unit: str, template: str) -> tuple[Computed, ...]:
    """Make a column for each week; ``{week}`` in the template is its Monday, ``{w}`` its key."""
    return tuple(
        Computed(
            f"w{number}",
            f"Week {number}",
            unit,
            template.replace("{week}", f"{{week_{number}}}").replace("{w}", f"w{number}"),
        )
        for number in _NUMBERS
    )


WEEK_KEYS = tuple(f"w{number}" for number in _NUMBERS)
WEEK_HEADINGS = {f"w{number}": (f"{{week_{number}}}*1", "date") for number in _NUMBERS}


def first_week_headings(monday: str) -> dict[str, tuple[str, str]]:
    """Let each Monday follow from the one before it."""
    later = {f"w{n}": (f"{{week_{n - 1}}}+7", "date") for n in _NUMBERS[1:]}
    return {"w1": (f"{{{monday}}}*1", "date"), **later}
