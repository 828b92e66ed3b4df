"""Deliveries and Stock against a model that lives through every day, on seeded farms."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import cache
from math import ceil
from random import Random
from typing import TYPE_CHECKING, Any

import pytest
from live_engine import live_engine
from logged_batches import STRAINS, LoggedBatches
from stock_model import DAY, Shelf, Start, shelf_outlook, spawn_outlook

from workbook_template.build import lay_out
from workbook_template.demo.data import demo_entries
from workbook_template.sheets.due import LINES
from workbook_template.sheets.unusual import LINES as UNUSUAL_LINES
from workbook_template.writing.blocks import Settings
from workbook_template.writing.saving import workbook_bytes

if TYPE_CHECKING:
    from workbook_template.writing.layout import Entries

SEEDS = (11, 12, 13)
TODAY = date(2026, 9, 14)
BACK = 90
"""The days of the logs."""
BATCHES, DELIVERIES, COUNTS, LOTS = 40, 30, 12, 14
EPOCH = date(1899, 12, 30)
EXACT = {"rel": 1e-9, "abs": 1e-6}
UNLOGGED = "Gypsum"
"""The item that nobody logs."""
SPAWN_LEAD = 9
WEEKS_AHEAD = {11: 4.0, 12: 2.5, 13: 8.0}


def as_day(value: Any) -> date | None:
    """Return the date that a cell shows, however the engine gives it."""
    if value in ("", None):
        return None
    if isinstance(value, datetime):
        return value.date()
    return value if isinstance(value, date) else EPOCH + timedelta(int(value))


class StockedFarm(LoggedBatches):
    """A farm with deliveries, counts, batches and spawn of a seed, in an open workbook."""

    def __init__(self, seed: int) -> None:
        chance = Random(f"stock {seed}")
        entries = demo_entries("metric")
        entries.singles |= {"as_of": TODAY, "label_batch": None, "stock_weeks": WEEKS_AHEAD[seed]}
        entries.singles["spawn_lead"] = SPAWN_LEAD
        _fill(entries, chance)
        self.entries = entries
        self._lay_out(entries, BATCHES)
        self.items = [row["ingredient"] for row in entries.tables["ingredients"]]
        self.shelf = Shelf(
            entries.tables, entries.singles["block_mass"], entries.singles["lost_mass"]
        )

    def on(self, today: date) -> None:
        """See the farm on another day."""
        self.set("as_of", today)
        self.compute()

    def starts(self, today: date) -> list[Start]:
        """Return what the starts of the plan still take; the plan has tests of its own."""
        tables = self.entries.tables
        rows = self._book.columns["starts", "start"]
        found = []
        for row in range(rows.last - rows.first + 1):
            start, blocks, mixed, spawn = (
                self.value(f"starts.{key}", row) for key in ("start", "blocks", "mixed", "spawn")
            )
            day = as_day(start)
            if day is None or not blocks:
                continue
            recipe = tables["recipes"][int(self.value("starts.recipe_row", row)) - 1]
            strain = tables["strains"][int(self.value("starts.strain_row", row)) - 1]
            dry = mixed * (1 - recipe["target_moisture"])
            found.append(
                Start(
                    max(day, today),
                    self.shelf.taken(recipe["recipe"], dry),
                    strain["strain"],
                    spawn,
                )
            )
        return found


def _fill(entries: Entries, chance: Random) -> None:
    tables = entries.tables
    recipes = [row["recipe"] for row in tables["recipes"]]
    items = [row["ingredient"] for row in tables["ingredients"] if row["ingredient"] != UNLOGGED]

    def days(count: int) -> list[date]:
        return sorted(TODAY - chance.randint(0, BACK) * DAY for _ in range(count))

    tables |= {"harvests": [], "losses": [], "steam_runs": [], "steam_log": []}
    tables["spawn_lots"] = [
        {
            "lot": f"L{number}",
            "strain": chance.choice(STRAINS),
            "received": TODAY - chance.randint(1, BACK) * DAY,
            "use_by": TODAY + chance.randint(0, 60) * DAY,
            "mass": chance.uniform(5, 60),
            "discarded": chance.choice((None, 2.0)),
        }
        for number in range(LOTS)
    ]
    tables["batches"] = [
        {
            "batch": f"N{number}",
            "made": made,
            "ended": made,
            "recipe": chance.choice(recipes),
            "strain": chance.choice(STRAINS),
            "bags": chance.randint(10, 80),
            "block_mass": chance.choice((None, 2.4)),
            "moisture": chance.choice((None, 0.6, 0.65)),
        }
        for number, made in enumerate(days(BATCHES))
    ]
    for batch in tables["batches"]:
        lots = [row["lot"] for row in tables["spawn_lots"] if row["strain"] == batch["strain"]]
        batch["spawn_lot"] = chance.choice(lots) if lots and chance.random() < 0.2 else None
    tables["deliveries"] = [
        {
            "date": day,
            "item": chance.choice(items),
            "lot": f"D{number}",
            "amount": chance.choice((100, 400.5, 900)),
            "price": chance.choice((None, 90.0, 150.0)),
            "moisture": chance.choice((None, 0.08, 0.11)),
        }
        for number, day in enumerate(days(DELIVERIES))
    ]
    tables["counts"] = [
        {"date": day, "item": item, "amount": chance.choice((0, 55.5, 300))}
        for day, item in dict.fromkeys(zip(days(COUNTS), chance.choices(items, k=COUNTS)))
    ]
    for row in tables["ingredients"]:
        row["lead_days"] = chance.choice((None, 3, 10))


@cache
def farm(seed: int) -> StockedFarm:
    return StockedFarm(seed)


@pytest.mark.parametrize("seed", SEEDS)
def test_stock_is_equal_at_every_date(seed: int) -> None:
    book = farm(seed)
    busy = {row["date"] for log in ("deliveries", "counts") for row in book.entries.tables[log]}
    dates = sorted({*Random(seed).sample(sorted(busy), 5), TODAY - BACK * DAY, TODAY - 3 * DAY})
    for today in (*dates, TODAY):
        book.on(today)
        shown = book.column("stock.on_hand", len(book.items))
        expected = [book.shelf.at_the_end_of(today, item) for item in book.items]
        states = book.column("stock.state", len(book.items))
        for item, one, other, state in zip(book.items, shown, expected, states, strict=True):
            if other is None:
                assert (item, one, state) == (item, "", "not counted yet")
            else:
                assert one == pytest.approx(other, **EXACT), (today, item)
                assert (state == "count the shelf") is (other < -1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_stock_is_what_came_in_and_was_counted_less_what_was_used(seed: int) -> None:
    book = farm(seed)
    book.on(TODAY)
    for row, item in enumerate(book.items):
        if item == UNLOGGED:
            continue
        counted, came, used, on_hand = (
            book.value(f"stock.{key}", row) for key in ("in_count", "came", "used", "on_hand")
        )
        assert on_hand == pytest.approx(counted + came - used, **EXACT)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_runs_out_is_ordered_the_lead_time_before(seed: int) -> None:
    book = farm(seed)
    book.on(TODAY)
    starts = book.starts(TODAY)
    assert starts
    ran_out = 0
    for row, item in enumerate(book.items):
        held = book.shelf.at_the_end_of(TODAY, item)
        if held is None:
            assert book.value("stock.runs_out", row) == ""
            continue
        expected = shelf_outlook(held, starts, item, WEEKS_AHEAD[seed])
        runs_out = as_day(book.value("stock.runs_out", row))
        assert runs_out == expected.runs_out, item
        if runs_out is None:
            assert book.value("stock.order_by", row) == book.value("stock.order", row) == ""
            continue
        ran_out += 1
        ingredient = book.entries.tables["ingredients"][row]
        lead = ingredient["lead_days"] or 0
        order_by = runs_out - lead * DAY
        assert as_day(book.value("stock.order_by", row)) == order_by
        ends = {
            "order now, late": TODAY,
            "order now": TODAY + DAY,
            "order this week": TODAY + 7 * DAY,
        }
        said = next((words for words, end in ends.items() if order_by < end), "order later")
        assert book.value("stock.state", row) == (said if held >= 0 else "count the shelf")
        order = book.value("stock.order", row)
        assert order == pytest.approx(expected.order, **EXACT)
        bags, mass = book.value("stock.bags", row), ingredient["bag_mass"]
        if mass:
            assert (bags - 1) * mass < order <= bags * mass + 1e-3
        else:
            assert bags == ""
    assert ran_out


@pytest.mark.parametrize("seed", SEEDS)
def test_spawn_goes_by_its_use_by(seed: int) -> None:
    book = farm(seed)
    book.on(TODAY)
    tables, rest = book.entries.tables, book.entries.singles.get("spawn_rest") or 0.1
    left = book.column("spawn_lots.left", LOTS)
    for strain in STRAINS:
        lots = [
            (lot["use_by"], mass)
            for lot, mass in zip(tables["spawn_lots"], left, strict=True)
            if lot["strain"] == strain and mass > rest
        ]
        at = [one["strain"] for one in tables["strains"]].index(strain)
        if not any(lot["strain"] == strain for lot in tables["spawn_lots"]):
            assert book.value("spawn_stock.state", at) == "no lots yet"
            continue
        good = [mass for use_by, mass in lots if use_by >= TODAY]
        assert book.value("spawn_stock.on_hand", at) == pytest.approx(sum(good), **EXACT)
        expected = spawn_outlook(lots, book.starts(TODAY), strain, WEEKS_AHEAD[seed])
        runs_out = as_day(book.value("spawn_stock.runs_out", at))
        assert runs_out == expected.runs_out, strain
        if runs_out:
            order = book.value("spawn_stock.order", at)
            assert order == pytest.approx(expected.order, **EXACT)
            lead = (runs_out - as_day(book.value("spawn_stock.order_by", at))).days
            assert lead == SPAWN_LEAD


@pytest.mark.parametrize("seed", SEEDS)
def test_the_oldest_on_the_shelf_goes_first(seed: int) -> None:
    book = farm(seed)
    book.on(TODAY)
    for row in range(DELIVERIES):
        shown = tuple(
            as_day(book.value(f"deliveries.{key}", row)) for key in ("first_used", "last_used")
        )
        assert shown == book.shelf.days_of_lot(row, TODAY), row


@pytest.mark.parametrize("seed", SEEDS)
def test_a_delivery_is_traced_to_the_batches_that_may_hold_it(seed: int) -> None:
    book = farm(seed)
    book.on(TODAY)
    tables = book.entries.tables
    traced = 0
    for number in range(0, DELIVERIES, 3):
        first, last = book.shelf.days_of_lot(number, TODAY)
        item = tables["deliveries"][number]["item"]
        recipes = {row["recipe"] for row in tables["recipe_lines"] if row["ingredient"] == item}
        expected = {
            batch["batch"]
            for batch in tables["batches"]
            if first and last and first <= batch["made"] <= last and batch["recipe"] in recipes
        }
        book.set("trace_delivery", f"D{number}")
        book.compute()
        shown = book.column("batches.traced", BATCHES)
        names = book.column("batches.batch", BATCHES)
        assert {name for name, turn in zip(names, shown) if turn != ""} == expected, number
        traced += len(expected)
    book.set("trace_delivery", None)
    book.compute()
    assert traced


def test_what_is_planned_and_what_is_used_of_a_batch_are_equal() -> None:
    """A start becomes a batch of as many blocks: what it needed is what the shelf lost."""
    book = farm(SEEDS[0])
    book.on(TODAY)
    start = next(row for row in range(8) if book.value("starts.blocks", row))
    week = as_day(book.value("starts.week", start))
    made = max(week, TODAY)
    batch = {
        "batch": "New",
        "made": made,
        "recipe": book.value("recipes.recipe", int(book.value("starts.recipe_row", start)) - 1),
        "strain": book.value("strains.strain", int(book.value("starts.strain_row", start)) - 1),
        "bags": book.value("starts.blocks", start),
    }
    last = BATCHES - 1
    empty = dict.fromkeys(("block_mass", "moisture", "moved", "ended"))
    old = {key: book.value(f"batches.{key}", last) for key in (*batch, *empty)}
    book.set("batches.bags", None, last)  # what is typed over took something, too
    book.compute()
    before = book.column("stock.on_hand", len(book.items))
    planned = book.column("stock_needs.w1", len(book.items))
    for key, value in {**batch, **empty}.items():
        book.set(f"batches.{key}", value, last)
    book.compute()
    after = book.column("stock.on_hand", len(book.items))
    still = book.column("stock_needs.w1", len(book.items))
    for key, value in old.items():
        book.set(f"batches.{key}", value if value != "" else None, last)
    book.compute()
    for item, *four in zip(book.items, before, after, planned, still, strict=True):
        if item != UNLOGGED:
            assert four[0] - four[1] == pytest.approx(four[2] - four[3], rel=1e-9, abs=1e-9), item
    assert any(one != other for one, other in zip(before, after, strict=True))


def test_the_due_list_says_what_to_order() -> None:
    book = farm(SEEDS[0])
    book.on(TODAY)
    soon = [
        (as_day(book.value(f"{table}.order_by", row)), book.value(f"{table}.{name}", row))
        for table, name, rows in (
            ("stock", "ingredient", len(book.items)),
            ("spawn_stock", "strain", 4),
        )
        for row in range(rows)
    ]
    wanted = {(day, name) for day, name in soon if day and day < TODAY + 7 * DAY}
    shown = [
        (
            as_day(book.value("due.date", row)),
            book.value("due.which" if what == "order" else "due.strain", row),
        )
        for row in range(LINES)
        if (what := book.value("due.what", row)) in ("order", "order spawn")
    ]
    assert shown
    last = max(as_day(book.value("due.date", row)) or TODAY for row in range(LINES))
    assert set(shown) <= wanted
    assert {one for one in wanted if one[0] < last} <= set(shown)


@pytest.mark.parametrize("seed", SEEDS)
def test_start_says_what_the_starts_of_seven_days_lack(seed: int) -> None:
    """Today and the six days after it; nothing of what nobody logs. Forty times the packs sell."""
    book = farm(seed)
    packs = [row["packs_per_week"] for row in book.entries.tables["products"]]
    book.set_column("products.packs_per_week", [40 * one for one in packs])
    book.on(TODAY)
    soon = [start for start in book.starts(TODAY) if start.day < TODAY + 7 * DAY]
    assert soon
    lacking = {}
    for strain, lots in good_lots(book).items():
        lacking[f"{strain} spawn"] = spawn_outlook(lots, soon, strain, 1)
    for item in book.items:
        held = book.shelf.at_the_end_of(TODAY, item)
        if held is not None:
            lacking[item] = shelf_outlook(held, soon, item, 1)
    expected = [
        f"Short for the starts of the next seven days: {name}, {ceil(short.order * 10) / 10:g} kg, "
        f"first on {short.runs_out}."
        for name, short in lacking.items()
        if short.order and short.order > 1e-6
    ]
    lines = book.column("unusual.words", UNUSUAL_LINES)
    shown = [words for words in lines if str(words).startswith("Short for the starts")]
    counted = sum(book.value(f"unusual_short_{table}") for table in ("spawn_stock", "stock"))
    assert counted == len(expected)
    # The list ends after some lines, spawn first: the last of them may only count what follows.
    assert set(shown) <= set(expected)
    assert len(shown) == min(len(expected), UNUSUAL_LINES - first_line(lines, shown))
    assert not any(UNLOGGED in words for words in shown)
    book.set_column("products.packs_per_week", packs)
    assert any(" spawn, " in words for words in shown)


def first_line(lines: list[Any], shown: list[str]) -> int:
    """Return how many lines stand before the first of some."""
    return lines.index(shown[0]) if shown else 0


def good_lots(book: StockedFarm) -> dict[str, list[tuple[date, float]]]:
    """Return the use-by and the mass of lots with spawn left, by each strain that has lots."""
    rest = book.entries.singles.get("spawn_rest") or 0.1
    found: dict[str, list[tuple[date, float]]] = {}
    left = book.column("spawn_lots.left", LOTS)
    for lot, mass in zip(book.entries.tables["spawn_lots"], left, strict=True):
        lots = found.setdefault(lot["strain"], [])
        if mass > rest:
            lots.append((lot["use_by"], mass))
    return found


def test_start_is_silent_about_stock_that_nobody_logs() -> None:
    """Without lots, deliveries and counts nothing is short, though blocks are to be started."""
    entries = demo_entries("metric")
    for log in ("spawn_lots", "deliveries", "counts", "steam_runs", "steam_log"):
        entries.tables[log] = []
    entries.tables["batches"] = [{**row, "spawn_lot": None} for row in entries.tables["batches"]]
    book = lay_out(Settings("metric", typed_functions=False), entries)
    values = live_engine(workbook_bytes(book.workbook, book.filled))

    def value(key: str) -> Any:
        cell = book.cells[key]
        return values.get_value(cell.sheet, cell.row, cell.column)

    assert value("plan_now") > 0
    assert value("unusual_short_spawn_stock") == value("unusual_short_stock") == 0


def test_prices_and_moistures_of_the_latest_delivery() -> None:
    book = farm(SEEDS[0])
    book.on(TODAY)
    usual = book.column("ingredients.price_used", len(book.items))
    latest = {}
    measured = {}
    for row in book.entries.tables["deliveries"]:
        if row["price"] is not None:
            latest[row["item"]] = row["price"] / row["amount"]
        if row["moisture"] is not None:
            measured[row["item"]] = row["moisture"]
    book.set("delivery_prices", "yes")
    book.compute()
    switched = book.column("ingredients.price_used", len(book.items))
    book.set("delivery_prices", "no")
    book.compute()
    for at, item in enumerate(book.items):
        assert switched[at] == pytest.approx(latest.get(item, usual[at]))
        shown = book.value("ingredients.latest_moisture", at)
        assert shown == (pytest.approx(measured[item]) if item in measured else "")
    recipe = book.entries.singles["mix_recipe"]
    lines = [row for row in book.entries.tables["recipe_lines"] if row["recipe"] == recipe]
    moisture = {row["ingredient"]: row["moisture"] for row in book.entries.tables["ingredients"]}
    for at, line in enumerate(lines):
        name = line["ingredient"]
        assert book.value("weigh.used", at) == pytest.approx(measured.get(name, moisture[name]))
