"""The log of losses: blocks thrown out, why, and where it was seen first."""

from __future__ import annotations

from workbook_template.schema.columns import (
    FIRST_DATE,
    NOTE,
    after_today,
    line_of,
    long_before,
    place_of,
)
from workbook_template.schema.fields import Computed, Field, Table
from workbook_template.schema.log_columns import (
    BATCH_NAME,
    before_made,
    of_batch,
    of_its_batch,
)
from workbook_template.schema.trace import of_traced_batch

CONTAMINATIONS = "green mold|bacteria|wet spot|cobweb"
LOSS_CAUSES = f"{CONTAMINATIONS}|no growth|insects|torn bag|other"
SEEN_FIRST = "top|side|bottom|filter|around the spawn|all over"


def _not_earned(key: str, label: str, note: str) -> Computed:
    """Make the column of a figure of a good block of the strain, for all blocks of the row."""
    of_strain = f"INDEX({{strain_money.{key}}},{of_batch('at_strain')})"
    return Computed(key, label, "money", f"ROUND({{blocks}}*{of_strain},2)", note, is_working=True)


LOSSES = Table(
    "losses",
    "Losses",
    (
        BATCH_NAME,
        Field("date", "Date", "date", FIRST_DATE, "The day it was thrown out."),
        Field(
            "blocks",
            "Blocks lost",
            "count",
            "1 or more, whole",
            "Contaminated, or lost; thrown out before picking.",
        ),
        Field(
            "cause",
            "Cause",
            "choice",
            choices=LOSS_CAUSES,
            help="Cause observed. Wet spot: slimy, sour-smelling patches around the grain; brown "
            "blotch on caps is bacteria. Cobweb: thin gray mold that spreads fast on the surface.",
        ),
        Field(
            "seen",
            "Seen first",
            "choice",
            choices=SEEN_FIRST,
            help="Where on the block it showed first. Leave blank if nobody saw it.",
            required=False,
            width=16.0,
        ),
        NOTE,
        *of_its_batch("date", "How old the block was."),
        Computed(
            "block_days",
            "Blocks times days since made",
            "number",
            "{blocks}*{days}",
            "Their sum over the blocks lost is how old these were on average.",
            is_working=True,
        ),
        Computed(
            "spent",
            "Spent on these blocks",
            "money",
            "ROUND({blocks}*INDEX({batches.block_cost_used},{at_batch}),2)",
            "At the cost of a block of the batch; to the cent, so that all sums agree to the cent.",
            is_working=True,
        ),
        _not_earned("contribution", "Contribution not earned", "Of good blocks of the strain."),
        _not_earned("fixed", "Fixed cost share", "In what was spent, and earned by contributions."),
        Computed(
            "loss_cost",
            "Cost of the loss",
            "money",
            "{spent}+{contribution}-{fixed}",
            "Spent and not earned, the fixed cost share counted once.",
            is_working=True,
        ),
        place_of("at_batch", "Row of the batch", "batches.batch"),
        line_of("losses", "batch"),
        of_traced_batch("losses"),
    ),
    rows=10,
    unique=False,
    faults=(after_today("date"), before_made()),
    warnings=(long_before("losses", "date"),),
)
