"""Every input of the workbook, once. Writer, checks and documentation all read it from here.

Numbers without a source are assumptions: they make a new workbook work, and the grower is told
to measure. Amounts of money start blank, since nobody can assume them.
"""

from __future__ import annotations

from workbook_template.fields import ASSUMPTION, Computed, Field, Section, Table

SCHEMA_VERSION = 1
"""Counts up with every change of keys, so that an older workbook is recognized."""

COMMON_PRACTICE = "Common practice, no source."

FARM = (
    Section(
        "The farm",
        (
            Field("farm_name", "Name of the farm", "text", help="Stands on the printed cards."),
            Field(
                "altitude",
                "Altitude",
                "m",
                "-500 to 6000",
                "Height above the sea; water boils cooler higher up.",
                default=0.0,
                source=ASSUMPTION,
            ),
        ),
    ),
    Section(
        "Money",
        (
            Field(
                "hourly_wage",
                "Wage",
                "money/h",
                "0 or more",
                "What an hour of work costs, your own included.",
            ),
            Field(
                "burden",
                "Added to the wage",
                "fraction",
                "0 to 2",
                "Taxes, insurance and benefits as a share of the wage; 43 % in US private "
                "industry, 2015.",
                default=0.0,
                source=ASSUMPTION,
            ),
            Field(
                "electricity_price",
                "Electricity",
                "money/kWh",
                "0 or more",
                "Price of a kilowatt-hour, fees included.",
            ),
        ),
    ),
    Section(
        "Blocks and bags",
        (
            Field(
                "block_mass",
                "Mass of a filled bag",
                "kg",
                "above 0",
                "Wet substrate in one bag, before spawn.",
                default=4.5,
                us_default=10.0,
                source=ASSUMPTION,
            ),
            Field("bag_price", "Price of a bag", "money/bag", "0 or more", "One empty filter bag."),
            Field(
                "lost_mass",
                "Left in the mixer",
                "kg",
                "0 or more",
                "Wet substrate of each batch that never reaches a bag.",
                default=1.0,
                us_default=2.0,
                source=ASSUMPTION,
            ),
        ),
    ),
    Section(
        "Mixer and water meter",
        (
            Field(
                "mixer_volume",
                "Volume of the mixer",
                "L",
                "above 0",
                "The whole drum, from its plate.",
                default=765.0,
                us_default=202.0,
                source="A cubic yard; " + COMMON_PRACTICE,
            ),
            Field(
                "working_fill",
                "Working fill of the mixer",
                "fraction",
                "above 0 to 1",
                "Share of the drum that mixes well.",
                default=0.6,
                source=ASSUMPTION,
            ),
            Field(
                "meter_reading",
                "Meter showed",
                "L",
                "above 0",
                "In a test with a bucket: what the meter showed.",
                default=20.0,
                us_default=5.0,
                source=ASSUMPTION,
            ),
            Field(
                "measured_volume",
                "In the bucket was",
                "L",
                "above 0",
                "In the same test: what was in the bucket.",
                default=20.0,
                us_default=5.0,
                source=ASSUMPTION,
            ),
        ),
    ),
    Section(
        "Steamer",
        (
            Field(
                "steamer_power",
                "Power of the steamer",
                "kW",
                "above 0",
                "From its plate.",
                default=11.0,
                source=COMMON_PRACTICE,
            ),
            Field(
                "steamer_efficiency",
                "Efficiency of the steamer",
                "fraction",
                "above 0 to 1",
                "Share of the power that reaches the blocks.",
                default=0.7,
                source=ASSUMPTION,
            ),
            Field(
                "blocks_per_load",
                "Blocks in a steam load",
                "count",
                "1 or more, whole",
                "As many as the cabinet holds.",
                default=100.0,
                source=ASSUMPTION,
            ),
            Field(
                "start_temperature",
                "Blocks before steaming",
                "°C",
                "-20 to 60",
                "Temperature of the filled bags.",
                default=20.0,
                us_default=68.0,
                source=ASSUMPTION,
            ),
            Field(
                "hold_hours",
                "Hours held hot",
                "h",
                "0 or more",
                "After the core is hot; follow the steamer's maker and your own trials.",
                default=12.0,
                source="Stamets, Growing Gourmet & Medicinal Mushrooms: bulk sawdust, 12 h.",
            ),
            Field(
                "hold_power",
                "Power while held",
                "kW",
                "0 or more",
                "Average over the hold, from a meter.",
                default=3.0,
                source=ASSUMPTION,
            ),
        ),
    ),
    Section(
        "Spawn",
        (
            Field(
                "spawn_bag_mass",
                "Mass of a spawn bag",
                "kg",
                "above 0",
                "Grain spawn as delivered.",
                default=2.5,
                us_default=6.0,
                source=ASSUMPTION,
            ),
            Field(
                "spawn_price",
                "Price of spawn",
                "money/kg",
                "0 or more",
                "Delivered, or what your own costs.",
            ),
        ),
    ),
    Section(
        "Minutes of work",
        (
            Field(
                "mixing_minutes",
                "Mixing",
                "min/load",
                "0 or more",
                "Weighing, mixing and cleaning for one mixer load.",
                default=45.0,
                source=ASSUMPTION,
            ),
            Field(
                "filling_minutes",
                "Filling",
                "min/block",
                "0 or more",
                "Filling, weighing and folding one bag.",
                default=1.5,
                source=ASSUMPTION,
            ),
            Field(
                "steaming_minutes",
                "Steaming",
                "min/load",
                "0 or more",
                "Loading, watching and unloading one steam load.",
                default=60.0,
                source=ASSUMPTION,
            ),
            Field(
                "inoculating_minutes",
                "Inoculating",
                "min/block",
                "0 or more",
                "Spawning, sealing and shaking one bag.",
                default=1.5,
                source=ASSUMPTION,
            ),
            Field(
                "moving_minutes",
                "Moving and cleaning",
                "min/block",
                "0 or more",
                "Shelving, checking, moving to fruiting, cutting, clearing out.",
                default=2.0,
                source=ASSUMPTION,
            ),
            Field(
                "harvesting_minutes",
                "Harvesting",
                "min/kg",
                "0 or more",
                "Picking and trimming.",
                default=4.0,
                us_default=2.0,
                source=ASSUMPTION,
            ),
        ),
    ),
    Section(
        "Rooms",
        (
            Field(
                "incubation_places",
                "Places for incubation",
                "count",
                "1 or more, whole",
                "Blocks that fit on the incubation shelves.",
                default=600.0,
                source=ASSUMPTION,
            ),
            Field(
                "fruiting_places",
                "Places for fruiting",
                "count",
                "1 or more, whole",
                "Blocks that fit on the fruiting shelves.",
                default=400.0,
                source=ASSUMPTION,
            ),
            Field(
                "incubation_energy",
                "Energy of incubation",
                "kWh/day",
                "0 or more",
                "Heat, fans and light of the whole room, average of a year.",
                default=10.0,
                source=ASSUMPTION,
            ),
            Field(
                "fruiting_energy",
                "Energy of fruiting",
                "kWh/day",
                "0 or more",
                "Heat, cooling, fans, fog and light of the whole room, average of a year.",
                default=30.0,
                source=ASSUMPTION,
            ),
        ),
    ),
    Section(
        "The year",
        (
            Field(
                "blocks_per_year",
                "Blocks started",
                "blocks/year",
                "above 0",
                "Planned, or last year's; shares out equipment and overhead.",
                default=5000.0,
                source=ASSUMPTION,
            ),
            Field("rent", "Rent", "money/year", "0 or more", "Land and buildings."),
            Field(
                "insurance",
                "Insurance and licenses",
                "money/year",
                "0 or more",
                "Liability, fire, permits, certificates, laboratory.",
            ),
            Field(
                "vehicle",
                "Vehicle",
                "money/year",
                "0 or more",
                "Fuel, service and insurance for the farm's trips.",
            ),
            Field(
                "other_overhead",
                "Other overhead",
                "money/year",
                "0 or more",
                "Telephone, bookkeeping, repairs, supplies, whatever no block buys.",
            ),
        ),
    ),
)
"""The sheet of settings: one value each."""


