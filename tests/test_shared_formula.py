"""Formulas that cells share, beside what openpyxl's own translator makes of them."""

from __future__ import annotations

import pytest
from openpyxl.formula.translate import Translator
from openpyxl.utils.cell import coordinate_to_tuple
from workbooks import made

from workbook_template.safety.shared_formula import SharedFormula

ODD = (
    '=A1+$B2*C$3&"50% of A1"',
    "=SUM(3:4)+SUM($3:5)",
    "=SUM(A:$C)+d5%",
    "=Sheet1!A1+'a!b c'!B2:B9",
    "=Log[[#This Row],[a: A1]]+SUM(Log[[b]])",
    "=first:B2+A1:B2:C3+A1:last",
    "=AB_1+R2D2+A1048576",
    "=#REF!+{1,2}+TRUE",
)
PLACES = ("C5", "C6", "D5", "AA100")


@pytest.mark.parametrize("formula", ODD)
def test_each_cell_gets_what_the_library_gives_it(formula: str) -> None:
    shared = SharedFormula(formula, 5, 3)
    for place in PLACES:
        expected = Translator(formula, "C5").translate_formula(place)
        assert shared.at(*coordinate_to_tuple(place)) == expected


def test_formulas_of_a_workbook_move_as_the_library_moves_them() -> None:
    workbook = made("us", "demo").formulas
    formulas = {
        cell.value for sheet in workbook for row in sheet for cell in row if cell.data_type == "f"
    }
    moved = [
        (
            SharedFormula(formula, 9, 4).at(11, 5),
            Translator(formula, "D9").translate_formula("E11"),
        )
        for formula in sorted(formulas)[::7]
    ]
    assert len(moved) > 500
    assert [pair for pair in moved if pair[0] != pair[1]] == []


def test_names_of_another_sheet_keep_it() -> None:
    """The library drops the sheet of a name."""
    assert SharedFormula("=Notes!rate+A1", 1, 2).at(2, 2) == "=Notes!rate+A2"


@pytest.mark.parametrize(("formula", "place"), [("=A1", (1, 3)), ("=A2", (3, 1))])
def test_a_cell_before_the_first_is_refused(formula: str, place: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match=r"row above|Invalid column"):
        SharedFormula(formula, 3, 2).at(*place)
