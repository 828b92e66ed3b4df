"""Week plan: from what is sold in a week to blocks to start, purchases, and the bottleneck."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import dimension_of, unit_label
from workbook_template.schema.products import DEMAND
from workbook_template.sheets import week_plan_crops as crops
from workbook_template.sheets import week_plan_lists as lists
from workbook_template.sheets import week_plan_stations as stations
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.spent import SPENT_FORM
from workbook_template.writing.blocks import (
    Calculated,
    Custom,
    Form,
    Lines,
    NewPage,
    Sheet,
    TableBlock,
)
from workbook_template.writing.charts import CHART_ROWS, Chart, add_chart
from workbook_template.writing.week_grid import WEEKS

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

_HIGHEST = "MAX({stations.highest})"
_FULLEST = number_of(_HIGHEST, "stations.highest", "stations.number")
_WHEN = f"INDEX({{stations.week}},{_FULLEST})"
_DATE = f'YEAR({_WHEN})&"-"&TEXT(MONTH({_WHEN}),"00")&"-"&TEXT(DAY({_WHEN}),"00")'
_STATION = f"INDEX({{stations.station}},{_FULLEST})"
_SHARE = f'TEXT({_HIGHEST},"0%")'
_SENTENCE = (
    "CHOOSE(1+(SUM({loads.blocks})>0)*(1+("
    f"{_HIGHEST}>1)),"
    '"Nothing to start: give the product lines their packs a week.",'
    f'"No station is over its capacity. The fullest is "&{_STATION}&", with "&{_SHARE}&'
    f'" of its capacity in the week of "&{_DATE}&".",'
    f'"The bottleneck is "&{_STATION}&": "&{_SHARE}&" of its capacity in the week of "&{_DATE}&'
    '". Start less, move weeks, or add capacity.")'
)

_ABOUT = (
    "Demand is packs sold: the usual number of each product line, or what the table of weeks that "
    "are not usual says. Packs that are not sold are grown too (share sold, sheet Products).",
    "A crop is a strain on a recipe; blocks that are sold as blocks are a crop of their own. Each "
    "crop is started once a week, so that its first flush is ready the stated days before the "
    "market day; blocks sold as blocks so that incubation is over by then.",
    "Every week is planned as if all weeks were like it. The blocks for a market are counted with "
    "the mushrooms of all flushes that you keep, and places as blocks a week times days of stay "
    "over 7. While numbers go up, first flushes alone bring less: see the Forecast sheet.",
    "More blocks are started than are needed good, by the losses of the strain, rounded up to "
    "whole blocks for each crop and week. Each start is one batch: with what stays in the mixer, "
    "in its own mixer loads. Steam loads are shared by all blocks of a week.",
    "All work on a block counts in the week of its start; picking, drying and packing in the week "
    "of the market. What you have in store is not taken off the purchases.",
)

_BASIS = (
    Calculated(
        "plan_monday",
        "First week from",
        "date",
        "{today}-WEEKDAY({today}-1)+1",
        "The Monday of this week.",
    ),
    Calculated(
        "plan_market",
        "Market, days after Monday",
        "count",
        'MATCH({market_day},{"Monday","Tuesday","Wednesday","Thursday","Friday","Saturday",'
        '"Sunday"},0)-1',
        "From the Farm sheet.",
    ),
    Calculated("plan_crops", "Crops", "count", "COUNT({crops.at})", "Listed further below."),
    Calculated(
        "plan_now",
        "Blocks to start this week",
        "count",
        "INDEX({loads.blocks},1)",
        "Of all crops; bags to have.",
        is_key=True,
    ),
)


def _place_sentence(writer: Writer, row: int) -> None:
    writer.place_cell("bottleneck", row + 1, 1, is_input=False, is_text=True)


def _write_sentence(writer: Writer, row: int) -> None:
    writer.section(row, "The bottleneck")
    writer.wide_text(row + 1, "", "farm text")
    writer.formula(row + 1, 1, _SENTENCE, dimension_of("state"), "farm text", waits=False)


def _chart(writer: Writer, row: int) -> None:
    writer.section(row, "How full each station is")
    chart = Chart(
        title=f"Load of each station, in the fullest of {WEEKS} weeks",
        categories="stations.station",
        values=["stations.highest"],
        names=["Load"],
        category_title="Station",
        value_title="Of its capacity",
        description="Bars: the highest load of mixer, steamer, bench, incubation, fruiting and "
        "labor as a share of capacity, with the figures of the list above.",
        number_format="0%",
    )
    add_chart(writer, row + 1, chart)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    return Sheet(
        name="Week plan",
        purpose="What to start and to buy in each week, so that the packs of its market are there.",
        blocks=[
            Custom(2, _write_sentence, _place_sentence),
            Form("This week", _BASIS),
            lists.TO_START,
            stations.STATIONS,
            NewPage(),
            Custom(CHART_ROWS, _chart),
            Lines("How it is counted", _ABOUT),
            NewPage(),
            TableBlock(DEMAND),
            lists.PACKS_TO_SELL,
            NewPage(),
            lists.purchases(mass),
            lists.spawn_mass(mass),
            NewPage(),
            lists.SPAWN_BAGS,
            lists.strain_demand(mass),
            SPENT_FORM,
            NewPage(),
            stations.SHARES,
            stations.LOADS,
            NewPage(),
            crops.PLAN_PRODUCTS,
            crops.CROPS,
            NewPage(),
            crops.STARTS,
            lists.line_mass(mass),
        ],
        widths=(38, *[11] * 17),
        landscape=True,
        printed_columns=1 + WEEKS,
        checks=lists.CHECKS,
    )
