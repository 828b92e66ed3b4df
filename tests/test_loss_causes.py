"""The Loss causes sheet: sums against the logs, chances against scipy, and simulated farms.

``--farm-seeds 200`` simulates that many farms.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pytest
from logged_batches import STRAINS, LoggedBatches, Made
from loss_model import of_good_blocks, parts_of, stored_costing
from reading import parts, states_where
from scipy import special, stats
from seasons import season
from workbooks import made

from workbook_template.demo.data import demo_entries
from workbook_template.sheets import unusual

if TYPE_CHECKING:
    from collections import Counter
    from datetime import date

    from office import Office

FARM = 60
"""Batches of a simulated farm."""
LISTED = 5
ENOUGH, ASSUMED = 6, 2.5
"""What a new workbook starts with."""
PERIODS = "What the losses cost, by the day thrown out"
BY_CAUSE = "By cause: the month picked, then twelve months; weeks are the age of the block"
BY_PLACE = "By where it was seen first"


class Grouped(NamedTuple):
    """A batch with its spawn lot and its steam run."""

    batch: Made
    lot: str
    run: str


class Judged(NamedTuple):
    """A group of batches, as the sheet lists it."""

    name: str
    batches: int
    blocks: int
    lost: int
    expected: float
    chance: float


@cache
def workbook() -> LoggedBatches:
    asked = ("suspect_*", "suspicious.*", "unusual.words")
    return LoggedBatches(FARM, lots=30, runs=30, asked=asked)


def logged(batches: list[Grouped]) -> LoggedBatches:
    """Type batches, the last ones of the log without blocks left out of every group."""
    farm = workbook()
    farm.set_column("batches.spawn_lot", [one.lot for one in batches])
    farm.set_column("batches.steam_run", [one.run for one in batches])
    names = [f"N{row}" if row < len(batches) else None for row in range(FARM)]
    farm.set_column("batches.batch", names)
    farm.log([one.batch for one in batches])
    return farm


def listed(farm: LoggedBatches) -> list[Judged]:
    """Return the groups that the sheet lists, the most suspicious first."""
    keys = ("group", "batches", "group_blocks", "group_lost", "expected", "chance")
    rows = zip(*(farm.column(f"suspicious.{key}", LISTED) for key in keys), strict=True)
    return [Judged(*row) for row in rows if row[0]]


def chi_square(batches: list[Made]) -> tuple[float, int]:
    """Return scipy's chi-square of lost and good blocks, each strain by itself, and its freedom."""
    square, freedom = 0.0, 0
    for strain in {one.strain for one in batches}:
        table = [(b.lost, b.blocks - b.lost) for b in batches if b.strain == strain]
        if all(np.sum(table, axis=0) > 0):
            found = stats.chi2_contingency(table, correction=False)
            square, freedom = square + found.statistic, freedom + found.dof
    return square, freedom


def judged(batches: list[Grouped]) -> list[Judged]:
    """Judge every lot, run and recipe by itself, by loops over the batches."""
    groups: dict[str, list[Grouped]] = defaultdict(list)
    for one in batches:
        groups[f"Spawn lot {one.lot}"].append(one)
        groups[f"Steam run {one.run}"].append(one)
    every = [one.batch for one in batches]
    found = []
    for name, inside in groups.items():
        outside = [one.batch for one in batches if one not in inside]
        own = [one.batch for one in inside if one.batch.strain in {b.strain for b in outside}]
        if len(own) < 2:
            continue
        expected = trials = pooled = 0.0
        for strain in {one.strain for one in own}:
            blocks, rest, both = (
                sum(b.blocks for b in of if b.strain == strain) for of in (own, outside, every)
            )
            gone, all_gone = (
                sum(b.lost for b in of if b.strain == strain) for of in (outside, every)
            )
            expected += blocks * gone / rest
            trials += all_gone
            pooled += all_gone * blocks / both
        square, freedom = chi_square(outside)
        spread = max(1, square / freedom) if freedom >= ENOUGH else ASSUMED
        lost = sum(one.lost for one in own)
        chance = 1.0
        if lost:
            counts = lost / spread, (trials - lost) / spread + 1
            chance = float(special.betainc(*counts, pooled / trials))
        if freedom >= ENOUGH and chance < 0.5:
            chance = float(stats.t.sf(stats.norm.isf(chance), freedom))
        found.append(Judged(name, len(own), sum(b.blocks for b in own), lost, expected, chance))
    return sorted(found, key=lambda one: one.chance)


SMALL = [
    Grouped(Made(0, 60, 12), "L0", "R0"),
    Grouped(Made(0, 60, 19), "L0", "R1"),
    Grouped(Made(0, 70, 3), "L1", "R1"),
    Grouped(Made(0, 80, 5), "L1", "R2"),
    Grouped(Made(1, 50, 2), "L2", "R2"),
    Grouped(Made(1, 40, 1), "L2", "R3"),
    Grouped(Made(0, 50, 2), "L3", "R3"),
    Grouped(Made(0, 40, 3), "L3", "R4"),
    Grouped(Made(1, 60, 4), "L4", "R4"),
    Grouped(Made(1, 30, 0), "L4", "R5"),
]


