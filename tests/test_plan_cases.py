"""Three farms that a plan of alike weeks gets wrong, by their numbers.

An order that only first flushes can meet; crops of one recipe that share a mixer load; rooms that
are full of what stands in them already. The figures are worked out beside each.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from math import ceil
from typing import Any

import pytest
from logged_batches import RECIPE, STRAINS, LoggedBatches

from cultivar_fx.calls.cells import serial
from workbook_template.demo.data import demo_entries

MONDAY = date(2026, 9, 14)
POUND = 0.45359237
BATCHES = 4
PER_BLOCK = 0.93 * 6 * 0.38  # lb: good share, mass, dry share of a block
"""BE times this is what a flush gives of a block that is started."""
FIRST, SECOND = 1.79 / PER_BLOCK, (3.05 - 1.79) / PER_BLOCK


class Kitchens(LoggedBatches):
    """Four strains on one recipe, and blocks sold whole: five crops."""

    def __init__(self) -> None:
        entries = demo_entries("metric")
        for log in ("spawn_lots", "steam_runs", "steam_log", "losses", "harvests"):
            entries.tables[log] = []
        entries.singles |= {
            "as_of": MONDAY,
            "block_mass": 6 * POUND,
            "market_day": "Saturday",
            "mixing_day": "Monday",
            "days_before_market": 1.0,
            "figures_used": "plan only",
            "start_confidence": 0.5,
            "spawn_lead": 14.0,
        }
        entries.tables["unusual_weeks"] = []
        entries.tables["rhythms"] = [
            {"strain": STRAINS[0], "recipe": RECIPE, "every": 1, "week": MONDAY}
        ]
        recipe = next(one for one in entries.tables["recipes"] if one["recipe"] == RECIPE)
        recipe["target_moisture"] = 0.62
        for strain in entries.tables["strains"]:
            strain |= {"be_1": FIRST, "be_2": SECOND, "flushes": 2, "loss_rate": 0.07}
            strain |= {"incubation_days": 18, "first_flush_days": 9, "flush_interval_days": 14}
        line = entries.tables["products"][0] | {"recipe": RECIPE, "form": "fresh"}
        line |= {"pack_mass": 5 * POUND, "sold_share": 0.97, "packs_per_week": 0}
        entries.tables["products"] = [
            *(line | {"product": name, "strain": name} for name in STRAINS),
            line | {"product": "blocks", "strain": STRAINS[0], "form": "block", "pack_mass": None},
        ]
        entries.tables["orders"] = [
            {"customer": "kitchen", "product": STRAINS[0], "packs": 16, "date": MONDAY}
        ]
        rooms = {room["stage"]: room for room in entries.tables["rooms"]}
        entries.tables["rooms"] = [
            rooms["incubation"] | {"room": "Shelves", "spaces": 600},
            rooms["fruiting"] | {"room": "Tent", "spaces": 260},
        ]
        entries.tables["surfaces"] = []
        entries.tables["batches"] = [
            {
                "batch": f"N{number}",
                "made": MONDAY - timedelta(24 + number),
                "recipe": RECIPE,
                "strain": STRAINS[number],
                "bags": bags,
                "moved": MONDAY - timedelta(4 + number),
                "ended": MONDAY,
            }
            for number, bags in enumerate((80, 70, 76, 60))
        ]
        asked = ("starts.*", "loads.*", "shares.*", "over_full.*", "crop_weeks.*", "unusual.*")
        asked += ("order_answers.*",)
        self._lay_out(entries, BATCHES, asked)


@cache
def kitchens() -> Kitchens:
    return Kitchens()


def rows_of(book: Kitchens, *keys: str) -> list[dict[str, Any]]:
    """Return the starts with blocks."""
    rows = [{key: book.value(f"starts.{key}", row) for key in keys} for row in range(60)]
    return [row for row in rows if row["blocks"]]


def test_a_one_off_order_is_met_by_first_flushes_and_in_time() -> None:
    """16 packs of 5 lb, of which 97 % are sold: 82.5 lb. At 1.79 lb a block: 46.1, so 47 blocks."""
    book = kitchens()
    wednesday = MONDAY + timedelta(8 * 7 + 2)
    book.set("orders.date", serial(wednesday))
    book.compute()
    (start,) = rows_of(book, "blocks", "start", "market")
    assert start["blocks"] == ceil(16 * 5 / 0.97 / 1.79) == 47
    # Ready 18 + 9 days after the start and picked a day before the market, which is Saturday's.
    assert start["start"] + 28 <= start["market"] == serial(wednesday - timedelta(4))
    book.set("orders.date", serial(MONDAY))
    book.compute()
    assert rows_of(book, "blocks") == []


def answer(book: Kitchens, **order: Any) -> tuple[str, str, float, str, str]:
    """Type the order, and return its answer: ready by, start by, blocks, order spawn by, words."""
    typed = {"product": STRAINS[0], "packs": 16, "until": None, **order}
    for key, value in typed.items():
        book.set(f"orders.{key}", serial(value) if isinstance(value, date) else value)
    book.compute()
    ready, start, more, spawn, words = (
        book.value(f"order_answers.{key}")
        for key in ("ready", "start", "more", "order_by", "words")
    )
    days = (date(1899, 12, 30) + timedelta(day) if day else "" for day in (ready, start, spawn))
    ready, start, spawn = map(str, days)
    return ready, start, more, spawn, words


def test_a_kitchen_wants_80_pounds_once_in_six_weeks() -> None:
    """Wanted on Wednesday 2026-10-28: picked for Saturday the 24th, 28 days after the start.

    Blocks are mixed on Mondays: by 2026-09-21, with spawn ordered 14 days before, which is past.
    46.1 good blocks at 1.79 lb of 0.93 a block: 47, as above. Nothing else stands in the rooms.
    """
    book, wednesday = kitchens(), MONDAY + timedelta(6 * 7 + 2)
    crop = f"Start: {STRAINS[0]}, {RECIPE}"
    roomy = f"In time, and there is room. {crop}. Order spawn now."
    once = ("2026-10-24", "2026-09-21", 47, "2026-09-07", roomy)
    assert answer(book, date=wednesday) == once
    # In rooms of 40 spaces it does not fit; in incubation it stands from the first week on.
    book.set("rooms.spaces", 40)
    over = "In time, but over capacity: incubation, from the week of 2026-09-21."
    full = f"{over} {crop}. Order spawn now."
    assert answer(book, date=wednesday) == (*once[:-1], full)
    book.set("rooms.spaces", 600)
    # In full steam loads of 30 blocks these are 60; started every second week, from today on, they
    # are started a week before, since the next start would be too late.
    usual = book.value("blocks_per_load")
    book.set("blocks_per_load", 30)
    book.set("rhythms.whole", "steamer")
    assert answer(book, date=wednesday)[2] == 60
    book.set("rhythms.every", 2)
    assert answer(book, date=wednesday)[:3] == ("2026-10-24", "2026-09-14", 60)
    book.set("rhythms.every", 1)
    book.set("rhythms.whole", None)
    book.set("blocks_per_load", usual)
    # Each week until November: the same for the first delivery.
    weekly = answer(book, date=wednesday, until=date(2026, 11, 25))
    assert weekly == (*once[:-1], f"{roomy} Each week again.")
    # A week of 25 days before: Saturday 2026-10-10 took a start on Monday the 7th, the last day
    # Saturday the 12th. The first market in time is that of the start of today.
    late = answer(book, date=date(2026, 10, 14))
    gets = "That market gets 0.0 of 37.4 kg."
    said = f"Too late since 2026-09-13. {gets} Can be ready by 2026-10-17."
    assert late == ("2026-10-10", "", "", "", said)
    # 20 blocks sold whole, 97 % of them: 20.6 good ones of 0.93, ready 18 + 1 days after the start.
    blocks = answer(book, product="blocks", packs=20, date=wednesday)
    said = f"In time, and there is room. {crop}, blocks."
    assert blocks == ("2026-10-24", "2026-10-05", 23, "2026-09-21", said)
    book.set("orders.date", serial(MONDAY))
    assert answer(book, product=None, date=MONDAY) == ("", "", "", "", "")
    answer(book, date=MONDAY)


def test_crops_of_one_recipe_and_day_share_a_mixer_load() -> None:
    """Five crops of 6 to 9 blocks each, 37 together, in a mixer that takes 80: one load a week."""
    book = kitchens()
    wanted = (6, 7, 7, 8, 9)
    # A fruited block gives 3.05 lb of both flushes; a pack takes 5 lb. So many are enough for it.
    packs = [(blocks - 0.5) * 3.05 / 5 * 0.97 for blocks in wanted[:4]]
    book.set_column("products.packs_per_week", [*packs, (9 - 0.5) * 0.93 * 0.97])
    book.set("mixer_volume", 1000.0)
    book.compute()
    last = [row for row in rows_of(book, "blocks", "week") if row["week"] == serial(MONDAY) + 77]
    assert sum(row["blocks"] for row in last) == pytest.approx(37, abs=4)
    assert len(last) == 5
    assert book.column("loads.mixer", 12)[-1] == 1
    assert book.column("loads.steamer", 12)[-1] == 1
    book.set_column("products.packs_per_week", [0] * 5)
    book.compute()


def test_blocks_that_stand_in_a_room_already_are_counted() -> None:
    """80 + 70 + 76 + 60 blocks in fruiting are 286, in 260 spaces: 110 %, and it is said."""
    book = kitchens()
    book.set_column("batches.ended", [None] * BATCHES)
    book.compute()
    assert book.value("shares.fruiting", 0) == pytest.approx(286 / 260)
    day = [book.value(f"over_full.{key}", 0) for key in ("room", "day", "blocks", "spaces")]
    assert day == ["Tent", serial(MONDAY), 286, 260]
    assert "Tent is over-full" in book.value("unusual.words", 0)
    book.set_column("batches.ended", [serial(MONDAY)] * BATCHES)
    book.compute()
    assert book.value("shares.fruiting", 0) == 0
