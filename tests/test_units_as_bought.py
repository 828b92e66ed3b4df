"""Ingredients are priced by the bag, packs weighed in ounces, mixers rated in cubic feet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from reading import parts, place, table
from workbooks import made

from workbook_template.writing.formulas import render

if TYPE_CHECKING:
    from office import Office

NOTE = 3
"""The column of the notes of a form, from 0."""


@pytest.mark.parametrize(
    ("given", "wanted", "factor"),
    [
        ("kg/pack", "kg", 1 / 16),  # ounces in a pound
        ("mixer volume", "L", 1728 / 231),  # cubic inches of a cubic foot and of a US gallon
        ("mixer density", "kg/L", 231 / 1728),
        ("kg", "L", 0.45359237 / 3.785411784),  # a kilogram of water is a liter
        ("kg/block", "kg", 1),
    ],
)
def test_units_are_brought_to_each_other_by_their_definitions(
    given: str, wanted: str, factor: float
) -> None:
    template = f'UNIT({{x}},"{given}","{wanted}")'
    us = render(template, lambda _: "1", "us")
    product = eval(us)  # numbers, asterisks and slashes
    assert product == pytest.approx(factor, rel=1e-14)
    assert render(template, lambda _: "A1", "metric") == "A1"


def test_a_full_mixer_in_cubic_feet() -> None:
    """18 ft³ filled to 70 % with substrate of 37 lb/ft³ hold 466.2 lb."""
    card = parts(made("us", "demo").values["Mix card"])["Calculation"]
    assert card.values["Full mixer load"] == pytest.approx(18 * 0.7 * 37)


def test_a_pack_of_ounces_holds_pounds_of_mushrooms() -> None:
    rows = table(made("us", "demo").values, "products", "us")
    fresh = [row for row in rows if row["form"] == "fresh"]
    assert [row["pack_mass"] for row in fresh] == [8, 80, 8, 8, 16]
    assert [row["fresh"] for row in fresh] == pytest.approx([0.5, 5, 0.5, 0.5, 1])


@pytest.mark.parametrize(
    ("bag", "mass", "bulk", "price", "missing"),
    [
        (13.5, 50, "", 0.27, ""),
        ("", "", 0.3, 0.3, ""),
        (13.5, 50, 0.3, 0.27, ""),
        (13.5, "", 0.3, 0.3, ""),
        (13.5, "", "", "", "price"),
        ("", "", "", "", "price"),
    ],
)
def test_the_price_of_an_ingredient_is_that_of_its_bag_or_in_bulk(
    bag: Any, mass: Any, bulk: Any, price: Any, missing: str, office: Office
) -> None:
    demo = made("us", "demo")
    typed, *shown_at = (
        place(demo.values, f"ingredients.{key}") for key in ("bag_price", "price_used", "missing")
    )
    with office.kept(demo.path) as document:
        document.write(typed.sheet, typed.row, typed.column, [[bag, mass, bulk]])
        shown = [document.read(*at)[0][0] or "" for at in shown_at]
    assert shown == [pytest.approx(price) if price else "", missing]


def test_a_note_says_assumption_only_while_nothing_else_is_typed(office: Office) -> None:
    empty = made("us", "empty")
    at = place(empty.values, "block_mass")

    def note() -> str:
        return document.read(at.sheet, at.row, NOTE)[0][0]

    words = "Wet substrate in one bag, before spawn."
    with office.kept(empty.path) as document:
        assert note() == f"{words} Assumption: measure yours."
        document.write(at.sheet, at.row, at.column, [[5.5]])
        assert note() == words
