"""Incubation: heat of the colony and of the room against published factors and balances."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.stages import incubation

MILLIGRAMS_PER_MILLILITER = 1.964  # carbon dioxide at 0 °C and 101.325 kPa
WATTS = st.floats(-1e5, 1e5)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


def test_heat_by_the_factor_for_milliliters() -> None:
    # Suslow & Cantwell, UC Davis postharvest sheet: 122 kcal/(t·day) per mL/(kg·h), which is
    # 0.005908 W/kg. Their factors are rounded (61 for mg, twice as much for mL): 2 %.
    answer = incubation.respiration_heat(MILLIGRAMS_PER_MILLILITER / 1000)
    assert answer == approx(0.005908, rel=0.02)


def test_heat_by_the_factor_for_milligrams() -> None:
    # The same sheet: 61 kcal/(t·day) per mg/(kg·h). A ton at 1 mg/(kg·h) gives off 1 g/h.
    assert cultivar_fx.respiration_heat("1 g/h") == approx(61 * 4184 / 86400, rel=1e-12)


@pytest.mark.parametrize("joules", [2803e3, 2816e3])
def test_heat_of_burning_glucose(joules: float) -> None:
    # Oxidation of a mole of glucose to six of carbon dioxide (44.0095 g/mol), from memory; 1 %.
    assert cultivar_fx.respiration_heat(6 * 44.0095) == approx(joules / 3600, rel=0.01)


@pytest.mark.parametrize(("milliliters", "joules"), [(165.34, 2500), (61.59, 750)])
def test_heat_of_oysters_after_harvest(milliliters: float, joules: float) -> None:
    # Output: Arda 2011 at 15 and 5 °C. Heat: Bohling & Hansen 1989 at 15 and 3.5 °C. Two studies
    # of different crops: the same order, a factor of two.
    watts = cultivar_fx.respiration_heat(f"{milliliters} mL/h")
    assert 0.5 < watts / (joules / 3600) < 2


def test_wall_heat_loss() -> None:
    # Steady conduction by hand: 120 m² * 30 K / 2.5 m²·K/W.
    assert cultivar_fx.wall_heat_loss(120, 2.5, 22, -8) == approx(1440, rel=1e-12)


def test_wall_heat_loss_in_american_units() -> None:
    # By hand in Btu: 1000 ft² * 40 °F / R-20 = 2000 Btu/h, at 0.29307107 W (international Btu).
    # That oysters incubate near 70 °F is common practice, no source.
    answer = cultivar_fx.wall_heat_loss(1000, 20, 70, 30, "us")
    assert answer == approx(2000 * 0.29307107, rel=1e-7)


def test_heat_comes_in_from_a_warmer_side() -> None:
    assert cultivar_fx.wall_heat_loss(10, 2, 20, 30) == approx(-50, rel=1e-12)


@pytest.mark.parametrize(
    ("arguments", "kilowatts"),
    [
        ((1440, 1.2, 300), 2.34),
        ((1440, 1.2, 300, 0.2), 2.808),
        ((1440, 1.2, 3000), 0),
        ((-500, 1.2, 0), 0.7),
        ((1440, -2, 0), 0),
    ],
)
def test_heater_power(arguments: tuple[float, ...], kilowatts: float) -> None:
    # Heat balance by hand.
    assert cultivar_fx.heater_power(*arguments) == approx(kilowatts, rel=1e-12)


def test_answers_go_into_the_heater_as_they_are() -> None:
    # 1440 W of walls, 1.207 kW of air (psychrolib 2.5.0), 100 g/h at 2.954 W per g/h.
    walls = cultivar_fx.wall_heat_loss(120, 2.5, 22, -8)
    air = cultivar_fx.air_heat(100, 5, "60%", 18, "90%")
    colony = cultivar_fx.respiration_heat(100)
    answer = cultivar_fx.heater_power(walls, air, colony)
    assert answer == approx(1.440 + 1.207 - 0.2954, abs=0.001)


@each
@given(walls=WATTS, air=st.floats(-100, 100), colony=st.floats(0, 1e5), margin=st.floats(0, 10))
def test_heater_never_cools(walls: float, air: float, colony: float, margin: float) -> None:
    answer = incubation.heater_power(walls, air, colony, margin)
    assert answer >= 0
    assert answer >= incubation.heater_power(walls, air, colony + 1, margin)


# Cooling


def test_cooling_power() -> None:
    # By hand: 0.5 kW of walls, 1.6 of air, 0.3 of the colony, 0.15 of fans: 2.55 kW and a fifth.
    answer = cultivar_fx.cooling_power("500 W", "-1.6 kW", "300 W", "150 W", "20%")
    assert answer == approx(3.06, rel=1e-12)


@given(walls=WATTS, air=st.floats(-20, 20), colony=st.floats(0, 5000), margin=st.floats(0, 1))
def test_a_room_is_heated_or_cooled_but_not_both(
    walls: float, air: float, colony: float, margin: float
) -> None:
    # Heat balance: the same room needs the one or the other, and both by the same balance.
    heating = incubation.heater_power(walls, air, colony)
    cooling = incubation.cooling_power(-walls, air, colony)
    assert min(heating, cooling) == 0
    assert heating - cooling == approx(walls / 1000 + air - colony / 1000, abs=1e-9)
    assert incubation.cooling_power(-walls, air, colony, 0, margin) == approx(
        cooling * (1 + margin), rel=1e-12
    )
