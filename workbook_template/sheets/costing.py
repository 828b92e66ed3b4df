"""Costing: what a block costs step by step, and each product line from the block to the sale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema import look_up
from workbook_template.schema.cards import CHANGES, COSTING, RANGES
from workbook_template.sheets import costing_block as block
from workbook_template.sheets import costing_checks as checks
from workbook_template.sheets import costing_drivers as drivers
from workbook_template.sheets import costing_flushes as flushes
from workbook_template.sheets import costing_lines as lines
from workbook_template.sheets import costing_lists as lists
from workbook_template.sheets import costing_pack as pack
from workbook_template.sheets import costing_year as year
from workbook_template.sheets import what_helps
from workbook_template.writing.blocks import Custom, Form, Lines, NewPage, Sheet
from workbook_template.writing.charts import Chart, add_chart
from workbook_template.writing.still_needed import Missing

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

_WIDE = 26.5
_STEPS_HIGH, _STEPS_ROWS = 11.0, 22
_DRIVERS_HIGH, _DRIVERS_ROWS = 8.5, 17
"""Of the charts: in cm, as wide as what stands above them, and in rows of the sheet."""


def _chart_of_steps(writer: Writer, row: int) -> None:
    chart = Chart(
        title="Where the money of a block goes, step by step",
        categories=[step.key for step in block.STEPS],
        values=[[step.key for step in block.STEPS]],
        names=["Cost"],
        category_title="Step",
        value_title=f"{writer.currency} per block started",
        description="Bars of the cost of one block started, one for each step of the work, "
        "with the figures of the list above.",
        height=_STEPS_HIGH,
        width=_WIDE,
    )
    add_chart(writer, row, chart)


def _chart_of_drivers(writer: Writer, row: int) -> None:
    chart = Chart(
        title="The longer the line, the more the driver moves the cost of a pack",
        categories="drivers.driver",
        values=["drivers.least", "drivers.today", "drivers.most"],
        names=["least cost", "today", "most"],
        category_title="Driver",
        value_title=f"{writer.currency} per pack sold",
        description="A line for each driver, the longest first: from the least to the most that "
        "a pack sold costs over the driver's range, with a mark at the cost of today.",
        kind="range",
        height=_DRIVERS_HIGH,
        width=_WIDE,
    )
    add_chart(writer, row, chart)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Costing",
        purpose="What a block and a pack cost, step by step, and what you earn.",
        blocks=[
            Form(COSTING.title, COSTING.fields),
            Missing(
                ("cost_good", "cost_sold", "margin_share"),
                notes=(
                    ('"the rows of this product line, its recipe and its strain"', "cost_row"),
                    (look_up("recipes.missing", "cost_recipe"), "cost_ingredients"),
                ),
            ),
            Form("Basis", block.BASIS),
            Form("Cost of a block, step by step", (*block.STEPS, *block.TOTALS)),
            Custom(_STEPS_ROWS, _chart_of_steps),
            Form("Cost of the mushrooms", pack.MUSHROOMS),
            Form("Cost of a pack, step by step", pack.STEPS),
            Form("Price and margin", pack.PRICE),
            NewPage(),
            lines.LINES,
            Form("Best use of shelf space", lines.BEST_LINE),
            Lines("How to read the list", lines.WORDS, "farm text"),
            flushes.answer(settings.currency),
            flushes.FLUSHES,
            Lines("How to read the flushes", flushes.WORDS, "farm text"),
            Form("Basis of the flushes", flushes.BASIS),
            *what_helps.DETAILS,
            NewPage(),
            Form("A year of usual weeks", year.YEAR),
            Lines("How it adds up", year.WORDS, "farm text"),
            Lines("What moves the cost", drivers.WORDS, "farm text"),
            drivers.DRIVERS,
            Custom(_DRIVERS_ROWS, _chart_of_drivers),
            Form(CHANGES.title, CHANGES.fields),
            Form(RANGES.title, RANGES.fields),
        ],
        workings=[
            Form("Basis", block.WORKINGS),
            Form("A pack of the product line chosen", pack.WORKINGS),
            Form("Flushes", flushes.WORKINGS),
            lists.RECIPE_COSTS,
            lists.STRAIN_COSTS,
            year.PLAN_COSTS,
            *drivers.WORKINGS,
            *what_helps.WORKINGS,
        ],
        widths=(31, 23, 12, 10, 12.5, 10.5, 11.5, 10, 12.5, 11.5, 11.5, 9),
        checks=checks.CHECKS,
    )
