"""What would help, on the Week plan, against linear programs that scipy solves.

The programs fill a usual week: as much contribution as possible, no product line above its demand,
and no station above its capacity. What a pack takes of each station is computed here from what is
typed; what it contributes is the figure of the Costing sheet, which has tests of its own.
"""

from __future__ import annotations

from functools import cache
from math import floor
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pytest
from logged_batches import LoggedBatches
from scipy.optimize import linprog
from workbooks import made

if TYPE_CHECKING:
    from numpy.typing import NDArray

CAPACITIES = (
    *("mixer_loads_per_week", "steam_loads_per_week", "bench_hours_per_week"),
    *("incubation_places", "fruiting_places", "fruiting_air", "labor_hours_per_week"),
)
NAMES = ("mixer", "steamer", "bench", "incubation", "fruiting", "air", "labor")
SAID = (*NAMES[:5], "the fruiting fan", "labor")
WHOLE = {"incubation_places", "fruiting_places", "fruiting_air"}
FRUITING, AIR = NAMES.index("fruiting"), NAMES.index("air")
FULL = range(16)
"""Seeds of farms with less room than they ask for."""
ROOMY = range(4)
_WORDS = "helps_words"


class Week(NamedTuple):
    """A usual week: by product line what is asked for, and what a pack contributes and takes."""

    names: list[str]
    packs: NDArray[np.float64]
    contribution: NDArray[np.float64]
    uses: NDArray[np.float64]
    """One row a station, for one pack sold of each line."""


@cache
def _workbook() -> LoggedBatches:
    return LoggedBatches(4)


@cache
def _products() -> int:
    farm = _workbook()
    return sum(bool(farm.value("products.product", row)) for row in range(12))


def _row(farm: LoggedBatches, column: str, name: Any) -> int:
    return next(row for row in range(12) if farm.value(column, row) == name)


def _uses(farm: LoggedBatches, product: int) -> list[float]:
    """Return what a pack sold takes of each station, from what is typed and the figures used."""

    def of(key: str) -> Any:
        return farm.value(f"products.{key}", product)

    strain = _row(farm, "strains.strain", of("strain"))
    recipe = _row(farm, "recipes.recipe", of("recipe"))

    def used(key: str) -> Any:
        return farm.value(f"used.{key}", strain)

    mass = farm.value("block_mass")
    is_block, is_dried = of("form") == "block", of("form") == "dried"
    fresh = 0.0 if is_block else of("pack_mass")
    if is_dried:
        fresh *= (1 - farm.value("dried_moisture")) / (1 - farm.value("fresh_moisture"))
    dry = mass * (1 - farm.value("recipes.target_moisture", recipe))
    good = 1.0 if is_block else fresh / (dry * used("biological_efficiency"))
    good /= of("sold_share")
    started = good / (1 - used("loss_rate"))
    mixed = (
        farm.value("mixer_volume")
        * farm.value("recipes.bulk_density", recipe)
        * farm.value("working_fill")
    )
    mixer = started / floor((mixed - farm.value("lost_mass")) / mass)
    steamer = started / farm.value("blocks_per_load")
    picking = fresh * (used("picking_minutes") + is_dried * farm.value("drying_minutes"))
    a_block = sum(farm.value(f"{step}_minutes") for step in ("filling", "inoculating", "moving"))
    in_fruiting = 0.0 if is_block else good * used("fruiting_days") / 7
    minutes = (
        (picking + of("packing_minutes")) / of("sold_share")
        + mixer * farm.value("mixing_minutes")
        + steamer * farm.value("steaming_minutes")
        + started * a_block
    )
    return [
        mixer,
        steamer,
        started * farm.value("inoculating_minutes") / 60,
        started * used("incubation_days") / 7,
        in_fruiting,  # a shelf space each
        in_fruiting,  # and air for a block
        minutes / 60,
    ]


def _week(farm: LoggedBatches) -> Week:
    rows = range(_products())
    return Week(
        [farm.value("products.product", row) for row in rows],
        np.array([farm.value("products.packs_per_week", row) for row in rows], float),
        np.array([farm.value("packs.contribution", row) for row in rows], float),
        np.array([_uses(farm, row) for row in rows]).T,
    )


