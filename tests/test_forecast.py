"""The Forecast sheet against a plain model of what every batch will still give."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from reading import place, red_where
from seasons import SEASONS, Batch, Season, day, season
from workbooks import made

from cultivar_fx.calls.cells import serial
from workbook_template.demo.season import AS_OF

if TYPE_CHECKING:
    from office import Document, Office

FLUSHES = range(1, 5)
WEEK = timedelta(7)


class Figures(NamedTuple):
    """What is expected of a strain."""

    incubation: float
    first: float
    interval: float
    flushes: int
    loss: float
    be: dict[int, float | None]
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
        be = {flush: plan[f"be_{flush}"] for flush in FLUSHES}
        days = plan["incubation_days"], plan["first_flush_days"]
        return Figures(*days, interval, flushes, plan["loss_rate"], be, is_own=False)
    be = {flush: own_be(ended, flush, plan, of.typed["enough_batches"]) for flush in FLUSHES}
    moves = [batch.row["moved"].toordinal() for batch in dated]
    incubation = sum(moves) - sum(batch.row["made"].toordinal() for batch in dated)
    first = sum(batch.picked_on(1) for batch in dated) - sum(moves)
    loss = sum(batch.lost for batch in ended) / sum(batch.row["bags"] for batch in ended)
    count = len(dated)
    return Figures(incubation / count, first / count, interval, flushes, loss, be, is_own=True)


def own_be(ended: list[Batch], flush: int, plan: dict[str, Any], enough: float) -> float | None:
    """Return what the batches gave that were kept for a flush, or what is planned of it."""
    kept = [b for b in ended if b.kept_for(plan["flush_interval_days"] or 0) >= flush]
    kept = [batch for batch in kept if batch.dry_good > 0]
    if len(kept) < enough:
        return plan[f"be_{flush}"]
    fresh = sum(fresh for b in kept for number, _, fresh in b.picked if number == flush)
    return fresh / sum(batch.dry_good for batch in kept)


def to_come(batch: Batch, expect: Figures, today: date) -> list[tuple[date, float]]:
    """Return date and mass of each flush that a batch in progress will still bring."""
    moved = day(batch.row["moved"])
    share = batch.good / batch.row["bags"]
    if moved is None:
        share = min(share, 1 - expect.loss)
    last = batch.last_flush
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
            batch.dry * share * (expect.be[flush] or 0),
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


def picked(of: Season, strain: str, week: int) -> float:
    """Add up what was picked of a strain since the Monday of a week, up to today."""
    monday = of.today - timedelta(of.today.weekday()) + week * WEEK
    batches = [batch for batch in of.batches if batch.strain == strain]
    return sum(
        fresh for one in batches for _, when, fresh in one.picked if monday <= when <= of.today
    )


@pytest.mark.parametrize("kind", SEASONS)
def test_weeks_hold_the_flushes_to_come(kind: str) -> None:
    of = season(kind)
    expected, strains = by_week(of), [row["strain"] for row in of.tables["strains"]]
    rows = of.forecast["Expected, kg"].rows
    monday = of.today - timedelta(of.today.weekday())
    assert len(rows) == 12
    for week, row in enumerate(rows):
        assert row["Week of, yyyy-mm-dd"].date() == monday + week * WEEK
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
            own = "own batches" if expect.is_own else "Strains sheet"
            assert row["Figures from"] == own
            assert under(row, "Made to moved") == pytest.approx(expect.incubation)
            assert under(row, "Moved to first flush") == pytest.approx(expect.first)
            assert row["Blocks lost, %"] == pytest.approx(expect.loss)
            for flush in FLUSHES:
                shown = row[f"BE of flush {flush}, %"]
                if expect.be[flush] is not None:
                    assert shown == pytest.approx(expect.be[flush]), (row["Strain"], flush)
                else:  # not known is not 0
                    assert shown in (None, "")


def under(row: dict[str, Any], words: str) -> Any:
    """Return what stands under a heading, whatever its unit is called."""
    return next(value for heading, value in row.items() if heading.startswith(f"{words}, "))


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
    balance = of.forecast[BALANCE].rows
    expected, weeks = by_week(of), list[float]()
    for week, row in enumerate(of.forecast["Demand, kg"].rows):
        asked: dict[str, float] = defaultdict(float)
        short = 0.0
        for line in of.tables["products"]:
            single = [
                one["packs"]
                for one in of.tables["unusual_weeks"]
                if (one["product"], one["week"]) == (line["product"], row["Week of, yyyy-mm-dd"])
            ]
            packs = sum(single) if single else line["packs_per_week"]
            mass = (line["pack_mass"] or 0) * in_pack[line["form"]]
            asked[line["strain"]] += packs * mass / line["sold_share"]
        for strain in (one["strain"] for one in of.tables["strains"]):
            assert row[strain] == pytest.approx(asked[strain]), (week, strain)
            left = expected[week, strain] + picked(of, strain, week) - asked[strain]
            assert balance[week][strain] == pytest.approx(left, abs=1e-9)
            short += max(0, -left)
        assert balance[week]["Short, kg"] == pytest.approx(short, abs=1e-9)
        weeks.append(short)
    ahead = of.forecast["The weeks ahead"].values
    assert ahead["Weeks short of demand"] == sum(short > 1e-6 for short in weeks)
    assert ahead["Short in these weeks"] == pytest.approx(sum(weeks))
    so_far = sum(picked(of, row["strain"], 0) for row in of.tables["strains"])
    assert ahead["Picked this week so far"] == pytest.approx(so_far)


def test_a_flush_that_no_batch_was_kept_for_is_expected_as_planned(office: Office) -> None:
    """Two flushes were always kept, and now three are: the third is that of the Strains sheet."""
    demo = made("metric", "demo")
    with office.kept(demo.path) as document:
        at = place(demo.values, "strains.flushes")
        document.write(at.sheet, at.row, at.column, [[3]])
        figures_used = listed(document, "Figures used, by strain")
        assert figures_used[0]["Figures from"] == "own batches"
        assert figures_used[0]["BE of flush 3, %"] == pytest.approx(0.12)  # as typed for the demo
        assert figures_used[0]["BE of flush 2, %"] != pytest.approx(0.31)
        coming = [
            batch
            for batch in listed(
                document, "Flushes to come, by batch in progress", "Forecast workings"
            )
            if batch["Strain"] == figures_used[0]["Strain"]
        ]
        assert coming
        for batch in coming:
            dry = batch["Dry substrate, good blocks, kg"]
            assert batch["Mass of flush 3, kg"] == pytest.approx(0.12 * dry)


def test_the_current_week_counts_what_was_picked(office: Office) -> None:
    """On a Thursday the whole week's demand meets what was picked since Monday, and what is due."""
    demo = made("metric", "demo")
    thursday = serial(AS_OF) + 3
    with office.kept(demo.path) as document:
        at = place(demo.values, "as_of")
        document.write(at.sheet, at.row, at.column, [[thursday]])
        before = listed(document, BALANCE)[0]
        batch = next(b for b in season("demo").batches if b.row["batch"] == "B144")
        for key, value in (("batch", "B144"), ("date", thursday - 2), ("flush", 9), ("fresh", 7)):
            at = place(demo.values, f"harvests.{key}")
            document.write(at.sheet, at.row + 390, at.column, [[value]])
        after = listed(document, BALANCE)[0]
        assert after[batch.strain] == pytest.approx(before[batch.strain] + 7)
        document.write(at.sheet, at.row + 390, at.column - 2, [[thursday - 4]])  # last week
        assert listed(document, BALANCE)[0][batch.strain] == pytest.approx(before[batch.strain])


