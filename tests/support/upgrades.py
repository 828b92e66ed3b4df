"""Keeps one worked-in workbook for each version of the schema, to be carried over ever after.

``python tests/support/upgrades.py`` writes that of the present version, where there is none yet:
the workbook, and beside it what was entered.
"""

from __future__ import annotations

import json
import sys
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.comments import Comment

from workbook_template.build import build
from workbook_template.demo.data import demo_entries
from workbook_template.schema import SCHEMA_VERSION
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries

FOLDER = Path(__file__).parent.parent / "fixtures"
_ROWS = 4

OUNCES = 16  # in a pound
GALLON, CUBIC_FOOT = 231, 12**3  # cubic inches, by definition
POUND, LITERS = 0.45359237, 3.785411784  # kilograms; liters of a US gallon: both exact
FACTORS = {
    "mixer_volume": GALLON / CUBIC_FOOT,
    "recipes.bulk_density": CUBIC_FOOT / GALLON,
    "products.pack_mass": OUNCES,
    "steam_runs.water_metered": POUND / LITERS,
}
"""What numbers of the us system came times when their units changed."""
_UNITS_CHANGED = 4
"""The version of the schema that did it."""
_ROOMS_CHANGED = 5
"""The version of the schema that has a list of rooms."""


def kept(version: int) -> tuple[Path, Path]:
    """Return the places of a version's workbook and of what was entered into it."""
    return FOLDER / f"schema_{version}.xlsx", FOLDER / f"schema_{version}.json"


def entered(version: int) -> dict[str, Any]:
    """Read what was entered: singles, tables, and lines of sheet, cell and value besides."""
    content: dict[str, Any] = json.loads(kept(version)[1].read_text(encoding="utf-8"))
    return content


def entered_as_now(version: int) -> dict[str, Any]:
    """Return the same in the units and places of the present version; all are of us units."""
    content = entered(version)
    if version < _UNITS_CHANGED:
        bring_to_present_units(content["singles"], content["tables"])
    if version < _ROOMS_CHANGED:
        bring_to_present_places(content["singles"], content["tables"])
    return content


def bring_to_present_units(
    singles: dict[str, Any], tables: dict[str, list[dict[str, Any]]]
) -> None:
    """Replace what was typed in earlier units of the us system by what it is in present ones."""
    for key, factor in FACTORS.items():
        table, _, column = key.rpartition(".")
        for row in tables[table] if table else [singles]:
            if row.get(column) is not None:
                row[column] = pytest.approx(row[column] * factor, rel=1e-12)


_ROOMS = ("incubation", "fruiting")
_OF_ROOM = {
    "places": "spaces",
    **{key: key for key in ("length", "width", "height", "temperature", "humidity", "ppm")},
    "equipment": "equipment",
}
_OF_ONE_ROOM = {
    "incubation_filled": (0, "filled"),
    "mushrooms_standing": (1, "standing"),
    "fan_flow": (1, "fan_flow"),
    "fogger_output": (1, "fogger_output"),
}
MOVED = _OF_ONE_ROOM | {
    f"{stage}_{key}": (number, column)
    for number, stage in enumerate(_ROOMS)
    for key, column in _OF_ROOM.items()
}
"""The row of the list of rooms, and the column, in which an input of before stands now."""
_CAME_LATER = ({"equipment": 100.0}, {"equipment": 200.0})
"""By room what a new workbook has, where the first versions had no such input."""


def bring_to_present_places(
    singles: dict[str, Any], tables: dict[str, list[dict[str, Any]]]
) -> None:
    """Put what was typed of the two rooms of before into the rows of the list of rooms."""
    rooms: list[dict[str, Any]] = [
        {"room": f"{stage.capitalize()} room", "stage": stage, **_CAME_LATER[number]}
        for number, stage in enumerate(_ROOMS)
    ]
    for key, (number, column) in MOVED.items():
        if key in singles:
            value = singles.pop(key)
            rooms[number].pop(column, None)
            if value is not None:
                rooms[number][column] = value
    tables["rooms"] = rooms
    for row in tables.get("surfaces", []):
        row["room"] = f"{row['room'].capitalize()} room"
    if singles.get("metered_room"):
        singles["metered_room"] = f"{singles['metered_room'].capitalize()} room"


def make() -> None:
    """Write the workbook of the present version."""
    workbook, content = kept(SCHEMA_VERSION)
    if workbook.exists():
        sys.exit(f"{workbook} is kept as it is")
    demo = demo_entries("us")
    tables = {key: rows[:_ROWS] for key, rows in demo.tables.items()}
    entries = Entries(demo.singles, tables)
    entries.singles["farm_name"] = "=Größe 🍄"
    entries.tables["weigh"] = [{"measured": 0.12}, {}, {"measured": "wet"}]
    settings = Settings("us", "€", invented=True, batch_rows=2, typed_functions=False)
    build(workbook, settings, entries)
    besides = _work(workbook)
    filled = {
        key: [{name: value for name, value in row.items() if value is not None} for row in rows]
        for key, rows in entries.tables.items()
    }
    content.write_text(
        json.dumps(
            {"units": "us", "singles": entries.singles, "tables": filled, "besides": besides},
            default=date.isoformat,
            ensure_ascii=False,
            indent=1,
        )
        + "\n",
        encoding="utf-8",
    )


def _work(path: Path) -> list[list[Any]]:
    """Do what growers do besides typing into our cells."""
    workbook = openpyxl.load_workbook(path)
    farm, batches = workbook["Farm"], workbook["Batches"]
    farm["B7"].comment = Comment("ask Ana", "us")
    farm["H9"] = "spare fuse: 16 A"
    batches["T7"] = "done"
    workbook["Costing"]["B37"] = 3.2
    extra = workbook.create_sheet("My list")
    extra["B2"], extra["C2"] = "bags", 40
    workbook.save(path)
    return [
        ["Farm", "B7", "ask Ana"],
        ["Farm", "H9", "spare fuse: 16 A"],
        ["Batches", "T7", "done"],
        ["Costing", "B37", 3.2],
        ["My list", "B2", "bags"],
        ["My list", "C2", 40],
    ]


if __name__ == "__main__":
    make()