def test_a_small_farm_by_hand() -> None:
    """Lot L0: 31 of 120 blocks; the rest of its strain 13 of 240, so 6.5 were expected.

    With a spread of 1 the chance is scipy's tail of the binomial distribution, of the 44 blocks
    that the strain lost and a third of its blocks.
    """
    farm = logged(SMALL)
    farm.set("enough_for_spread", 1000)
    farm.set("assumed_spread", 1)
    farm.compute()
    first = listed(farm)[0]
    farm.set("enough_for_spread", ENOUGH)
    farm.set("assumed_spread", ASSUMED)
    assert first[:5] == ("Spawn lot L0", 2, 120, 31, 6.5)
    assert first.chance == pytest.approx(float(stats.binom.sf(30, 44, 120 / 360)), rel=1e-9)


def test_the_spread_is_that_of_all_other_batches() -> None:
    """Against scipy's chi-square, incomplete beta function and Student's t."""
    farm = logged(SMALL)
    shown = [one for one in listed(farm) if not one.name.startswith("Recipe")]
    expected = judged(SMALL)
    assert len(shown) >= 3
    for one, other in zip(shown, expected, strict=False):
        assert one[:4] == other[:4]
        assert one.expected == pytest.approx(other.expected, abs=0.05 + 1e-9)
        assert one.chance == pytest.approx(other.chance, rel=1e-9)
    groups = farm.value("suspect_count")
    assert groups == len(expected)
    share = 1 - (1 - expected[0].chance) ** groups
    assert farm.value("suspect_share") == pytest.approx(share)
    farms = f"{float(f'{1 / share:.1g}'):,.0f}"
    words = f"where 7 were expected; luck alone gives that on 1 of {farms} farms."
    words = f"Spawn lot L0 lost 31 of 120 blocks {words}"
    assert farm.value("suspect_words") == words
    assert words in farm.column("unusual.words", unusual.LINES)


def test_a_lot_like_all_others_is_not_named() -> None:
    batches = [Grouped(Made(0, 50, 3), f"L{n // 3}", f"R{n // 2}") for n in range(24)]
    words = (
        "No spawn lot, steam run, recipe, incubation room or fruiting room stands out by more than "
        "luck explains."
    )
    assert logged(batches).value("suspect_words") == words


def test_few_batches_are_not_judged() -> None:
    words = (
        "Too few batches to judge spawn lots, steam runs, recipes, incubation rooms and fruiting "
        "rooms."
    )
    assert logged(SMALL[:4]).value("suspect_words") == words
    alone = [Grouped(Made(0, 50, 20), f"L{n}", f"R{n}") for n in range(20)]
    assert logged(alone).value("suspect_words") == words


def test_a_strain_without_a_loss_elsewhere_is_judged() -> None:
    """Nothing was lost on the rest of the farm: every lost block is of the lot."""
    batches = [Grouped(Made(0, 50, 0), f"L{n // 2}", f"R{n}") for n in range(20)]
    batches[0] = Grouped(Made(0, 50, 3), "L0", "R0")
    first = listed(logged(batches))[0]
    assert first[:5] == ("Spawn lot L0", 2, 100, 3, 0)
    # The spread of the rest, where nothing varies, is not known: the assumed one counts.
    tail = special.betainc(3 / ASSUMED, 1, 100 / 1000)
    assert first.chance == pytest.approx(float(tail))


def drawn(chance: np.random.Generator, worse: float = 1.0) -> tuple[list[Grouped], str]:
    """Draw a farm whose losses are beta-binomial, with one lot that loses more.

    Batches vary up to three times as much as by luck. A lot has three batches or so of a strain,
    a run three of any.
    """
    rates = [float(chance.uniform(0.03, 0.12)) for _ in range(3)]
    correlation = float(chance.uniform(0.002, 0.03))
    scale = (1 - correlation) / correlation
    strains = [int(chance.integers(3)) for _ in range(FARM)]
    so_far = [0, 0, 0]
    lots = []
    for strain in strains:
        lots.append(f"L{strain + 3 * (so_far[strain] // 4)}")
        so_far[strain] += 1
    full = [lot for lot in dict.fromkeys(lots) if lots.count(lot) == 4]
    bad = str(chance.choice(full))
    batches = []
    for number, (strain, lot) in enumerate(zip(strains, lots, strict=True)):
        rate = float(chance.beta(rates[strain] * scale, (1 - rates[strain]) * scale))
        blocks = int(chance.integers(40, 90))
        lost = int(chance.binomial(blocks, min(0.9, rate * (worse if lot == bad else 1))))
        batches.append(Grouped(Made(strain, blocks, lost), lot, f"R{number // 3}"))
    return batches, f"Spawn lot {bad}"