def _best(
    week: Week, uses: NDArray[np.float64], capacity: NDArray[np.float64]
) -> tuple[float, NDArray[np.float64]]:
    """Return the most that a week can contribute, and the dual value of each station."""
    bounds = [(0, packs) for packs in week.packs]
    found = linprog(-week.contribution, A_ub=uses, b_ub=capacity, bounds=bounds, method="highs")
    assert found.status == 0
    return -found.fun, -found.ineqlin.marginals


@cache
def _prices() -> list[float]:
    return [_workbook().value("products.price", row) for row in range(_products())]


def _farm(seed: int, least: float, most: float) -> tuple[LoggedBatches, Week, list[float]]:
    """Draw demand, prices and capacities; the capacities around what the demand needs."""
    farm, random = _workbook(), Random(seed)
    packs = [random.choice((0, random.randint(5, 200))) for _ in range(_products())]
    packs[random.randrange(_products())] = 50
    farm.set_column("products.packs_per_week", packs)
    prices = [price * random.uniform(0.4, 1.2) for price in _prices()]
    farm.set_column("products.price", prices)
    farm.compute()
    week = _week(farm)
    wanted = week.packs * (week.contribution >= 0)
    capacity = []
    for key, load in zip(CAPACITIES, week.uses @ wanted):
        room = max(load, 1.0) * random.uniform(least, most)
        capacity.append(float(max(1, round(room))) if key in WHOLE else room)
        farm.set(key, capacity[-1])
    farm.compute()
    # With other capacities the cost of a block's room, and so the contribution, may be another.
    return farm, _week(farm), capacity


def _tightest(week: Week, capacity: list[float]) -> int:
    return int(np.argmax(week.uses @ (week.packs * (week.contribution >= 0)) / capacity))


@pytest.mark.parametrize("seed", FULL)
def test_one_more_of_the_fullest_station(seed: int) -> None:
    farm, week, capacity = _farm(seed, 0.55, 1.3)
    station = _tightest(week, capacity)
    uses, limit = week.uses[station : station + 1], np.array(capacity[station : station + 1])
    before, dual = _best(week, uses, limit)
    after, next_dual = _best(week, uses, limit + 1)
    assert farm.value("helps_tightest") == station + 1
    assert farm.value("helps_worth") == pytest.approx(after - before, abs=1e-7)
    if dual[0] == pytest.approx(next_dual[0]):
        assert farm.value("helps_worth") == pytest.approx(dual[0], abs=1e-7)
    in_all = sum(week.contribution.clip(0) * week.packs)
    assert farm.value("helps_waits") == pytest.approx(in_all - before, abs=1e-6)
    _assert_all_stations(farm, week, capacity)


def _assert_all_stations(farm: LoggedBatches, week: Week, capacity: list[float]) -> None:
    """Where nothing else is said, the same holds with the limits of all stations at once."""
    station = _tightest(week, capacity)
    limits, only = np.array(capacity), slice(station, station + 1)
    alone, _ = _best(week, week.uses[only], limits[only])
    before, _ = _best(week, week.uses, limits)
    if "counts on more room" in (farm.value("helps_besides") or ""):
        assert before < alone - 1e-6
    else:
        assert before == pytest.approx(alone, abs=1e-6)
        limits[station] += 1
        brought = _best(week, week.uses, limits)[0] - before
        assert brought <= farm.value("helps_stations.worth", station) + 1e-6
    for shown, other in ((FRUITING, AIR), (AIR, FRUITING)):
        if station == other:  # what both shelves and air allow is the smaller of them
            limits = np.array(capacity)
            limits[shown] += 1
            assert _best(week, week.uses, limits)[0] == pytest.approx(
                _best(week, week.uses, np.array(capacity))[0], abs=1e-6
            )
            assert farm.value("helps_stations.worth", shown) == 0


def test_seeds_are_of_every_kind() -> None:
    """Some farms are full, some are not, and in some a second station is full as well."""
    said, besides = [], []
    for seed in FULL:
        farm, _, _ = _farm(seed, 0.55, 1.3)
        said.append(farm.value(_WORDS))
        besides.append(farm.value("helps_besides") or "")
    assert any(words.startswith("One more ") for words in said)
    assert any("counts on more room" in words for words in besides)
    assert any(words and "counts on more room" not in words for words in besides)
    assert any("Left out" in words for words in besides)


