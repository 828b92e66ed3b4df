"""The Week plan sheet against a model of its own, written from the words on the sheet."""

from __future__ import annotations

from datetime import timedelta
from math import ceil, floor
from typing import TYPE_CHECKING

import farm_model as model
import plan_model
import pytest
from farm_book import WORKINGS, Book, as_date, changed_at_random, demo
from occupancy_model import Standing, Start

from workbook_template.writing.workings import workings_name

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from office import Office

EXACT = 1e-9
SEEDS = (4, 5, 6)
STATIONS = ("Mixer", "Steamer", "Bench", "Incubation", "Fruiting", "Labor")
FULL = "How full each station is in the week of"


@pytest.fixture(scope="module", params=["us", "metric"])
def units(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module", params=["demo", *SEEDS])
def book(request: pytest.FixtureRequest, units: str, office: Office) -> Book:
    """The demo as it is stored, and again after twenty of its inputs changed in LibreOffice."""
    if request.param == "demo":
        return demo(units)
    return changed_at_random(office, units, request.param)


def name(crop: tuple[str, str, bool]) -> str:
    strain, recipe, fruited = crop
    return f"{strain}, {recipe}" + ("" if fruited else ", blocks")


def by_week(book: Book, title: str, sheet: str = "Week plan") -> Iterator[tuple[str, date, float]]:
    """Return each number of a list whose headings are Mondays."""
    for row in book.rows(sheet, title):
        first, *rest = row.items()
        for monday, value in rest[:12]:
            if first[1] != "Total":
                yield first[1], as_date(monday), value


def begun(book: Book, week: date | None = None) -> list[plan_model.Start]:
    """Return the starts of the plan, or of one of its weeks."""
    every = plan_model.plan(book.farm).starts
    return [one for one in every if week in (None, one.week)]


def test_every_start(book: Book) -> None:
    rows = book.rows(WORKINGS, "Every start")
    expected = plan_model.plan(book.farm).starts
    assert len(rows) == len(expected)
    for row, start in zip(rows, expected, strict=True):
        assert row["Crop"] == name(start.crop)
        assert as_date(row["Week of, yyyy-mm-dd"]) == start.week
        assert as_date(row["Start on, yyyy-mm-dd"]) == start.day
        assert as_date(row["For the market on, yyyy-mm-dd"]) == start.market
        assert row["Good blocks needed"] == pytest.approx(start.good, rel=EXACT, abs=1.1e-6)
        assert row["Blocks to start"] == start.blocks


def test_blocks_to_start_by_crop_and_week(book: Book) -> None:
    expected = {(name(one.crop), one.week): one.blocks for one in begun(book)}
    shown = by_week(book, "Blocks to start, and bags needed, in the week of")
    assert {(crop, week): blocks for crop, week, blocks in shown} == expected


def test_what_the_starts_add_to_the_harvest_of_each_week(book: Book) -> None:
    weeks = book.rows(workings_name("Start"), "The next twelve weeks")
    assert len(weeks) == 12
    for row in weeks:
        monday = as_date(row["Week from, yyyy-mm-dd"])
        assert monday is not None
        mass = {label.partition(",")[0]: value for label, value in row.items()}
        added = book.mass(mass["With planned starts"] - mass["Picked and expected"])
        expected = plan_model.picked_of_starts(book.farm, begun(book), monday)
        assert added == pytest.approx(expected, rel=EXACT, abs=1e-6)


def test_packs_and_fresh_mass(book: Book) -> None:
    farm = book.farm
    for product, week, packs in by_week(book, "Packs to sell in the week of"):
        wanted = model.packs_wanted(farm, farm.row("products", "product", product), week)
        assert packs == pytest.approx(wanted)
    title = "Fresh mass to pick for the market in the week of"
    for strain, week, mass in by_week(book, title, WORKINGS):
        wanted = model.fresh_of_strain(farm, strain, week)
        assert book.mass(mass) == pytest.approx(wanted, rel=EXACT, abs=EXACT)


def test_what_is_too_late_to_grow(book: Book) -> None:
    short = plan_model.plan(book.farm).short
    rows = book.rows("Week plan", "What can no longer be grown in time")
    assert [row["Crop"] for row in rows] == [name(crop) for crop in short]
    for row, (crop, late) in zip(rows, short.items(), strict=True):
        if crop[2]:
            mass = row[f"Short, {'lb' if book.units == 'us' else 'kg'}"]
            assert book.mass(mass) == pytest.approx(late.amount, rel=1e-6, abs=1e-4)
        else:
            assert row["Blocks short"] == ceil(late.amount - 1e-4)
        assert as_date(row["First short on, yyyy-mm-dd"]) == late.first
        assert as_date(row["Can be ready by, yyyy-mm-dd"]) == late.earliest


def test_purchases(book: Book) -> None:
    farm = book.farm
    for ingredient, week, mass in by_week(book, "Ingredients needed in the week of"):
        wanted = plan_model.purchases(farm, begun(book, week))[ingredient]
        assert book.mass(mass) == pytest.approx(wanted, rel=EXACT, abs=EXACT)
    for strain, week, mass in by_week(book, "Spawn needed in the week of", WORKINGS):
        wanted = plan_model.spawn(farm, begun(book, week), strain)
        assert book.mass(mass) == pytest.approx(wanted, rel=EXACT, abs=EXACT)
    for strain, week, bags in by_week(
        book, "Spawn bags needed in the week of, rounded up to whole bags"
    ):
        mass = plan_model.spawn(farm, begun(book, week), strain)
        assert bags == ceil(mass / farm.one["spawn_bag_mass"] - model.NOISE)


def test_spent_substrate_of_a_usual_week(book: Book) -> None:
    shown = book.part("Week plan", "Spent substrate").values
    expected = model.spent_of_a_usual_week(book.farm)
    labels = {
        "Dry substrate put up per week": "started",
        "Fresh mushrooms picked": "picked",
        "Spent substrate, dry": "left",
        "Spent substrate to haul per week": "hauled",
    }
    for label, name in labels.items():
        assert book.mass(shown[label]) == pytest.approx(expected[name], rel=1e-6), label


def rooms_by_week(book: Book) -> dict[date, dict[str, float]]:
    """Count how full the rooms of a stage are on the fullest day of each week."""
    farm = book.farm
    rows = farm.rows
    starts = [
        Start(
            as_date(row["Start on, yyyy-mm-dd"]),
            row["Blocks to start"],
            next(one["strain"] for one in rows["strains"] if row["Crop"].startswith(one["strain"])),
            row["Crop"].endswith(", blocks"),
        )
        for row in book.rows(WORKINGS, "Every start")
    ]
    standing = Standing(
        farm.one["as_of"],
        rows["strains"],
        rows["batches"],
        rows["losses"],
        rows["harvests"],
        rows["rooms"],
        farm.one["turnover_days"],
        starts,
    )
    shares: dict[date, dict[str, float]] = {}
    for (stage, day), (blocks, spaces) in standing.by_stage_and_day().items():
        week = shares.setdefault(day - timedelta(day.weekday()), {})
        name = stage.capitalize()
        week[name] = max(week.get(name, 0.0), blocks / max(1, spaces))
    return shares


def test_load_of_the_stations_and_the_bottleneck(book: Book) -> None:
    highest: dict[str, tuple[float, date]] = {}
    shown = {(name, week): load for name, week, load in by_week(book, FULL)}
    rows = book.rows(WORKINGS, "Load of the stations as a share of their capacity")
    rooms = rooms_by_week(book)
    for row, week in zip(rows, model.weeks(book.farm), strict=True):
        loads = plan_model.loads(book.farm, begun(book, week), week) | rooms[week]
        loads = {key: loads[key] for key in STATIONS}
        assert as_date(row["Week of, yyyy-mm-dd"]) == week
        assert {key: row[f"{key}, %"] for key in loads} == pytest.approx(loads, rel=1e-6)
        assert {key: shown[key, week] for key in loads} == pytest.approx(loads, rel=1e-6)
        assert row["Station"] == max(loads, key=loads.__getitem__).lower()
        for station, load in loads.items():
            highest[station] = max(highest.get(station, (0.0, week)), (load, week), key=first)
    station = max(highest, key=lambda one: highest[one][0])
    load, week = highest[station]
    sentence = book.bottleneck
    assert station.lower() in sentence
    assert f"{floor(load * 100 + 0.5 + 1e-9)}%" in sentence
    assert str(week) in sentence
    assert ("The bottleneck is" in sentence) is (load > 1)


def first(pair: tuple[float, date]) -> float:
    return pair[0]


def test_both_systems_plan_the_same_blocks_and_dates() -> None:
    us, metric = demo("us"), demo("metric")
    title = "Every start"
    same = ("Crop", "Start on, yyyy-mm-dd", "For the market on, yyyy-mm-dd", "Blocks to start")
    assert [[row[key] for key in same] for row in us.rows(WORKINGS, title)] == [
        [row[key] for key in same] for row in metric.rows(WORKINGS, title)
    ]
