"""Steam: boiling, heating up and lethality against published figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from iapws import IAPWS97
from iapws.iapws97 import _TSat_P

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import steam, vapor

if TYPE_CHECKING:
    from types import ModuleType

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


# Published figures: air pressure and boiling


@pytest.mark.parametrize(
    ("altitude", "pascals"), [(0, 101325), (500, 95461), (1000, 89875), (4000, 61640)]
)
def test_standard_pressure(altitude: float, pascals: float) -> None:
    # ASHRAE Fundamentals 2017, ch. 1, Table 1; printed to 1 Pa.
    assert vapor.air_pressure(altitude) == approx(pascals / 1000, abs=0.001)


@pytest.mark.parametrize(("feet", "boils"), [(0, 212.0), (1000, 210.2), (2000, 208.5)])
def test_boiling_point_by_altitude(feet: float, boils: float) -> None:
    # USDA Complete Guide to Home Canning; within 0.3 °F.
    assert cultivar_fx.boiling_point(feet, "us") == approx(boils, abs=0.3)
    assert cultivar_fx.boiling_point(f"{feet} ft") == approx((boils - 32) / 1.8, abs=0.3 / 1.8)


@pytest.mark.parametrize(("megapascals", "kelvins"), [(0.1, 372.755919), (1, 453.035632)])
def test_saturation_temperature(megapascals: float, kelvins: float) -> None:
    # IAPWS R7-97, Table 36; printed to 1E-6 K.
    temperature = vapor.if97_temperature(vapor.if97_backward_theta(megapascals**0.25))
    assert temperature + 273.15 == approx(kelvins, abs=1e-6)


@each
@given(altitude=st.floats(-500, 11000))
def test_boiling_point_is_that_of_the_iapws_library(altitude: float) -> None:
    # iapws, IAPWS-IF97 backward saturation equation, at the pressure that ASHRAE gives.
    megapascals = 0.101325 * (1 - 2.25577e-5 * altitude) ** 5.2559
    expected = _TSat_P(megapascals) - 273.15
    assert steam.boiling_point(altitude) == approx(expected, abs=1e-6)


# Published figures: heating up


def test_specific_heat_of_oven_dry_wood() -> None:
    # Glass & Zelinka, Wood Handbook 2010, ch. 4: 300 K; half a unit of the last printed digit.
    assert cultivar_fx.specific_heat(0, 26.85) == approx(1.2632, abs=5e-5)


@pytest.mark.parametrize(("moisture", "heat"), [("60%", 3.071), ("62%", 3.127), ("65%", 3.211)])
def test_specific_heat_of_wet_substrate(moisture: str, heat: float) -> None:
    # Computed: mass-weighted mix at a mean of 60 °C of wood 1.3914 and water 4.19. One unit of
    # the last printed digit: 3.2105 was rounded up.
    assert cultivar_fx.specific_heat(moisture) == approx(heat, abs=1e-3)


def test_latent_heat_at_100_degrees(coolprop: ModuleType) -> None:
    # 2256.5 ± 0.2 kJ/kg; IAPWS-IF97 (iapws) and IAPWS-95 (CoolProp).
    latent = steam.LATENT_HEAT
    formulation_97 = IAPWS97(T=373.15, x=1).h - IAPWS97(T=373.15, x=0).h
    vapor, water = (coolprop.PropsSI("H", "T", 373.15, "Q", part, "Water") for part in (1, 0))
    assert latent == approx(2256.5, abs=0.2)
    assert latent == approx(formulation_97, abs=0.2)
    assert latent == approx((vapor - water) / 1000, abs=0.2)


def test_water_takes_what_the_iapws_library_says() -> None:
    # iapws: liquid from 15 to 100 °C at 1 MPa (so that it stays liquid); 0.2 %.
    mean = (IAPWS97(T=373.15, P=1).h - IAPWS97(T=288.15, P=1).h) / 85
    assert mean == approx(steam.WATER_HEAT, rel=2e-3)


def test_heating_a_block() -> None:
    # Computed from the specific heats above: 2.75 kg at 62 %, 20 to 100 °C; last printed digit.
    assert cultivar_fx.heat_up_energy(2.75, "62%", 20, 100) == approx(0.1911, abs=5e-5)


def test_heating_a_cabinet() -> None:
    # The same: 100 blocks at 11 kW without losses take 2.84 h. That 11 kW is a usual electric
    # steamer for a room-size cabinet is common practice, no source.
    energy = cultivar_fx.heat_up_energy(450, "62%", 20, 100)
    assert cultivar_fx.heat_up_hours(energy, 11) == approx(2.84, abs=0.005)
    assert cultivar_fx.heat_up_hours(energy, "11 kW", "80%") == approx(2.84 / 0.8, abs=0.01)


@pytest.mark.parametrize(("feed", "rate"), [(100, 23.931), (15, 20.670)])
def test_steam_from_a_15_kw_boiler(feed: float, rate: float) -> None:
    # IAPWS-IF97, computed with iapws; 0.02 % for the rounded heats of water and evaporation.
    assert cultivar_fx.steam_rate(15, 1, feed) == approx(rate, rel=2e-4)


def test_losses_make_less_steam() -> None:
    # Definition of an efficiency.
    assert cultivar_fx.steam_rate(15, 0.5) == approx(cultivar_fx.steam_rate(15) / 2, rel=1e-12)


@each
@given(
    mass=st.floats(0.1, 1000),
    moisture=st.floats(0, 1),
    temperatures=st.tuples(*[st.floats(0, 150)] * 3).map(sorted),
)
def test_heating_in_two_steps_takes_the_same(
    mass: float, moisture: float, temperatures: list[float]
) -> None:
    # First law; the specific heat is linear, so its mean is exact.
    cold, warm, hot = temperatures
    in_steps = steam.heat_up_energy(mass, moisture, cold, warm)
    in_steps += steam.heat_up_energy(mass, moisture, warm, hot)
    assert in_steps == approx(steam.heat_up_energy(mass, moisture, cold, hot), rel=1e-9, abs=1e-12)


def test_cooling_is_no_heating() -> None:
    with pytest.raises(NotPossible, match="end_temperature: got 20"):
        cultivar_fx.heat_up_energy(2.75, "62%", 100, 20)


# Lethality


@pytest.mark.parametrize(
    ("temperature", "rate"),
    [(95, 0.002455), (98, 0.004898), (100, 0.007762), (110, 0.077625), (121.1, 1)],
)
def test_lethal_rate(temperature: float, rate: float) -> None:
    # Definition L = 10^((T−Tref)/z), z = 10 °C, 121.1 °C; half of the last printed digit.
    assert cultivar_fx.lethal_rate(temperature) == approx(rate, abs=5e-7)


def test_lethal_rate_in_american_units() -> None:
    # The same with 212 °F, 249.98 °F and a z value of 18 °F.
    assert cultivar_fx.lethal_rate(212, 249.98, 18, "us") == approx(0.007762, abs=5e-7)
    assert cultivar_fx.lethal_rate(212, None, None, "us") == approx(0.007762, abs=5e-7)


@pytest.mark.parametrize(("hours", "minutes"), [(8, 3.726), (12, 5.589)])
def test_equivalent_minutes_of_a_hold(hours: float, minutes: float) -> None:
    # Computed from the definition, at 100 °C; half of the last printed digit.
    assert cultivar_fx.lethality([0, hours], [100, 100]) == approx(minutes, abs=5e-4)
    in_steps = cultivar_fx.lethality([0, 1, 1.5, hours], [100] * 4)
    assert in_steps == approx(minutes, abs=5e-4)


def test_atmospheric_steam_is_no_sterilization() -> None:
    # 15 min at 121.1 °C (Stamets, p. 172: 121 °C for at least 15 min) by holding at 100 °C.
    assert cultivar_fx.lethality([0, 32.2], [100, 100]) == approx(15, abs=0.05)
    assert cultivar_fx.lethality([0, 0.25], [121.1, 121.1]) == approx(15, rel=1e-12)


def test_lethality_of_a_steady_rise() -> None:
    # Exact integral of 10^((T-Tref)/z) over a linear rise: z / ln 10 times the rate over the
    # slope; trapezoids of 0.1 K are 5E-5 too high: (0.1 ln 10 / 10)^2 / 12.
    temperatures = [90 + 0.1 * step for step in range(101)]
    hours = [0.05 * step for step in range(101)]
    exact = 60 * 10 / np.log(10) / 2 * (10 ** ((100 - 121.1) / 10) - 10 ** ((90 - 121.1) / 10))
    assert cultivar_fx.lethality(hours, temperatures) == approx(exact, rel=5e-5)


@each
@given(
    temperatures=st.lists(st.floats(60, 125), min_size=3, max_size=12),
    steps=st.lists(st.floats(0, 3), min_size=12, max_size=12),
    at=st.integers(1, 10),
)
def test_lethality_of_two_parts_adds_up(
    temperatures: list[float], steps: list[float], at: int
) -> None:
    hours = list(np.cumsum(steps[: len(temperatures)]))
    assume(at < len(hours) - 1)
    whole = steam.lethality(hours, temperatures)
    first = steam.lethality(hours[: at + 1], temperatures[: at + 1])
    second = steam.lethality(hours[at:], temperatures[at:])
    assert first + second == approx(whole, rel=1e-9, abs=1e-15)


def test_lethality_of_a_row_in_american_units() -> None:
    # The hold of 8 h at 100 °C.
    assert cultivar_fx.lethality([[0, 8]], [[212, 212]], None, None, "us") == approx(
        3.726, abs=5e-4
    )


def test_lethality_needs_readings_in_order() -> None:
    with pytest.raises(NotPossible, match="hours: got 1 after 2"):
        cultivar_fx.lethality([0, 2, 1], [100, 100, 100])
    with pytest.raises(NotPossible, match="at least two"):
        cultivar_fx.lethality([0], [100])


def test_z_value_is_no_thermometer_reading() -> None:
    with pytest.raises(OutOfRange, match="z_value"):
        cultivar_fx.lethal_rate(100, 121.1, 250)
