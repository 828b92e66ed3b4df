"""What a batch took from the shelf, out of sight: for Stock, and for the lots of deliveries."""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.schema.materials import RECIPE_NUMBERS, recipe_number


def so_far(number: int) -> str:
    """Return the key of the column that adds up what was mixed of a recipe."""
    return f"so_far_{number}"


def _mixed_so_far(number: int) -> Computed:
    """Make the column that adds up, to the end of the day, what was mixed of a recipe.

    Only the lots of deliveries ask for it: a farm that logs none does not wait for it.
    """
    days = '{batches.mixed_on},">0",{batches.mixed_on},"<="&{mixed_on}'
    mixed = f"SUMIFS({{batches.dry_mixed}},{{batches.at_recipe}},{recipe_number(number)},{days})"
    return Computed(
        so_far(number),
        f"Dry substrate mixed so far, recipe {number}",
        "kg",
        f"CHOOSE(1+({{mixed_on}}>0)*(COUNT({{deliveries.amount}})>0),0,{mixed})",
        "Of the recipe in this row of the Recipes sheet, up to the day of the batch.",
        is_working=True,
    )


MATERIALS = (
    Computed(
        "dry_mixed",
        "Dry substrate mixed",
        "kg",
        "CFX.DRY_MASS(CFX.BATCH_MASS({bags},{block_mass_used},{lost_mass}),{moisture_used})",
        "Of all blocks made, and of the mixer residue.",
        is_working=True,
    ),
    Computed(
        "mixed_on",
        "Day it counts as mixed",
        "number",
        "(COUNT({?dry_mixed})*COUNT({?at_recipe})>0)*(N({?made})<={today})*INT(N({?made}))",
        "The day it was made; 0 where its date, recipe or mass is not known.",
        is_working=True,
    ),
    *map(_mixed_so_far, RECIPE_NUMBERS),
)
