"""The shortest number that stands for a converted one: what somebody would have typed."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

_DIGITS = 15
"""What every program keeps of a number."""
_TYPED_DIGITS = 12
"""What somebody types; a longer number was computed, and keeps all its digits."""


def shortest(
    number: float, there: Callable[[float], float], back: Callable[[float], float]
) -> float:
    """Return a number in another unit, with as few digits as bring the same number back.

    Parameters
    ----------
    number : float
        The number to convert.
    there, back : callable
        Convert to the other unit, and from it.

    Returns
    -------
    float
        The exact number where no short one comes back; the given one where it becomes too large.
    """
    exact = there(number)
    if not isfinite(exact):
        return number
    for digits in range(1, _TYPED_DIGITS + 1):
        short = _rounded(exact, digits)
        if _rounded(back(short), _DIGITS) == _rounded(number, _DIGITS):
            return short
    return exact


def _rounded(number: float, digits: int) -> float:
    return float(f"{number:.{digits}g}")
