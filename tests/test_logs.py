"""The logs of the season against a model of their own, written from the definitions."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from functools import cache
from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

import plan_model
import pytest
from farm_book import demo, recalculated
from openpyxl.utils import range_boundaries
from own_figures import used_strains
from reading import parts, place, red_where, singles, table
from seasons import batch_of
from workbooks import made

from cultivar_fx.calls.cells import serial
from workbook_template.build import lay_out
from workbook_template.demo.season import AS_OF, season_tables
from workbook_template.schema import TABLES
from workbook_template.sheets.checks import FAILS
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import list_name

if TYPE_CHECKING:
    from office import Document, Office

Row = dict[str, Any]
UNITS = ("us", "metric")
SAME = 1e-9
WEEK = timedelta(7)


class Logs(NamedTuple):
    """The tables of a demo workbook, its single inputs, and what is used of its strains."""

    tables: dict[str, list[Row]]
    one: Row
    used: dict[str, Row]

    def named(self, key: str, name: str) -> Row:
        """Find a row of a table by what stands first in it."""
        return next(row for row in self.tables[key] if next(iter(row.values())) == name)

    def of(self, key: str, batch: str) -> list[Row]:
        """Return the rows of a log that name a batch."""
        return [row for row in self.tables[key] if row["batch"] == batch]


KEPT = ("block_mass", "moisture", "spawn_rate", "block_cost", "picking_cost")
KEYS = ("strains", "recipes", "spawn_lots", "batches", "harvests", "losses", "steam_runs")


@cache
def logs(units: str) -> Logs:
    values = made(units, "demo").values
    found = {key: [_dates(row) for row in table(values, key, units)] for key in KEYS}
    one = singles(values)
    batches = [batch_of(row, found, one, AS_OF) for row in found["batches"]]
    used = used_strains(one, found["strains"], found["harvests"], batches)
    return Logs(found, one, {row["strain"]: row for row in used})


def _dates(row: Row) -> Row:
    return {k: v.date() if hasattr(v, "date") else v for k, v in row.items()}


def blank(value: Any) -> bool:
    return value in (None, "")


@pytest.fixture(params=UNITS)
def season(request: pytest.FixtureRequest) -> Logs:
    return logs(request.param)


def test_masses_of_batches(season: Logs) -> None:
    for batch in season.tables["batches"]:
        strain, recipe = season.used[batch["strain"]], season.named("recipes", batch["recipe"])
        wet = batch["bags"] * (batch["block_mass"] or season.one["block_mass"])
        dry = wet * (1 - (batch["moisture"] or recipe["target_moisture"]))
        lost = sum(loss["blocks"] for loss in season.of("losses", batch["batch"]))
        fresh = sum(harvest["fresh"] for harvest in season.of("harvests", batch["batch"]))
        assert batch["dry_substrate"] == pytest.approx(dry, rel=SAME)
        rate = batch["spawn_rate"] or strain["spawn_rate"]
        assert batch["spawn"] == pytest.approx(wet * rate, rel=SAME)
        assert batch["lost"] == lost
        assert batch["good"] == batch["bags"] - lost
        assert batch["fresh"] == pytest.approx(fresh, rel=SAME)
        if fresh:
            of_good_blocks = dry * (batch["bags"] - lost) / batch["bags"]
            assert batch["be"] == pytest.approx(fresh / of_good_blocks, rel=SAME)
        else:
            assert blank(batch["be"])


def on_a_day(since: date, days: float) -> date:
    """Return the whole day that is nearest."""
    return since + timedelta(floor(days + 0.5))


def expected_due(season: Logs, batch: Row) -> tuple[str, date | None, str]:
    """Return the state of a batch, and the day and the words of what is due next."""
    strain = season.used[batch["strain"]]
    move_due = on_a_day(batch["made"], strain["incubation_days"])
    if batch["ended"]:
        return "ended", None, ""
    if not batch["moved"]:
        return "to move" if move_due <= AS_OF else "incubating", move_due, "move to fruiting"
    picked = sorted({harvest["flush"] for harvest in season.of("harvests", batch["batch"])})
    if not picked:
        first = on_a_day(batch["moved"], strain["first_flush_days"])
        return "in fruiting", first, "harvest flush 1"
    days = [
        harvest["date"].toordinal()
        for harvest in season.of("harvests", batch["batch"])
        if harvest["flush"] == picked[-1]
    ]
    if picked[-1] >= strain["flushes"]:
        cleared = date.fromordinal(min(days)) + timedelta(season.one["turnover_days"])
        return "in fruiting", cleared, "clear out"
    following = on_a_day(date.fromordinal(min(days)), strain["flush_interval_days"])
    return "in fruiting", following, f"harvest flush {picked[-1] + 1:g}"


def test_states_and_due_dates(season: Logs) -> None:
    for batch in season.tables["batches"]:
        state, due, what = expected_due(season, batch)
        assert (batch["state"], batch["due_what"] or "") == (state, what), batch["batch"]
        assert (None if blank(batch["due"]) else batch["due"]) == due, batch["batch"]
    states = Counter(batch["state"] for batch in season.tables["batches"])
    assert set(states) == {"incubating", "to move", "in fruiting", "ended"}


def test_due_list_of_start(season: Logs, request: pytest.FixtureRequest) -> None:
    due = []
    units = request.node.callspec.params["season"]
    mass = {"us": "lb", "metric": "kg"}[units]
    for batch in season.tables["batches"]:
        _, day, what = expected_due(season, batch)
        if day is not None and day < AS_OF + WEEK:
            lost = sum(loss["blocks"] for loss in season.of("losses", batch["batch"]))
            amount = f"{batch['bags'] - lost:g} blocks"
            due.append((day, what, batch["batch"], batch["strain"], amount))
    for lot in season.tables["spawn_lots"]:
        if lot["left"] > season.one["spawn_rest"] and lot["use_by"] < AS_OF + WEEK:
            what = "throw out spawn" if lot["use_by"] < AS_OF else "use up spawn"
            amount = f"{round(lot['left'], 1):g} {mass}"
            due.append((lot["use_by"], what, lot["lot"], lot["strain"], amount))
    for one in plan_model.plan(demo(units).farm).starts:
        if one.day < AS_OF + WEEK and one.blocks:
            what = "start a batch" if one.crop[2] else "start a batch to sell whole"
            due.append((one.day, what, one.crop[1], one.crop[0], f"{one.blocks:g} blocks"))
    due.sort(key=lambda line: line[0])
    start = parts(made(units, "demo").values["Start"])
    # What to order has tests of its own.
    lines = [line for line in start[DUE_LIST].rows if not line["Task"].startswith("order")]
    lines = lines[: len(due)]
    assert [
        (
            line["Date, yyyy-mm-dd"].date(),
            line["Task"],
            line["Batch, lot, recipe or item"],
            line["Strain"],
            line["How much"],
        )
        for line in lines
    ] == due
    words = [line["When"] for line in lines]
    assert words[0] == "overdue"
    later = {1: "in 1 day"} | {days: f"in {days} days" for days in range(2, 7)}
    assert words == [
        "overdue" if day < AS_OF else "today" if day == AS_OF else later[(day - AS_OF).days]
        for day, *_ in due
    ]


def typed(document: Document, table: str, row: int, **values: Any) -> None:
    """Type into a row of a table of the open demo."""
    for key, value in values.items():
        at = place(made("us", "demo").values, f"{table}.{key}")
        shown = serial(value) if isinstance(value, date) else value
        document.write(at.sheet, at.row + row, at.column, [[shown]])


def shown(document: Document, table: str, row: int) -> Row:
    """Return what a row of a table of the open demo shows, by the keys of its columns."""
    keys = [column.key for column in TABLES[table].columns]
    at = place(made("us", "demo").values, f"{table}.{keys[0]}")
    line = document.read(at.sheet, at.row + row, at.column, 1, len(keys))[0]
    return dict(zip(keys, line, strict=True))


def due_list(document: Document) -> dict[str, float]:
    """Return the days of the due list of the open demo, by batch, lot or recipe and task."""
    start = made("us", "demo").values["Start"]
    head = next(row[0].row for row in start if row[0].value == DUE_LIST)
    lines = document.read("Start", head + 1, 0, 15, 4)
    return {f"{which}: {what}": day for what, day, _, which in lines if what}


def oyster_starts(document: Document) -> set[str]:
    """Return the planned starts of the oyster on the due list of the open demo."""
    start = made("us", "demo").values["Start"]
    head = next(row[0].row for row in start if row[0].value == DUE_LIST)
    lines = document.read("Start", head + 1, 0, 15, 6)
    mine = (line for line in lines if line[4] == FRUITED_CROP[0] and "start" in line[0])
    return {f"{line[0]}: {line[5]}" for line in mine}


NEW_BATCH = {"recipe": "Beech and bran", "strain": "Blue oyster B3", "bags": 70}
FRUITED_CROP = ("Blue oyster B3", "Beech and bran", True)
DUE_LIST = "Do now: overdue first, then the next seven days (the first 15)"
FREE_ROW, FREE_HARVEST = 95, 380
"""Rows below those of the season, the batch near the end of its table."""


def keep_to_plan(document: Document) -> None:
    """Let no own figure count in the open demo."""
    at = place(made("us", "demo").values, "figures_used")
    document.write(at.sheet, at.row, at.column, [["plan only"]])


def test_a_batch_is_due_on_one_day(office: Office) -> None:
    """The day on Batches is a whole one, and that of the due list, in every row of the log."""
    with office.kept(made("us", "demo").path) as document:
        moved = AS_OF - timedelta(20)
        typed(document, "batches", FREE_ROW, batch="N1", made=AS_OF - timedelta(40), moved=moved)
        typed(document, "batches", FREE_ROW, **NEW_BATCH)
        for row, day in enumerate((3, 3, 5)):
            picking = {"batch": "N1", "date": date(2026, 9, day), "flush": 1, "fresh": 20}
            typed(document, "harvests", FREE_HARVEST + row, **picking)
        batch = shown(document, "batches", FREE_ROW)
        assert batch["first_picked"] == serial(date(2026, 9, 3))
        assert batch["due"] == serial(date(2026, 9, 3)) + 11  # from flush to flush, as typed
        assert due_list(document)["N1: harvest flush 2"] == batch["due"]


def test_no_flush_is_to_come_from_an_ended_batch(office: Office) -> None:
    with office.kept(made("us", "demo").path) as document:
        moved = AS_OF - timedelta(20)
        typed(document, "batches", FREE_ROW, batch="N1", made=AS_OF - timedelta(40), moved=moved)
        typed(document, "batches", FREE_ROW, **NEW_BATCH)
        assert shown(document, "batches", FREE_ROW)["flushes_left"] == 2
        typed(document, "batches", FREE_ROW, ended=AS_OF)
        assert shown(document, "batches", FREE_ROW)["flushes_left"] == 0


def test_clearing_moves_with_a_late_flush(office: Office) -> None:
    """The oyster: 6 days from move to flush 1, 11 from flush to flush, 2 flushes, 1 to turn."""
    today = serial(AS_OF)
    with office.kept(made("us", "demo").path) as document:
        keep_to_plan(document)
        new = {"batch": "N1", "made": AS_OF - timedelta(28), "moved": AS_OF - timedelta(4)}
        typed(document, "batches", FREE_ROW, **new, **NEW_BATCH)
        batch = shown(document, "batches", FREE_ROW)
        assert (batch["due"], batch["clear_due"]) == (today + 2, today + 2 + 11 + 1)
        typed(document, "batches", FREE_ROW, moved=AS_OF - timedelta(9))  # three days late
        batch = shown(document, "batches", FREE_ROW)
        assert (batch["due"], batch["clear_due"]) == (today - 3, today + 11 + 1)
        picking = {"batch": "N1", "date": AS_OF - timedelta(1), "flush": 1, "fresh": 20}
        typed(document, "harvests", FREE_HARVEST, **picking)
        batch = shown(document, "batches", FREE_ROW)
        assert (batch["due"], batch["clear_due"]) == (today - 1 + 11, today - 1 + 11 + 1)
        typed(document, "harvests", FREE_HARVEST + 1, **picking | {"flush": 2, "date": AS_OF})
        batch = shown(document, "batches", FREE_ROW)
        assert (batch["due_what"], batch["due"]) == ("clear out", today + 1)
        typed(document, "batches", FREE_ROW, ended=AS_OF)
        assert not shown(document, "batches", FREE_ROW)["clear_due"]


def test_an_overdue_move_moves_what_follows(office: Office) -> None:
    """The oyster incubates 17 days; on the 20th it is still to move: all counts from today."""
    today = serial(AS_OF)
    with office.kept(made("us", "demo").path) as document:
        keep_to_plan(document)
        new = {"batch": "N1", "made": AS_OF - timedelta(20)}
        typed(document, "batches", FREE_ROW, **new, **NEW_BATCH)
        batch = shown(document, "batches", FREE_ROW)
        assert (batch["due_what"], batch["due"]) == ("move to fruiting", today - 3)
        assert (batch["first_due"], batch["clear_due"]) == (today + 6, today + 6 + 11 + 1)


def test_a_flush_left_out_does_not_come_any_more(office: Office) -> None:
    """Kept for three flushes, of which the second was never logged: none is to come."""
    with office.kept(made("us", "demo").path) as document:
        typed(document, "strains", 0, flushes=3)
        moved = AS_OF - timedelta(30)
        typed(document, "batches", FREE_ROW, batch="N1", made=AS_OF - timedelta(50), moved=moved)
        typed(document, "batches", FREE_ROW, **NEW_BATCH)
        for row, flush in enumerate((3, 1)):
            day = moved + timedelta(9 * flush)
            picking = {"batch": "N1", "date": day, "flush": flush, "fresh": 20}
            typed(document, "harvests", FREE_HARVEST + row, **picking)
        batch = shown(document, "batches", FREE_ROW)
        assert (batch["flushes_picked"], batch["last_flush"]) == (2, 3)
        assert batch["last_picked"] == serial(moved + timedelta(27))
        assert (batch["flushes_left"], batch["due_what"]) == (0, "clear out")


@pytest.mark.parametrize(("days", "is_listed"), [(-1, True), (0, True), (6, True), (7, False)])
def test_seven_days_are_today_and_six_more(days: int, is_listed: bool, office: Office) -> None:
    with office.kept(made("us", "demo").path) as document:
        keep_to_plan(document)
        due = AS_OF + timedelta(days)
        typed(document, "batches", FREE_ROW, batch="N1", made=due - timedelta(17), **NEW_BATCH)
        assert shown(document, "batches", FREE_ROW)["due"] == serial(due)
        assert ("N1: move to fruiting" in due_list(document)) is is_listed
        typed(document, "spawn_lots", 45, lot="L1", strain="Blue oyster B3", mass=9, use_by=due)
        typed(document, "spawn_lots", 45, received=due - timedelta(30))
        lots = [words for words in due_list(document) if words.startswith("L1: ")]
        assert bool(lots) is is_listed


def test_blocks_to_sell_whole_are_told_from_those_to_fruit(office: Office) -> None:
    """Two crops of a strain on a recipe: a batch counts for the one that it says."""

    def lines() -> tuple[set[str], set[str]]:
        begun = plan_model.plan(recalculated(document, "us").farm).starts
        expected = {
            f"start a batch{' to sell whole' * (not one.crop[2])}: {one.blocks} blocks"
            for one in begun
            if one.crop[:2] == FRUITED_CROP[:2] and one.blocks and one.day < AS_OF + WEEK
        }
        return oyster_starts(document), expected

    below = len(table(made("us", "demo").values, "batches", "us"))
    with office.kept(made("us", "demo").path) as document:
        typed(document, "products", 6, recipe="Beech and bran")
        neither, expected = lines()
        assert neither == expected
        assert len(neither) == 2
        typed(document, "batches", below, batch="N1", made=AS_OF, **NEW_BATCH)
        fruited, expected = lines()
        assert fruited == expected != neither
        typed(document, "batches", below, sold_whole="yes")
        whole, expected = lines()
        assert whole == expected
        assert whole not in (fruited, neither)


def test_nothing_is_due_on_an_empty_farm() -> None:
    start = parts(made("us", "empty").values["Start"])
    shown = start["Key figures"].values
    assert shown["Due in seven days, or overdue"] == "nothing due"


def test_spawn_lots(season: Logs) -> None:
    rest = season.one["spawn_rest"]
    for lot in season.tables["spawn_lots"]:
        used = sum(b["spawn"] for b in season.tables["batches"] if b["spawn_lot"] == lot["lot"])
        left = lot["mass"] - used - (lot["discarded"] or 0)
        if left <= rest:
            state = "used up"
        elif lot["use_by"] < AS_OF:
            state = "past use-by"
        elif lot["use_by"] <= AS_OF + timedelta(season.one["spawn_warning"]):
            state = "use soon"
        else:
            state = "good"
        assert lot["used"] == pytest.approx(used, rel=SAME)
        assert lot["left"] == pytest.approx(left, abs=1e-9)
        assert lot["state"] == state


def test_cost_of_a_batch_is_that_of_its_blocks(office: Office) -> None:
    """A new batch like the block on the Costing sheet, with spawn at the farm's price."""
    workbook = made("us", "demo").values
    rows = logs("us").tables["batches"]
    at = next(n for n, row in enumerate(rows) if row["strain"] == "Blue oyster B3")
    with office.kept(made("us", "demo").path) as document:
        typed = {"recipe": "Beech and bran", "spawn_lot": None} | dict.fromkeys(KEPT)
        for key, value in typed.items():
            spot = place(workbook, f"batches.{key}")
            document.write(spot.sheet, spot.row + at, spot.column, [[value]])
        spot = place(workbook, "batches.cost")
        cost = document.read(spot.sheet, spot.row + at, spot.column)[0][0]
        line = next(
            part.lines["A block started"]
            for part in parts(workbook["Costing"]).values()
            if "A block started" in part.lines
        )
        block = document.read("Costing", line, 1)[0][0]
    assert cost == pytest.approx(rows[at]["bags"] * block, rel=SAME)


