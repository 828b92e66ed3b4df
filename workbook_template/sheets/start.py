"""Start: what this is, where to type first, the numbers looked at most, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cultivar_fx
from workbook_template.page import Calculated, Custom, Form, Lines, Sheet
from workbook_template.schema import SCHEMA_VERSION

if TYPE_CHECKING:
    from workbook_template.page import Settings
    from workbook_template.writer import Writer

INVENTED = (
    "Everything in this copy is invented: the farm, its prices and its figures are a made-up "
    "example, and no real business is meant."
)

_STEPS = (
    ("Farm", "Type your settings: wage, electricity, mixer, steamer, rooms, the year."),
    ("Ingredients", "One row for each material: price, moisture."),
    ("Recipes", "One row for each recipe, then one row for each of its ingredients."),
    ("Strains", "One row for each strain: spawn rate, days, yield, losses."),
    ("Mix card", "Every batch: pick a recipe and a number of bags, print, weigh, dial."),
    ("Costing", "Pick a recipe and a strain, type your price: cost and margin."),
    ("Functions", "Every formula of this workbook to try out with your own numbers."),
    ("Checks", "What does not add up, with the sheet where to look."),
    ("Sources", "Where each number comes from, and which ones you have to measure."),
)

_KEY_RESULTS = (
    Calculated(
        "today",
        "Today",
        "date",
        "CHOOSE(1+COUNT({as_of}),TODAY(),{as_of})",
        "Or the date typed on the sheet Farm; all due dates count from it.",
    ),
    Calculated(
        "start_dial",
        "Water for the batch on the Mix card",
        "L",
        "{mix_dial}*1",
        "Dial it on the meter.",
        is_key=True,
    ),
    Calculated("start_bags", "Bags of that batch", "count", "{mix_bags}*1", "", is_key=True),
    Calculated("start_spawn", "Spawn for them", "kg", "{mix_spawn}*1", "", is_key=True),
    Calculated(
        "start_cost_block",
        "Cost of a good block",
        "money/block",
        "{cost_good}*1",
        "From the sheet Costing.",
        is_key=True,
    ),
    Calculated(
        "start_cost",
        "Cost of mushrooms sold",
        "money/kg",
        "{cost_sold}*1",
        "From the sheet Costing.",
        is_key=True,
    ),
    Calculated(
        "start_margin",
        "Margin of the price after fees",
        "fraction",
        "{margin_share}*1",
        "From the sheet Costing.",
        is_key=True,
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


def _guide(writer: Writer, row: int) -> None:
    writer.section(row, "How it flows")
    for offset, (sheet, words) in enumerate(_STEPS, 1):
        writer.link(row + offset, 1, sheet)
        writer.text(row + offset, 2, words, "farm label")


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
    writer.text(row + 4, 2, "Type 62% or 0.62; 62 is refused.", "farm argument")


def _versions(writer: Writer, row: int) -> None:
    writer.section(row, "Version")
    lines = (
        ("Made by cultivar_fx", cultivar_fx.__version__),
        ("Layout of the inputs", str(SCHEMA_VERSION)),
        ("Units", writer.units),
        ("Currency", writer.currency),
    )
    for offset, (label, value) in enumerate(lines, 1):
        writer.text(row + offset, 1, label, "farm label")
        writer.text(row + offset, 2, value, "farm label")


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    notice = [Lines("Invented example", (INVENTED,), "farm caution")] if settings.invented else []
    return Sheet(
        name="Start",
        purpose="A batch and costing workbook for a small farm of specialty mushrooms.",
        blocks=[
            *notice,
            Form("The numbers to look at", _KEY_RESULTS),
            Custom(len(_STEPS) + 1, _guide),
            Custom(5, _legend),
            Lines("Cautions", _CAUTIONS, "farm text"),
            Custom(5, _versions),
        ],
        widths=(38, 14, 12, 16, 16, 16),
        fit_one_page=True,
    )
