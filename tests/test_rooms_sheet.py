"""The Rooms sheet against psychrolib and a heat balance written out here."""

from __future__ import annotations

from functools import cache
from math import cosh, hypot, log, pi
from typing import TYPE_CHECKING, Any

import psychrolib
import pytest
from reading import Part, parts, place, red_where, singles, table
from workbooks import made

from workbook_template.schema import SINGLE_INPUTS
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
    """Carbon dioxide given off over what the air may take up.

    44.01 g in 24.055 L at 20 °C and sea level; more liters in the thinner air of the farm.
    """
    liters = source / 44.0095 * 24.0553 * 101325 / pressure()
    return liters / 1000 / ((typed(f"{room}_ppm") - typed("outdoor_ppm")) / 1e6)


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


def wall_heat(room: str, side: str = "beyond", weather: str = "cold") -> float:
    """Heat lost through all walls, the air on both sides included: ISO 6946."""
    inside = typed(f"{room}_temperature")
    air = typed("surface_resistance") + typed("outer_resistance")
    return sum(
        row["area"] / (row["r_value"] + air) * (inside - beyond(row, side, weather))
        for row in demo()[1]
        if row["room"] == room
    )


def beyond(row: dict, side: str = "beyond", weather: str = "cold") -> float:
    return typed(f"{weather}_temperature") if row[side] is None else row[side]


def respiration(source: float) -> float:
    """61 kcal a day and metric ton for each mg/(kg h): Suslow & Cantwell, UC Davis [W]."""
    return source * 61 * 4184 / 86400


def cooling(room: str, source: float, flow: float) -> float:
    """Heat balance of the hottest day [kW]: walls, air, crop, equipment, margin."""
    _, air_heat = through_air(flow, room, "hot")
    gained = (
        -wall_heat(room, "beyond_hot", "hot") + respiration(source) + typed(f"{room}_equipment")
    )
    return max(0, gained / 1000 - air_heat) * (1 + typed("heater_margin"))


def test_incubation_is_a_heat_balance() -> None:
    blocks = typed("incubation_places") * typed("block_mass")
    source = blocks * typed("colony_carbon_dioxide")
    flow = fresh_air(source, "incubation")
    _, air_heat = through_air(flow, "incubation", "cold")
    colony = respiration(source) * typed("incubation_filled")
    heater = (wall_heat("incubation") / 1000 + air_heat - colony / 1000) * (
        1 + typed("heater_margin")
    )
    assert shown("Incubation room")["Fresh air needed"] == pytest.approx(flow, rel=1e-4)
    assert shown("Incubation room")["Wall heat loss"] == pytest.approx(wall_heat("incubation"))
    assert shown("Incubation room")["Heat for the fresh air"] == pytest.approx(
        air_heat, rel=MOIST_AIR
    )
    assert shown("Incubation room")["Heat of the colony"] == pytest.approx(colony)
    assert shown("Incubation room")["Heater"] == pytest.approx(heater, rel=MOIST_AIR)
    assert shown("Incubation room")["Heat of a full room"] == pytest.approx(respiration(source))
    assert shown("Incubation room")["Cooling"] == pytest.approx(
        cooling("incubation", source, flow), rel=2 * MOIST_AIR
    )


def fruiting_source() -> float:
    blocks = typed("fruiting_places") * typed("block_mass") * typed("fruiting_carbon_dioxide")
    return blocks + typed("mushrooms_standing") * typed("mushroom_carbon_dioxide")


def test_fruiting_needs_air() -> None:
    flow = fresh_air(fruiting_source(), "fruiting")
    room = shown("Fruiting room")
    volume = typed("fruiting_length") * typed("fruiting_width") * typed("fruiting_height")
    with_fan = typed("outdoor_ppm") + (typed("fruiting_ppm") - typed("outdoor_ppm")) * (
        flow / typed("fan_flow")
    )
    assert room["Fresh air needed"] == pytest.approx(flow, rel=1e-4)
    assert room["Air changes per hour"] == pytest.approx(flow / volume, rel=1e-4)
    assert room["CO2 with your fan"] == pytest.approx(with_fan, rel=1e-4)


