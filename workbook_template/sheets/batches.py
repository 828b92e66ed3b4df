"""Batches: the log that everything else hangs on, one row for each batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.batches import BATCHES
from workbook_template.writing.blocks import Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Batches",
        purpose="The log: one row for each batch. On Mondays keep its figures, see Start.",
        blocks=[TableBlock(BATCHES, more_rows=settings.batch_rows)],
        landscape=True,
        printed_to="to_keep",
        pages_high=1,
    )
