"""What is typed to quote a price, and the head of the price list."""

from __future__ import annotations

from dataclasses import replace

from workbook_template.schema.columns import FIRST_DATE
from workbook_template.schema.fields import Field, Section
from workbook_template.schema.products import PRODUCTS

ON_TOP, INSTEAD = "on top of today's", "instead of today's"

QUOTE = Section(
    "Choose",
    (
        Field(
            "quote_product",
            "Product line",
            "choice",
            choices="products.product",
            help="What to quote. Blank for a new one: then type all of it below.",
            required=False,
        ),
        Field(
            "quote_counts",
            "What-if packs come",
            "choice",
            choices=f"{ON_TOP}|{INSTEAD}",
            help="On top, as if blank: what a customer asks for besides today's sales.",
            required=False,
            default=ON_TOP,
            source="A choice, not a measured figure.",
        ),
    ),
)


_HELP = {
    "form": "Fresh, dried, or a block sold whole.",
    "pack_cost": "Empty box and label, for one pack.",
    "packing_minutes": "Sorting, weighing, labeling.",
    "fees": "Of the price: stall, card.",
    "sold_share": "Of the packs made.",
}
"""Where the words of the Products sheet are too long to stand beside two values."""


def _as_today(column: str) -> Field:
    """Make the input for another figure of a product line."""
    of_line = PRODUCTS.field(column)
    return replace(
        of_line,
        key=f"quote_{column}",
        help=_HELP.get(column, of_line.help),
        required=False,
        default=None,
    )


CHANGED = (
    *("strain", "recipe", "form", "pack_mass", "price", "pack_cost", "packing_minutes"),
    *("fees", "delivery", "sold_share"),
)
"""The columns of Products that may be other than today."""

WHAT_IF = Section(
    "Type what changes",
    (
        *map(_as_today, CHANGED),
        Field(
            "quote_packs",
            "Packs a week",
            "count",
            "0 or more",
            "Sold; or type the mass below.",
            required=False,
        ),
        Field(
            "quote_weekly_mass",
            "Mass a week",
            "kg",
            "above 0",
            "Rounded up to whole packs.",
            required=False,
        ),
    ),
)

ALL_PRICED, USUAL_ONLY = "all with a price", "sold in a usual week"

PRICE_LIST = Section(
    "Fill in, then print",
    (
        Field(
            "list_title",
            "Title line",
            "text",
            help="Below the farm's name, such as Mushrooms, fall 2026.",
            required=False,
        ),
        Field(
            "list_until",
            "Valid until",
            "date",
            FIRST_DATE,
            "The last day of these prices; blank: not printed.",
            required=False,
        ),
        Field(
            "list_contact",
            "Contact line",
            "text",
            help="Phone, mail, where you sell: printed above the prices.",
            required=False,
        ),
        Field(
            "list_lines",
            "Product lines to list",
            "choice",
            choices=f"{ALL_PRICED}|{USUAL_ONLY}",
            help="All with a price, or those with packs a week above 0.",
            default=ALL_PRICED,
            source="A choice, not a measured figure.",
        ),
    ),
)
