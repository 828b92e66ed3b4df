"""Harvests: the log of what was picked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.logs import HARVESTS
from workbook_template.writing.blocks import Check, Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_ROWS_A_BATCH = 4


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Harvests",
        purpose="The log: one row for each picking of a batch.",
        blocks=[TableBlock(HARVESTS, more_rows=_ROWS_A_BATCH * settings.batch_rows)],
        checks=(
            Check(
                "Harvests: dates before the batch was made, or after it ended",
                'COUNTIF({harvests.early},">0")+COUNTIF({harvests.late},">0")',
            ),
            Check("Harvests: dates after today", 'COUNTIF({harvests.date},">"&{today})'),
            Check("Harvests: more unsold than picked", 'COUNTIF({harvests.oversold},">0")'),
        ),
    )
