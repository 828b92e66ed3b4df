"""The Rooms sheet against psychrolib and a heat balance written out here."""

from __future__ import annotations

from functools import cache
from math import cosh, hypot, log, pi
from typing import TYPE_CHECKING, Any

import psychrolib
import pytest
from reading import Part, parts, place, red_where, singles, table
from workbooks import made

from workbook_template.schema import SINGLE_INPUTS, TABLES
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


def rooms() -> list[dict[str, Any]]:
    """Return the rows of the list of rooms, typed and computed."""
    return [row for row in table(made("metric", "demo").values, "rooms", "metric") if row["room"]]


def of_stage(stage: str) -> list[dict[str, Any]]:
    return [row for row in rooms() if row["stage"] == stage]


def listed(section: str, room: dict[str, Any]) -> dict[str, Any]:
    """Return the row of a room in one of the lists of the sheet."""
    return next(row for row in demo()[2][section].rows if row["Room"] == room["room"])


def volume_of(room: dict[str, Any]) -> float:
    return room["length"] * room["width"] * room["height"]


def source_of(room: dict[str, Any]) -> float:
    """CO2 of a full room: its blocks, in fruiting with the mushrooms on them."""
    mass = room["spaces"] * typed("block_mass")
    if room["stage"] == "incubation":
        return mass * typed("colony_carbon_dioxide")
    mushrooms = room["standing"] * typed("mushroom_carbon_dioxide")
    return mass * typed("fruiting_carbon_dioxide") + mushrooms


def fresh_air(room: dict[str, Any]) -> float:
    """Carbon dioxide given off over what the air may take up.

    44.01 g in 24.055 L at 20 °C and sea level; more liters in the thinner air of the farm.
    """
    liters = source_of(room) / 44.0095 * 24.0553 * 101325 / pressure()
    return liters / 1000 / ((room["ppm"] - typed("outdoor_ppm")) / 1e6)


def air_that_comes_in(room: dict[str, Any]) -> float:
    return max(fresh_air(room), room["fan_flow"] or 0.0)


def through_air(room: dict[str, Any], weather: str) -> tuple[float, float]:
    """Water [kg/h] and heat [kW] that bring the outdoor air to the state of the room."""
    outside = typed(f"{weather}_temperature"), typed(f"{weather}_humidity")
    inside = room["temperature"], room["humidity"]
    ratios = [psychrolib.GetHumRatioFromRelHum(*air, pressure()) for air in (outside, inside)]
    volume = psychrolib.GetMoistAirVolume(outside[0], ratios[0], pressure())
    dry_air = air_that_comes_in(room) / volume
    heats = [
        psychrolib.GetMoistAirEnthalpy(air[0], ratio) / 1000
        for air, ratio in zip((outside, inside), ratios)
    ]
    return dry_air * max(0, ratios[1] - ratios[0]), dry_air * (heats[1] - heats[0]) / 3600


def wall_heat(room: dict[str, Any], side: str = "beyond", weather: str = "cold") -> float:
    """Heat lost through all walls, the air on both sides included: ISO 6946."""
    air = typed("surface_resistance") + typed("outer_resistance")
    return sum(
        row["area"] / (row["r_value"] + air) * (room["temperature"] - beyond(row, side, weather))
        for row in demo()[1]
        if row["room"] == room["room"]
    )


def beyond(row: dict, side: str = "beyond", weather: str = "cold") -> float:
    return typed(f"{weather}_temperature") if row[side] is None else row[side]


def respiration(source: float) -> float:
    """61 kcal a day and metric ton for each mg/(kg h): Suslow & Cantwell, UC Davis [W]."""
    return source * 61 * 4184 / 86400


def cooling(room: dict[str, Any]) -> float:
    """Heat balance of the hottest day [kW]: walls, air, crop, equipment, margin."""
    _, air_heat = through_air(room, "hot")
    gained = -wall_heat(room, "beyond_hot", "hot") + respiration(source_of(room))
    gained += room["equipment"]
    return max(0, gained / 1000 - air_heat) * (1 + typed("heater_margin"))


def test_the_demo_has_a_room_and_two_of_different_size() -> None:
    assert len(of_stage("incubation")) == 1
    assert len({volume_of(room) for room in of_stage("fruiting")}) == 2
    for stage in ("incubation", "fruiting"):
        spaces = shown("All rooms of a stage")[f"Shelf spaces, {stage}"]
        assert spaces == sum(room["spaces"] for room in of_stage(stage))


