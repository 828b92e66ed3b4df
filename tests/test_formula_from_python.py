"""What the lines of a Python function say as a formula.

The expected texts are written by hand, by the meaning of the two languages: Python's reference,
"Expressions", and ECMA-376 part 1, 18.17.
"""

from __future__ import annotations

from math import ceil, exp, fsum, pi
from typing import TYPE_CHECKING, Any

import pytest

from cultivar_fx.catalog.definition import Definition
from cultivar_fx.errors import NotPossible
from cultivar_fx.formula.from_python import Named, read
from cultivar_fx.formula.parse import parse
from cultivar_fx.formula.text import plain

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

SHIFT = -2.5


def unnamed(function: object) -> Named | None:
    return None


def steps(a: float, b: float) -> float:
    left: float = a - b
    part, rest = a / b, 1e-7
    return left**2 * (part + rest)


def constants(a: float) -> float:
    return (a + SHIFT) * pi + SHIFT / a


def power(a: float) -> float:
    return -(a**-2)


def early(a: float) -> float:
    if a < 0:
        return 0.0
    return exp(a)


def choice(a: float, b: float) -> float:
    return a if 0 < a <= b else ceil(b)


def product_sum(masses: Sequence[float], shares: Sequence[float]) -> float:
    return fsum(map(_dry, masses, shares)) / len(masses)


def _dry(mass: float, share: float) -> float:
    return mass * (1 - share)


def _need_less(name: str, a: float, b: float) -> None:
    if a >= b:
        raise NotPossible(f"{name}: is too much.")


def helped(a: float, b: float) -> float:
    _need_less("a", a, b)
    return _twice(a) + b


def _twice(a: float) -> float:
    return 2 * a


def either(a: float, b: float) -> float:
    if a < 0 and b < 0:
        raise NotPossible("a: is below zero, and so is b.")
    if a == 1 or not b > a:
        raise NotPossible("b: does not fit.")
    return a


def two_sides(a: float, b: float) -> float:
    for name, value in (("a", a), ("b", b)):
        if value < 1:
            raise NotPossible(f"{name}: is too small.")
    return a * b


@pytest.mark.parametrize(
    ("function", "formula", "conditions"),
    [
        (steps, "({a}-{b})^2*({a}/{b}+1E-07)", []),
        (constants, "({a}-2.5)*PI()-2.5/{a}", []),
        # A spreadsheet takes the sign before the power, Python after it.
        (power, "-({a}^(-2))", []),
        (early, "IF({a}<0,0,EXP({a}))", []),
        (choice, "IF(AND(0<{a},{a}<={b}),{a},-INT(-{b}))", []),
        (product_sum, "SUMPRODUCT({masses},1-{shares})/COUNT({masses})", []),
        (helped, "2*{a}+{b}", ["{a}<{b}"]),
        (either, "{a}", ["OR({a}>=0,{b}>=0)", "{a}<>1", "{b}>{a}"]),
        (two_sides, "{a}*{b}", ["{a}>=1", "{b}>=1"]),
    ],
)
def test_lines_are_read_as_a_formula(
    function: Callable[..., Any], formula: str, conditions: list[str]
) -> None:
    reading = read(function, unnamed)
    assert reading.result is not None
    assert plain(reading.result) == formula
    assert [plain(condition) for condition in reading.conditions] == conditions
    assert not reading.unread


def test_a_function_with_a_name_is_called_and_brings_what_it_requires() -> None:
    named = Named("CFX.TWICE", ["a"], [parse("{a}<9")])
    reading = read(helped, lambda function: named if function is _twice else None)
    assert reading.result is not None
    assert plain(reading.result) == "CFX.TWICE({a})+{b}"
    assert [plain(condition) for condition in reading.conditions] == ["{a}<{b}", "{a}<9"]


def loops(a: float) -> float:
    while a > 1:
        if a > 1000:
            raise NotPossible("a: is too much.")
        a /= 2
    return a


def test_what_is_no_formula_asks_for_one() -> None:
    wanted = Definition(loops, None, "", paired=True, unbroken=False, unit_free=False)
    with pytest.raises(SyntaxError, match="loops needs native="):
        assert wanted.native
    with pytest.raises(SyntaxError, match="loops needs requires=, since line"):
        assert wanted.requires
