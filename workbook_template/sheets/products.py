"""Products: a row a product line, with what is in a pack and what it sells for."""

from __future__ import annotations

from workbook_template.schema.products import DRYING, PRODUCTS
from workbook_template.writing.blocks import Check, Form, Lines, Sheet, TableBlock

_ABOUT = (
    "A pack is anything with one price: a box of fresh mushrooms, a bag of dried ones, or a block. "
    "A block is sold whole after incubation, as one pack, without a mass.",
    "Share sold: of the packs made. The packs you sell pay for the others, and the Week plan grows "
    "the others too. Delivery is paid for packs sold.",
    "Product lines of one strain may use different recipes; each pair is planned separately.",
)

_CAUTIONS = (
    "Clean hands, knives and crates; potable water for all that touches the harvest (21 CFR 112.32 "
    "and 112.44, from memory). Cool at once, and keep it cold until it is sold.",
    "Breathable packaging for raw mushrooms, so that Clostridium botulinum can't make its toxin "
    "(21 CFR 112.115). Keep dried ones dry. Local food codes and licensed practice come "
    "before anything computed here.",
)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Products",
        purpose="What you sell: strain, form, pack, price, fees, and how many packs a week.",
        blocks=[
            Lines("Cautions", _CAUTIONS, "farm caution"),
            Form(DRYING.title, DRYING.fields),
            TableBlock(PRODUCTS),
            Lines("How to fill it in", _ABOUT),
        ],
        landscape=True,
        checks=(
            Check(
                "Dried mushrooms are not wetter than fresh ones",
                "({dried_moisture}>{fresh_moisture})*1",
            ),
        ),
    )
