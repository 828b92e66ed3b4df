"""The Forecast sheet against a plain model of what every batch will still give."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from math import sqrt
from typing import TYPE_CHECKING, Any

import pytest
from forecast_model import WEEK, forecast, spreads
from logged_batches import LoggedBatches
from reading import place, red_where
from scipy import stats
from seasons import SEASONS, Season, season
from workbooks import made

from cultivar_fx.calls.cells import serial
from workbook_template.build import lay_out
from workbook_template.demo.season import AS_OF
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries

if TYPE_CHECKING:
    from datetime import datetime

    from office import Document, Office

WEEKS = 12


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
    coming, strains = forecast(of, WEEKS), [row["strain"] for row in of.tables["strains"]]
    rows = of.forecast["Expected, kg"].rows
    monday = of.today - timedelta(of.today.weekday())
    assert len(rows) == WEEKS
    for week, row in enumerate(rows):
        assert row["Week of, yyyy-mm-dd"].date() == monday + week * WEEK
        total = sum(coming.expected[week, strain] for strain in strains)
        assert row["Total, kg"] == pytest.approx(total, abs=1e-6)
        for strain in strains:
            due = coming.expected[week, strain]
            assert row[strain] == pytest.approx(due, abs=1e-6), (week, strain)
    ahead = of.forecast["The weeks ahead"].values
    assert ahead["Beyond 12 weeks"] == pytest.approx(coming.later, abs=1e-4)
    assert ahead["Expected next week"] == pytest.approx(rows[1]["Total, kg"])


@pytest.mark.parametrize("kind", SEASONS)
def test_low_high_and_chance_come_from_the_normal_distribution(kind: str) -> None:
    of = season(kind)
    coming, strains = forecast(of, WEEKS), [row["strain"] for row in of.tables["strains"]]
    lists = {key: of.forecast[title].rows for key, title in LISTS.items()}
    for week, row in enumerate(of.forecast["Low to high, what is picked included"].rows):
        every, total, chances = 1.0, (0.0, 0.0, 0.0), {}
        for strain in strains:
            mean, variance = coming.expected[week, strain], coming.variance[week, strain]
            so_far, asked = picked(of, strain, week), lists["asked"][week][strain]
            low, high = ends(of, mean, variance)
            assert lists["low"][week][strain] == pytest.approx(low + so_far, abs=1e-6)
            assert lists["high"][week][strain] == pytest.approx(high + so_far, abs=1e-6)
            chance = chance_of(asked - so_far, mean, variance)
            assert lists["chance"][week][f"{strain}"] == pytest.approx(chance, abs=1e-6)
            every *= chance
            chances[strain] = chance
            total = total[0] + mean, total[1] + variance, total[2] + so_far
        low, high = ends(of, *total[:2])
        assert row["Low, kg"] == pytest.approx(low + total[2], abs=1e-6)
        assert row["High, kg"] == pytest.approx(high + total[2], abs=1e-6)
        assert row["Expected, kg"] == pytest.approx(total[0] + total[2], abs=1e-6)
        chance = chance_of(row["Demand, kg"] - total[2], *total[:2])
        assert row["Chance of enough, in total, %"] == pytest.approx(chance, abs=1e-6)
        assert row["Chance of enough, every strain, %"] == pytest.approx(every, abs=1e-6)
        name, share = min(chances.items(), key=lambda one: round(one[1], 9))
        assert row["Least sure of enough"] == f"{name}: {in_words(share)}"


def in_words(share: float) -> str:
    if share < 0.005:
        return "under 1%"
    return "over 99%" if share >= 0.995 else f"{share:.0%}"


LISTS = {
    "low": "Low, what is picked included, kg",
    "high": "High, what is picked included, kg",
    "chance": "Chance to meet demand, by strain",
    "asked": "Demand, kg",
}


def ends(of: Season, mean: float, variance: float) -> tuple[float, float]:
    """Return low and high of what is still to come."""
    if variance == 0:
        return mean, mean
    low, high = stats.norm(mean, sqrt(variance)).interval(of.typed["forecast_range"])
    return max(0, low), high


def chance_of(missing: float, mean: float, variance: float) -> float:
    if variance == 0:
        return float(missing <= mean)
    return float(stats.norm(mean, sqrt(variance)).sf(missing))


@pytest.mark.parametrize("kind", SEASONS)
def test_spread_is_blended_with_the_assumed_one(kind: str) -> None:
    of = season(kind)
    rows = of.forecast["How far batches vary, by strain (standard deviation)"].rows
    expect = spreads(of)
    for row in rows[: len(expect)]:
        of_strain = expect[row["Strain"]]
        shown = [value for heading, value in row.items() if "\N{PLUS-MINUS SIGN}" in heading]
        assert shown == pytest.approx([of_strain[key] for key in ("be", "move", "first", "next")])


SINCE_MARKET = [timedelta(days) for days in (2, 3, 4, 5, 6, 0, 1)]
"""The market of the demo is on Saturdays."""


def deliveries(order: dict[str, Any]) -> list[datetime]:
    """Return the days of an order, once or every week until a day."""
    last = order["until"] or order["date"]
    weeks = (last - order["date"]).days // 7
    return [order["date"] + number * WEEK for number in range(weeks + 1)]


@pytest.mark.parametrize("kind", SEASONS)
def test_what_is_asked_for_is_the_packs_in_fresh_mass(kind: str) -> None:
    of = season(kind)
    drying = (1 - of.typed["dried_moisture"]) / (1 - of.typed["fresh_moisture"])
    in_pack = {"fresh": 1.0, "dried": drying, "block": 0.0}
    balance = of.forecast[BALANCE].rows
    expected, weeks = forecast(of, WEEKS).expected, list[float]()
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
            packs += sum(
                one["packs"]
                for one in of.tables["orders"]
                if one["product"] == line["product"]
                for when in deliveries(one)
                if row["Week of, yyyy-mm-dd"]
                <= when - SINCE_MARKET[when.weekday()]
                < row["Week of, yyyy-mm-dd"] + WEEK
            )
            mass = (line["pack_mass"] or 0) * in_pack[line["form"]]
            asked[line["strain"]] += packs * mass / line["sold_share"]
        for strain in (one["strain"] for one in of.tables["strains"]):
            assert row[strain] == pytest.approx(asked[strain]), (week, strain)
            left = expected[week, strain] + picked(of, strain, week) - asked[strain]
            assert balance[week][strain] == pytest.approx(left, abs=1e-6)
            short += max(0, -left)
        assert balance[week]["Short, kg"] == pytest.approx(short, abs=1e-6)
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
        # One more day of a flush that has begun changes neither what is to come nor any figure.
        batch = next(b for b in season("demo").batches if not b.is_ended and b.last_flush)
        typed = {"batch": batch.row["batch"], "date": thursday - 2, "flush": batch.last_flush}
        for key, value in (*typed.items(), ("fresh", 7)):
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


def test_batches_in_progress_beyond_the_rows_for_them_turn_a_check_red() -> None:
    """A log of 61 rows has rows for 60 batches in progress; made anew it has more."""
    farm = LoggedBatches(61)
    farm.set("label_batch", "N0")
    for in_progress in (60, 61):
        ended = [None if row < in_progress else AS_OF for row in range(61)]
        farm.set_column("batches.ended", ended)
        farm.compute()
        assert farm.value("forecast_batches") == in_progress
        is_told = any("batches without a row" in str(one) for one in farm.column("alarms.words", 8))
        assert is_told == (in_progress > 60)
    entries = Entries(tables={"batches": [{"batch": f"N{row}"} for row in range(61)]})
    book = lay_out(Settings(batch_rows=61, typed_functions=False), entries)
    place = book.columns["flushes", "line"]
    assert place.last - place.first + 1 > 61
