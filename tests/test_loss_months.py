"""What the losses of a month cost, cause by cause: in LibreOffice, against a count of the log."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import TYPE_CHECKING, Any

import pytest
from farm_book import demo, recalculated
from loss_model import COSTING, LINES, MOLD, by_month_and_cause, of_good_blocks
from reading import check_states, computed, place
from workbooks import made

from workbook_template.demo.data import demo_entries
from workbook_template.schema.losses import LOSS_CAUSES
from workbook_template.schema.outlook import MONTHS_BACK

if TYPE_CHECKING:
    from collections.abc import Iterator

    from farm_book import Book
    from loss_model import Sum
    from office import Document, Office

FIRST = date(1899, 12, 30)
"""The day 0 of a spreadsheet program."""
CAUSES = LOSS_CAUSES.split("|")
BY_CAUSE = "By cause: the month picked, then twelve months; weeks are the age of the block"
MONTH = "What did the losses of a month cost?"
PERIODS = "What the losses cost, by the day thrown out"


@pytest.fixture(params=["us", "metric"])
def units(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def document(office: Office, units: str) -> Iterator[Document]:
    with office.kept(made(units, "demo").path) as opened:
        yield opened


def pick(document: Document, units: str, month: str) -> None:
    document.write(*place(made(units, "demo").values, "loss_month"), [[month]])


def rows_below(document: Document, title: str, count: int) -> dict[str, list[Any]]:
    """Return the rows of a list by their first cell."""
    rows = document.read("Loss causes", 0, 0, 80, 8)
    first = next(number for number, row in enumerate(rows) if row[0] == title) + 2
    return {row[0]: row[1:] for row in rows[first : first + count]}


def answer(document: Document, units: str) -> str:
    return str(computed(document, made(units, "demo").values["Loss causes"])[MONTH]["Answer"])


def sums_of(book: Book, units: str, losses: list[dict[str, Any]]) -> dict[tuple[int, str], Sum]:
    entries = demo_entries(units)
    rates = {row["strain"]: row["loss_rate"] for row in book.farm.rows["strains"]}
    shown, behind = (book.part(name, LINES).rows for name in COSTING)
    each = of_good_blocks((shown, behind), entries.tables["products"], rates)
    batches: Any = {row["batch"]: row for row in entries.tables["batches"]}
    today: Any = entries.singles["as_of"]
    return by_month_and_cause(losses, batches, each, today)


def money(amount: Decimal) -> str:
    return f"${amount:,.2f}"


def hold_against(
    document: Document, units: str, sums: dict[tuple[int, str], Sum], back: int
) -> None:
    """Hold the list and the sentence of a month against the sums."""
    today: Any = demo_entries(units).singles["as_of"]
    shown = rows_below(document, BY_CAUSE, len(CAUSES) + 1)
    of_month = {cause: sums.get((back, cause)) for cause in CAUSES}
    blocks = sum(one.blocks for one in of_month.values() if one)
    cost = sum((one.cost for one in of_month.values() if one), Decimal(0))
    for cause, one in of_month.items():
        count, spent = (one.blocks, one.cost) if one else (0, Decimal(0))
        assert shown[cause][0] == count
        assert shown[cause][1] == (pytest.approx(count / blocks) if blocks else None)
        assert shown[cause][2] == pytest.approx(float(spent), abs=1e-9)
    assert shown["Total"][0] == blocks
    assert shown["Total"][2] == pytest.approx(float(cost), abs=1e-9)
    month = f"{today.year + (today.month - 1 - back) // 12}-{(today.month - 1 - back) % 12 + 1:02}"
    if not blocks:
        assert answer(document, units) == f"{month}: no block was lost."
        return
    moldy = [one for cause, one in of_month.items() if cause in MOLD and one]
    lost, gone = (f"{n} block{'s' * (n != 1)}" for n in (blocks, sum(o.blocks for o in moldy)))
    mold_cost = sum((one.cost for one in moldy), Decimal(0))
    assert answer(document, units) == (
        f"{month}: {lost} lost cost {money(cost)}, sales not made included. Contaminated "
        f"(green mold, bacteria, wet spot or cobweb): {gone}, {money(mold_cost)}."
    )


def test_each_month_of_the_demo(document: Document, units: str) -> None:
    """Months before the first batch are blank: nothing is known of them."""
    entries = demo_entries(units)
    today: Any = entries.singles["as_of"]
    first: Any = min(row["made"] for row in entries.tables["batches"])
    sums = sums_of(demo(units), units, entries.tables["losses"])
    checks = made(units, "demo").values["Checks"]
    for back, month in enumerate(MONTHS_BACK):
        pick(document, units, month)
        if (today.year - first.year) * 12 + today.month - first.month >= back:
            hold_against(document, units, sums, back)
        else:
            shown = rows_below(document, BY_CAUSE, len(CAUSES) + 1)
            assert [row[:3] for row in shown.values()] == [[None] * 3] * (len(CAUSES) + 1)
            assert answer(document, units).endswith(": nothing was logged yet.")
        assert check_states(document, checks) == []


def test_the_month_agrees_with_the_totals_to_the_cent(document: Document, units: str) -> None:
    """The months of the year, and its causes, add up to the year; both in whole cents."""
    total, blocks = Decimal(0), 0
    for month in MONTHS_BACK:
        pick(document, units, month)
        row = rows_below(document, BY_CAUSE, len(CAUSES) + 1)["Total"]
        total += Decimal(str(round(row[2] or 0.0, 6)))
        blocks += row[0] or 0
    periods = rows_below(document, PERIODS, 3)
    year = periods["The last twelve months"]
    assert (float(total), blocks) == (pytest.approx(year[4], abs=1e-9), year[0])
    causes = rows_below(document, BY_CAUSE, len(CAUSES))
    of_year = sum(Decimal(str(round(row[6], 6))) for row in causes.values())
    assert float(of_year) == pytest.approx(year[4], abs=1e-9)
    assert of_year == of_year.quantize(Decimal("0.01"))


@pytest.mark.parametrize("seed", range(2))
def test_drawn_logs(seed: int, document: Document, units: str) -> None:
    """Any day of the last fourteen months, any cause, any batch, in any order."""
    random = Random(seed)
    entries = demo_entries(units)
    today: Any = entries.singles["as_of"]
    names = [row["batch"] for row in entries.tables["batches"]]
    losses = [
        {
            **row,
            "batch": random.choice(names),
            "date": today - timedelta(random.randrange(420)),
            "blocks": random.randint(1, 40),
            "cause": random.choice(CAUSES),
        }
        for row in entries.tables["losses"]
    ]
    cells = [
        [row["batch"], (row["date"] - FIRST).days, row["blocks"], row["cause"]] for row in losses
    ]
    book = made(units, "demo").values
    document.write(*place(book, "figures_used"), [["plan only"]])
    document.write(*place(book, "losses.batch"), cells)
    sums = sums_of(recalculated(document, units), units, losses)
    with_losses = {at[0] for at in sums}
    for back in random.sample(sorted(with_losses & set(range(12))), 3):
        pick(document, units, MONTHS_BACK[back])
        hold_against(document, units, sums, back)


def test_what_is_not_known_is_said(document: Document, units: str) -> None:
    """Without the price of a product line, or with a cause that is on no list."""
    book = made(units, "demo").values
    back = place(book, "products.price")
    rows = len(demo_entries(units).tables["products"])
    prices = document.read(back.sheet, back.row, back.column, rows, 1)
    document.write(*back, [[None]] * rows)
    words = answer(document, units)
    assert words.endswith("; the cost needs a complete product line of each strain.")
    document.write(*back, prices)
    states = check_states(document, book["Checks"])
    assert states == []
    losses = demo_entries(units).tables["losses"]
    row = max(range(len(losses)), key=lambda number: losses[number]["date"])
    pick(document, units, "this month")
    at = place(book, "losses.cause")
    document.write(at.sheet, at.row + row, at.column, [["mildew"]])
    assert check_states(document, book["Checks"]) != []
