"""A new user sees what is still to be filled in before a result can appear."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from reading import parts, place
from workbooks import made

if TYPE_CHECKING:
    from office import Office

SHEETS = ("Mix card", "Costing", "Quote", "Steam", "Rooms")
TITLE = "Still to fill in"


@pytest.mark.parametrize("sheet", SHEETS)
def test_nothing_is_missing_in_the_demo(sheet: str) -> None:
    worksheet = made("us", "demo").values[sheet]
    row = next(cell.row for cell in worksheet["A"] if cell.value == TITLE)
    assert worksheet.cell(row + 1, 1).value == "nothing"


def test_mix_card_shows_water_once_ingredients_recipe_and_bags_are_typed(office: Office) -> None:
    """40 bags of 4 kg at 62 %: 60.8 kg dry; of pellets at 5 %, 64 kg; water 160 - 64 = 96 kg."""
    values = made("metric", "empty").values
    typed = {
        "ingredients.ingredient": "Oak pellets",
        "ingredients.moisture": 0.05,
        "recipes.recipe": "Oak",
        "recipes.target_moisture": 0.62,
        "recipe_lines.recipe": "Oak",
        "recipe_lines.ingredient": "Oak pellets",
        "recipe_lines.share": 1,
        "strains.strain": "Oyster",
        "block_mass": 4,
        "lost_mass": 0,
        "mix_recipe": "Oak",
        "mix_strain": "Oyster",
        "bags_wanted": 40,
    }
    with office.kept(made("metric", "empty").path) as document:
        for key, value in typed.items():
            at = place(values, key)
            document.write(at.sheet, at.row, at.column, [[value]])
        column = [row[:2] for row in document.read("Mix card", 0, 0, 60, 2)]
    shown = dict(column)
    missing = column[[row[0] for row in column].index(TITLE) + 1][0]
    assert missing == "Spawn rate (Strains); Bulk density, mixed (Recipes); "
    assert shown["Water"] == pytest.approx(160 - 160 * 0.38 / 0.95)
    assert shown["Bags to fill"] == 40


def test_what_is_missing_is_named_with_its_sheet() -> None:
    worksheet = made("us", "empty").values["Costing"]
    assert TITLE in parts(worksheet)
    row = next(cell.row for cell in worksheet["A"] if cell.value == TITLE)
    assert worksheet.cell(row + 1, 1).value.startswith(
        "Product line; Price of a filter bag (Farm); "
    )
