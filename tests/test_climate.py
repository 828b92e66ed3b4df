"""Climate: moist air and carbon dioxide against published tables, psychrolib, CoolProp, iapws."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws._iapws import _Sublimation_Pressure
from iapws.iapws97 import _PSat_T, _TSat_P

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import climate

if TYPE_CHECKING:
    from types import ModuleType

psychrolib.SetUnitSystem(psychrolib.SI)

TEMPERATURE = st.floats(-50, 90)
MILD = st.floats(-10, 40)
HUMIDITY = st.floats(0.02, 1)
ALTITUDE = st.floats(-100, 3000)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


# Saturation


@pytest.mark.parametrize(("temperature", "pascals"), [(5, 872.6), (25, 3169.7)])
def test_saturation_pressure(temperature: float, pascals: float) -> None:
    # ASHRAE Fundamentals 2017, ch. 1, Table 3; 300 ppm.
    answer = cultivar_fx.saturation_pressure(temperature)
    assert answer * 1000 == approx(pascals, rel=300e-6)


def test_saturation_pressure_of_boiling_water() -> None:
    # IAPWS SR1-86(1992), Table 1: 0.101325 MPa at 373.1243 K; half of its last digit of
    # temperature is 0.0002 kPa.
    assert cultivar_fx.saturation_pressure(99.9743) == approx(101.325, abs=3e-4)


def test_saturation_pressure_of_the_formulations_own_test() -> None:
    # IAPWS R7-97, Table 35: 300 K, 0.00353658941 MPa; IAPWS R14-08: 230 K, 8.94735 Pa. From
    # memory; the iapws library agrees.
    assert cultivar_fx.saturation_pressure(26.85) == approx(3.53658941, rel=1e-8)
    assert cultivar_fx.saturation_pressure(-43.15) == approx(8.94735e-3, rel=1e-6)


@each
@given(temperature=st.floats(0.02, 150))
def test_saturation_over_water_is_that_of_the_libraries(
    coolprop: ModuleType, temperature: float
) -> None:
    # iapws: the same equation. CoolProp: IAPWS-95, which IF97 meets within 0.02 %.
    answer = climate.saturation_pressure(temperature)
    assert answer == approx(1000 * _PSat_T(temperature + 273.15), rel=1e-12)
    pascals = coolprop.PropsSI("P", "T", temperature + 273.15, "Q", 0, "Water")
    assert answer * 1000 == approx(pascals, rel=2e-4)


@each
@given(temperature=st.floats(-50, -1e-9))
def test_saturation_over_ice_is_that_of_the_iapws_library(temperature: float) -> None:
    expected = 1000 * _Sublimation_Pressure(temperature + 273.15)
    assert climate.saturation_pressure(temperature) == approx(expected, rel=1e-12)


# Humidity


@pytest.mark.parametrize(("temperature", "ratio"), [(5, 0.005425), (25, 0.020173)])
def test_humidity_ratio_at_saturation(temperature: float, ratio: float) -> None:
    # ASHRAE Fundamentals 2017, ch. 1, Table 2, 101.325 kPa; 0.5 % for want of a real-gas factor.
    assert cultivar_fx.humidity_ratio(temperature, 1) == approx(ratio, rel=0.005)


@pytest.mark.parametrize(
    ("temperature", "ratio", "enthalpy", "dew_point", "wet_bulb"),
    [(20, 0.013194, 53.61, 18.31, 18.86), (18, 0.011617, 47.55, 16.34, 16.92)],
)
def test_air_of_90_percent(
    temperature: float, ratio: float, enthalpy: float, dew_point: float, wet_bulb: float
) -> None:
    # psychrolib 2.5.0. Saturation pressures differ by 300 ppm at most; half of the last printed
    # digit of a wet bulb is 0.0005 of relative humidity.
    assert cultivar_fx.humidity_ratio(temperature, "90%") == approx(ratio, rel=300e-6)
    assert climate.enthalpy(temperature, 0.9, 0) == approx(enthalpy, abs=0.015)
    assert cultivar_fx.dew_point(temperature, "90%") == approx(dew_point, abs=0.006)
    assert cultivar_fx.relative_humidity(temperature, wet_bulb) == approx(0.9, abs=0.001)


def test_humidity_ratio_with_the_real_gas_factor() -> None:
    # CoolProp at 20 °C, 90 %: .013253; 0.5 % for want of a real-gas factor.
    assert cultivar_fx.humidity_ratio(20, "90%") == approx(0.013253, rel=0.005)


def test_humidity_from_a_wet_bulb() -> None:
    # ASHRAE Fundamentals 2017, ch. 1, Example 1: 40 °C dry, 20 °C wet; read off a chart, so a
    # unit of the last printed digit of the humidity ratio.
    humidity = cultivar_fx.relative_humidity(40, 20)
    assert humidity == approx(0.14, abs=0.005)
    assert cultivar_fx.dew_point(40, humidity) == approx(7, abs=0.5)
    assert cultivar_fx.humidity_ratio(40, humidity) == approx(0.0065, abs=1e-4)


GRID = list(product((-40, -15, -0.5, 0, 3, 12, 21, 30, 60), (0.05, 0.4, 0.85, 1), (0, 1500, 3000)))


@pytest.mark.parametrize(("temperature", "humidity", "altitude"), GRID)
def test_moist_air_is_that_of_psychrolib(
    temperature: float, humidity: float, altitude: float
) -> None:
    # psychrolib, which takes the saturation pressure from Hyland & Wexler: 300 ppm over water,
    # 0.1 % over ice, so 0.02 K of dew point.
    pressure = psychrolib.GetStandardAtmPressure(altitude)
    ratio = psychrolib.GetHumRatioFromRelHum(temperature, humidity, pressure)
    assert cultivar_fx.humidity_ratio(temperature, humidity, altitude) == approx(ratio, rel=1e-3)
    dew_point = psychrolib.GetTDewPointFromRelHum(temperature, humidity)
    assert cultivar_fx.dew_point(temperature, humidity) == approx(dew_point, abs=0.02)
    deficit = psychrolib.GetVaporPressureDeficit(temperature, ratio, pressure)
    answer = cultivar_fx.vapor_pressure_deficit(temperature, humidity)
    assert answer * 1000 == approx(deficit, rel=1e-3, abs=0.01)


@pytest.mark.parametrize(
    ("temperature", "humidity", "altitude"), [each for each in GRID if each[0] >= 3]
)
def test_humidity_ratio_is_near_that_of_coolprop(
    coolprop: ModuleType, temperature: float, humidity: float, altitude: float
) -> None:
    # CoolProp, real gas: its vapor pressure is up to 0.6 % higher. The humidity ratio magnifies
    # that by p / (p - pw) where vapor makes up much of the air.
    pressure = psychrolib.GetStandardAtmPressure(altitude)
    expected = coolprop.HAPropsSI("W", "T", temperature + 273.15, "P", pressure, "R", humidity)
    answer = cultivar_fx.humidity_ratio(temperature, humidity, altitude)
    assert answer == approx(expected, rel=0.006 * (1 + expected / 0.621945))


@each
@given(dry=MILD, humidity=st.floats(0.1, 1), altitude=ALTITUDE)
def test_wet_bulb_is_that_of_psychrolib(dry: float, humidity: float, altitude: float) -> None:
    # psychrolib finds the wet bulb within 0.001 K, which is 0.0005 of relative humidity in cold
    # air; its saturation pressures differ by 0.1 %.
    pressure = psychrolib.GetStandardAtmPressure(altitude)
    wet = psychrolib.GetTWetBulbFromRelHum(dry, humidity, pressure)
    if abs(wet) > 0.01:  # at 0 °C the wick is water to the one and ice to the other
        answer = climate.relative_humidity(dry, min(wet, dry), altitude)
        assert answer == approx(humidity, abs=0.002)


@each
@given(temperature=TEMPERATURE, humidity=HUMIDITY)
def test_dew_point_inverts_the_saturation_equations(temperature: float, humidity: float) -> None:
    # iapws: IF97 backward equation over water; over ice the sublimation equation 0.001 K to
    # either side.
    dew_point = climate.dew_point(temperature, humidity)
    pressure = humidity * climate.saturation_pressure(temperature) / 1000
    if pressure >= _PSat_T(273.15):
        assert dew_point == approx(_TSat_P(pressure) - 273.15, abs=0.001)
    elif dew_point < -0.001:
        kelvins = dew_point + 273.15
        assert _Sublimation_Pressure(kelvins - 0.001) < pressure
        assert _Sublimation_Pressure(kelvins + 0.001) > pressure
    else:
        assert dew_point <= 0


@each
@given(temperature=TEMPERATURE, humidity=HUMIDITY, more=st.floats(0.001, 0.5))
def test_dew_point_rises_with_humidity_to_the_temperature(
    temperature: float, humidity: float, more: float
) -> None:
    dew_point = climate.dew_point(temperature, humidity)
    assert dew_point <= climate.dew_point(temperature, min(1, humidity + more)) <= temperature
    assert climate.dew_point(temperature, 1) == approx(temperature, abs=0.001)


def test_deficit_of_a_fruiting_room_is_small() -> None:
    # Oysters fruit at 80 to 90 % and more: common practice, no source. Half of a dry room's.
    for humidity in ("80%", "90%", "95%"):
        deficit = cultivar_fx.vapor_pressure_deficit("64 °F", humidity)
        assert deficit < 0.5 * cultivar_fx.vapor_pressure_deficit("64 °F", "50%")


@pytest.mark.parametrize(("dry", "wet"), [(20, 20), (5, 5), (-5, -5), (0, 0), (60, 60)])
def test_wet_as_dry_is_saturated(dry: float, wet: float) -> None:
    assert cultivar_fx.relative_humidity(dry, wet) == approx(1, abs=1e-12)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((20, 21), "at most the dry bulb"),
        ((40, 5), "needs to be warmer"),
        ((90, 80, 11000), "below the boiling point"),
    ],
)
def test_impossible_wet_bulbs(arguments: tuple[float, ...], sentence: str) -> None:
    with pytest.raises(NotPossible, match=sentence):
        cultivar_fx.relative_humidity(*arguments)


def test_boiling_air_and_bone_dry_air_have_no_answer() -> None:
    with pytest.raises(NotPossible, match="needs vapor below the air pressure"):
        cultivar_fx.humidity_ratio(90, 1, 8000)
    with pytest.raises(NotPossible, match="frost point of -80"):
        cultivar_fx.dew_point(20, 1e-8)
    with pytest.raises(OutOfRange, match=r"62% or 0\.62"):
        cultivar_fx.dew_point(20, 62)


# Humidifying and heating the fresh air


def test_humidifying_fresh_air() -> None:
    # psychrolib 2.5.0: 100 m³/h from 5 °C/60 % to 18 °C/90 %: 126.25 kg dry air/h,
    # 1.0589 kg water/h, 1.207 kW; saturation pressures differ by 300 ppm.
    fresh = (100, 5, "60%", 18, "90%")
    assert climate.dry_air_flow(100, 5, 0.6, 0) == approx(126.25, abs=0.01)
    assert cultivar_fx.humidifying_water(*fresh) == approx(1.0589, rel=300e-6)
    assert cultivar_fx.air_heat(*fresh) == approx(1.207, abs=0.0006)


@each
@given(
    flow=st.floats(1, 5000),
    outside=MILD,
    outside_humidity=HUMIDITY,
    room=st.floats(5, 30),
    room_humidity=HUMIDITY,
    altitude=ALTITUDE,
)
def test_fresh_air_is_that_of_psychrolib(
    flow: float,
    outside: float,
    outside_humidity: float,
    room: float,
    room_humidity: float,
    altitude: float,
) -> None:
    # psychrolib: volume, humidity ratio and enthalpy of both; 0.1 % of vapor, 2500 kJ/kg of heat.
    pressure = psychrolib.GetStandardAtmPressure(altitude)
    ratio_out = psychrolib.GetHumRatioFromRelHum(outside, outside_humidity, pressure)
    ratio_in = psychrolib.GetHumRatioFromRelHum(room, room_humidity, pressure)
    dry_air = flow / psychrolib.GetMoistAirVolume(outside, ratio_out, pressure)
    water = dry_air * max(0, ratio_in - ratio_out)
    heat = psychrolib.GetMoistAirEnthalpy(room, ratio_in)
    heat -= psychrolib.GetMoistAirEnthalpy(outside, ratio_out)
    arguments = (flow, outside, outside_humidity, room, room_humidity, altitude)
    trace = 1e-3 * dry_air * max(ratio_in, ratio_out)
    assert climate.humidifying_water(*arguments) == approx(water, abs=trace)
    expected = dry_air * heat / 3600 / 1000
    assert climate.air_heat(*arguments) == approx(expected, abs=trace * 2500 / 3600 + 1e-9)


def test_wetter_outside_air_needs_no_water() -> None:
    assert cultivar_fx.humidifying_water(100, 30, "90%", 18, "90%") == 0


def test_warm_outside_air_needs_cooling() -> None:
    assert cultivar_fx.air_heat(100, 30, "90%", 18, "90%") < 0


def test_fresh_air_in_both_unit_systems() -> None:
    # The same air in cfm, °F and feet.
    metric = cultivar_fx.humidifying_water(100, 5, "60%", 18, "90%", 300)
    american = cultivar_fx.humidifying_water(
        100 / 1.69901079552, 41, "60%", 64.4, "90%", 300 / 0.3048, "us"
    )
    assert american * 0.45359237 == approx(metric, rel=1e-9)


def test_boiling_rooms_are_refused() -> None:
    for function in (cultivar_fx.humidifying_water, cultivar_fx.air_heat):
        with pytest.raises(NotPossible, match="temperature: got 90"):
            function(100, 5, "60%", 90, "100%", 8000)
