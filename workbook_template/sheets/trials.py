"""Trials: two treatments side by side; is it a difference or luck, and what would settle it."""

from __future__ import annotations

from workbook_template.page import Calculated, Check, Form, Lines, Sheet, TableBlock
from workbook_template.schema.trials import TRIAL, TRIAL_YIELDS

_YIELDS = "{trial_yields.yield_a},{trial_yields.yield_b}"
_COUNTS = "{trial_lost_a},{trial_blocks_a},{trial_lost_b},{trial_blocks_b},{trial_confidence}"


def _rate(side: str) -> Calculated:
    lost, blocks = f"{{trial_lost_{side}}}", f"{{trial_blocks_{side}}}"
    return Calculated(
        f"trial_rate_{side}",
        f"Lost with {side.upper()}",
        "fraction",
        f'CHOOSE(1+({blocks}>0)*({lost}>=0)*({lost}<={blocks}),"",{lost}/{blocks})',
        "Of the blocks started.",
    )


def _bound(side: str, end: str, note: str) -> Calculated:
    return Calculated(
        f"trial_{end}_{side}",
        f"Lost with {side.upper()}, {end}est",
        "fraction",
        f"CFX.LOSS_{end.upper()}({{trial_lost_{side}}},{{trial_blocks_{side}}},{{trial_confidence}})",
        note,
        waits_for=(f"trial_rate_{side}",),
    )


_LOSSES = (
    _rate("a"),
    _bound("a", "low", "That still fits the count (Wilson)."),
    _bound("a", "high", "That still fits the count (Wilson)."),
    _rate("b"),
    _bound("b", "low", "That still fits the count (Wilson)."),
    _bound("b", "high", "That still fits the count (Wilson)."),
    Calculated(
        "trial_loss_difference",
        "A minus B",
        "fraction",
        "{trial_rate_a}-{trial_rate_b}",
        "Above zero: B loses less.",
    ),
    Calculated(
        "trial_difference_low",
        "A minus B, lowest",
        "fraction",
        f"CFX.LOSS_DIFFERENCE_LOW({_COUNTS})",
        "That still fits the counts (Newcombe).",
        waits_for=("trial_loss_difference",),
    ),
    Calculated(
        "trial_difference_high",
        "A minus B, highest",
        "fraction",
        f"CFX.LOSS_DIFFERENCE_HIGH({_COUNTS})",
        "That still fits the counts (Newcombe).",
        waits_for=("trial_loss_difference",),
    ),
    Calculated(
        "trial_loss_words",
        "In words",
        "state",
        "CHOOSE(1+({trial_difference_low}>0)+({trial_difference_high}<0)*CODE(UNICHAR_2),"
        '"","","")',
        is_key=True,
        waits_for=("trial_a", "trial_b"),
    ),
)
