"""Costing: what a block costs step by step, and each product line from the block to the sale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema import look_up
from workbook_template.schema.cards import CHANGES, COSTING, RANGES
from workbook_template.sheets import costing_checks as checks
from workbook_template.sheets import costing_drivers as drivers
from workbook_template.sheets import costing_flushes as flushes
from workbook_template.sheets import costing_lists as lists
from workbook_template.sheets import costing_year as year
from workbook_template.sheets.costing_parts import (
    HOLD_ENERGY,
    LABOR,
    load_energy,
    mixer_blocks,
    more_loads,
    of_product,
    of_recipe,
    of_strain,
    planned,
    residue,
)
from workbook_template.writing.blocks import Calculated, Custom, Form, Lines, NewPage, Sheet
from workbook_template.writing.charts import CHART_ROWS, Chart, add_chart
from workbook_template.writing.still_needed import Missing

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

_RECIPE_ROW = "MATCH({cost_recipe},{recipes.recipe},0)"

_BASIS = (
    Calculated(
        "cost_row",
        "Row on the Products sheet",
        "count",
        "CHOOSE(1+MIN(1,COUNTIFS({products.product},{cost_product},{products.ready},1)),"
        '"",MATCH({cost_product},{products.product},0))',
        "Blank until that row, its recipe and its strain are complete.",
    ),
    Calculated("cost_recipe", "Recipe", "state", of_product("recipe"), ""),
    Calculated("cost_strain", "Strain", "state", of_product("strain"), ""),
    Calculated("cost_form", "Form", "state", of_product("form"), ""),
    Calculated(
        "cost_fruited",
        "Goes into fruiting",
        "count",
        '({cost_form}<>"block")*1',
        "1; 0 for a block that is sold when incubation is over.",
    ),
    Calculated(
        "cost_target",
        "Moisture of the substrate",
        "fraction",
        of_recipe("target_moisture", "cost_recipe"),
        "From the Recipes sheet.",
    ),
    Calculated(
        "cost_loss_rate",
        "Blocks lost",
        "fraction",
        of_strain("loss_rate", "cost_strain"),
        "From the Strains sheet.",
    ),
    Calculated(
        "cost_fresh_mass",
        "Fresh mass of a good block",
        "kg",
        "CFX.EXPECTED_HARVEST(CFX.DRY_MASS({block_mass},{cost_target}),"
        + of_strain("biological_efficiency", "cost_strain")
        + ")",
        "Dry substrate of the block times the BE of the flushes kept.",
    ),
    Calculated(
        "cost_mixer_blocks",
        "Blocks of a full mixer",
        "count",
        mixer_blocks("cost_recipe"),
        "Shares out the work of mixing.",
    ),
    Calculated(
        "cost_plan_blocks",
        "Blocks in the Week plan",
        "count",
        planned("blocks", _RECIPE_ROW),
        "Of this recipe, in all its weeks; 0: full loads are counted.",
    ),
    Calculated(
        "cost_plan_loads",
        "Mixer loads in the Week plan",
        "count",
        planned("loads", _RECIPE_ROW),
        "Of this recipe, in all its weeks.",
    ),
    Calculated(
        "cost_mixed",
        "Mixed for a block",
        "kg",
        "{block_mass}+" + residue("{cost_plan_blocks}", _RECIPE_ROW, "{cost_mixer_blocks}"),
        "With its part of what stays in the mixer.",
    ),
    Calculated(
        "cost_more_steam",
        "Steam loads beyond full ones",
        "number",
        more_loads("SUM({loads.blocks})", "SUM({loads.steamer})", "{blocks_per_load}"),
        "For a block, in the Week plan; a load that is half empty counts whole.",
    ),
    Calculated(
        "cost_fruiting_energy",
        "Energy of a place in fruiting",
        "money/block",
        "{fruiting_energy}*"
        + of_strain("fruiting_days", "cost_strain")
        + "/{fruiting_places}*{electricity_price}",
        "For the whole stay of a good block.",
    ),
    Calculated(
        "cost_load_energy",
        "Energy of a steam load",
        "kWh",
        load_energy("cost_recipe"),
        "Heating up with losses, soaking and holding.",
    ),
)

_STEPS = (
    Calculated(
        "cost_ingredients",
        "Ingredients",
        "money/block",
        of_recipe("cost_wet", "cost_recipe") + "*{cost_mixed}",
        "Cost of wet mass times what is mixed for a block.",
    ),
    Calculated("cost_bag", "Bag", "money/block", "{bag_price}*1", "From the Farm sheet."),
    Calculated(
        "cost_spawn",
        "Spawn",
        "money/block",
        "CFX.SPAWN_NEEDED({block_mass},"
        + of_strain("spawn_rate", "cost_strain")
        + ")*{spawn_price}",
        "At the strain's rate.",
    ),
    Calculated(
        "cost_steam",
        "Steam energy",
        "money/block",
        "{cost_load_energy}*{electricity_price}/{blocks_per_load}",
        "The energy of a full load, shared by its blocks.",
    ),
    Calculated(
        "cost_mixing",
        "Work: mixing",
        "money/block",
        LABOR % "mixing_minutes" + "/MAX(1,{cost_mixer_blocks})",
        "A full mixer, shared by its blocks.",
    ),
    Calculated(
        "cost_filling",
        "Work: filling",
        "money/block",
        LABOR % "filling_minutes",
        "Minutes from the Farm sheet.",
    ),
    Calculated(
        "cost_steaming",
        "Work: steaming",
        "money/block",
        LABOR % "steaming_minutes" + "/{blocks_per_load}",
        "A full load, shared by its blocks.",
    ),
    Calculated(
        "cost_inoculating",
        "Work: inoculating",
        "money/block",
        LABOR % "inoculating_minutes",
        "Minutes from the Farm sheet.",
    ),
    Calculated(
        "cost_moving",
        "Work: moving and cleaning",
        "money/block",
        LABOR % "moving_minutes",
        "Minutes from the Farm sheet.",
    ),
    Calculated(
        "cost_half_mixer",
        "Half-empty mixer loads: work",
        "money/block",
        LABOR % "mixing_minutes"
        + "*"
        + more_loads("{cost_plan_blocks}", "{cost_plan_loads}", "MAX(1,{cost_mixer_blocks})"),
        "What mixing takes in the Week plan beyond full loads.",
    ),
    Calculated(
        "cost_half_steamer",
        "Half-empty steam loads: work",
        "money/block",
        LABOR % "steaming_minutes" + "*{cost_more_steam}",
        "What steaming takes in the Week plan beyond full loads.",
    ),
    Calculated(
        "cost_half_energy",
        "Half-empty steam loads: energy",
        "money/block",
        f"{HOLD_ENERGY}*{{electricity_price}}*{{cost_more_steam}}",
        "Holding takes as much for a few blocks as for many.",
    ),
    Calculated(
        "cost_rooms",
        "Energy of the rooms",
        "money/block",
        "{incubation_energy}*"
        + of_strain("incubation_days", "cost_strain")
        + "/{incubation_places}*{electricity_price}"
        "+{cost_fruited}*{cost_fruiting_energy}*(1-{cost_loss_rate})",
        "Days of stay times a full room's energy for one place; lost blocks do not fruit.",
    ),
    Calculated(
        "cost_equipment",
        "Equipment",
        "money/block",
        "CHOOSE(1+(COUNT({equipment.depreciation})=COUNTA({equipment.item})),"
        '"",SUM({equipment.depreciation})/{blocks_per_year})',
        "A year of all equipment, shared by the blocks of a year on the Farm sheet.",
    ),
    Calculated(
        "cost_overhead",
        "Overhead",
        "money/block",
        "({rent}+{insurance}+{vehicle}+{other_overhead})/{blocks_per_year}",
        "A year of overhead, shared by the blocks of a year on the Farm sheet.",
    ),
)
_TOTALS = (
    Calculated(
        "cost_started",
        "A block started",
        "money/block",
        f"SUM({{{_STEPS[0].key}:{_STEPS[-1].key}}})",
        "All of the above together.",
        is_key=True,
    ),
    Calculated(
        "cost_common_block",
        "Of it: the same for every block",
        "money/block",
        "{cost_bag}+{cost_filling}+{cost_steaming}+{cost_inoculating}+{cost_moving}"
        "+{cost_half_steamer}+{cost_half_energy}+{cost_equipment}+{cost_overhead}",
        "Depends on neither recipe nor strain.",
    ),
    Calculated(
        "cost_standing_block",
        "Of it: there with or without the block",
        "money/block",
        "{cost_rooms}+{cost_equipment}+{cost_overhead}",
        "Rooms, equipment, overhead: what a contribution has to cover.",
    ),
    Calculated(
        "cost_good",
        "A good block",
        "money/block",
        "CFX.COST_AFTER_LOSSES({cost_started},{cost_loss_rate})",
        "Good blocks pay for the lost ones.",
        is_key=True,
    ),
)
_MASS_STEPS = (
    Calculated(
        "cost_grown",
        "Grown",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",{cost_good}/{cost_fresh_mass})',
        "The good block over its fresh mass; blank for a block sold as one.",
    ),
    Calculated(
        "cost_harvested",
        "Harvested",
        "money/kg",
        "{cost_grown}+" + LABOR % "harvesting_minutes",
        "With the picking.",
        is_key=True,
    ),
)
_PACK_STEPS = (
    Calculated("pack_blocks", "Good blocks in a pack", "number", of_product("blocks"), ""),
    Calculated("pack_fresh", "Fresh mass", "kg", of_product("fresh"), ""),
    Calculated("cost_sold_share", "Share sold", "fraction", of_product("sold_share"), ""),
    Calculated(
        "cost_pack_blocks",
        "Grown",
        "money",
        "{cost_good}*{pack_blocks}",
        "What the good blocks in it cost.",
    ),
    Calculated(
        "cost_picking",
        "Work: picking",
        "money",
        "{pack_fresh}*" + LABOR % "harvesting_minutes",
        "Minutes from the Farm sheet.",
    ),
    Calculated(
        "cost_drying_energy",
        "Energy of drying",
        "money",
        '({cost_form}="dried")*{pack_fresh}*{drying_energy}*{electricity_price}',
        "For dried lines.",
    ),
    Calculated(
        "cost_drying",
        "Work: drying",
        "money",
        '({cost_form}="dried")*{pack_fresh}*' + LABOR % "drying_minutes",
        "For dried lines.",
    ),
    Calculated("cost_pack", "Empty pack", "money", of_product("pack_cost"), ""),
    Calculated(
        "cost_packing",
        "Work: packing",
        "money",
        "CFX.LABOR_COST(" + of_product("packing_minutes") + ",{hourly_wage},{burden})",
        "Minutes from the Products sheet.",
    ),
    Calculated(
        "cost_pack_made",
        "A pack made",
        "money",
        "SUM({cost_pack_blocks:cost_packing})",
        "All of the above together.",
        is_key=True,
    ),
    Calculated(
        "cost_unsold",
        "Packs that are not sold",
        "money",
        "{cost_pack_made}/{cost_sold_share}-{cost_pack_made}",
        "Cost of unsold packs.",
    ),
    Calculated("cost_delivery", "Delivery", "money", of_product("delivery"), "Of packs sold."),
    Calculated(
        "cost_pack_sold",
        "A pack sold",
        "money",
        "{cost_pack_made}+{cost_unsold}+{cost_delivery}",
        "Everything.",
        is_key=True,
    ),
    Calculated(
        "cost_sold",
        "Sold, for the mass in the pack",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",{cost_pack_sold}/' + of_product("mass") + ")",
        "Fresh or dried, as it is sold; blank for a block sold as one.",
        is_key=True,
    ),
)
_EARNINGS = (
    Calculated(
        "net_price",
        "Price of a pack after fees",
        "money",
        of_product("price") + "*(1-{cost_fees})",
        "What stays of the price.",
    ),
    Calculated(
        "margin_amount",
        "Margin of a pack",
        "money",
        "{net_price}-{cost_pack_sold}",
        "Price after fees less cost.",
        is_key=True,
    ),
    Calculated(
        "margin_share",
        "Margin of the price after fees",
        "fraction",
        "CFX.MARGIN({net_price},{cost_pack_sold})",
        "Below zero: each sale costs you money.",
        is_key=True,
    ),
    Calculated(
        "break_even_price",
        "Break-even price",
        "money",
        "{cost_pack_sold}/(1-{cost_fees})",
        "Below it you pay to sell.",
    ),
    Calculated(
        "wanted_price",
        "Price for the margin wanted",
        "money",
        "CFX.PRICE_FOR_MARGIN({cost_pack_sold},{wanted_margin})/(1-{cost_fees})",
        "Fees on top.",
    ),
    Calculated("cost_fees", "Fees", "fraction", of_product("fees"), "From the Products sheet."),
)

_PLACES = (
    "A place in fruiting is what most farms run out of first. The list ranks the product lines by "
    "what a place brings in a week: the contribution of a good block over the weeks that it "
    "stands there, with the days to clear it.",
    "Contribution is the price after fees less everything that is spent because of the block: "
    "ingredients, bag, spawn, steam, all work, pack and delivery, and its part of the lost "
    "blocks. Energy of the rooms, equipment and overhead are there with or without it; all "
    "contributions together have to cover them.",
    "A block that is sold as one takes no place in fruiting: it has no rank here. Compare the "
    "contribution of its block.",
)
_DRIVERS = (
    "One driver at a time goes over its own range, everything else as it is; the whole cost of a "
    "pack sold, of the product line chosen at the top, is computed anew. Largest effect first.",
    "The range of BE and of losses is that of the strain's own months, once enough of its batches "
    "have ended; all other ranges are what you type below. The months are those in which the "
    "batches were made, the last twelve.",
    "Labor is the wage: every minute on blocks, picking, drying, packing. Energy is the price of "
    "electricity: steam, rooms, drying. BE changes nothing about a block that is sold as one.",
)
_FLUSHES = (
    "Average contribution of a place over the whole stay, with the cost of the block and the days "
    "to clear the place: the number of flushes with the highest is the best use of it. A further "
    "flush is worth its place while it adds more a day than that average.",
    "That holds where places are what you run out of. While places stand empty, every flush that "
    "adds anything is worth waiting for.",
)


_HIGHER, _MORE_ROWS = 11.0, 6
"""Of a chart with many bars, each with its name, in cm and rows of the sheet."""


def _chart_of_steps(writer: Writer, row: int) -> None:
    writer.section(row, "Where the money of a block goes")
    chart = Chart(
        title="Cost of a block started, step by step",
        categories=[step.key for step in _STEPS],
        values=[[step.key for step in _STEPS]],
        names=["Cost"],
        category_title="Step",
        value_title=f"{writer.currency} a block",
        description="Bars of the cost of one block started, one for each step of the work, "
        "with the figures of the list above.",
        height=_HIGHER,
    )
    add_chart(writer, row + 1, chart)


def _chart_of_drivers(writer: Writer, row: int) -> None:
    writer.section(row, "How far each driver moves it")
    chart = Chart(
        title="How far each driver moves the cost of a pack",
        categories="drivers.driver",
        values=["drivers.swing"],
        names=["Span"],
        category_title="Driver",
        value_title=f"{writer.currency} a pack",
        description="Bars, the longest first: how far the cost of a pack sold moves between the "
        "lowest and the highest of each driver, with the figures of the list above.",
        height=_HIGHER,
    )
    add_chart(writer, row + 1, chart)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Costing",
        purpose="What a block and a pack cost, step by step, and what is earned.",
        blocks=[
            Form(COSTING.title, COSTING.fields),
            Missing(
                ("cost_good", "cost_sold", "margin_share"),
                notes=(
                    ('"the rows of this product line, its recipe and its strain"', "cost_row"),
                    (look_up("recipes.missing", "cost_recipe"), "cost_ingredients"),
                ),
            ),
            Form("Basis", _BASIS),
            Form("A block started, step by step", (*_STEPS, *_TOTALS)),
            Custom(CHART_ROWS + _MORE_ROWS, _chart_of_steps),
            NewPage(),
            Form("A year at the pace of the Week plan", year.YEAR),
            Lines("How it adds up", year.WORDS),
            Form("Mushrooms of the block", _MASS_STEPS),
            Form("From the block to the pack sold", _PACK_STEPS),
            Form("What is left", _EARNINGS),
            NewPage(),
            lists.PACKS,
            lists.EARNINGS,
            NewPage(),
            Lines("What a place in fruiting earns", _PLACES),
            Form("The best of them", lists.BEST_LINE),
            lists.PLACES,
            Lines("What moves the cost", _DRIVERS),
            drivers.DRIVERS,
            Custom(CHART_ROWS + _MORE_ROWS, _chart_of_drivers),
            NewPage(),
            Form(RANGES.title, RANGES.fields),
            Lines("Is another flush worth it?", _FLUSHES),
            Form("Basis, for the product line chosen", flushes.FLUSH_BASIS),
            flushes.FLUSHES,
            NewPage(),
            lists.RECIPE_COSTS,
            lists.STRAIN_COSTS,
            year.PLAN_COSTS,
            NewPage(),
            Form(CHANGES.title, CHANGES.fields),
            drivers.DRIVER_COSTS,
            drivers.DRIVER_PARTS,
            drivers.DRIVER_RANGES,
            drivers.STRAIN_MONTHS,
        ],
        widths=(34, 23, 12, 11, 11, 11, 11, 11, 11, 6),
        checks=checks.CHECKS,
    )
