"""What one block of the product line chosen costs, step by step, and what that rests on."""

from __future__ import annotations

from workbook_template.schema.figures import used_of
from workbook_template.sheets.costing_parts import (
    HOLD_ENERGY,
    load_energy,
    mixer_blocks,
    more_loads,
    of_product,
    of_recipe,
    planned,
    residue,
    work_of,
)
from workbook_template.writing.blocks import Calculated

_RECIPE_ROW = "MATCH({cost_recipe},{recipes.recipe},0)"

BASIS = (
    Calculated("cost_recipe", "Recipe", "state", of_product("recipe"), "From the Products sheet."),
    Calculated("cost_strain", "Strain", "state", of_product("strain"), "From the Products sheet."),
    Calculated(
        "cost_form",
        "Form",
        "state",
        of_product("form"),
        "Fresh or dried mushrooms, or a block sold whole.",
    ),
    Calculated(
        "cost_loss_rate",
        "Blocks lost",
        "fraction",
        used_of("loss_rate", "cost_strain"),
        "As used, from the Strains sheet.",
    ),
    Calculated(
        "cost_fresh_mass",
        "Harvest of a good block",
        "kg",
        "CFX.EXPECTED_HARVEST(CFX.DRY_MASS({block_mass},{cost_target}),"
        + used_of("biological_efficiency", "cost_strain")
        + ")",
        "Dry substrate of the block times the BE of the flushes kept.",
    ),
)

WORKINGS = (
    Calculated(
        "cost_row",
        "Row on the Products sheet",
        "count",
        "CHOOSE(1+MIN(1,COUNTIFS({products.product},{cost_product},{products.ready},1)),"
        '"",MATCH({cost_product},{products.product},0))',
        "Blank until that row, its recipe and its strain are complete.",
    ),
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
        "cost_mixer_blocks",
        "Blocks of a full mixer",
        "count",
        mixer_blocks("cost_recipe"),
        "Share the labor of mixing.",
    ),
    Calculated(
        "cost_plan_blocks",
        "Blocks in a usual week",
        "number",
        planned("blocks", _RECIPE_ROW),
        "Of this recipe, by the Week plan; 0: full loads are counted.",
    ),
    Calculated(
        "cost_plan_loads",
        "Mixer loads in a usual week",
        "number",
        planned("loads", _RECIPE_ROW),
        "Of this recipe; crops started on one day share them.",
    ),
    Calculated(
        "cost_mixed",
        "Mixed for a block",
        "kg",
        "{block_mass}+" + residue("{cost_plan_blocks}", _RECIPE_ROW, "{cost_mixer_blocks}"),
        "With its part of the mixer residue.",
    ),
    Calculated(
        "cost_more_steam",
        "Steam loads beyond full ones",
        "number",
        more_loads("{usual_blocks}", "{usual_steamed}", "{blocks_per_load}"),
        "For a block, in a usual week; a load that is half empty counts whole.",
    ),
    Calculated(
        "cost_fruiting_energy",
        "Energy of a shelf space",
        "money/block",
        "{fruiting_energy}*"
        + used_of("fruiting_days", "cost_strain")
        + "/{fruiting_places}*{electricity_price}",
        "In fruiting, for the whole stay of a good block.",
    ),
    Calculated(
        "cost_load_energy",
        "Energy of a steam load",
        "kWh",
        load_energy("cost_recipe"),
        "Heating up with losses, soaking and holding.",
    ),
    Calculated(
        "cost_common_block",
        "Same for every block",
        "money/block",
        "{cost_bag}+{cost_filling}+{cost_steaming}+{cost_inoculating}+{cost_moving}"
        "+{cost_half_steamer}+{cost_half_energy}+{cost_equipment}+{cost_overhead}",
        "Depends on neither recipe nor strain.",
    ),
)

STEPS = (
    Calculated(
        "cost_ingredients",
        "Ingredients",
        "money/block",
        of_recipe("cost_wet", "cost_recipe") + "*{cost_mixed}",
        "What is mixed for a block, with its part of the mixer residue.",
    ),
    Calculated("cost_bag", "Bag", "money/block", "{bag_price}*1", "From the Farm sheet."),
    Calculated(
        "cost_spawn",
        "Spawn",
        "money/block",
        "CFX.SPAWN_NEEDED({block_mass}," + used_of("spawn_rate", "cost_strain") + ")*{spawn_price}",
        "At the strain's spawn rate.",
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
        "Labor: mixing",
        "money/block",
        work_of("{mixing_minutes}") + "/MAX(1,{cost_mixer_blocks})",
        "A full mixer, shared by its blocks.",
    ),
    Calculated(
        "cost_filling",
        "Labor: filling",
        "money/block",
        work_of("{filling_minutes}"),
        "Minutes from the Farm sheet.",
    ),
    Calculated(
        "cost_steaming",
        "Labor: steaming",
        "money/block",
        work_of("{steaming_minutes}") + "/{blocks_per_load}",
        "A full load, shared by its blocks.",
    ),
    Calculated(
        "cost_inoculating",
        "Labor: inoculating",
        "money/block",
        work_of("{inoculating_minutes}"),
        "Minutes from the Farm sheet.",
    ),
    Calculated(
        "cost_moving",
        "Labor: moving and cleaning",
        "money/block",
        work_of("{moving_minutes}"),
        "Minutes from the Farm sheet.",
    ),
    Calculated(
        "cost_half_mixer",
        "Half-empty mixer loads: labor",
        "money/block",
        work_of("{mixing_minutes}")
        + "*"
        + more_loads("{cost_plan_blocks}", "{cost_plan_loads}", "MAX(1,{cost_mixer_blocks})"),
        "Mixing in a usual week, beyond full loads.",
    ),
    Calculated(
        "cost_half_steamer",
        "Half-empty steam loads: labor",
        "money/block",
        work_of("{steaming_minutes}") + "*{cost_more_steam}",
        "Steaming in a usual week, beyond full loads.",
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
        "Room energy",
        "money/block",
        "{incubation_energy}*"
        + used_of("incubation_days", "cost_strain")
        + "/{incubation_places}*{electricity_price}"
        "+{cost_fruited}*{cost_fruiting_energy}*(1-{cost_loss_rate})",
        "One shelf space of a full room, for the days there; lost blocks do not fruit.",
    ),
    Calculated(
        "cost_equipment",
        "Equipment",
        "money/block",
        "CHOOSE(1+(COUNT({equipment.depreciation})=COUNTA({equipment.item})),"
        '"",SUM({equipment.depreciation})/{blocks_per_year})',
        "A year of all equipment, over the blocks a year on the Farm sheet.",
    ),
    Calculated(
        "cost_overhead",
        "Overhead",
        "money/block",
        "({rent}+{insurance}+{vehicle}+{other_overhead})/{blocks_per_year}",
        "A year of overhead, over the blocks a year on the Farm sheet.",
    ),
)

TOTALS = (
    Calculated(
        "cost_started",
        "A block started",
        "money/block",
        f"SUM({{{STEPS[0].key}:{STEPS[-1].key}}})",
        "All steps above.",
        is_key=True,
    ),
    Calculated(
        "cost_standing_block",
        "Fixed cost share",
        "money/block",
        "{cost_rooms}+{cost_equipment}+{cost_overhead}",
        "Room energy, equipment, overhead: spent with or without this block.",
    ),
    Calculated(
        "cost_good",
        "A good block",
        "money/block",
        "CFX.COST_AFTER_LOSSES({cost_started},{cost_loss_rate})",
        "Good blocks carry the cost of the lost ones.",
        is_key=True,
    ),
)
