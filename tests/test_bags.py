"""Bags and mixer against published densities, mass balances and common practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import bags

if TYPE_CHECKING:
    from collections.abc import Callable

EXACT = 1e-9
BATCH = st.floats(0, 20000)
BAG = st.floats(0.1, 30)
DENSITY = st.floats(0.1, 1.2)
VOLUME = st.floats(20, 5000)
FILL = st.floats(0.1, 1)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


def test_blocks_of_a_whole_batch() -> None:
    # Computed: mass balance; 242.1053 kg are 88.038 blocks of 2.75 kg.
    assert cultivar_fx.bag_count("242.1053 kg", "2.75 kg") == 88
    part = cultivar_fx.left_over("242.1053 kg", "2.75 kg") / 2.75
    assert part == approx(0.038, abs=0.0005)


@pytest.mark.parametrize(
    ("density", "material"),
    [(28, "soybean hulls, loose"), (40, "soybean hulls, pelleted"), (20, "rice bran")],
)
def test_bulk_density_of_by_products(density: int, material: str) -> None:
    # Alabama Extension, By-product feeds quick reference guide, Table 2, in lb/ft³.
    # Pound, foot and US gallon are exact by definition: 1 ft³ is 1728/231 US gal.
    assert cultivar_fx.bulk_density(density, "1 ft³", "us") == approx(
        density * 231 / 1728, rel=EXACT
    )
    assert cultivar_fx.bulk_density(f"{density} lb", "1 ft³") == approx(
        density * 0.45359237 / 28.316846592, rel=EXACT
    )


def test_tube_that_fills_a_ten_pound_bag() -> None:
    # Common practice, no source: a tube of a little over two US gallons fills a ten-pound bag,
    # so the substrate lies at a little under 5 lb/gal.
    assert cultivar_fx.fill_volume("10 lb", "5 lb/gal", "us") == approx(2, rel=EXACT)
    assert 2 < cultivar_fx.fill_volume("10 lb", "4.9 lb/gal", "us") < 2.1
    assert 4.7 < cultivar_fx.bulk_density("10 lb", "2.1 gal", "us") < 5


def test_fills_in_a_cubic_yard() -> None:
    # A cubic yard is 46656 cubic inches, a US gallon 231: about 202 gallons.
    assert cultivar_fx.convert_units("1 yd³", "gal") == approx(202, abs=0.5)
    # Common practice, no source: a mixer of a cubic yard holds about a hundred such fills.
    load = cultivar_fx.largest_batch("1 yd³", "4.95 lb/gal", 1)
    assert cultivar_fx.bag_count(load, "10 lb") == approx(100, abs=2)


@pytest.mark.parametrize(
    ("batch", "bag", "lost", "count"),
    [(0.3, 0.1, 0, 3), (0.7, 0.1, 0, 7), (48.3, 4.8, 0.3, 10), (16.1, 5, 1.1, 3)],
)
def test_full_bag_is_not_lost_to_float_noise(
    batch: float, bag: float, lost: float, count: int
) -> None:
    assert cultivar_fx.bag_count(batch, bag, lost) == count
    assert cultivar_fx.left_over(batch, bag, lost) == 0


def test_full_load_is_not_doubled_by_float_noise() -> None:
    # 3 loads of 100 L x 0.7 kg/L x 70 % are 147 kg; in floats the quotient lies off 3.
    assert cultivar_fx.mixer_loads(147, 100, 0.7, "70%") == 3


def test_bag_that_is_not_full_does_not_count() -> None:
    assert cultivar_fx.bag_count(24.74, 2.75) == 8


def test_plain_numbers_in_pounds() -> None:
    assert cultivar_fx.bag_count(465, 6, 4, "us") == 76
    assert cultivar_fx.left_over(465, 6, 4, "us") == approx(5, rel=EXACT)
    assert cultivar_fx.batch_mass(76, 6, 9, "us") == approx(465, rel=EXACT)


@each
@given(BATCH, BAG, st.floats(0, 1))
def test_bags_left_over_and_loss_make_the_batch(batch: float, bag: float, part: float) -> None:
    lost = batch * part
    count = bags.bag_count(batch, bag, lost)
    left = bags.left_over(batch, bag, lost)
    assert count == int(count)
    assert count * bag + left + lost == approx(batch, rel=EXACT, abs=1e-8)
    assert 0 <= left <= bag


@each
@given(st.integers(0, 2000), BAG, st.floats(0, 50))
def test_batch_for_bags_fills_just_these(count: int, bag: float, lost: float) -> None:
    batch = bags.batch_mass(count, bag, lost)
    assert bags.bag_count(batch, bag, lost) == count


@each
@given(BAG, VOLUME)
def test_density_and_volume_round_trip(mass: float, volume: float) -> None:
    density = bags.bulk_density(mass, volume)
    assert bags.fill_volume(mass, density) == approx(volume, rel=EXACT)


@each
@given(VOLUME, DENSITY, FILL)
def test_largest_batch_fills_the_working_volume(volume: float, density: float, fill: float) -> None:
    batch = bags.largest_batch(volume, density, fill)
    assert bags.fill_volume(batch, density) == approx(volume * fill, rel=EXACT)


@each
@given(BATCH, VOLUME, DENSITY, FILL)
def test_loads_take_the_batch_and_one_fewer_do_not(
    batch: float, volume: float, density: float, fill: float
) -> None:
    loads = bags.mixer_loads(batch, volume, density, fill)
    largest = bags.largest_batch(volume, density, fill)
    noise = 1e-8 * largest
    assert loads * largest >= batch - noise
    assert batch == 0 or (loads - 1) * largest < batch + noise


@pytest.mark.parametrize("function", [cultivar_fx.bag_count, cultivar_fx.left_over])
def test_more_lost_than_mixed_is_refused(function: Callable[..., object]) -> None:
    with pytest.raises(NotPossible, match="lost_mass"):
        function(10, 2, 11)


def test_part_of_a_bag_is_refused() -> None:
    with pytest.raises(OutOfRange, match="bags"):
        cultivar_fx.batch_mass(2.5, 6)


@pytest.mark.parametrize("fill", [0, 70])
def test_working_fill_is_a_share(fill: float) -> None:
    with pytest.raises(OutOfRange, match="working_fill"):
        cultivar_fx.largest_batch(500, 0.6, fill)


def test_nothing_is_lost_where_nothing_is_said() -> None:
    # 88 bags of 2.75 kg are 242 kg.
    assert cultivar_fx.bag_count(242, 2.75) == 88
    assert cultivar_fx.batch_mass(88, 2.75) == 242
    assert cultivar_fx.left_over(243, 2.75) == 1


def test_length_of_a_block() -> None:
    # By hand: 2.7 kg at 0.6 kg/L are 4500 cm³; over 12 cm by 15 cm 25 cm. In pounds, lb/gal and
    # inches: 6 lb at 4.8 lb/gal are 1.25 gal of 231 in³; over 5 by 5.5 in 10.5 in.
    assert cultivar_fx.block_length(2.7, 0.6, 12, 15) == pytest.approx(25, rel=1e-12)
    assert cultivar_fx.block_length(6, 4.8, 5, 5.5, "us") == pytest.approx(10.5, rel=1e-9)
