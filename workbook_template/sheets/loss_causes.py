"""Loss causes: what losses cost, where they come from, and what lost more than luck explains."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.outlook import SUSPECTS
from workbook_template.sheets import loss_lists as lists
from workbook_template.sheets import loss_money as money
from workbook_template.sheets import loss_month as month
from workbook_template.sheets import loss_suspects as suspects
from workbook_template.writing.blocks import Custom, Form, Lines, Sheet
from workbook_template.writing.charts import Chart, add_chart
from workbook_template.writing.sentences import Sentences

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

_RULE = (
    "Cost with lost sales: spent on the blocks (Batches sheet) and the contribution of a good "
    "block of the strain, not earned (Costing sheet; its product lines by the blocks of a usual "
    "week), less the fixed cost share, which is in both. Blank until every strain that lost blocks "
    "has a complete product line. A month is that in which the blocks were thrown out. The Results "
    "sheet goes by batches instead, and has only what was spent on their lost blocks.",
    "Most suspicious: the last batches old enough to judge. Expected is what batches of the same "
    "strains lost on the rest of the farm. Luck alone: on how many farms where nothing is wrong so "
    "many or more are lost, with losses as uneven from batch to batch as on the rest of this one: "
    "in this group, and in any of the groups looked at.",
    "A cause to look for, not a proof: a lot, run or recipe used in one bad week looks bad with "
    "that week.",
)


def _chart(writer: Writer, row: int) -> None:
    """Draw beside the two lists that follow, which are narrow."""
    add_chart(
        writer,
        row + 1,
        Chart(
            title="Work on the longest bar first",
            categories="by_cause.cause",
            values=["by_cause.blocks"],
            names=["Blocks lost"],
            category_title="Cause",
            value_title="Blocks lost in the last twelve months",
            description="A bar for each cause: the blocks lost to it in the last twelve months.",
            number_format="#,##0",
            column="H",
            height=8.0,
            width=12.0,
        ),
    )


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Loss causes",
        purpose="What losses cost, where they come from, and what lost more than luck explains.",
        blocks=[
            month.form(settings.currency),
            lists.BY_CAUSE,
            Custom(0, _chart),
            money.PERIODS,
            lists.BY_PLACE,
            Sentences("Luck or real", {"suspect_words": suspects.SENTENCE}),
            suspects.SUSPICIOUS,
            Form(SUSPECTS.title, SUSPECTS.fields),
            Lines("How it is counted", _RULE, "farm text"),
        ],
        workings=[month.WORKINGS, *money.WORKINGS, *suspects.WORKINGS],
        widths=(42, 11, 11, 13, 12, 12, 12, 13, 10, 16, 9, 9, 9, 9, 9),
        landscape=True,
        pages_high=1,
        checks=lists.CHECKS,
    )
