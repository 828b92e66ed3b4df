"""Spent substrate on the Week plan sheet: what has to be hauled away in a usual week."""

from __future__ import annotations

from workbook_template.schema.products import SPENT
from workbook_template.writing.blocks import Calculated, Form

_BALANCE = "{spent_started},{spent_picked},{fresh_moisture},{dry_matter_loss}"

_RESULTS = (
    Calculated(
        "spent_started",
        "Dry substrate put up per week",
        "kg",
        "SUM({crops.dry})*1",
        "Of all blocks to fruit in a usual week, lost ones too.",
    ),
    Calculated(
        "spent_picked",
        "Fresh mushrooms picked",
        "kg",
        "SUMPRODUCT({crops.blocks},{crops.fresh})",
        "Of the good ones, all flushes that you keep.",
    ),
    Calculated(
        "spent_dry",
        "Spent substrate, dry",
        "kg",
        f'CHOOSE(1+CFX.SPENT_SUBSTRATE.HOLDS({_BALANCE}),"",CFX.SPENT_SUBSTRATE({_BALANCE}))',
        "Dry substrate, less what the colony breathed away and what was picked.",
    ),
    Calculated(
        "spent_wet",
        "Spent substrate to haul per week",
        "kg",
        "CFX.MASS_AT_MOISTURE({spent_dry},{spent_moisture})",
        "Stack it away from the rooms: it carries mold and gnats. Local compost rules apply.",
        is_key=True,
    ),
)

SPENT_FORM = Form(SPENT.title, (*SPENT.fields, *_RESULTS))
