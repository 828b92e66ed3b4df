"""Harvests: the log of what was picked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.harvests import HARVESTS
from workbook_template.writing.blocks import Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_ROWS_A_BATCH, _ROWS_A_PAGE = 4, 134


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    log = TableBlock(HARVESTS, more_rows=_ROWS_A_BATCH * settings.batch_rows)
    return Sheet(
        name="Harvests",
        purpose="The log: one row for each picking of a batch.",
        blocks=[log],
        rows_a_page=_ROWS_A_PAGE,
    )
