"""Losses: the log of what was thrown out, when and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.losses import LOSSES
from workbook_template.writing.blocks import Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Losses",
        pages_high=1,
        purpose="The log: blocks that were contaminated, stalled or torn, when and why.",
        blocks=[TableBlock(LOSSES, more_rows=settings.batch_rows)],
    )
