"""Start: what this is, where to type first, the numbers looked at most, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cultivar_fx
from workbook_template.metadata import VERSION_LINES
from workbook_template.schema import SCHEMA_VERSION
from workbook_template.schema.materials import RECIPES
from workbook_template.sheets import due
from workbook_template.writing.blocks import Calculated, Custom, Form, Lines, NewPage, Sheet
from workbook_template.writing.validation import typing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

START = "Start"
INVENTED = (
    "Everything in this copy is invented: the farm, its prices and its figures are a made-up "
    "example, and no real business is meant."
)

_KEY_RESULTS = (
    Calculated(
        "today",
        "Today",
        "date",
        "CHOOSE(1+COUNT({as_of}),TODAY(),{as_of})",
        "Or the date typed on the Farm sheet; all due dates count from it.",
    ),
    *due.COUNTS,
    Calculated(
        "start_incubating",
        "Good blocks in incubation",
        "count",
        'SUMIFS({batches.good},{batches.state},"incubating")'
        '+SUMIFS({batches.good},{batches.state},"to move")',
        "From the Batches sheet.",
        is_key=True,
        comes_from="Batches",
    ),
    Calculated(
        "start_fruiting",
        "Good blocks in fruiting",
        "count",
        'SUMIFS({batches.good},{batches.state},"in fruiting")',
        "From the Batches sheet.",
        is_key=True,
        comes_from="Batches",
    ),
    Calculated(
        "start_fresh",
        "Picked in the last seven days",
        "kg",
        'SUMIFS({harvests.fresh},{harvests.date},">"&({today}-7),{harvests.date},"<="&{today})',
        "From the Harvests sheet.",
        is_key=True,
        comes_from="Harvests",
    ),
    Calculated(
        "start_lost",
        "Blocks lost in the last seven days",
        "count",
        'SUMIFS({losses.blocks},{losses.date},">"&({today}-7),{losses.date},"<="&{today})',
        "From the Losses sheet.",
        is_key=True,
        comes_from="Losses",
    ),
    Calculated(
        "start_spawn_left",
        "Spawn left in good lots",
        "kg",
        "{spawn_left}*1",
        "From the Spawn sheet.",
        is_key=True,
        comes_from="Spawn",
    ),
    Calculated(
        "start_dial",
        "Water for the batch on the Mix card",
        "L",
        "{mix_dial}*1",
        "Dial it on the meter.",
        is_key=True,
        comes_from="Mix card",
    ),
    Calculated(
        "start_bags",
        "Bags of that batch",
        "count",
        "{mix_bags}*1",
        "From the Mix card.",
        is_key=True,
        comes_from="Mix card",
    ),
    Calculated(
        "start_spawn",
        "Spawn for them",
        "kg",
        "{mix_spawn}*1",
        "From the Mix card.",
        is_key=True,
        comes_from="Mix card",
    ),
    Calculated(
        "start_cost_block",
        "Cost of a good block",
        "money/block",
        "{cost_good}*1",
        "From the Costing sheet.",
        is_key=True,
        comes_from="Costing",
    ),
    Calculated(
        "start_cost",
        "Cost of mushrooms sold",
        "money/kg",
        "{cost_sold}*1",
        "From the Costing sheet.",
        is_key=True,
        comes_from="Costing",
    ),
    Calculated(
        "start_margin",
        "Margin of the price after fees",
        "fraction",
        "{margin_share}*1",
        "From the Costing sheet.",
        is_key=True,
        comes_from="Costing",
    ),
)

_CAUTIONS = (
    "Steam scalds in less than a second, also where it can't be seen. Keep atmospheric steamers "
    "vented, never plug a vent or a relief valve, stand aside when you open. Boilers and "
    "pressure vessels are for licensed practice under local codes.",
    "Steaming without pressure does not sterilize; it lowers what lives in the substrate.",
    "Electricity in wet rooms: ground-fault protection, and a licensed electrician for the rest.",
    "Carbon dioxide and spores: ventilate before you work in a room. 5000 ppm over 8 hours is "
    "the usual limit for people (OSHA). Spores make growers ill: wear a respirator that fits.",
    "Dust of pellets can explode and harms lungs. Mixers and augers: lock them off before you "
    "reach in. Lift with care.",
    "Fresh mushrooms need packages that let air through (21 CFR 112.115): in airtight ones "
    "Clostridium botulinum can grow. Follow your local food rules.",
    "This workbook computes; it does not replace the makers' instructions, local codes or "
    "licensed practice.",
)


_FIRST = (
    "First time: fill in the pale cells of Farm, Ingredients, Recipes and Strains, from left to "
    "right. What says Assumption works for a start; measure yours.",
    "Every batch: pick recipe and bags on the Mix card, print it, weigh, dial. Then type one row "
    "on Batches, and later one row for each picking (Harvests) and each loss (Losses).",
    "In a long log, Ctrl+Down in its first column leads to the row typed last.",
    "Every Monday: this page, the Week plan, the Forecast. On Batches, copy the five columns "
    "'used' and paste them as values over those of the same names: a new price or wage then "
    "leaves the past as it was. Every month: Results and Costing.",
)


def _guide(sheets: Sequence[Sheet]) -> Custom:
    """List the sheets in their order, each with what it is for."""

    def write(writer: Writer, row: int) -> None:
        writer.section(row, "The sheets, in the order of the work")
        for offset, sheet in enumerate(sheets, 1):
            writer.link(row + offset, 1, sheet.name)
            writer.text(row + offset, 2, sheet.purpose, "farm label")

    return Custom(len(sheets) + 1, write)


def _legend(writer: Writer, row: int) -> None:
    writer.section(row, "Legend")
    samples = (
        ("farm input sample", "type here", "A cell to type in: pale, with a border."),
        ("farm result", "computed", "A cell that computes itself."),
        ("farm key result", "computed", "A result that you act on."),
    )
    for offset, (style, sample, words) in enumerate(samples, 1):
        writer.text(row + offset, 1, sample, style)
        writer.text(row + offset, 2, words, "farm argument")
    writer.text(row + 4, 1, "Shares", "farm argument")
    share = RECIPES.field("target_moisture").example
    words = f"{typing(share).capitalize()}; below 1 % as the cell's prompt says."
    writer.text(row + 4, 2, words, "farm argument")


def _versions(writer: Writer, row: int) -> None:
    writer.section(row, "Version")
    values = (cultivar_fx.__version__, str(SCHEMA_VERSION), writer.units, writer.currency)
    for offset, (label, value) in enumerate(zip(VERSION_LINES, values, strict=True), 1):
        writer.text(row + offset, 1, label, "farm label")
        writer.text(row + offset, 2, value, "farm label")


def sheet(settings: Settings, others: Sequence[Sheet]) -> Sheet:
    """Lay the sheet out; the others are those that it leads to."""
    notice = [Lines("Invented example", (INVENTED,), "farm caution")] if settings.invented else []
    return Sheet(
        name=START,
        purpose="A batch and costing workbook for a small farm of specialty mushrooms.",
        blocks=[
            *notice,
            Form("Key figures", _KEY_RESULTS),
            due.DUE,
            Custom(5, _legend),
            NewPage(),
            Lines("Where to type first", _FIRST, "farm text"),
            _guide(others),
            Lines("Cautions", _CAUTIONS, "farm text"),
            Custom(5, _versions),
        ],
        widths=(38, 14, 12, 20, 26, 6, 12, 12, 12, 12),
        printed_columns=5,
    )
