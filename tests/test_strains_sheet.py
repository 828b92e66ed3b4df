"""Plan, own and used on the Strains sheet: against a model, and on simulated farms."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from logged_batches import LoggedBatches, Made
from reading import parts, place
from seasons import SEASONS, season
from workbooks import made

if TYPE_CHECKING:
    from collections import Counter

    from office import Office


def under(row: dict[str, Any], words: str) -> Any:
    """Return what stands under a heading, whatever its unit is called."""
    return next(value for heading, value in row.items() if heading.startswith(f"{words}, "))


OWN, USED, PLAN = "Own figures, from the logs", "Used, on all other sheets", "Strains"
HEADINGS = {
    "spawn_rate": "Spawn rate",
    "incubation_days": "Incubation",
    "first_flush_days": "Move to first flush",
    "flush_interval_days": "Flush to flush",
    "be_1": "BE of flush 1",
    "be_2": "BE of flush 2",
    "be_3": "BE of flush 3",
    "be_4": "BE of flush 4",
    "loss_rate": "Blocks lost",
    "picking_minutes": "Picking",
}
FARM = (0, 0, 1, 1, 2, 2, 2, 3, 3, 3, 3, 3)
"""The strain of each batch of a simulated farm."""
EVERY = range(4)


@pytest.mark.parametrize("kind", SEASONS)
def test_used_is_plan_and_own_by_their_weights(kind: str) -> None:
    of = season(kind)
    for row in of.strains[USED].rows[: len(of.tables["strains"])]:
        expect = of.used(row["Strain"])
        for key, heading in HEADINGS.items():
            shown = under(row, heading)
            if expect[key] is None:  # not known is not 0
                assert shown in (None, ""), (row["Strain"], key)
            else:
                assert shown == pytest.approx(expect[key]), (row["Strain"], key)


def test_a_worked_example_of_credibility() -> None:
    """By hand: 17 batches of the invented season, a plan worth 4, so Z = 17/21.

    The published figures (Hachemeister 1975) are in test_evidence.py.
    """
    of = season("demo")
    own, used, plan = (of.strains[title].rows[0] for title in (OWN, USED, PLAN))
    assert own["Batches counted"] == 17
    share = 17 / 21
    blended = share * under(own, "Blocks lost") + (1 - share) * under(plan, "Blocks lost")
    assert under(used, "Blocks lost") == pytest.approx(blended)
    assert under(used, "How much own losses count") == pytest.approx(share)


def test_the_switch_keeps_everything_at_plan(office: Office) -> None:
    demo = made("metric", "demo")
    with office.kept(demo.path) as document:
        at = place(demo.values, "figures_used")
        document.write(at.sheet, at.row, at.column, [["plan only"]])
        rows = document.values("Strains")["Strains"]
    first = {row[0]: number for number, row in enumerate(rows) if row[0] in (PLAN, USED)}
    plan, used = (dict(zip(rows[at + 1], rows[at + 2])) for at in (first[PLAN], first[USED]))
    assert under(used, "Picking") == season("demo").typed["harvesting_minutes"]
    for key, heading in HEADINGS.items():
        if key != "picking_minutes":
            assert under(used, heading) == pytest.approx(under(plan, heading)), key


@cache
def workbook() -> LoggedBatches:
    asked = ("own.loss_rate", "used.loss_rate", "own.be_1", "used.be_1", "batches.dry_good")
    return LoggedBatches(len(FARM), asked=asked)


def test_used_losses_are_nearer_the_truth_than_plan_or_own(
    farm_seeds: int, counts: Counter[str]
) -> None:
    """Mean squared error over seeded farms, by the credibility that the plan has on them.

    The true loss of a strain scatters around what was planned, and that of a batch around the
    strain's: beta with an intra-batch correlation of 0.02.
    """
    farm = workbook()
    off: dict[str, list[float]] = {"plan": [], "own": [], "used": []}
    planned = 0.08
    for seed in range(farm_seeds):
        chance = np.random.default_rng(seed)
        true = [float(chance.beta(0.08 * 60, 0.92 * 60)) for _ in EVERY]
        batches = [Made(strain, 60, _lost(chance, true[strain], 60)) for strain in FARM]
        for row in EVERY:
            farm.set("strains.loss_rate", planned, row)
        farm.log(batches)
        for row in EVERY:
            off["plan"].append(planned - true[row])
            off["own"].append(farm.value("own.loss_rate", row) - true[row])
            off["used"].append(farm.value("used.loss_rate", row) - true[row])
    counts["simulated farms"] += farm_seeds
    error = {key: float(np.mean(np.square(values))) for key, values in off.items()}
    assert error["used"] < min(error["plan"], error["own"]), error


def _lost(chance: np.random.Generator, rate: float, blocks: int) -> int:
    scale = (1 - 0.02) / 0.02
    return int(chance.binomial(blocks, chance.beta(rate * scale, (1 - rate) * scale)))


def test_used_be_is_nearer_the_truth_than_plan_or_own(
    farm_seeds: int, counts: Counter[str]
) -> None:
    """BE of a batch scatters by a fifth around that of its strain, and that around the plan."""
    farm = workbook()
    off: dict[str, list[float]] = {"plan": [], "own": [], "used": []}
    planned = 0.7
    for seed in range(farm_seeds):
        chance = np.random.default_rng(1000 + seed)
        true = [planned * float(chance.normal(1, 0.12)) for _ in EVERY]
        for row in EVERY:
            farm.set("strains.be_1", planned, row)
        farm.log([Made(strain, 60, 3) for strain in FARM])
        for number, strain in enumerate(FARM):
            dry = farm.value("batches.dry_good", number)
            fresh = dry * true[strain] * max(0.1, float(chance.normal(1, 0.2)))
            farm.set("harvests.fresh", fresh, number)
        farm.compute()
        for row in EVERY:
            off["plan"].append(planned - true[row])
            off["own"].append(farm.value("own.be_1", row) - true[row])
            off["used"].append(farm.value("used.be_1", row) - true[row])
    counts["simulated farms"] += farm_seeds
    error = {key: float(np.mean(np.square(values))) for key, values in off.items()}
    assert error["used"] < min(error["plan"], error["own"]), error


def test_without_strains_nothing_is_used() -> None:
    shown = parts(made("metric", "empty").values["Strains"])
    assert not any(row["Strain"] for row in shown[USED].rows)
