"""What a pack of the product line chosen costs, from the good block to the sale, and its margin."""

from __future__ import annotations

from workbook_template.schema.figures import used_of
from workbook_template.sheets.costing_parts import of_product, work_of
from workbook_template.writing.blocks import Calculated

_PICKING = work_of(used_of("picking_minutes", "cost_strain"))

MUSHROOMS = (
    Calculated(
        "cost_grown",
        "Grown",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",{cost_good}/{cost_fresh_mass})',
        "A good block over its harvest; blank for a block sold whole.",
    ),
    Calculated(
        "cost_harvested",
        "Harvested",
        "money/kg",
        "{cost_grown}+" + _PICKING,
        "With the labor of picking.",
        is_key=True,
    ),
    Calculated(
        "cost_sold",
        "Sold",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",{cost_pack_sold}/' + of_product("mass") + ")",
        "A pack sold over the mass in it, fresh or dried.",
        is_key=True,
    ),
)

STEPS = (
    Calculated(
        "cost_pack_blocks",
        "Growing",
        "money/pack",
        "{cost_good}*{pack_blocks}",
        "The good blocks that fill a pack.",
    ),
    Calculated(
        "cost_picking",
        "Labor: picking",
        "money/pack",
        "{pack_fresh}*" + _PICKING,
        "Minutes from the Strains sheet.",
    ),
    Calculated(
        "cost_drying_energy",
        "Drying energy",
        "money/pack",
        '({cost_form}="dried")*{pack_fresh}*{drying_energy}*{electricity_price}',
        "For dried mushrooms.",
    ),
    Calculated(
        "cost_drying",
        "Labor: drying",
        "money/pack",
        '({cost_form}="dried")*{pack_fresh}*' + work_of("{drying_minutes}"),
        "For dried mushrooms.",
    ),
    Calculated(
        "cost_pack", "Empty pack", "money/pack", of_product("pack_cost"), "From the Products sheet."
    ),
    Calculated(
        "cost_packing",
        "Labor: packing",
        "money/pack",
        "CFX.LABOR_COST(" + of_product("packing_minutes") + ",{hourly_wage},{burden})",
        "Minutes from the Products sheet.",
    ),
    Calculated(
        "cost_pack_made",
        "A pack made",
        "money/pack",
        "SUM({cost_pack_blocks:cost_packing})",
        "All steps above.",
        is_key=True,
    ),
    Calculated(
        "cost_unsold",
        "Cost of unsold packs",
        "money/pack",
        "{cost_pack_made}/{cost_sold_share}-{cost_pack_made}",
        "Packs sold carry the cost of those given away or spoiled.",
    ),
    Calculated(
        "cost_delivery",
        "Delivery",
        "money/pack",
        of_product("delivery"),
        "From the Products sheet.",
    ),
    Calculated(
        "cost_pack_sold",
        "A pack sold",
        "money/pack",
        "{cost_pack_made}+{cost_unsold}+{cost_delivery}",
        "Everything that it takes, from the substrate to the sale.",
        is_key=True,
    ),
)

PRICE = (
    Calculated(
        "net_price",
        "Price after fees",
        "money/pack",
        of_product("price") + "*(1-{cost_fees})",
        "From the Products sheet.",
    ),
    Calculated(
        "margin_amount",
        "Margin of a pack",
        "money/pack",
        "{net_price}-{cost_pack_sold}",
        "Price after fees less the cost of a pack sold.",
        is_key=True,
    ),
    Calculated(
        "margin_share",
        "Margin, share of price",
        "fraction",
        "CFX.MARGIN({net_price},{cost_pack_sold})",
        "Of the price after fees; below zero, a sale does not cover its costs.",
        is_key=True,
    ),
    Calculated(
        "break_even_price",
        "Break-even price",
        "money/pack",
        "{cost_pack_sold}/(1-{cost_fees})",
        "Below it, a sale does not cover all its costs. Idle capacity comes on top, see below.",
    ),
    Calculated(
        "wanted_price",
        "Price for the target margin",
        "money/pack",
        "CFX.PRICE_FOR_MARGIN({cost_pack_sold},{wanted_margin})/(1-{cost_fees})",
        "With the fees on top.",
    ),
)

WORKINGS = (
    Calculated("pack_blocks", "Good blocks in a pack", "number", of_product("blocks"), ""),
    Calculated("pack_fresh", "Fresh mass", "kg", of_product("fresh"), ""),
    Calculated("cost_sold_share", "Share sold", "fraction", of_product("sold_share"), ""),
    Calculated("cost_fees", "Fees", "fraction", of_product("fees"), ""),
)
