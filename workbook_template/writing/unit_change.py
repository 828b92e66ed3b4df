"""Brings a value from one unit of the us system to another of the same quantity, exactly.

Growers type ounces, cubic feet and gallons of water where the functions take pounds and gallons.
The metric units of such a pair are the same, so that a metric workbook changes nothing.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from cultivar_fx.formula.tree import Node, Operation, number

if TYPE_CHECKING:
    from cultivar_fx.catalog.dimensions import Dimension

_LONGEST_TERM = 10_000
"""Up to here a factor is written as a fraction of whole numbers, such as 1/16 or 576/77."""
_ROUNDING = Fraction(1, 10**15)
"""What the factors of units may be off as floats: a fraction no farther off is the exact one."""


def same_quantity(one: Dimension, other: Dimension) -> bool:
    """Return whether two dimensions measure the same, and differ in their units at most."""
    return one.pint_unit is not None and one.pint_unit == other.pint_unit and not one.zero


def in_us_unit(node: Node, given: Dimension, wanted: Dimension) -> Node:
    """Return a value of the us system in the unit of another dimension.

    Parameters
    ----------
    node : Node
        The value, in the us unit of ``given``.
    given, wanted : Dimension
        The units that it has and that it shall have; one unit of either is as much in both
        metric units.

    Returns
    -------
    Node
        The node itself where the units are the same.
    """
    ratio = _size(given) / _size(wanted)
    whole = ratio.limit_denominator(_LONGEST_TERM)
    if abs(whole - ratio) <= ratio * _ROUNDING:
        times, over = [float(whole.numerator)], [float(whole.denominator)]
    else:
        times, over = [given.factor, wanted.divisor], [given.divisor, wanted.factor]
    for sign, factors in (("*", times), ("/", over)):
        for factor in factors:
            node = node if factor == 1 else Operation(sign, node, number(factor))
    return node


def _size(dimension: Dimension) -> Fraction:
    return Fraction(repr(dimension.factor)) / Fraction(repr(dimension.divisor))
