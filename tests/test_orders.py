"""What each order takes, on the Orders sheet, against the plan made with it and without it.

The words are put together anew here, from the model of the plan. How full stations and rooms are,
and what is left of a lot, have tests of their own, and are taken as shown.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import floor
from random import Random
from typing import TYPE_CHECKING, Any

import plan_model
import pytest
from farm_book import Book, as_date, change_at_random, demo, recalculated
from farm_model import WEEK, deliveries, market_of, weeks
from plan_model import Taken
from reading import place, table
from stock_model import Start, spawn_outlook
from workbooks import made

from cultivar_fx.calls.cells import serial

if TYPE_CHECKING:
    from office import Document, Office

SEEDS = (1, 2, 3)
ORDERS = 16
POUND = 0.45359237
TITLE = "What each order takes"
DAY = timedelta(1)


@pytest.fixture(scope="module", params=["us", "metric"])
def units(request: pytest.FixtureRequest) -> str:
    return str(request.param)


_BOOKS: dict[tuple[str, int], Book] = {}


def drawn(office: Office, units: str, seed: int) -> Book:
    """Read the demo with drawn orders and other changes, as LibreOffice computes it; once."""
    if (units, seed) not in _BOOKS:
        with office.kept(made(units, "demo").path) as document:
            change_at_random(document, units, seed)
            order_at_random(document, units, Random(f"orders {seed}"))
            _BOOKS[units, seed] = recalculated(document, units)
    return _BOOKS[units, seed]


@pytest.fixture(scope="module", params=["demo", *SEEDS])
def book(request: pytest.FixtureRequest, units: str, office: Office) -> Book:
    """The demo as it is stored, and drawn ones."""
    return demo(units) if request.param == "demo" else drawn(office, units, request.param)


def order_at_random(document: Document, units: str, chance: Random) -> None:
    """Type orders of any line, and how crops are started."""
    stored = made(units, "demo").values
    products = [row["product"] for row in table(stored, "products", units)]
    today = demo(units).farm.one["as_of"]
    rows = []
    for number in range(ORDERS):
        first = today + timedelta(chance.randrange(-10, 130))
        last = first + timedelta(chance.randrange(70)) if chance.random() < 0.3 else None
        packs = chance.randrange(1, 60)
        days = (serial(first), last and serial(last))
        rows.append([chance.choice(products), f"Customer {number}", packs, *days])
    at = place(stored, "orders.product")
    document.write(at.sheet, at.row, at.column, rows)
    rhythms = len(table(stored, "rhythms", units))
    at = place(stored, "rhythms.every")
    document.write(
        at.sheet,
        at.row,
        at.column,
        [
            [
                chance.randrange(1, 5),
                serial(today + timedelta(chance.randrange(-20, 20))),
                chance.choice((None, 12, 40)),
                chance.choice((None, "mixer", "steamer")),
            ]
            for _ in range(rhythms)
        ],
    )


def answers(book: Book) -> list[dict[str, Any]]:
    """Return the row of each order, with plain keys."""
    keys = ("product", "customer", "ready", "start", "more", "spawn", "order_by", "words")
    rows = book.part("Orders", TITLE).rows[: len(book.farm.rows["orders"])]
    return [dict(zip(keys, row.values(), strict=False)) for row in rows]


def test_blocks_more_and_dates(book: Book) -> None:
    rows = answers(book)
    assert rows
    for number, row in enumerate(rows):
        order, taken = book.farm.rows["orders"][number], plan_model.takes(book.farm, number)
        assert (row["customer"], row["product"]) == (order["customer"], order["product"])
        if taken is None:
            assert not any(row[key] for key in ("ready", "start", "more", "spawn", "order_by"))
            continue
        assert as_date(row["ready"]) == (taken.ready or taken.next_market)
        if taken.start is None:
            assert not any(row[key] for key in ("start", "more", "spawn", "order_by"))
            continue
        assert as_date(row["start"]) == taken.start
        assert row["more"] == taken.more, row
        rate = book.farm.row("strains", "strain", taken.crop[0])["spawn_rate"]
        mass = taken.more * book.farm.one["block_mass"] * rate
        assert book.mass(row["spawn"]) == pytest.approx(mass, rel=1e-9)
        assert (as_date(row["order_by"]) or None) == spawn_order(book, taken), row


def spawn_order(book: Book, taken: Taken) -> date | None:
    """Return the day to order spawn by; None where nothing is to be ordered."""
    farm = book.farm
    assert taken.start
    if not taken.more or (taken.is_planned and lots_last(book, taken)):
        return None
    return taken.start - timedelta(farm.one["spawn_lead"])


def lots_last(book: Book, taken: Taken) -> bool:
    """Return whether the lots of a strain are enough for all starts up to the one of an order."""
    farm, strain = book.farm, taken.crop[0]
    rate = farm.row("strains", "strain", strain)["spawn_rate"]
    starts = [
        Start(one.day, {}, strain, one.blocks * farm.one["block_mass"] * rate)
        for one in plan_model.plan(farm).starts
        if one.crop[0] == strain and one.blocks
    ]
    lots = [lot for lot in book.lots if lot["strain"] == strain]
    good = [
        (used_by, book.mass(lot["left"]))
        for lot in lots
        if lot["left"]
        and book.mass(lot["left"]) > farm.one["spawn_rest"]
        and (used_by := as_date(lot["use_by"]))
    ]
    out = spawn_outlook(good, starts, strain, 52).runs_out
    return bool(lots) and (out is None or out > taken.start)


def test_answers_in_words(book: Book) -> None:
    for number, row in enumerate(answers(book)):
        assert (row["words"] or "") == words(book, number), row


def words(book: Book, number: int) -> str:
    farm, taken = book.farm, plan_model.takes(book.farm, number)
    if taken is None:
        last = deliveries(farm, farm.rows["orders"][number])[-1]
        market = market_of(farm, last)
        return f"Too late: its market day was {market}." if last >= farm.one["as_of"] else ""
    said = [*_late(book, taken)]
    if taken.ready:
        said += _in_time(book, taken)
        markets = [market_of(farm, day) for day in deliveries(farm, farm.rows["orders"][number])]
        said += ["Each week again."] * (markets[-1] > taken.ready)
    elif not said[0].startswith("Nothing"):
        said.append(f"Can be ready by {plan_model.plan(farm).earliest[taken.crop]}.")
    return " ".join(said)


def _late(book: Book, taken: Taken) -> list[str]:
    if not taken.since:
        return []
    if not taken.coming:
        return [f"Too late since {taken.since}."]
    if taken.coming[0] == taken.coming[1]:
        if taken.ready:
            return ["The next delivery comes from what is growing."]
        return ["Nothing to start: enough is coming."]
    unit, size = ("kg", 1.0) if book.units == "metric" else ("lb", POUND)
    if not taken.crop[2]:
        unit, size = "blocks", 1.0
    come, asked = (floor(one / size * 10 + 0.5 + 1e-7) / 10 for one in taken.coming)
    return [
        f"Too late since {taken.since}.",
        f"That market gets {come:.1f} of {asked:.1f} {unit}.",
    ]


def _in_time(book: Book, taken: Taken) -> list[str]:
    farm = book.farm
    assert taken.start
    assert taken.ready
    begun = f"In time from {taken.ready} on" if taken.since else "In time"
    if not taken.more:
        return [f"{begun}: what is planned and coming is enough."]
    monday = taken.start - taken.start.weekday() * DAY
    if not taken.is_planned:
        first = monday - 11 * WEEK
        said = f"{begun}, with about so many blocks. The Week plan has it from {first} on."
    elif full := too_full(book, taken):
        names = ", ".join(full)
        said = f"{begun}, but over capacity: {names}, from the week of {min(full.values())}."
    else:
        said = f"{begun}, and there is room."
    strain, recipe, fruited = taken.crop
    crop = f"Start: {strain}, {recipe}{'' if fruited else ', blocks'}."
    by = spawn_order(book, taken)
    return [said, crop, *["Order spawn now."] * bool(by and by < farm.one["as_of"])]


def too_full(book: Book, taken: Taken) -> dict[str, date]:
    """Return the stations that are over capacity in its weeks, and the first such week of each."""
    farm, strain = book.farm, book.farm.row("strains", "strain", taken.crop[0])
    assert taken.start
    assert taken.ready
    out = round_half_up(taken.start.toordinal() + strain["incubation_days"])
    later = (strain["flushes"] - 1) * (strain["flush_interval_days"] or 0)
    fruits = strain["first_flush_days"] + later + farm.one["turnover_days"]
    clear = round_half_up(out + fruits) if taken.crop[2] else out
    days = {
        "mixer": [taken.start],
        "steamer": [taken.start],
        "bench": [taken.start],
        "incubation": days_between(taken.start.toordinal(), out),
        "fruiting": days_between(out, clear),
        "labor": [taken.start, taken.ready],
    }
    found = {}
    for row in book.rows("Week plan", "How full each station is in the week of"):
        name, *shares = list(row.values())[:13]
        full = {
            monday
            for monday, share in zip(weeks(farm), shares, strict=True)
            if share > 1 and any(monday <= day < monday + WEEK for day in days[name.lower()])
        }
        if full:
            found[name.lower()] = min(full)
    return found


def round_half_up(number: float) -> int:
    return floor(number + 0.5)


def days_between(first: int, until: int) -> list[date]:
    return [date.fromordinal(day) for day in range(first, until)]


def test_drawn_orders_are_of_every_kind(office: Office) -> None:
    """Otherwise the tests above show little."""
    said = [row["words"] or "" for seed in SEEDS for row in answers(drawn(office, "metric", seed))]
    assert [kind for kind in KINDS if not any(kind in words for words in said)] == []


KINDS = (
    "its market day was",
    "Too late since",
    "That market gets",
    "enough is coming",
    "comes from what is growing",
    "Can be ready by",
    "In time from",
    "over capacity",
    "is enough",
    "about so many",
    "Each week again",
)
