"""Strains: what each is expected to do, from your own records where there are any."""

from __future__ import annotations

from workbook_template.schema.materials import STRAINS
from workbook_template.writing.blocks import Sheet, TableBlock


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Strains",
        purpose="What you expect of each strain: spawn, days, yield, losses.",
        blocks=[TableBlock(STRAINS)],
        landscape=True,
    )
