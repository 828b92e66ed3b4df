"""The Results sheet against the logs added up in plain Python, and statsmodels' intervals.

Losses come in batches: intervals are those of counts divided by the spread between batches (Rao &
Scott 1992, Biometrics 48:577), which is Pearson's chi-square over its degrees of freedom.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from reading import states_where
from scipy import stats
from seasons import SEASONS, Batch, Season, season
from statsmodels.stats.proportion import proportion_confint

if TYPE_CHECKING:
    from datetime import date

    from office import Office


def chi_square(batches: list[Batch]) -> tuple[float, int]:
    """Return Pearson's chi-square of the ended batches around their common rate, and what of."""
    ended = [(batch.row["bags"], batch.lost) for batch in batches if batch.is_ended]
    blocks, lost = (sum(n) for n in zip((0, 0), *ended))
    if not 0 < lost < blocks:
        return 0.0, 0
    rate = lost / blocks
    return (
        sum((gone - made * rate) ** 2 / (made * rate * (1 - rate)) for made, gone in ended),
        len(ended) - 1,
    )


def spread(parts: list[tuple[float, int]], typed: dict[str, Any]) -> float | None:
    """Return what counts are divided by, Student's t included; None with too few batches."""
    square, freedom = (sum(n) for n in zip(*parts))
    if freedom < typed["enough_for_spread"]:
        return None
    tail = (1 + typed["results_confidence"]) / 2
    return max(1, square / freedom) * (stats.t.ppf(tail, freedom) / stats.norm.ppf(tail)) ** 2


def of_farm(of: Season) -> float:
    strains = {batch.strain for batch in of.batches}
    parts = [chi_square([b for b in of.batches if b.strain == strain]) for strain in strains]
    return spread(parts, of.typed) or of.typed["assumed_spread"]


def of_batches(batches: list[Batch], of: Season, has_own_spread: bool = True) -> dict[str, Any]:
    """Return what a row of the sheet shows of these batches; None where there is nothing to say."""
    typed = of.typed
    ended = [batch for batch in batches if batch.is_ended]
    blocks, lost = (sum(n) for n in zip((0, 0), *((b.row["bags"], b.lost) for b in ended)))
    fresh, dry = sum(batch.fresh for batch in ended), sum(batch.dry_good for batch in ended)
    low, high, planned = None, None, None
    if blocks:
        own = spread([chi_square(batches)], typed) if has_own_spread else None
        by = own or of_farm(of)
        alpha = 1 - typed["results_confidence"]
        low, high = proportion_confint(lost / by, blocks / by, alpha, "wilson")
        planned = sum(b.row["bags"] * of.strain(b.strain)["loss_rate"] for b in ended) / blocks
    first = [
        picked - batch.row["made"].toordinal()
        for batch in batches
        if (picked := batch.picked_on(1)) is not None
    ]
    minute = typed["hourly_wage"] * (1 + typed["burden"]) / 60
    picking = minute * typed["harvesting_minutes"]
    cost = sum(
        batch.row["cost"]
        + batch.fresh * (picking if (kept := batch.row["picking_cost"]) is None else kept)
        for batch in ended
    )
    return {
        "Batches ended": len(ended),
        "Blocks in them": blocks,
        "Blocks lost": lost,
        "Cost of blocks lost, $": sum(b.row["block_cost_used"] * b.lost for b in ended),
        "Loss, %": lost / blocks if blocks else None,
        "Loss, lowest, %": low,
        "Loss, highest, %": high,
        "Loss planned for these batches, %": planned,
        "Days to first harvest": sum(first) / len(first) if first else None,
        "Fresh mass, kg": fresh,
        "Harvest, good block, kg/block": fresh / (blocks - lost) if blocks > lost else None,
        "Dry substrate, good blocks, kg": dry,
        "BE, %": fresh / dry if dry else None,
        "Cost, harvested, $/kg": cost / fresh if fresh else None,
    }


def compare(
    row: dict[str, Any], batches: list[Batch], of: Season, has_own_spread: bool = True
) -> None:
    expected = of_batches(batches, of, has_own_spread)
    for name, value in expected.items():
        if value is None:
            assert row[name] in ("", None), (row, name)
        else:
            assert row[name] == pytest.approx(value, rel=1e-9), (row, name)
    if expected["Blocks in them"]:
        plan = expected["Loss planned for these batches, %"]
        assert row["Loss against plan"] == verdict(plan, expected, of)


