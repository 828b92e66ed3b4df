"""Orders: the weeks in which more or fewer packs are wanted than usual."""

from __future__ import annotations

from workbook_template.schema.products import DEMAND
from workbook_template.writing.blocks import Lines, Sheet, TableBlock

_HOW = (
    "A row here replaces the usual packs of that product line in that one week: enter all packs "
    "wanted, not the extra ones. Several rows of one product line and week add up.",
    "Enter an order as soon as it is firm: blocks for a fall market are started weeks before it. "
    "To skip a market, enter 0 packs. Weeks without a row keep the packs of the Products sheet.",
    "The Week plan sheet then shows when to start the blocks, and the Forecast sheet whether the "
    "batches in progress are enough.",
)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Orders",
        purpose="Weeks and orders that take more or fewer packs than usual.",
        blocks=[Lines("How to use this sheet", _HOW, "farm text"), TableBlock(DEMAND)],
        widths=(36, 20, 16, 16),
    )
