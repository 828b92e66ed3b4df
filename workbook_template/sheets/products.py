"""Products: a row a product line, with what is in a pack and what it sells for."""

from __future__ import annotations

from workbook_template.schema.products import DRYING, PRODUCTS
from workbook_template.writing.blocks import Check, Form, Lines, Sheet, TableBlock

_ABOUT = (
    "A pack is whatever has one price: a box of fresh mushrooms, a bag of dried ones, or a block. "
    "A block is sold when incubation is over, as one pack each, without a mass.",
    "Share sold: of the packs made. The packs that are sold pay for the others, and the Week plan "
    "grows the others too. Delivery is paid for packs that are sold.",
    "Two product lines of one strain may use different recipes; each pair is planned by itself.",
)

_CAUTIONS = (
    "Clean hands, knives and crates; potable water for all that touches the harvest (21 CFR 112.32 "
    "and 112.44, from memory). Cool at once, and keep it cold until it is sold.",
    "Raw mushrooms go into packs that let air through, so that Clostridium botulinum can't make "
    "its toxin (21 CFR 112.115). Dried ones stay dry. Local food codes and licensed practice "
    "come before anything computed here.",
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
            Lines("What the words mean", _ABOUT),
        ],
        landscape=True,
        checks=(
            Check(
                "Dried mushrooms are not wetter than fresh ones",
                "({dried_moisture}>{fresh_moisture})*1",
            ),
        ),
    )
