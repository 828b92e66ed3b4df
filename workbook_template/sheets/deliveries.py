"""Deliveries: the log of what came in, and the log of what the shelf held when it was counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.stock import COUNTS, DELIVERIES
from workbook_template.writing.blocks import Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_BATCHES_A_ROW = 2


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet of deliveries out."""
    return Sheet(
        name="Deliveries",
        purpose="The log: one row for each ingredient that came in. What is left is on Stock.",
        blocks=[TableBlock(DELIVERIES, more_rows=settings.batch_rows // _BATCHES_A_ROW)],
        landscape=True,
        pages_high=1,
    )


def counts_sheet(settings: Settings) -> Sheet:
    """Lay the sheet of counts out."""
    return Sheet(
        name="Shelf counts",
        purpose="The log: count in the evening, one row an item. A count replaces all before it.",
        blocks=[TableBlock(COUNTS, more_rows=settings.batch_rows // _BATCHES_A_ROW)],
        landscape=True,
        pages_high=1,
    )