def test_both_systems_log_the_same_season() -> None:
    for key in ("batches", "harvests", "losses"):
        for one, other in zip(logs("us").tables[key], logs("metric").tables[key], strict=True):
            for column in ("state", "due", "good", "flushes_picked", "days", "month"):
                assert one.get(column) == other.get(column)
            for column in ("be", "cost"):
                if not blank(one.get(column)):
                    assert one[column] == pytest.approx(other[column], rel=1e-8)


class Fault(NamedTuple):
    """What is typed where, and the words of the check that has to turn red."""

    column: str
    row: int
    value: Any
    check: str


TOMORROW = (AS_OF - date(1899, 12, 30)).days + 1
LONG_AGO = TOMORROW - 3000
FAULTS = (
    Fault("harvests.batch", 3, "B999", "Harvests: rows to fix. Batch: choose one from the list."),
    Fault("losses.batch", 3, "B999", "Losses: rows to fix. Batch: choose one from the list."),
    Fault("batches.batch", 4, "B101", "Batches: rows to fix. Batch: duplicate name."),
    Fault("spawn_lots.lot", 1, "B3-11", "Spawn lots: rows to fix. Lot: duplicate name."),
    Fault("steam_runs.run", 1, "S101", "Steam runs: rows to fix. Run: duplicate name."),
    Fault("losses.blocks", 0, 90, "Batches: rows to fix. Blocks made: fewer than were lost."),
    Fault("harvests.date", 5, LONG_AGO, "Harvests: rows to fix. Date: before the batch was made."),
    Fault("harvests.date", 0, TOMORROW - 5, "Harvests: rows to fix. Date: after the batch ended."),
    Fault("harvests.date", 5, TOMORROW, "Harvests: rows to fix. Date: after today."),
    Fault("harvests.unsold", 0, 900, "Harvests: rows to fix. Unsold: more than was picked."),
    Fault("losses.date", 5, LONG_AGO, "Losses: rows to fix. Date: before the batch was made."),
    Fault("losses.date", 5, TOMORROW, "Losses: rows to fix. Date: after today."),
    Fault("batches.moved", 0, LONG_AGO, "Batches: rows to fix. Moved: before the batch was made."),
    Fault(
        "batches.ended",
        0,
        LONG_AGO,
        "Batches: rows to fix. Ended: before the batch was made or moved.",
    ),
    Fault("batches.made", 55, TOMORROW, "Batches: rows to fix. Made: after today."),
    Fault(
        "batches.strain", 0, "Chestnut C2", "Batches: rows to fix. Spawn lot: of another strain."
    ),
    Fault(
        "spawn_lots.use_by", 0, LONG_AGO, "Batches: rows to fix. Spawn lot: past its use-by when"
    ),
    Fault(
        "steam_runs.date",
        0,
        TOMORROW - 5,
        "Batches: rows to fix. Steam run: of a later day than the batch.",
    ),
    Fault("steam_runs.date", 0, TOMORROW, "Steam runs: rows to fix. Date: after today."),
    Fault(
        "spawn_lots.mass",
        0,
        1,
        "Spawn lots: rows to fix. Mass received: less than the batches took.",
    ),
    Fault("spawn_lots.received", 0, TOMORROW, "Spawn lots: rows to fix. Received: after today."),
    Fault(
        "spawn_lots.use_by", 0, LONG_AGO, "Spawn lots: rows to fix. Use by: before it was received."
    ),
    Fault(
        "steam_runs.blocks", 0, 5, "Steam runs: rows to fix. Blocks: fewer than its batches have."
    ),
    Fault(
        "steam_log.hours", 3, 0.25, "One run in detail: rows to fix. Time: before the row above."
    ),
    Fault(
        "batches.bags", 0, 0, "Batches: rows to fix. Blocks made: needs a whole number, 1 or more."
    ),
    Fault(
        "harvests.fresh", 0, "much", "Harvests: rows to fix. Fresh mass: needs a number, 0 or more."
    ),
    Fault(
        "batches.recipe", 0, "Sawdust", "Batches: rows to fix. Recipe: choose one from the list."
    ),
    Fault(
        "batches.spawn_lot", 0, "B3-0", "Batches: rows to fix. Spawn lot: choose one from the list."
    ),
    Fault("batches.made", 0, None, "Batches: rows to fix. Made: needs a date."),
    Fault("losses.batch", 0, None, "Losses: rows to fix. Batch: is blank, so the row is ignored."),
    Fault(
        "steam_log.core",
        3,
        None,
        "One run in detail: rows to fix. Core of a block: needs a number, -4 to 392.",
    ),
    Fault(
        "logged_run",
        0,
        "S1",
        "Lethality of a run: cells to fix. Run in detail: choose one from the list.",
    ),
)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda f: f"{f.column} {f.row} {f.value}")
def test_a_planted_fault_turns_its_check_red(fault: Fault, office: Office) -> None:
    at = place(made("us", "demo").values, fault.column)
    red = red_where(office, "us", at._replace(row=at.row + fault.row), fault.value)
    assert [words for words in red if words.startswith(fault.check)], red


