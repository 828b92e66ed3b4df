"""What is typed on the cards: the batch to mix, the sample, the product to cost."""

from __future__ import annotations

from workbook_template.schema.fields import Field, Section

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
            "Wet sample with container",
            "g",
            "above 0",
            "A handful from several places of the mixer.",
            required=False,
        ),
        Field(
            "sample_dry",
            "Dry sample with container",
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
            "cost_product",
            "Product line",
            "choice",
            choices="products.product",
            help="From the Products sheet, where its recipe, strain and price are.",
        ),
        Field(
            "wanted_margin",
            "Margin wanted",
            "fraction",
            "0 to below 1",
            "Of the price after fees.",
            lowest=0.01,
            default=0.4,
            source="What you wish for.",
            of_money=True,
        ),
    ),
)

CHANGES = Section(
    "Changes to try",
    tuple(
        Field(
            f"change_{number}",
            f"Change {number}",
            "fraction",
            "-0.9 to 1",
            "Of one driver at a time, everything else as it is.",
            lowest=0.01,
            default=change,
            source="A choice of steps, not a measured spread.",
        )
        for number, change in enumerate((-0.2, -0.1, 0.1, 0.2), 1)
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

LABELS = Section(
    "Choose",
    (
        Field(
            "label_batch",
            "Batch",
            "choice",
            choices="batches.batch",
            help="The batch whose blocks are labeled.",
        ),
    ),
)
