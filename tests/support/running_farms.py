"""Farms that run day by day with known rates, and a workbook that their logs are typed into."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from logged_batches import RECIPE, STRAINS, LoggedBatches

from cultivar_fx.calls.cells import serial
from workbook_template.demo.data import demo_entries

if TYPE_CHECKING:
    from collections.abc import Sequence

MONDAY = date(2026, 9, 14)
GROWN = 3
"""Strains that a farm grows."""
WHOLE = 0.01
"""Share of the batches that are lost whole."""


@dataclass
class Strain:
    """What is true of a strain; the plan is what the farm believes of it."""

    incubation: float
    first: float
    interval: float
    be: tuple[float, float]
    loss: float
    plan: dict[str, float]


@dataclass
class Run:
    """A batch from its making to its last flush, whether or not that has come."""

    strain: int
    made: date
    moved: date
    blocks: int
    lost: int
    flushes: list[tuple[date, float]]
    """Day and fresh mass of each."""

    @property
    def ended(self) -> date:
        return self.flushes[-1][0] + timedelta(1) if self.flushes else self.moved


class Spread(NamedTuple):
    """By how much the batches of a farm differ."""

    mass: float
    days: float
    correlation: float


@dataclass
class Farm:
    """What is true of a farm, and its batches in the order made."""

    strains: list[Strain]
    spread: Spread
    runs: list[Run]
    today: date
    packs: list[int]
    """Of a kilogram, asked for in a week, by strain."""

    def picked(self, strain: int, week: int) -> float:
        """Add up what a week gives in the end, in kilograms; this week is 0."""
        monday = MONDAY + timedelta(7 * week)
        return sum(
            mass
            for run in self.runs
            if run.strain == strain
            for when, mass in run.flushes
            if monday <= when < monday + timedelta(7)
        )


def drawn(chance: np.random.Generator, count: int, dry: float) -> Farm:
    """Draw a farm and what becomes of its batches.

    Parameters
    ----------
    chance : numpy.random.Generator
        Draws.
    count : int
        How many batches it has made so far.
    dry : float
        The dry substrate of a block, in kilograms.

    Returns
    -------
    Farm
        All flushes of all batches, those to come included.
    """
    spread = Spread(
        mass=chance.uniform(0.12, 0.35),
        days=chance.uniform(1.0, 3.0),
        correlation=chance.uniform(0.002, 0.04),
    )
    strains = [_strain(chance, spread) for _ in range(GROWN)]
    today = MONDAY + timedelta(int(chance.integers(7)))
    gaps = chance.integers(1, 5, count)
    ages = np.cumsum(gaps)[::-1]
    runs = [
        _run(chance, strains, spread, int(chance.integers(GROWN)), today - timedelta(int(age)), dry)
        for age in ages
    ]
    made = {n: sum(run.strain == n for run in runs) / (ages[0] / 7) for n in range(GROWN)}
    usual = [made[n] * 60 * dry * sum(one.be) for n, one in enumerate(strains)]
    packs = [max(1, round(each * chance.uniform(0.4, 1.2))) for each in usual]
    return Farm(strains, spread, runs, today, packs)


def _strain(chance: np.random.Generator, spread: Spread) -> Strain:
    """Draw a strain; the plan is as good as four batches would make it."""
    be = (chance.uniform(0.45, 0.8), chance.uniform(0.15, 0.35))
    days = [chance.uniform(14, 28), chance.uniform(6, 12), chance.uniform(9, 15)]
    loss = chance.uniform(0.03, 0.1)
    plan = {
        f"be_{flush}": each * max(0.3, 1 + chance.normal() * spread.mass / 2)
        for flush, each in enumerate(be, 1)
    }
    keys = ("incubation_days", "first_flush_days", "flush_interval_days")
    plan |= {
        key: round(each + chance.normal() * spread.days / 2) * 1.0
        for key, each in zip(keys, days, strict=True)
    }
    plan |= {"loss_rate": loss * chance.uniform(0.7, 1.3), "flushes": 2.0}
    return Strain(*days, be, loss, plan)


def _run(
    chance: np.random.Generator,
    strains: Sequence[Strain],
    spread: Spread,
    strain: int,
    made: date,
    dry: float,
) -> Run:
    true = strains[strain]

    def after(start: date, days: float) -> date:
        return start + timedelta(max(1, round(days + chance.normal() * spread.days)))

    blocks = int(chance.integers(40, 80))
    scale = (1 - spread.correlation) / spread.correlation
    rate = chance.beta(true.loss * scale, (1 - true.loss) * scale)
    lost = blocks if chance.uniform() < WHOLE else int(chance.binomial(blocks, rate))
    day = moved = after(made, true.incubation)
    flushes = []
    for number, be in enumerate(true.be if lost < blocks else ()):
        day = after(day, true.interval if number else true.first)
        shape = 1 / spread.mass**2
        mass = be * dry * (blocks - lost) * chance.gamma(shape, 1 / shape)
        flushes.append((day, mass))
    return Run(strain, made, moved, blocks, lost, flushes)


class RunningFarm(LoggedBatches):
    """The logs of a farm up to the morning of a day; farms can be typed over each other."""

    def __init__(self, count: int) -> None:
        entries = demo_entries("metric")
        for log in ("spawn_lots", "steam_runs", "steam_log", "unusual_weeks"):
            entries.tables[log] = []
        entries.tables["products"] = [
            entries.tables["products"][0]
            | {"product": name, "strain": name, "pack_mass": 1.0, "sold_share": 1.0}
            for name in STRAINS[:GROWN]
        ]
        day = MONDAY - timedelta(300)
        batches = [f"N{number}" for number in range(count)]
        entries.tables["batches"] = [
            {
                "batch": batch,
                "made": day,
                "strain": STRAINS[0],
                "recipe": RECIPE,
                "bags": 10,
                "moved": day,
                "ended": day,
            }
            for batch in batches
        ]
        entries.tables["losses"] = [
            {"batch": batch, "date": day, "blocks": 1, "cause": "other"} for batch in batches
        ]
        entries.tables["harvests"] = [
            {"batch": batch, "date": day, "flush": flush, "fresh": 1.0}
            for batch in batches
            for flush in (1, 2)
        ]
        lists = ("range", "expected", "low", "high", "chance", "asked", "balance")
        asked = ["forecast_words", "batches.dry_substrate", *(f"{key}.*" for key in lists)]
        self._lay_out(entries, count, asked)

    @property
    def dry(self) -> float:
        """The dry substrate of a block, in kilograms."""
        return self.value("batches.dry_substrate") / self.value("batches.bags")

    def type_in(self, farm: Farm) -> None:
        """Type what a farm knows in the morning of its day, and compute."""
        self.set("as_of", serial(farm.today))
        for key in farm.strains[0].plan:
            self.set_column(f"strains.{key}", [one.plan[key] for one in farm.strains])
        self.set_column("products.packs_per_week", farm.packs)
        self._type_batches(farm)
        names = [f"N{row}" for row in range(self.count)]
        harvests = sorted(
            (when, name, flush, mass)
            for name, run in zip(names, farm.runs, strict=True)
            for flush, (when, mass) in enumerate(run.flushes, 1)
            if when < farm.today
        )
        picked = [(serial(when), *others) for when, *others in harvests]
        self._type_rows("harvests", ("date", "batch", "flush", "fresh"), picked, 2 * self.count)
        losses = [
            (serial(run.moved), name, run.lost, "other")
            for name, run in zip(names, farm.runs, strict=True)
            if run.lost and run.moved < farm.today
        ]
        self._type_rows("losses", ("date", "batch", "blocks", "cause"), losses, self.count)
        self.compute()

    def _type_batches(self, farm: Farm) -> None:
        def known(day: date) -> float | None:
            return serial(day) if day < farm.today else None

        rows = [
            (STRAINS[run.strain], serial(run.made), run.blocks, known(run.moved), known(run.ended))
            for run in farm.runs
        ]
        self._type_rows("batches", ("strain", "made", "bags", "moved", "ended"), rows, self.count)

    def _type_rows(
        self, table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]], count: int
    ) -> None:
        """Type the rows of a log, and clear those behind them."""
        blank = [None] * (count - len(rows))
        for number, column in enumerate(columns):
            self.set_column(f"{table}.{column}", [*(row[number] for row in rows), *blank])
