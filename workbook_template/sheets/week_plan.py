"""Week plan: from what is sold in a week to blocks to start, purchases, and the bottleneck."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.farm import ANY_DAY, WEEKDAYS
from workbook_template.schema.fields import dimension_of, unit_label
from workbook_template.sheets import occupancy, what_helps
from workbook_template.sheets import week_plan_crops as crops
from workbook_template.sheets import week_plan_lists as lists
from workbook_template.sheets import week_plan_needs as needs
from workbook_template.sheets import week_plan_orders as orders
from workbook_template.sheets import week_plan_starts as starts
from workbook_template.sheets import week_plan_stations as stations
from workbook_template.sheets.spent import SPENT_FORM
from workbook_template.writing.blocks import Calculated, Custom, Form, Lines, NewPage, Sheet
from workbook_template.writing.charts import Chart, add_chart
from workbook_template.writing.sentences import Sentences
from workbook_template.writing.week_grid import WEEKS

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

_ABOUT = (
    "Packs: the usual number of each product line, unless the Orders sheet says otherwise, and the "
    "orders on top. Packs that are made but not sold are grown too (share sold, Products sheet).",
    "Crops: a strain on a recipe. A crop is started so that its first flush is ready for a market "
    "day, or so that incubation is over for blocks sold whole. What batches in progress and "
    "earlier starts give for that market, flush by flush, is not started again. What no market "
    "needs in its week is not counted for a later one: fresh mushrooms don't keep.",
    "An order is picked for the last market day before it. Crops that are started on one day share "
    "steam loads, and mixer loads if they are of one recipe. Extra blocks make up for the losses "
    "of the strain, rounded up to whole blocks. How often a crop is started, and how few blocks "
    "are worth it, is on the Orders sheet.",
    "Incubation and fruiting: the fullest day of the week, with the logged batches and what is "
    "still to start, every planned flush counted, against the spaces of that day. The Rooms sheet "
    "has it room by room.",
    "Work on blocks counts in the week they are started; picking, drying and packing in the week "
    "of the market. What you have in stock is not "
    "subtracted here: the Stock sheet says what to order.",
)

_WEEKDAYS = "{" + ",".join(f'"{day}"' for day in WEEKDAYS.split("|")) + "}"
_THIS_WEEK = (
    Calculated(
        "plan_now",
        "Blocks to start this week",
        "count",
        "INDEX({loads.blocks},1)",
        "All crops together. What is left to start, and on which day, is on the Start sheet.",
        is_key=True,
    ),
    Calculated(
        "plan_next",
        "Blocks to start next week",
        "count",
        "INDEX({loads.blocks},2)",
        "Order their spawn and ingredients now.",
        is_key=True,
    ),
)
_BASIS = (
    Calculated(
        "plan_monday",
        "Monday of this week",
        "date",
        "{today}-WEEKDAY({today}-1)+1",
        "The first of the weeks begins with it.",
    ),
    Calculated(
        "plan_market",
        "Market day, days after Monday",
        "count",
        f"MATCH({{market_day}},{_WEEKDAYS},0)-1",
        "From the Farm sheet.",
    ),
    Calculated(
        "plan_mixing",
        "Mixing day, days after Monday",
        "number",
        f'CHOOSE(1+({{mixing_day}}="{ANY_DAY}"),MATCH({{mixing_day}},{_WEEKDAYS},0)-1,0-1)',
        "From the Farm sheet; -1 if it may be any day.",
    ),
    Calculated(
        "market_this_week",
        "Market day of this week",
        "date",
        "{plan_monday}+{plan_market}",
        "It may be past.",
    ),
    Calculated(
        "next_market",
        "Next market day",
        "date",
        "{market_this_week}+7*({market_this_week}<{today})",
        "Today, if it is one.",
    ),
    Calculated("plan_crops", "Number of crops", "count", "COUNT({crops.at})"),
)
_CHART_HEIGHT, _CHART_WIDTH = 5.7, 15.0
"""In cm: six bars, beside the list of what is too late."""


def _chart(writer: Writer, row: int) -> None:
    """Draw beside the list below, which is narrow."""
    chart = Chart(
        title="How close each station comes to its limit",
        categories="stations.station",
        values=["stations.highest"],
        names=["Load"],
        category_title="Station",
        value_title=f"Fullest of {WEEKS} weeks, % of capacity",
        description="Bars: the fullest week of mixer, steamer, bench, incubation, fruiting and "
        "labor as a share of capacity. Above 100 % a station is a bottleneck.",
        number_format="0%",
        column="G",
        height=_CHART_HEIGHT,
        width=_CHART_WIDTH,
    )
    add_chart(writer, row + 2, chart)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    return Sheet(
        name="Week plan",
        purpose="What to start, to buy and to sell in each of the next 12 weeks.",
        blocks=[
            Sentences("Bottleneck", {"bottleneck": stations.SENTENCE}),
            what_helps.answer(settings.currency),
            Sentences("Rooms", {"rooms_words": occupancy.SENTENCE}, occupancy.SENTENCE_LINES),
            Form("This week", _THIS_WEEK),
            lists.TO_START,
            Custom(0, _chart),
            needs.NOT_IN_TIME,
            stations.STATIONS,
            Lines("How it is counted", _ABOUT),
            NewPage(),
            lists.purchases(mass),
            lists.SPAWN_BAGS,
            SPENT_FORM,
            lists.PACKS_TO_SELL,
        ],
        workings=[
            Form("Basis", _BASIS),
            stations.SHARES,
            stations.LOADS,
            lists.spawn_mass(mass),
            lists.strain_demand(mass),
            crops.PLAN_PRODUCTS,
            crops.CROPS,
            needs.CROP_WEEKS,
            starts.STARTS,
            starts.USUAL,
            starts.USUAL_WEEK,
            lists.line_mass(mass),
            orders.order_starts(mass),
        ],
        widths=(54, *[12.3] * WEEKS),
        landscape=True,
        checks=lists.CHECKS,
    )
