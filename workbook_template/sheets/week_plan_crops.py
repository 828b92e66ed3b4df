"""The crops of the week plan: what the packs take, what a block gives, how each is started."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.columns import row_of
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.schema.materials import STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.writing.blocks import Grid

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


def enough_for(good: str) -> str:
    """Write how many blocks of a crop are enough for so many good ones, as sure as is wanted."""
    return f"CFX.BLOCKS_TO_START({good},{of_crop('loss')},{{start_confidence}},{{results_spread}})"


def in_steps(blocks: str) -> str:
    """Write how many blocks are started where so many are enough: the grower's least, and steps."""
    least = f"MAX({blocks},{of_crop('smallest')})"
    return f"{of_crop('step')}*ROUNDUP({least}/{of_crop('step')},0)"


def recipe_of(column: str) -> str:
    """Look up a column of the recipes, in the row that a line names."""
    return f"INDEX({{recipes.{column}}},{{recipe_row}})"


_DRIED = f'({_of_product("form")}="dried")'


PLAN_PRODUCTS = Grid(
    "plan_products",
    "What each pack sold takes",
    (
        Computed("product", "Product line", "state", row_of("products", "product", "ready")),
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
            "wanted",
            "Wanted of its crop",
            "number",
            "{fresh}+{as_block}*{blocks}",
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

_EACH_FLUSH = range(1, MOST_FLUSHES + 1)


def _of_block(flush: int) -> str:
    """Write what a flush of a good block gives; a block sold whole is its own only flush."""
    dry = f"CFX.DRY_MASS({{block_mass}},{recipe_of('target_moisture')})"
    fresh = f"({_strain('flushes')}>={flush})*{dry}*N({_strain(f'be_{flush}')})"
    return f"CHOOSE(1+{{as_block}},{fresh},{1 if flush == 1 else 0})"


def _weeks_later(flush: int) -> str:
    """Write how many weeks a flush comes behind the market that the first one is started for."""
    return f"MAX(0,-INT(({{lead}}+{{rounding}}-{{days_before_market}}-{{day_{flush}}})/7))"


_FLUSHES = (
    *(
        Computed(f"gives_{flush}", f"Flush {flush} of a good block", "number", _of_block(flush))
        for flush in _EACH_FLUSH
    ),
    *(
        Computed(
            f"day_{flush}",
            f"Flush {flush}, days after the start",
            "d",
            f"{{ready}}+({flush}-1)*N({_strain('flush_interval_days')})",
        )
        for flush in _EACH_FLUSH[1:]
    ),
    *(
        Computed(f"after_{flush}", f"Flush {flush}, weeks later", "count", _weeks_later(flush))
        for flush in _EACH_FLUSH[1:]
    ),
)


_SAME = f"{{rhythms.strain}},{_strain('strain')},{{rhythms.recipe}},{recipe_of('recipe')}"


def _in_rhythm(column: str) -> str:
    """Write what the grower typed about how the crop is started; 0 where there is nothing."""
    return f"SUMIFS({{rhythms.{column}}},{_SAME})"


def _whole_loads(kind: str) -> str:
    return f'MIN(1,COUNTIFS({_SAME},{{rhythms.whole}},"{kind}"))'


_FULL_MIXER = f"CFX.LARGEST_BATCH({{mixer_volume}},{recipe_of('bulk_density')},{{working_fill}})"
_RHYTHM = (
    Computed("every", "Weeks from start to start", "count", f"MAX(1,{_in_rhythm('every')})"),
    Computed(
        "begun",
        "A Monday with a start",
        "date",
        f"{_in_rhythm('week')}-MOD({_in_rhythm('week')}-2,7)",
    ),
    Computed("smallest", "Fewest blocks", "count", f"MAX(1,{_in_rhythm('smallest')})"),
    Computed(
        "step",
        "Blocks come in",
        "count",
        f"CHOOSE(1+{_whole_loads('mixer')},CHOOSE(1+{_whole_loads('steamer')},1,{{blocks_per_load}}),"
        f"MAX(1,CFX.BAG_COUNT({_FULL_MIXER},{{block_mass}},{{lost_mass}})))",
    ),
    Computed(
        "main",
        "First crop of its strain to fruit",
        "count",
        "(COUNTIFS({crops.strain_row},{strain_row},{crops.as_block},0,"
        '{crops.number},"<="&{number})=1)*(1-{as_block})',
    ),
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
            "{least_lead}+({plan_mixing}>=0)*MOD({plan_market}-{least_lead}-{plan_mixing},7)",
        ),
        Computed("ahead", "Weeks from start to market", "count", "-INT(({plan_market}-{lead})/7)"),
        Computed(
            "least_lead",
            "Start to market, on any day",
            "d",
            "-INT({rounding}-{days_before_market}-{ready})",
        ),
        Computed(
            "ready",
            "Start to first flush",
            "d",
            f"{_strain('incubation_days')}+(1-{{as_block}})*{_strain('first_flush_days')}",
        ),
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
        Computed(
            "usual",
            "Wanted in a usual week",
            "number",
            "SUMPRODUCT(({plan_products.crop}=INDEX({plan_products.begins},{at}))*1,"
            "{plan_products.packs},{plan_products.wanted})",
        ),
        *_FLUSHES,
        *_RHYTHM,
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
