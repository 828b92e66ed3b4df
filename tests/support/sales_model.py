"""What came of a farm's markets, from what is typed alone, to hold the Markets sheet against.

It takes masses in kilograms, and goes over the log as a person would, a market's day at a time.
What a pack costs is computed in ``farm_model``.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from math import sqrt
from statistics import mean, stdev
from typing import TYPE_CHECKING, Any, NamedTuple

from farm_model import fresh_in_pack, pack_made
from scipy.stats import t as student

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from farm_model import Farm

    Row = dict[str, Any]


class Day(NamedTuple):
    """All that was logged of a market on a day."""

    day: date
    market: str
    rows: list[Row]


class Masses(NamedTuple):
    """Fresh masses that a farm picked, and what became of them."""

    picked: float
    unsold: float
    sold: float
    home: float


ADDED_UP = (
    "days",
    "taken",
    "sold",
    "assumed",
    "income",
    "fees",
    "travel",
    "goods",
    "hours",
    "labor",
)


@dataclass
class Sums:
    """What some rows of the log and the days in them add up to."""

    days: int = 0
    taken: float = 0.0
    sold: float = 0.0
    assumed: float = 0.0
    income: float = 0.0
    fees: float = 0.0
    travel: float = 0.0
    goods: float = 0.0
    hours: float = 0.0
    labor: float = 0.0
    of_days: list[float] = field(default_factory=list)

    @property
    def left(self) -> float:
        return self.income - self.fees - self.travel - self.goods - self.labor

    def interval(self, confidence: float) -> tuple[float, float]:
        """Student's interval of the mean of the days."""
        half = student.ppf((1 + confidence) / 2, self.days - 1)
        half *= stdev(self.of_days) / sqrt(self.days)
        return mean(self.of_days) - half, mean(self.of_days) + half


def as_day(moment: Any) -> date:
    """Return the day of a date, whatever time it has."""
    return moment.date() if isinstance(moment, datetime) else moment


def of(rows: Iterable[Row], key: str, name: str) -> list[Row]:
    """Return the rows that name something."""
    return [row for row in rows if row[key] == name]


def days_sold(rows: Iterable[Row]) -> Iterator[Day]:
    """Yield each market's days."""
    found: dict[tuple[date, str], list[Row]] = defaultdict(list)
    for row in rows:
        found[as_day(row["date"]), row["market"]].append(row)
    for (day, market), sold in found.items():
        yield Day(day, market, sold)


class Selling:
    """A farm, its log of sales, and what its packs cost to make."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm
        self.today: date = farm.one["as_of"]
        self.products = {row["product"]: row for row in farm.rows["products"]}
        self.costs = {name: pack_made(farm, row) for name, row in self.products.items()}
        self.rows = [row for row in farm.rows["sales"] if as_day(row["date"]) <= self.today]

    def income(self, row: Row) -> float:
        price = row["price"]
        if price is None:
            price = self.products[row["product"]]["price"]
        return float(row["sold"] * price)

    def sums(self, rows: Iterable[Row]) -> Sums:
        """Add rows of the log up, whole days of them."""
        of_all = Sums()
        for day in days_sold(rows):
            one = self._of_day(day)
            for key in ADDED_UP:
                setattr(of_all, key, getattr(of_all, key) + getattr(one, key))
            of_all.of_days.append(one.left)
        return of_all

    def _of_day(self, day: Day) -> Sums:
        market = self.farm.row("markets", "market", day.market)
        one = Sums(1)
        for row in day.rows:
            one.taken += row["taken"]
            one.sold += row["sold"]
            one.assumed += row["taken"] * self.products[row["product"]]["sold_share"]
            one.income += self.income(row)
            one.goods += row["taken"] * self.costs[row["product"]]
        one.fees = one.income * (market["fee_share"] or 0) + (market["fee_day"] or 0)
        one.travel = market["travel"] or 0.0
        one.hours = market["hours"]
        one.labor = self.farm.work(60 * one.hours)
        return one

    def in_period(self) -> list[Row]:
        """Return the rows that the lists by market and product line count."""
        first = self.farm.one["sales_from"] or date.min
        last = self.farm.one["sales_until"] or date.max
        return [row for row in self.rows if first <= as_day(row["date"]) <= last]

    def by_month(self) -> dict[str, Sums]:
        """Return the last twelve months, the oldest first."""
        found = {}
        for back in range(11, -1, -1):
            year, month = divmod(12 * self.today.year + self.today.month - 1 - back, 12)
            name = f"{year}-{month + 1:02}"
            rows = [row for row in self.rows if as_day(row["date"]).isoformat().startswith(name)]
            found[name] = self.sums(rows)
        return found

    def masses(self, strain: str = "") -> Masses:
        """Add up the masses of all strains, or of one."""
        first = min(as_day(row["date"]) for row in self.rows)
        first -= timedelta(self.farm.one["days_kept"])
        strains = {row["batch"]: row["strain"] for row in self.farm.rows["batches"]}
        picked = [
            row
            for row in self.farm.rows["harvests"]
            if first <= as_day(row["date"]) <= self.today and strain in ("", strains[row["batch"]])
        ]
        sold = home = 0.0
        for row in self.rows:
            product = self.products[row["product"]]
            if strain in ("", product["strain"]):
                fresh = fresh_in_pack(self.farm, product)
                sold += row["sold"] * fresh
                home += (row["taken"] - row["sold"]) * fresh
        unsold = sum(row["unsold"] or 0 for row in picked)
        return Masses(sum(row["fresh"] for row in picked), unsold, sold, home)
