"""Farms that start what the Week plan says, and live day by day: what they get is what it says."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from planned_farms import KINDS, WEEKS, PlannedFarm, drawn

if TYPE_CHECKING:
    from collections import Counter


A_THOUSANDTH = 1e-3
"""Of a kilogram or a block: starts are for millionths of blocks, which add up."""


@cache
def workbook() -> PlannedFarm:
    return PlannedFarm()


def as_date(serial: float) -> date:
    return date(1899, 12, 30) + timedelta(serial)


@pytest.mark.parametrize("kind", KINDS)
def test_every_demand_that_can_be_met_is_met_on_its_day(
    kind: str, farm_seeds: int, counts: Counter[str]
) -> None:
    book = workbook()
    for seed in range(max(10, farm_seeds // len(KINDS))):
        of = drawn(kind, seed, book.dry)
        book.type_plan(of)
        crops: list[Any] = list(of.farm.crops)
        earliest = [as_date(book.value("crop_weeks.earliest", row)) for row in range(len(crops))]
        for number, crop in enumerate(crops):
            crops[number] = crop._replace(
                every=int(book.value("crops.every", number)), begins=earliest[number]
            )
        of.farm.crops = crops
        life = of.farm.live(book.starts(), of.wanted(), 7 * 26)
        monday = of.farm.today - timedelta(of.farm.today.weekday())
        this_market = monday + timedelta(of.farm.market)
        for number in range(len(crops)):
            ahead = int(book.value("crops.ahead", number))
            for week in range(WEEKS + ahead):
                market = this_market + timedelta(7 * week)
                said = book.value(f"crop_weeks.short_{week + 1}", number) if week < WEEKS else 0.0
                lacked = life.short.get((number, market), 0.0)
                where = (kind, seed, number, market, earliest[number])
                if market < earliest[number] and week >= WEEKS:
                    continue  # beyond the weeks of the plan, and too late to start
                assert lacked == pytest.approx(said, abs=A_THOUSANDTH), where
        counts["farms that lived through their plan"] += 1
