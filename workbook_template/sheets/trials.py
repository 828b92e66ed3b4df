"""Trials: two treatments of a strain, judged by batches, and what would settle it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.trials import (
    INSPECTION,
    TOTALS,
    TRIAL,
    TRIAL_BATCHES,
    TRIAL_YIELDS,
    TYPED,
)
from workbook_template.sheets import trials_newest as newest
from workbook_template.sheets import trials_settling as settling
from workbook_template.sheets import trials_sides as sides
from workbook_template.sheets import trials_verdicts as verdicts
from workbook_template.sheets.trials_sides import of
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.writing.blocks import (
    Calculated,
    Check,
    Form,
    Lines,
    Sheet,
    TableBlock,
)
from workbook_template.writing.sentences import Sentences

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Block

_A, _B = "{?trial_used_a}", "{?trial_used_b}"
_BATCHES_A, _BATCHES_B = (f"N({of(side, 'batches')})" for side in "ab")


def _not_found(side: str) -> tuple[str, str]:
    sign = "1" if side == "a" else "0-1"
    return (
        f"N({{?trial_logged}})*(COUNTIF({{batches.trial_side}},{sign})=0)",
        f'"No batch of "&{{?trial_used_strain}}&" has the "&{{?trial_kind}}&" "'
        f'&{{?trial_used_{side}}}&": name it as on the Batches sheet."',
    )


_FOUND = first_of(
    (
        "COUNT({?trial_logged})=0",
        '"Choose which batches to judge: those from the logs, or those typed here."',
    ),
    (
        'N({?trial_logged})*({?trial_used_strain}="")',
        f'"Choose a strain; to judge batches that are typed below, choose: {TYPED}."',
    ),
    (f'({_A}="")+({_B}="")', '"Name the treatments A and B."'),
    (f"TRIM({_A})=TRIM({_B})", '"A and B are the same: name two treatments."'),
    _not_found("a"),
    _not_found("b"),
    (
        f"({_BATCHES_A}=0)+({_BATCHES_B}=0)",
        'CHOOSE(1+N({?trial_logged}),"Type the batches of A and B below.",'
        '"No batch of A or B in these dates is old enough to judge yet.")',
    ),
    otherwise='CHOOSE(1+N({?trial_logged}),"",{?trial_used_strain}&", ")'
    f'&{_A}&" against "&{_B}&": "&{_BATCHES_A}&" and "&{_BATCHES_B}&" batches."',
)


_ANSWER = Sentences(
    "Better, or luck?", {"trial_answer": verdicts.ANSWER, "trial_found": _FOUND}, high=2
)
_SETTLED = Form(
    "Is it settled?",
    (
        Calculated(
            "trial_loss_next",
            "Losses",
            "state",
            settling.sentence(
                "trial_loss_settled", "trial_difference_low", "trial_loss_needed", "batches"
            ),
        ),
        Calculated(
            "trial_yield_next",
            "Yields",
            "state",
            settling.sentence(
                "trial_yield_settled", "trial_yield_low", "trial_yield_needed", "weighed"
            ),
        ),
    ),
)

_HOW = (
    "Blocks of one batch share their spawn, steam and shelf, so a batch counts once, however "
    "large. With one batch of each, losses go by how much batches usually differ, and yields "
    "can't be told.",
    "Decide now how often you look, and hold to it: the more often you look, the more chances luck "
    "gets, so each look asks for more. Don't stop early because it looks good, or go on because "
    "it doesn't.",
    "Batches from the logs count once they are old enough to be done, ended or not. Where A and B "
    "were not made side by side, it may be the season that differs, not the treatment.",
)

_INSPECTED = (
    Calculated(
        "inspect_blocks",
        "Blocks to inspect",
        "count",
        "CFX.BLOCKS_TO_INSPECT({inspect_share},{inspect_confidence},N({inspect_lot}))",
        "At random, from all shelves, through the bag. If all are sound, fewer are faulty.",
        is_key=True,
    ),
)
_MOLD = ("Don't open moldy blocks; their spores harm lungs.",)

_OLDER = (
    "The lists below are for trials that are not in the logs. They count only where Batches to "
    "judge says typed here; the logs are left out then.",
    "Where no batch of a treatment is typed above, its totals and the yields of its blocks count "
    "as one batch.",
)


def _too_many_weighed(side: str) -> str:
    blocks, lost = f"{{trial_blocks_{side}}}", f"{{trial_lost_{side}}}"
    weighed = f"COUNT({{trial_yields.yield_{side}}})"
    return f"(COUNT({blocks})*{weighed}>COUNT({blocks})*(N({blocks})-N({lost})))"


_CHECKS = (
    Check(
        "Trial: no more blocks lost than started",
        "(N({trial_lost_a})>N({trial_blocks_a}))+(N({trial_lost_b})>N({trial_blocks_b}))",
    ),
    Check(
        "Trial: no more blocks weighed than were good",
        f"{_too_many_weighed('a')}+{_too_many_weighed('b')}",
    ),
)


def sheet() -> Sheet:
    """Lay the sheet out."""
    printed: list[Block] = [
        _ANSWER,
        Form(TRIAL.title, (*TRIAL.fields, newest.NEWEST)),
        sides.SIDES,
        verdicts.DIFFERENCE,
        _SETTLED,
        settling.NUMBERS,
        Lines("How to read it", _HOW, "farm text"),
        sides.LIST,
        Form(INSPECTION.title, (*INSPECTION.fields, *_INSPECTED)),
        Lines("Take care", _MOLD, "farm caution"),
        Lines("Trials that are not in the logs", _OLDER, "farm text"),
        TableBlock(TRIAL_BATCHES),
    ]
    return Sheet(
        name="Trials",
        purpose="Was a change better, or luck? Two treatments of a strain; what would settle it.",
        blocks=[
            *printed,
            Form(TOTALS.title, TOTALS.fields),
            TableBlock(TRIAL_YIELDS),
        ],
        workings=[sides.SOURCE, *verdicts.WORKINGS, settling.WORKINGS, *newest.WORKINGS],
        widths=(32, 20, 11, 11, 11, 22, 12, 12, 26),
        pages_high=1,
        printed_blocks=len(printed),
        checks=_CHECKS,
    )
