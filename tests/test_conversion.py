"""Numbers from one unit system to the other, and back."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.errors import CellError
from workbook_template.operations.conversion import convert
from workbook_template.schema.fields import WORKBOOK_DIMENSIONS

DIFFERENT = [one for one in WORKBOOK_DIMENSIONS.values() if one.differs]
OTHER = dict(zip(SYSTEMS, reversed(SYSTEMS), strict=True))


@pytest.mark.parametrize(
    ("us", "unit", "metric"),
    [  # exact by definition: international yard and pound, 1959; US gallon of 231 cubic inches
        (6, "kg", 2.72155422),
        (132, "L", 499.674355488),
        (8, "m", 2.4384),
        (100, "m²", 9.290304),
        (68, "°C", 20),
        (-40, "°C", -40),
        (3, "money/kg", 3 / 0.45359237),
    ],
)
def test_known_quantities(us: float, unit: str, metric: float) -> None:
    dimension = WORKBOOK_DIMENSIONS[unit]
    assert convert(us, dimension, "us", "metric") == pytest.approx(metric, rel=1e-14)
    assert convert(metric, dimension, "metric", "us") == us


@given(
    st.decimals(-(10**6), 10**6, places=6, allow_nan=False).map(float),
    st.sampled_from(DIFFERENT),
    st.sampled_from(SYSTEMS),
)
@example(0.1, WORKBOOK_DIMENSIONS["m"], "us")
@example(-17.8, WORKBOOK_DIMENSIONS["°C"], "metric")
@example(32.1, WORKBOOK_DIMENSIONS["°C"], "us")
def test_what_was_typed_comes_back_the_same(number: float, dimension: object, units: str) -> None:
    there = convert(number, dimension, units, OTHER[units])
    back = convert(there, dimension, OTHER[units], units)
    assert back == pytest.approx(number, rel=1e-14, abs=1e-13 if dimension.zero else 0)
    assert convert(back, dimension, units, OTHER[units]) == there


@pytest.mark.parametrize("value", ["10 lb", "", None, True, CellError("#N/A", "")])
def test_what_is_no_number_stays_as_it_is(value: object) -> None:
    assert convert(value, WORKBOOK_DIMENSIONS["kg"], "us", "metric") is value


def test_a_number_that_no_unit_makes_larger_stays() -> None:
    assert convert(1.7e308, WORKBOOK_DIMENSIONS["kg"], "metric", "us") == 1.7e308


@pytest.mark.parametrize("unit", ["fraction", "count", "date", "kWh", "min/block"])
def test_what_is_the_same_in_both_stays(unit: str) -> None:
    assert convert(0.1 + 0.2, WORKBOOK_DIMENSIONS[unit], "us", "metric") == 0.1 + 0.2
