"""The sheets of the workbook, one module each, in the order of the work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.sheets import (
    batches,
    checks,
    costing,
    farm,
    forecast,
    functions,
    harvests,
    ingredients,
    labels,
    losses_log,
    mix_card,
    products,
    recipes,
    results,
    rooms,
    sources,
    spawn,
    start,
    steam,
    strains,
    trials,
    week_plan,
)

if TYPE_CHECKING:
    from workbook_template.page import Settings, Sheet


def all_sheets(settings: Settings) -> list[Sheet]:
    """Give the sheets in their order."""
    working = [
        farm.sheet(),
        ingredients.sheet(),
        recipes.sheet(),
        strains.sheet(),
        mix_card.sheet(),
        steam.sheet(settings),
        spawn.sheet(settings),
        batches.sheet(settings),
        harvests.sheet(settings),
        losses_log.sheet(settings),
        rooms.sheet(),
        products.sheet(),
        costing.sheet(),
        week_plan.sheet(settings),
        forecast.sheet(settings),
        results.sheet(settings),
        trials.sheet(),
        labels.sheet(settings),
    ]
    others = [
        *working,
        functions.sheet(),
        checks.sheet(checks.all_checks(working)),
        sources.sheet(),
    ]
    return [start.sheet(settings, others), *others]
