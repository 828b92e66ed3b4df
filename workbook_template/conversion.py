"""Numbers of one unit system become those of the other, and come back as they were."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from cultivar_fx.dimensions import METRIC

if TYPE_CHECKING:
    from collections.abc import Callable

    from cultivar_fx.dimensions import Dimension
    from workbook_template.writer import Value

_CLOSE = 2e-15
"""What the arithmetic of a conversion and back may be off, relative."""
_MOST_DIGITS = 17


def convert(value: Value, dimension: Dimension, units: str, wanted: str) -> Value:
    """Bring what was typed into the units of another system.

    Parameters
    ----------
    value : Value
        A number; anything else stays as it is.
    dimension : Dimension
        The kind of quantity.
    units, wanted : str
        The two systems.

    Returns
    -------
    Value
        The shortest number that comes back as the one that was typed.

    Examples
    --------
    >>> from cultivar_fx.dimensions import DIMENSIONS
    >>> convert(10, DIMENSIONS["kg"], "us", "metric")
    4.5359237
    >>> convert(4.5359237, DIMENSIONS["kg"], "metric", "us")
    10.0
    """
    if not isinstance(value, int | float) or isinstance(value, bool):
        return value
    if units == wanted or not dimension.differs:
        return value
    to_metric, from_metric = dimension.to_metric, dimension.from_metric
    there, back = (to_metric, from_metric) if wanted == METRIC else (from_metric, to_metric)
    return _shortest(float(value), there, back, abs(dimension.zero))


def _shortest(
    number: float, there: Callable[[float], float], back: Callable[[float], float], zero: float
) -> float:
    exact = there(number)
    if not isfinite(exact):
        return number
    allowed = _CLOSE * max(abs(number), zero)
    for digits in range(1, _MOST_DIGITS):
        short = float(f"{exact:.{digits}g}")
        if abs(back(short) - number) <= allowed:
            return short
    return exact
