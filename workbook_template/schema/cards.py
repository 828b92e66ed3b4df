"""What is typed on the cards: the batch to mix, the sample, the product to cost."""

from __future__ import annotations

from workbook_template.schema.fields import ASSUMPTION, Field, Section

MIX_CARD = Section(
    "Choose",
    (
        Field(
            "mix_recipe",
            "Recipe",
            "choice",
            choices="recipes.recipe",
            help="What you mix today.",
        ),
        Field(
            "mix_strain",
            "Strain",
            "choice",
            choices="strains.strain",
            help="For the spawn rate and the losses.",
        ),
        Field(
            "mix_size",
            "Batch size",
            "choice",
            choices="bags wanted|good blocks wanted|full mixer",
            help="Bags, good blocks in the end, or one full mixer load.",
            default="bags wanted",
        ),
        Field(
            "bags_wanted",
            "How many",
            "count",
            "1 or more, whole",
            "Bags or good blocks; blank for a full mixer.",
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
            "Handfuls from several spots in the mixer.",
            required=False,
        ),
        Field(
            "sample_dry",
            "Dry sample with container",
            "g",
            "0 or more",
            "Dried to constant weight.",
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
            help="What to cost: a row of the Products sheet.",
        ),
        Field(
            "wanted_margin",
            "Target margin",
            "fraction",
            "0 to below 1",
            "As a share of the price after fees.",
            lowest=0.01,
            default=0.4,
            source="What you aim for.",
            of_money=True,
        ),
    ),
)

DRIVERS = {
    "be": ("BE", 0.8, 1.15),
    "losses": ("Losses", 0.5, 3.0),
    "spawn_rate": ("Spawn rate", 0.75, 1.25),
    "spawn_price": ("Spawn price", 0.85, 1.25),
    "ingredients": ("Ingredient prices", 0.85, 1.3),
    "labor": ("Labor", 0.9, 1.2),
    "energy": ("Energy", 0.8, 1.4),
    "overhead": ("Overhead", 0.9, 1.2),
}
"""What moves the cost, each with its name and the ends of its range, of today's figure."""

OWN_MONTHS = "own months"
_NONE_AT_ALL = "losses"
"""The driver that may be 0 in a good month."""


def _ends_of(driver: str) -> tuple[Field, Field]:
    name, low, high = DRIVERS[driver]
    return (
        Field(
            f"{driver}_low",
            f"{name}, lowest",
            "fraction",
            "0 to 1" if driver == _NONE_AT_ALL else "above 0 to 1",
            "Lowest in a year, as a share of today's figure.",
            lowest=0.05,
            default=low,
            source=ASSUMPTION,
        ),
        Field(
            f"{driver}_high",
            f"{name}, highest",
            "fraction",
            "1 to 10",
            "Highest in a year, as a share of today's figure.",
            lowest=1.0,
            default=high,
            source=ASSUMPTION,
        ),
    )


RANGES = Section(
    "Range of each driver",
    (
        Field(
            "driver_records",
            "Range of BE and losses",
            "choice",
            choices=f"{OWN_MONTHS}|as typed",
            help="Own months: the strain's lowest and highest of the last twelve.",
            default=OWN_MONTHS,
            source="A choice, not a measured figure.",
        ),
        *(field for driver in DRIVERS for field in _ends_of(driver)),
    ),
)

CHANGES = Section(
    "Same change for each driver",
    tuple(
        Field(
            f"change_{number}",
            f"Change {number}",
            "fraction",
            "-0.9 to 1",
            "Of one driver at a time, all else as it is today.",
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
            "What sums may be off, since programs round.",
            default=0.000001,
            source="Far below any scale, far above the rounding of a program.",
        ),
        Field(
            "most_of_plan",
            "Warn of a picking above plan",
            "number",
            "0.1 to 100",
            "Times the plan of its batch, in one picking.",
            default=1.5,
            source=ASSUMPTION,
        ),
        Field(
            "times_off",
            "Warn of a mass or price off",
            "number",
            "above 1 to 100",
            "Times the figure on the Farm sheet, up or down.",
            default=3.0,
            source=ASSUMPTION,
        ),
        Field(
            "days_back",
            "Date before the row above",
            "d",
            "1 to 3660",
            "A wrong year is 365 days off.",
            default=180.0,
            source=ASSUMPTION,
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
