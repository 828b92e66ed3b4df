"""What would settle a trial: batches of either treatment, by the difference that is worth having.

Not by the difference seen, which luck makes large or small.

- Losses: two proportions (Fleiss), half the difference to either side of the usual loss, times
  the spread between batches (Donner & Klar).
- Yields: two means, normal.
- Both with z^2/4 batches more, since few batches are judged by Student's t (Guenther 1981, Am.
  Stat. 35:243, from memory).
- Each look at its own confidence; that earlier looks may find the difference too is not counted.
"""

from __future__ import annotations

from workbook_template.schema.figures import used_of
from workbook_template.schema.trials import SETTLING
from workbook_template.sheets.trials_sides import of
from workbook_template.sheets.trials_verdicts import first_of, is_settled
from workbook_template.writing.blocks import Calculated, Form

_Z = "NORMSINV(AVERAGE({trial_level},1))"
_FOR_T = f"({_Z}/2)^2"
_WEIGHED_A, _WEIGHED_B = of("a", "weighed"), of("b", "weighed")
_FREEDOM = f"({_WEIGHED_A}+{_WEIGHED_B}-2)"
_POOLED = (
    f"(({_WEIGHED_A}-1)*{of('a', 'variance')}+({_WEIGHED_B}-1)*{of('b', 'variance')})/{_FREEDOM}"
)

NUMBERS = Form(
    SETTLING.title,
    (
        *SETTLING.fields,
        Calculated(
            "trial_batch_blocks",
            "Blocks in a batch",
            "count",
            "CHOOSE(1+(SUM({trial_sides.batches})>0),"
            'CHOOSE(1+(COUNT({batches.bags})>0),"",ROUND(AVERAGE({batches.bags}),0)),'
            "ROUND(SUM({trial_sides.blocks})/SUM({trial_sides.batches}),0))",
            "Mean of A and B; without any, of all on the Batches sheet.",
        ),
        Calculated(
            "trial_loss_needed",
            "Batches with each, for losses",
            "count",
            "ROUNDUP(CFX.TRIAL_BLOCKS({trial_lower_loss},{trial_lower_loss}+{trial_worth_loss},"
            f"{{trial_level}},{{trial_power}},{{trial_spread}})/{{trial_batch_blocks}}+{_FOR_T},0)",
            "To find the difference worth having.",
            is_key=True,
        ),
        Calculated(
            "trial_loss_blocks",
            "Blocks in them",
            "count",
            "{trial_loss_needed}*{trial_batch_blocks}",
            "With each treatment.",
        ),
        Calculated(
            "trial_yield_needed",
            "Batches with each, for yields",
            "count",
            f"ROUNDUP(2*(({_Z}+NORMSINV({{trial_power}}))*{{trial_yield_varies}}"
            f"/{{trial_worth_yield}})^2+{_FOR_T},0)",
            "To find the difference worth having.",
            is_key=True,
        ),
    ),
)

WORKINGS = Form(
    SETTLING.title,
    (
        Calculated(
            "trial_usual_loss",
            "Usual loss",
            "fraction",
            "CHOOSE(1+(SUM({trial_sides.blocks})>0),"
            f"{used_of('loss_rate', 'trial_used_strain')},"
            "SUM({trial_sides.lost})/SUM({trial_sides.blocks}))",
            "Of A and B together; without batches, as expected of the strain.",
        ),
        Calculated(
            "trial_lower_loss",
            "Lower one of two losses worth telling apart",
            "fraction",
            "MAX(0,MIN(1-{trial_worth_loss},{trial_usual_loss}-{trial_worth_loss}/2))",
            "Half the difference below the usual loss, where there is as much.",
        ),
        Calculated(
            "trial_yield_varies",
            "Spread of yields",
            "fraction",
            f"CHOOSE(1+(MIN({_WEIGHED_A},{_WEIGHED_B})>1)*({_FREEDOM}>={{enough_for_spread}})"
            f"*(N({of('a', 'mean')})>0),{{trial_yield_spread}},SQRT({_POOLED})/{of('a', 'mean')})",
            "Standard deviation from batch to batch; the assumed one while there are few.",
        ),
        Calculated(
            "trial_loss_settled",
            "Losses settled",
            "count",
            is_settled("trial_difference_low", "trial_difference_high", "trial_worth_loss"),
        ),
        Calculated(
            "trial_yield_settled",
            "Yields settled",
            "count",
            is_settled("trial_yield_low", "trial_yield_high", "trial_worth_yield"),
        ),
    ),
)


def sentence(settled: str, low: str, needed: str, count: str) -> str:
    """Write whether losses or yields are settled, and with how many batches they would be."""
    has_a, has_b = (f"N({of(side, count)})" for side in "ab")
    so_far = f'{has_a}&" and "&{has_b}'
    return first_of(
        (f"N({{?{settled}}})", '"already settled"'),
        (f"COUNT({{?{needed}}})=0", '"choose a strain and enter batches, to see how many"'),
        (
            f"COUNT({{?{low}}})*(MIN({has_a},{has_b})>={{?{needed}}})",
            f'"enough batches are in ("&{so_far}&"): a difference worth having would most likely '
            'have shown"',
        ),
        otherwise=f'{{?{needed}}}&" batches with each treatment would settle it; "'
        f'&CHOOSE(1+({has_a}+{has_b}>0),"none so far","so far "&{so_far})',
    )
