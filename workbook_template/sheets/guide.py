"""The pages of the Start sheet behind the first: the sheets, the words, cautions, the version."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import cultivar_fx
from workbook_template.metadata import VERSION_LINES
from workbook_template.schema import SCHEMA_VERSION
from workbook_template.schema.materials import RECIPES
from workbook_template.writing.blocks import Custom, Lines
from workbook_template.writing.validation import typing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.blocks import Sheet
    from workbook_template.writing.writer import Writer

_ROUTINE = (
    "Every batch: pick recipe, strain and bags on the Mix card, print it, weigh, dial. Then type "
    "one row on the Batches sheet; later one row for each picking (Harvests) and each loss "
    "(Losses). Every market day or delivery: one row for each product line (Sales).",
    "Every delivery: one row on the Deliveries sheet. Once a month: count the shelf in the "
    "evening, one row an item on the Shelf counts sheet. Stock says what to order, and by when.",
    "Every Monday: this page, the Week plan, the Forecast. On the Batches sheet, copy the five "
    "columns named 'used', and paste them as values (Paste Special) over the five of the same "
    "names before them: a new price or wage then leaves the past as it was.",
    "Every month: Results, Costing and Markets. What says Assumption works for a start; measure "
    "yours.",
    "In a long log, Ctrl+Down in its first column leads to the row typed last.",
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
    "Fresh mushrooms need breathable packages (21 CFR 112.115): in airtight ones "
    "Clostridium botulinum can grow. Follow your local food rules.",
    "This workbook computes; it does not replace the makers' instructions, local codes or "
    "licensed practice.",
)

_GLOSSARY = (
    ("At least, at most", "A range that the true figure is in, as far as so many batches tell."),
    ("BE", "Biological efficiency: fresh mushrooms over the dry substrate they grew on."),
    ("Contribution", "What a sale leaves after the costs that it causes itself; it pays the rest."),
    ("Core", "The middle of a block, where heat arrives last."),
    ("Flush", "One crop of a block; several follow each other."),
    ("Good block", "A block that was not lost before fruiting."),
    ("Lethality", "A steam run, as minutes at one reference temperature with the same effect."),
    ("Moisture", "Water over the total mass, the wet basis, unless it says dry basis."),
    ("Plan, own, used", "Typed on Strains; from your logs; what all sheets calculate with."),
    ("Spawn rate", "Wet spawn over wet substrate."),
    ("Substrate", "What the mushrooms grow on: wetted sawdust, bran, straw."),
    ("Unevenness", "How much more losses differ between batches than by luck alone, which is 1."),
)


def _guide(sheets: Sequence[Sheet]) -> Custom:
    """List the sheets by the stages of the work, each with what it is for."""
    stages = [(stage, list(group)) for stage, group in groupby(sheets, lambda one: one.stage)]

    def write(writer: Writer, row: int) -> None:
        writer.section(row, "The way through the workbook")
        here = row
        for stage, group in stages:
            here += 1
            writer.text(here, 1, stage, "farm group")
            for one in group:
                here += 1
                writer.link(here, 1, one.name)
                writer.text(here, 2, one.purpose, "farm label")

    return Custom(1 + len(stages) + len(sheets), write)


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
    writer.text(row + 4, 1, "Shares", "farm label")
    share = RECIPES.field("target_moisture").example
    words = f"{typing(share).capitalize()}; below 1 % as the cell's prompt says."
    writer.text(row + 4, 2, words, "farm argument")


LEGEND = Custom(5, _legend)


def _glossary(writer: Writer, row: int) -> None:
    writer.section(row, "Words")
    for offset, (word, meaning) in enumerate(_GLOSSARY, 1):
        writer.text(row + offset, 1, word, "farm label")
        writer.text(row + offset, 2, meaning, "farm argument")


def _versions(writer: Writer, row: int) -> None:
    writer.section(row, "Version")
    values = (cultivar_fx.__version__, str(SCHEMA_VERSION), writer.units, writer.currency)
    for offset, (label, value) in enumerate(zip(VERSION_LINES, values, strict=True), 1):
        writer.text(row + offset, 1, label, "farm label")
        writer.text(row + offset, 2, value, "farm label")


VERSION = Custom(5, _versions)
"""For the screen: a printed page has the version at its foot."""


def guide(sheets: Sequence[Sheet]) -> tuple[Custom | Lines, ...]:
    """Return the parts: the way through the sheets, the routine, words, cautions.

    How cells look stands on the first page.
    """
    return (
        _guide(sheets),
        Lines("What to do when", _ROUTINE, "farm text"),
        Custom(1 + len(_GLOSSARY), _glossary),
        Lines("Cautions", _CAUTIONS, "farm text"),
    )