def test_fruiting_takes_water_heat_and_cooling_for_all_air_that_comes_in() -> None:
    flow = max(fresh_air(fruiting_source(), "fruiting"), typed("fan_flow"))
    assert flow == typed("fan_flow")
    water, heat = through_air(flow, "fruiting", "cold")
    hot_water, hot_heat = through_air(flow, "fruiting", "hot")
    heater = (wall_heat("fruiting") / 1000 + heat) * (1 + typed("heater_margin"))
    expected = {
        "Fresh air for fog, heat and cooling": flow,
        "Fog needed, coldest night": water,
        "Fog needed, hottest day": hot_water,
        "Fogger load": max(water, hot_water) / typed("fogger_output"),
        "Heat for the fresh air": heat,
        "Heater": heater,
        "Wall heat gain, hottest day": -wall_heat("fruiting", "beyond_hot", "hot"),
        "Fresh air heat, hottest day": hot_heat,
        "Cooling": cooling("fruiting", fruiting_source(), flow),
    }
    for label, value in expected.items():
        assert shown("Fruiting room")[label] == pytest.approx(value, rel=2 * MOIST_AIR), label


@pytest.mark.parametrize(("fan", "expected"), [("", "needed"), (20, "needed"), (2000, "fan")])
def test_what_the_fan_brings_counts_only_above_what_is_needed(
    fan: Any, expected: str, office: Office
) -> None:
    workbook = made("metric", "demo").values
    line = parts(workbook["Rooms"])["Fruiting room"].lines["Fresh air for fog, heat and cooling"]
    spot = place(workbook, "fan_flow")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [[fan]])
        flow = document.read("Rooms", line, 1)[0][0]
    needed = fresh_air(fruiting_source(), "fruiting")
    assert flow == pytest.approx(needed if expected == "needed" else fan, rel=1e-4)


def test_a_full_room_by_default_needs_the_air_that_oysters_do() -> None:
    """Stamets, growth parameters of P. ostreatus: 4 to 8 air changes an hour below 1000 ppm."""
    for units in ("metric", "us"):
        known = {
            key: field.dimension.to_metric(field.start_value(units))
            if units == "us" and field.dimension.differs
            else field.start_value(units)
            for key, field in SINGLE_INPUTS.items()
            if isinstance(field.start_value(units), float)
        }
        source = known["fruiting_places"] * known["block_mass"] * known["fruiting_carbon_dioxide"]
        source += known["mushrooms_standing"] * known["mushroom_carbon_dioxide"]
        liters = source / 44.0095 * 24.0553
        flow = liters / 1000 / ((known["fruiting_ppm"] - known["outdoor_ppm"]) / 1e6)
        volume = known["fruiting_length"] * known["fruiting_width"] * known["fruiting_height"]
        assert 3.9 < flow / volume < 8


@pytest.mark.parametrize(
    "key", ["fruiting_carbon_dioxide", "colony_carbon_dioxide", "mushroom_carbon_dioxide"]
)
def test_both_systems_begin_with_the_same_carbon_dioxide(key: str) -> None:
    # 1 g/(h·lb) is 2.2046 g/(h·kg).
    field = SINGLE_INPUTS[key]
    assert field.start_value("us") * 2.20462 == pytest.approx(field.start_value("metric"), rel=0.01)


