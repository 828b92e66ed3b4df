"""Limits: a number in the wrong unit is refused, and what a farm can have is taken.

What is real is common practice (no source) unless a line names one; each slip is the same
quantity typed in another unit of daily use.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

import cultivar_fx
from cultivar_fx.calls.call import call
from cultivar_fx.catalog.dimensions import US
from cultivar_fx.catalog.registry import functions

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Argument

SLIPS: list[tuple[str, tuple[Any, ...], str]] = [
    # Grams for kilograms: a 2.75 kg bag, 800 g of a block.
    ("BAG_COUNT", (240, 2750), "bag_mass"),
    ("BATCH_MASS", (80, 2750), "bag_mass"),
    ("BLOCKS_PER_SPAWN_BAG", (2000, 2.75, 0.04), "spawn_bag_mass"),
    ("BLOCKS_PER_SPAWN_BAG", (2, 2750, 0.04), "block_mass"),
    ("BLOCKS_FOR_DEMAND", (90, 800, 0.1), "yield_per_block"),
    # Kilograms in a cubic meter for kilograms in a liter, pounds in a cubic foot for pounds in a
    # gallon: 600 kg/m³, 40 lb/ft³.
    ("LARGEST_BATCH", (500, 600, 0.7), "bulk_density"),
    ("FILL_VOLUME", (6, 40, "us"), "bulk_density"),
    # Cubic meters for liters: a mixer of 500 L.
    ("MIXER_LOADS", (240, 0.5, 0.6, 0.7), "mixer_volume"),
    # Centimeters for meters, inches for feet, meters for centimeters.
    ("SHELF_SPACES", (120, 0.45, 20, 12), "shelf_length"),
    ("SHELF_SPACES", (1.2, 45, 20, 12), "shelf_depth"),
    ("SHELF_SPACES", (4, 18, 8, 5, 2, 1, "us"), "shelf_depth"),
    ("SHELF_SPACES", (1.2, 0.45, 0.2, 12), "block_length"),
    ("SHELF_SPACES", (1.2, 0.45, 200, 12), "block_length"),
    ("SHELF_SPACES", (1.2, 0.45, 20, 0.12), "block_depth"),
    # Degrees Fahrenheit where Celsius is asked for: 60 °F, 36 °F.
    ("HARVEST_HEAT", (10, 60), "temperature"),
    ("COLD_ROOM_POWER", (50, 60, 2, 6, 0.92), "start_temperature"),
    ("COLD_ROOM_POWER", (50, 18, 36, 6, 0.92), "end_temperature"),
    # Minutes for hours: 6 hours.
    ("COLD_ROOM_POWER", (50, 18, 2, 360, 0.92), "hours"),
    # Percent without its sign.
    ("WET_BASIS", (150,), "dry_basis_moisture"),
    ("WET_BASIS", (50,), "dry_basis_moisture"),
    ("NITROGEN_OF_MIX", ([80], [0.07], [2.6]), "nitrogens, value 1"),
    ("SUPPLEMENT_SHARE", (0.0015, 2.6, 0.01), "supplement_nitrogen"),
    ("EXPECTED_HARVEST", (10, 90), "biological_efficiency"),
    ("EFFICIENCY_FROM_YIELD", (11.58, 0.69), "yield_rate"),
    ("EFFICIENCY_FROM_YIELD", (5, 0.69), "yield_rate"),
    ("COLD_ROOM_POWER", (50, 18, 2, 6, 0.92, 0, 0, 20), "margin"),
    ("PRICE_FOR_MARKUP", (40, 50), "markup"),
    ("LABOR_COST", (60, 20, 43), "burden"),
    # The chance of error for the confidence: 5 % for 95 %.
    ("LOSS_LOW", (3, 100, 0.05), "confidence"),
    ("LOSS_HIGH", (3, 100, 0.05), "confidence"),
    ("LOSS_DIFFERENCE_LOW", (3, 100, 5, 100, 0.05), "confidence"),
    ("LOSS_DIFFERENCE_HIGH", (3, 100, 5, 100, 0.05), "confidence"),
    ("TRIAL_BLOCKS", (0.05, 0.1, 0.05), "confidence"),
    ("LOOK_CONFIDENCE", (0.05, 2), "confidence"),
    # The correlation of blocks in a batch for the design effect that follows from it.
    ("LOSS_LOW", (3, 100, 0.95, 0.05), "dispersion"),
    ("LOSS_HIGH", (3, 100, 0.95, 0.05), "dispersion"),
    ("LOSS_DIFFERENCE_LOW", (3, 100, 5, 100, 0.95, 0.05), "dispersion"),
    ("LOSS_DIFFERENCE_HIGH", (3, 100, 5, 100, 0.95, 0.05), "dispersion"),
    ("TRIAL_BLOCKS", (0.05, 0.1, 0.95, 0.8, 0.05), "dispersion"),
    # A date written as one number: 20260314 for March 14, 2026.
    ("START_DATE", (20260314, 42), "sale_date"),
    # Days typed as a date.
    ("START_DATE", ("2026-03-14", 46053), "days"),
]

REAL: list[tuple[str, tuple[Any, ...]]] = [
    # A jar and a bag of straw; a small and a large mixer; a bucket.
    ("BAG_COUNT", (10, "50 g")),
    ("BAG_COUNT", (1000, "25 kg")),
    ("LARGEST_BATCH", ("5 L", 0.6, 0.7)),
    ("LARGEST_BATCH", ("10 m³", 0.6, 0.7)),
    # Loose chopped straw, lime.
    ("FILL_VOLUME", (6, "40 kg/m³")),
    ("FILL_VOLUME", (6, "1.4 kg/L")),
    # Alabama Extension, By-product feeds guide, Table 2: 28 lb/ft³ of soybean hulls.
    ("FILL_VOLUME", ("6 lb", "28 lb/ft3", "us")),
    # A wall of shelves, a bottle, a log.
    ("SHELF_SPACES", ("60 ft", "4 ft", "4 in", "4 in", 0, 5)),
    ("SHELF_SPACES", (20, 1.5, 120, 15)),
    ("HARVEST_HEAT", (10, "75 degF")),
    ("COLD_ROOM_POWER", (50, "95 degF", "33 degF", 24, 0.92)),
    # Raw shiitake: 89.74 % water (USDA) is 875 % on dry basis.
    ("WET_BASIS", ("875%",)),
    # Urea has 46 % nitrogen (its formula).
    ("NITROGEN_OF_MIX", ([80, 1], [0.07, 0], ["0.15%", "46.6%"])),
    # Three times the dry substrate, more than Pettipher's 135 %.
    ("EXPECTED_HARVEST", (10, "300%")),
    ("PRICE_FOR_MARKUP", (0.5, "1500%")),
    ("LABOR_COST", (60, 20, "43.86%")),
    ("LOSS_LOW", (3, 100, "50%")),
    ("LOSS_LOW", (3, 100, "99.99%")),
    # All or nothing in batches of 300 blocks: each batch counts as one block.
    ("LOSS_LOW", (300, 3000, 0.95, 300)),
    ("DISPERSION", ([300, 0, 0], [300, 300, 300])),
    ("DESIGN_EFFECT", ([0, 0, 0], [3000, 40, 1])),
    # Half a batch, where some of its blocks count for another; a plan as good as nothing.
    ("CREDIBILITY", (2.5, 0.01)),
    ("BLENDED", (None, 0.8, 0, 6)),
    ("BLENDED", (-0.1, 0, 3, 6)),
    ("LOOK_CONFIDENCE", ("50%", 5)),
    ("BLOCKS_FOR_DEMAND", (90, "60 g", 0.1)),
    ("YEARLY_DEPRECIATION", (100000, 0, 50)),
    ("BLOCKS_IN_PROGRESS", (70, "18 months")),
]


@pytest.mark.parametrize(
    ("name", "arguments", "argument"),
    SLIPS,
    ids=[f"{one[0]}-{one[2]}-{n}" for n, one in enumerate(SLIPS)],
)
def test_a_number_in_the_wrong_unit_is_refused(
    name: str, arguments: tuple[Any, ...], argument: str
) -> None:
    sentence = cultivar_fx.why(name, *arguments)
    assert sentence.startswith(f"{argument}: got "), sentence
    assert "needs" in sentence


@pytest.mark.parametrize(
    ("name", "arguments"), REAL, ids=[f"{one[0]}-{n}" for n, one in enumerate(REAL)]
)
def test_what_a_farm_can_have_is_taken(name: str, arguments: tuple[Any, ...]) -> None:
    assert isinstance(call(name, *arguments), (int, float))


def us_ends() -> list[tuple[Argument, str, float]]:
    """Return every end of a range as it is said in the us system, with its argument."""
    return [
        (argument, sign, float(end))
        for wanted in functions().values()
        for argument in wanted.arguments
        if argument.dimension.differs
        for sign, end in re.findall(
            r"(above |below |)(-?\d[\d.]*)",
            argument.limits.text(argument.dimension, US, is_prompt=True),
        )
    ]


def test_limits_that_are_said_in_round_numbers_are_within_the_exact_ones() -> None:
    ends = us_ends()
    assert len(ends) > 40
    for argument, sign, end in ends:
        step = {"above ": 1e-9, "below ": -1e-9}.get(sign, 0.0) * max(1.0, abs(end))
        metric = argument.dimension.to_metric(end + step)
        low, high = argument.limits.low, argument.limits.high
        assert low is None or metric >= low - 1e-9 * abs(low), (argument.name, end)
        assert high is None or metric <= high + 1e-9 * abs(high), (argument.name, end)
        assert len(f"{end:.15g}".strip("-").replace(".", "").strip("0")) <= 3, (argument.name, end)
