"""A farm that lives through its week plan day by day, starting what the plan says.

Nothing here is planned: each morning blocks are started and moved, each flush is picked on its day,
and what was picked for a market is sold there and with the orders until the next market. It is told
what of the demand was not met, and where all blocks stood.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import NamedTuple

DAY = timedelta(1)


class Crop(NamedTuple):
    """What is true of a crop; all days are whole, and what a block gives is in kilograms."""

    incubation: int
    first: int
    interval: int
    gives: tuple[float, ...]
    """By flush, of a good block; of one that is sold whole a single 1."""
    loss: float
    every: int = 1
    """Weeks for which a start has to last, counted from a market."""
    begins: date = date.min

    @property
    def is_whole(self) -> bool:
        return self.gives == (1.0,)


@dataclass
class Batch:
    """Blocks on their way: when they were made and moved, and the flushes picked so far."""

    crop: int
    made: date
    blocks: float
    good: float
    """How many of them live to be moved."""
    moved: date | None = None
    flush: int = 0
    next: date | None = None
    """The day of the next flush, once that is known."""
    picked: list[tuple[date, float]] = field(default_factory=list)
    sold_on: date | None = None
    """The market for which blocks sold whole are ready."""
    cleared: date | None = None


class Delivery(NamedTuple):
    """What is wanted of a crop on a day."""

    day: date
    crop: int
    amount: float


class Room(NamedTuple):
    """A room, and the days on which it is closed, if any."""

    stage: str
    spaces: int
    closed: tuple[date, date] | None = None

    def open_on(self, day: date) -> bool:
        return self.closed is None or not self.closed[0] <= day <= self.closed[1]


def in_rooms(rooms: list[Room], stage: str, day: date, blocks: float) -> dict[int, float]:
    """Put blocks into the open rooms of a stage, one after the other; what is over, in the last."""
    mine = {number: room for number, room in enumerate(rooms) if room.stage == stage}
    standing = dict.fromkeys(mine, 0.0)
    for number, room in mine.items():
        if room.open_on(day):
            standing[number] = min(blocks, room.spaces)
            blocks -= standing[number]
    standing[max((n for n, room in mine.items() if room.open_on(day)), default=max(mine))] += blocks
    return standing


@dataclass
class Life:
    """What came of it."""

    short: dict[tuple[int, date], float] = field(default_factory=lambda: defaultdict(float))
    """What was not met, by crop and market."""
    cellar: dict[tuple[int, date], float] = field(default_factory=dict)
    """What is left for markets to come."""
    incubating: dict[date, float] = field(default_factory=dict)
    fruiting: dict[date, float] = field(default_factory=dict)


@dataclass
class Farm:
    """A farm on the evening before its first day."""

    today: date
    market: int
    """Weekday."""
    before_market: int
    """Days from picking to the market."""
    turnover: int
    crops: list[Crop]
    batches: list[Batch]
    cellar: dict[tuple[int, date], float] = field(default_factory=dict)
    """Picked for markets to come already, by crop."""

    def next_market(self, day: date) -> date:
        """Return the first market on or after a day."""
        return day + (self.market - day.weekday()) % 7 * DAY

    def live(self, starts: list[Batch], wanted: list[Delivery], days: int) -> Life:
        """Live through so many days.

        Parameters
        ----------
        starts : list of Batch
            What is started, each on its day.
        wanted : list of Delivery
            What is to be had on which day.
        days : int
            How many.

        Returns
        -------
        Life
            What was missing, and the blocks in the rooms each night.
        """
        life, standing = Life(), [one for one in self.batches if one.cleared is None]
        picked: dict[tuple[int, date], float] = defaultdict(float)
        picked.update(self.cellar)
        pool: dict[int, float] = defaultdict(float)
        for number in range(days):
            day = self.today + number * DAY
            standing += [batch for batch in starts if batch.made == day]
            for batch in standing:
                self._morning(batch, day, picked)
            if day.weekday() == self.market:
                self._to_market(day, picked, pool)
            for one in (one for one in wanted if one.day == day):
                sold = min(pool[one.crop], one.amount)
                pool[one.crop] -= sold
                # An order is picked for the market before it.
                market = self.next_market(day) - (0 if day.weekday() == self.market else 7) * DAY
                life.short[one.crop, market] += one.amount - sold
            for batch in standing:
                if self._is_cleared(batch, day):
                    batch.cleared = day
            standing = [batch for batch in standing if batch.cleared is None]
            life.incubating[day] = sum(b.blocks for b in standing if b.moved is None)
            life.fruiting[day] = sum(b.good for b in standing if b.moved is not None)
        life.cellar = dict(picked)
        return life

    def _morning(self, batch: Batch, day: date, picked: dict[tuple[int, date], float]) -> None:
        crop = self.crops[batch.crop]
        if batch.moved is None and day >= batch.made + crop.incubation * DAY:
            if crop.is_whole:
                self._pick(batch, day, picked)
            else:
                batch.moved, batch.next = day, day + crop.first * DAY
        while batch.next is not None and batch.flush < len(crop.gives) and day >= batch.next:
            self._pick(batch, day, picked)
            batch.next = day + crop.interval * DAY

    def _pick(self, batch: Batch, day: date, picked: dict[tuple[int, date], float]) -> None:
        crop = self.crops[batch.crop]
        market = self.next_market(day + self.before_market * DAY)
        amount = batch.good * crop.gives[batch.flush]
        picked[batch.crop, market] += amount
        batch.picked.append((day, amount))
        batch.flush += 1
        if crop.is_whole:
            batch.moved, batch.sold_on = day, market

    def _to_market(
        self, day: date, picked: dict[tuple[int, date], float], pool: dict[int, float]
    ) -> None:
        """Throw out what is too old, and take what was picked for this market."""
        for number, crop in enumerate(self.crops):
            if (day - crop.begins).days // 7 % crop.every == 0:
                pool[number] = 0.0
            pool[number] += picked.pop((number, day), 0.0)

    def _is_cleared(self, batch: Batch, day: date) -> bool:
        crop = self.crops[batch.crop]
        if batch.flush < len(crop.gives) or batch.next is None:
            return crop.is_whole and batch.moved is not None
        last = batch.next - crop.interval * DAY
        return day >= last + self.turnover * DAY
