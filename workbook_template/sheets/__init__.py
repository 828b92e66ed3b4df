"""The sheets of the workbook, one module each, in the order of the work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.sheets import (
    checks,
    costing,
    farm,
    functions,
    ingredients,
    mix_card,
    recipes,
    sources,
    start,
    strains,
)

if TYPE_CHECKING:
    from workbook_template.page import Sheet


def all_sheets(units: str, invented: bool) -> list[Sheet]:
    """Give the sheets in their order."""
    working = [
        farm.sheet(),
        ingredients.sheet(),
        recipes.sheet(),
        strains.sheet(),
        mix_card.sheet(),
        costing.sheet(units),
    ]
    return [
        start.sheet(invented),
        *working,
        functions.sheet(),
        checks.sheet(checks.all_checks(working)),
        sources.sheet(),
    ]
