"""The Year sheet against a budget that is added up here, from what is typed and logged.

The lines are those of an enterprise budget as extension services publish them: income, variable
costs, returns above them, fixed costs, returns to management; break-even by the contribution
(University of Tennessee Extension, D 17, The ABCs of farm enterprise budgets; from memory).
What a batch cost is read from the Batches sheet, which has tests of its own.
"""

from __future__ import annotations

from datetime import date, timedelta
from math import sqrt
from statistics import stdev
from typing import TYPE_CHECKING, Any

import farm_model as model
import pytest
from farm_book import Book, changed_at_random, demo
from logged_batches import LoggedBatches
from scipy.stats import t as student

if TYPE_CHECKING:
    from office import Office

CENT = 0.01
POUND = 0.45359237
SEEDS = (11, 12, 13)
BUDGET = "The budget: planned and from the logs"
MONTHLY = "By month, from the logs"


@pytest.fixture(scope="module", params=["us", "metric"])
def units(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module", params=["demo", *SEEDS])
def book(request: pytest.FixtureRequest, units: str, office: Office) -> Book:
    """The demo: as it is stored, and with twenty inputs that changed."""
    if request.param == "demo":
        return demo(units)
    return changed_at_random(office, units, request.param)


class Budget:
    """A budget of some days, worked out from the logs."""

    def __init__(self, book: Book, first: date, until: date) -> None:
        farm, one = book.farm, book.farm.one
        self.days = (until - first).days

        def within(table: str, day: str) -> list[dict[str, Any]]:
            return [row for row in farm.rows[table] if row[day] and first <= row[day] < until]

        self.sales, self.batches = within("sales", "date"), within("batches", "made")
        markets = {row["market"]: row for row in farm.rows["markets"]}
        lines = {row["product"]: row for row in farm.rows["products"]}
        days = {(row["date"], row["market"]) for row in self.sales}
        self.income = sum(self.takings(farm, row) for row in self.sales)
        self.fees = sum(
            self.takings(farm, row) * (markets[row["market"]]["fee_share"] or 0)
            for row in self.sales
        ) + sum(markets[market]["fee_day"] or 0 for _, market in days)
        self.travel = sum(markets[market]["travel"] or 0 for _, market in days)
        self.selling_hours = sum(markets[market]["hours"] for _, market in days)
        self.selling = farm.work(60 * self.selling_hours)
        self.blocks = sum(row["bags"] for row in self.batches)
        self.steps = dict.fromkeys(model.block_steps(farm, farm.rows["products"][0]), 0.0)
        for row in self.batches:
            crop = {"strain": row["strain"], "recipe": row["recipe"], "form": "fresh"}
            for name, cost in model.block_steps(farm, crop).items():
                self.steps[name] += row["bags"] * cost
        self.steps["Spawn"] = one["spawn_price"] * sum(
            row["bags"]
            * (row["block_mass"] or one["block_mass"])
            * (row["spawn_rate"] or farm.row("strains", "strain", row["strain"])["spawn_rate"])
            for row in self.batches
        )
        self.cost = sum(book.cost_of_batch[row["batch"]] for row in self.batches)
        names = {row["batch"]: row for row in farm.rows["batches"]}
        self.picking = sum(
            row["fresh"] * self.picking_cost(farm, names[row["batch"]])
            for row in within("harvests", "date")
        )
        self.goods = self.packing = self.fresh = 0.0
        for row in self.sales:
            line = lines[row["product"]]
            fresh, is_dried = model.fresh_in_pack(farm, line), line["form"] == "dried"
            energy = one["drying_energy"] * one["electricity_price"]
            self.goods += row["taken"] * (line["pack_cost"] + is_dried * fresh * energy)
            minutes = line["packing_minutes"] + is_dried * fresh * one["drying_minutes"]
            self.packing += row["taken"] * farm.work(minutes)
            self.fresh += row["sold"] * fresh
        self.fixed = fixed_of_a_year(farm) * self.days / model.DAYS

    @staticmethod
    def takings(farm: model.Farm, row: dict[str, Any]) -> float:
        usual = farm.row("products", "product", row["product"])["price"]
        return float(row["sold"] * (usual if row["price"] is None else row["price"]))

    @staticmethod
    def picking_cost(farm: model.Farm, batch: dict[str, Any]) -> float:
        if batch["picking_cost"] is not None:
            return float(batch["picking_cost"])
        return farm.work(farm.row("strains", "strain", batch["strain"])["picking_minutes"])

    def sum_of(self, *words: str) -> float:
        return sum(cost for name, cost in self.steps.items() if any(one in name for one in words))

    @property
    def labor(self) -> float:
        return self.sum_of("abor") + self.picking + self.packing + self.selling

    @property
    def standing(self) -> float:
        return self.sum_of(*model.STANDING)

    @property
    def variable(self) -> float:
        """With the batches at what they keep, less fixed costs."""
        blocks = self.cost - self.standing
        rest = self.picking + self.goods + self.packing + self.selling
        return self.fees + self.travel + blocks + rest

    @property
    def profit(self) -> float:
        return self.income - self.variable - self.fixed


def fixed_of_a_year(farm: model.Farm) -> float:
    spent = model.spent_on_blocks(farm)
    return spent["Room energy"] + spent["Equipment and overhead"]


def next_month(day: date) -> date:
    return date(day.year + day.month // 12, day.month % 12 + 1, 1)


def period(book: Book) -> tuple[date, date]:
    """The last twelve months, from the first sale on, today included."""
    today = book.farm.one["as_of"]
    first = next_month(date(today.year - 1, today.month, 1))
    return max(first, min(row["date"] for row in book.farm.rows["sales"])), today + timedelta(1)


def planned(book: Book) -> dict[str, float]:
    """Lines of a year of usual weeks."""
    farm = book.farm
    budget = Budget(book, *period(book))
    lines = dict.fromkeys(("Income", "Market fees", "Delivery and travel"), 0.0)
    lines["Labor: selling"] = budget.selling / budget.days * model.DAYS
    lines |= {"Labor: picking": 0.0, "Packs, drying energy": 0.0, "Labor: packing, drying": 0.0}
    for line in farm.rows["products"]:
        packs = model.a_year(line["packs_per_week"])
        made = packs / line["sold_share"]
        fresh, is_dried = model.fresh_in_pack(farm, line), line["form"] == "dried"
        energy = farm.one["drying_energy"] * farm.one["electricity_price"]
        lines["Income"] += packs * line["price"]
        lines["Market fees"] += packs * line["price"] * line["fees"]
        lines["Delivery and travel"] += packs * line["delivery"]
        picking = farm.work(farm.strain(line)["picking_minutes"])
        lines["Labor: picking"] += made * fresh * picking
        lines["Packs, drying energy"] += made * (line["pack_cost"] + is_dried * fresh * energy)
        minutes = line["packing_minutes"] + is_dried * fresh * farm.one["drying_minutes"]
        lines["Labor: packing, drying"] += made * farm.work(minutes)
    return lines


def test_planned_is_a_year_of_usual_weeks(book: Book) -> None:
    rows = {row["Line"]: row for row in book.rows("Year", BUDGET)}
    shown = {name: row["Planned, a year, $"] for name, row in rows.items()}
    lines, spent = planned(book), model.spent_on_blocks(book.farm)
    assert {name: shown[name] for name in lines} == pytest.approx(lines, abs=CENT)
    materials = shown["Ingredients"] + shown["Bags"] + shown["Spawn"]
    assert materials == pytest.approx(spent["Ingredients, bags, spawn"], abs=CENT)
    assert shown["Labor: blocks"] == pytest.approx(spent["Labor on blocks"], abs=CENT)
    assert shown["Steam energy"] == pytest.approx(spent["Steam energy"], abs=CENT)
    assert shown["Fixed costs"] == pytest.approx(fixed_of_a_year(book.farm), abs=CENT)
    assert shown["Equipment"] + shown["Overhead"] == pytest.approx(
        spent["Equipment and overhead"], abs=CENT
    )
    costs = sum(lines.values()) - lines["Income"] + sum(spent.values())
    assert shown["Profit"] == pytest.approx(lines["Income"] - costs, abs=CENT)
    idle = sum(model.idle(book.farm).values())
    assert shown["Idle capacity in it"] == pytest.approx(idle, abs=CENT)
    first, until = period(book)
    share = (until - first).days / model.DAYS
    assert {name: row["Planned, these days, $"] for name, row in rows.items()} == pytest.approx(
        {name: amount * share for name, amount in shown.items()}, abs=CENT
    )


def test_the_lines_from_the_logs(book: Book) -> None:
    rows = {row["Line"]: row for row in book.rows("Year", BUDGET)}
    budget = Budget(book, *period(book))
    assert budget.sales
    assert budget.batches
    steps = budget.steps
    steam = budget.sum_of("Steam energy", "steam loads: energy")
    known = steps["Ingredients"] + steps["Bag"] + steps["Spawn"] + steam + budget.sum_of("abor")
    expected = {
        "Income": budget.income,
        "Market fees": budget.fees,
        "Delivery and travel": budget.travel,
        "Ingredients": steps["Ingredients"],
        "Bags": steps["Bag"],
        "Spawn": steps["Spawn"],
        "Steam energy": steam,
        "Labor: blocks": budget.sum_of("abor"),
        "Blocks made at other prices": budget.cost - budget.standing - known,
        "Labor: picking": budget.picking,
        "Packs, drying energy": budget.goods,
        "Labor: packing, drying": budget.packing,
        "Labor: selling": budget.selling,
        "Variable costs": budget.variable,
        "Contribution": budget.income - budget.variable,
        "Fixed costs": budget.fixed,
        "Profit": budget.profit,
        "Idle capacity in it": budget.fixed - budget.standing,
    }
    shown = {name: rows[name]["From the logs, $"] for name in expected}
    assert shown == pytest.approx(expected, abs=CENT)


def months(book: Book) -> list[tuple[date, Budget]]:
    first, until = period(book)
    found = []
    while first < until:
        end = min(next_month(first), until)
        found.append((first, Budget(book, first, end)))
        first = end
    return found


def test_every_month(book: Book) -> None:
    rows = [row for row in book.rows("Year", MONTHLY) if row["Month"]]
    expected = months(book)
    assert [row["Month"] for row in rows] == [f"{day:%Y-%m}" for day, _ in expected]
    for row, (_, budget) in zip(rows, expected, strict=True):
        assert row["Days"] == budget.days
        assert row["Income, $"] == pytest.approx(budget.income, abs=CENT)
        assert row["Contribution, $"] == pytest.approx(budget.income - budget.variable, abs=CENT)
        assert row["Profit, $"] == pytest.approx(budget.profit, abs=CENT)
        hours = (budget.labor - budget.selling) / book.farm.work(60) + budget.selling_hours
        assert row["Work, h"] == pytest.approx(hours, abs=CENT)


def test_what_an_hour_and_a_year_come_to(book: Book) -> None:
    shown = book.part("Year", "What it comes to").values
    budget = Budget(book, *period(book))
    each = [one for _, one in months(book)]
    hours = sum((one.labor - one.selling) / book.farm.work(60) + one.selling_hours for one in each)
    rate = budget.profit / budget.days * model.DAYS
    assert shown["An hour of work earns, from the logs"] == pytest.approx(
        (budget.profit + budget.labor) / hours, abs=CENT
    )
    assert shown["Profit of a year at this rate"] == pytest.approx(rate, abs=CENT)
    places = model.places(book.farm, "fruiting")
    assert shown["Profit of a fruiting shelf space"] == pytest.approx(rate / places, abs=CENT)
    whole = [
        one.profit / one.days * model.DAYS
        for day, one in months(book)
        if day.day == 1 and day + timedelta(one.days) == next_month(day)
    ]
    if len(whole) < 3:
        assert (shown["Lowest"], shown["Highest"]) == (None, None)
        return
    half = student.ppf(0.975, len(whole) - 1) * stdev(whole) / sqrt(len(whole))
    assert shown["Lowest"] == pytest.approx(rate - half, rel=1e-6)
    assert shown["Highest"] == pytest.approx(rate + half, rel=1e-6)


def test_at_break_even_nothing_is_left(book: Book) -> None:
    """Scale all sales and their costs until they cover the fixed costs of a year."""
    shown = book.part("Year", "What it comes to").values
    budget = Budget(book, *period(book))
    if budget.income <= budget.variable:
        assert shown["Break-even income"] is None
        return
    times = shown["Break-even income"] / budget.income
    fixed = fixed_of_a_year(book.farm)
    assert times * (budget.income - budget.variable) == pytest.approx(fixed, rel=1e-9)
    assert book.mass(shown["Break-even fresh mass"]) == pytest.approx(
        times * budget.fresh, rel=1e-9
    )
    price = book.price_of_mass(shown["Break-even price"])
    assert price * budget.fresh == pytest.approx(budget.variable + budget.fixed, rel=1e-9)


def test_income_by_product_line(book: Book) -> None:
    rows = {row["Product line"]: row for row in book.rows("Year", "Income by product line")}
    budget = Budget(book, *period(book))
    for line in book.farm.rows["products"]:
        name = line["product"]
        sales = [row for row in budget.sales if row["product"] == name]
        income = sum(Budget.takings(book.farm, row) for row in sales)
        year = model.a_year(line["packs_per_week"]) * line["price"]
        assert rows[name]["From the logs, $"] == pytest.approx(income, abs=CENT)
        assert rows[name]["Planned, these days, $"] == pytest.approx(
            year * budget.days / model.DAYS, abs=CENT
        )
        assert rows[name]["Packs sold"] == sum(row["sold"] for row in sales)


def test_a_published_budget_comes_out() -> None:
    """Sagaram, Enterprise budget for oyster mushroom grown in a poultry house, Delaware, 2013.

    1208 lb picked, 5 % lost in handling, 1147.6 lb sold at 5 dollars: 5738 dollars.
    """
    farm = LoggedBatches(1, asked=("year_planned.*",))
    lines = sum(bool(farm.value("products.product", row)) for row in range(12))
    farm.set_column("products.packs_per_week", [1147.6 / model.a_year(1)] + [0] * (lines - 1))
    for key, value in {"form": "fresh", "pack_mass": POUND, "price": 5, "sold_share": 0.95}.items():
        farm.set(f"products.{key}", value)
    farm.compute()
    assert farm.value("year_planned.income") == pytest.approx(5738.0, rel=1e-9)
    assert farm.value("year_planned.made") * POUND == pytest.approx(1208 * POUND, rel=1e-9)
    assert farm.value("year_planned.fresh") == pytest.approx(1147.6 * POUND, rel=1e-9)