def test_every_room_needs_air() -> None:
    for room in rooms():
        flow, air = fresh_air(room), listed("Fresh air", room)
        assert air["Room volume, m³"] == pytest.approx(volume_of(room))
        assert air["CO2 of a full room, g/h"] == pytest.approx(source_of(room))
        assert air["Fresh air needed, m³/h"] == pytest.approx(flow, rel=1e-4)
        assert air["Air changes per hour"] == pytest.approx(flow / volume_of(room), rel=1e-4)
        used = air["Fresh air for fog, heat and cooling, m³/h"]
        assert used == pytest.approx(air_that_comes_in(room), rel=1e-4)
        with_fan = air["CO2 with your fan, ppm"]
        if room["fan_flow"]:
            above = (room["ppm"] - typed("outdoor_ppm")) * flow / room["fan_flow"]
            assert with_fan == pytest.approx(typed("outdoor_ppm") + above, rel=1e-4)
            # What is given off grows with the blocks, and the air for it with what is given off.
            assert air["Blocks your fan holds"] == int(room["spaces"] * room["fan_flow"] / flow)
        else:
            assert with_fan in (None, "")
            assert air["Blocks your fan holds"] in (None, "")
    assert any(room["fan_flow"] for room in rooms())


def test_incubation_is_a_heat_balance() -> None:
    for room in of_stage("incubation"):
        _, air_heat = through_air(room, "cold")
        colony = respiration(source_of(room)) * room["filled"]
        heater = (wall_heat(room) / 1000 + air_heat - colony / 1000) * (1 + typed("heater_margin"))
        night = listed("Coldest night", room)
        assert night["Wall heat loss, W"] == pytest.approx(wall_heat(room))
        assert night["Heat for the fresh air, kW"] == pytest.approx(air_heat, rel=MOIST_AIR)
        assert night["Heat of the colony, W"] == pytest.approx(colony)
        assert night["Heater, kW"] == pytest.approx(heater, rel=MOIST_AIR)
        assert night["Fog needed, coldest night, kg/h"] in (None, ""), "no fog in incubation"
        day = listed("Hottest day", room)
        assert day["Heat of a full room, W"] == pytest.approx(respiration(source_of(room)))
        assert day["Cooling, kW"] == pytest.approx(cooling(room), rel=2 * MOIST_AIR)
        assert day["Fogger load, %"] in (None, "")


def test_fruiting_takes_water_heat_and_cooling_for_all_air_that_comes_in() -> None:
    for room in of_stage("fruiting"):
        water, heat = through_air(room, "cold")
        hot_water, hot_heat = through_air(room, "hot")
        heater = (wall_heat(room) / 1000 + heat) * (1 + typed("heater_margin"))
        expected = {
            "Fog needed, coldest night, kg/h": water,
            "Heat for the fresh air, kW": heat,
            "Heater, kW": heater,
            "Fog needed, hottest day, kg/h": hot_water,
            "Fogger load, %": max(water, hot_water) / room["fogger_output"],
            "Wall heat gain, W": -wall_heat(room, "beyond_hot", "hot"),
            "Fresh air heat, kW": hot_heat,
            "Cooling, kW": cooling(room),
        }
        found = listed("Coldest night", room) | listed("Hottest day", room)
        for label, value in expected.items():
            assert found[label] == pytest.approx(value, rel=2 * MOIST_AIR), (room["room"], label)
        assert found["Heat of the colony, W"] in (None, "")


@pytest.mark.parametrize(("fan", "expected"), [("", "needed"), (20, "needed"), (2000, "fan")])
def test_what_the_fan_brings_counts_only_above_what_is_needed(
    fan: Any, expected: str, office: Office
) -> None:
    workbook = made("metric", "demo").values
    room = of_stage("fruiting")[0]
    row = rooms().index(room)
    spot, used = place(workbook, "rooms.fan_flow"), place(workbook, "rooms.air_used")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row + row, spot.column, [[fan]])
        flow = document.read(used.sheet, used.row + row, used.column)[0][0]
    assert flow == pytest.approx(fresh_air(room) if expected == "needed" else fan, rel=1e-4)


