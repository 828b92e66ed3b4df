"""Year: the enterprise budget, planned and from the logs, and what an hour of work earns.

A budget as extension services publish them for a farm's enterprises: income, variable costs,
contribution (they say returns above variable costs), fixed costs, profit, break-even.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.columns import iso_date
from workbook_template.schema.year import YEAR
from workbook_template.sheets import year_lines as lines
from workbook_template.sheets import year_months as months
from workbook_template.sheets import year_products as products
from workbook_template.sheets.money_text import whole_money
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.writing.blocks import ROUNDING, Check, Custom, Form, Lines, Sheet
from workbook_template.writing.charts import Chart, add_chart
from workbook_template.writing.sentences import Sentences

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

_WORDS = (
    "Planned is a year of usual weeks: packs, prices and fees of the Products sheet, blocks of the "
    "Week plan, costs of Costing. From the logs: income, fees, travel and selling hours of the "
    "Sales sheet, blocks of Batches, picking of Harvests, packs for what was taken. Fixed costs "
    "count by days. The days begin with the first sale logged.",
    "Blocks count in the month in which they were made; what they give is sold later. A batch "
    "keeps its cost: what that is above today's stands in the line of other prices. Delivery is "
    "planned by pack and logged by day; selling is planned as it was logged. All hours are taken "
    "for your own: profit and the labor counted as cost, over them, is what an hour earns.",
)


def _sentence(currency: str) -> str:
    def money(key: str, sign: str = "") -> str:
        return whole_money(f"{sign}({{?{key}}})", currency)

    planned = (
        'CHOOSE(1+COUNT({?year_profit}),"","Planned, a year of usual weeks brings in "'
        f'&{money("year_income")}&" and "&CHOOSE(1+({{?year_profit}}<0),"leaves ","loses ")'
        f'&{money("year_profit", "ABS")}&".")'
    )
    return first_of(
        (
            "COUNT({?year_begin})=0",
            f'TRIM("Log what you sell on the Sales sheet to see what the farm earned. "&{planned})',
        ),
        (
            "COUNT({?year_profit_logged})=0",
            '"The Costing sheet says which prices and costs are still missing."',
        ),
        otherwise=f'"From "&{iso_date("{?year_begin}")}&" to "&{iso_date("({?year_end}-1)")}'
        f'&" the farm took in "&{money("year_income_logged")}'
        '&CHOOSE(1+({?year_profit_logged}<0)," and made a profit of "," and lost ")'
        f'&{money("year_profit_logged", "ABS")}&CHOOSE(1+COUNT({{?year_earns}}),".",'
        f'"; an hour of work earned "&{money("year_earns", "N")}&".")&" "&{planned}',
    )


def _chart(writer: Writer, row: int) -> None:
    """Draw beside the lines of the budget, which are narrow."""
    chart = Chart(
        title="What came in each month, and what was left",
        categories="year_months.month",
        values=["year_months.income", "year_months.contribution", "year_months.profit"],
        names=["Income", "Contribution", "Profit"],
        category_title="Month",
        value_title=writer.currency,
        description="Three columns for each of the twelve months: income, contribution and profit "
        "from the logs, with the figures of the list below.",
        kind="col",
        number_format="0",
        column="H",
        height=9.5,
        width=19.0,
    )
    add_chart(writer, row + 1, chart)


def _off(difference: str) -> str:
    """Write how far two large sums differ: programs round in different ways what is left."""
    return f"ABS(ROUND(({difference})/{{rounding}},0)*{{rounding}})"


_CHECKS = (
    Check(
        "Year: lines of the budget planned add up to a year on Costing",
        "ABS(N({year_income})-N({year_profit})-"
        "SUM({year_planned.fees},{year_planned.delivery},{year_planned.picking},"
        "{year_planned.goods},{year_planned.labor},{year_selling})-N({year_spent}))/MAX(1,N({year_blocks}))"
        "*COUNT({year_profit})*COUNT({year_spent})",
        ROUNDING,
    ),
    Check(
        "Year: months and product lines have the income of the Sales sheet",
        _off(
            "SUM({year_months.income})-SUMIFS({sales.income},{sales.date},"
            '">="&{year_begin},{sales.date},"<"&{year_end})'
        )
        + "+"
        + _off("SUM({year_income.income})-SUM({year_months.income})"),
        ROUNDING,
    ),
    Check(
        "Year: costs of the blocks are those that the batches keep",
        _off(
            "SUM({year_months.materials},{year_months.steam},{year_months.block_labor},"
            "{year_months.kept},{year_months.standing})-SUMIFS({batches.cost},{batches.made},"
            '">="&{year_begin},{batches.made},"<"&{year_end})'
        )
        + "*COUNT({year_profit_logged})",
        ROUNDING,
    ),
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Year",
        purpose="What the farm earns in a year, planned and from the logs, and in an hour.",
        blocks=[
            Sentences("What the farm earned", {"year_words": _sentence(settings.currency)}, 2),
            Form(YEAR.title, YEAR.fields),
            Custom(0, _chart),
            lines.BUDGET,
            months.MONTHLY,
            Form("What it comes to", lines.COMES_TO),
            products.INCOME,
            Lines("How it is counted", _WORDS, "farm text"),
        ],
        workings=[
            months.DAYS,
            lines.SUMS,
            products.PLANNED,
            products.PACKS,
            months.RECIPE_BLOCKS,
        ],
        widths=(30, 12, 12, 12, 12, 12, *[11] * 11),
        landscape=True,
        pages_high=1,
        checks=_CHECKS,
    )
