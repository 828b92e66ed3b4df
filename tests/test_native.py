"""What the text of every native formula keeps to, so that each spreadsheet program takes it."""

from __future__ import annotations

import re
from itertools import accumulate, product

import pytest

from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.catalog.native import formula
from cultivar_fx.catalog.registry import functions

LONGEST = 8192
"""Characters of a formula in Excel ("Excel specifications and limits", Microsoft)."""

DEEPEST = 64
"""Levels of nested functions in Excel (the same page)."""

_COMMON = (
    "ABS AND AVERAGE BINOMDIST COLUMNS COS COUNT COUNTBLANK EXP GAMMALN IF INDEX INT ISNUMBER "
    "LN LOG10 MATCH MAX MIN MOD N NORMSDIST NORMSINV NOT OR PI ROUND ROUNDDOWN ROUNDUP ROWS SIGN "
    "SIN SQRT SUM SUMPRODUCT TDIST TTEST"
)
COMMON = frozenset(_COMMON.split())
"""Functions under the same name in Excel 2010, LibreOffice and Google Sheets, by the function
lists of the three. None is volatile or takes a reference as text."""

NATIVE = {name: wanted for name, wanted in functions().items() if wanted.native}
CALL = re.compile(r"([A-Za-z_][\w.]*)\(")

each_function = pytest.mark.parametrize("name", NATIVE)


def texts(name: str) -> list[str]:
    """Return a formula in both systems, guarded and not, for far-off cells of another sheet."""
    places = {}
    for column, argument in zip("ABCDEFGH", NATIVE[name].arguments):
        places[argument.name] = f"Ingredients!$A{column}$1000"
        if argument.is_range:
            places[argument.name] += f":$A{column}$1999"
    return [
        formula(name, places, system, guarded)
        for system, guarded in product(SYSTEMS, (False, True))
    ]


@each_function
def test_formula_is_short_enough_for_excel(name: str) -> None:
    assert max(map(len, texts(name))) <= LONGEST


@each_function
def test_formula_is_flat_enough_for_excel(name: str) -> None:
    for text in texts(name):
        depths = list(accumulate((mark == "(") - (mark == ")") for mark in text))
        assert depths[-1] == 0
        assert max(depths) <= DEEPEST


@each_function
def test_formula_uses_functions_that_all_programs_have(name: str) -> None:
    used = {function for text in texts(name) for function in CALL.findall(text)}
    assert used <= COMMON


@each_function
def test_formula_leaves_nothing_to_be_filled_in(name: str) -> None:
    for text in texts(name):
        assert not re.search(r"CFX|\{[A-Za-z_]", text)


@pytest.mark.parametrize(
    ("name", "arguments", "words"),
    [
        ("DRY_MASS", {"mass": "A1", "moisture": "B1", "water": "C1"}, "has no argument water"),
        ("DRY_MASS", {"mass": "A1"}, "argument moisture is missing"),
    ],
)
def test_formula_with_wrong_arguments_is_refused(
    name: str, arguments: dict[str, str], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        formula(name, arguments)
