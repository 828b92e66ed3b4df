"""What a batch took from the shelf, out of sight: for Stock, and for the lots of deliveries."""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.schema.materials import RECIPE_NUMBERS, recipe_number


def so_far(number: int) -> str:
    """Return the key of the column that adds up what was mixed of a recipe."""
    return f"so_far_{number}"


def is_followed(number: int) -> str:
    """Return the key of the cell that is 1 where the lots of deliveries ask for a recipe."""
    return f"recipe_followed_{number}"


def _mixed_so_far(number: int) -> Computed:
    """Make the column that adds up, to the end of the day, what was mixed of a recipe.

    Only the lots of deliveries ask for it: a farm that logs none does not wait for it. Its label
    is short, since the formulas of every row hold it.
    """
    mixed = (
        f"SUMIFS({{batches.dry_mixed}},{{batches.at_recipe}},{{?{recipe_number(number)}}},"
        '{batches.mixed_on},"<="&{?mixed_on})'
    )
    return Computed(
        so_far(number),
        f"Recipe {number}, so far",
        "kg",
        f"CHOOSE(1+{{?{is_followed(number)}}},0,{mixed})",
        "Dry substrate mixed of the recipe in this row of Recipes, to the end of the day.",
        is_working=True,
    )


MATERIALS = (
    Computed(
        "dry_mixed",
        "Dry mixed",
        "kg",
        "CFX.DRY_MASS(CFX.BATCH_MASS({bags},{block_mass_used},{lost_mass}),{moisture_used})",
        "Dry substrate of all blocks made, and of the mixer residue.",
        is_working=True,
    ),
    Computed(
        "mixed_on",
        "Mixed on",
        "number",
        "{today}+1-(COUNT({?dry_mixed})*COUNT({?at_recipe})*(N({?made})<={today})>0)"
        "*({today}+1-INT(N({?made})))",
        "The day it was made; tomorrow where its date, recipe or mass is not known.",
        is_working=True,
    ),
    *map(_mixed_so_far, RECIPE_NUMBERS),
)
