"""Markets: where you sell, and what came of it by market, product line and month."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import dimension_of, unit_label
from workbook_template.schema.sales import MARKETS, PERIOD
from workbook_template.sheets import market_lists as lists
from workbook_template.sheets import market_masses as masses
from workbook_template.writing.blocks import (
    ROUNDING,
    Calculated,
    Check,
    Form,
    Lines,
    Sheet,
    TableBlock,
)

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_HOW = (
    "List your markets and customers at the bottom of this page, and log each day on the Sales "
    "sheet: one row for each product line. Fees, travel and work of a day count once, however many "
    "rows it has. They replace the fees and delivery that the Products sheet plans with.",
    "Contribution: income less fees, travel, labor of selling, and the cost of the packs taken, "
    "sold or not: ingredients, spawn, bag, steam, labor, pack, at today's prices. Rent and other "
    "fixed costs come out of it. An hour there pays: the contribution with the labor "
    "of selling added back, over the hours of that work. Compare it with the wage.",
    "Is it worth it? From the days so far, the range that holds the contribution of its average "
    "day, as surely as the confidence of the intervals on the Results sheet. Worth it: all of it "
    "is above zero. Not known yet: zero is in it; so many more days would tell, if they are like "
    "those so far. It can't know of other seasons.",
)

_IN_ORDER = Form(
    "How the rows of a day are found",
    (
        Calculated(
            "sales_in_order",
            "Sales sorted by date",
            "count",
            "IFERROR((COUNT({sales.date})=MAX({sales.line}))"
            "*(COUNT({sales.backward})=MAX({sales.line}))*(SUM({sales.backward})=0),0)",
            "1; 0 where they are not: a log of many years then computes slower.",
        ),
    ),
)

_CHECKS = (
    Check(
        "Markets: markets or customers that its list has no row for",
        'COUNTA({markets.market})-COUNTIF({by_market.market},"?*")',
    ),
    Check(
        "Markets: income by market and by product line is the same",
        "ABS(N({by_market_income_total})-N({by_product_income_total}))",
        ROUNDING,
    ),
    Check(
        "Markets: the days to look at end after they begin",
        "COUNT({sales_from})*COUNT({sales_until})*(N({sales_until})<N({sales_from}))",
    ),
    *masses.CHECKS,
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    return Sheet(
        name="Markets",
        purpose="Which market or customer is worth the morning, and what each product line sold.",
        blocks=[
            Form(PERIOD.title, PERIOD.fields),
            lists.by_market(settings.currency),
            lists.BY_PRODUCT,
            lists.BY_MONTH,
            masses.form(mass),
            Lines("How to read this sheet", _HOW, "farm text"),
            TableBlock(MARKETS),
        ],
        workings=[_IN_ORDER, Form("The list by month", (lists.FIRST_MONTH,)), *masses.WORKINGS],
        widths=(29, 10, 11, 9.5, 9, 9.5, 26, 9.5, 9, 11, 9, 10.5, 12.5, 12.5, 12.5, 62),
        landscape=True,
        pages_high=1,
        checks=_CHECKS,
    )
