"""The Results sheet against the logs added up in plain Python, and statsmodels' intervals."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from reading import states_where
from seasons import SEASONS, Batch, Season, season
from statsmodels.stats.proportion import proportion_confint

if TYPE_CHECKING:
    from datetime import date

    from office import Office


def of_batches(batches: list[Batch], typed: dict[str, Any]) -> dict[str, Any]:
    """Return what a row of the sheet shows of these batches; None where there is nothing to say."""
    ended = [batch for batch in batches if batch.is_ended]
    blocks, lost = (sum(n) for n in zip((0, 0), *((b.row["bags"], b.lost) for b in ended)))
    fresh, dry = sum(batch.fresh for batch in ended), sum(batch.dry_good for batch in ended)
    low, high = proportion_confint(lost, blocks, method="wilson") if blocks else (None, None)
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
        "Ended": len(ended),
        "Blocks in them": blocks,
        "Blocks lost": lost,
        "Loss, %": lost / blocks if blocks else None,
        "Loss, lowest, %": low,
        "Loss, highest, %": high,
        "Days to first harvest, days": sum(first) / len(first) if first else None,
        "Fresh mass, kg": fresh,
        "Harvest, good block, kg/block": fresh / (blocks - lost) if blocks > lost else None,
        "Dry substrate, good blocks, kg": dry,
        "BE, %": fresh / dry if dry else None,
        "Cost, harvested, $/kg": cost / fresh if fresh else None,
    }


def compare(row: dict[str, Any], batches: list[Batch], of: Season) -> None:
    expected = of_batches(batches, of.typed)
    for name, value in expected.items():
        if value is None:
            assert row[name] in ("", None), (row, name)
        else:
            assert row[name] == pytest.approx(value, rel=1e-9), (row, name)
    assert row["Batches made"] == len(batches)
    if expected["Ended"] and expected["Blocks in them"]:
        width = expected["Loss, highest, %"] - expected["Loss, lowest, %"]
        enough = width <= of.typed["widest_interval"]
        assert row["Data on the loss"] == ("enough data" if enough else "too little data")


@pytest.mark.parametrize("kind", SEASONS)
@pytest.mark.parametrize(("title", "key"), [("By strain", "strain"), ("By recipe", "recipe")])
def test_groups_add_up_the_ended_batches(kind: str, title: str, key: str) -> None:
    of = season(kind)
    rows = {row[key.capitalize()]: row for row in of.results[title].rows if row[key.capitalize()]}
    assert list(rows) == [row[key] for row in of.tables[f"{key}s"]]
    for name, row in rows.items():
        compare(row, [batch for batch in of.batches if batch.row[key] == name], of)


@pytest.mark.parametrize("kind", SEASONS)
def test_the_last_twelve_months_end_with_this_one(kind: str) -> None:
    of = season(kind)
    this = of.today.year * 12 + of.today.month - 1
    rows = of.results["By month, the last twelve"].rows
    assert len(rows) == 12
    for back, row in enumerate(reversed(rows)):
        year, month = divmod(this - back, 12)
        assert row["Month made"] == f"{year}-{month + 1:02}"
        compare(row, [b for b in of.batches if in_month(b.row["made"], year, month + 1)], of)


def in_month(when: date, year: int, month: int) -> bool:
    return (when.year, when.month) == (year, month)


@pytest.mark.parametrize("kind", SEASONS)
def test_all_batches_together(kind: str) -> None:
    of = season(kind)
    shown, expected = of.results["All ended batches"].values, of_batches(of.batches, of.typed)
    for label, name in (
        ("Batches ended", "Ended"),
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
        actual = of_batches([b for b in of.batches if b.strain == row["Strain"]], of.typed)
        assert row["BE, plan, %"] == pytest.approx(planned_be)
        assert row["BE, actual, %"] == pytest.approx(actual["BE, %"])
        assert row["BE, share of plan, %"] == pytest.approx(actual["BE, %"] / planned_be)
        assert row["Loss, plan, %"] == plan["loss_rate"]
        assert row["Loss against plan"] == verdict(plan["loss_rate"], actual, of)
        days = plan["incubation_days"] + plan["first_flush_days"]
        assert row["Days to first harvest, plan, days"] == days


def verdict(plan: float, actual: dict[str, Any], of: Season) -> str:
    low, high = actual["Loss, lowest, %"], actual["Loss, highest, %"]
    if high - low > of.typed["widest_interval"]:
        return "too little data"
    if plan < low:
        return "more than planned"
    return "less than planned" if plan > high else "as planned"


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
