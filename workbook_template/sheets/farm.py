"""Farm: the settings that everything else uses, and the equipment with its life."""

from __future__ import annotations

from workbook_template.schema.farm import EQUIPMENT, FARM
from workbook_template.schema.figures import FIGURES
from workbook_template.schema.partner import PARTNER
from workbook_template.writing.blocks import Form, Sheet, TableBlock


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Farm",
        purpose="Your settings, each once. Type here first; every other sheet reads from here.",
        blocks=[
            *(Form(section.title, section.fields) for section in (*FARM, FIGURES)),
            Form(PARTNER.title, PARTNER.fields),
            TableBlock(EQUIPMENT),
        ],
        widths=(32, 18, 14, 14, 34, 24),
        pages_high=1,
    )
