"""The two sides of a trial: their batches, from the logs or typed, and what these add up to.

Here alone is decided which batches are judged. Sums of squares stand in for lists, so that the
cost of a trial grows with the log and no faster.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.trials import FROM_LOGS
from workbook_template.writing.blocks import Calculated, Form, Grid

_LISTED = 12

SOURCE = Form(
    "Batches judged",
    (
        Calculated(
            "trial_logged",
            "From the logs",
            "count",
            f'({{trial_source}}="{FROM_LOGS}")*1',
            "0: those typed on the Trials sheet.",
        ),
    ),
)


def of(side: str, column: str) -> str:
    """Write a figure of a side, ``a`` or ``b``."""
    return f"INDEX({{trial_sides.{column}}},{'ab'.index(side) + 1})"


def _either(typed: str, logged: str) -> str:
    return f"CHOOSE(1+{{trial_logged}},{typed},{logged})"


def _total(typed: str, logged: str) -> str:
    """Write the sum of a column over the batches of a side."""
    return _either(
        f"SUMIFS({{trial_batches.{typed}}},{{trial_batches.side_line}},{{sign}})",
        f"SUMIFS({{batches.{logged}}},{{batches.trial_line}},{{sign}})",
    )


def _count(typed: str, logged: str) -> str:
    """Write how many batches of a side have a figure in a column."""
    return _either(
        f'COUNTIFS({{trial_batches.side_line}},{{sign}},{{trial_batches.{typed}}},">=0")',
        f'COUNTIFS({{batches.trial_line}},{{sign}},{{batches.{logged}}},">=0")',
    )


def _by_side(template: str) -> str:
    """Write what is named by ``%s`` for either side as that of the side in the row."""
    return f"CHOOSE({{line}},{template % 'a'},{template % 'b'})"


_NO_BATCH_TYPED = "(1-{trial_logged})*(COUNTIFS({trial_batches.side_line},{sign})=0)"
_BLOCKS_WEIGHED = _by_side("COUNT({trial_yields.yield_%s})")
_MEAN_OF_BLOCKS = f"{_by_side('SUM({trial_yields.yield_%s})')}/{_BLOCKS_WEIGHED}"
_SPREAD = "{lost},{blocks},{trial_level},{trial_reach}"


def _named(side: str) -> str:
    name = f"{{?trial_used_{side}}}"
    return f'"{side.upper()}"&REPT(": ",({name}<>"")*1)&{name}'


SIDES = Grid(
    "trial_sides",
    "A and B, judged by batches",
    (
        Computed(
            "treatment",
            "Treatment",
            "state",
            "CHOOSE({line}," + ",".join(map(_named, "ab")) + ")",
        ),
        Computed("batches", "Batches", "count", f"{_count('blocks', 'bags')}+{{has_totals}}"),
        Computed(
            "blocks",
            "Blocks",
            "count",
            f"{_total('blocks', 'bags')}+{{has_totals}}*{_by_side('N({trial_blocks_%s})')}",
        ),
        Computed(
            "lost",
            "Blocks lost",
            "count",
            f"{_total('lost', 'lost')}+{{has_totals}}*{_by_side('N({trial_lost_%s})')}",
        ),
        Computed(
            "loss",
            "Loss",
            "fraction",
            'CHOOSE(1+({blocks}>0)*({lost}>=0)*({lost}<={blocks}),"",{lost}/{blocks})',
        ),
        Computed("low", "Loss, at least", "fraction", f"MIN({{loss}},CFX.LOSS_LOW({_SPREAD}))"),
        Computed("high", "Loss, at most", "fraction", f"MAX({{loss}},CFX.LOSS_HIGH({_SPREAD}))"),
        Computed(
            "be",
            "BE, average of batches",
            "fraction",
            'CHOOSE(1+{trial_logged}*({weighed}>0),"",{yields}/{weighed})',
            width=12.0,
        ),
        Computed(
            "per_block",
            "Harvest, good block",
            "kg/block",
            'CHOOSE(1+(1-{trial_logged})*({weighed}>0),"",{yields}/{weighed})',
        ),
        Counter("line"),
        Computed("sign", "Rows in the trial", "state", 'CHOOSE({line},">0","<0")', is_working=True),
        Computed(
            "has_totals",
            "Totals count as a batch",
            "count",
            f"{_NO_BATCH_TYPED}*({_by_side('N({trial_blocks_%s})')}>0)",
            is_working=True,
        ),
        Computed(
            "has_yields",
            "Yields of blocks count as a batch",
            "count",
            f"{_NO_BATCH_TYPED}*({_BLOCKS_WEIGHED}>0)",
            is_working=True,
        ),
        Computed(
            "freedom",
            "Batches less one, if some blocks were lost and some not",
            "count",
            "({lost}>0)*({lost}<{blocks})*MAX(0,{batches}-1)",
            is_working=True,
        ),
        Computed(
            "squares",
            "Chi-square of its batches",
            "number",
            "CHOOSE(1+({freedom}>0),0,"
            f"({_total('lost_squared', 'lost_squared')}-{{lost}}*{{loss}})"
            "/({loss}*(1-{loss})))",
            is_working=True,
        ),
        Computed(
            "weighed",
            "Batches with a yield",
            "count",
            f"{_count('per_block', 'be')}+{{has_yields}}",
            is_working=True,
        ),
        Computed(
            "yields",
            "Sum of their yields",
            "number",
            f"{_total('per_block', 'be')}+CHOOSE(1+{{has_yields}},0,{_MEAN_OF_BLOCKS})",
            is_working=True,
        ),
        Computed(
            "mean",
            "Mean yield",
            "number",
            'CHOOSE(1+({weighed}>0),"",{yields}/{weighed})',
            is_working=True,
        ),
        Computed(
            "variance",
            "Variance of yields",
            "number",
            'CHOOSE(1+({weighed}>1),"",MAX(0,'
            f"{_total('yield_squared', 'be_squared')}-{{weighed}}*{{mean}}^2)/({{weighed}}-1))",
            is_working=True,
        ),
    ),
    rows=2,
)


def _listed(side: str) -> tuple[Computed, ...]:
    """Make the columns of the batches of a side, the last ones first."""
    turn = (
        "LARGE({batches.trial_line},{line})"
        if side == "a"
        else "SMALL({batches.trial_line},{line})"
    )
    sign = ">" if side == "a" else "<"
    found = f'COUNTIF({{batches.trial_line}},"{sign}0")'
    row = f"{{row_{side}}}"
    name = side.upper()
    return (
        Computed(
            f"batch_{side}", f"Batch with {name}", "state", f'INDEX({{batches.batch}},{row})&""'
        ),
        Computed(f"blocks_{side}", f"Blocks, {name}", "count", f"N(INDEX({{batches.bags}},{row}))"),
        Computed(f"lost_{side}", f"Lost, {name}", "count", f"N(INDEX({{batches.lost}},{row}))"),
        Computed(f"be_{side}", f"BE, {name}", "fraction", f"INDEX({{batches.be}},{row})"),
        Computed(
            f"row_{side}",
            f"Row of the batch, {name}",
            "count",
            f'CHOOSE(1+N({{trial_logged}})*({found}>={{line}}),"",ABS({turn}))',
            is_working=True,
        ),
    )


LIST = Grid(
    "trial_list",
    f"Batches found in the logs, the last {_LISTED} of each",
    (*_listed("a"), *_listed("b"), Counter("line")),
    rows=_LISTED,
)