@pytest.mark.parametrize("share", [0.4, 2.0])
def test_what_shelves_and_fans_hold(share: float, office: Office) -> None:
    """A room holds what both allow; one whose fan is not known counts by its shelves."""
    workbook = made("metric", "demo").values
    room, *others = of_stage("fruiting")
    fan = fresh_air(room) * share
    spot = place(workbook, "rooms.fan_flow")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row + rooms().index(room), spot.column, [[fan]])
        sheet = document.values("Rooms")["Rooms"]
    (held,) = (row[1] for row in sheet if row[0] == "Blocks that shelves and fans hold")
    by_fan = int(room["spaces"] * share + 1e-6)
    assert held == min(room["spaces"], by_fan) + sum(one["spaces"] for one in others)


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
        room = {
            key: TABLES["rooms"].field(key).dimension.to_metric(value)
            if units == "us" and TABLES["rooms"].field(key).dimension.differs
            else value
            for key, value in TABLES["rooms"].start_rows(units)[1].items()
        }
        source = room["spaces"] * known["block_mass"] * known["fruiting_carbon_dioxide"]
        source += room["standing"] * known["mushroom_carbon_dioxide"]
        liters = source / 44.0095 * 24.0553
        flow = liters / 1000 / ((room["ppm"] - known["outdoor_ppm"]) / 1e6)
        assert 3.9 < flow / volume_of(room) < 8


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
    warmest = max(room["temperature"] for room in of_stage("incubation"))
    for label, edges in (("single block", block), ("tight stack", stack)):
        first, second, third = sorted(edges)
        rise = 0.0
        for m in range(1, 120, 2):
            for n in range(1, 120, 2):
                wave = pi * hypot(m / first, n / second)
                reach = 1 - 1 / cosh(min(wave * third / 2, 500))
                rise += 16 / pi**2 * (-1) ** ((m + n) // 2 - 1) / (m * n * wave**2) * reach
        rise *= heat / typed("cooling_conductivity")
        assert warmth[f"Core temperature, {label}"] == (pytest.approx(warmest + rise, rel=1e-4))
    is_fine = warmth["Core temperature, tight stack"] <= typed("colony_hottest")
    assert warmth["Tight stack"] == ("fine" if is_fine else "too warm: leave gaps")


def test_the_meter_tells_air_and_carbon_dioxide() -> None:
    """Decay of a tracer gas, ASTM E741 principle, and the mass balance of a closed room."""
    meter = shown("Measure the room with a CO2 meter")
    outdoor = typed("outdoor_ppm")
    room = next(one for one in rooms() if one["room"] == typed("metered_room"))
    volume = volume_of(room)
    fall = log((typed("decay_start") - outdoor) / (typed("decay_end") - outdoor))
    changes = fall / (typed("decay_minutes") / 60)
    assert meter["Air changes per hour, measured"] == pytest.approx(changes)
    assert meter["Fresh air, measured"] == pytest.approx(changes * volume)
    needed = fresh_air(room)
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
    sweating = dict.fromkeys((room["room"] for room in rooms()), 0)
    for row in demo()[1]:
        room = next(one for one in rooms() if one["room"] == row["room"])
        inside = room["temperature"]
        dew_point = psychrolib.GetTDewPointFromRelHum(inside, room["humidity"])
        assert listed("Coldest night", room)["Dew point, °C"] == pytest.approx(dew_point, abs=0.02)
        film = typed("shelf_resistance")
        whole = film + row["r_value"] + typed("outer_resistance")
        face = inside - (inside - beyond(row)) * film / whole
        assert row["face"] == pytest.approx(face)
        assert row["state"] == ("sweats" if face < dew_point else "dry")
        sweating[room["room"]] += face < dew_point
    for room in rooms():
        assert listed("Coldest night", room)["Surfaces that sweat"] == sweating[room["room"]]
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
        ("rooms.ppm", 300, "CO2 limit of a room is above outside air"),
        ("rooms.ppm", 9000, "CO2 limit of a room is within the limit for people"),
        ("rooms.fan_flow", 0.5, "CO2 with your fan is within the limit for people"),
        ("rooms.fan_flow", 60, "leaves more CO2 than wanted"),
        ("decay_end", 1700, "CO2 meter: the empty room falls"),
        ("decay_end", 300, "CO2 meter: the empty room falls"),
        ("rise_end", 500, "CO2 meter: the level rises with the vents closed"),
        ("wet_bulb", 25, "Wet thermometer is not above the dry one"),
        ("wet_bulb", -5, "Humidity by the thermometers is possible"),
        ("rooms.fogger_output", -1, "rows to fix. Fogger output: needs a number"),
        ("rooms.filled", None, "rows to fix. Filled on the coldest night: is blank, and an"),
        ("rooms.stage", "drying", "rows to fix. Stage: choose one from the list."),
        ("rooms.closed_until", 46300, "rows to fix. Closed from: is blank, and a day"),
        ("surfaces.room", "attic", "rows to fix. Room: choose one from the list."),
        ("surfaces.r_value", 0, "rows to fix. R-value: needs a number"),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert [words in check for check in red] == [True], red
