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
    steam_runs,
    strains,
    trials,
    week_plan,
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
    working = [
        farm.sheet(),
        ingredients.sheet(),
        recipes.sheet(),
        strains.sheet(),
        mix_card.sheet(),
        steam.sheet(),
        steam_runs.sheet(settings),
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
        checks.sheet(checks.all_checks(working, settings.units)),
        sources.sheet(),
    ]
    if carried:
        others.append(carried_over.sheet(carried))
    return [start.sheet(settings, others), *others]
