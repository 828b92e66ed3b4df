"""Sales and Markets against a model in plain Python, in both unit systems, in LibreOffice.

The interval of a market's mean day is Student's (Student 1908, Biometrika 6:1), by scipy; a
contribution is that of enterprise budgets (from memory): income less variable cost.
"""

from __future__ import annotations

from contextlib import contextmanager
from datetime import date
from functools import cache
from math import ceil
from random import Random
from typing import TYPE_CHECKING, Any

import farm_model
import pytest
import sales_model as model
from farm_book import Book, demo, recalculated
from logged_batches import LoggedBatches
from reading import place
from workbooks import made

from workbook_template.demo.data import demo_entries
from workbook_template.schema.sales import SALES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from office import Office

CENT = 0.005
SEEDS = (1, 2, 3, 4)
ROWS = 150
DAYS_BACK = 390
BY_MARKET, BY_PRODUCT, BY_MONTH = (
    "By market and customer",
    "By product line",
    "By month, the last twelve",
)
ADDS_UP = "Does it add up?"
CHANGES = (
    "Changes in a usual week: first what your records show to pay, then by what they may bring"
)
MONEY = {
    "Income, $": "income",
    "Fees, $": "fees",
    "Travel, $": "travel",
    "Cost of packs taken, $": "goods",
    "Work, h": "hours",
    "Labor of selling, $": "labor",
    "Contribution, $": "left",
}
COUNTS = {"Packs taken": "taken", "Packs sold": "sold"}


