"""Harvest against published yields and mass balances."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import harvest, substrate

EXACT = 1e-9
MASS = st.floats(0.01, 10000)
MOISTURE = st.floats(0, 0.95)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


def test_efficiency_may_be_more_than_everything() -> None:
    # Pettipher 1988, J. Sci. Food Agric. 42:215 (abstract): "135 %" means 1.35 kg fresh from 1 kg
    # dry substrate.
    assert cultivar_fx.expected_harvest("1 kg", "135%") == approx(1.35, rel=EXACT)
    assert cultivar_fx.biological_efficiency("1.35 kg", "1 kg") == approx(1.35, rel=EXACT)


@pytest.mark.parametrize(
    ("fresh", "efficiency"),
    [(250.00, 0.9091), (240.79, 0.8756), (219.42, 0.7979), (210.27, 0.7646)],
)
def test_lions_mane(fresh: float, efficiency: float) -> None:
    # Horticulturae 2025, 11(10):1220, table; the pairs imply 275.0 g dry substrate (derived).
    answer = cultivar_fx.biological_efficiency(f"{fresh} g", "275.0 g")
    assert answer == approx(efficiency, abs=5e-5)
    harvested = cultivar_fx.expected_harvest("275.0 g", efficiency)
    assert harvested == approx(fresh / 1000, abs=275e-3 * 5e-5 + 5e-6)


def test_oyster_on_straw() -> None:
    # PMC7407021, Table 2: 910.1 g a bag at 105.0 %, 866.8 g dry (derived); printed to 0.1.
    assert cultivar_fx.biological_efficiency("910.1 g", "866.8 g") == approx(1.05, abs=0.0005)
    assert cultivar_fx.expected_harvest("866.8 g", "105.0%") == approx(0.9101, abs=0.0005)


def test_yield_on_wet_mass_against_efficiency() -> None:
    # Proximate study of H. erinaceus on oak (abstract): 115.8 g/kg and 37.3 %; dry fraction
    # 0.3105 (derived). Half a unit of the last digit of 37.3 %.
    rate = cultivar_fx.yield_rate("115.8 g", "1 kg")
    assert rate == approx(0.1158, rel=EXACT)
    assert cultivar_fx.efficiency_from_yield(rate, 1 - 0.3105) == approx(0.373, abs=0.0005)


@pytest.mark.parametrize(
    ("fresh", "dried", "ratio"), [("89.74%", "9.5%", 8.821), ("90%", "10%", 9.000)]
)
def test_fresh_for_a_kilogram_dried(fresh: str, dried: str, ratio: float) -> None:
    # Computed: mass balance; 89.74 % is raw shiitake in the USDA nutrient database.
    assert cultivar_fx.drying_ratio(fresh, dried) == approx(ratio, abs=0.0005)
    assert cultivar_fx.dried_mass(ratio, fresh, dried) == approx(1, abs=0.0005)


def test_harvest_per_area_in_both_systems() -> None:
    # Arithmetic: 50 kg on 10 m² in 20 d; the pound and the foot are exact by definition.
    assert cultivar_fx.harvest_per_area(50, 10, 20) == approx(0.25, rel=EXACT)
    in_us_units = cultivar_fx.harvest_per_area("50 kg", "10 m²", "20 d", "us")
    assert in_us_units == approx(0.25 / 0.45359237 * 0.3048**2, rel=EXACT)


@each
@given(MASS, st.floats(0, 10))
def test_efficiency_round_trip(dry: float, efficiency: float) -> None:
    fresh = harvest.expected_harvest(dry, efficiency)
    assert harvest.biological_efficiency(fresh, dry) == approx(efficiency, rel=EXACT)


@each
@given(MASS, MASS, MOISTURE)
def test_efficiency_from_yield_is_that_on_dry_mass(
    fresh: float, wet: float, moisture: float
) -> None:
    rate = harvest.yield_rate(fresh, wet)
    on_dry_mass = harvest.biological_efficiency(fresh, substrate.dry_mass(wet, moisture))
    assert harvest.efficiency_from_yield(rate, moisture) == approx(on_dry_mass, rel=EXACT)


@each
@given(MASS, MOISTURE, MOISTURE)
def test_drying_keeps_the_dry_matter(fresh: float, one: float, other: float) -> None:
    dried_moisture, fresh_moisture = sorted((one, other))
    dried = harvest.dried_mass(fresh, fresh_moisture, dried_moisture)
    assert dried * (1 - dried_moisture) == approx(fresh * (1 - fresh_moisture), rel=EXACT)
    assert dried * harvest.drying_ratio(fresh_moisture, dried_moisture) == approx(fresh, rel=EXACT)


@each
@given(MASS, st.floats(0.1, 1000), st.floats(1, 365))
def test_harvest_per_area_times_area_and_days(fresh: float, area: float, days: float) -> None:
    assert harvest.harvest_per_area(fresh, area, days) * area * days == approx(fresh, rel=EXACT)


def test_dried_wetter_than_fresh_is_refused() -> None:
    with pytest.raises(NotPossible, match="dried_moisture"):
        cultivar_fx.drying_ratio("10%", "90%")
    with pytest.raises(NotPossible, match="dried_moisture"):
        cultivar_fx.dried_mass(1, "10%", "90%")


def test_efficiency_typed_in_percent_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"type 90% or 0\.9"):
        cultivar_fx.expected_harvest(1, 90)


def test_spent_substrate_by_mass_balance() -> None:
    # Arithmetic: 100 kg dry, 30 kg breathed away, 75 kg fresh at 92 % moisture hold 6 kg dry.
    # 92 %: Mattila et al. 2002, Pleurotus ostreatus (abstract).
    assert cultivar_fx.spent_substrate("100 kg", "75 kg", "92%", "30%") == approx(64, rel=EXACT)
    assert cultivar_fx.spent_substrate("100 lb", "75 lb", "92%", "30%", "us") == approx(64)


@each
@given(MASS, st.floats(0, 1.5), st.floats(0.85, 1), st.floats(0, 0.8))
def test_dry_matter_goes_nowhere_else(
    dry: float, efficiency: float, moisture: float, share: float
) -> None:
    fresh = dry * efficiency
    picked = substrate.dry_mass(fresh, moisture)
    if picked > dry * (1 - share):
        with pytest.raises(NotPossible, match="fresh_mass"):
            harvest.spent_substrate(dry, fresh, moisture, share)
        return
    left = harvest.spent_substrate(dry, fresh, moisture, share)
    assert left >= 0
    assert left + picked + dry * share == approx(dry, rel=EXACT)
    assert harvest.spent_substrate(dry, fresh / 2, moisture, share) >= left
    assert harvest.spent_substrate(dry, fresh, moisture, share / 2) >= left
