"""Farms that start what the Week plan says, and live day by day: what they get is what it says.

Thirty or fifty farms of each kind are for the night, ``--farm-seeds 250``; each day has ten.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING

import pytest
from plan_simulation import in_rooms
from planned_farms import KINDS, WEEKS, Drawn, PlannedFarm, drawn

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator

    from plan_simulation import Life

A_THOUSANDTH = 1e-3
"""Of a kilogram or a block: starts are for millionths of blocks, which add up."""
DAYS = 7 * WEEKS


@dataclass
class Lived:
    """A farm, what became of it, and what its workbook had said."""

    of: Drawn
    life: Life
    earliest: list[date]
    """The first market of each crop that could still be started for."""
    ahead: list[int]
    """Weeks from a start to its market."""
    short: list[list[float]]
    """By crop and week of the plan, from this week on."""
    rooms: dict[tuple[int, date], float]
    """Blocks by room and day."""

    @property
    def monday(self) -> date:
        return self.of.farm.today - timedelta(self.of.farm.today.weekday())


@cache
def workbook() -> PlannedFarm:
    return PlannedFarm()


def as_date(serial: float) -> date:
    return date(1899, 12, 30) + timedelta(serial)


@cache
def lived(kind: str, seed: int) -> Lived:
    """Type a farm into the workbook, and let it live by the plan."""
    book = workbook()
    of = drawn(kind, seed, book.dry)
    book.type_plan(of)
    count = len(of.farm.crops)
    earliest = [as_date(one) for one in book.column("crop_weeks.earliest", count)]
    of.farm.crops = [
        crop._replace(every=int(every), begins=first)
        for crop, every, first in zip(
            of.farm.crops, book.column("crops.every", count), earliest, strict=True
        )
    ]
    rooms = {}
    for row in range(DAYS * 8):
        room = book.value("occupancy.at", row)
        if room <= len(of.rooms):
            day = as_date(book.value("occupancy.day", row))
            rooms[int(room) - 1, day] = book.value("occupancy.blocks", row)
    short = [book.column(f"crop_weeks.short_{week}", count) for week in range(1, WEEKS + 1)]
    return Lived(
        of,
        of.farm.live(book.starts(), of.wanted(), 7 * 26),
        earliest,
        [int(one) for one in book.column("crops.ahead", count)],
        [list(of_crop) for of_crop in zip(*short, strict=True)],
        rooms,
    )


def farms(kind: str, farm_seeds: int) -> Iterator[Lived]:
    return (lived(kind, seed) for seed in range(max(10, farm_seeds // len(KINDS))))


@pytest.mark.parametrize("kind", KINDS)
def test_every_demand_that_can_be_met_is_met_on_its_day(
    kind: str, farm_seeds: int, counts: Counter[str]
) -> None:
    for one in farms(kind, farm_seeds):
        market = one.monday + timedelta(one.of.farm.market)
        for crop, first in enumerate(one.earliest):
            for week in range(WEEKS + one.ahead[crop]):
                day = market + timedelta(7 * week)
                if day < first and week >= WEEKS:
                    continue  # too late to start, and not in the plan's weeks
                said = one.short[crop][week] if week < WEEKS else 0.0
                lacked = one.life.short.get((crop, day), 0.0)
                assert lacked == pytest.approx(said, abs=A_THOUSANDTH), (one.of, crop, day)
        counts["farms that lived through their plan"] += 1


@pytest.mark.parametrize("kind", KINDS)
def test_blocks_stand_where_the_plan_says_each_night(kind: str, farm_seeds: int) -> None:
    for one in farms(kind, farm_seeds):
        last = one.monday + timedelta(DAYS)
        nights = (one.of.farm.today + timedelta(number) for number in range(DAYS))
        for night in (night for night in nights if night < last):
            standing = in_rooms(one.of.rooms, "incubation", night, one.life.incubating[night])
            standing |= in_rooms(one.of.rooms, "fruiting", night, one.life.fruiting[night])
            for room, blocks in standing.items():
                shown = one.rooms[room, night]
                assert shown == pytest.approx(blocks, abs=A_THOUSANDTH), (one.of, room, night)
