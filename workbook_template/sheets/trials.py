"""Trials: two treatments side by side; is it a difference or luck, and what would settle it."""

from __future__ import annotations

from workbook_template.schema.trials import INSPECTION, TRIAL, TRIAL_YIELDS
from workbook_template.writing.blocks import (
    Calculated,
    Check,
    Form,
    Lines,
    Sheet,
    TableBlock,
)

_YIELDS = "{trial_yields.yield_a},{trial_yields.yield_b}"
_COUNTS = "{trial_lost_a},{trial_blocks_a},{trial_lost_b},{trial_blocks_b},{trial_confidence}"

_LUCK = '"can\'t be told from luck"'


def _less(other: str, better: str) -> str:
    share = f"ABS({{trial_difference}})/{{trial_mean_{better}}}"
    return f'{{trial_{other}}}&" yields "&TEXT({share},"0%")&" less than "&{{trial_{better}}}'


def _rate(side: str) -> Calculated:
    lost, blocks = f"{{trial_lost_{side}}}", f"{{trial_blocks_{side}}}"
    return Calculated(
        f"trial_rate_{side}",
        f"Loss with {side.upper()}",
        "fraction",
        f'CHOOSE(1+({blocks}>0)*({lost}>=0)*({lost}<={blocks}),"",{lost}/{blocks})',
        "Of the blocks started.",
    )


def _bound(side: str, end: str, note: str) -> Calculated:
    return Calculated(
        f"trial_{end}_{side}",
        f"Loss with {side.upper()}, {end}est",
        "fraction",
        f"CFX.LOSS_{end.upper()}({{trial_lost_{side}}},{{trial_blocks_{side}}},{{trial_confidence}})",
        note,
        waits_for=(f"trial_rate_{side}",),
    )


_LOSSES = (
    _rate("a"),
    _bound("a", "low", "That fits the count (Wilson)."),
    _bound("a", "high", "That fits the count (Wilson)."),
    _rate("b"),
    _bound("b", "low", "That fits the count (Wilson)."),
    _bound("b", "high", "That fits the count (Wilson)."),
    Calculated(
        "trial_loss_difference",
        "A minus B",
        "fraction",
        "{trial_rate_a}-{trial_rate_b}",
        "Above zero: B loses fewer blocks.",
    ),
    Calculated(
        "trial_difference_low",
        "A minus B, lowest",
        "fraction",
        f"CFX.LOSS_DIFFERENCE_LOW({_COUNTS})",
        "That fits the counts (Newcombe).",
        waits_for=("trial_loss_difference",),
    ),
    Calculated(
        "trial_difference_high",
        "A minus B, highest",
        "fraction",
        f"CFX.LOSS_DIFFERENCE_HIGH({_COUNTS})",
        "That fits the counts (Newcombe).",
        waits_for=("trial_loss_difference",),
    ),
    Calculated(
        "trial_loss_words",
        "Verdict",
        "state",
        f"CHOOSE(1+({{trial_difference_low}}>0),CHOOSE(1+({{trial_difference_high}}<0),{_LUCK},"
        '{trial_a}&" loses fewer blocks"),{trial_b}&" loses fewer blocks")',
        is_key=True,
    ),
    Calculated(
        "trial_loss_needed",
        "Blocks per treatment to settle it",
        "count",
        'CHOOSE(1+({trial_rate_a}<>{trial_rate_b}),"",'
        "CFX.TRIAL_BLOCKS({trial_rate_a},{trial_rate_b},{trial_confidence},{trial_power}))",
        "If the true rates are these (two proportions, Fleiss).",
        is_key=True,
    ),
)


def _yield(side: str) -> tuple[Calculated, ...]:
    values, name = f"{{trial_yields.yield_{side}}}", side.upper()
    return (
        Calculated(
            f"trial_count_{side}",
            f"Blocks weighed with {name}",
            "count",
            f"COUNT({values})",
            "Figures in the list of yields.",
        ),
        Calculated(
            f"trial_mean_{side}",
            f"Mean yield with {name}",
            "kg/block",
            f'CHOOSE(1+({{trial_count_{side}}}>0),"",AVERAGE({values}))',
            "Of the blocks weighed.",
        ),
        Calculated(
            f"trial_spread_{side}",
            f"Spread of yields with {name}",
            "kg/block",
            f'CHOOSE(1+({{trial_count_{side}}}>1),"",STDEV({values}))',
            "Standard deviation from block to block.",
        ),
    )