@pytest.mark.parametrize("kind", SEASONS)
def test_strains_add_up_their_ended_batches(kind: str) -> None:
    of = season(kind)
    rows = {row["Strain"]: row for row in of.results["By strain"].rows if row["Strain"]}
    assert list(rows) == [row["strain"] for row in of.tables["strains"]]
    for name, row in rows.items():
        compare(row, [batch for batch in of.batches if batch.strain == name], of)


@pytest.mark.parametrize("kind", SEASONS)
def test_recipes_are_compared_within_their_strain(kind: str) -> None:
    """Pooled over strains, a comparison of recipes can reverse (Simpson 1951)."""
    of = season(kind)
    pairs: dict[str, list[Batch]] = {}
    for batch in of.batches:
        pairs.setdefault(f"{batch.strain}, {batch.row['recipe']}", []).append(batch)
    title = "By recipe, each strain by itself"
    rows = {row["Strain, recipe"]: row for row in of.results[title].rows if row["Strain, recipe"]}
    most = sorted((len(batches) for batches in pairs.values()), reverse=True)
    assert set(rows) <= set(pairs)
    assert sorted((len(pairs[name]) for name in rows), reverse=True) == most[:12]
    for name, row in rows.items():
        compare(row, pairs[name], of)


@pytest.mark.parametrize("kind", SEASONS)
def test_the_last_twelve_months_end_with_this_one(kind: str) -> None:
    of = season(kind)
    this = of.today.year * 12 + of.today.month - 1
    rows = of.results["By month, the last twelve"].rows
    assert len(rows) == 12
    for back, row in enumerate(reversed(rows)):
        year, month = divmod(this - back, 12)
        assert row["Month made"] == f"{year}-{month + 1:02}"
        made = [b for b in of.batches if in_month(b.row["made"], year, month + 1)]
        compare(row, made, of, has_own_spread=False)


def in_month(when: date, year: int, month: int) -> bool:
    return (when.year, when.month) == (year, month)


@pytest.mark.parametrize("kind", SEASONS)
def test_all_batches_together(kind: str) -> None:
    of = season(kind)
    shown = of.results["All ended batches"].values
    expected = of_batches(of.batches, of, has_own_spread=False)
    for label, name in (
        ("Batches ended", "Batches ended"),
        ("Cost of blocks lost", "Cost of blocks lost, $"),
        ("Loss", "Loss, %"),
        ("Loss, lowest", "Loss, lowest, %"),
        ("Loss, highest", "Loss, highest, %"),
        ("Harvest of a good block", "Harvest, good block, kg/block"),
        ("BE", "BE, %"),
        ("Cost, harvested", "Cost, harvested, $/kg"),
    ):
        assert shown[label] == pytest.approx(expected[name], rel=1e-9), label


@pytest.mark.parametrize("kind", SEASONS)
def test_plan_against_actual(kind: str) -> None:
    of = season(kind)
    for row in of.results["Plan against actual, by strain"].rows:
        if not row["Strain"]:
            continue
        plan = of.strain(row["Strain"])
        planned_be = sum(plan[f"be_{flush + 1}"] or 0 for flush in range(int(plan["flushes"])))
        actual = of_batches([b for b in of.batches if b.strain == row["Strain"]], of)
        assert row["BE, plan, %"] == pytest.approx(planned_be)
        assert row["BE, actual, %"] == pytest.approx(actual["BE, %"])
        assert row["BE, share of plan, %"] == pytest.approx(actual["BE, %"] / planned_be)
        assert row["Loss, plan, %"] == plan["loss_rate"]
        assert row["Loss against plan"] == verdict(plan["loss_rate"], actual, of)
        days = plan["incubation_days"] + plan["first_flush_days"]
        assert row["Days to first harvest, plan"] == days


def verdict(plan: float, actual: dict[str, Any], of: Season) -> str:
    low, high = actual["Loss, lowest, %"], actual["Loss, highest, %"]
    if plan < low:
        return "more than planned"
    if plan > high:
        return "less than planned"
    return "too little data" if high - low > of.typed["widest_interval"] else "as planned"


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("batches.recipe", "Nobody's mix", "Results: ended batches by strain, and by recipe"),
        ("batches.recipe", "Nobody's mix", "Batches: rows to fix. Recipe: choose one from the"),
        ("widest_interval", 2, "Minimum evidence: cells to fix"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    found = states_where(office, "metric", key, value)
    assert any(words in check for check, _ in found), found
