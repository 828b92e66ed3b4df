"""The Forecast sheet against a plain model of what every batch will still give."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from math import floor
from typing import TYPE_CHECKING, Any

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


def to_come(batch: Batch, expect: dict[str, Any], today: date) -> list[tuple[date, float]]:
    """Return date and mass of each flush that a batch in progress will still bring."""
    moved, interval = day(batch.row["moved"]), expect["flush_interval_days"] or 0
    share = batch.good / batch.row["bags"]
    if moved is None:
        share = min(share, 1 - expect["loss_rate"])
    last = batch.last_flush
    if last:
        following = batch.picked_on(last) + interval
    elif moved:
        following = moved.toordinal() + expect["first_flush_days"]
    else:
        due = batch.row["made"].toordinal() + expect["incubation_days"]
        following = max(today.toordinal(), due) + expect["first_flush_days"]
    following = max(today.toordinal(), floor(following + 0.5))
    return [
        (
            date.fromordinal(floor(following + (flush - last - 1) * interval)),
            batch.dry * share * (expect[f"be_{flush}"] or 0),
        )
        for flush in FLUSHES
        if last < flush <= expect["flushes"]
    ]


def by_week(of: Season) -> dict[tuple[int, str], float]:
    """Add up the expected masses by number of the week and strain."""
    monday = of.today - timedelta(of.today.weekday())
    masses: dict[tuple[int, str], float] = defaultdict(float)
    for batch in of.batches:
        if not batch.is_ended:
            expect = of.used(batch.strain)
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
    """Two flushes were always kept, and now three are: the third is that of the plan."""
    demo = made("metric", "demo")
    with office.kept(demo.path) as document:
        at = place(demo.values, "strains.flushes")
        document.write(at.sheet, at.row, at.column, [[3]])
        strain = document.values(at.sheet)[at.sheet][at.row][0]
        listing = listed(document, "Flushes to come, by batch in progress", "Forecast workings")
        coming = [batch for batch in listing if batch["Strain"] == strain]
        assert coming
        for batch in coming:
            dry = batch["Dry substrate, good blocks, kg"]
            # As typed for the demo.
            assert batch["Mass of flush 3, kg"] == pytest.approx(0.12 * dry)
            assert batch["Mass of flush 2, kg"] != pytest.approx(0.31 * dry)


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
        switch = place(demo.values, "figures_used")
        document.write(switch.sheet, switch.row, switch.column, [["plan only"]])
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
        ("enough_batches", 0, "Plan or own figures: cells to fix"),
        ("enough_batches", "some", "Plan or own figures: cells to fix"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert [words in check for check in red] == [True], red
