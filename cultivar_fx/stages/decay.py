"""Exponential decay, as the air of a room and the heat of a block share it."""

from __future__ import annotations

from math import exp

from cultivar_fx.catalog.definition import formula_part


@formula_part()
def mean_decay(times: float) -> float:
    """Return the mean of exp(-x) for x from 0 to a number of times the time constant."""
    if times < 0.00001:
        return 1 - times / 2 + times**2 / 6
    return (1 - exp(0 - times)) / times
