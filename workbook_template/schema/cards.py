"""What is typed on the cards: the batch to mix, the sample, the product to cost."""

from __future__ import annotations

from workbook_template.fields import ASSUMPTION, Field, Section

MIX_CARD = Section(
    "Choose",
    (
        Field(
            "mix_recipe",
            "Recipe",
            "choice",
            choices="recipes.recipe",
            help="What is mixed today.",
        ),
        Field("mix_strain", "Strain", "choice", choices="strains.strain", help="For the spawn."),
        Field(
            "mix_size",
            "Size of the batch",
            "choice",
            choices="bags wanted|full mixer",
            help="A number of bags, or one load as large as the mixer takes.",
            default="bags wanted",
        ),
        Field(
            "bags_wanted",
            "Bags wanted",
            "count",
            "1 or more, whole",
            "Used with the size: bags wanted.",
            required=False,
        ),
    ),
)

SAMPLE = Section(
    "After mixing: check a sample",
    (
        Field(
            "sample_wet",
            "Sample before drying, with container",
            "g",
            "above 0",
            "A handful from several places of the mixer.",
            required=False,
        ),
        Field(
            "sample_dry",
            "Sample after drying, with container",
            "g",
            "0 or more",
            "Dried until it stays the same.",
            required=False,
        ),
        Field("sample_container", "Container", "g", "0 or more", "Empty.", required=False),
    ),
)

COSTING = Section(
    "Choose",
    (
        Field(
            "cost_recipe",
            "Recipe",
            "choice",
            choices="recipes.recipe",
            help="What the blocks are made of.",
        ),
        Field(
            "cost_strain", "Strain", "choice", choices="strains.strain", help="What grows on them."
        ),
        Field("price", "Price", "money/kg", "above 0", "What a buyer pays for fresh mushrooms."),
        Field(
            "sold_share",
            "Share sold",
            "fraction",
            "above 0 to 1",
            "The rest is given away, dried for yourself or spoiled.",
            default=0.95,
            source=ASSUMPTION,
        ),
        Field(
            "fees",
            "Fees",
            "fraction",
            "0 to below 1",
            "Of the price: market stall, card, commission.",
            default=0.0,
            source=ASSUMPTION,
        ),
        Field(
            "packaging",
            "Packaging",
            "money/kg",
            "0 or more",
            "Boxes and labels; vented, so that the mushrooms can breathe.",
        ),
        Field(
            "packing_minutes",
            "Packing and delivery",
            "min/kg",
            "0 or more",
            "Work from the cold room to the buyer.",
            default=4.0,
            us_default=2.0,
            source=ASSUMPTION,
        ),
        Field(
            "wanted_margin",
            "Margin wanted",
            "fraction",
            "0 to below 1",
            "Of the price.",
            default=0.4,
            source=ASSUMPTION,
        ),
    ),
)

CHECKS = Section(
    "Checks",
    (
        Field(
            "rounding",
            "Rounding allowed",
            "rounding",
            "above 0 to 0.01",
            "Programs round.",
            default=0.000001,
            source="Far below any scale, far above the rounding of a program.",
        ),
    ),
)
