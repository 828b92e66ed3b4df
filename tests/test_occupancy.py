"""The blocks in each room on each day: the sheet against a count of its own, in drawn cases.

The count goes day by day through what is typed and the starts that the sheet shows
(``occupancy_model``); the sheet has sums over conditions.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from random import Random
from typing import Any

import pytest
from logged_batches import RECIPE, STRAINS, LoggedBatches
from occupancy_model import DAYS, FRUITING, INCUBATION, Standing, Start

from workbook_template.demo.data import demo_entries
from workbook_template.schema.figures import PLAN_ONLY
from workbook_template.schema.room_rows import MOST_ROOMS
from workbook_template.sheets.week_plan_starts import STARTS

EXACT = 1e-9
SEEDS = (1, 2, 3, 4, 5)
FIRST = date(1899, 12, 30)
SIZE = {"length": 8.0, "width": 4.0, "height": 2.5, "temperature": 18.0, "humidity": 0.8}


class Rooms(LoggedBatches):
    """A farm with drawn rooms and batches in every state, some of them in rooms that are typed."""

    def __init__(self, seed: int) -> None:
        random = Random(f"rooms {seed}")
        entries = demo_entries("metric")
        today = date(2026, 9, 14) + timedelta(random.randrange(7))
        entries.singles |= {"as_of": today, "figures_used": PLAN_ONLY, "logged_run": None}
        for key in ("steam_log", "steam_runs", "spawn_lots", "surfaces"):
            entries.tables[key] = []
        rooms = entries.tables["rooms"] = _rooms(random, today)
        strains = entries.tables["strains"]
        for strain in strains:  # days that are no whole ones are rounded once
            strain["incubation_days"] += random.choice((0, 0, 0.3, 0.6))
        batches, losses, harvests = _batches(random, today, rooms, strains)
        entries.tables |= {"batches": batches, "losses": losses, "harvests": harvests}
        for line in entries.tables["products"]:
            line["packs_per_week"] = round(line["packs_per_week"] * random.uniform(0.4, 1.2))
        self._lay_out(entries, len(batches))
        self.rooms = rooms
        self.standing = Standing(
            today,
            strains,
            batches,
            losses,
            harvests,
            rooms,
            entries.singles["turnover_days"],
            [],
        )

    def starts(self) -> list[Start]:
        """Return the starts that the sheet shows."""
        found = []
        for row in range(STARTS.rows):
            left = self.value("starts.blocks", row)
            if isinstance(left, int | float) and left > 0:
                strain = self.value("strains.strain", int(self.value("starts.strain_row", row)) - 1)
                is_whole = self.value("starts.crop", row).endswith(", blocks")
                day = FIRST + timedelta(self.value("starts.start", row))
                found.append(Start(day, left, strain, is_whole))
        return found

    def shown(self) -> dict[tuple[str, date], tuple[float, int]]:
        """Return the blocks and spaces of each room and day that the sheet shows."""
        found = {}
        for row in range(DAYS * MOST_ROOMS):
            blocks = self.value("occupancy.blocks", row)
            if isinstance(blocks, int | float):
                room = self.rooms[int(self.value("occupancy.at", row)) - 1]["room"]
                day = FIRST + timedelta(self.value("occupancy.day", row))
                found[room, day] = blocks, self.value("occupancy.spaces", row)
        return found


def _rooms(random: Random, today: date) -> list[dict[str, Any]]:
    """Draw rooms in any order, a few of them closed for a time, at times all of a stage."""
    rooms = []
    for number in range(random.randint(3, MOST_ROOMS)):
        stage = (
            (INCUBATION, FRUITING)[number] if number < 2 else random.choice((INCUBATION, FRUITING))
        )
        room: dict[str, Any] = {"room": f"Room {number + 1}", "stage": stage, "ppm": 1000.0}
        room |= SIZE | {"spaces": random.randint(40, 260), "equipment": 100.0}
        room |= {"filled": 0.5} if stage == INCUBATION else {"standing": 10.0}
        if random.random() < 0.5:
            room["closed_from"] = today + timedelta(random.randint(-10, 70))
            room["closed_until"] = room["closed_from"] + timedelta(random.randint(0, 20))
        rooms.append(room)
    random.shuffle(rooms)
    return rooms


def _batches(
    random: Random, today: date, rooms: list[dict[str, Any]], strains: list[dict[str, Any]]
) -> tuple[list[dict[str, Any]], list[dict[str, Any]], list[dict[str, Any]]]:
    """Draw batches that incubate, are overdue, fruit, have given flushes, or have ended."""
    batches, losses, harvests = [], [], []
    for number in range(30):
        name = f"N{number}"
        made = today - timedelta(random.randint(0, 75))
        batch: dict[str, Any] = {"batch": name, "made": made, "recipe": RECIPE}
        batch |= {"strain": random.choice(STRAINS), "bags": random.randint(10, 70)}
        strain = next(one for one in strains if one["strain"] == batch["strain"])
        for stage in (INCUBATION, FRUITING):
            named = [room["room"] for room in rooms if room["stage"] == stage]
            batch[f"{stage}_room"] = random.choice((*named, None, None))
        moved = made + timedelta(round(strain["incubation_days"]) + random.randint(-3, 4))
        if moved <= today and random.random() < 0.8:
            batch["moved"] = moved
            day = moved + timedelta(random.randint(5, 15))
            for flush in range(1, random.randint(1, int(strain["flushes"]) + 1)):
                if day <= today:
                    harvests.append({"batch": name, "date": day, "flush": flush, "fresh": 5.0})
                    day += timedelta(random.randint(7, 16))
            if random.random() < 0.2:
                batch["ended"] = min(today, day)
        if random.random() < 0.6:
            lost = random.choice((1, 2, 5, batch["bags"]))
            losses.append({"batch": name, "date": today, "blocks": lost, "cause": "other"})
        batches.append(batch)
    harvests.sort(key=lambda row: row["date"])
    return batches, losses, harvests


@cache
def farm(seed: int) -> tuple[Rooms, Standing]:
    """Return a drawn farm as the sheet computes it, and what the count is made from."""
    book = Rooms(seed)
    return book, replace(book.standing, starts=book.starts())


@pytest.mark.parametrize("seed", SEEDS)
def test_blocks_by_room_and_day(seed: int) -> None:
    book, standing = farm(seed)
    shown, expected = book.shown(), standing.by_room_and_day()
    assert shown.keys() == expected.keys()
    for key, (blocks, spaces) in expected.items():
        assert shown[key] == (pytest.approx(blocks, abs=EXACT), spaces), key


def test_the_drawn_farms_have_all_that_matters() -> None:
    """Typed rooms, closures with blocks in them, over-full days, starts of every kind."""
    days = [one for seed in SEEDS for one in farm(seed)[1].by_room_and_day().values()]
    assert any(blocks > spaces > 0 for blocks, spaces in days)
    assert any(blocks > spaces == 0 for blocks, spaces in days)
    assert any(0 < blocks < spaces for blocks, spaces in days)
    starts = [one for seed in SEEDS for one in farm(seed)[1].starts]
    assert {one.is_sold_whole for one in starts} == {True, False}


def over_full(standing: Standing) -> list[tuple[date, int, str, float, int]]:
    """Return the over-full days from today on: day, row of the room, room, blocks, spaces."""
    rows = [room["room"] for room in standing.rooms]
    return sorted(
        (day, rows.index(room), room, blocks, spaces)
        for (room, day), (blocks, spaces) in standing.by_room_and_day().items()
        if day >= standing.today and blocks > spaces + 1e-6
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_over_full_days_are_listed_today_first(seed: int) -> None:
    book, standing = farm(seed)
    for row, (day, _, room, blocks, spaces) in enumerate(over_full(standing)[:8]):
        whole = -int(-(blocks - 1e-9) // 1)
        assert book.value("over_full.room", row) == room
        assert FIRST + timedelta(book.value("over_full.day", row)) == day
        assert book.value("over_full.blocks", row) == whole
        assert book.value("over_full.spaces", row) == spaces
        assert book.value("over_full.over", row) == whole - spaces


@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_over_full_room_is_named_on_start(seed: int) -> None:
    book, standing = farm(seed)
    days = over_full(standing)
    assert days
    first, _, room, blocks, spaces = days[0]
    count = sum(one[2] == room for one in days)
    said = f"{room} is over-full on "
    said += f"{count} days, first on {first}: " if count > 1 else f"{first}: "
    whole = -int(-(blocks - 1e-9) // 1)
    said += f"{whole} blocks " + (f"in {spaces} spaces." if spaces else "while it is closed.")
    assert book.value("unusual.words", 0) == said


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_free_in_fruiting_in_each_week(seed: int) -> None:
    """On its fullest day, from today on."""
    book, standing = farm(seed)
    free: dict[int, float] = {}
    for (stage, day), (blocks, spaces) in standing.by_stage_and_day().items():
        if stage == FRUITING and day >= standing.today:
            week = (day - standing.monday).days // 7
            free[week] = min(free.get(week, 1e9), spaces - blocks)
    assert len(free) == DAYS // 7
    for week, spaces in free.items():
        assert book.value("room_weeks.free", week) == pytest.approx(spaces, abs=EXACT)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_station_is_as_full_as_its_fullest_day_of_the_week(seed: int) -> None:
    book, standing = farm(seed)
    shares: dict[tuple[str, int], float] = {}
    for (stage, day), (blocks, spaces) in standing.by_stage_and_day().items():
        week = (day - standing.monday).days // 7
        shares[stage, week] = max(shares.get((stage, week), 0.0), blocks / max(1, spaces))
    for (stage, week), share in shares.items():
        assert book.value(f"shares.{stage}", week) == pytest.approx(share, abs=EXACT)
