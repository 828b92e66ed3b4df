"""Storage: heat of picked mushrooms, cold room and weight loss, against published figures."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import storage

EXACT = 1e-9
MASS = st.floats(0.01, 10000)
COLD = st.floats(0, 25)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


@pytest.mark.parametrize(("temperature", "joules"), [(15, 2500), (3.5, 750)])
def test_heat_of_picked_oysters_as_published(temperature: float, joules: float) -> None:
    # Bohling & Hansen 1989, Acta Hort. 258:573 (abstract): J/(kg·h) of picked oyster mushrooms.
    watts = cultivar_fx.harvest_heat("1 kg", f"{temperature} degC")
    assert watts * 3600 == approx(joules, rel=EXACT)


def test_heat_in_a_us_workbook() -> None:
    # 15 °C is 59 °F; 2500 J/(kg·h) of 0.45359237 kg (the pound is exact by definition).
    watts = cultivar_fx.harvest_heat(1, 59, "us")
    assert watts == approx(2500 * 0.45359237 / 3600, rel=EXACT)


@pytest.mark.parametrize(("temperature", "milliliters"), [(0, 22), (5, 35), (10, 50), (20, 158)])
def test_oysters_breathe_more_than_button_mushrooms(temperature: float, milliliters: float) -> None:
    # UC Davis postharvest sheet of Suslow & Cantwell: highest respiration of picked Agaricus in
    # mL/(kg·h), times 122 kcal/(t·day) per mL; 1 kcal = 4184 J. Oysters breathe harder, by less
    # than twice from 5 °C on; both grow alike with temperature.
    agaricus = milliliters * 122 / 1000 * 4184 / 86400
    assert 0.99 * agaricus < cultivar_fx.harvest_heat(1, temperature) < 2 * agaricus


@each
@given(MASS, COLD, st.floats(0.01, 5))
def test_heat_grows_with_mass_and_temperature_by_a_constant_factor(
    mass: float, temperature: float, step: float
) -> None:
    def heat(degrees: float) -> float:
        return storage.harvest_heat(mass, degrees)

    assert storage.harvest_heat(2 * mass, temperature) == approx(2 * heat(temperature), rel=EXACT)
    assert heat(temperature + step) > heat(temperature)
    factor = heat(temperature + step) / heat(temperature)
    assert factor == approx(heat(step) / heat(0), rel=EXACT)


def test_heat_is_only_known_for_the_temperatures_of_a_farm() -> None:
    with pytest.raises(OutOfRange, match="temperature: got 60"):
        cultivar_fx.harvest_heat(1, 60)


def composed_heat(temperature: float) -> float:
    """Return the specific heat of raw mushrooms [kJ/(kg·K)] from what they consist of.

    Choi & Okos 1986 (coefficients from memory): water, protein, carbohydrate, fat, ash, each as
    a polynomial of the temperature. Composition of raw white mushrooms: USDA nutrient database
    (from memory).
    """
    parts = (
        (0.9245, 4.1762, -9.0864e-5, 5.4731e-6),
        (0.0309, 2.0082, 1.2089e-3, -1.3129e-6),
        (0.0326, 1.5488, 1.9625e-3, -5.9399e-6),
        (0.0034, 1.9842, 1.4733e-3, -4.8008e-6),
        (0.0085, 1.0926, 1.8896e-3, -3.6817e-6),
    )
    return sum(
        share * (constant + linear * temperature + square * temperature**2)
        for share, constant, linear, square in parts
    )


def test_cooling_without_gains_against_the_heat_of_the_parts() -> None:
    # Siebel's two-term formula against Choi & Okos: 3 %, since it knows water and the rest only.
    power = cultivar_fx.cold_room_power(100, 18, 2, 1, "92.45%")
    assert power * 3600 / 100 / 16 == approx(composed_heat(10), rel=0.03)


def test_specific_heat_as_in_the_refrigeration_handbook() -> None:
    # ASHRAE Refrigeration, Thermal properties of foods, Table 3 (from memory): mushrooms with
    # 91.81 % water, 3.99 kJ/(kg·K) above freezing. Siebel is known to be a little low.
    power = cultivar_fx.cold_room_power(1, 1, 0, 1, "91.81%")
    assert power * 3600 == approx(3.99, rel=0.025)


def test_specific_heat_of_siebel() -> None:
    # Siebel 1892 as republished: 0.837 + 3.349 times the water; 92 % water: 3.918 kJ/(kg·K).
    power = cultivar_fx.cold_room_power(50, 18, 2, 6, "92%")
    assert power == approx(50 * 3.91808 * 16 / 21600, rel=EXACT)


def test_cold_room_in_a_us_workbook() -> None:
    metric = cultivar_fx.cold_room_power(50, 18, 2, 6, 0.92, 30, 400, 0.2)
    us = cultivar_fx.cold_room_power(
        50 / 0.45359237, 64.4, 35.6, 6, 0.92, "30 W", "400 W", "20%", "us"
    )
    assert us == approx(metric, rel=EXACT)


@each
@given(MASS, COLD, COLD, st.floats(0.1, 240), st.floats(0, 1), st.floats(0, 1e4), st.floats(0, 5))
def test_cold_room_takes_out_what_comes_in(
    mass: float,
    one: float,
    other: float,
    hours: float,
    moisture: float,
    gain: float,
    margin: float,
) -> None:
    end, start = sorted((one, other))
    bare = storage.cold_room_power(mass, start, end, hours, moisture)
    assert bare >= 0
    # Twice the time, half the power: the heat taken out is the same.
    slower = storage.cold_room_power(mass, start, end, 2 * hours, moisture)
    assert slower * 2 == approx(bare, rel=EXACT)
    # Cooled in two steps: the same heat as in one.
    middle = (start + end) / 2
    steps = (
        storage.cold_room_power(mass, start, middle, hours, moisture),
        storage.cold_room_power(mass, middle, end, hours, moisture),
    )
    assert sum(steps) == approx(bare, rel=1e-6, abs=1e-12)
    # A gain is a gain, whatever it comes from.
    breathing = storage.cold_room_power(mass, start, end, hours, moisture, gain, 0, margin)
    walls = storage.cold_room_power(mass, start, end, hours, moisture, 0, gain, margin)
    assert breathing == walls
    assert breathing == approx((bare + gain / 1000) * (1 + margin), rel=EXACT)


def test_mushrooms_colder_than_the_room_are_refused() -> None:
    with pytest.raises(NotPossible, match="end_temperature"):
        cultivar_fx.cold_room_power(10, 2, 4, 6, 0.92)


@pytest.mark.parametrize(
    ("grams_an_hour", "daily", "digits"), [(0.52, 0.0125, 5e-5), (3.88, 0.093, 5e-4)]
)
def test_weight_loss_of_oysters_in_a_day(grams_an_hour: float, daily: float, digits: float) -> None:
    # J. Food Eng. 2017, transpiration of oyster mushrooms (abstract): 0.52 g/(kg·h) at 2 °C and
    # 100 %, 3.88 at 18 °C and 86 %; 1.25 and 9.3 % a day (derived).
    assert cultivar_fx.storage_loss(1000, 1, daily) == approx(24 * grams_an_hour, abs=digits * 1000)


def test_loss_is_compounded() -> None:
    # Arithmetic: 10 % of 100 kg, then 10 % of 90 kg.
    assert cultivar_fx.storage_loss("100 kg", "2 d", "10%") == approx(19, rel=EXACT)
    assert cultivar_fx.storage_loss(100, 2, 0.1, "us") == approx(19, rel=EXACT)


@each
@given(MASS, st.floats(0, 60), st.floats(0, 60), st.floats(0, 0.5))
def test_loss_of_one_time_after_another(
    mass: float, first: float, second: float, daily: float
) -> None:
    lost = storage.storage_loss(mass, first, daily)
    assert 0 <= lost <= mass
    later = storage.storage_loss(mass - lost, second, daily)
    both = storage.storage_loss(mass, first + second, daily)
    assert lost + later == approx(both, rel=1e-6, abs=mass * 1e-12)
    assert both >= lost
