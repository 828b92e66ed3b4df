"""Spawn: the lots with what is left of them, and how to grow more from a mother bag."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.spawn import EXPANSION, SPAWN, SPAWN_LOTS
from workbook_template.writing.blocks import (
    ROUNDING,
    Calculated,
    Check,
    Form,
    Grid,
    Lines,
    Sheet,
    TableBlock,
)

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_MOST_GENERATIONS = 4
_BATCHES_A_LOT = 2

_PLAN = (
    Calculated(
        "plan_start",
        "Mother spawn to start from",
        "kg",
        "CFX.SPAWN_TO_START({plan_spawn},{plan_expansion},{plan_generations},{plan_loss})",
        "Enough to cover the losses in each generation.",
        is_key=True,
        waits_for=("plan_spawn",),
    ),
    Calculated(
        "plan_bags",
        "Final spawn bags",
        "count",
        "CFX.SPAWN_BAGS({plan_spawn},{spawn_bag_mass})",
        "At the mass of a spawn bag on the Farm sheet.",
        waits_for=("plan_spawn",),
    ),
)

_LOTS = (
    Calculated(
        "spawn_left",
        "Spawn left",
        "kg",
        'SUMIFS({spawn_lots.left},{spawn_lots.state},"good")'
        '+SUMIFS({spawn_lots.left},{spawn_lots.state},"use soon")',
        "In lots that are not past use-by.",
        is_key=True,
    ),
    Calculated(
        "spawn_old",
        "Lots past use-by with some left",
        "count",
        'COUNTIF({spawn_lots.state},"past use-by")',
        "Discard them, and type how much you threw away.",
    ),
)

_GENERATIONS = Grid(
    "generations",
    "Generation by generation",
    (
        Counter("generation", "Generation", is_working=False),
        Computed(
            "mother",
            "Spawn to expand",
            "kg",
            'CHOOSE(1+({generation}<={plan_generations})*COUNT({plan_start}),"",'
            "{plan_start}*({plan_expansion}*(1-{plan_loss}))^({generation}-1))",
        ),
        Computed(
            "grain",
            "Fresh grain to add",
            "kg",
            "{mother}*({plan_expansion}-1)",
        ),
        Computed(
            "made",
            "Spawn made",
            "kg",
            "{mother}*{plan_expansion}",
        ),
        Computed(
            "good",
            "Good",
            "kg",
            "{made}*(1-{plan_loss})",
        ),
    ),
    rows=_MOST_GENERATIONS,
)

_CHECKS = (
    Check(
        "Expansion: the last generation gives the spawn wanted",
        "ABS(SUMIFS({generations.good},{generations.generation},{plan_generations})"
        "-N({plan_spawn}))*(N({plan_generations})>0)*COUNT({plan_start})",
        ROUNDING,
    ),
)

_WORDS = (
    "States: good; use soon, close to use-by; past use-by, with some left; used up; more used than "
    "received: check the lots on the Batches sheet, and the mass here.",
    "Thrown away: type what you discarded, and the lot counts as used up.",
)

_CAUTIONS = (
    "Alcohol burns with a nearly invisible flame. Let hands, tools and bench dry before you light "
    "a flame, keep the bottle closed and away from it, and an extinguisher within reach.",
    "Bleach: never mix it with acids, ammonia or alcohol; the gas is poisonous. Add bleach to "
    "water, wear gloves and goggles, ventilate. Labels and local codes come first.",
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Spawn",
        purpose="The lots with what is left of each, and how to grow more from a mother bag.",
        blocks=[
            Lines("Cautions", _CAUTIONS, "farm caution"),
            Form(EXPANSION.title, (*EXPANSION.fields, *_PLAN)),
            _GENERATIONS,
            Form(SPAWN.title, (*SPAWN.fields, *_LOTS)),
            Lines("States of a lot", _WORDS),
            TableBlock(SPAWN_LOTS, more_rows=settings.batch_rows // _BATCHES_A_LOT),
        ],
        widths=(30, 18, 12, 12, 12, 12, 11, 11, 11, 25, 10),
        landscape=True,
        pages_high=1,
        checks=_CHECKS,
    )
