"""The lists of the week plan: what to sell, to start and to have in each week."""

from __future__ import annotations

from workbook_template.schema.columns import row_of
from workbook_template.schema.fields import Computed
from workbook_template.schema.materials import INGREDIENTS, RECIPE_LINES, STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.sheets.week_plan_crops import (
    LINE,
    MOST_CROPS,
    NUMBER,
    of_crop,
    recipe_of,
)
from workbook_template.writing.blocks import ROUNDING, Check
from workbook_template.writing.week_grid import (
    WEEK_HEADINGS,
    WEEK_KEYS,
    FirstWeekGrid,
    HeadedGrid,
    first_week_headings,
    week_columns,
)

TO_START = FirstWeekGrid(
    "to_start",
    "Blocks to start, and bags needed, in the week of",
    (
        Computed("crop", "Crop", "state", of_crop("crop")),
        *week_columns(
            "count",
            "SUMIFS({starts.blocks},{starts.crop},{crop},{starts.week},{week})",
        ),
        NUMBER,
    ),
    rows=MOST_CROPS,
    totals=WEEK_KEYS,
    headings=first_week_headings("plan_monday"),
)


PACKS_TO_SELL = HeadedGrid(
    "packs_to_sell",
    "Packs to sell in the week of",
    (
        Computed("product", "Product line", "state", "INDEX({plan_products.product},{line})"),
        *week_columns(
            "count",
            "CHOOSE(1+MIN(1,COUNTIFS({unusual_weeks.product},{product},{unusual_weeks.week},{week})),"
            "INDEX({plan_products.packs},{line}),"
            "SUMIFS({unusual_weeks.packs},{unusual_weeks.product},{product},{unusual_weeks.week},{week}))"
            '+SUMIFS({orders.packs},{orders.product},{product},{orders.market},"<="&({week}+{plan_market}),'
            '{orders.last},">="&({week}+{plan_market}))',
        ),
        LINE,
    ),
    rows=PRODUCTS.rows,
    headings=WEEK_HEADINGS,
)


def strain_demand(unit: str) -> HeadedGrid:
    """Return the list of what has to be picked of each strain."""
    return HeadedGrid(
        "strain_demand",
        f"Fresh mass to pick for the market in the week of, {unit}",
        (
            Computed(
                "strain",
                "Strain",
                "state",
                row_of(
                    "used",
                    "strain",
                    "spawn_rate",
                    "incubation_days",
                    "fruiting_days",
                    "biological_efficiency",
                    "loss_rate",
                ),
            ),
            *week_columns(
                "kg",
                "SUMPRODUCT(({plan_products.strain_row}={at})*1,{plan_products.packs},"
                "{plan_products.fresh})"
                "+SUMIFS({unusual_weeks.fresh},{unusual_weeks.strain_row},{at},{unusual_weeks.week},{week})"
                "+SUMIFS({orders.fresh},{orders.strain_row},{at},"
                '{orders.market},"<="&({week}+{plan_market}),{orders.last},">="&({week}+{plan_market}))',
            ),
            Computed("at", "Row of the strain", "count", "MATCH({strain},{strains.strain},0)"),
            LINE,
        ),
        rows=STRAINS.rows,
        totals=WEEK_KEYS,
        headings=WEEK_HEADINGS,
    )


def spawn_mass(unit: str) -> HeadedGrid:
    """Return the list of the spawn needed of each strain."""
    return HeadedGrid(
        "spawn_mass",
        f"Spawn needed in the week of, {unit}",
        (
            Computed("strain", "Strain", "state", "INDEX({strain_demand.strain},{line})"),
            *week_columns(
                "kg",
                "SUMIFS({starts.spawn},{starts.strain_row},{at},{starts.week},{week})",
            ),
            Computed("at", "Row of the strain", "count", "MATCH({strain},{strains.strain},0)"),
            LINE,
        ),
        rows=STRAINS.rows,
        totals=WEEK_KEYS,
        headings=WEEK_HEADINGS,
    )