def test_tables_have_the_rows_asked_for() -> None:
    workbook = lay_out(Settings(batch_rows=60)).workbook
    last_rows = {
        sheet: range_boundaries(workbook[sheet].tables[sheet].ref)[3]
        for sheet in ("Batches", "Harvests", "Losses")
    }
    assert last_rows == {"Batches": 66, "Harvests": 246, "Losses": 66}  # below six rows of head
    assert workbook.defined_names[list_name("batches.batch")].attr_text == "'Batches'!$A$7:$A$66"


def test_the_season_of_the_demo_is_always_the_same_and_has_a_bad_month() -> None:
    season = season_tables()
    assert season == season_tables()
    made_in = {batch["batch"]: batch["made"][:7] for batch in season["batches"]}
    blocks = Counter[str]()
    for batch in season["batches"]:
        blocks[batch["made"][:7]] += int(batch["bags"])
    lost = Counter[str]()
    for loss in season["losses"]:
        lost[made_in[loss["batch"]]] += int(loss["blocks"])
    shares = {month: lost[month] / blocks[month] for month in blocks}
    assert max(shares, key=lambda month: shares[month]) == "2026-07"
    assert sorted(shares.values())[-1] > 2 * sorted(shares.values())[-2]
    assert len({batch["strain"] for batch in season["batches"]}) == 4


