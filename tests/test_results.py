"""The Results sheet against the logs added up in plain Python, and statsmodels' intervals.

Losses come in batches: intervals are those of counts divided by the spread between batches (Rao &
Scott 1992, Biometrics 48:577), which is Pearson's chi-square over its degrees of freedom. Those of
BE, days and cost are regressions through zero by statsmodels, weighted so that their slope is the
ratio of sums, with a variance by the residuals of the batches (White's HC0, Student's t).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from own_figures import old_enough
from reading import states_where
from scipy import stats
from seasons import SEASONS, Batch, Season, season
from statsmodels.api import WLS
from statsmodels.stats.proportion import proportion_confint

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from office import Office


def counts(batch: Batch, of: Season) -> bool:
    """Return whether a batch of its strain would have been cleared out by today."""
    return bool(old_enough([batch], of.used(batch.strain), of.typed))


def is_finished(batch: Batch, of: Season) -> bool:
    """Return whether no planned flush of a batch that counts is to come."""
    has_all = batch.last_flush >= of.strain(batch.strain)["flushes"]
    return counts(batch, of) and (batch.is_ended or has_all)


def chi_square(batches: list[Batch], of: Season) -> tuple[float, int]:
    """Return Pearson's chi-square of the batches around their common rate, and what of."""
    ended = [(batch.row["bags"], batch.lost) for batch in batches if counts(batch, of)]
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
    parts = [chi_square([b for b in of.batches if b.strain == strain], of) for strain in strains]
    return spread(parts, of.typed) or of.typed["assumed_spread"]


def ratio_interval(
    above: Sequence[float], below: Sequence[float], confidence: float
) -> tuple[float | None, float | None]:
    """Return the ends of the interval of a ratio of sums over batches; none of one batch."""
    y, x = np.array(above, float), np.array(below, float)
    n = len(y)
    if n < 2 or not x.sum():
        return None, None
    # Around the ratio of sums the residuals y - r x add up to 0, as those of the regression do
    # whose weights are 1 / x. A batch without a below, of which x is 0, stands as a hair of one.
    x = np.where(x == 0, 1e-9 * x.mean(), x)
    fit = WLS(y, x, weights=1 / x).fit(cov_type="HC0")
    half = stats.t.ppf((1 + confidence) / 2, n - 1) * fit.bse[0] * np.sqrt(n / (n - 1))
    return max(0, fit.params[0] - half), fit.params[0] + half


def spent(batch: Batch, of: Season) -> float:
    typed = of.typed
    minutes = of.used(batch.strain)["picking_minutes"]
    picking = typed["hourly_wage"] * (1 + typed["burden"]) / 60 * minutes
    kept = batch.row["picking_cost"]
    return batch.row["cost"] + batch.fresh * (picking if kept is None else kept)


def days_of(batch: Batch) -> int | None:
    """Return the days from spawning to the first day of picking."""
    picked = batch.picked_on(1)
    return None if picked is None else picked - batch.row["made"].toordinal()


def of_batches(batches: list[Batch], of: Season, has_own_spread: bool = True) -> dict[str, Any]:
    """Return what a row of the sheet shows of these batches; None where there is nothing to say."""
    typed = of.typed
    counted = [batch for batch in batches if counts(batch, of)]
    blocks, lost = (sum(n) for n in zip((0, 0), *((b.row["bags"], b.lost) for b in counted)))
    finished = [batch for batch in counted if is_finished(batch, of)]
    fresh, dry = sum(batch.fresh for batch in finished), sum(batch.dry_good for batch in finished)
    good = sum(batch.good for batch in finished)
    confidence = typed["results_confidence"]
    low, high, planned = None, None, None
    if blocks:
        own = spread([chi_square(batches, of)], typed) if has_own_spread else None
        by = own or of_farm(of)
        low, high = proportion_confint(lost / by, blocks / by, 1 - confidence, "wilson")
        planned = sum(b.row["bags"] * of.strain(b.strain)["loss_rate"] for b in counted) / blocks
    grown = [batch for batch in finished if batch.good]
    be = ratio_interval([b.fresh for b in grown], [b.dry_good for b in grown], confidence)
    first = [days for batch in counted if (days := days_of(batch)) is not None]
    days = ratio_interval(first, [1] * len(first), confidence)
    costs = [spent(batch, of) for batch in finished]
    cost = ratio_interval(costs, [batch.fresh for batch in finished], confidence)
    return {
        "Batches counted": len(counted),
        "Blocks in them": blocks,
        "Blocks lost": lost,
        "Spent on blocks lost, $": sum(b.row["block_cost_used"] * b.lost for b in counted),
        "Loss, %": lost / blocks if blocks else None,
        "Loss, at least, %": low,
        "Loss, at most, %": high,
        "Loss, plan, %": planned,
        "Days to first harvest": sum(first) / len(first) if first else None,
        "Days to first harvest, at least": days[0],
        "Days to first harvest, at most": days[1],
        "Batches picked": len(first),
        "Batches finished": len(finished),
        "Fresh mass, kg": fresh,
        "Harvest, good block, kg/block": fresh / good if good else None,
        "Batches with good blocks": len(grown),
        "Dry substrate, good blocks, kg": dry,
        "BE, %": fresh / dry if dry else None,
        "BE, at least, %": be[0],
        "BE, at most, %": be[1],
        "Cost, harvested, $/kg": sum(costs) / fresh if fresh else None,
        "Cost, at least, $/kg": cost[0],
        "Cost, at most, $/kg": cost[1],
    }