def test_a_surplus_of_one_strain_hides_no_shortage_of_another(office: Office) -> None:
    demo = made("metric", "demo")
    with office.kept(demo.path) as document:
        at = place(demo.values, "strains.be_1")
        document.write(at.sheet, at.row, at.column, [[3.0]])
        enough = place(demo.values, "enough_batches")
        document.write(enough.sheet, enough.row, enough.column, [[99]])
        rows = listed(document, BALANCE)[1:]
        week = next(r for r in rows if r["Total, kg"] > 0 and min(strains_of(r)) < -1)
        assert week["Short, kg"] == pytest.approx(sum(-kg for kg in strains_of(week) if kg < 0))


BALANCE = "Short (below 0) or over, kg"


def strains_of(row: dict[str, Any]) -> list[float]:
    return [row[one["strain"]] for one in season("demo").tables["strains"]]


def listed(document: Document, title: str, sheet: str = "Forecast") -> list[dict[str, Any]]:
    """Return the filled rows of a list of a sheet in the open demo, by heading."""
    rows = document.values(sheet)[sheet]
    first = next(number for number, row in enumerate(rows) if row[0] == title) + 1
    found = []
    for row in rows[first + 1 :]:
        if row[0] in (None, ""):
            break
        found.append(dict(zip(rows[first], row, strict=True)))
    return found


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("enough_batches", 0, "When to use your own records: cells to fix"),
        ("enough_batches", "some", "When to use your own records: cells to fix"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert [words in check for check in red] == [True], red