# Rows that are left, and rows put in between


def test_each_log_says_how_many_rows_are_left() -> None:
    book = made("us", "demo").values
    for sheet, key in (
        ("Batches", "batches"),
        ("Harvests", "harvests"),
        ("Losses", "losses"),
        ("Steam runs", "steam_runs"),
        ("Spawn", "spawn_lots"),
    ):
        _, top, _, bottom = range_boundaries(book[sheet].tables[key.capitalize()].ref)
        filled = sum(bool(book[sheet].cell(row, 1).value) for row in range(top + 1, bottom + 1))
        line = book[sheet]["A4"].value
        assert f"{bottom - top - filled} empty rows left" in line, sheet
        assert "the README" in line
    assert book["Farm"]["A4"].value is None


def test_a_row_put_in_between_turns_a_check_red(office: Office) -> None:
    demo = made("us", "demo")
    with office.document(demo.path) as document:
        document.insert("Harvests", "Rows", 9, 1)
        document.write("Harvests", 9, 0, [["B1"]])
        rows = document.read("Checks", 0, 0, demo.values["Checks"].max_row, 5)
    red = [row[0] for row in rows if row[4] == FAILS]
    assert "Harvests: rows to fix" in red


def test_what_is_typed_below_a_table_turns_a_check_red(office: Office) -> None:
    demo = made("us", "demo")
    book = demo.values
    with office.document(demo.path) as document:
        for sheet, key in (("Harvests", "harvests"), ("Farm", "equipment"), ("Recipes", "recipes")):
            _, _, _, bottom = range_boundaries(book[sheet].tables[key.capitalize()].ref)
            document.write(sheet, bottom, 0, [["B1"]])  # counted from 0: the row below
        rows = document.read("Checks", 0, 0, demo.values["Checks"].max_row, 5)
    red = {(row[0].partition(":")[0], row[2]) for row in rows if row[4] == FAILS}
    assert red == {("Harvests", 1), ("Equipment", 1), ("Recipes", 1)}
