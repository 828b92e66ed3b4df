"""Recipes: shares as weighed, target moisture, and what follows from them."""

from __future__ import annotations

from workbook_template.schema.materials import RECIPE_LINES, RECIPES
from workbook_template.writing.blocks import Sheet, TableBlock


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Recipes",
        purpose="What each substrate is made of: shares as weighed, and target moisture.",
        blocks=[TableBlock(RECIPES), TableBlock(RECIPE_LINES)],
        landscape=True,
        pages_high=1,
    )
