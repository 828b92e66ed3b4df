"""What earlier versions had in other units comes over as the same quantity, and comes out so."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import openpyxl
import pandas
import pytest
from shared import shared
from upgrades import CUBIC_FOOT, FACTORS, FOLDER, GALLON, LITERS, POUND, kept

from workbook_template.operations.carry_over import carry_over
from workbook_template.operations.export import export
from workbook_template.reading.contents import Found
from workbook_template.reading.earlier_units import in_present_unit
from workbook_template.reading.entries import Reading, read
from workbook_template.schema.fields import dimension_of

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl import Workbook

EARLIER = [
    FOLDER / "release_1" / "demo_us.xlsx",
    FOLDER / "release_2" / "demo_us.xlsx",
    kept(3)[0],
]
LATEST = EARLIER[-1]


class Changed(NamedTuple):
    """A column whose unit changed: its key, and its heading of before."""

    key: str
    heading: str

    @property
    def factor(self) -> float:
        """The factor from the unit of before to that of now."""
        return FACTORS[self.key]


COLUMNS = [
    Changed("products.pack_mass", "Mass in a pack, lb/pack"),
    Changed("recipes.bulk_density", "Bulk density, mixed, lb/gal"),
    Changed("steam_runs.water_metered", "Water, by the meter, lb"),
]


@lru_cache(maxsize=1)
def opened(path: Path) -> Workbook:
    return openpyxl.load_workbook(path, data_only=True)


def typed_before(path: Path, column: Changed) -> list[Any] | None:
    """Return what a file holds under a heading of before; None where it has no such column."""
    name = column.key.partition(".")[0].capitalize()
    sheet = next(one for one in opened(path) if name in one.tables)
    head, *rows = sheet[sheet.tables[name].ref]
    number = next((at for at, one in enumerate(head) if one.value == column.heading), None)
    if number is None:
        return None
    return [row[number].value for row in rows if row[0].value is not None]


def carried(path: Path, units: str = "us") -> Path:
    """Return what an earlier workbook was carried over into, once a run."""
    name = f"earlier-units/{units}-{path.parent.name}-{path.name}"
    return shared(name, lambda new: carry_over(path, new, units))


@lru_cache(maxsize=1)
def carried_reading(path: Path, units: str = "us") -> Reading:
    return read(carried(path, units))


def now_in(reading: Reading, key: str) -> list[Any]:
    table, _, column = key.partition(".")
    cells = [row.cells for row in reading.tables[table].rows]
    return [row[column].value if column in row else None for row in cells]


@pytest.mark.parametrize("column", COLUMNS, ids=lambda column: column.key)
@pytest.mark.parametrize("path", EARLIER, ids=lambda path: f"{path.parent.name} {path.stem}")
def test_pounds_and_gallons_of_before_are_ounces_and_cubic_feet_now(
    path: Path, column: Changed
) -> None:
    before = typed_before(path, column)
    if before is None:
        assert path != LATEST
        pytest.skip("a column of later releases")
    assert now_in(carried_reading(path), column.key) == [
        value and pytest.approx(value * column.factor, rel=1e-12) for value in before
    ]


def test_pounds_of_water_are_gallons_now() -> None:
    """No fixture has a metered run: what a cell of one would hold."""
    water, liters = Found("Steam", "F60", 251), dimension_of("L")
    key = "steam_runs.water_metered"
    now = in_present_unit(water, key, liters, 3, "us")
    assert now.value == pytest.approx(251 * POUND / LITERS, rel=1e-12)
    assert in_present_unit(water, key, liters, 3, "metric") == water
    assert in_present_unit(water, key, liters, 4, "us") == water
    words = water._replace(value="251 lb")
    assert in_present_unit(words, key, liters, 3, "us") == words


def test_the_gallons_of_a_mixer_are_cubic_feet_now() -> None:
    workbook = openpyxl.load_workbook(LATEST)
    sheet, _, cell = workbook.defined_names["input_mixer_volume"].attr_text.partition("!")
    gallons = workbook[sheet.strip("'")][cell.replace("$", "")].value
    feet = carried_reading(LATEST).singles["mixer_volume"].value
    assert feet == pytest.approx(gallons * GALLON / CUBIC_FOOT, rel=1e-12)


def test_half_a_pound_is_eight_ounces_without_a_trace_of_the_conversion() -> None:
    assert {8.0, 80.0} <= set(now_in(carried_reading(LATEST), "products.pack_mass"))


def test_into_metric_it_is_the_same_as_without_the_change_of_units() -> None:
    masses = now_in(carried_reading(LATEST, "metric"), "products.pack_mass")
    before = typed_before(LATEST, COLUMNS[0])
    assert before is not None
    assert masses == [value and pytest.approx(value * POUND, rel=1e-12) for value in before]


def test_what_is_of_this_version_stays_as_it_is(tmp_path: Path) -> None:
    carry_over(carried(LATEST), tmp_path / "newer.xlsx")
    first, second = carried_reading(LATEST), read(tmp_path / "newer.xlsx")
    for column in COLUMNS:
        assert now_in(first, column.key) == now_in(second, column.key)


def test_an_export_of_an_earlier_workbook_is_in_the_units_of_its_headings(tmp_path: Path) -> None:
    export(LATEST, tmp_path / "csv")
    for column in COLUMNS:
        table, _, key = column.key.partition(".")
        rows = pandas.read_csv(tmp_path / "csv" / f"{table}.csv")
        heading = {
            "pack_mass": "Mass in a pack, oz/pack",
            "bulk_density": "Bulk density, mixed, lb/ft³",
            "water_metered": "Water, metered, US gal",
        }[key]
        before = typed_before(LATEST, column)
        assert before is not None
        assert list(rows[heading].dropna()) == pytest.approx(
            [value * column.factor for value in before if value is not None], rel=1e-12
        )