@pytest.fixture(scope="module", params=["us", "metric"])
def units(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module", params=["demo", *SEEDS])
def book(request: pytest.FixtureRequest, units: str, office: Office) -> Book:
    """The demo as it is stored, and with other markets and another log, in any order."""
    if request.param == "demo":
        return demo(units)
    return drawn(office, units, request.param)


@cache
def drawn(office: Office, units: str, seed: int) -> Book:
    """Draw markets, prices and a log of sales, and let LibreOffice compute them."""
    random = Random(f"sales {seed}")
    workbook = made(units, "demo").values
    entries = demo_entries(units)
    today: date = entries.singles["as_of"]  # type: ignore[assignment]
    names = [row["market"] for row in entries.tables["markets"]]
    products = [row["product"] for row in entries.tables["products"]]
    with office.kept(made(units, "demo").path) as document:

        def write(key: str, rows: list[list[Any]]) -> None:
            at = place(workbook, key)
            document.write(at.sheet, at.row, at.column, rows)

        fees = [
            [
                random.choice((None, 0, round(random.uniform(5, 60), 2))),
                random.choice((None, 0.03, 0.2)),
                round(random.uniform(0.2, 9), 1),
                random.choice((None, round(random.uniform(1, 40), 2))),
            ]
            for _ in names
        ]
        write("markets.fee_day", fees)
        write("products.price", [[price(random, seed)] for _ in products])
        write("hourly_wage", [[random.randint(10, 40)]])
        write("days_to_judge", [[random.choice((2, 4, 9))]])
        write("days_kept", [[random.randint(0, 60)]])
        if seed % 2:
            write("sales_from", [[serial(today) - random.randint(100, 300)]])
            write("sales_until", [[serial(today) - random.randint(-20, 90)]])
        log = [_row(random, seed, serial(today), names[:-1], products) for _ in range(ROWS)]
        if seed > 2:
            log.sort(key=lambda row: row[0])
        write("sales.date", log)
        return recalculated(document, units)


def serial(day: date) -> int:
    return day.toordinal() - 693594


def price(random: Random, seed: int) -> float:
    """Draw a price, low or high by the seed."""
    return round(random.uniform(4, 25) * (0.7 if seed % 2 else 1.8), 2)


def _row(random: Random, seed: int, today: int, names: list[str], products: list[str]) -> list[Any]:
    taken = random.randint(0, 60)
    return [
        today - 7 * random.randint(0, DAYS_BACK // 7) - random.choice((0, 0, 3)),
        random.choice(names),
        random.choice(products),
        taken,
        random.randint(taken // 2, taken),
        random.choice((None, None, price(random, seed))),
    ]


def shown(book: Book, title: str) -> dict[str, dict[str, Any]]:
    """Return the rows of a list on Markets by what stands first in them."""
    rows = book.rows("Markets", title)
    return {str(next(iter(row.values()))): row for row in rows}


def assert_sums(row: dict[str, Any], sums: model.Sums) -> None:
    assert {key: row[key] for key in COUNTS} == {
        key: getattr(sums, name) for key, name in COUNTS.items()
    }
    money = {key: getattr(sums, name) for key, name in MONEY.items()}
    assert {key: row[key] for key in MONEY} == pytest.approx(money, abs=CENT)
    if sums.taken:
        assert row["Share sold, %"] == pytest.approx(sums.sold / sums.taken)
        assert row["Share assumed, %"] == pytest.approx(sums.assumed / sums.taken)
    else:
        assert row["Share sold, %"] in ("", None)


def test_cost_of_a_pack_made(book: Book) -> None:
    """All its variable cost, whether it is sold or not."""
    rows = book.rows("Costing workings", "All product lines: cost, margin, shelf space")
    for product, row in zip(book.farm.rows["products"], rows, strict=False):
        cost = farm_model.pack_made(book.farm, product)
        assert row["Pack made, without fixed cost, $"] == pytest.approx(cost, abs=CENT)


def test_by_market(book: Book) -> None:
    selling, lines = model.Selling(book.farm), shown(book, BY_MARKET)
    rows = selling.in_period()
    for market in book.farm.rows["markets"]:
        line = lines[market["market"]]
        sums = selling.sums(model.of(rows, "market", market["market"]))
        assert line["Days sold on"] == sums.days
        assert_sums(line, sums)
        if sums.days:
            assert line["Contribution a day, $"] == pytest.approx(sums.left / sums.days, abs=CENT)
            per_hour = (sums.left + sums.labor) / sums.hours
            assert line["An hour there pays, $"] == pytest.approx(per_hour, abs=CENT)
        assert (line["Is it worth it?"] or "") == verdict(book, sums)
    total = selling.sums(rows)
    for name, key in (COUNTS | MONEY | {"Days sold on": "days"}).items():
        assert lines["Total"][name] == pytest.approx(getattr(total, key), abs=CENT)


def test_what_dropping_a_market_brings(book: Book) -> None:
    """The one that leaves least a day, of those with enough days: what it leaves in a week."""
    one, selling = book.farm.one, model.Selling(book.farm)
    each = {
        market["market"]: selling.sums(model.of(selling.in_period(), "market", market["market"]))
        for market in book.farm.rows["markets"]
    }
    judged = {name: sums for name, sums in each.items() if sums.days >= one["days_to_judge"]}
    ranked = [row for row in book.rows("Improve", CHANGES) if "Drop " in str(row["Change"])]
    if not judged:
        assert ranked == []
        return
    name = min(judged, key=lambda market: judged[market].left / judged[market].days)
    (row,) = ranked
    assert row["Change"].endswith(f". Drop {name}")
    begun = min(row["date"] for row in book.farm.rows["sales"] if row["date"])
    first = max(begun, one["sales_from"] or begun)
    last = min(one["as_of"], one["sales_until"] or one["as_of"])
    a_week = 7 * judged[name].days / ((last - first).days + 1)
    low, high = judged[name].interval(one["results_confidence"])
    left = judged[name].left / judged[name].days
    assert row["Brings a week, $"] == pytest.approx(-left * a_week, abs=CENT)
    assert row["Lowest, $"] == pytest.approx(-high * a_week, abs=CENT)
    assert row["Highest, $"] == pytest.approx(-low * a_week, abs=CENT)


def verdict(book: Book, sums: model.Sums) -> str:
    """Say what a market's days tell, as a person would who has the interval."""
    if not sums.days:
        return ""
    if sums.days < book.farm.one["days_to_judge"]:
        return f"Too few days to tell: {sums.days}"
    low, high = sums.interval(book.farm.one["results_confidence"])
    answer = "Worth it" if low > 0 else "Loses money" if high < 0 else "Not known yet"
    mean = sums.left / sums.days
    said, low_said, high_said = (
        f"{'-' if round(one) < 0 else ''}${abs(round(one)):,}" for one in (mean, low, high)
    )
    words = f"{answer}: about {said} a day ({low_said} to {high_said}, {sums.days} days)"
    if answer != "Not known yet":
        return words
    # Half of an interval of a mean shrinks with the root of its days (Student 1908).
    more = max(1, ceil(sums.days * ((high - low) / (2 * abs(mean))) ** 2 - 1e-6) - sums.days)
    return f"{words}; {f'some {more}' if more <= 365 else 'over 365'} more would tell"


def test_by_product(book: Book) -> None:
    selling, lines = model.Selling(book.farm), shown(book, BY_PRODUCT)
    rows = selling.in_period()
    for product in book.farm.rows["products"]:
        line, sold = lines[product["product"]], model.of(rows, "product", product["product"])
        packs = sum(row["sold"] for row in sold)
        income = sum(map(selling.income, sold))
        assert line["Rows in the log"] == len(sold)
        assert line["Packs taken"] == sum(row["taken"] for row in sold)
        assert line["Packs sold"] == packs
        assert line["Income, $"] == pytest.approx(income, abs=CENT)
        assert line["Share assumed, %"] == pytest.approx(product["sold_share"])
        assert line["Price, usual, $/pack"] == pytest.approx(product["price"])
        if packs:
            assert line["Price, actual, $/pack"] == pytest.approx(income / packs, abs=CENT)


def test_by_month(book: Book) -> None:
    lines = shown(book, BY_MONTH)
    begun = min(f"{row['date']:%Y-%m}" for row in book.farm.rows["sales"] if row["date"])
    by_month = model.Selling(book.farm).by_month().items()
    months = {name: sums for name, sums in by_month if name >= begun}
    assert list(lines) == [*months, "Total"]
    for name, sums in months.items():
        assert lines[name]["Days sold on"] == sums.days
        assert_sums(lines[name], sums)


def test_whether_it_adds_up(book: Book) -> None:
    values = book.part("Markets", ADDS_UP).values
    selling = model.Selling(book.farm)
    masses = selling.masses()
    expected = {
        "Picked": masses.picked,
        "Unsold, by Harvests": masses.unsold,
        "Sold": masses.sold,
        "Packs not sold": masses.home,
        "Not accounted for": masses.picked - masses.unsold - masses.sold,
    }
    found = {key: book.mass(values[key]) for key in expected}
    assert found == pytest.approx(expected, abs=1e-6)
    too_much = [
        row["strain"]
        for row in book.farm.rows["strains"]
        if (one := selling.masses(row["strain"])).picked and one.sold > one.picked - one.unsold
    ]
    words = values["In plain words"]
    if too_much:
        assert words.startswith(f"More {too_much[0]} was sold than was picked")
    elif 0 < masses.unsold < masses.home:
        assert "more than Unsold on the Harvests sheet" in words
    else:
        left = expected["Not accounted for"] * (1 if book.units == "metric" else 1 / 0.45359237)
        if round(left) > 0:
            assert words.startswith(f"{round(left)} {'kg' if book.units == 'metric' else 'lb'} of ")
        else:
            assert words == "All that was picked is sold or logged as unsold."


def test_every_kind_of_farm_is_drawn(office: Office, units: str) -> None:
    """What the seeds draw has markets of each verdict."""
    said = {
        str(line["Is it worth it?"]).partition(":")[0]
        for seed in SEEDS
        for line in shown(drawn(office, units, seed), BY_MARKET).values()
    }
    assert said >= {"Worth it", "Loses money", "Not known yet"}


# Rows that are wrong, or not filled in yet


class Log(LoggedBatches):
    """The invented farm with a few rows of sales, in an open workbook."""

    def __init__(self) -> None:
        entries = demo_entries("metric")
        self.today: Any = entries.singles["as_of"]
        for table in ("batches", "harvests", "losses", "steam_log"):
            entries.tables[table] = []
        entries.singles["label_batch"] = None
        market, kitchen = "Wednesday evening market", "Juniper Kitchen"
        entries.tables["sales"] = [
            {"date": day, "market": place, "product": product, "taken": packs, "sold": packs}
            for day, place, product, packs in (
                (date(2026, 7, 1), market, "Oyster, half-pound box", 30),
                (date(2026, 7, 1), market, "Lion's mane, half-pound box", 24),
                (date(2026, 7, 2), kitchen, "Oyster, 5 lb for kitchens", 7),
            )
        ]
        self._lay_out(entries, 4, ("sales.*", "by_market.*"))

    @contextmanager
    def typed(self, key: str, value: Any, row: int = 0) -> Iterator[None]:
        """Have something in a cell for a while."""
        before = self.value(key, row)
        self.set(key, value, row)
        self.compute()
        try:
            yield
        finally:
            self.set(key, before if before != "" else None, row)
            self.compute()


@cache
def log() -> Log:
    return Log()


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("sold", 31, "Packs sold: more than were taken."),
        ("sold", 1.5, "Packs sold: needs a whole number, 0 or more."),
        ("taken", -1, "Packs taken: needs a whole number, 0 or more."),
        ("date", 1, "Date: after today."),
        ("market", "Nobody", "Market or customer: choose one from the list."),
        ("product", "Nothing", "Product line: choose one from the list."),
        ("price", 21.5, "Price of a pack? Far from the price on the Products sheet."),
        ("price", 2.2, "Price of a pack? Far from the price on the Products sheet."),
        ("price", 20.5, ""),
        ("sold", 30, ""),
    ],
)
def test_what_a_row_says(key: str, value: Any, said: str) -> None:
    """The first row: 30 boxes taken and sold, at a usual price of 7; three times of it is fine."""
    typed = serial(log().today) + value if key == "date" else value
    with log().typed(f"sales.{key}", typed):
        assert log().value("sales.to_fix", 0) == said


def test_a_date_long_before_the_row_above_is_doubted() -> None:
    with log().typed("sales.date", serial(log().today) - 600, 1):
        assert log().value("sales.to_fix", 1) == "Date? Long before the row above."


@pytest.mark.parametrize("key", ["date", "market", "product", "taken", "sold"])
def test_a_row_that_is_half_filled_shows_no_sum(key: str) -> None:
    """Its market has no income either while that of one of its rows is not known."""
    with log().typed(f"sales.{key}", None):
        for column in SALES.columns:
            assert not str(log().value(f"sales.{column.key}", 0)).startswith("#"), column.key
        if key in ("product", "sold"):
            assert log().value("sales.income", 0) == ""
            assert log().value("by_market.income", 1) == ""
            assert log().value("by_market.left", 1) == ""
            assert log().value("by_market.verdict", 1) in ("", "Too few days to tell: 1")


@pytest.mark.parametrize("kind", [("us", "empty"), ("metric", "empty")])
def test_an_empty_workbook_shows_nothing(kind: tuple[str, str]) -> None:
    sheet = made(*kind).values["Markets"]
    titles = {BY_MARKET, BY_PRODUCT, BY_MONTH, ADDS_UP}
    section, filled = "", []
    for line in sheet.iter_rows(min_row=5):
        if line[0].style == "farm section" and line[0].value:
            section = line[0].value
        elif section in titles and line[0].style != "farm heading":
            cells = line[1:2] if section == ADDS_UP else line
            filled += [one.value for one in cells if one.value not in (None, "", "Total")]
    assert filled == []
