"""What earlier versions had as single inputs of two rooms comes over into the list of rooms."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import openpyxl
import pandas
import pytest
from shared import without_values
from upgrades import MOVED, kept

from workbook_template.operations.carry_over import carry_over
from workbook_template.operations.export import export
from workbook_template.reading.entries import read
from workbook_template.writing.layout import input_name

if TYPE_CHECKING:
    from pathlib import Path

FOOT = 0.3048
POUND = 0.45359237
TYPED: dict[str, Any] = {
    "incubation_places": 333,
    "incubation_length": 41,
    "incubation_temperature": 71,
    "incubation_filled": 0.35,
    "fruiting_places": 222,
    "fruiting_width": 17.5,
    "fruiting_humidity": 0.93,
    "fruiting_ppm": 1100,
    "mushrooms_standing": 33,
    "fogger_output": 7,
    "metered_room": "incubation",
}
"""Typed into the kept workbook of the fourth version."""
CLEARED = "fan_flow"


@pytest.fixture(scope="module")
def old(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workbook of the fourth version with other rooms than the invented farm's."""
    path: Path = tmp_path_factory.mktemp("rooms") / "old.xlsx"
    workbook = openpyxl.load_workbook(kept(4)[0])
    for key, value in {**TYPED, CLEARED: None}.items():
        sheet, _, cell = workbook.defined_names[input_name(key)].attr_text.rpartition("!")
        workbook[sheet.strip("'")][cell.replace("$", "")].value = value
    workbook.save(path)
    return path


def rooms_in(path: Path) -> list[dict[str, Any]]:
    rows = read(path).tables["rooms"].rows
    return [{key: found.value for key, found in row.cells.items()} for row in rows]


@pytest.fixture(scope="module")
def new(old: Path) -> Path:
    path = old.with_name("new.xlsx")
    with without_values():  # a module's fixtures come before those of a test
        report = carry_over(old, path)
    assert report.missing == []
    assert not [one for one in report.leftovers if one.found.sheet == "Rooms"]
    assert not [words for words in report.remarks if words.startswith("Rooms")]
    return path


def test_what_was_typed_of_the_two_rooms_is_in_their_rows(new: Path) -> None:
    rooms = rooms_in(new)
    names = [(room["room"], room["stage"]) for room in rooms]
    assert names == [("Incubation room", "incubation"), ("Fruiting room", "fruiting")]
    for key, value in TYPED.items():
        if key in MOVED:
            row, column = MOVED[key]
            assert rooms[row][column] == value, key
    assert "fan_flow" not in rooms[1]


def test_rooms_are_chosen_by_their_names(new: Path) -> None:
    reading = read(new)
    assert reading.singles["metered_room"].value == "Incubation room"
    surfaces = reading.tables["surfaces"].rows
    assert {row.cells["room"].value for row in surfaces} == {"Incubation room"}


@pytest.mark.usefixtures("without_values")
def test_into_the_other_units_it_is_the_same_room(old: Path) -> None:
    path = old.with_name("metric.xlsx")
    carry_over(old, path, "metric")
    incubation, fruiting = rooms_in(path)
    assert incubation["length"] == pytest.approx(41 * FOOT)
    assert incubation["temperature"] == pytest.approx((71 - 32) / 1.8)
    assert fruiting["standing"] == pytest.approx(33 * POUND)
    assert (incubation["spaces"], fruiting["ppm"]) == (333, 1100)
    back = old.with_name("back.xlsx")
    carry_over(path, back, "us")
    assert rooms_in(back) == rooms_in(old.with_name("new.xlsx"))


def test_an_export_has_the_rooms_as_rows(old: Path, tmp_path: Path) -> None:
    export(old, tmp_path / "csv")
    rooms = pandas.read_csv(tmp_path / "csv" / "rooms.csv")
    assert list(rooms["Room"]) == ["Incubation room", "Fruiting room"]
    assert list(rooms["Shelf spaces"]) == [333, 222]
    assert list(pandas.read_csv(tmp_path / "csv" / "surfaces.csv")["Room"].unique()) == [
        "Incubation room"
    ]


@pytest.mark.usefixtures("without_values")
def test_a_room_that_is_cleared_stays_cleared(new: Path, tmp_path: Path) -> None:
    """The rows of a new workbook come back only where there was no list of rooms."""
    workbook = openpyxl.load_workbook(new)
    sheet = workbook["Rooms"]
    left, top, right, bottom = openpyxl.utils.range_boundaries(sheet.tables["Rooms"].ref)
    for row in sheet.iter_rows(top + 1, bottom, left, right):
        for cell in row:
            if cell.data_type != "f":
                cell.value = None
    workbook.save(tmp_path / "cleared.xlsx")
    carry_over(tmp_path / "cleared.xlsx", tmp_path / "newer.xlsx")
    assert rooms_in(tmp_path / "newer.xlsx") == []
