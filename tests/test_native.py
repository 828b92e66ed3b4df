"""What the text of every native formula keeps to, so that each spreadsheet program takes it."""

from __future__ import annotations

import re
from itertools import product

import pytest

from cultivar_fx.catalog import functions
from cultivar_fx.dimensions import SYSTEMS
from cultivar_fx.native import formula

LONGEST = 8192
"""Characters of a formula in Excel ("Excel specifications and limits", Microsoft)."""

DEEPEST = 64
"""Levels of nested functions in Excel (the same page)."""

COMMON = frozenset(
    "ABS AND AVERAGE BINOMDIST COLUMNS COUNT COUNTBLANK EXP IF INDEX INT ISNUMBER LN LOG10 MATCH "
    "MAX MIN MOD NORMSDIST NORMSINV NOT OR PI ROUND ROUNDDOWN ROUNDUP ROWS SIGN SQRT SUM "
    "SUMPRODUCT TDIST TTEST".split()
)
"""Functions under the same name in Excel 2010, LibreOffice and Google Sheets, by the function
lists of the three. None is volatile or takes a reference as text."""

NATIVE = {name: wanted for name, wanted in functions().items() if wanted.native}
CALL = re.compile(r"([A-Za-z_][\w.]*)\(")

each_text = pytest.mark.parametrize(
    ("name", "system", "guarded"), list(product(NATIVE, SYSTEMS, (False, True)))
)


def text(name: str, system: str, guarded: bool) -> str:
    """Give a formula whose arguments stand in far-off cells of another sheet."""
    places = {}
    for column, argument in zip("BCDEFGH", NATIVE[name].arguments):
        places[argument.name] = f"Ingredients!$A{column}$1000"
        if argument.is_range:
            places[argument.name] += f":$A{column}$1999"
    return formula(name, places, system, guarded)


@each_text
def test_formula_is_short_enough_for_excel(name: str, system: str, guarded: bool) -> None:
    assert len(text(name, system, guarded)) <= LONGEST


@each_text
def test_formula_is_flat_enough_for_excel(name: str, system: str, guarded: bool) -> None:
    depth = deepest = 0
    for character in text(name, system, guarded):
        depth += (character == "(") - (character == ")")
        deepest = max(deepest, depth)
    assert depth == 0
    assert deepest <= DEEPEST


@each_text
def test_formula_uses_functions_that_all_programs_have(
    name: str, system: str, guarded: bool
) -> None:
    assert set(CALL.findall(text(name, system, guarded))) <= COMMON


@each_text
def test_formula_names_nothing_that_is_left_to_be_filled_in(
    name: str, system: str, guarded: bool
) -> None:
    assert not re.search(r"CFX|\{[A-Za-z_]|_xl|;", text(name, system, guarded))
