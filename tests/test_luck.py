"""Luck on Results: published values, the batches that a bad month planted, and simulated farms.

``--farm-seeds 200`` simulates that many farms.
"""

from __future__ import annotations

from functools import cache
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest
from logged_batches import PICKING_COST, STRAINS, LoggedBatches, Made
from scipy import stats
from workbooks import made

from workbook_template.demo.data import demo_entries

if TYPE_CHECKING:
    from collections import Counter

CONTROL = "13/13 12/12 9/9 9/9 8/8 8/8 12/13 11/12 9/10 9/10 8/9 11/13 4/5 5/7 7/10 7/10"
TREATED = "12/12 11/11 10/10 9/9 10/11 9/10 9/10 8/9 8/9 4/5 7/9 4/7 5/10 3/6 3/10 0/7"
"""Litters: Weil 1970, read in the data of R packages."""
CHART = 40
FARMS = 48
"""Batches of a simulated farm."""


@cache
def workbook(count: int) -> LoggedBatches:
    asked = ("luck*", "yield*", "by_strain.*", "results_*", "batches.dry_good")
    return LoggedBatches(count, asked=asked)


def litters(strain: int, counts: str) -> list[Made]:
    return [Made(strain, *map(int, reversed(one.split("/")))) for one in counts.split()]


def test_spread_is_pearsons_chi_square_over_its_freedom() -> None:
    """Against scipy's chi-square of the table of lost and good blocks."""
    farm = workbook(32)
    farm.log([*litters(0, CONTROL), *litters(1, TREATED)])
    square = 0.0
    for row, counts in enumerate((CONTROL, TREATED)):
        table = [(lost, blocks - lost) for _, blocks, lost, *_ in litters(0, counts)]
        found = stats.chi2_contingency(table, correction=False)
        assert farm.value("by_strain.squares", row) == pytest.approx(found.statistic)
        assert farm.value("by_strain.freedom", row) == found.dof == 15
        square += found.statistic
        own = max(1, found.statistic / 15) * (stats.t.ppf(0.975, 15) / stats.norm.ppf(0.975)) ** 2
        assert farm.value("by_strain.reach", row) == pytest.approx(own)
    assert farm.value("results_spread") == pytest.approx(square / 30)


@pytest.mark.parametrize(
    ("strain", "counts", "effect", "low", "high"),
    [
        (0, CONTROL, 1.232495, 0.8344, 0.9399),
        (1, TREATED, 3.952861, 0.6149, 0.8782),
    ],
)
def test_wilson_intervals_of_counts_divided_by_the_spread(
    strain: int, counts: str, effect: float, low: float, high: float
) -> None:
    """Weil 1970 by Rao & Scott 1992, Biometrics 48:577; Wilson on x/d and n/d recomputed."""
    farm = workbook(32)
    farm.set("enough_for_spread", 1000)
    farm.set("assumed_spread", effect)
    farm.log([*litters(0, CONTROL), *litters(1, TREATED)])
    shown = farm.value("by_strain.low", strain), farm.value("by_strain.high", strain)
    farm.set("enough_for_spread", 6)
    farm.set("assumed_spread", 2.5)
    assert farm.value("by_strain.lost", strain) == sum(one.lost for one in litters(0, counts))
    assert shown == pytest.approx((low, high), abs=5e-5)


def test_limits_of_a_p_chart() -> None:
    """NIST/SEMATECH e-Handbook 6.3.3.2: 30 samples of 50, 347 faulty, limits 0.0524 and 0.4102.

    All samples alike, so that Laney's factor is 1: no limit is below that of a p chart.
    """
    farm = workbook(30)
    farm.log([Made(0, 50, 12 if number < 17 else 11) for number in range(30)])
    rate, high = farm.value("luck.rate_3"), farm.value("luck.straight_3")
    assert farm.value("luck_spread_3") == 1
    assert rate == pytest.approx(0.2313, abs=5e-5)
    assert high == pytest.approx(0.4102, abs=5e-5)
    assert rate - (high - rate) == pytest.approx(0.0524, abs=5e-5)
    # Cornish-Fisher: (z^2 - 1) / 6 times the skewness of a binomial number, in blocks.
    skewness = float(stats.binom.stats(50, rate, moments="s")) * sqrt(50 * rate * (1 - rate))
    raised = 8 / 6 * skewness / 50
    assert farm.value("luck.limit_3") - high == pytest.approx(raised)
    assert farm.value("luck_words") == "No batch lost more than luck explains."


