"""What the logs of a workbook say, worked out from what is typed in: for Results and Forecast."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache, cached_property
from random import Random
from typing import TYPE_CHECKING, Any

import openpyxl
from own_figures import used_strains
from reading import Part, parts, singles, table
from shared import shared
from workbooks import made

from workbook_template.build import build
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings
from workbook_template.writing.workings import workings_name

if TYPE_CHECKING:
    from openpyxl import Workbook

Row = dict[str, Any]
SEASONS = ("demo", "drawn")


@dataclass
class Batch:
    """A batch with all that was logged about it."""

    row: Row
    lost: float
    dry: float
    picked: list[tuple[int, date, float]]
    """Flush, date, fresh mass."""
    today: date

    @property
    def strain(self) -> str:
        return self.row["strain"]

    @property
    def good(self) -> float:
        return self.row["bags"] - self.lost

    @property
    def made(self) -> int:
        """Day from 0001-01-01."""
        made_on = day(self.row["made"])
        assert made_on is not None
        return made_on.toordinal()

    @property
    def moved(self) -> int | None:
        """Day from 0001-01-01."""
        moved_on = day(self.row["moved"])
        return None if moved_on is None else moved_on.toordinal()

    @property
    def is_ended(self) -> bool:
        ended = day(self.row["ended"])
        return self.good <= 0 or (ended is not None and ended <= self.today)

    @property
    def dry_good(self) -> float:
        return self.dry * self.good / self.row["bags"]

    @property
    def fresh(self) -> float:
        return sum(fresh for _, _, fresh in self.picked)

    def picked_on(self, flush: int) -> int | None:
        """First day, from 0001-01-01, on which a flush was picked."""
        days = [when.toordinal() for number, when, _ in self.picked if number == flush]
        return min(days, default=None)

    @property
    def last_flush(self) -> int:
        """The last flush that was picked, 0 before the first."""
        return max([0, *(flush for flush, _, _ in self.picked)])

    def kept_for(self, interval: float) -> int:
        """Return the last flush that an ended batch gave, or whose day it lived to see."""
        ended, kept = day(self.row["ended"]), self.last_flush
        if kept and ended and interval:
            kept += max(0, int((ended.toordinal() - self.picked_on(kept)) // interval))
        return max(kept, self.row["moved"] is not None)


@dataclass
class Season:
    """A workbook's inputs, its batches, and what some of its sheets show."""

    typed: dict[str, Any]
    tables: dict[str, list[Row]]
    batches: list[Batch]
    strains: dict[str, Part]
    results: dict[str, Part]
    forecast: dict[str, Part]

    @property
    def today(self) -> date:
        found = day(self.typed["as_of"])
        assert found is not None
        return found

    def strain(self, name: str) -> Row:
        """Return what is planned of a strain."""
        return next(row for row in self.tables["strains"] if row["strain"] == name)

    def used(self, name: str) -> Row:
        """Return what is used of plan and own figures."""
        return next(row for row in self._used if row["strain"] == name)

    @cached_property
    def _used(self) -> list[Row]:
        harvests = self.tables["harvests"]
        return used_strains(self.typed, self.tables["strains"], harvests, self.batches)


def day(value: date | None) -> date | None:
    return value.date() if isinstance(value, datetime) else value


@cache
def season(kind: str) -> Season:
    """Read the demo, or a workbook with another season, drawn at random."""
    values = made("metric", "demo").values if kind == "demo" else _drawn()
    typed = singles(values)
    names = ("strains", "recipes", "batches", "harvests", "losses", "products", "unusual_weeks")
    names += ("orders",)
    tables = {name: table(values, name, "metric") for name in names}
    today = day(typed["as_of"])
    batches = [batch_of(row, tables, typed, today) for row in tables["batches"]]
    shown = parts(values["Strains"]), with_workings(values), parts(values["Forecast"])
    return Season(typed, tables, batches, *shown)


def with_workings(values: Workbook) -> dict[str, Part]:
    """Return what the Results sheet shows, the rows of its lists with their workings."""
    shown, steps = (parts(values[name]) for name in ("Results", workings_name("Results")))
    for title, part in shown.items():
        for row, working in zip(part.rows, steps[title].rows if title in steps else []):
            row.update(working)
    return shown


def batch_of(row: Row, tables: dict[str, list[Row]], typed: Row, today: Any) -> Batch:
    recipe = next(one for one in tables["recipes"] if one["recipe"] == row["recipe"])
    mass = typed["block_mass"] if row["block_mass"] is None else row["block_mass"]
    moisture = recipe["target_moisture"] if row["moisture"] is None else row["moisture"]
    lost = sum(one["blocks"] for one in tables["losses"] if one["batch"] == row["batch"])
    picked = [
        (one["flush"], day(one["date"]), one["fresh"])
        for one in tables["harvests"]
        if one["batch"] == row["batch"]
    ]
    return Batch(row, lost, row["bags"] * mass * (1 - moisture), picked, today)


def _drawn() -> Workbook:
    """Build a workbook whose logs are drawn without much sense: gaps, delays, lost batches."""
    random = Random(7)
    entries = demo_entries("metric")
    today = entries.singles["as_of"]
    strains = [row["strain"] for row in entries.tables["strains"]]
    logs: dict[str, list[Row]] = defaultdict(list)
    for number in range(80):
        _draw_batch(logs, f"N{number}", random.choice(strains[:3] * 3 + strains[3:]), today, random)
    random.shuffle(logs["harvests"])
    entries.tables |= {"spawn_lots": [], "steam_runs": [], "steam_log": []} | logs
    entries.singles |= {"enough_batches": 6, "widest_interval": 0.08}
    entries.singles |= {"logged_run": None, "trace_spawn_lot": None}
    path = shared("drawn.xlsx", lambda path: build(path, Settings(), entries))
    return openpyxl.load_workbook(path, data_only=True)


def _draw_batch(
    logs: dict[str, list[Row]], name: str, strain: Any, today: Any, random: Random
) -> None:
    made_on = today - timedelta(random.randint(0, 420))
    bags = random.randint(5, 60)
    row: Row = {"batch": name, "made": made_on, "strain": strain, "bags": bags}
    row["recipe"] = random.choice(("Beech and bran", "Maple and bran", "Beech and cotton"))
    if random.random() < 0.4:
        row["moisture"] = round(random.uniform(0.55, 0.66), 3)
    if random.random() < 0.2:
        row["block_mass"] = round(random.uniform(2, 5), 2)
    lost = random.choice((0, 0, 1, 3, bags // 3, bags if random.random() < 0.2 else 0))
    if lost:
        loss = {"batch": name, "date": made_on, "blocks": lost, "cause": "other"}
        logs["losses"].append(loss)
    moved = made_on + timedelta(random.randint(12, 45))
    if moved <= today and lost < bags:
        row["moved"] = moved
        last = _draw_harvests(logs["harvests"], name, moved, today, random)
        if last + timedelta(20) <= today and random.random() < 0.9:
            row["ended"] = last + timedelta(random.randint(0, 20))
    logs["batches"].append(row)


def _draw_harvests(rows: list[Row], name: str, moved: date, today: date, random: Random) -> date:
    when = moved
    for flush in range(1, random.randint(1, 4)):
        when += timedelta(random.randint(4, 16))
        for more in range(random.randint(0, 3)):  # now and then a flush is left out
            picked = when + timedelta(more)
            if picked <= today:
                fresh = round(random.uniform(1, 30), 2)
                rows.append({"batch": name, "date": picked, "flush": flush, "fresh": fresh})
    return min(today, when + timedelta(3))
