"""Where the harvest is sold, and the log of what was sold there: one row a product line and day."""

from __future__ import annotations

from workbook_template.schema.columns import (
    FIRST_DATE,
    NOTE,
    after_today,
    before_above,
    line_of,
    long_before,
    place_of,
)
from workbook_template.schema.fields import ASSUMPTION, Computed, Field, Rule, Section, Table

KINDS = "market|kitchen|store|other"

MARKETS = Table(
    "markets",
    "Markets and customers",
    (
        Field(
            "market",
            "Market or customer",
            "text",
            help="In your words; each name once.",
            width=26.0,
        ),
        Field("kind", "Kind", "choice", choices=KINDS, help="A kitchen is any that cooks."),
        Field(
            "fee_day",
            "Fee of a day",
            "money",
            "0 or more",
            "Stall or table, each day you sell or deliver there; blank if none.",
            required=False,
        ),
        Field(
            "fee_share",
            "Fees, of takings",
            "fraction",
            "0 to below 1",
            "Card, commission; blank if none.",
            lowest=0.002,
            usual=0.06,
            required=False,
            of_money=True,
        ),
        Field(
            "hours",
            "Work of a day",
            "h",
            "0 or more",
            "All people together: loading, driving, setting up, selling.",
        ),
        Field(
            "travel",
            "Travel of a day",
            "money",
            "0 or more",
            "Fuel, tolls, parking; blank if none. No wages.",
            required=False,
        ),
        NOTE,
    ),
    rows=10,
)


def _of_market(column: str) -> str:
    return f"INDEX({{markets.{column}}},{{at_market}})"


def _of_product(column: str) -> str:
    return f"INDEX({{products.{column}}},{{at_product}})"


def _of_day(column: str) -> str:
    """Write the rows of a column among which all those of the row's day are."""
    return f"INDEX({{sales.{column}}},{{from_row}}):INDEX({{sales.{column}}},{{to_row}})"


def _working(key: str, label: str, unit: str, formula: str, note: str) -> Computed:
    return Computed(key, label, unit, formula, note, is_working=True)


def _row_of_day(key: str, label: str, anywhere: str, day: str, note: str) -> Computed:
    """Make the column that says where in the log the rows of a day begin or end, or a bit off."""
    found = f"IFERROR(MATCH(INT({{date}}){day},{{sales.date}},1),1)"
    return _working(key, label, "count", f"CHOOSE(1+{{sales_in_order}},{anywhere},{found})", note)


_SAME_DAY = f"{_of_day('day_market')},{{day_market}}"
_FIRST_ROW = (
    "MATCH({day_market},INDEX({sales.day_market},{from_row}):INDEX({sales.day_market},{line}),0)"
    "+{from_row}-1"
)
_IS_KNOWN = (
    f'COUNTIFS({_SAME_DAY},{_of_day("left")},">=0")+COUNTIFS({_SAME_DAY},{_of_day("left")},"<0")'
)
_UNTIL = "CHOOSE(1+COUNT({?sales_until}),{today},N({?sales_until}))"
_USUAL = _of_product("price")

