"""Planning against arithmetic, the calendar and the area of the shelves."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import planning

EXACT = 1e-9
SIDE = st.floats(5, 60)

approx = pytest.approx
each = settings(max_examples=200, deadline=None)


@pytest.mark.parametrize(
    ("demand", "block", "loss", "blocks"),
    [(90, 1, 0.1, 100), (90.1, 1, 0.1, 101), (0, 1, 0.1, 0), (0.3, 0.1, 0, 3)],
)
def test_blocks_for_demand(demand: float, block: float, loss: float, blocks: int) -> None:
    # Arithmetic: of 100 blocks at 1 kg, 90 are good.
    assert cultivar_fx.blocks_for_demand(demand, block, loss) == blocks


def test_blocks_in_progress() -> None:
    # Little's law: 70 blocks a week are 10 a day; for 28 days that is 280.
    assert cultivar_fx.blocks_in_progress(70, "4 weeks") == approx(280, rel=EXACT)
    assert cultivar_fx.blocks_per_week(280, 28) == approx(70, rel=EXACT)


def test_places_need_no_gap_at_the_ends() -> None:
    # Arithmetic: 5 blocks of 20 cm and 4 gaps of 5 cm are 120 cm; 2 of 20 cm and a gap are 45 cm.
    assert cultivar_fx.shelf_spaces("1.2 m", "45 cm", "20 cm", "20 cm", "5 cm") == 10
    assert cultivar_fx.shelf_spaces("1.19 m", "45 cm", "20 cm", "20 cm", "5 cm") == 8
    assert cultivar_fx.shelf_spaces("1.2 m", "44 cm", "20 cm", "20 cm", "5 cm", 3) == 15


def test_places_in_feet_and_inches() -> None:
    # Arithmetic: 4 ft are 6 blocks of 8 in without a gap, 18 in are 3 blocks of 6 in.
    assert cultivar_fx.shelf_spaces(4, 1.5, 8, 6, 0, 2, "us") == 36


def test_default_gap_is_the_same_in_both_systems() -> None:
    metric = cultivar_fx.shelf_spaces("1.2 m", "45 cm", "20 cm", "20 cm")
    assert metric == cultivar_fx.shelf_spaces("1.2 m", "45 cm", "20 cm", "20 cm", units="us")


def test_start_date() -> None:
    # Calendar: 14 days before 2026-03-14 is 2026-02-28, 28 days before that 2026-01-31.
    assert cultivar_fx.start_date(dt.date(2026, 3, 14), 42) == dt.date(2026, 1, 31)
    assert cultivar_fx.start_date("2024-03-01", "1 week") == dt.date(2024, 2, 23)


def test_start_date_of_a_plain_number() -> None:
    assert cultivar_fx.start_date(46000, 42) == 45958


@each
@given(st.floats(0, 10000), st.floats(0.1, 10), st.floats(0, 0.9))
def test_blocks_are_enough_and_one_fewer_are_not(demand: float, block: float, loss: float) -> None:
    blocks = planning.blocks_for_demand(demand, block, loss)
    good = block * (1 - loss)
    noise = 1e-8 * good
    assert blocks * good >= demand - noise
    assert demand == 0 or (blocks - 1) * good < demand + noise


@each
@given(st.floats(0, 5000), st.floats(1, 200))
def test_as_many_enter_as_there_are_places(places: float, days: float) -> None:
    weekly = planning.blocks_per_week(places, days)
    assert planning.blocks_in_progress(weekly, days) == approx(places, rel=EXACT)


@each
@given(st.floats(0, 10), st.floats(0, 2), SIDE, SIDE, st.floats(0, 20), st.integers(0, 10))
def test_blocks_never_take_more_than_the_area(
    length: float, depth: float, block_length: float, block_depth: float, gap: float, shelves: int
) -> None:
    answer = planning.shelf_spaces(length, depth, block_length, block_depth, gap, shelves)
    area = length * 100 * depth * 100 * shelves
    assert answer == int(answer)
    assert answer * block_length * block_depth <= area * (1 + 1e-6)


@each
@given(st.integers(1, 40), st.integers(1, 8), SIDE, SIDE, st.floats(0, 20))
def test_shelf_cut_to_its_blocks_takes_them_all(
    along: int, across: int, block_length: float, block_depth: float, gap: float
) -> None:
    length = (along * block_length + (along - 1) * gap) / 100
    depth = (across * block_depth + (across - 1) * gap) / 100
    answer = planning.shelf_spaces(length, depth, block_length, block_depth, gap)
    assert answer == along * across


@each
@given(st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1)), st.integers(0, 1000))
def test_days_from_start_to_sale(sale: dt.date, days: int) -> None:
    start = cultivar_fx.start_date(sale, days)
    assert isinstance(start, dt.date)
    assert (sale - start).days == days


def test_start_before_all_calendars_is_refused() -> None:
    assert cultivar_fx.start_date("1900-03-02", 1) == dt.date(1900, 3, 1)
    with pytest.raises(NotPossible, match="days"):
        cultivar_fx.start_date("1900-03-02", 2)


def test_losing_every_block_is_refused() -> None:
    with pytest.raises(OutOfRange, match="loss_rate"):
        cultivar_fx.blocks_for_demand(10, 1, "100%")


def test_part_of_a_shelf_is_refused() -> None:
    with pytest.raises(OutOfRange, match="shelves"):
        cultivar_fx.shelf_spaces(1, 1, 20, 20, 5, 1.5)
