"""The lists of the week plan: demand, crops, starts, loads of the stations, purchases."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.columns import ROWS_DUE
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import INGREDIENTS, RECIPE_LINES, STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.sheets.costing_parts import number_of
from workbook_template.writing.headed import (
    WEEK_HEADINGS,
    WEEK_KEYS,
    WEEKS,
    FirstWeekGrid,
    HeadedGrid,
    first_week_headings,
    week_columns,
)
from workbook_template.writing.page import ROUNDING, Check, Grid

MOST_CROPS = STRAINS.rows
_LINE = Counter("line", "No.")
_NUMBER = Counter("number", "No.")


def _of_product(column: str) -> str:
    return look_up(f"products.{column}", "product")


def _of_crop(column: str) -> str:
    return f"INDEX({{crops.{column}}},{{number}})"


def _strain(column: str) -> str:
    return f"INDEX({{strains.{column}}},{{strain_row}})"


def _recipe(column: str) -> str:
    return f"INDEX({{recipes.{column}}},{{recipe_row}})"


_DRIED = f'({_of_product("form")}="dried")'

PLAN_PRODUCTS = Grid(
    "plan_products",
    "How it comes about: what a pack sold takes",
    (
        Computed("product", "Product line", "state", "INDEX({packs.product},{line})"),
        Computed("packs", "Packs, usual week", "count", _of_product("packs_per_week")),
        Computed(
            "fresh", "Fresh mass", "kg/pack", f"{_of_product('fresh')}/{_of_product('sold_share')}"
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
            f"({_of_product('fresh')}*({{harvesting_minutes}}+{_DRIED}*{{drying_minutes}})"
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
        _LINE,
    ),
    rows=PRODUCTS.rows,
)

CROPS = Grid(
    "crops",
    "How it comes about: the crops",
    (
        Computed(
            "crop",
            "Crop",
            "state",
            f'{_strain("strain")}&", "&{_recipe("recipe")}&CHOOSE(1+{{as_block}},"",", blocks")',
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
            f"{_recipe('target_moisture')}),{_strain('biological_efficiency')})",
        ),
        Computed(
            "blocks",
            "Good blocks, usual week",
            "number",
            "SUMPRODUCT(({plan_products.crop}=INDEX({plan_products.begins},{at}))*1,{plan_products.packs},"
            "{plan_products.blocks})",
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
        _NUMBER,
    ),
    rows=MOST_CROPS,
)

STARTS = Grid(
    "starts",
    "How it comes about: every start",
    (
        Computed("crop", "Crop", "state", _of_crop("crop")),
        Computed("week", "Week from", "date", "{plan_monday}+7*({line}-{number})/{plan_crops}"),
        Computed("start", "Start on", "date", f"CFX.START_DATE({{market}},{_of_crop('lead')})"),
        Computed(
            "market", "For the market on", "date", f"{{week}}+7*{_of_crop('ahead')}+{{plan_market}}"
        ),
        Computed(
            "good",
            "Good blocks needed",
            "number",
            f"MAX(0,{_of_crop('blocks')}+SUMIFS({{unusual_weeks.blocks}},{{unusual_weeks.crop}},{{number}},"
            "{unusual_weeks.week},{market}-{plan_market}))",
        ),
        Computed(
            "blocks",
            "Blocks to start",
            "count",
            f"CFX.BLOCKS_TO_START({{good}},{_of_crop('loss')})",
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
            f"{_recipe('bulk_density')},{{working_fill}})",
        ),
        Computed(
            "spawn",
            "Spawn",
            "kg",
            f"CFX.SPAWN_NEEDED({{blocks}}*{{block_mass}},{_strain('spawn_rate')})",
        ),
        Computed(
            "incubation",
            "Places, incubation",
            "count",
            f"CFX.BLOCKS_IN_PROGRESS({{blocks}},{_of_crop('incubation')})",
        ),
        Computed(
            "fruiting",
            "Places, fruiting",
            "count",
            f"CFX.BLOCKS_IN_PROGRESS({{blocks}}*(1-{_of_crop('loss')}),{_of_crop('fruiting')})",
        ),
        Computed(
            "spare",
            "Blocks more than needed",
            "number",
            f"{{blocks}}-{{good}}/(1-{_of_crop('loss')})",
        ),
        Computed("strain_row", "Row of the strain", "count", _of_crop("strain_row")),
        Computed("recipe_row", "Row of the recipe", "count", _of_crop("recipe_row")),
        Computed(
            "made",
            "Blocks made in that week",
            "count",
            f"SUMIFS({{batches.bags}},{{batches.strain}},{_strain('strain')},"
            f"{{batches.recipe}},{_recipe('recipe')},"
            '{batches.made},">="&{week},{batches.made},"<"&({week}+7))',
        ),
        Computed(
            "rank",
            "Place in the due list",
            "number",
            "CHOOSE(1+({start}<={today}+7)*({blocks}>{made}),"
            '"",{start}+(ROWS({batches.batch})+ROWS({spawn_lots.lot})+{line})/'
            f"{ROWS_DUE})",
        ),
        Computed(
            "number",
            "Crop number",
            "count",
            'CHOOSE(1+({line}<={plan_crops}*ROWS({loads.week})),"",'
            "{line}-{plan_crops}*INT(({line}-1)/MAX(1,{plan_crops})))",
        ),
        _LINE,
    ),
    rows=MOST_CROPS * WEEKS,
)

TO_START = FirstWeekGrid(
    "to_start",
    "Blocks to start in the week from, and bags to have",
    (
        Computed("crop", "Crop", "state", _of_crop("crop")),
        *week_columns(
            "count",
            "SUMIFS({starts.blocks},{starts.crop},{crop},{starts.week},{week})",
        ),
        _NUMBER,
    ),
    rows=MOST_CROPS,
    totals=WEEK_KEYS,
    headings=first_week_headings("plan_monday"),
)

PACKS_TO_SELL = HeadedGrid(
    "packs_to_sell",
    "Packs to sell in the week from",
    (
        Computed("product", "Product line", "state", "INDEX({packs.product},{line})"),
        *week_columns(
            "count",
            "CHOOSE(1+MIN(1,COUNTIFS({unusual_weeks.product},{product},{unusual_weeks.week},{week})),"
            "INDEX({plan_products.packs},{line}),"
            "SUMIFS({unusual_weeks.packs},{unusual_weeks.product},{product},{unusual_weeks.week},{week}))",
        ),
        _LINE,
    ),
    rows=PRODUCTS.rows,
    headings=WEEK_HEADINGS,
)


def strain_demand(unit: str) -> HeadedGrid:
    """Make the list of what has to be picked of each strain."""
    return HeadedGrid(
        "strain_demand",
        f"Fresh mass to pick for the market of the week from, {unit}",
        (
            Computed("strain", "Strain", "state", "INDEX({strain_costs.strain},{line})"),
            *week_columns(
                "kg",
                "SUMPRODUCT(({plan_products.strain_row}={at})*1,{plan_products.packs},"
                "{plan_products.fresh})"
                "+SUMIFS({unusual_weeks.fresh},{unusual_weeks.strain_row},{at},{unusual_weeks.week},{week})",
            ),
            Computed("at", "Row of the strain", "count", "MATCH({strain},{strains.strain},0)"),
            _LINE,
        ),
        rows=STRAINS.rows,
        totals=WEEK_KEYS,
        headings=WEEK_HEADINGS,
    )


def spawn_mass(unit: str) -> HeadedGrid:
    """Make the list of the spawn to have of each strain."""
    return HeadedGrid(
        "spawn_mass",
        f"Spawn to have in the week from, {unit}",
        (
            Computed("strain", "Strain", "state", "INDEX({strain_costs.strain},{line})"),
            *week_columns(
                "kg",
                "SUMIFS({starts.spawn},{starts.strain_row},{at},{starts.week},{week})",
            ),
            Computed("at", "Row of the strain", "count", "MATCH({strain},{strains.strain},0)"),
            _LINE,
        ),
        rows=STRAINS.rows,
        totals=WEEK_KEYS,
        headings=WEEK_HEADINGS,
    )


SPAWN_BAGS = HeadedGrid(
    "spawn_to_open",
    "Spawn bags to have in the week from, begun ones count whole",
    (
        Computed("strain", "Strain", "state", "INDEX({spawn_mass.strain},{line})"),
        *week_columns(
            "count",
            '({strain}<>"")*CFX.SPAWN_BAGS(INDEX({spawn_mass.{w}},{line}),{spawn_bag_mass})',
        ),
        _LINE,
    ),
    rows=STRAINS.rows,
    totals=WEEK_KEYS,
    headings=WEEK_HEADINGS,
)


def line_mass(unit: str) -> HeadedGrid:
    """Make the list of what each line of the recipes takes."""
    recipe = "{recipe_lines.recipe},{line}"
    return HeadedGrid(
        "line_mass",
        f"How it comes about: mass of each line of the recipes, {unit}",
        (
            Computed(
                "ingredient",
                "Ingredient",
                "state",
                "CHOOSE(1+(N(INDEX({recipe_lines.found},{line}))>0)"
                f"*MIN(1,COUNTIF({{recipe_costs.recipe}},INDEX({recipe}))),"
                '"",INDEX({recipe_lines.ingredient},{line}))',
            ),
            *week_columns(
                "kg",
                "{share}*SUMIFS({starts.mixed},{starts.recipe_row},{recipe_row},"
                "{starts.week},{week})",
            ),
            Computed(
                "share",
                "Of the wet mass",
                "fraction",
                f"INDEX({{recipe_lines.share}},{{line}})/{_recipe('shares')}"
                f"*CFX.MASS_AT_MOISTURE(1-{_recipe('target_moisture')},{_recipe('moisture')})",
            ),
            Computed(
                "recipe_row",
                "Row of the recipe",
                "count",
                f'({{ingredient}}<>"")*MATCH(INDEX({recipe}),{{recipes.recipe}},0)',
            ),
            _LINE,
        ),
        rows=RECIPE_LINES.rows,
        headings=WEEK_HEADINGS,
    )


def purchases(unit: str) -> HeadedGrid:
    """Make the list of the ingredients to have."""
    return HeadedGrid(
        "purchases",
        f"Ingredients to have in the week from, {unit}",
        (
            Computed(
                "ingredient", "Ingredient", "state", 'INDEX({ingredients.ingredient},{line})&""'
            ),
            *week_columns("kg", "SUMIFS({line_mass.{w}},{line_mass.ingredient},{ingredient})"),
            _LINE,
        ),
        rows=INGREDIENTS.rows,
        totals=WEEK_KEYS,
        headings=WEEK_HEADINGS,
    )


def _in_week(column: str) -> str:
    return f"SUMIFS({{starts.{column}}},{{starts.week}},{{week}})"


LOADS = Grid(
    "loads",
    "How it comes about: load of the stations",
    (
        Computed("week", "Week from", "date", "{plan_monday}+7*({number}-1)"),
        Computed("blocks", "Blocks started", "count", _in_week("blocks")),
        Computed("mixer", "Mixer loads", "count", _in_week("loads")),
        Computed("steamer", "Steam loads", "count", "ROUNDUP({blocks}/{blocks_per_load},0)"),
        Computed("bench", "Bench", "h", "{blocks}*{inoculating_minutes}/60"),
        Computed("incubation", "Places, incubation", "count", _in_week("incubation")),
        Computed("fruiting", "Places, fruiting", "count", _in_week("fruiting")),
        Computed(
            "growing",
            "Work on blocks",
            "h",
            "({mixer}*{mixing_minutes}+{steamer}*{steaming_minutes}+{blocks}"
            "*({filling_minutes}+{inoculating_minutes}+{moving_minutes}))/60",
        ),
        Computed(
            "selling",
            "Picking to packing",
            "h",
            "(SUMPRODUCT({plan_products.packs},{plan_products.minutes})"
            "+SUMIFS({unusual_weeks.minutes},{unusual_weeks.week},{week}))/60",
        ),
        Computed("labor", "Labor", "h", "{growing}+{selling}"),
        _NUMBER,
    ),
    rows=WEEKS,
)

_STATIONS = {
    "mixer": "mixer_loads_per_week",
    "steamer": "steam_loads_per_week",
    "bench": "bench_hours_per_week",
    "incubation": "incubation_places",
    "fruiting": "fruiting_places",
    "labor": "labor_hours_per_week",
}
_FIRST_FULL = "1"
for _station in reversed(list(_STATIONS)[:-1]):
    _FIRST_FULL = f"1+({{{_station}}}<{{fullest}})*({_FIRST_FULL})"
_NAMES = "{" + ",".join(f'"{name}"' for name in _STATIONS) + "}"

SHARES = HeadedGrid(
    "shares",
    "Load of the stations as a share of their capacity",
    (
        Computed("week", "Week from", "date", "{plan_monday}+7*({number}-1)"),
        *(
            Computed(
                name,
                name.capitalize(),
                "fraction",
                f"INDEX({{loads.{name}}},{{number}})/{{{capacity}}}",
            )
            for name, capacity in _STATIONS.items()
        ),
        Computed(
            "fullest",
            "Fullest",
            "fraction",
            f"MAX({','.join(f'{{{name}}}' for name in _STATIONS)})",
        ),
        Computed("station", "Station", "state", f"INDEX({_NAMES},{_FIRST_FULL})"),
        _NUMBER,
    ),
    rows=WEEKS,
    alarmed=(*_STATIONS, "fullest"),
)


def _each_station(template: str) -> str:
    return f"CHOOSE({{number}},{','.join(template.replace('%s', name) for name in _STATIONS)})"


STATIONS = HeadedGrid(
    "stations",
    "Load of each station",
    (
        Computed("station", "Station", "state", f"INDEX({_NAMES},{{number}})"),
        Computed("now", "This week", "fraction", _each_station("INDEX({shares.%s},1)")),
        Computed("usual", "Average", "fraction", _each_station("AVERAGE({shares.%s})")),
        Computed("highest", "Highest", "fraction", _each_station("MAX({shares.%s})")),
        Computed(
            "week",
            "Highest in week from",
            "date",
            "INDEX({shares.week},"
            + _each_station(number_of("{highest}", "shares.%s", "shares.number"))
            + ")",
        ),
        Computed("over", "Weeks over 100 %", "count", _each_station('COUNTIF({shares.%s},">"&1)')),
        _NUMBER,
    ),
    rows=len(_STATIONS),
    alarmed=("now", "usual", "highest"),
)

CHECKS = (
    Check(
        "Week plan: weeks that do not start on a Monday",
        "SUM({unusual_weeks.no_monday})",
    ),
    Check(
        "Week plan: crops that it has no row for",
        "MAX(0,MAX({plan_products.crop})-COUNT({crops.at}))",
    ),
    Check(
        "Week plan: starts that bring too few blocks, or a whole block too many",
        'COUNTIF({starts.spare},"<"&-{rounding})+COUNTIF({starts.spare},">="&1)',
    ),
    Check(
        "Week plan: blocks by crop and by week are the starts",
        "ABS("
        + "+".join(f"SUM({{to_start.{week}}})" for week in WEEK_KEYS)
        + "-SUM({loads.blocks}))"
        "+ABS(SUM({loads.blocks})-SUM({starts.blocks}))",
        ROUNDING,
    ),
    Check(
        "Week plan: fresh mass by strain is that of the packs to sell",
        "ABS("
        + "+".join(
            f"SUM({{strain_demand.{week}}})"
            f"-SUMPRODUCT({{packs_to_sell.{week}}},{{plan_products.fresh}})"
            for week in WEEK_KEYS
        )
        + ")",
        ROUNDING,
    ),
    Check(
        "Week plan: good blocks of the crops are those of the packs in a usual week",
        "ABS(SUM({crops.blocks})-SUMPRODUCT({plan_products.packs},{plan_products.blocks}))",
        ROUNDING,
    ),
    Check(
        "Week plan: ingredients by line and by name are the same mass",
        "ABS("
        + "+".join(f"SUM({{purchases.{week}}})-SUM({{line_mass.{week}}})" for week in WEEK_KEYS)
        + ")",
        ROUNDING,
    ),
    Check(
        "Week plan: spawn by strain is that of the starts",
        "ABS("
        + "+".join(f"SUM({{spawn_mass.{week}}})" for week in WEEK_KEYS)
        + "-SUM({starts.spawn}))",
        ROUNDING,
    ),
)