SALES = Table(
    "sales",
    "Sales",
    (
        Field("date", "Date", "date", FIRST_DATE, "The market day, or the day you deliver."),
        Field(
            "market",
            "Market or customer",
            "choice",
            choices="markets.market",
            help="From the Markets sheet.",
            width=24.0,
        ),
        Field(
            "product",
            "Product line",
            "choice",
            choices="products.product",
            help="From the Products sheet.",
            width=30.0,
        ),
        Field(
            "taken",
            "Packs taken",
            "count",
            "0 or more, whole",
            "All you took along. What comes home and goes to another market counts only there.",
        ),
        Field("sold", "Packs sold", "count", "0 or more, whole", "Of those taken."),
        Field(
            "price",
            "Price of a pack",
            "money",
            "0 or more",
            "Blank: the Products price of today. Before you change that, type the old one here.",
            required=False,
        ),
        NOTE,
        Computed("income", "Income", "money", "{sold}*{used_price}", "Packs sold at their price."),
        _working(
            "used_price",
            "Price used",
            "money",
            f"CHOOSE(1+COUNT({{price}}),{_USUAL},N({{price}}))",
            "The price typed, or else that of the Products sheet.",
        ),
        _working(
            "month",
            "Month",
            "date",
            "DATE(YEAR({date}),MONTH({date}),1)",
            "Its first day.",
        ),
        _working(
            "counts",
            "In the period",
            "count",
            f"({{date}}>=N({{?sales_from}}))*(INT({{date}})<=MIN({{today}},{_UNTIL}))",
            "1 where the lists of the Markets sheet count the row.",
        ),
        _working(
            "day_market",
            "Market and day",
            "number",
            "INT({date})*(1+ROWS({markets.market}))+{at_market}",
            "One number for each day of each market: programs find numbers fastest.",
        ),
        _row_of_day("from_row", "Rows of the day from", "1", "-1", "No later than its first row."),
        _row_of_day(
            "to_row",
            "Rows of the day to",
            "ROWS({sales.date})",
            "+1",
            "No earlier than its last row.",
        ),
        _working(
            "first",
            "First of the day there",
            "count",
            f"({_FIRST_ROW}={{line}})*1",
            "1 in one row: the fee, the travel and the work of a day count once.",
        ),
        _working(
            "fees",
            "Fees",
            "money",
            f"{{income}}*N({_of_market('fee_share')})+{{first}}*N({_of_market('fee_day')})",
            "The share of the income, and once a day the fee of the day.",
        ),
        _working(
            "travel", "Travel", "money", f"{{first}}*N({_of_market('travel')})", "Once a day."
        ),
        _working("hours", "Work", "h", f"{{first}}*{_of_market('hours')}", "Once a day."),
        _working(
            "labor",
            "Labor of selling",
            "money",
            "CFX.LABOR_COST({hours}*60,{hourly_wage},{burden})",
            "Once a day.",
        ),
        _working(
            "goods",
            "Cost of the packs taken",
            "money",
            "{taken}*INDEX({packs.made},{at_product})",
            "What each pack made costs on top of fixed costs, sold or not.",
        ),
        _working(
            "left",
            "Contribution",
            "money",
            "{income}-{fees}-{travel}-{goods}-{labor}",
            "Of the row; its market's day is the sum of its rows.",
        ),
        _working(
            "day_left",
            "Contribution of the day",
            "money",
            f'CHOOSE(1+{{first}}*({_IS_KNOWN}=COUNTIFS({_SAME_DAY})),"",'
            f"SUMIFS({_of_day('left')},{_SAME_DAY}))",
            "Of the market's day, in its first row.",
        ),
        _working(
            "day_off",
            "Off the mean day, squared",
            "number",
            "({day_left}-INDEX({by_market.per_day},{at_market}))^2",
            "Their sum shows how much the days of the market differ.",
        ),
        _working(
            "planned_sold",
            "Packs sold as assumed",
            "number",
            f"{{taken}}*{_of_product('sold_share')}",
            "By the share sold of the Products sheet.",
        ),
        _working(
            "fresh_taken",
            "Fresh mass taken",
            "kg",
            f"{{taken}}*{_of_product('fresh')}",
            "Before drying; none for blocks.",
        ),
        _working(
            "fresh_sold",
            "Fresh mass sold",
            "kg",
            f"{{sold}}*{_of_product('fresh')}",
            "Before drying; none for blocks.",
        ),
        before_above("sales"),
        place_of("at_market", "Row of the market", "markets.market"),
        place_of("at_product", "Row of the product line", "products.product"),
        _working(
            "at_strain",
            "Row of the strain",
            "count",
            f'IFERROR(MATCH({_of_product("strain")},{{strains.strain}},0),"")',
            "Of the product line.",
        ),
        line_of("sales", "date"),
    ),
    rows=40,
    unique=False,
    faults=(
        after_today("date"),
        Rule(
            "sold", "more than were taken", "COUNT({taken})*(N({taken})>=0)*(N({sold})>N({taken}))"
        ),
    ),
    warnings=(
        long_before("sales", "date"),
        Rule(
            "price",
            "far from the price on the Products sheet",
            f"(N({{price}})>0)*COUNT({_USUAL})*((N({{price}})>{{times_off}}*{_USUAL})"
            f"+(N({{price}})*{{times_off}}<{_USUAL})>0)",
        ),
    ),
)

PERIOD = Section(
    "Days to look at",
    (
        Field(
            "sales_from",
            "From",
            "date",
            FIRST_DATE,
            "Blank: from the first sale on.",
            required=False,
        ),
        Field(
            "sales_until",
            "Until",
            "date",
            FIRST_DATE,
            "Blank: until today. The list by month shows the last twelve in any case.",
            required=False,
        ),
        Field(
            "days_to_judge",
            "Days needed to judge",
            "count",
            "2 or more, whole",
            "Of a market or customer; with fewer, luck can look like anything.",
            default=4.0,
            source=ASSUMPTION,
        ),
        Field(
            "days_kept",
            "Days from picking to sale",
            "d",
            "0 to 365",
            "At most; harvests so long before the first sale count for what was sold.",
            default=14.0,
            source=ASSUMPTION,
        ),
    ),
)