_YIELD_DIFFERENCE = (
    Calculated(
        "trial_difference",
        "A minus B",
        "kg/block",
        "{trial_mean_a}-{trial_mean_b}",
        "Below zero: B yields more.",
    ),
    Calculated(
        "trial_yield_low",
        "A minus B, lowest",
        "kg/block",
        "{trial_difference}-TINV(1-{trial_confidence},{trial_degrees})*{trial_error}",
        "That fits the yields (Student t).",
    ),
    Calculated(
        "trial_yield_high",
        "A minus B, highest",
        "kg/block",
        "{trial_difference}+TINV(1-{trial_confidence},{trial_degrees})*{trial_error}",
        "That fits the yields (Student t).",
    ),
    Calculated(
        "trial_luck",
        "Chance by luck alone",
        "fraction",
        f"CFX.WELCH_P_VALUE({_YIELDS})",
        "Of such a difference between equal treatments (Welch's p).",
        waits_for=("trial_degrees",),
    ),
    Calculated(
        "trial_yield_words",
        "Verdict",
        "state",
        f"CHOOSE(1+({{trial_luck}}<=1-{{trial_confidence}}),{_LUCK},"
        f"CHOOSE(1+({{trial_difference}}>0),{_less('a', 'b')},{_less('b', 'a')}))",
        is_key=True,
    ),
    Calculated(
        "trial_yield_needed",
        "Blocks per treatment to settle it",
        "count",
        'CHOOSE(1+({trial_difference}<>0)*({trial_error}>0),"",ROUNDUP((NORMSINV('
        "AVERAGE({trial_confidence},1))+NORMSINV({trial_power}))^2"
        "*({trial_spread_a}^2+{trial_spread_b}^2)/{trial_difference}^2,0))",
        "If difference and spreads are these (two means, normal).",
        is_key=True,
    ),
)

_WORKINGS = (
    Calculated(
        "trial_error",
        "Standard error",
        "kg/block",
        "SQRT({trial_spread_a}^2/{trial_count_a}+{trial_spread_b}^2/{trial_count_b})",
        "How far the difference of the means swings by luck.",
    ),
    Calculated(
        "trial_degrees",
        "Degrees of freedom",
        "count",
        'CHOOSE(1+({trial_error}>0),"",INT({rounding}+{trial_error}^4'
        "/(({trial_spread_a}^2/{trial_count_a})^2/({trial_count_a}-1)"
        "+({trial_spread_b}^2/{trial_count_b})^2/({trial_count_b}-1))))",
        "Welch and Satterthwaite, rounded down.",
    ),
)

_INSPECTED = (
    Calculated(
        "inspect_blocks",
        "Blocks to inspect",
        "count",
        "CFX.BLOCKS_TO_INSPECT({inspect_share},{inspect_confidence},N({inspect_lot}))",
        "At random (hypergeometric). If all are sound, fewer are faulty.",
        is_key=True,
    ),
)

_CHECKS = (
    Check(
        "Trial: no more blocks lost than started",
        "(N({trial_lost_a})>N({trial_blocks_a}))+(N({trial_lost_b})>N({trial_blocks_b}))",
    ),
    Check(
        "Trial: no more blocks weighed than were good",
        "({trial_count_a}>N({trial_blocks_a})-N({trial_lost_a}))"
        "+({trial_count_b}>N({trial_blocks_b})-N({trial_lost_b}))",
    ),
)

_HOW = (
    "Decide before you start how many blocks you make and how long you weigh; treat A and B alike "
    "in everything else, and mix them on the shelves.",
    "If A minus B may be zero, or a difference by luck is likelier than you allow, these blocks "
    "settle nothing. Blocks from one batch tell about that batch only: repeat it with another.",
    "Blocks to inspect: take them at random from all shelves, and look through the bag. Don't open "
    "moldy blocks; their spores harm lungs.",
)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Trials",
        purpose="Two treatments side by side: a real difference, or luck? What would settle it?",
        blocks=[
            Form(TRIAL.title, TRIAL.fields),
            Form("Losses", _LOSSES),
            Form("Yields", (*_yield("a"), *_yield("b"), *_YIELD_DIFFERENCE)),
            Lines("How to read it", _HOW, "farm text"),
            Form(INSPECTION.title, (*INSPECTION.fields, *_INSPECTED)),
            TableBlock(TRIAL_YIELDS),
        ],
        workings=[Form("Yields", _WORKINGS)],
        widths=(34, 26, 12, 16, 16, 16),
        pages_high=1,
        checks=_CHECKS,
    )
