"""Trials fed from the logs: what is found, published values, looks, and simulated trials.

``--farm-seeds 200`` simulates that many farms.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from logged_batches import STRAINS, LoggedBatches, Made
from trial_statistics import (
    REAL,
    TOO_FEW,
    Counts,
    answer,
    difference_interval,
    loss_batches,
    loss_verdict,
    newest_change,
    spread,
    yield_batches,
    yield_interval,
    yield_verdict,
)
from workbooks import made

from workbook_template.demo.data import demo_entries
from workbook_template.schema import SINGLE_INPUTS

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Sequence

CONTROL = "13/13 12/12 9/9 9/9 8/8 8/8 12/13 11/12 9/10 9/10 8/9 11/13 4/5 5/7 7/10 7/10"
TREATED = "12/12 11/11 10/10 9/9 10/11 9/10 9/10 8/9 8/9 4/5 7/9 4/7 5/10 3/6 3/10 0/7"
"""Litters: Weil 1970, read in the data of R packages."""
NAMES = ("Beech and bran", "Maple and bran")
POCOCK = (0.05, 0.0294, 0.0221, 0.0182, 0.0158)
"""Levels of each of 1 to 5 looks: Pocock 1977, Biometrika 64:191 (from memory)."""
COUNT = 36


@cache
def workbook(count: int) -> LoggedBatches:
    """Make a farm whose batches have either recipe in turn, and a trial that compares them."""
    farm = LoggedBatches(count, asked=("trial_*", "batches.dry_good"))
    for row in range(count):
        farm.set("batches.recipe", NAMES[row % 2], row)
    for row in range(len(demo_entries("metric").tables["trial_batches"])):
        farm.set("trial_batches.side", None, row)
    return farm


def fresh(count: int) -> LoggedBatches:
    """Return such a farm with the trial as it was at first."""
    farm = workbook(count)
    inputs: dict[str, Any] = {
        "trial_source": "from the logs",
        "trial_strain": STRAINS[0],
        "trial_kind": "recipe",
        "trial_a": NAMES[0],
        "trial_b": NAMES[1],
        "trial_from": None,
        "trial_to": None,
        "trial_looks": 1,
        "trial_confidence": 0.95,
        "enough_for_spread": 6,
    }
    for key, value in inputs.items():
        farm.set(key, value)
    return farm


def in_turn(*sides: Counts, strain: int = 0) -> list[Made]:
    """Return the batches of both sides one by one, as the recipes alternate."""
    return [Made(strain, *each) for pair in zip(*sides, strict=True) for each in pair]


def of_litters(counts: str) -> Counts:
    pairs = (one.split("/") for one in counts.split())
    return [(int(blocks), int(lost)) for lost, blocks in pairs]


def drawn(chance: np.random.Generator, rates: Sequence[float], count: int) -> list[Counts]:
    """Draw batches of both sides whose losses vary by a correlation within each batch."""
    correlation = chance.uniform(0.002, 0.05)
    scale = (1 - correlation) / correlation
    sides = []
    for rate in rates:
        own = chance.beta(rate * scale, (1 - rate) * scale, count)
        blocks = chance.integers(40, 90, count)
        lost = chance.binomial(blocks, own)
        sides.append([(int(each), int(gone)) for each, gone in zip(blocks, lost, strict=True)])
    return sides


def pick(farm: LoggedBatches, yields: Sequence[float]) -> None:
    """Let each batch have a BE."""
    for row, rate in enumerate(yields):
        farm.set("harvests.fresh", rate * farm.value("batches.dry_good", row), row)
    farm.compute()


def test_batches_of_the_strain_and_the_dates_are_found() -> None:
    farm = fresh(COUNT)
    batches = in_turn([(50, 1)] * 18, [(60, 3)] * 18)
    batches[0], batches[1] = batches[0]._replace(strain=1), batches[1]._replace(strain=1)
    farm.log(batches)
    assert farm.column("trial_sides.batches", 2) == [17, 17]
    assert farm.column("trial_sides.blocks", 2) == [17 * 50, 17 * 60]
    assert farm.column("trial_sides.lost", 2) == [17, 17 * 3]
    assert farm.value("trial_found") == (
        f"{STRAINS[0]}, {NAMES[0]} against {NAMES[1]}: 17 and 17 batches."
    )
    assert farm.column("trial_list.batch_a", 12) == [f"N{34 - 2 * row}" for row in range(12)]
    assert farm.column("trial_list.batch_b", 12) == [f"N{35 - 2 * row}" for row in range(12)]
    farm.set("trial_from", farm.value("batches.made", 10))
    farm.set("trial_to", farm.value("batches.made", 14))
    farm.compute()
    assert farm.column("trial_sides.batches", 2) == [3, 2]
    assert farm.column("trial_list.batch_a", 4) == ["N14", "N12", "N10", ""]


def test_batches_too_young_to_judge_are_not_compared() -> None:
    farm = fresh(COUNT)
    farm.log(in_turn([(50, 1)] * 18, [(60, 3)] * 18))
    made_on = farm.value("batches.made", 35)
    farm.set("batches.made", farm.value("today") - 3, 35)
    farm.compute()
    assert farm.column("trial_sides.batches", 2) == [18, 17]
    farm.set("batches.made", made_on, 35)


@pytest.mark.parametrize(
    ("inputs", "words"),
    [
        ({"trial_strain": None}, "Choose a strain; to judge batches that are typed below, choose"),
        ({"trial_b": None}, "Name the treatments A and B."),
        ({"trial_b": " beech and bran "}, "A and B are the same: name two treatments."),
        (
            {"trial_b": "Maple"},
            f"No batch of {STRAINS[0]} has the recipe Maple: name it as on the Batches sheet.",
        ),
        (
            {"trial_kind": "spawn lot"},
            f"No batch of {STRAINS[0]} has the spawn lot Beech and bran: name it as on the",
        ),
        (
            {"trial_strain": STRAINS[2]},
            f"No batch of {STRAINS[2]} has the recipe Beech and bran: name it as on the",
        ),
        (
            {"trial_to": 40000},
            "No batch of A or B in these dates is old enough to judge yet.",
        ),
        ({"trial_source": "typed here"}, "Type the batches of A and B below."),
        ({"trial_source": None}, "Choose which batches to judge: those from the logs, or"),
    ],
)
def test_what_is_not_found_is_said(inputs: dict[str, Any], words: str) -> None:
    farm = fresh(COUNT)
    farm.log(in_turn([(50, 1)] * 18, [(60, 3)] * 18))
    for key, value in inputs.items():
        farm.set(key, value)
    farm.compute()
    assert farm.value("trial_found").startswith(words)
    said = farm.value("trial_loss_words"), farm.value("trial_yield_words")
    assert said == tuple(verdict.words for verdict in TOO_FEW)
    assert farm.value("trial_answer") == "Nothing to judge yet."


@pytest.mark.parametrize(
    ("kind", "column"), [("spawn lot", "spawn_lot"), ("steam run", "steam_run")]
)
def test_lots_and_runs_are_compared_too(kind: str, column: str) -> None:
    farm = fresh(COUNT)
    farm.log(in_turn([(50, 1)] * 18, [(60, 3)] * 18))
    for row in range(COUNT):
        farm.set(f"batches.{column}", (11, "L*", None)[row % 3], row)
    for key, value in {"trial_kind": kind, "trial_a": "11", "trial_b": "l* "}.items():
        farm.set(key, value)
    farm.compute()
    assert farm.column("trial_sides.batches", 2) == [12, 12]
    for row in range(COUNT):
        farm.set(f"batches.{column}", None, row)


def test_published_litters() -> None:
    """Weil 1970 by Rao & Scott 1992, Biometrics 48:577; intervals recomputed (check values)."""
    farm = fresh(32)
    farm.log(in_turn(of_litters(CONTROL), of_litters(TREATED)))
    between = spread((of_litters(CONTROL), of_litters(TREATED)))
    assert farm.value("trial_spread") == pytest.approx(between.alone)
    assert farm.value("trial_reach") == pytest.approx(between.reach)
    farm.set("enough_for_spread", 1000)
    for side, effect, low, high in ((0, 1.232495, 0.8344, 0.9399), (1, 3.952861, 0.6149, 0.8782)):
        farm.set("assumed_spread", effect)
        farm.compute()
        ends = farm.value("trial_sides.low", side), farm.value("trial_sides.high", side)
        assert ends == pytest.approx((low, high), abs=5e-5)
    farm.set("assumed_spread", 2.5)


@pytest.mark.parametrize("looks", [1, 2, 3, 4, 5])
def test_each_of_several_looks_has_its_published_level(looks: int) -> None:
    chance = np.random.default_rng(looks)
    farm = fresh(COUNT)
    farm.set("trial_looks", looks)
    sides = drawn(chance, (0.05, 0.11), COUNT // 2)
    farm.log(in_turn(*sides))
    yields = chance.normal(0.9, 0.12, COUNT)
    pick(farm, yields)
    level = 1 - POCOCK[looks - 1]
    assert farm.value("trial_level") == pytest.approx(level)
    between = spread(sides, level)
    ends = difference_interval(sides, between.reach, level)
    shown = farm.value("trial_difference_low"), farm.value("trial_difference_high")
    assert shown == pytest.approx(ends)
    losses = loss_verdict(sides, *ends)
    assert farm.value("trial_loss_words") == losses.words
    by_recipe = list(yields[0::2]), list(yields[1::2])
    _, *expected = yield_interval(by_recipe, level)
    shown = farm.value("trial_yield_low"), farm.value("trial_yield_high")
    assert shown == pytest.approx(tuple(expected))
    said = yield_verdict(by_recipe, level)
    assert farm.value("trial_yield_words") == said.words
    assert farm.value("trial_answer") == answer(NAMES[1], losses, said)
    usual = sum(lost for side in sides for _, lost in side) / sum(
        blocks for side in sides for blocks, _ in side
    )
    blocks = round(float(np.mean([blocks for side in sides for blocks, _ in side])))
    needed = loss_batches(usual, 0.05, blocks, between.alone, level)
    assert farm.value("trial_loss_needed") == needed
    assert farm.value("trial_loss_blocks") == needed * blocks
    solved = yield_batches(by_recipe, 0.1, level)
    assert farm.value("trial_yield_needed") == pytest.approx(solved, abs=1.1)


def test_what_would_settle_it_goes_by_the_difference_worth_having() -> None:
    """Donner & Klar (check values): 435 blocks a side, 3.45 times as many in batches of 50: 1501.

    That is 30.02 batches; by Student's t about one more (Guenther 1981).
    """
    farm = fresh(COUNT)
    farm.set("enough_for_spread", 1000)
    farm.set("assumed_spread", 3.45)
    # 7.5 % of the blocks, whatever the difference that is seen.
    for lost_a, lost_b in (((3, 4), (4, 4)), ((1, 2), (6, 6))):
        farm.log(in_turn(*([(50, each) for each in lost] * 9 for lost in (lost_a, lost_b))))
        assert farm.value("trial_loss_needed") == 31
        assert farm.value("trial_loss_blocks") == 31 * 50
    farm.set("trial_to", farm.value("batches.made", 11))
    farm.log(in_turn([(50, 3), (50, 4)] * 9, [(50, 4)] * 18))
    words = "31 batches with each treatment would settle it; so far 6 and 6"
    assert farm.value("trial_loss_next") == words
    farm.set("assumed_spread", 2.5)


def test_what_is_settled_is_said() -> None:
    farm = fresh(COUNT)
    farm.log(in_turn([(80, 1)] * 18, [(80, 24)] * 18))
    pick(farm, [1 - 0.3 * (row % 2) + 0.01 * (row % 3) for row in range(COUNT)])
    lost = "lost more blocks (30.0% against 1.3%), more than luck explains"
    assert farm.value("trial_loss_words") == lost
    assert farm.value("trial_answer").startswith(f"Worse: {NAMES[1]} {lost}; yielded 3")
    assert farm.value("trial_loss_next") == "already settled"
    assert farm.value("trial_yield_next") == "already settled"
    farm.log(in_turn([(80, 4)] * 18, [(80, 4)] * 18))
    pick(farm, [1 + 0.01 * (row % 3) for row in range(COUNT)])
    assert farm.value("trial_loss_words") == "lost about as many blocks (5.0% against 5.0%)"
    assert farm.value("trial_yield_words") == "yielded about as much"
    assert farm.value("trial_answer").startswith("No difference worth having: ")
    assert farm.value("trial_loss_next") == "already settled"


def shows_a_difference(farm: LoggedBatches) -> tuple[bool, bool]:
    """Return whether the sheet calls losses, and yields, different."""
    farm.compute()
    losses, yields = farm.value("trial_loss_words"), farm.value("trial_yield_words")
    return losses.endswith(REAL), yields.endswith(REAL)


def test_equal_treatments_seldom_differ_however_often_one_looks(
    farm_seeds: int, counts: Counter[str]
) -> None:
    """At most 1 in 20, and three standard errors of the simulation; half as many farms.

    Six batches a side three times in each farm, and three looks at all of them as they come in.
    """
    farm = fresh(COUNT)
    once: list[tuple[bool, bool]] = []
    looked: list[tuple[bool, bool]] = []
    made_on = farm.column("batches.made", COUNT)
    for seed in range(farm_seeds // 2):
        chance = np.random.default_rng(seed)
        rate = chance.uniform(0.03, 0.15)
        farm.log(in_turn(*drawn(chance, (rate, rate), COUNT // 2)))
        pick(farm, chance.normal(0.9, chance.uniform(0.05, 0.15), COUNT))
        farm.set("trial_looks", 1)
        for part in range(3):
            farm.set("trial_from", made_on[12 * part])
            farm.set("trial_to", made_on[12 * part + 11])
            once.append(shows_a_difference(farm))
        farm.set("trial_from", None)
        farm.set("trial_looks", 3)
        shown = []
        for part in range(3):
            farm.set("trial_to", made_on[12 * part + 11])
            shown.append(shows_a_difference(farm))
        looked.append((any(one[0] for one in shown), any(one[1] for one in shown)))
    counts["simulated trials"] += 2 * (len(once) + len(looked))
    for found in (once, looked):
        allowed = 0.05 + 3 * sqrt(0.05 * 0.95 / len(found))
        assert np.mean(found, axis=0) == pytest.approx([0, 0], abs=allowed)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_demo_compares_two_recipes_of_one_strain(units: str) -> None:
    """Counted in what is typed into the demo: batches that can be over by its date."""
    entries = demo_entries(units)
    strain, a, b = (entries.singles[f"trial_{key}"] for key in ("strain", "a", "b"))
    row = next(row for row in entries.tables["strains"] if row["strain"] == strain)
    days: Any = sum(float(row[key] or 0) for key in ("incubation_days", "first_flush_days"))
    days += (float(row["flushes"]) - 1) * float(row["flush_interval_days"])
    last: Any = entries.singles["as_of"]
    assert isinstance(last, date)
    batches = [
        row
        for row in entries.tables["batches"]
        if row["strain"] == strain and row["made"] + timedelta(days) <= last
    ]
    found = [len([row for row in batches if row["recipe"] == name]) for name in (a, b)]
    assert min(found) >= 5
    words = {cell.value for cell in made(units, "demo").values["Trials"]["A"]}
    listed = [one for one in words if str(one).startswith(f"{strain}, {a} against {b}: ")]
    count_a, _, count_b, _ = listed[0].rpartition(": ")[2].split()
    # The sheet waits for the turnaround days too.
    assert found[0] - 1 <= int(count_a) <= found[0]
    assert found[1] - 1 <= int(count_b) <= found[1]


@pytest.mark.parametrize("strain", [None, STRAINS[1]])
@pytest.mark.parametrize("seed", range(6))
def test_the_newest_change_is_found_and_compared(seed: int, strain: str | None) -> None:
    """A log in any order, of three strains, each with a recipe or two; nothing is typed."""
    chance = np.random.default_rng(seed)
    farm = fresh(COUNT)
    names = [row["recipe"] for row in demo_entries("metric").tables["recipes"]]
    recipes = [[str(one) for one in chance.permutation(names)[:2]] for _ in range(3)]
    days = [date(2025, 1, 1) + timedelta(int(day)) for day in chance.permutation(COUNT)]
    rows = []
    for day in days:
        of = int(chance.integers(3))
        later = (day - date(2025, 1, 1)).days > int(chance.integers(10, COUNT))
        rows.append((day, STRAINS[of], recipes[of][int(later)]))
    farm.log([Made(STRAINS.index(of), 50, 2) for _, of, _ in rows])
    made_on = farm.column("batches.made", COUNT)
    farm.set_column("batches.made", days)
    farm.set_column("batches.recipe", [treatment for *_, treatment in rows])
    typed = {"trial_strain": strain, "trial_a": None, "trial_b": None}
    for key, value in typed.items():
        farm.set(key, value)
    farm.compute()
    found = newest_change(rows, strain)
    said = farm.value("trial_newest")
    if found is None:
        of_strain = f" of {strain}" if strain else ""
        assert said == f"No recipe{of_strain} is new in the last 60 batches."
    else:
        assert said == (
            f"{found.strain}: recipe {found.new}, first used {found.since}; before it "
            f"{found.before}.{' Clear Strain for the newest of all.' if strain else ''}"
        )
        used = [farm.value(f"trial_used_{key}") for key in ("strain", "a", "b")]
        assert used == [found.strain, found.before, found.new]
        count = [
            sum(row[1:] == (found.strain, name) for row in rows)
            for name in (found.before, found.new)
        ]
        assert farm.column("trial_sides.batches", 2) == count
        farm.set("trial_a", found.new)
        farm.compute()
        assert farm.value("trial_used_b") == ""
        assert farm.value("trial_answer") == "Nothing to judge yet."
    farm.set_column("batches.made", made_on)
    farm.set_column("batches.recipe", [NAMES[row % 2] for row in range(COUNT)])


def test_without_a_change_the_sheet_says_so() -> None:
    farm = fresh(COUNT)
    farm.log([Made(0, 50, 2)] * COUNT)
    for key in ("trial_strain", "trial_a", "trial_b"):
        farm.set(key, None)
    farm.set_column("batches.recipe", [NAMES[0]] * COUNT)
    farm.compute()
    assert farm.value("trial_newest") == "No recipe is new in the last 60 batches."
    assert farm.value("trial_found").startswith("Choose a strain;")
    farm.set("trial_kind", "spawn lot")
    farm.compute()
    assert farm.value("trial_newest") == "No batch has a spawn lot."
    farm.set_column("batches.recipe", [NAMES[row % 2] for row in range(COUNT)])


def test_what_earlier_releases_asked_for_is_still_an_input() -> None:
    """Release 3: these stood on the Trials sheet."""
    assert set(SINGLE_INPUTS) >= {
        *("trial_about", "trial_a", "trial_b", "trial_confidence", "trial_power"),
        *("trial_blocks_a", "trial_lost_a", "trial_blocks_b", "trial_lost_b"),
    }
