"""The sheets of the workbook, one module each, in the order of the work."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from workbook_template.sheets import (
    batches,
    checks,
    costing,
    deliveries,
    farm,
    forecast,
    functions,
    harvests,
    improve,
    ingredients,
    labels,
    loss_causes,
    losses_log,
    markets,
    mix_card,
    orders,
    price_list,
    products,
    quote,
    recipes,
    results,
    rooms,
    sales,
    sources,
    spawn,
    start,
    steam,
    steam_runs,
    stock,
    strains,
    trace,
    trials,
    week_plan,
    year,
)
from workbook_template.sheets import carried as carried_over

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.blocks import Settings, Sheet
    from workbook_template.writing.layout import Value


def all_sheets(settings: Settings, carried: Sequence[Sequence[Value]] = ()) -> list[Sheet]:
    """Return the sheets in their order.

    Parameters
    ----------
    settings : Settings
        Units, currency and size.
    carried : sequence, optional
        The lines of the Carried over sheet; without any there is no such sheet.

    Returns
    -------
    list of Sheet
        Start first.
    """
    stages = {
        "Set up": [farm.sheet(), ingredients.sheet(), recipes.sheet(), strains.sheet()],
        "Buy": [
            deliveries.sheet(settings),
            deliveries.counts_sheet(settings),
            stock.sheet(settings),
        ],
        "Mix, steam, spawn": [
            mix_card.sheet(),
            steam.sheet(),
            steam_runs.sheet(settings),
            spawn.sheet(settings),
        ],
        "Grow and pick": [
            batches.sheet(settings),
            harvests.sheet(settings),
            losses_log.sheet(settings),
            rooms.sheet(),
        ],
        "Price and sell": [
            products.sheet(),
            orders.sheet(),
            markets.sheet(settings),
            sales.sheet(settings),
            costing.sheet(settings),
            quote.sheet(settings),
        ],
        "Plan": [week_plan.sheet(settings), forecast.sheet(settings)],
        "Look back": [
            results.sheet(settings),
            loss_causes.sheet(settings),
            trials.sheet(),
            year.sheet(settings),
            improve.sheet(settings),
        ],
        "Print": [labels.sheet(settings), price_list.sheet(), trace.sheet(settings)],
    }
    working = [sheet for sheets in stages.values() for sheet in sheets]
    stages["Look up"] = [
        functions.sheet(),
        checks.sheet(working, settings.units),
        sources.sheet(),
    ]
    if carried:
        stages["Look up"].append(carried_over.sheet(carried))
    others = [replace(sheet, stage=stage) for stage, sheets in stages.items() for sheet in sheets]
    return [start.sheet(settings, others), *others]