CLOSE = dict.fromkeys(("Cost, at least, $/kg", "Cost, at most, $/kg"), 1e-6)
"""How close the ends are, of whose batches some gave nothing; see ``ratio_interval``."""
BY_MONTH = {
    f"{name}, {end}"
    for name in ("Days to first harvest", "BE", "Cost")
    for end in (
        "at least",
        "at most",
        "at least, %",
        "at most, %",
        "at least, $/kg",
        "at most, $/kg",
    )
}
"""What a month is too short for: these columns it has not."""


def compare(
    row: dict[str, Any], batches: list[Batch], of: Season, has_own_spread: bool = True
) -> None:
    expected = of_batches(batches, of, has_own_spread)
    for name, value in expected.items():
        if name in BY_MONTH and not has_own_spread:
            assert name not in row
        elif value is None:
            assert row[name] in ("", None), (row, name)
        else:
            assert row[name] == pytest.approx(value, rel=CLOSE.get(name, 1e-9)), (row, name)
    if expected["Blocks in them"]:
        plan = expected["Loss, plan, %"]
        assert row["Loss against plan"] == verdict(plan, expected, of)


@pytest.mark.parametrize("kind", SEASONS)
def test_strains_add_up_their_batches(kind: str) -> None:
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
    for row in of.results[f"BE and days by r{title[4:]}"].rows:
        if row["Strain, recipe"]:
            rows[row["Strain, recipe"]].update(row)
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
    shown = of.results["All batches counted"].values
    expected = of_batches(of.batches, of, has_own_spread=False)
    for label, name in (
        ("Batches counted", "Batches counted"),
        ("Spent on blocks lost", "Spent on blocks lost, $"),
        ("Loss", "Loss, %"),
        ("Loss, at least", "Loss, at least, %"),
        ("Loss, at most", "Loss, at most, %"),
        ("Batches finished", "Batches finished"),
        ("Harvest of a good block", "Harvest, good block, kg/block"),
        ("BE", "BE, %"),
        ("Cost, harvested", "Cost, harvested, $/kg"),
    ):
        assert shown[label] == pytest.approx(expected[name], rel=1e-9), label


@pytest.mark.parametrize("kind", SEASONS)
def test_intervals_of_all_batches_count_within_their_strain(kind: str) -> None:
    """Against a regression by statsmodels with a constant for each strain.

    Its scale is what the batches differ from the mean of their strain, pooled over the strains.
    """
    of = season(kind)
    shown = of.results["All batches counted"].values
    finished = [batch for batch in of.batches if is_finished(batch, of)]
    grown = [batch for batch in finished if batch.good]
    for name, batches, above, below in (
        ("BE", grown, [b.fresh for b in grown], [b.dry_good for b in grown]),
        ("Cost", finished, [spent(b, of) for b in finished], [b.fresh for b in finished]),
    ):
        ratio = sum(above) / sum(below)
        strains = sorted({batch.strain for batch in batches})
        of_strain = [[batch.strain == strain for strain in strains] for batch in batches]
        off = np.array(above) - ratio * np.array(below)
        fit = WLS(off, np.array(of_strain, float)).fit()
        half = stats.t.ppf((1 + of.typed["results_confidence"]) / 2, fit.df_resid)
        half *= np.sqrt(len(batches) * fit.scale) / sum(below)
        assert shown[f"{name}, at least"] == pytest.approx(max(0, ratio - half)), name
        assert shown[f"{name}, at most"] == pytest.approx(ratio + half), name


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
        assert row["Loss, plan, %"] == plan["loss_rate"]
        assert row["Loss against plan"] == verdict(plan["loss_rate"], actual, of)
        days = plan["incubation_days"] + plan["first_flush_days"]
        assert row["Days to first harvest, plan"] == days
        assert row["Days to first harvest, actual"] == pytest.approx(
            actual["Days to first harvest"]
        )
        for name in ("Batches with good blocks", "Batches picked"):
            assert row[name] == actual[name]
        for name, unit, planned in (("BE", ", %", planned_be), ("Days to first harvest", "", days)):
            low, high = (actual[f"{name}, {end}{unit}"] for end in ("at least", "at most"))
            for end, value in (("at least", low), ("at most", high)):
                shown = row[f"{name}, {end}{unit}"]
                if value is None:
                    assert shown in ("", None)
                else:
                    assert shown == pytest.approx(value, rel=1e-9)
            width = of.typed["widest_share"] * planned
            has_figure = actual[f"{name}{unit}"] is not None
            said = says(planned, low, high, width) if has_figure else None
            assert (row[f"{name} against plan"] or None) == said, row


def verdict(plan: float, actual: dict[str, Any], of: Season) -> str:
    low, high = actual["Loss, at least, %"], actual["Loss, at most, %"]
    return says(plan, low, high, of.typed["widest_interval"])


def says(plan: float, low: float | None, high: float | None, width: float) -> str:
    if low is None or high is None:
        return "too little data"
    if plan < low:
        return "more than planned"
    if plan > high:
        return "less than planned"
    return "too little data" if high - low > width else "as planned"


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("batches.recipe", "Nobody's mix", "Results: batches counted by strain, and by recipe"),
        ("batches.recipe", "Nobody's mix", "Batches: rows to fix. Recipe: choose one from the"),
        ("widest_interval", 2, "Minimum evidence: cells to fix"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    found = states_where(office, "metric", key, value)
    assert any(words in check for check, _ in found), found
