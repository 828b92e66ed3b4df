"""Low, high and chance of the Forecast sheet: single cases by hand, and simulated farms.

``--farm-seeds 200`` simulates that many farms.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest
from running_farms import GROWN, MONDAY, Farm, Run, RunningFarm, Spread, Strain, drawn
from scipy import stats

if TYPE_CHECKING:
    from collections import Counter

COUNTS = (20, 50)
"""Batches that a simulated farm has made: few and many of its own."""
WEEKS = 6
WAIT = 2 * sqrt(1 + 1 / 4)
"""Two days are assumed, and a plan is worth four batches."""
VARY = 1 + 0.25**2
DAY = timedelta(1)
CLOSE = 2e-5
"""The sheet tells what has come of a flush to a millionth."""


@cache
def workbook(count: int) -> RunningFarm:
    return RunningFarm(count)


@cache
def as_planned() -> RunningFarm:
    """Return a farm of one batch that keeps to its plan, which is worth four batches."""
    book = RunningFarm(1)
    book.set("figures_used", "plan only")
    book.set("days_weight", 4)
    book.set("be_weight", 4)
    return book


def one_batch(moved: date, *flushes: tuple[date, float], lost: int = 0, planned: int = 1) -> Farm:
    """Return a farm with one batch, of 50 blocks, and no experience."""
    plan = {
        "incubation_days": 20.0,
        "first_flush_days": 9.0,
        "flush_interval_days": 12.0,
        "flushes": float(planned),
        "be_1": 0.6,
        "be_2": 0.3,
        "loss_rate": 0.1,
    }
    strains = [Strain(20, 9, 12, (0.6, 0.3), 0.1, plan) for _ in range(GROWN)]
    last = (MONDAY + 100 * DAY, 1.0)
    run = Run(0, moved - 20 * DAY, moved, 50, lost, [*flushes, last])
    return Farm(strains, Spread(0.25, 2, 0.01), [run], MONDAY, [10, 0, 0])


class Shown(NamedTuple):
    """What the sheet shows of the first strain in a week."""

    expected: float
    low: float
    high: float
    chance: float


def shown(book: RunningFarm, farm: Farm, week: int = 0) -> Shown:
    book.type_in(farm)
    keys = ("expected", "low", "high", "chance")
    return Shown(*(book.value(f"{key}.strain_1", week) for key in keys))


def normal(mass: float, share: float, vary: float = VARY, so_far: float = 0) -> Shown:
    """Return what is said of a flush that comes in a week with a chance, against 10 kg."""
    mean = mass * share
    variance = max((vary - 1) * mass**2 * share, vary * mass**2 * share - mean**2)
    come = stats.norm(mean, sqrt(variance + (0.25 * mean) ** 2 / 4))
    low, high = come.interval(0.8)
    return Shown(mean, max(0, low) + so_far, high + so_far, come.sf(10 - so_far))


def test_a_flush_due_this_week() -> None:
    """Due on Friday, and not before today: by hand."""
    book = as_planned()
    found = shown(book, farm := one_batch(MONDAY - 5 * DAY))
    mass = 0.6 * 50 * book.dry
    day = stats.norm(4, WAIT)
    share = (day.cdf(6.5) - day.cdf(-0.5)) / day.sf(-0.5)
    assert 0.8 < share < 0.95
    assert found == pytest.approx(normal(mass, share), rel=CLOSE)
    share = (day.cdf(13.5) - day.cdf(6.5)) / day.sf(-0.5)
    assert shown(book, farm, 1) == pytest.approx(normal(mass, share), rel=CLOSE)


def test_a_flush_long_overdue_is_expected_soon() -> None:
    """As if one standard deviation late: by hand."""
    book = as_planned()
    found = shown(book, one_batch(MONDAY - 40 * DAY))
    share = 1 - stats.norm.sf(1 + 7 / WAIT) / stats.norm.sf(1)
    assert share > 0.99
    assert found == pytest.approx(normal(0.6 * 50 * book.dry, share), rel=CLOSE)


def test_losses_still_to_come_widen_the_range() -> None:
    """Not moved: the move is two days late, and a tenth of the blocks may be lost."""
    book = as_planned()
    farm = one_batch(MONDAY - 2 * DAY)
    farm.runs[0].moved = MONDAY + DAY
    found = shown(book, farm, 1)
    move = stats.truncnorm(1.5 / WAIT, np.inf, -2, WAIT)
    day = stats.norm(move.mean() + 9, sqrt(move.var() + WAIT**2))
    losses = 2.5 * 0.1 * 0.9 / 50 / 0.9**2  # 2.5 is the spread assumed on Results
    share = day.cdf(13.5) - day.cdf(6.5)
    vary = (1 + 0.25**2) * (1 + losses)
    assert found == pytest.approx(normal(0.6 * 45 * book.dry, share, vary), rel=CLOSE)


def test_a_later_flush_is_counted_from_the_one_before() -> None:
    book = as_planned()
    farm = one_batch(MONDAY - 12 * DAY, (MONDAY - 6 * DAY, 20.0), planned=2)
    found = shown(book, farm)
    day = stats.norm(6, WAIT)
    share = (day.cdf(6.5) - day.cdf(-0.5)) / day.sf(-0.5)
    assert found == pytest.approx(normal(0.3 * 50 * book.dry, share), rel=CLOSE)


def test_what_was_picked_this_week_counts() -> None:
    book = as_planned()
    farm = one_batch(MONDAY - 8 * DAY, (MONDAY, 12.0))
    farm.today = MONDAY + DAY
    assert shown(book, farm) == pytest.approx((0, 12, 12, 1))
    farm.packs[0] = 13
    assert shown(book, farm) == pytest.approx((0, 12, 12, 0))


def test_of_a_batch_lost_whole_nothing_is_expected() -> None:
    assert shown(as_planned(), one_batch(MONDAY - 5 * DAY, lost=50)) == pytest.approx((0, 0, 0, 0))


def test_without_a_batch_the_sheet_says_so() -> None:
    book = as_planned()
    book.type_in(one_batch(MONDAY - 5 * DAY, lost=50))
    assert book.value("forecast_words") == "Nothing to come yet: no batch is in progress."


def test_the_sentence_says_what_the_list_says() -> None:
    book = as_planned()
    book.type_in(one_batch(MONDAY - 5 * DAY))
    low, high = (round(book.value(f"range.{key}")) for key in ("low", "high"))
    chance = f"{book.value('range.chance'):.0%}"
    least = f"{book.value('used.strain')}: {chance}"
    assert book.value("range.least") == least
    assert book.value("forecast_words") == (
        f"This week: {low} to {high} kg (80% sure), what is picked included. Demand 10 kg: "
        f"the chance of enough is {chance} in total, and lowest for {least}."
    )


class Week(NamedTuple):
    """A week of a simulated farm: what was said of it, and what came."""

    seed: int
    came: float
    low: float
    expected: float
    high: float
    demand: float
    chance: float | str

    @property
    def holds(self) -> bool:
        return self.low <= self.came <= self.high

    @property
    def is_met(self) -> bool:
        return self.came >= self.demand


class Weeks(NamedTuple):
    """All weeks: of all strains together, of single ones, and whether every strain had enough."""

    together: list[Week]
    single: list[Week]
    every: list[tuple[float, bool]]


@cache
def simulated(farm_seeds: int) -> Weeks:
    found = Weeks([], [], [])
    for count in COUNTS:
        book = workbook(count)
        for seed in range(farm_seeds):
            farm = drawn(np.random.default_rng([count, seed]), count, book.dry)
            book.type_in(farm)
            for week in range(WEEKS):
                _note(found, book, farm, seed, week)
    return found


def _note(found: Weeks, book: RunningFarm, farm: Farm, seed: int, week: int) -> None:
    came = [farm.picked(strain, week) for strain in range(GROWN)]
    said = (book.value(f"range.{key}", week) for key in ("low", "middle", "high", "demand"))
    found.together.append(Week(seed, sum(came), *said, book.value("range.chance", week)))
    has_enough = all(one >= packs for one, packs in zip(came, farm.packs, strict=True))
    found.every.append((book.value("range.each", week), has_enough))
    for number, one in enumerate(came, 1):
        low, high, demand, balance, chance = (
            book.value(f"{key}.strain_{number}", week)
            for key in ("low", "high", "asked", "balance", "chance")
        )
        if book.value(f"expected.strain_{number}", week) > demand / 4:  # else it says nearly 0
            found.single.append(Week(seed, one, low, demand + balance, high, demand, chance))


def test_four_weeks_in_five_are_in_the_range(farm_seeds: int, counts: Counter[str]) -> None:
    weeks = simulated(farm_seeds)
    counts["simulated farms"] += farm_seeds * len(COUNTS)
    assert len(weeks.together) == farm_seeds * len(COUNTS) * WEEKS
    for kind in (weeks.together, weeks.single):
        assert 0.75 <= np.mean([week.holds for week in kind]) <= 0.88


def test_the_mean_forecast_is_unbiased(farm_seeds: int) -> None:
    """What comes is off what was expected by no more than three standard errors, and 4 %."""
    weeks = simulated(farm_seeds).together
    off = np.zeros(farm_seeds)
    for week in weeks:
        off[week.seed] += week.came - week.expected
    assert abs(off.mean()) <= 3 * off.std(ddof=1) / sqrt(farm_seeds)
    assert sum(week.came for week in weeks) == pytest.approx(
        sum(week.expected for week in weeks), rel=0.04
    )


@pytest.mark.parametrize("kind", ["together", "single", "every"])
def test_demand_is_met_as_often_as_said(kind: str, farm_seeds: int) -> None:
    """In each fifth, from the least to the most sure, and better than what is usual (Brier)."""
    weeks = simulated(farm_seeds)
    if kind == "every":
        pairs = weeks.every
    else:
        pairs = [(float(week.chance), week.is_met) for week in getattr(weeks, kind)]
    said, met = np.array(pairs, float).T
    for fifth in np.array_split(np.argsort(said), 5):
        chances = said[fifth]
        error = np.sqrt(np.sum(chances * (1 - chances))) / len(fifth)
        assert met[fifth].mean() == pytest.approx(chances.mean(), abs=max(0.05, 3 * error))
    assert np.mean((said - met) ** 2) < np.mean((met.mean() - met) ** 2)
