"""Orders: what is wanted beside a usual week, and how the grower likes to start each crop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from openpyxl.utils import get_column_letter

from workbook_template.schema.orders import DEMAND, ORDERS, RHYTHMS
from workbook_template.sheets import week_plan_orders as answers
from workbook_template.writing.blocks import Grid, Lines, Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

_HOW = (
    "The packs of a usual week are on the Products sheet, and need no row here. Enter an order as "
    "soon as it is firm: blocks are started weeks before it.",
    "Orders come on top of the usual packs, once or every week until a day. What is delivered "
    "between two market days is picked for the one before, so that it is ready in time.",
    "What each order takes: the blocks that the Week plan starts for its next delivery beside all "
    "else, the last day for that, and the spawn. There is nothing to order by a day where the lots "
    "on the Spawn sheet are enough. Capacities and rooms are those of the Week plan.",
    "A special week replaces the usual packs of a product line in that one week: enter all packs "
    "wanted, not the extra ones. Several rows of one product line and week add up. To skip a "
    "market, enter 0 packs.",
    "The last list is for crops that you start every second week or so, in whole loads, or only "
    "from some number of blocks. The Week plan sheet shows when to start, and what is too late.",
)
_TWO_LINES = 25.0
"""In points: an answer may take as much."""


@dataclass(frozen=True)
class _Answers(Grid):
    """A list whose sentences may take two lines, and stand out where an order can't be met."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        super().write(writer, row)
        first, last = row + 2, row + 1 + self.rows
        letter = get_column_letter([one.key for one in self.shown].index("words") + 1)
        writer.in_small_print(letter, first, last, wraps=True)
        for here in range(first, last + 1):
            writer.worksheet.row_dimensions[here].height = _TWO_LINES
        for words in (answers.TOO_LATE, answers.OVER):
            found = f'ISNUMBER(FIND("{words}",${letter}{first}))'
            writer.alarm(f"{letter}{first}:{letter}{last}", found, is_warning=True)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Orders",
        purpose="Orders and what each takes, special weeks, and how often each crop is started.",
        blocks=[
            Lines("How to use this sheet", _HOW, "farm text"),
            TableBlock(ORDERS),
            _Answers(
                "order_answers",
                "What each order takes",
                answers.ANSWERS,
                rows=ORDERS.rows,
                rows_for=answers.rows,
            ),
            TableBlock(DEMAND),
            TableBlock(RHYTHMS),
        ],
        widths=(28, 28, 11.5, 12, 12, 15, 12, 62),
        checks=answers.CHECKS,
    )
