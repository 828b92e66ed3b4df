"""The Rooms sheet against psychrolib and a heat balance written out here."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import psychrolib
import pytest
from reading import Part, parts, red_where, singles, table
from workbooks import made

from workbook_template.schema.fields import WORKBOOK_DIMENSIONS

if TYPE_CHECKING:
    from office import Office

MOIST_AIR = 0.005
"""psychrolib's own distance from ASHRAE's tables, of which check_values say some 0.5 %."""

psychrolib.SetUnitSystem(psychrolib.SI)


@cache
def demo() -> tuple[dict[str, Any], list[dict[str, Any]], dict[str, Part]]:
    values = made("metric", "demo").values
    return singles(values), table(values, "surfaces", "metric"), parts(values["Rooms"])


def typed(key: str) -> Any:
    return demo()[0][key]


def shown(section: str) -> dict[str, Any]:
    return demo()[2][section].values


def pressure() -> float:
    return psychrolib.GetStandardAtmPressure(typed("altitude"))


def fresh_air(source: float, room: str) -> float:
    """Carbon dioxide given off over what the air may take up; 44.01 g in 24.055 L at 20 °C."""
    return source / 44.0095 * 24.0553 / 1000 / ((typed(f"{room}_ppm") - typed("outdoor_ppm")) / 1e6)


def through_air(flow: float, room: str, weather: str) -> tuple[float, float]:
    """Water [kg/h] and heat [kW] that bring a flow of outdoor air to the state of the room."""
    outside = typed(f"{weather}_temperature"), typed(f"{weather}_humidity")
    inside = typed(f"{room}_temperature"), typed(f"{room}_humidity")
    ratios = [psychrolib.GetHumRatioFromRelHum(*air, pressure()) for air in (outside, inside)]
    dry_air = flow / psychrolib.GetMoistAirVolume(outside[0], ratios[0], pressure())
    heats = [
        psychrolib.GetMoistAirEnthalpy(air[0], ratio) / 1000
        for air, ratio in zip((outside, inside), ratios)
    ]
    return dry_air * max(0, ratios[1] - ratios[0]), dry_air * (heats[1] - heats[0]) / 3600


def wall_heat(room: str) -> float:
    inside = typed(f"{room}_temperature")
    return sum(
        row["area"] / row["r_value"] * (inside - beyond(row))
        for row in demo()[1]
        if row["room"] == room
    )


def beyond(row: dict) -> float:
    return typed("cold_temperature") if row["beyond"] is None else row["beyond"]


def test_incubation_is_a_heat_balance() -> None:
    blocks = typed("incubation_places") * typed("block_mass")
    source = blocks * typed("colony_carbon_dioxide")
    flow = fresh_air(source, "incubation")
    _, air_heat = through_air(flow, "incubation", "cold")
    # 61 kcal a day and metric ton for each mg/(kg h): Suslow & Cantwell, UC Davis
    colony = source * typed("incubation_filled") * 61 * 4184 / 86400
    heater = (wall_heat("incubation") / 1000 + air_heat - colony / 1000) * (
        1 + typed("heater_margin")
    )
    assert shown("Incubation room")["Fresh air for the carbon dioxide limit"] == pytest.approx(
        flow, rel=1e-4
    )
    assert shown("Incubation room")["Heat lost through the walls"] == pytest.approx(
        wall_heat("incubation")
    )
    assert shown("Incubation room")["Heat for the fresh air"] == pytest.approx(
        air_heat, rel=MOIST_AIR
    )
    assert shown("Incubation room")["Heat of the colony"] == pytest.approx(colony)
    assert shown("Incubation room")["Heater"] == pytest.approx(heater, rel=MOIST_AIR)


def test_fruiting_needs_air_water_and_heat() -> None:
    source = typed("fruiting_places") * typed("block_mass") * typed(
        "fruiting_carbon_dioxide"
    ) + typed("mushrooms_standing") * typed("mushroom_carbon_dioxide")
    flow = fresh_air(source, "fruiting")
    volume = typed("fruiting_length") * typed("fruiting_width") * typed("fruiting_height")
    water, heat = through_air(flow, "fruiting", "cold")
    hot_water, hot_heat = through_air(flow, "fruiting", "hot")
    with_fan = typed("outdoor_ppm") + (typed("fruiting_ppm") - typed("outdoor_ppm")) * (
        flow / typed("fan_flow")
    )
    assert shown("Fruiting room")["Fresh air for the carbon dioxide limit"] == pytest.approx(
        flow, rel=1e-4
    )
    assert shown("Fruiting room")["Air changes in an hour"] == pytest.approx(
        flow / volume, rel=1e-4
    )
    assert shown("Fruiting room")["Carbon dioxide with your fan"] == pytest.approx(
        with_fan, rel=1e-4
    )
    assert shown("Fruiting room")["Water for the air, coldest night"] == pytest.approx(
        water, rel=MOIST_AIR
    )
    assert shown("Fruiting room")["Water for the air, hottest day"] == pytest.approx(
        hot_water, rel=MOIST_AIR
    )
    assert shown("Fruiting room")["Share of the fogger's output"] == pytest.approx(
        max(water, hot_water) / typed("fogger_output"), rel=MOIST_AIR
    )
    assert shown("Fruiting room")["Heat for the fresh air, coldest night"] == pytest.approx(
        heat, rel=MOIST_AIR
    )
    assert shown("Fruiting room")["Heat for the fresh air, hottest day"] == pytest.approx(
        hot_heat, rel=0.02
    )


def test_walls_drip_where_they_are_colder_than_the_dew_point() -> None:
    """The face of a wall: air film and wall share the temperature difference as resistances."""
    for row in demo()[1]:
        room = row["room"]
        inside = typed(f"{room}_temperature")
        dew_point = psychrolib.GetTDewPointFromRelHum(inside, typed(f"{room}_humidity"))
        film = typed("surface_resistance")
        face = inside - (inside - beyond(row)) * film / (film + row["r_value"])
        assert row["face"] == pytest.approx(face)
        assert row["state"] == ("drips" if face < dew_point else "dry")
    assert shown("Fruiting room")["Dew point"] == pytest.approx(dew_point, abs=0.02)
    assert {row["state"] for row in demo()[1]} == {"drips", "dry"}


def test_the_wet_thermometer_checks_the_sensor() -> None:
    sensor = shown("Check the humidity sensor with a wet thermometer")
    humidity = psychrolib.GetRelHumFromTWetBulb(typed("dry_bulb"), typed("wet_bulb"), pressure())
    assert sensor["Humidity by the thermometers"] == pytest.approx(humidity, rel=MOIST_AIR)
    assert typed("sensor_humidity") - humidity > typed("sensor_allowed")
    assert sensor["The sensor"].startswith("shows too much")


@pytest.mark.parametrize("name", ["Rooms", "Trials", "Results", "Forecast"])
def test_both_systems_show_the_same_farm(name: str) -> None:
    us, metric = (parts(made(units, "demo").values[name]) for units in ("us", "metric"))
    labels = {(one.us, one.metric): one for one in WORKBOOK_DIMENSIONS.values()}
    compared = 0
    for title, part in metric.items():
        for label, value in part.values.items():
            if isinstance(value, (int, float)):
                units = (us[title].units[label] or "", part.units[label] or "")
                units = tuple(unit.replace("$", "money") for unit in units)
                other = us[title].values[label]
                if units[0] != units[1]:
                    other = labels[units].to_metric(other)
                assert other == pytest.approx(value, rel=1e-6, abs=1e-9), (title, label)
                compared += 1
    assert compared > 5


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("fruiting_ppm", 300, "Carbon dioxide allowed in a room is above that of the air outside"),
        ("incubation_ppm", 9000, "Carbon dioxide allowed in a room is within the limit for people"),
        ("fan_flow", 2, "Carbon dioxide with your fan is within the limit for people"),
        ("wet_bulb", 25, "Wet thermometer is not above the dry one"),
        ("wet_bulb", -5, "Humidity by the thermometers is possible"),
        ("fogger_output", -1, "Fruiting room: inputs outside their limits"),
        ("surfaces.room", "attic", "choices not on their list"),
        ("surfaces.r_value", 0, "figures outside their limits"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert [words in check for check in red] == [True], red
