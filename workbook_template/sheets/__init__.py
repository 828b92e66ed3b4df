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
    from workbook_template.page import Settings, Sheet


def all_sheets(settings: Settings) -> list[Sheet]:
    """Give the sheets in their order."""
    working = [
        farm.sheet(),
        ingredients.sheet(),
        recipes.sheet(),
        strains.sheet(),
        mix_card.sheet(),
        costing.sheet(settings),
    ]
    return [
        start.sheet(settings),
        *working,
        functions.sheet(),
        checks.sheet(checks.all_checks(working)),
        sources.sheet(),
    ]
