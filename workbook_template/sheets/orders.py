"""Orders: what is wanted beside a usual week, and how the grower likes to start each crop."""

from __future__ import annotations

from workbook_template.schema.orders import DEMAND, ORDERS, RHYTHMS
from workbook_template.writing.blocks import Lines, Sheet, TableBlock

_HOW = (
    "The packs of a usual week are on the Products sheet, and need no row here. Enter an order as "
    "soon as it is firm: blocks are started weeks before it.",
    "Orders come on top of the usual packs, once or every week until a day. What is delivered "
    "between two market days is picked for the one before, so that it is ready in time.",
    "A special week replaces the usual packs of a product line in that one week: enter all packs "
    "wanted, not the extra ones. Several rows of one product line and week add up. To skip a "
    "market, enter 0 packs.",
    "The last list is for crops that you start every second week or so, in whole loads, or only "
    "from some number of blocks. The Week plan sheet shows when to start, and what is too late.",
)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Orders",
        purpose="Orders, special weeks, and how often each crop is started.",
        blocks=[
            Lines("How to use this sheet", _HOW, "farm text"),
            TableBlock(ORDERS),
            TableBlock(DEMAND),
            TableBlock(RHYTHMS),
        ],
        widths=(30, 30, 16, 16, 16, 16, 16),
    )
