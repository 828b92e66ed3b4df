"""Where the blocks stand, room by room and day by day: counted in plain Python, by the rules.

Every day begins with empty rooms. Each batch and each planned start says where it stands that
day; whoever has no room of their own is put into the rooms one after the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Row = dict[str, Any]
DAYS = 84
INCUBATION, FRUITING = "incubation", "fruiting"


class Start(NamedTuple):
    """A planned start as the sheet shows it: the day, what is left to start, what it becomes."""

    day: date
    left: float
    strain: str
    is_sold_whole: bool


class Stay(NamedTuple):
    """Blocks in a stage, from a day until the day before another, in a room if one is typed."""

    stage: str
    blocks: float
    first: date
    until: date
    room: str = ""


@dataclass(frozen=True)
class Standing:
    """The farm as it is typed.

    Attributes
    ----------
    today : date
        The day of the farm.
    strains, batches, losses, harvests, rooms : list of dict
        The rows of these tables.
    turnover : float
        Days from the last flush until a space is free again.
    starts : list of Start
        What is planned.
    """

    today: date
    strains: Sequence[Row]
    batches: Sequence[Row]
    losses: Sequence[Row]
    harvests: Sequence[Row]
    rooms: Sequence[Row]
    turnover: float
    starts: Sequence[Start]

    @property
    def monday(self) -> date:
        """The first of the days."""
        return self.today - timedelta(self.today.weekday())

    def by_room_and_day(self) -> dict[tuple[str, date], tuple[float, int]]:
        """Return the blocks in each room on each day, and the spaces that it has then."""
        stays = [*self._logged(), *self._planned()]
        counted = {}
        for number in range(DAYS):
            day = self.monday + timedelta(number)
            here = [one for one in stays if one.first <= day < one.until]
            for stage in (INCUBATION, FRUITING):
                counted |= self._of_day(day, stage, [one for one in here if one.stage == stage])
        return counted

    def by_stage_and_day(self) -> dict[tuple[str, date], tuple[float, int]]:
        """Return the blocks and the spaces of all rooms of a stage on each day."""
        stages = {room["room"]: room["stage"] for room in self.rooms}
        summed: dict[tuple[str, date], tuple[float, int]] = {}
        for (room, day), (blocks, spaces) in self.by_room_and_day().items():
            before = summed.get((stages[room], day), (0.0, 0))
            summed[stages[room], day] = before[0] + blocks, before[1] + spaces
        return summed

    def _of_day(
        self, day: date, stage: str, stays: Sequence[Stay]
    ) -> dict[tuple[str, date], tuple[float, int]]:
        rooms = [room for room in self.rooms if room["stage"] == stage]
        spaces = {room["room"]: 0 if _is_closed(room, day) else room["spaces"] for room in rooms}
        blocks = dict.fromkeys(spaces, 0.0)
        homeless = 0.0
        for one in stays:
            if one.room in blocks:
                blocks[one.room] += one.blocks
            else:
                homeless += one.blocks
        for name in blocks:
            taken = min(homeless, max(0.0, spaces[name] - blocks[name]))
            blocks[name] += taken
            homeless -= taken
        if rooms:
            still_open = [room["room"] for room in rooms if not _is_closed(room, day)]
            blocks[(still_open or list(blocks))[-1]] += homeless
        return {(name, day): (blocks[name], spaces[name]) for name in blocks}

    # Who stands where

    def _logged(self) -> Iterator[Stay]:
        for batch in self.batches:
            good = batch["bags"] - sum(
                row["blocks"] for row in self.losses if row["batch"] == batch["batch"]
            )
            is_ended = batch.get("ended") and batch["ended"] <= self.today
            if is_ended or good <= 0:
                continue
            strain = self._strain(batch["strain"])
            moved = batch.get("moved")
            ripe = days_after(batch["made"], strain["incubation_days"])
            leaves = moved or max(self.today, ripe)
            fruits = good if moved else min(good, batch["bags"] * (1 - strain["loss_rate"]))
            yield Stay(INCUBATION, good, batch["made"], leaves, batch.get("incubation_room") or "")
            cleared = max(self.today, self._cleared(batch, strain))
            yield Stay(FRUITING, fruits, leaves, cleared, batch.get("fruiting_room") or "")

    def _cleared(self, batch: Row, strain: Row) -> date:
        """Return the day on which the last planned flush has come, and the space is free again."""
        picked = [row for row in self.harvests if row["batch"] == batch["batch"]]
        last = max((row["flush"] for row in picked), default=0)
        interval = strain["flush_interval_days"] or 0
        move = batch.get("moved")
        if move is None:
            overdue = days_after(batch["made"], strain["incubation_days"]) <= self.today
            ripe = _serial(batch["made"]) + strain["incubation_days"]
            move_on = max(_serial(self.today), ripe) if overdue else ripe
        else:
            move_on = _serial(move)
        if picked:
            first_day = min(row["date"] for row in picked if row["flush"] == last)
            if last >= strain["flushes"]:
                return days_after(first_day, self.turnover)
            following = days_after(first_day, interval)
        else:
            following = _day(move_on + strain["first_flush_days"])
        later = (strain["flushes"] - last - 1) * interval
        return days_after(max(self.today, following), later + self.turnover)

    def _planned(self) -> Iterator[Stay]:
        for one in self.starts:
            strain = self._strain(one.strain)
            begins = max(self.today, one.day)
            moves = days_after(begins, strain["incubation_days"])
            # What is overdue is to be started today, and stands nowhere before.
            yield Stay(INCUBATION, one.left, begins, moves)
            if not one.is_sold_whole:
                days = strain["first_flush_days"] + self.turnover
                days += (strain["flushes"] - 1) * (strain["flush_interval_days"] or 0)
                fruits = one.left * (1 - strain["loss_rate"])
                yield Stay(FRUITING, fruits, moves, days_after(moves, days))

    def _strain(self, name: str) -> Row:
        return next(row for row in self.strains if row["strain"] == name)


def _is_closed(room: Row, day: date) -> bool:
    first, last = room.get("closed_from"), room.get("closed_until")
    return first is not None and last is not None and first <= day <= last


def _serial(day: date) -> float:
    return float(day.toordinal())


def _day(serial: float) -> date:
    """Return the nearest day, as a sheet rounds."""
    return date.fromordinal(floor(serial + 0.5))


def days_after(day: date, days: float) -> date:
    """Return the day so many days later, to the nearest."""
    return _day(_serial(day) + days)