def test_the_middle_of_blocks_and_stacks() -> None:
    """The double series for a brick with heat made throughout, 60 x 60 terms."""
    warmth = shown("Warmth inside the blocks")
    steam = parts(made("metric", "demo").values["Steam"])["How fast the core heats up"].values
    heat = respiration(typed("colony_carbon_dioxide")) * steam["Bulk density of the recipe"] * 1000
    block = [typed(f"core_{edge}") / 100 for edge in ("thickness", "width", "length")]
    stack = [typed(f"stack_{edge}") / 100 for edge in ("height", "depth", "length")]
    for label, edges in (("single block", block), ("tight stack", stack)):
        first, second, third = sorted(edges)
        rise = 0.0
        for m in range(1, 120, 2):
            for n in range(1, 120, 2):
                wave = pi * hypot(m / first, n / second)
                reach = 1 - 1 / cosh(min(wave * third / 2, 500))
                rise += 16 / pi**2 * (-1) ** ((m + n) // 2 - 1) / (m * n * wave**2) * reach
        rise *= heat / typed("cooling_conductivity")
        assert warmth[f"Core temperature, {label}"] == (
            pytest.approx(typed("incubation_temperature") + rise, rel=1e-4)
        )
    is_fine = warmth["Core temperature, tight stack"] <= typed("colony_hottest")
    assert warmth["Tight stack"] == ("fine" if is_fine else "too warm: leave gaps")


def test_the_meter_tells_air_and_carbon_dioxide() -> None:
    """Decay of a tracer gas, ASTM E741 principle, and the mass balance of a closed room."""
    meter = shown("Measure the room with a CO2 meter")
    outdoor = typed("outdoor_ppm")
    volume = typed("fruiting_length") * typed("fruiting_width") * typed("fruiting_height")
    fall = log((typed("decay_start") - outdoor) / (typed("decay_end") - outdoor))
    changes = fall / (typed("decay_minutes") / 60)
    assert meter["Air changes per hour, measured"] == pytest.approx(changes)
    assert meter["Fresh air, measured"] == pytest.approx(changes * volume)
    needed = fresh_air(fruiting_source(), "fruiting")
    share = meter["Measured over needed"]
    assert share == pytest.approx(changes * volume / needed, rel=1e-4)
    moles = (
        (typed("rise_end") - typed("rise_start")) / 1e6 * volume * pressure() / 8.314463 / 293.15
    )
    rate = moles * 44.0095 / (typed("rise_minutes") / 60)
    assert meter["CO2 given off, measured"] == pytest.approx(rate, rel=1e-4)
    mass = typed("rise_blocks") * typed("block_mass")
    assert meter["CO2 per mass of blocks"] == pytest.approx(rate / mass, rel=1e-4)


def test_walls_sweat_where_they_are_colder_than_the_dew_point() -> None:
    """Air and wall share the temperature difference as resistances; 0.25 inside: ISO 13788."""
    for row in demo()[1]:
        room = row["room"]
        inside = typed(f"{room}_temperature")
        dew_point = psychrolib.GetTDewPointFromRelHum(inside, typed(f"{room}_humidity"))
        film = typed("shelf_resistance")
        whole = film + row["r_value"] + typed("outer_resistance")
        face = inside - (inside - beyond(row)) * film / whole
        assert row["face"] == pytest.approx(face)
        assert row["state"] == ("sweats" if face < dew_point else "dry")
    assert shown("Fruiting room")["Dew point"] == pytest.approx(dew_point, abs=0.02)
    assert {row["state"] for row in demo()[1]} == {"sweats", "dry"}


def test_the_wet_thermometer_checks_the_sensor() -> None:
    sensor = shown("Check the humidity sensor with a wet thermometer")
    humidity = psychrolib.GetRelHumFromTWetBulb(typed("dry_bulb"), typed("wet_bulb"), pressure())
    assert sensor["Humidity by the thermometers"] == pytest.approx(humidity, rel=MOIST_AIR)
    assert typed("sensor_humidity") - humidity > typed("sensor_allowed")
    assert sensor["Sensor"] == "reads high"


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
        ("fruiting_ppm", 300, "CO2 limit of a room is above outside air"),
        ("incubation_ppm", 9000, "CO2 limit of a room is within the limit for people"),
        ("fan_flow", 2, "CO2 with your fan is within the limit for people"),
        ("decay_end", 1700, "CO2 meter: the empty room falls"),
        ("decay_end", 300, "CO2 meter: the empty room falls"),
        ("rise_end", 500, "CO2 meter: the level rises with the vents closed"),
        ("wet_bulb", 25, "Wet thermometer is not above the dry one"),
        ("wet_bulb", -5, "Humidity by the thermometers is possible"),
        ("fogger_output", -1, "Fruiting room: cells to fix"),
        ("surfaces.room", "attic", "rows to fix. Room: choose one from the list."),
        ("surfaces.r_value", 0, "rows to fix. R-value: needs a number"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert [words in check for check in red] == [True], red