SPAWN_BAGS = HeadedGrid(
    "spawn_to_open",
    "Spawn bags needed in the week of, rounded up to whole bags",
    (
        Computed("strain", "Strain", "state", "INDEX({spawn_mass.strain},{line})"),
        *week_columns(
            "count",
            '({strain}<>"")*CFX.SPAWN_BAGS(INDEX({spawn_mass.{w}},{line}),{spawn_bag_mass})',
        ),
        LINE,
    ),
    rows=STRAINS.rows,
    totals=WEEK_KEYS,
    headings=WEEK_HEADINGS,
)


def line_mass(unit: str) -> HeadedGrid:
    """Return the list of what each line of the recipes takes."""
    recipe = "{recipe_lines.recipe},{line}"
    return HeadedGrid(
        "line_mass",
        f"Mass of each recipe ingredient in the week of, {unit}",
        (
            Computed(
                "ingredient",
                "Ingredient",
                "state",
                "CHOOSE(1+(N(INDEX({recipe_lines.found},{line}))>0)"
                f"*MIN(1,COUNTIFS({{recipes.recipe}},INDEX({recipe}),{{recipes.bulk_density}},"
                '">0",{recipes.target_moisture},">=0")),'
                '"",INDEX({recipe_lines.ingredient},{line})&"")',
            ),
            *week_columns(
                "kg",
                "{share}*SUMIFS({starts.mixed},{starts.recipe_row},{recipe_row},"
                "{starts.week},{week})",
            ),
            Computed(
                "share",
                "Share of the wet mass",
                "fraction",
                f"INDEX({{recipe_lines.share}},{{line}})/{recipe_of('shares')}"
                f"*CFX.MASS_AT_MOISTURE(1-{recipe_of('target_moisture')},{recipe_of('moisture')})",
            ),
            Computed(
                "recipe_row",
                "Row of the recipe",
                "count",
                f'({{ingredient}}<>"")*MATCH(INDEX({recipe}),{{recipes.recipe}},0)',
            ),
            LINE,
        ),
        rows=RECIPE_LINES.rows,
        headings=WEEK_HEADINGS,
    )


def purchases(unit: str) -> HeadedGrid:
    """Return the list of the ingredients needed."""
    return HeadedGrid(
        "purchases",
        f"Ingredients needed in the week of, {unit}",
        (
            Computed(
                "ingredient", "Ingredient", "state", 'INDEX({ingredients.ingredient},{line})&""'
            ),
            *week_columns("kg", "SUMIFS({line_mass.{w}},{line_mass.ingredient},{ingredient})"),
            LINE,
        ),
        rows=INGREDIENTS.rows,
        totals=WEEK_KEYS,
        headings=WEEK_HEADINGS,
    )


CHECKS = (
    Check(
        "Orders: rows that the Week plan can't count, since their product line is not complete",
        "COUNT({orders.packs})-COUNT({orders.blocks})"
        "+COUNT({unusual_weeks.packs})-COUNT({unusual_weeks.blocks})",
    ),
    Check(
        "Week plan: crops without a row",
        "MAX(0,MAX({plan_products.crop})-COUNT({crops.at}))",
    ),
    Check(
        "Week plan: starts with too few blocks on average",
        'COUNTIF({starts.spare},"<"&-{rounding})',
    ),
    Check(
        "Week plan: blocks by crop and by week add up to the starts",
        "ABS("
        + "+".join(f"SUM({{to_start.{week}}})" for week in WEEK_KEYS)
        + "-SUM({loads.blocks}))"
        "+ABS(SUM({loads.blocks})-SUM({starts.blocks}))",
        ROUNDING,
    ),
    Check(
        "Week plan: fresh mass by strain matches the packs to sell",
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
        "Week plan: good blocks of the crops match the packs of a usual week",
        "ABS(SUM({crops.blocks})-SUMPRODUCT({plan_products.packs},{plan_products.blocks}))",
        ROUNDING,
    ),
    Check(
        "Week plan: ingredients by line and by name have the same mass",
        "ABS("
        + "+".join(f"SUM({{purchases.{week}}})-SUM({{line_mass.{week}}})" for week in WEEK_KEYS)
        + ")",
        ROUNDING,
    ),
    Check(
        "Week plan: spawn by strain matches the starts",
        "ABS("
        + "+".join(f"SUM({{spawn_mass.{week}}})" for week in WEEK_KEYS)
        + "-SUM({starts.spawn}))",
        ROUNDING,
    ),
)
