"""The Forecast sheet against a plain model of what every batch will still give."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from reading import red_where
from seasons import SEASONS, Batch, Season, day, season

if TYPE_CHECKING:
    from office import Office

FLUSHES = range(1, 5)
WEEK = timedelta(7)


class Figures(NamedTuple):
    """What is expected of a strain."""

    incubation: float
    first: float
    interval: float
    flushes: int
    loss: float
    be: dict[int, float]
    is_own: bool


def figures(of: Season, strain: str) -> Figures:
    plan = of.strain(strain)
    ended = [batch for batch in of.batches if batch.strain == strain and batch.is_ended]
    dated = [
        batch
        for batch in ended
        if batch.row["moved"] and batch.picked_on(1) is not None and batch.dry_good > 0
    ]
    interval, flushes = plan["flush_interval_days"] or 0, int(plan["flushes"])
    if len(dated) < of.typed["enough_batches"]:
        be = {flush: plan[f"be_{flush}"] or 0 for flush in FLUSHES}
        days = plan["incubation_days"], plan["first_flush_days"]
        return Figures(*days, interval, flushes, plan["loss_rate"], be, is_own=False)
    dry = sum(batch.dry_good for batch in ended)
    be = {
        flush: sum(fresh for b in ended for number, _, fresh in b.picked if number == flush) / dry
        for flush in FLUSHES
    }
    moves = [batch.row["moved"].toordinal() for batch in dated]
    incubation = sum(moves) - sum(batch.row["made"].toordinal() for batch in dated)
    first = sum(batch.picked_on(1) for batch in dated) - sum(moves)
    loss = sum(batch.lost for batch in ended) / sum(batch.row["bags"] for batch in ended)
    count = len(dated)
    return Figures(incubation / count, first / count, interval, flushes, loss, be, is_own=True)


def to_come(batch: Batch, expect: Figures, today: date) -> list[tuple[date, float]]:
    """Return date and mass of each flush that a batch in progress will still bring."""
    moved = day(batch.row["moved"])
    share = batch.good / batch.row["bags"]
    if moved is None:
        share = min(share, 1 - expect.loss)
    last = max([0, *(flush for flush, _, _ in batch.picked if flush in FLUSHES)])
    if last:
        following = batch.picked_on(last) + expect.interval
    elif moved:
        following = moved.toordinal() + expect.first
    else:
        due = batch.row["made"].toordinal() + expect.incubation
        following = max(today.toordinal(), due) + expect.first
    following = max(today.toordinal(), floor(following + 0.5))
    return [
        (
            date.fromordinal(floor(following + (flush - last - 1) * expect.interval)),
            batch.dry * share * expect.be[flush],
        )
        for flush in FLUSHES
        if last < flush <= expect.flushes
    ]


def by_week(of: Season) -> dict[tuple[int, str], float]:
    """Add up the expected masses by number of the week and strain."""
    monday = of.today - timedelta(of.today.weekday())
    masses: dict[tuple[int, str], float] = defaultdict(float)
    for batch in of.batches:
        if not batch.is_ended:
            expect = figures(of, batch.strain)
            for when, mass in to_come(batch, expect, of.today):
                masses[(when - monday) // WEEK, batch.strain] += mass
    return masses


@pytest.mark.parametrize("kind", SEASONS)
def test_weeks_hold_the_flushes_to_come(kind: str) -> None:
    of = season(kind)
    expected, strains = by_week(of), [row["strain"] for row in of.tables["strains"]]
    rows = of.forecast["Expected in the week from, kg"].rows
    monday = of.today - timedelta(of.today.weekday())
    assert len(rows) == 12
    for week, row in enumerate(rows):
        assert row["Week from, yyyy-mm-dd"].date() == monday + week * WEEK
        assert row["Total, kg"] == pytest.approx(sum(expected[week, s] for s in strains))
        for strain in strains:
            assert row[strain] == pytest.approx(expected[week, strain], abs=1e-9), (week, strain)
    later = sum(mass for (week, _), mass in expected.items() if week >= 12)
    ahead = of.forecast["The weeks ahead"].values
    assert ahead["Beyond 12 weeks"] == pytest.approx(later)
    assert ahead["Expected next week"] == pytest.approx(rows[1]["Total, kg"])


@pytest.mark.parametrize("kind", SEASONS)
def test_own_figures_are_used_where_there_are_enough_batches(kind: str) -> None:
    of = season(kind)
    for row in of.forecast["Figures used, by strain"].rows:
        if row["Strain"]:
            expect = figures(of, row["Strain"])
            own = "own batches" if expect.is_own else "the Strains sheet"
            assert row["Figures from"] == own
            assert row["Made to moved, d"] == pytest.approx(expect.incubation)
            assert row["Moved to first flush, d"] == pytest.approx(expect.first)
            assert row["Blocks lost, %"] == pytest.approx(expect.loss)
            typed = next(one for one in of.tables["strains"] if one["strain"] == row["Strain"])
            for flush in FLUSHES:
                shown = row[f"BE of flush {flush}, %"]
                if expect.is_own or typed[f"be_{flush}"] is not None:
                    assert shown == pytest.approx(expect.be[flush])
                else:  # not known is not 0
                    assert shown in (None, "")


def test_both_kinds_of_figures_are_tried() -> None:
    kinds = {
        figures(season(kind), row["strain"]).is_own
        for kind in SEASONS
        for row in season(kind).tables["strains"]
    }
    assert kinds == {True, False}


@pytest.mark.parametrize("kind", SEASONS)
def test_what_is_asked_for_is_the_packs_in_fresh_mass(kind: str) -> None:
    of = season(kind)
    drying = (1 - of.typed["dried_moisture"]) / (1 - of.typed["fresh_moisture"])
    in_pack = {"fresh": 1.0, "dried": drying, "block": 0.0}
    balance = of.forecast["Expected less asked for, kg"].rows
    expected = by_week(of)
    for week, row in enumerate(of.forecast["Asked for in the week from, kg"].rows):
        asked: dict[str, float] = defaultdict(float)
        for line in of.tables["products"]:
            single = [
                one["packs"]
                for one in of.tables["unusual_weeks"]
                if (one["product"], one["week"]) == (line["product"], row["Week from, yyyy-mm-dd"])
            ]
            packs = sum(single) if single else line["packs_per_week"]
            mass = (line["pack_mass"] or 0) * in_pack[line["form"]]
            asked[line["strain"]] += packs * mass / line["sold_share"]
        for strain in (one["strain"] for one in of.tables["strains"]):
            assert row[strain] == pytest.approx(asked[strain]), (week, strain)
            left = expected[week, strain] - asked[strain]
            assert balance[week][strain] == pytest.approx(left, abs=1e-9)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("enough_batches", 0, "When to use your own records: inputs outside their limits"),
        ("enough_batches", "some", "When to use your own records: inputs outside their limits"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert [words in check for check in red] == [True], red