def test_a_planted_lot_is_named_first_and_alarms_are_seldom_false(
    farm_seeds: int, counts: Counter[str]
) -> None:
    """No more farms with a false alarm than the limit says, 5 in 100, and what chance adds."""
    alarms, first, named = 0, 0, 0
    for seed in range(farm_seeds):
        batches, _ = drawn(np.random.default_rng(seed))
        alarms += logged(batches).value("suspect_share") < 0.05
        batches, bad = drawn(np.random.default_rng(seed), worse=6)
        farm = logged(batches)
        found = listed(farm)[0].name == bad
        first += found
        named += found and farm.value("suspect_words").startswith(f"{bad} lost ")
    counts["simulated farms"] += farm_seeds
    assert alarms <= stats.binom.ppf(0.999, farm_seeds, 0.05)
    assert first / farm_seeds >= 0.9
    assert named / farm_seeds >= 0.8


def demo_losses() -> tuple[list[dict[str, Any]], dict[str, date], date]:
    """Return the losses of the demo, when each batch was made, and its day."""
    entries = demo_entries("metric")
    when = {row["batch"]: row["made"] for row in entries.tables["batches"]}
    today: Any = entries.singles["as_of"]
    return entries.tables["losses"], when, today


def test_lists_add_up_the_losses_of_the_demo() -> None:
    """The season is shorter than twelve months: all losses count."""
    losses, when, today = demo_losses()
    shown = parts(made("metric", "demo").values["Loss causes"])
    total = sum(row["blocks"] for row in losses)
    blocks_made = sum(row["bags"] for row in demo_entries("metric").tables["batches"])
    weeks = ("Week 1", "Week 2", "Week 3", "Week 4", "Later")
    for row in shown[BY_CAUSE].rows:
        of = [loss for loss in losses if loss["cause"] == row["Cause"]]
        if row["Cause"] == "Total":
            of = losses
        blocks = sum(loss["blocks"] for loss in of)
        assert row["12 months: blocks lost"] == blocks
        assert row["12 months: share of lost, %"] == pytest.approx(blocks / total)
        assert row["12 months: share of made, %"] == pytest.approx(blocks / blocks_made)
        by_week = [0] * len(weeks)
        for loss in of:
            age = (loss["date"] - when[loss["batch"]]).days
            by_week[min(age // 7, 4)] += loss["blocks"]
        assert [row[week] for week in weeks] == by_week
        if of is not losses and blocks:
            days = sum(loss["blocks"] * (loss["date"] - when[loss["batch"]]).days for loss in of)
            assert row["Average age when lost, days"] == pytest.approx(days / blocks)
    for row in shown[BY_PLACE].rows:
        seen = None if row["Seen first"] == "not noted" else row["Seen first"]
        of = [loss for loss in losses if loss["seen"] == seen]
        assert row["Blocks lost"] == sum(loss["blocks"] for loss in of)
    months = [row["Blocks lost"] for row in shown[PERIODS].rows]
    back = [(today.year - d.year) * 12 + today.month - d.month for d in (r["date"] for r in losses)]
    by_month = [
        sum(row["blocks"] for row, ago in zip(losses, back, strict=True) if ago == wanted)
        for wanted in (0, 1)
    ]
    assert months == [*by_month, total]


def test_money_of_a_lost_block_counts_the_fixed_costs_once() -> None:
    """Worked out from Costing, loss by loss: spent, and not earned, less what is in both.

    Product lines of a strain count by the good blocks that the packs of a usual week take.
    """
    book = made("metric", "demo").values
    tables = demo_entries("metric").tables
    rates = {strain: season("demo").used(strain)["loss_rate"] for strain in STRAINS}
    each = of_good_blocks(stored_costing(book), tables["products"], rates)
    made_as: dict[str, Any] = {row["batch"]: row for row in tables["batches"]}
    sums = [Decimal(0)] * 3
    for loss in tables["losses"]:
        batch = made_as[loss["batch"]]
        amounts = parts_of(loss, batch, each[batch["strain"]])
        sums = [at + one for at, one in zip(sums, amounts, strict=True)]
    spent, earned, fixed = map(float, sums)
    year = parts(book["Loss causes"])[PERIODS].rows[2]
    assert year["Spent on them, $"] == pytest.approx(spent, abs=1e-9)
    assert year["Contribution not earned, $"] == pytest.approx(earned, abs=1e-9)
    assert year["Less fixed cost share, $"] == pytest.approx(fixed, abs=1e-9)
    assert year["Cost with lost sales, $"] == pytest.approx(spent + earned - fixed, abs=1e-9)


def test_a_loss_without_its_batch_turns_the_checks_red(office: Office) -> None:
    found = states_where(office, "metric", "losses.batch", "B999")
    assert any("Losses: rows to fix. Batch" in check for check, _ in found), found
