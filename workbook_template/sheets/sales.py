"""Sales: the log of what was taken to each market and customer, and what was sold there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.sales import SALES
from workbook_template.writing.blocks import Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_ROWS_A_BATCH, _ROWS_A_PAGE = 2, 134


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Sales",
        purpose="The log: one row for each product line you take to a market or customer.",
        blocks=[TableBlock(SALES, more_rows=_ROWS_A_BATCH * settings.batch_rows)],
        rows_a_page=_ROWS_A_PAGE,
    )
