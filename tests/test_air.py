"""Fresh air: carbon dioxide of a room against mass balances and published examples."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

import cultivar_fx
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages import air
from cultivar_fx.stages.decay import mean_decay

if TYPE_CHECKING:
    from types import ModuleType

PPM = st.floats(0, 20000)

approx = pytest.approx


def test_steady_dilution() -> None:
    # ASHRAE Technical FAQ 35: 0.315 L/min in 7.5 L/s of air, a rise of 700 ppm; exact but for
    # the density that goes in and out.
    level = cultivar_fx.room_carbon_dioxide("0.315 L/min", "7.5 L/s", 420)
    assert level == approx(1120, rel=1e-9)
    flow = cultivar_fx.fresh_air("0.315 L/min", 1120, 420)
    assert flow == approx(27, rel=1e-9)


def test_air_for_a_room() -> None:
    # Mass balance: 50 kg oysters at 15 °C (165.34 mL/(kg·h)), 1000 ppm in, 420 out.
    assert cultivar_fx.fresh_air("8.267 L/h", 1000, 420) == approx(14.25, abs=0.005)


def test_fresh_air_in_american_units() -> None:
    # The same flow in cfm: 1 m³/h is 0.588578 cfm.
    answer = cultivar_fx.fresh_air("8.267 L/h", 1000, 420, units="us")
    assert answer == approx(14.25 * 0.588578, abs=0.003)


def test_density_of_carbon_dioxide(coolprop: ModuleType) -> None:
    # CoolProp at 20 °C and 101.325 kPa, real gas: 0.6 % above the ideal one.
    density = coolprop.PropsSI("D", "T", 293.15, "P", 101325, "CO2")
    answer = cultivar_fx.room_carbon_dioxide(1, 1, 400) - 400
    assert answer == approx(1e3 / density, rel=0.006)


@pytest.mark.parametrize(("hours", "ppm"), [(0.5, 2429.31), (1, 1984.85), (2, 1369.13)])
def test_decay_without_a_source(hours: float, ppm: float) -> None:
    # Exponential dilution: 60 m³, 30 m³/h, 3000 ppm, outside 420; half of the last digit.
    assert cultivar_fx.carbon_dioxide_after(hours, 3000, 30, 60, 420) == approx(ppm, abs=0.005)


@settings(max_examples=50, deadline=None)
@given(
    hours=st.floats(0.01, 12),
    start=PPM,
    flow=st.one_of(st.just(0.0), st.floats(1e-6, 1e-3), st.floats(1, 500)),
    volume=st.floats(10, 300),
    outdoor=st.floats(400, 500),
    rate=st.floats(0, 500),
)
def test_level_follows_the_mass_balance(
    hours: float, start: float, flow: float, volume: float, outdoor: float, rate: float
) -> None:
    # V dc/dt = Q (outside - c) + G, integrated numerically; 1.8296 g/L by the ideal gas law.
    source = rate / (44.0095 * 101.325 / (8.314462618 * 293.15)) * 1000
    solution = solve_ivp(
        lambda _, ppm: (flow * (outdoor - ppm) + source) / volume,
        (0, hours),
        [start],
        method="LSODA",
        rtol=1e-10,
        atol=1e-6,
    )
    answer = air.carbon_dioxide_after(hours, start, flow, volume, outdoor, rate)
    assert answer == approx(solution.y[0, -1], rel=1e-6, abs=1e-3)


def test_level_settles() -> None:
    # After 50 air changes nothing of the start is left.
    after = cultivar_fx.carbon_dioxide_after(100, 5000, 30, 60, 420, 20)
    assert after == approx(cultivar_fx.room_carbon_dioxide(20, 30, 420), rel=1e-9)


def test_closed_room_fills_steadily() -> None:
    # 1 g/h at 1.8296 g/L in 60 m³: 9.1098 ppm an hour.
    assert cultivar_fx.carbon_dioxide_after(10, 420, 0, 60, 420, 1) == approx(511.10, abs=0.005)


def test_impossible_levels() -> None:
    with pytest.raises(NotPossible, match="room_ppm: got 420"):
        cultivar_fx.fresh_air(10, 420, 420)
    with pytest.raises(NotPossible, match="needs to stay within"):
        cultivar_fx.room_carbon_dioxide(1e6, 1, 420)
    with pytest.raises(NotPossible, match="needs to stay within"):
        cultivar_fx.carbon_dioxide_after(1e6, 420, 0, 60, 420, 100)


def test_air_changes() -> None:
    # 200 ft³/min in 4000 ft³: every 20 min.
    assert cultivar_fx.air_changes(200, 4000, "us") == approx(3, rel=1e-12)
    assert cultivar_fx.air_changes(30, 60) == approx(0.5, rel=1e-12)


# Thin air, and the meter in the room


def test_thin_air_takes_more_of_it() -> None:
    # Ideal gas, 101.325 kPa / p: 21 % more air at 1609 m (5280 ft).
    low = cultivar_fx.fresh_air(100, 1000, 420)
    assert cultivar_fx.fresh_air(100, 1000, 420, 1609) / low == approx(1.21, abs=0.005)
    high = cultivar_fx.fresh_air(100, 1000, 420, 5280, "us")
    assert high / cultivar_fx.fresh_air(100, 1000, 420, units="us") == approx(1.21, abs=0.005)


@given(rate=st.floats(1, 500), flow=st.floats(10, 500), altitude=st.floats(-100, 3000))
def test_air_and_level_fit_at_any_altitude(rate: float, flow: float, altitude: float) -> None:
    level = air.room_carbon_dioxide(rate, flow, 420, altitude)
    assert air.fresh_air(rate, level, 420, altitude) == approx(flow, rel=1e-6)
    settled = air.carbon_dioxide_after(1e4, 420, flow, 60, 420, rate, altitude)
    assert settled == approx(level, rel=1e-9)


def test_air_changes_by_the_meter() -> None:
    # ASTM E741 principle, recomputed: 1800 to 900 ppm over 420 ppm in 30 min, 2.112 an hour.
    answer = cultivar_fx.air_changes_from_decay("30 min", 1800, 900, 420)
    assert answer == approx(2.112, abs=0.0005)


@given(hours=st.floats(0.1, 5), start=st.floats(1000, 20000), flow=st.floats(1, 300))
def test_decay_measured_is_the_decay_made(hours: float, start: float, flow: float) -> None:
    end = air.carbon_dioxide_after(hours, start, flow, 60, 420)
    changes = air.air_changes_from_decay(hours, start, end, 420) if end > 421 else None
    assert changes is None or changes == approx(flow / 60, rel=1e-6)


def test_carbon_dioxide_by_the_meter() -> None:
    # Mass balance, recomputed: +120 ppm in 10 min in 60 m³ at 20 °C and sea level, 79 g/h.
    answer = cultivar_fx.carbon_dioxide_from_rise("10 min", 500, 620, 60)
    assert answer == approx(79, abs=0.5)


@given(hours=st.floats(0.05, 5), rate=st.floats(1, 500), altitude=st.floats(-100, 3000))
def test_rise_measured_is_the_rise_made(hours: float, rate: float, altitude: float) -> None:
    end = air.carbon_dioxide_after(hours, 420, 0, 60, 420, rate, altitude)
    assert air.carbon_dioxide_from_rise(hours, 420, end, 60, altitude) == approx(rate, rel=1e-6)


def test_a_meter_that_tells_nothing() -> None:
    with pytest.raises(NotPossible, match="end_ppm: got 400, needs to be above outdoor_ppm"):
        cultivar_fx.air_changes_from_decay(1, 1800, 400, 420)
    with pytest.raises(NotPossible, match="end_ppm: got 1900, needs to be no more than start"):
        cultivar_fx.air_changes_from_decay(1, 1800, 1900, 420)
    with pytest.raises(NotPossible, match="end_ppm: got 400, needs to be no less than start"):
        cultivar_fx.carbon_dioxide_from_rise(1, 500, 400, 60)


@pytest.mark.parametrize("changes", [1e-9, 9e-6, 1.1e-5, 0.01, 1, 30])
def test_mean_of_a_decay(changes: float) -> None:
    # The integral of exp(-x), as the standard library computes exp(x)-1 near 0.
    assert mean_decay(changes) == approx(-math.expm1(-changes) / changes, rel=1e-10)
