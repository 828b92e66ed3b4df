"""The crops of the week plan: what the packs take, and the blocks to start for each market."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.columns import due_rank
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import used_in
from workbook_template.schema.materials import STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.writing.blocks import Grid
from workbook_template.writing.week_grid import WEEKS

MOST_CROPS = STRAINS.rows
LINE = Counter("line")
NUMBER = Counter("number")


def _of_product(column: str) -> str:
    return look_up(f"products.{column}", "product")


def of_crop(column: str) -> str:
    """Look up a column of the crops, in the row of a number."""
    return f"INDEX({{crops.{column}}},{{number}})"


def _strain(column: str) -> str:
    return used_in(column, "{strain_row}")


def recipe_of(column: str) -> str:
    """Look up a column of the recipes, in the row that a line names."""
    return f"INDEX({{recipes.{column}}},{{recipe_row}})"


_DRIED = f'({_of_product("form")}="dried")'


PLAN_PRODUCTS = Grid(
    "plan_products",
    "What each pack sold takes",
    (
        Computed("product", "Product line", "state", "INDEX({packs.product},{line})"),
        Computed("packs", "Packs, usual week", "count", _of_product("packs_per_week")),
        Computed(
            "fresh",
            "Fresh mass of a pack",
            "kg",
            f"{_of_product('fresh')}/{_of_product('sold_share')}",
        ),
        Computed(
            "blocks",
            "Good blocks",
            "number",
            f"{_of_product('blocks')}/{_of_product('sold_share')}",
        ),
        Computed(
            "minutes",
            "Picking, drying, packing",
            "min",
            f"({_of_product('fresh')}*({_strain('picking_minutes')}+{_DRIED}*{{drying_minutes}})"
            f"+{_of_product('packing_minutes')})/{_of_product('sold_share')}",
        ),
        Computed(
            "strain_row",
            "Row of the strain",
            "count",
            f"MATCH({_of_product('strain')},{{strains.strain}},0)",
        ),
        Computed(
            "recipe_row",
            "Row of the recipe",
            "count",
            f"MATCH({_of_product('recipe')},{{recipes.recipe}},0)",
        ),
        Computed("as_block", "Sold as block", "count", f'({_of_product("form")}="block")*1'),
        Computed(
            "first",
            "First of its crop",
            "count",
            "(COUNTIFS({plan_products.strain_row},{strain_row},{plan_products.recipe_row},"
            "{recipe_row},{plan_products.as_block},{as_block},"
            '{plan_products.line},"<="&{line})=1)*1',
        ),
        Computed(
            "begins",
            "Begins crop",
            "count",
            '{first}*COUNTIFS({plan_products.first},1,{plan_products.line},"<="&{line})',
        ),
        Computed(
            "crop",
            "Crop",
            "count",
            "SUMIFS({plan_products.begins},{plan_products.strain_row},{strain_row},"
            "{plan_products.recipe_row},{recipe_row},{plan_products.as_block},{as_block})",
        ),
        LINE,
    ),
    rows=PRODUCTS.rows,
)


CROPS = Grid(
    "crops",
    "Crops",
    (
        Computed(
            "crop",
            "Crop",
            "state",
            f'{_strain("strain")}&", "&{recipe_of("recipe")}&CHOOSE(1+{{as_block}},"",", blocks")',
        ),
        Computed(
            "lead",
            "Start to market",
            "d",
            f"-INT({{rounding}}-{{days_before_market}}-{_strain('incubation_days')}"
            f"-(1-{{as_block}})*{_strain('first_flush_days')})",
        ),
        Computed("ahead", "Weeks from start to market", "count", "-INT(({plan_market}-{lead})/7)"),
        Computed("loss", "Blocks lost", "fraction", _strain("loss_rate") + "*1"),
        Computed(
            "fresh",
            "Fresh mass of a good block",
            "kg",
            "(1-{as_block})*CFX.EXPECTED_HARVEST(CFX.DRY_MASS({block_mass},"
            f"{recipe_of('target_moisture')}),{_strain('biological_efficiency')})",
        ),
        Computed(
            "blocks",
            "Good blocks, usual week",
            "number",
            "SUMPRODUCT(({plan_products.crop}=INDEX({plan_products.begins},{at}))*1,{plan_products.packs},"
            "{plan_products.blocks})",
        ),
        Computed(
            "dry",
            "Dry substrate to fruit, usual week",
            "kg",
            "(1-{as_block})*{blocks}/(1-{loss})"
            f"*CFX.DRY_MASS({{block_mass}},{recipe_of('target_moisture')})",
        ),
        Computed("incubation", "Incubation", "d", _strain("incubation_days") + "*1"),
        Computed("fruiting", "In fruiting", "d", f"(1-{{as_block}})*{_strain('fruiting_days')}"),
        Computed(
            "strain_row",
            "Row of the strain",
            "count",
            "INDEX({plan_products.strain_row},{at})",
        ),
        Computed(
            "recipe_row",
            "Row of the recipe",
            "count",
            "INDEX({plan_products.recipe_row},{at})",
        ),
        Computed("as_block", "Sold as block", "count", "INDEX({plan_products.as_block},{at})"),
        Computed(
            "at",
            "Line where it begins",
            "count",
            "CHOOSE(1+MIN(1,COUNTIF({plan_products.begins},{number})),"
            '"",SUMIFS({plan_products.line},{plan_products.begins},{number}))',
        ),
        NUMBER,
    ),
    rows=MOST_CROPS,
)


_MADE_IN_WEEK = (
    f"SUMIFS({{batches.bags}},{{batches.strain}},{_strain('strain')},"
    f"{{batches.recipe}},{recipe_of('recipe')},"
    '{batches.made},">="&{week},{batches.made},"<"&({week}+7))'
)
_EARLIER_CROPS = (
    "SUMIFS({starts.blocks},{starts.week},{week},{starts.strain_row},{strain_row},"
    '{starts.recipe_row},{recipe_row},{starts.number},"<"&{number})'
)
"""Blocks to fruit and blocks to sell whole may be of one strain on one recipe. The log of batches
does not tell them apart, so what was made counts for the crop that is listed first."""

STARTS = Grid(
    "starts",
    "Every start",
    (
        Computed("crop", "Crop", "state", of_crop("crop")),
        Computed("week", "Week of", "date", "{plan_monday}+7*({line}-{number})/{plan_crops}"),
        Computed("start", "Start on", "date", f"CFX.START_DATE({{market}},{of_crop('lead')})"),
        Computed(
            "market", "For the market on", "date", f"{{week}}+7*{of_crop('ahead')}+{{plan_market}}"
        ),
        Computed(
            "good",
            "Good blocks needed",
            "number",
            f"MAX(0,{of_crop('blocks')}+SUMIFS({{unusual_weeks.blocks}},{{unusual_weeks.crop}},{{number}},"
            "{unusual_weeks.week},{market}-{plan_market}))",
        ),
        Computed(
            "blocks",
            "Blocks to start",
            "count",
            f"CFX.BLOCKS_TO_START({{good}},{of_crop('loss')},{{start_confidence}},{{results_spread}})",
        ),
        Computed(
            "mixed",
            "Mass to mix",
            "kg",
            "({blocks}>0)*CFX.BATCH_MASS({blocks},{block_mass},{lost_mass})",
        ),
        Computed(
            "loads",
            "Mixer loads",
            "count",
            "CFX.MIXER_LOADS({mixed},{mixer_volume},"
            f"{recipe_of('bulk_density')},{{working_fill}})",
        ),
        Computed(
            "spawn",
            "Spawn",
            "kg",
            f"CFX.SPAWN_NEEDED({{blocks}}*{{block_mass}},{_strain('spawn_rate')})",
        ),
        Computed(
            "incubation",
            "Shelf spaces, incubation",
            "count",
            f"CFX.BLOCKS_IN_PROGRESS({{blocks}},{of_crop('incubation')})",
        ),
        Computed(
            "fruiting",
            "Shelf spaces, fruiting",
            "count",
            f"CFX.BLOCKS_IN_PROGRESS({{blocks}}*(1-{of_crop('loss')}),{of_crop('fruiting')})",
        ),
        Computed(
            "spare",
            "Blocks more than needed",
            "number",
            f"{{blocks}}-{{good}}/(1-{of_crop('loss')})",
        ),
        Computed("strain_row", "Row of the strain", "count", of_crop("strain_row")),
        Computed("recipe_row", "Row of the recipe", "count", of_crop("recipe_row")),
        Computed(
            "left",
            "Blocks still to start",
            "count",
            f"MAX(0,MIN({{blocks}},{{blocks}}+{_EARLIER_CROPS}-{_MADE_IN_WEEK}))",
        ),
        due_rank("start", "starts", only="*({left}>0)"),
        Computed(
            "number",
            "Crop number",
            "count",
            'CHOOSE(1+({line}<={plan_crops}*ROWS({loads.week})),"",'
            "{line}-{plan_crops}*INT(({line}-1)/MAX(1,{plan_crops})))",
        ),
        LINE,
    ),
    rows=MOST_CROPS * WEEKS,
)
