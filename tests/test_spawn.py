"""Spawn against published rates and mass balances."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.errors import OutOfRange
from cultivar_fx.stages import spawn

EXACT = 1e-9
MASS = st.floats(0.01, 10000)
BAG = st.floats(0.1, 30)
RATE = st.floats(0.001, 1)
MOISTURE = st.floats(0, 0.95)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


def test_spawn_of_a_whole_batch() -> None:
    # Computed: mass balance of a batch of 242.1053 kg at 62 %, with 4 % of its wet mass in grain
    # spawn at 45 % (an assumption); half a unit of the last printed digit.
    needed = cultivar_fx.spawn_needed("242.1053 kg", "4%")
    assert needed == approx(9.6842, abs=5e-5)
    assert 242.1053 + needed == approx(251.7895, abs=0.0005)
    answer = cultivar_fx.spawn_rate_dry(needed, "45%", "242.1053 kg", "62%")
    assert answer == approx(0.057895, abs=5e-7)


@pytest.mark.parametrize(
    ("rate", "grams"), [("1.25%", 12.5), ("2.5%", 25), ("3.75%", 37.5), ("5%", 50)]
)
def test_rates_are_on_wet_mass(rate: str, grams: float) -> None:
    # Rates tried on wet mass: Royse 2002, Appl. Microbiol. Biotechnol. 58:527 (abstract).
    assert cultivar_fx.spawn_needed("1 kg", rate) == approx(grams / 1000, rel=EXACT)
    assert cultivar_fx.spawn_rate(f"{grams} g", "1 kg") == approx(
        float(rate.strip("%")) / 100, rel=EXACT
    )


def test_bag_of_spawn_at_the_practical_ceiling() -> None:
    # Royse, Penn State Extension: oyster takes up to 5 % of wet mass, that is a twentieth.
    assert cultivar_fx.blocks_per_spawn_bag("6 lb", "8 lb", "5%") == 15


def test_tenfold_expansion() -> None:
    # Arithmetic: ten times ten times 1 kg is 100 kg.
    assert cultivar_fx.spawn_to_start("100 kg", 10, 2) == approx(1, rel=EXACT)


def test_no_generation_needs_the_spawn_itself() -> None:
    assert cultivar_fx.spawn_to_start("7 kg", 10, 0, "20%") == approx(7, rel=EXACT)


@pytest.mark.parametrize(("needed", "bag", "count"), [(0.3, 0.1, 3), (7.5, 2.5, 3), (7.6, 2.5, 4)])
def test_bags_to_open(needed: float, bag: float, count: int) -> None:
    assert cultivar_fx.spawn_bags(needed, bag) == count


@each
@given(MASS, RATE)
def test_rate_round_trip(substrate: float, rate: float) -> None:
    needed = spawn.spawn_needed(substrate, rate)
    assert spawn.spawn_rate(needed, substrate) == approx(rate, rel=EXACT)


@each
@given(MASS, RATE, MOISTURE)
def test_equal_moistures_make_both_rates_equal(
    substrate: float, rate: float, moisture: float
) -> None:
    needed = spawn.spawn_needed(substrate, rate)
    answer = spawn.spawn_rate_dry(needed, moisture, substrate, moisture)
    assert answer == approx(rate, rel=EXACT)


@each
@given(MASS, MOISTURE, MASS, MOISTURE)
def test_dry_rate_balances_dry_matter(
    spawn_mass: float, spawn_moisture: float, substrate: float, moisture: float
) -> None:
    answer = spawn.spawn_rate_dry(spawn_mass, spawn_moisture, substrate, moisture)
    spawn_dry = spawn_mass - spawn_mass * spawn_moisture
    substrate_dry = substrate - substrate * moisture
    assert answer * substrate_dry == approx(spawn_dry, rel=EXACT)


@each
@given(MASS, BAG)
def test_opened_bags_are_enough_and_one_fewer_are_not(needed: float, bag: float) -> None:
    count = spawn.spawn_bags(needed, bag)
    noise = 1e-8 * bag
    assert count * bag >= needed - noise
    assert (count - 1) * bag < needed + noise


@each
@given(BAG, BAG, RATE)
def test_bag_is_enough_for_its_blocks_and_not_for_one_more(
    bag: float, block: float, rate: float
) -> None:
    blocks = spawn.blocks_per_spawn_bag(bag, block, rate)
    noise = 1e-8 * block * rate
    assert spawn.spawn_needed(blocks * block, rate) <= bag + noise
    assert spawn.spawn_needed((blocks + 1) * block, rate) > bag - noise


@each
@given(MASS, st.floats(1.5, 20), st.integers(0, 5), st.floats(0, 0.5))
def test_start_grows_into_the_spawn_wanted(
    wanted: float, expansion: float, generations: int, loss: float
) -> None:
    grown = spawn.spawn_to_start(wanted, expansion, generations, loss)
    for _ in range(generations):
        made = grown * expansion
        grown = made - made * loss
    assert grown == approx(wanted, rel=EXACT)


def test_expansion_has_to_expand() -> None:
    with pytest.raises(OutOfRange, match="expansion"):
        cultivar_fx.spawn_to_start(100, 1, 2)


def test_generations_are_whole() -> None:
    with pytest.raises(OutOfRange, match="generations"):
        cultivar_fx.spawn_to_start(100, 10, 1.5)


def test_percent_typed_as_a_number_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"type 3% or 0\.03"):
        cultivar_fx.spawn_needed(100, 3)
