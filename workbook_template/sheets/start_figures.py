"""The key figures of the Start sheet, in groups beside each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema.fields import dimension_of
from workbook_template.sheets import due, improve_list
from workbook_template.writing.blocks import Calculated

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workbook_template.writing.writer import Writer

_LEFT, _RIGHT = 1, 4
_LAST_SEVEN_DAYS = 'SUMIFS({{{0}}},{{{1}.date}},">"&({{today}}-7),{{{1}.date}},"<="&{{today}})'


@dataclass(frozen=True)
class Group:
    """Figures under one heading; ``heading`` is a template of text."""

    heading: str
    rows: Sequence[Calculated]

    @property
    def height(self) -> int:
        """The rows, the gap behind included."""
        return len(self.rows) + 2


_WEEK = Group(
    '"This week"',
    (
        Calculated(
            "today", "Today", "date", "CHOOSE(1+COUNT({as_of}),TODAY(),{as_of})", is_key=True
        ),
        *due.COUNTS,
        Calculated(
            "start_fresh",
            "Picked in the last seven days",
            "kg",
            _LAST_SEVEN_DAYS.format("harvests.fresh", "harvests"),
            is_key=True,
            comes_from="Harvests",
        ),
        Calculated(
            "start_lost",
            "Blocks lost in the last seven days",
            "count",
            _LAST_SEVEN_DAYS.format("losses.blocks", "losses"),
            is_key=True,
            comes_from="Losses",
        ),
        Calculated(
            "start_chance",
            "Chance to meet total demand",
            "fraction",
            "INDEX({range.chance},1)*1",
            is_key=True,
            comes_from="Forecast",
        ),
    ),
)
_SHELVES = Group(
    '"On the shelves"',
    (
        Calculated(
            "start_incubating",
            "Good blocks in incubation",
            "count",
            'SUMIFS({batches.good},{batches.state},"incubating")'
            '+SUMIFS({batches.good},{batches.state},"to move")'
            '+SUMIFS({batches.good},{batches.state},"to sell")',
            is_key=True,
            comes_from="Batches",
        ),
        Calculated(
            "start_fruiting",
            "Good blocks in fruiting",
            "count",
            'SUMIFS({batches.good},{batches.state},"in fruiting")',
            is_key=True,
            comes_from="Batches",
        ),
        Calculated(
            "start_spawn_left",
            "Spawn left in good lots",
            "kg",
            "{spawn_left}*1",
            is_key=True,
            comes_from="Spawn",
        ),
    ),
)
_MONEY = Group(
    '"Money"&REPT(": "&{cost_product},({cost_product}<>"")*1)',
    (
        Calculated(
            "start_cost_block",
            "Cost of a good block",
            "money/block",
            "{cost_good}*1",
            is_key=True,
            comes_from="Costing",
        ),
        Calculated(
            "start_cost",
            "Cost of mushrooms sold",
            "money/kg",
            "{cost_sold}*1",
            is_key=True,
            comes_from="Costing",
        ),
        Calculated(
            "start_margin",
            "Margin of the price after fees",
            "fraction",
            "{margin_share}*1",
            is_key=True,
            comes_from="Costing",
        ),
    ),
)
_COLUMNS = {_LEFT: (_WEEK,), _RIGHT: (_SHELVES, _MONEY)}


@dataclass(frozen=True)
class Figures:
    """The groups, one list of them on either side of the page."""

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return self._sentence + 2

    @property
    def _sentence(self) -> int:
        """The row of the sentence below the groups, counted from that of the title."""
        return max(sum(one.height for one in groups) for groups in _COLUMNS.values())

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        for line, here, column in self._lines(row):
            writer.place_cell(
                line.key, here, column + 1, is_input=False, is_text=line.dimension.is_text
            )
            writer.book.forms[line.key] = line

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, "Key figures")
        for column, groups in _COLUMNS.items():
            here = row + 1
            for group in groups:
                writer.formula(
                    here, column, group.heading, dimension_of("state"), "farm group", waits=False
                )
                here += group.height
        for line, here, column in self._lines(row):
            if line.comes_from:
                writer.link(here, column, line.comes_from, line.label)
            else:
                writer.text(here, column, line.label, "farm label")
            writer.shrink(here, column)
            writer.formula(here, column + 1, line.formula, line.dimension, "farm key result")
            writer.text(here, column + 2, writer.unit(line.dimension), "farm unit")
        here, state = row + self._sentence, dimension_of("state")
        writer.wide_text(here, "", "farm text")
        writer.formula(here, 1, improve_list.START, state, "farm text", waits=False)

    def _lines(self, row: int) -> Iterator[tuple[Calculated, int, int]]:
        """Yield each figure with its row and the column of its label."""
        for column, groups in _COLUMNS.items():
            here = row + 1
            for group in groups:
                for offset, line in enumerate(group.rows, 1):
                    yield line, here + offset, column
                here += group.height