def _times_named(table: str, key: str) -> Computed:
    return Computed(
        "times_named",
        "Times named",
        "count",
        f"COUNTIF({{{table}.{key}}},{{{key}}})",
        "1; more where a name stands twice.",
    )


EQUIPMENT = Table(
    "equipment",
    "Equipment",
    (
        Field("item", "Item", "text", help="Machine, shelf, building work."),
        Field("price", "Price", "money", "0 or more", "What it cost, delivered and installed."),
        Field(
            "salvage",
            "Value at the end",
            "money",
            "0 or more",
            "What it will still fetch; blank counts as nothing.",
            required=False,
        ),
        Field("life", "Life", "a", "above 0", "Years until it is replaced."),
        Computed(
            "depreciation",
            "Cost of a year",
            "money/year",
            "CFX.YEARLY_DEPRECIATION({price},{salvage},{life})",
            "Straight line: price less value at the end, over the years of life.",
        ),
    ),
    rows=15,
)

INGREDIENTS = Table(
    "ingredients",
    "Ingredients",
    (
        Field("ingredient", "Ingredient", "text", help="A name that you and your partner use."),
        Field("price", "Price", "money/kg", "0 or more", "Delivered, as it lies."),
        Field(
            "moisture",
            "Moisture",
            "fraction",
            "0 to below 1",
            "Wet basis: water over total mass. Dry a sample in the oven.",
            source=ASSUMPTION,
        ),
        Field(
            "nitrogen",
            "Nitrogen in dry mass",
            "fraction",
            "0 to 0.2",
            "Crude protein over 6.25; blank if you don't know.",
            required=False,
        ),
        Field(
            "carbon",
            "Carbon in dry mass",
            "fraction",
            "0 to 0.9",
            "Near half of the dry mass of wood; blank if you don't know.",
            required=False,
        ),
        Field(
            "source",
            "Source of the figures",
            "text",
            required=False,
            help="A laboratory, a table, a delivery note, your own oven.",
        ),
        _times_named("ingredients", "ingredient"),
    ),
    rows=12,
)

