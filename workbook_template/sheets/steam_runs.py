"""Steam runs: the log of what was steamed, with the meters beside what was predicted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.steam import STEAM_RUNS
from workbook_template.writing.blocks import Check, Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_CHECKS = (
    Check(
        "Steam: runs with more blocks spawned than steamed", 'COUNTIF({steam_runs.remaining},"<0")'
    ),
    Check("Steam: runs after today", 'COUNTIF({steam_runs.date},">"&{today})'),
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Steam runs",
        purpose="Every steam run: blocks, hold time, energy and water by the meter.",
        blocks=[TableBlock(STEAM_RUNS, more_rows=settings.batch_rows)],
        checks=_CHECKS,
    )
