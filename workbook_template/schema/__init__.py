"""Every input of the workbook, once. Writer, checks and documentation all read it from here.

Numbers without a source are assumptions: they make a new workbook work, and the grower is told
to measure. Amounts of money start blank, since nobody can assume them.
"""

from __future__ import annotations

from workbook_template.schema import (
    batches,
    cards,
    farm,
    figures,
    harvests,
    improve,
    losses,
    materials,
    orders,
    outlook,
    partner,
    products,
    quote,
    room_rows,
    rooms,
    sales,
    spawn,
    steam,
    stock,
    trace,
    trials,
    what_helps,
    year,
)

SCHEMA_VERSION = 6
"""Counts up with every change of keys or of the names made of them, so that an older workbook is
recognized."""

TABLES = {
    table.key: table
    for table in (
        farm.EQUIPMENT,
        materials.INGREDIENTS,
        materials.RECIPES,
        materials.RECIPE_LINES,
        materials.STRAINS,
        spawn.SPAWN_LOTS,
        stock.DELIVERIES,
        stock.COUNTS,
        batches.BATCHES,
        harvests.HARVESTS,
        losses.LOSSES,
        steam.STEAM_RUNS,
        steam.STEAM_LOG,
        room_rows.ROOMS,
        room_rows.SURFACES,
        products.PRODUCTS,
        sales.MARKETS,
        sales.SALES,
        orders.RHYTHMS,
        orders.DEMAND,
        orders.ORDERS,
        trials.TRIAL_BATCHES,
        trials.TRIAL_YIELDS,
    )
}
SECTIONS = (
    *farm.FARM,
    figures.FIGURES,
    partner.PARTNER,
    cards.MIX_CARD,
    cards.SAMPLE,
    steam.STEAM,
    steam.CORE,
    steam.COOLING,
    steam.LETHALITY,
    spawn.SPAWN,
    spawn.EXPANSION,
    stock.STOCK,
    *rooms.ROOM_INPUTS,
    rooms.COLD_ROOM,
    products.DRYING,
    products.SPENT,
    sales.PERIOD,
    what_helps.MORE,
    improve.IMPROVE,
    improve.ONCE,
    cards.COSTING,
    cards.RANGES,
    cards.CHANGES,
    quote.QUOTE,
    quote.WHAT_IF,
    outlook.RANGE,
    outlook.RESULTS,
    outlook.LOSSES_OF_MONTH,
    outlook.SUSPECTS,
    trials.TRIAL,
    trials.SETTLING,
    trials.TOTALS,
    trials.INSPECTION,
    cards.LABELS,
    quote.PRICE_LIST,
    trace.TRACE,
    year.YEAR,
    cards.CHECKS,
)
SINGLE_INPUTS = {field.key: field for section in SECTIONS for field in section.fields}


def look_up(column: str, choice: str) -> str:
    """Write a template that finds a chosen thing's figure in its table."""
    table, _, _ = column.partition(".")
    first = TABLES[table].first.key
    return f"INDEX({{{column}}},MATCH({{{choice}}},{{{table}.{first}}},0))"