RECIPES = Table(
    "recipes",
    "Recipes",
    (
        Field("recipe", "Recipe", "text", help="A short name; the lists offer it."),
        Field(
            "target_moisture",
            "Target moisture",
            "fraction",
            "above 0 to below 0.9",
            "Wet basis, of the substrate in the bag before spawn.",
        ),
        Field(
            "bulk_density",
            "Bulk density, mixed",
            "kg/L",
            "above 0 to 1.5",
            "Wet substrate as it lies in the mixer: weigh a full bucket.",
        ),
        Computed(
            "shares",
            "Sum of shares",
            "fraction",
            'CHOOSE(1+(COUNTIF({recipe_lines.recipe},{recipe})>0),"",'
            "SUMIFS({recipe_lines.share},{recipe_lines.recipe},{recipe}))",
            "All shares of a recipe together: 100 %.",
        ),
        Computed(
            "moisture",
            "Moisture before water",
            "fraction",
            "SUMIFS({recipe_lines.water},{recipe_lines.recipe},{recipe})/{shares}",
            "Of the ingredients as weighed, by their usual moisture.",
        ),
        Computed(
            "nitrogen",
            "Nitrogen in dry mass",
            "fraction",
            "SUMIFS({recipe_lines.nitrogen},{recipe_lines.recipe},{recipe})"
            "/({shares}*(1-{moisture}))",
            "Ingredients without a figure count as none.",
        ),
        Computed(
            "carbon_nitrogen",
            "Carbon to nitrogen",
            "number",
            'CHOOSE(1+({nitrogen}>0),"",'
            "SUMIFS({recipe_lines.carbon},{recipe_lines.recipe},{recipe})"
            "/SUMIFS({recipe_lines.nitrogen},{recipe_lines.recipe},{recipe}))",
            "Parts of carbon to one of nitrogen.",
        ),
        Computed(
            "cost_dry",
            "Cost of dry mass",
            "money/kg",
            "SUMIFS({recipe_lines.cost},{recipe_lines.recipe},{recipe})/({shares}*(1-{moisture}))",
            "What a unit of dry substrate costs.",
        ),
        Computed(
            "cost_wet",
            "Cost of wet mass",
            "money/kg",
            "{cost_dry}*(1-{target_moisture})",
            "What a unit of wet substrate costs.",
        ),
        _times_named("recipes", "recipe"),
    ),
    rows=8,
)

