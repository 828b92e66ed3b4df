"""Whole bags, loads and places: rounding that a trace of float noise does not tip over."""

from __future__ import annotations

from math import ceil, floor

from cultivar_fx.catalog.definition import formula_part

NOISE = 1e-9
"""Less than this is taken as a rounding error of the computation [count]."""


@formula_part()
def whole_down(number: float) -> float:
    """Round down, but not from just below a whole number."""
    return floor(number + NOISE)


@formula_part()
def whole_up(number: float) -> float:
    """Round up, but not from just above a whole number."""
    return ceil(number - NOISE)