def test_laneys_factor_and_limits() -> None:
    """Laney 2002, Qual. Eng. 14:531: recomputed where no batch is left out."""
    farm = workbook(30)
    lost = [3, 9, 5, 7, 2, 8, 6, 4, 7, 3, 9, 5, 4, 8, 6] * 2
    blocks = [60 + 3 * (number % 7) for number in range(30)]
    farm.log([Made(0, each, one) for each, one in zip(blocks, lost, strict=True)])
    rate = sum(lost) / sum(blocks)
    errors = np.sqrt(rate * (1 - rate) / np.array(blocks))
    z = (np.array(lost) / blocks - rate) / errors
    factor = np.abs(np.diff(z)).mean() / 1.128
    assert factor > 1
    # 1.128 is rounded, in the tables of control charts.
    assert farm.value("luck_spread_3") == pytest.approx(factor, rel=5e-4)
    assert farm.column("luck.z_3", 30) == pytest.approx(list(z))
    limits = rate + 3 * factor * errors
    assert farm.column("luck.straight_3", 30) == pytest.approx(list(limits), rel=5e-4)


def test_limit_of_a_chart_of_individuals() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2 (from memory): ten flow rates, here as BE in percent."""
    rates = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
    farm = workbook(len(rates))
    farm.log([Made(0, 50, 1)] * len(rates))
    dry = farm.value("batches.dry_good")
    for row, rate in enumerate(rates):
        farm.set("harvests.fresh", rate / 100 * dry, row)
    farm.compute()
    mean, spread = farm.value("yields.mean_3"), farm.value("yields_spread_3")
    assert mean == pytest.approx(0.5081)
    # The handbook divides by 1.128, which is rounded.
    assert mean * (1 - 3 * spread) == pytest.approx(0.458159, abs=3e-5)
    assert mean * (1 + 3 * spread) == pytest.approx(0.558041, abs=3e-5)
    assert farm.value("yield_words") == "No batch had a lower BE than luck explains."
    farm.set("harvests.fresh", 0.25 * dry, 7)
    farm.compute()
    assert farm.value("yield_words") == "N7: lower BE than luck explains."


def test_all_blocks_lost_everywhere_is_no_batch_worse_than_the_others() -> None:
    farm = workbook(30)
    farm.log([Made(0, 50, 50)] * 30)
    assert farm.value("luck_words") == "No batch lost more than luck explains."


def test_few_batches_are_not_judged() -> None:
    farm = workbook(30)
    farm.log([Made(0, 50, 1)] * 30)
    farm.set("enough_for_spread", 30)
    farm.compute()
    assert farm.value("luck_words") == "Too few batches to judge losses."
    farm.set("enough_for_spread", 6)


def test_separate_batches_are_named_apart() -> None:
    """By hand: one batch and a run of two, each far above all others; the last run first."""
    farm = workbook(30)
    batches = [Made(number % 2, 60, 3) for number in range(30)]
    for number in (8, 20, 21):
        batches[number] = Made(number % 2, 60, 30)
    farm.log(batches)
    assert farm.value("luck_words") == "N20 to N21; N8: more blocks lost than luck explains."


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_demo_names_its_bad_month_and_nothing_else(units: str) -> None:
    """The season of the invented farm is bad in July, and ordinary otherwise."""
    batches = demo_entries(units).tables["batches"]
    july = [row["batch"] for row in batches if row["made"].month == 7]
    words = f"{july[0]} to {july[-1]}: more blocks lost than luck explains."
    book = made(units, "demo").values
    assert words in {cell.value for cell in book["Results"]["A"]}
    assert words in {cell.value for cell in book["Start"]["A"]}


def drawn(chance: np.random.Generator) -> tuple[list[Made], list[float], list[float]]:
    """Draw a farm: its batches, the true loss of each, and that of each strain.

    Losses of a batch are beta-binomial: with an intra-batch correlation of up to 0.03 they vary
    up to three times as much as by luck.
    """
    rates = [float(chance.uniform(0.03, 0.12)) for _ in range(3)]
    correlation = float(chance.uniform(0.002, 0.03))
    scale = (1 - correlation) / correlation
    batches, own = [], []
    for number in range(FARMS):
        strain = number if number < 3 else int(chance.integers(3))
        rate = float(chance.beta(rates[strain] * scale, (1 - rates[strain]) * scale))
        blocks = int(chance.integers(40, 90))
        batches.append(Made(strain, blocks, int(chance.binomial(blocks, rate))))
        own.append(rate)
    return batches, own, rates


def test_intervals_hold_the_true_loss_and_alarms_are_seldom_false(
    farm_seeds: int, counts: Counter[str]
) -> None:
    """95 % intervals on 6 batches or more miss at most 8 in 100; a planted change is found."""
    farm = workbook(FARMS)
    held, judged, alarms, found = [], 0, 0, 0
    for seed in range(farm_seeds):
        chance = np.random.default_rng(seed)
        batches, own, rates = drawn(chance)
        farm.log(batches)
        for row, rate in enumerate(rates):
            if farm.value("by_strain.counted", row) >= 6:
                low, high = farm.value("by_strain.low", row), farm.value("by_strain.high", row)
                held.append(low <= rate <= high)
        alarms += sum(farm.column("luck.bad", CHART))
        judged += CHART
        start = int(chance.integers(FARMS - CHART + 5, FARMS - 10))
        for number in range(start, start + 6):
            strain, blocks = batches[number][:2]
            lost = int(chance.binomial(blocks, min(0.9, 5 * own[number])))
            batches[number] = Made(strain, blocks, lost)
        farm.log(batches)
        first = start - (FARMS - CHART)
        found += any(farm.column("luck.bad", CHART)[first : first + 6])
    counts["simulated farms"] += farm_seeds
    assert len(held) > 2 * farm_seeds
    assert np.mean(held) >= 0.92
    assert alarms / judged <= 0.01
    assert found / farm_seeds >= 0.9


SHARES = (0.6, 0.25, 0.15)
"""Of the strains in the batches of a farm, whose yields are simulated: 7 batches of the last."""


def drawn_yields(
    chance: np.random.Generator, dry_mass: float
) -> tuple[list[Made], list[dict[str, float]]]:
    """Draw a farm: its batches, and the true BE, days and cost of each strain.

    Yields of batches vary by 5 to 25 %, days by 1 to 6, the cost of a block by 5 %.
    """
    yields, rates = chance.uniform(0.4, 1.1, 3), chance.uniform(0.03, 0.12, 3)
    days, costs = chance.uniform(25, 60, 3), chance.uniform(2, 6, 3)
    spread, days_spread = chance.uniform(0.05, 0.25), chance.uniform(1, 6)
    batches = []
    for number in range(FARMS):
        strain = number if number < 3 else int(chance.choice(3, p=SHARES))
        blocks = int(chance.integers(40, 90))
        lost = int(
            chance.binomial(blocks, chance.beta(rates[strain] * 50, 50 - rates[strain] * 50))
        )
        # Gamma: never below 0, and a few batches far above the others.
        share = yields[strain] * chance.gamma(1 / spread**2, spread**2)
        picked = max(1, round(chance.normal(days[strain], days_spread)))
        cost = costs[strain] * chance.normal(1, 0.05)
        fresh = (blocks - lost) * dry_mass * share
        batches.append(Made(strain, blocks, lost, float(fresh), picked, float(cost)))
    grown = yields * dry_mass * (1 - rates)
    return batches, [
        {"be": be, "days": day, "cost": cost}
        for be, day, cost in zip(yields, days, costs / grown + PICKING_COST, strict=True)
    ]


def test_intervals_hold_the_true_be_days_and_cost(farm_seeds: int, counts: Counter[str]) -> None:
    """95 % intervals on 6 batches or more miss at most 8 in 100, those of all batches too."""
    farm = workbook(FARMS)
    held: dict[str, list[bool]] = {"be": [], "days": [], "cost": [], "be of all": []}
    few: list[bool] = []
    for seed in range(farm_seeds):
        batches, truths = drawn_yields(np.random.default_rng(seed), farm.dry_mass)
        farm.log(batches)
        for row, truth in enumerate(truths):
            number = sum(one.strain == row for one in batches)
            assert farm.value("by_strain.counted", row) == number
            for name, value in truth.items() if number >= 6 else ():
                ends = [farm.value(f"by_strain.{name}_{end}", row) for end in ("low", "high")]
                held[name].append(ends[0] <= value <= ends[1])
                if number <= 10:
                    few.append(held[name][-1])
        good = [sum(b.blocks - b.lost for b in batches if b.strain == row) for row in range(3)]
        be = np.average([truth["be"] for truth in truths], weights=good)
        held["be of all"].append(
            farm.value("results_be_low") <= be <= farm.value("results_be_high")
        )
    counts["simulated farms"] += farm_seeds
    for name, found in {**held, "6 to 10 batches": few}.items():
        assert len(found) >= farm_seeds
        assert np.mean(found) >= 0.92, name


def test_the_invented_strains_are_those_of_the_demo() -> None:
    assert [row["strain"] for row in demo_entries("metric").tables["strains"]] == list(STRAINS)
