"""Ingredients: what is bought for the substrate, and what is in it."""

from __future__ import annotations

from workbook_template.schema.materials import INGREDIENTS
from workbook_template.writing.blocks import Lines, Sheet, TableBlock
from workbook_template.writing.validation import typing_shares


def sheet() -> Sheet:
    """Lay the sheet out."""
    share_typing = " ".join(typing_shares(INGREDIENTS.field("nitrogen")))
    return Sheet(
        name="Ingredients",
        purpose="What goes into the substrate: price, moisture, nitrogen and carbon of each.",
        blocks=[
            TableBlock(INGREDIENTS),
            Lines(
                "Where figures come from",
                (
                    "Price: by the bag or tote, or in bulk; with both, the bag counts. Bought by "
                    "the ton: enter its price and its mass like those of a tote.",
                    "Moisture: weigh a sample, dry it in the oven to constant weight, weigh again; "
                    "wet basis is the water lost over the mass before drying.",
                    "Nitrogen: crude protein from a feed table, divided by 6.25. Carbon: about "
                    "half of the dry mass of wood. Both on dry mass.",
                    f"Moisture, nitrogen and carbon are shares. {share_typing}",
                ),
            ),
        ],
        landscape=True,
    )
