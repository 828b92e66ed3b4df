"""Keeps with each batch of an earlier workbook what it was made with, where nobody typed it.

What the file shows was counted with the settings of its time. A new workbook would count anew,
with settings that change, or by formulas that have: so the figures shown go into the new one as
if they were typed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from cultivar_fx.stages.money import labor_cost
from workbook_template.operations.conversion import convert
from workbook_template.rules.cells import is_number
from workbook_template.schema.batches import BATCHES
from workbook_template.schema.made_with import MADE_WITH, used

if TYPE_CHECKING:
    from collections.abc import Callable

    from workbook_template.reading.entries import Reading
    from workbook_template.reading.tables import Row, TableFound
    from workbook_template.writing.layout import Entries

_DIGITS = 12
"""Of a figure that is divided out of others: what somebody typed is that round number again."""


class Kept(NamedTuple):
    """What was kept: how many figures, of how many batches."""

    figures: int = 0
    batches: int = 0


def has_columns(reading: Reading) -> bool:
    """Return whether a file has a column for everything that a batch was made with."""
    table = reading.tables.get(BATCHES.key)
    return table is not None and all(one.key in table.columns for one in MADE_WITH)


def keep_figures(reading: Reading, entries: Entries, units: str) -> Kept:
    """Fill in what each batch was made with, from what an earlier workbook shows.

    What it cost to pick is kept of batches that ended: others are still picked, at the wage of
    their time.

    Parameters
    ----------
    reading : Reading
        The earlier workbook.
    entries : Entries
        What is typed into the new one; blanks in its batches are filled.
    units : str
        The unit system of the new one.

    Returns
    -------
    Kept
        How much was filled in. A figure that the file holds no value for stays blank.
    """
    table = reading.tables.get(BATCHES.key)
    if table is None:
        return Kept()
    figures = batches = 0
    for row, typed in zip(table.rows, entries.tables[BATCHES.key], strict=True):
        shown = _Shown(reading, table, row)
        blank = [one for one in MADE_WITH if typed.get(one.key) is None]
        filled = 0
        for one in blank:
            value = shown.figure(one.key)
            if value is not None:
                typed[one.key] = convert(value, one.dimension, reading.settings.units, units)
                filled += 1
        figures += filled
        batches += filled > 0
    return Kept(figures, batches)


class _Shown:
    """What an earlier workbook shows in a row of its batches."""

    def __init__(self, reading: Reading, table: TableFound, row: Row) -> None:
        self._reading = reading
        self._table = table
        self._row = row

    def figure(self, key: str) -> float | None:
        """Return a figure that the batch was made with, as the file shows it or implies."""
        if key == "picking_cost" and self._stored("state") != "ended":
            return None
        value = self._column(used(key))
        if value is None and key in _IMPLIED:
            value = _IMPLIED[key](self)
        return value

    def _stored(self, column: str) -> object:
        number = self._table.columns.get(column)
        if number is None:
            return None
        return self._reading.contents.stored(self._table.area.sheet, self._row.row, number)

    def _column(self, column: str) -> float | None:
        return _number(self._stored(column))

    def _single(self, key: str) -> float | None:
        found = self._reading.singles.get(key)
        return None if found is None else _number(found.value)

    def spawn_rate(self) -> float | None:
        """Return what the spawn is of the substrate."""
        spawn, bags = self._column("spawn"), self._column("bags")
        mass = self._column(used("block_mass"))
        return _rounded(spawn / (bags * mass)) if spawn and bags and mass else None

    def block_cost(self) -> float | None:
        """Return what the batch cost, for each of its blocks."""
        cost, bags = self._column("cost"), self._column("bags")
        return cost / bags if cost is not None and bags else None

    def picking_cost(self) -> float | None:
        """Return what picking a unit of mass costs at the wage of the file."""
        minutes, wage = self._single("harvesting_minutes"), self._single("hourly_wage")
        burden = self._single("burden")
        if minutes is None or wage is None or burden is None:
            return None
        return _rounded(labor_cost(minutes, wage, burden))


_IMPLIED: dict[str, Callable[[_Shown], float | None]] = {
    "spawn_rate": _Shown.spawn_rate,
    "block_cost": _Shown.block_cost,
    "picking_cost": _Shown.picking_cost,
}
"""What the releases before this one did not show in a column of its own."""


def _number(value: object) -> float | None:
    return float(value) if is_number(value) else None


def _rounded(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")