RECIPE_LINES = Table(
    "recipe_lines",
    "What is in each recipe",
    (
        Field(
            "recipe",
            "Recipe",
            "choice",
            choices="recipes.recipe",
            help="One row for each ingredient of the recipe.",
        ),
        Field(
            "ingredient",
            "Ingredient",
            "choice",
            choices="ingredients.ingredient",
            help="From the sheet Ingredients.",
        ),
        Field(
            "share",
            "Share as weighed",
            "fraction",
            "above 0 to 1",
            "Of the mass before water; all shares of a recipe together are 100 %.",
        ),
        Computed(
            "found",
            "Names found",
            "count",
            "MIN(COUNTIF({recipes.recipe},{recipe}),"
            "COUNTIF({ingredients.ingredient},{ingredient}))",
            "0 where the recipe or the ingredient is not on its list.",
        ),
        Computed("order", "Row", "count", "ROW({recipe})", "Keeps the lines in their order."),
        Computed(
            "line",
            "Line",
            "state",
            '{recipe}&"|"&COUNTIFS({recipe_lines.recipe},{recipe},'
            '{recipe_lines.order},"<="&{order})',
            "Finds the lines of a recipe for the Mix card.",
        ),
        Computed(
            "moisture",
            "Moisture",
            "fraction",
            "INDEX({ingredients.moisture},MATCH({ingredient},{ingredients.ingredient},0))",
            "From the sheet Ingredients.",
        ),
        Computed("water", "Water in the share", "fraction", "{share}*{moisture}", "Of the mix."),
        Computed(
            "nitrogen",
            "Nitrogen in the share",
            "fraction",
            "CFX.DRY_MASS({share},{moisture})"
            "*INDEX({ingredients.nitrogen},MATCH({ingredient},{ingredients.ingredient},0))",
            "Of the mix.",
        ),
        Computed(
            "carbon",
            "Carbon in the share",
            "fraction",
            "CFX.DRY_MASS({share},{moisture})"
            "*INDEX({ingredients.carbon},MATCH({ingredient},{ingredients.ingredient},0))",
            "Of the mix.",
        ),
        Computed(
            "cost",
            "Cost of the share",
            "money/kg",
            "{share}*INDEX({ingredients.price},MATCH({ingredient},{ingredients.ingredient},0))",
            "Of the mix as weighed.",
        ),
    ),
    rows=40,
    unique=False,
)

STRAINS = Table(
    "strains",
    "Strains",
    (
        Field("strain", "Strain", "text", help="Species and strain, as on your labels."),
        Field(
            "spawn_rate",
            "Spawn rate",
            "fraction",
            "above 0 to 0.5",
            "Wet spawn over wet substrate; trials reach to 5 %.",
        ),
        Field("incubation_days", "Incubation", "d", "above 0", "From inoculation to the move."),
        Field(
            "fruiting_days",
            "In the fruiting room",
            "d",
            "above 0",
            "From the move until the block leaves, all flushes and the clearing out.",
        ),
        Field(
            "biological_efficiency",
            "BE",
            "fraction",
            "above 0 to 4",
            "Fresh mushrooms over dry substrate, all flushes.",
        ),
        Field(
            "loss_rate",
            "Blocks lost",
            "fraction",
            "0 to below 1",
            "Of the blocks started: spoiled, stalled, broken.",
        ),
        Field(
            "source",
            "Source of the figures",
            "text",
            required=False,
            help="Your records, the spawn maker's sheet, a paper.",
        ),
        _times_named("strains", "strain"),
    ),
    rows=8,
)

MIX_CARD = (
    Section(
        "Choose",
        (
            Field(
                "mix_recipe",
                "Recipe",
                "choice",
                choices="recipes.recipe",
                help="What is mixed today.",
            ),
            Field(
                "mix_strain", "Strain", "choice", choices="strains.strain", help="For the spawn."
            ),
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
            "number",
            "above 0 to 0.01",
            "What a balance may be off, since programs round.",
            default=0.000001,
            source="Far below any scale, far above the rounding of a program.",
        ),
    ),
)

TABLES = {table.key: table for table in (EQUIPMENT, INGREDIENTS, RECIPES, RECIPE_LINES, STRAINS)}
SINGLE_INPUTS = {
    field.key: field
    for section in (*FARM, *MIX_CARD, SAMPLE, COSTING, CHECKS)
    for field in section.fields
}


def look_up(column: str, choice: str) -> str:
    """Write a template that finds a chosen thing's figure in its table."""
    table, _, _ = column.partition(".")
    first = TABLES[table].first.key
    return f"INDEX({{{column}}},MATCH({{{choice}}},{{{table}.{first}}},0))"