@pytest.mark.parametrize("seed", ROOMY)
def test_nothing_helps_where_demand_is_the_limit(seed: int) -> None:
    farm, week, capacity = _farm(seed, 1.1, 3.0)
    station = _tightest(week, capacity)
    loads = week.uses @ (week.packs * (week.contribution >= 0))
    _, duals = _best(week, week.uses, np.array(capacity))
    assert duals == pytest.approx(np.zeros(7), abs=1e-9)
    assert farm.value("helps_worth") == pytest.approx(0, abs=1e-9)
    assert [farm.value("helps_stations.worth", row) for row in range(7)] == [0] * 7
    for row, (load, most) in enumerate(zip(loads, capacity)):
        assert farm.value("helps_stations.load", row) == pytest.approx(load)
        assert farm.value("helps_stations.free", row) == pytest.approx(most - load)
    assert farm.value(_WORDS) == (
        "In a usual week nothing would: no station is full, so demand is the limit. Sell more. "
        f"Its fullest is {SAID[station]}, at {loads[station] / capacity[station]:.0%} of its "
        "capacity."
    )


def test_the_sentence_and_the_payback() -> None:
    farm, week, capacity = _farm(3, 0.55, 0.9)
    station = _tightest(week, capacity)
    uses = week.uses[station]
    each = np.where(week.contribution >= 0, week.contribution / uses, -1)
    left, waiting = capacity[station], ""
    for line in sorted(range(len(each)), key=lambda one: -each[one]):
        needed = week.packs[line] * uses[line]
        if each[line] >= 0 and needed > left and not waiting:
            waiting = f"{round((needed - left) / uses[line])} packs a week of {week.names[line]}"
        left = max(0, left - needed)
    worth = farm.value("helps_worth")
    assert f" would bring ${worth:,.2f} a week: {waiting} wait for it." in farm.value(_WORDS)
    farm.set(f"more_{NAMES[station]}", 130)
    farm.compute()
    assert farm.value("helps_stations.payback", station) == pytest.approx(130 / worth)
    assert f"One more is paid back in {130 / worth:.0f} weeks. " in farm.value("helps_besides")
    farm.set(f"more_{NAMES[station]}", None)
    farm.compute()
    assert farm.value("helps_stations.payback", station) in (None, "")
    assert "paid back" not in farm.value("helps_besides")


def test_fan_as_the_limit() -> None:
    """More shelves bring nothing before more air does; without a fan typed, no air is counted."""
    farm, week, capacity = _farm(1, 1.1, 3.0)
    load = week.uses[FRUITING] @ (week.packs * (week.contribution >= 0))
    farm.set("fruiting_air", float(int(load * 0.7)))
    farm.compute()
    capacity[AIR] = float(int(load * 0.7))
    assert farm.value("helps_tightest") == AIR + 1
    assert farm.value("helps_stations.worth", FRUITING) == 0
    before, _ = _best(week, week.uses, np.array(capacity))
    capacity[AIR] += 1
    brought = _best(week, week.uses, np.array(capacity))[0] - before
    assert farm.value("helps_stations.worth", AIR) == pytest.approx(brought, abs=1e-6)
    assert farm.value(_WORDS).startswith("One more block the fruiting fan allows would bring $")
    assert "more shelves bring nothing before more air does" in farm.value("helps_besides")
    farm.set("fruiting_air", None)
    farm.compute()
    assert farm.value(_WORDS).startswith("In a usual week nothing would")
    assert farm.value("helps_stations.share", AIR) in (None, "")


def test_it_asks_for_what_is_missing() -> None:
    farm, _, _ = _farm(1, 0.6, 1.2)
    hours = farm.value("labor_hours_per_week")
    farm.set("labor_hours_per_week", None)
    farm.compute()
    assert farm.value(_WORDS).startswith("Enter the prices and costs ")
    assert farm.value("helps_worth") in (None, "")
    farm.set("labor_hours_per_week", hours)
    farm.compute()
    assert "first." not in farm.value(_WORDS)


def test_an_empty_workbook_asks_for_packs() -> None:
    page = made("us", "empty").values["Week plan"]
    (row,) = (cell.row for cell in page["A"] if cell.value == "What would help")
    assert page.cell(row + 1, 1).value == (
        "Enter packs a week for your product lines on the Products sheet first."
    )
    assert not page.cell(row + 2, 1).value
