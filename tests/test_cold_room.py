"""The cold room on the Rooms sheet against a heat balance and a loss day by day, written out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from reading import computed, place, red_where, singles, table
from workbooks import made

from cultivar_fx.errors import CellError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from office import Document, Office

TITLE = "Cold room for picked mushrooms"
DEMO = {
    "storage_mass": 17.0,
    "storage_start": 16.0,
    "storage_end": 2.0,
    "storage_hours": 7.0,
    "storage_days": 3.0,
    "storage_daily_loss": 0.0125,
    "storage_gain": 420.0,
    "storage_margin": 0.22,
    "fresh_moisture": 0.92,
}


@pytest.fixture
def document(office: Office) -> Iterator[Document]:
    with office.kept(made("metric", "demo").path) as opened:
        yield opened


def shown(document: Document, **changes: float | None) -> dict[str, Any]:
    workbook = made("metric", "demo").values
    for key, value in (DEMO | changes).items():
        document.write(*place(workbook, key), [[value]])
    return computed(document, workbook["Rooms"])[TITLE]


def breathing(mass: float, temperature: float) -> float:
    """Heat of picked oysters [W]: Bohling & Hansen 1989, 750 J/(kg·h) at 3.5 °C, 2500 at 15 °C."""
    return mass * 750 * (2500 / 750) ** ((temperature - 3.5) / 11.5) / 3600


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"storage_mass": 60.0, "storage_start": 21.0, "storage_hours": 3.0},
        {"storage_days": 0.5, "storage_end": 4.0, "storage_margin": 0.0},
        {"storage_daily_loss": 0.093, "storage_days": 6.0},
    ],
)
def test_cold_room_is_a_heat_balance(changes: dict[str, float], document: Document) -> None:
    typed = DEMO | changes
    found = shown(document, **changes)
    mass, start, end = (typed[f"storage_{key}"] for key in ("mass", "start", "end"))
    # Siebel 1892: 0.837 + 3.349 times the water, kJ/(kg·K)
    heat = mass * (0.837 + 3.349 * typed["fresh_moisture"]) * (start - end)
    stored = mass * max(0, typed["storage_days"] - 1)
    respiration = breathing(mass, (start + end) / 2) + breathing(stored, end)
    power = heat / 3600 / typed["storage_hours"] + (respiration + typed["storage_gain"]) / 1000
    assert found["Heat of a day's harvest"] == pytest.approx(heat / 3600)
    assert found["Respiration heat"] == pytest.approx(respiration)
    assert found["Cooling power"] == pytest.approx(power * (1 + typed["storage_margin"]))


def test_weight_is_lost_day_by_day_and_so_is_its_price(document: Document) -> None:
    found = shown(document, storage_mass=100.0, storage_days=3.0, storage_daily_loss=0.1)
    left = 100 * 0.9 * 0.9 * 0.9
    fresh = [
        row
        for row in table(made("metric", "demo").values, "products", "metric")
        if row["form"] == "fresh"
    ]
    money = sum(row["packs_per_week"] * row["price"] for row in fresh)
    price = money / sum(row["packs_per_week"] * row["pack_mass"] for row in fresh)
    assert found["Weight loss of a day's harvest"] == pytest.approx(100 - left)
    assert found["Average fresh price"] == pytest.approx(price)
    assert found["Value of the weight lost"] == pytest.approx((100 - left) * price)


def test_what_is_colder_than_the_room_needs_no_cooling_and_shows_no_error(
    document: Document,
) -> None:
    found = shown(document, storage_start=1.0, storage_end=3.0)
    assert found["Cooling power"] is None
    assert not any(isinstance(value, CellError) for value in found.values())


def test_demo_keeps_what_it_loses_small() -> None:
    typed = singles(made("metric", "demo").values)
    assert 0 < typed["storage_daily_loss"] < 0.05
    assert typed["storage_end"] < typed["storage_start"]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("storage_start", 0.5, "Cold room: not warmer than what comes in"),
        ("storage_daily_loss", 0.9, f"{TITLE}: cells to fix"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: float, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert [words in check for check in red] == [True], red
