"""Farms drawn at random whose plan a workbook makes, and whose life goes as planned.

All days are whole and the plan's figures are true, so that what the simulation lacks is the plan's.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

from logged_batches import RECIPE, STRAINS
from plan_simulation import Batch, Crop, Delivery, Farm, Room
from running_farms import RunningFarm

from cultivar_fx.calls.cells import serial
from workbook_template.demo.data import demo_entries

KINDS = ("steady", "ramp", "holiday peak", "one-off orders", "closed room")
GROWN = STRAINS[:3]
WEEKS = 12
AHEAD = 30  # weeks of demand
ROWS = 12
"""Batches in progress."""
SPECIAL, ORDERED, RHYTHMS = 64, 6, 4
ASKED = ("batches.dry_substrate", "crops.*", "crop_weeks.*", "starts.*", "occupancy.*")
MONDAY = date(2026, 9, 14)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass
class Drawn:
    """What is typed, and the same farm to live through."""

    farm: Farm
    typed: dict[str, Any]
    """Single inputs."""
    strains: list[dict[str, Any]]
    packs: list[int]
    """Usual ones, by crop; the last crop is sold whole."""
    special: list[tuple[int, date, int]]
    orders: list[tuple[int, int, date, date | None]]
    """Crop, packs, first and last day."""
    rhythms: list[tuple[int, int, date]]
    """Crop, weeks from start to start, a day in a week with a start."""
    rooms: list[Room]

    def wanted(self) -> list[Delivery]:
        """Return what is to be had on which day, from today on."""
        special = {(crop, monday): packs for crop, monday, packs in self.special}
        market = self.farm.next_market(self.farm.today)
        found = []
        for week in range(AHEAD):
            day = market + timedelta(7 * week)
            monday = day - timedelta(day.weekday())
            for crop, usual in enumerate(self.packs):
                found.append(Delivery(day, crop, special.get((crop, monday), usual)))
        for crop, packs, first, last in self.orders:
            day = first
            while day <= (last or first):
                # What is picked for a market before today is sold or kept already.
                if day >= market:
                    found.append(Delivery(day, crop, packs))
                day += timedelta(7)
        return sorted(found, key=lambda one: one.day)


def drawn(kind: str, seed: int, dry: float) -> Drawn:
    """Draw a farm of a kind; ``dry`` is the dry substrate of a block in kilograms."""
    chance = Random(f"{kind} {seed}")
    today = MONDAY + timedelta(chance.randrange(7))
    days_before = chance.randrange(4)
    typed = {
        "as_of": serial(today),
        "market_day": (market := chance.choice(WEEKDAYS)),
        "mixing_day": chance.choice(("any day", *WEEKDAYS)),
        "days_before_market": days_before,
        "turnover_days": (turnover := chance.randrange(3)),
        "figures_used": "plan only",
        "start_confidence": chance.choice((0.5, 0.8, 0.95)),
    }
    strains, crops = [], []
    for _ in GROWN:
        row = {
            "incubation_days": chance.randrange(10, 26),
            "first_flush_days": chance.randrange(4, 12),
            "flush_interval_days": chance.randrange(6, 17),
            "flushes": chance.randrange(1, 4),
            "be_1": round(chance.uniform(0.4, 0.8), 2),
            "be_2": round(chance.uniform(0.1, 0.4), 2),
            "be_3": round(chance.uniform(0.05, 0.2), 2),
            "loss_rate": round(chance.uniform(0.01, 0.15), 3),
        }
        strains.append(row)
        crops.append(
            Crop(
                row["incubation_days"],
                row["first_flush_days"],
                row["flush_interval_days"],
                tuple(dry * row[f"be_{n}"] for n in range(1, row["flushes"] + 1)),
                row["loss_rate"],
            )
        )
    crops.append(crops[0]._replace(gives=(1.0,)))
    farm = Farm(today, WEEKDAYS.index(market), days_before, turnover, crops, [])
    _past(farm, chance)
    packs = [chance.randrange(5, 40) for _ in crops]
    return Drawn(
        farm,
        typed,
        strains,
        packs,
        _special(kind, chance, today, packs),
        _orders(chance, today, len(crops)) if kind == "one-off orders" else [],
        [
            (crop, every, today + timedelta(chance.randrange(-20, 20)))
            for crop in chance.sample(range(len(crops)), 2)
            if (every := chance.randrange(1, 5)) > 1
        ],
        _rooms(kind, chance, today),
    )


def _rooms(kind: str, chance: Random, today: date) -> list[Room]:
    """Draw an incubation room and two fruiting rooms, one of them closed for two weeks at times."""
    first = today + timedelta(chance.randrange(-5, 60))
    closed = (first, first + timedelta(13)) if kind == "closed room" else None
    return [
        Room("incubation", chance.randrange(100, 900)),
        Room("fruiting", chance.randrange(50, 300)),
        Room("fruiting", chance.randrange(50, 300), closed),
    ]


def _past(farm: Farm, chance: Random) -> None:
    """Let the farm live up to the evening before its first day, as planned."""
    made = sorted(farm.today - timedelta(chance.randrange(1, 60)) for _ in range(ROWS))
    starts = []
    for day in made:
        crop = chance.randrange(len(farm.crops))
        blocks = chance.randrange(10, 60)
        is_whole = farm.crops[crop].is_whole
        starts.append(Batch(crop, day, blocks, blocks * (1 - farm.crops[crop].loss * is_whole)))
    begun = made[0]
    before = Farm(begun, farm.market, farm.before_market, farm.turnover, farm.crops, [])
    life = before.live(starts, [], (farm.today - begun).days)
    farm.cellar = {key: amount for key, amount in life.cellar.items() if key[1] >= farm.today}
    for batch in starts:
        if batch.moved is None:  # none of them was lost so far
            batch.good = batch.blocks * (1 - farm.crops[batch.crop].loss)
    farm.batches = starts


def _special(
    kind: str, chance: Random, today: date, packs: list[int]
) -> list[tuple[int, date, int]]:
    monday = today - timedelta(today.weekday())
    if kind == "ramp":
        crop, grows = chance.randrange(len(packs)), chance.uniform(1.03, 1.2)
        return [
            (crop, monday + timedelta(7 * week), round(packs[crop] * grows**week))
            for week in range(min(AHEAD, 20))
        ]
    if kind == "holiday peak":
        week = monday + timedelta(7 * chance.randrange(3, 14))
        return [(crop, week, 3 * usual) for crop, usual in enumerate(packs)]
    return []


def _orders(chance: Random, today: date, crops: int) -> list[tuple[int, int, date, date | None]]:
    found = []
    for _ in range(ORDERED):
        first = today + timedelta(chance.randrange(1, 80))
        last = first + timedelta(chance.randrange(1, 60)) if chance.random() < 0.4 else None
        found.append((chance.randrange(crops), chance.randrange(3, 40), first, last))
    return found


class PlannedFarm(RunningFarm):
    """A workbook whose farm can be typed anew; its plan is computed."""

    def __init__(self) -> None:
        entries = demo_entries("metric")
        for log in ("spawn_lots", "steam_runs", "steam_log", "losses"):
            entries.tables[log] = []
        usual = entries.tables["products"][0] | {
            "recipe": RECIPE,
            "form": "fresh",
            "pack_mass": 1.0,
            "sold_share": 1.0,
        }
        lines = [usual | {"product": name, "strain": name} for name in GROWN]
        self.products = [*GROWN, "blocks"]
        lines.append(
            usual | {"product": "blocks", "strain": GROWN[0], "form": "block", "pack_mass": None}
        )
        entries.tables["products"] = lines
        day = MONDAY - timedelta(300)
        batches = [f"N{number}" for number in range(ROWS)]
        entries.tables |= {
            "unusual_weeks": [
                {"product": GROWN[0], "week": day, "packs": 1} for _ in range(SPECIAL)
            ],
            "orders": [
                {"customer": "one", "product": GROWN[0], "packs": 1, "date": day, "until": day}
                for _ in range(ORDERED)
            ],
            "rhythms": [
                {"strain": GROWN[0], "recipe": RECIPE, "every": 1, "week": day}
                for _ in range(RHYTHMS)
            ],
            "batches": [
                {
                    "batch": batch,
                    "made": day,
                    "strain": GROWN[0],
                    "recipe": RECIPE,
                    "bags": 10,
                    "moved": day,
                    "ended": day,
                    "sold_whole": "yes",
                }
                for batch in batches
            ],
            "harvests": [
                {"batch": batch, "date": day, "flush": flush, "fresh": 1.0}
                for batch in batches
                for flush in (1, 2, 3)
            ],
        }
        rooms = {room["stage"]: room for room in entries.tables["rooms"]}
        entries.tables["rooms"] = [
            rooms[stage] | {"room": f"Room {number}", "closed_from": day, "closed_until": day}
            for number, stage in enumerate(("incubation", "fruiting", "fruiting"))
        ]
        entries.tables["surfaces"] = []
        self._lay_out(entries, ROWS, ASKED)

    def type_plan(self, of: Drawn) -> None:
        """Type what the farm knows this morning, and compute."""
        for key, value in of.typed.items():
            self.set(key, value)
        for key in of.strains[0]:
            self.set_column(f"strains.{key}", [row[key] for row in of.strains])
        self.set_column("products.packs_per_week", of.packs)
        names = self.products
        self._type_rows(
            "unusual_weeks",
            ("product", "week", "packs"),
            [(names[crop], serial(monday), packs) for crop, monday, packs in of.special],
            SPECIAL,
        )
        self._type_rows(
            "orders",
            ("product", "customer", "packs", "date", "until"),
            [
                (names[crop], "one", packs, serial(first), last and serial(last))
                for crop, packs, first, last in of.orders
            ],
            ORDERED,
        )
        self._type_rows(
            "rhythms",
            ("strain", "recipe", "every", "week"),
            [
                (GROWN[crop % len(GROWN)], RECIPE, every, serial(day))
                for crop, every, day in _one_of_a_strain(of.rhythms)
            ],
            RHYTHMS,
        )
        self.set_column("rooms.spaces", [room.spaces for room in of.rooms])
        for key, end in (("closed_from", 0), ("closed_until", 1)):
            days = [room.closed and serial(room.closed[end]) for room in of.rooms]
            self.set_column(f"rooms.{key}", days)
        self._type_past(of.farm)
        self.compute()

    def _type_past(self, farm: Farm) -> None:
        rows, harvests = [], []
        for number, batch in enumerate(farm.batches):
            crop = farm.crops[batch.crop]
            moved = None if crop.is_whole or batch.moved is None else serial(batch.moved)
            ended = batch.cleared and serial(batch.cleared)
            if batch.sold_on and batch.sold_on >= farm.today:
                ended = None
            rows.append(
                (
                    GROWN[batch.crop % len(GROWN)],
                    serial(batch.made),
                    batch.blocks,
                    moved,
                    ended,
                    "yes" if crop.is_whole else None,
                )
            )
            harvests += [
                (f"N{number}", serial(day), flush, amount)
                for flush, (day, amount) in enumerate(batch.picked, 1)
                if not crop.is_whole
            ]
        columns = ("strain", "made", "bags", "moved", "ended", "sold_whole")
        self._type_rows("batches", columns, rows, ROWS)
        harvests.sort(key=lambda row: row[1])
        self._type_rows("harvests", ("batch", "date", "flush", "fresh"), harvests, 3 * ROWS)

    def starts(self) -> list[Batch]:
        """Return the starts of the plan."""
        crops = self.column("crops.crop", 4)
        found = []
        for row in range(4 * WEEKS):
            blocks = self.value("starts.blocks", row)
            if blocks:
                crop = crops.index(self.value("starts.crop", row))
                day = date(1899, 12, 30) + timedelta(self.value("starts.start", row))
                good = blocks * (1 - self.value("crops.loss", crop))
                found.append(Batch(crop, day, blocks, good))
        return found


def _one_of_a_strain(
    rhythms: list[tuple[int, int, date]],
) -> list[tuple[int, int, date]]:
    """Blocks sold whole are of the first strain, on its recipe: they share its rhythm."""
    return list({crop % len(GROWN): (crop, every, day) for crop, every, day in rhythms}.values())
