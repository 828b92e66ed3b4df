"""Each product line in a year: what is planned of it, and what the logs say."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import used_of
from workbook_template.schema.products import PRODUCTS
from workbook_template.sheets.costing_parts import work_of
from workbook_template.sheets.costing_year import A_YEAR
from workbook_template.writing.blocks import Grid

MONTHS = 12
LINE = Counter("line")


def _known(column: str) -> str:
    """Return a figure of the row's product line."""
    return look_up(f"products.{column}", "product")


_DRIED = f'({_known("form")}="dried")'
_PICKING = work_of(used_of("picking_minutes", "strain").replace("{strain}", _known("strain")))


def of_each_month(lines: str) -> tuple[Computed, Computed]:
    """Make the columns of the month, and of the line in it, where a list has all lines of each."""
    return (
        Computed("month", "Month", "count", f"INT(({{line}}-1)/ROWS({{{lines}}}))+1"),
        Computed("at", "Row", "count", f"{{line}}-({{month}}-1)*ROWS({{{lines}}})"),
    )


def _sold(column: str) -> str:
    """Add up a column of the sales of the row's product line, over the days that count."""
    return (
        f"SUMIFS({{sales.{column}}},{{sales.product}},{{product}},"
        '{sales.date},">="&{year_begin},{sales.date},"<"&{year_end})'
    )


PLANNED = Grid(
    "year_planned",
    "Each product line, a year of usual weeks",
    (
        Computed("product", "Product line", "state", "INDEX({packs.product},{line})"),
        Computed("packs", "Packs sold", "number", f"{_known('packs_per_week')}{A_YEAR}"),
        Computed("made", "Packs made", "number", f"{{packs}}/{_known('sold_share')}"),
        Computed("income", "Income", "money", f"{{packs}}*{_known('price')}"),
        Computed("fees", "Fees", "money", f"{{income}}*{_known('fees')}"),
        Computed("delivery", "Delivery", "money", f"{{packs}}*{_known('delivery')}"),
        Computed("picking", "Labor: picking", "money", f"{{made}}*{_known('fresh')}*{_PICKING}"),
        Computed(
            "pack_goods",
            "Empty pack and drying energy",
            "money/pack",
            "INDEX({packs.pack},{line})"
            f"+{_DRIED}*{_known('fresh')}*{{drying_energy}}*{{electricity_price}}",
        ),
        Computed(
            "pack_labor",
            "Labor: packing and drying",
            "money/pack",
            "INDEX({packs.packing},{line})"
            f"+{_DRIED}*{_known('fresh')}*{work_of('{drying_minutes}')}",
        ),
        Computed("goods", "Packs and drying energy", "money", "{made}*{pack_goods}"),
        Computed("labor", "Labor: packing and drying", "money", "{made}*{pack_labor}"),
        Computed(
            "hours",
            "Picking, drying, packing",
            "h",
            "{packs}*INDEX({plan_products.minutes},{line})/60",
        ),
        Computed("fresh", "Fresh mass sold", "kg", f"{{packs}}*{_known('fresh')}"),
        LINE,
    ),
    rows=PRODUCTS.rows,
)

INCOME = Grid(
    "year_income",
    "Income by product line",
    (
        Computed("product", "Product line", "state", "INDEX({packs.product},{line})"),
        Computed(
            "planned",
            "Planned, these days",
            "money",
            "INDEX({year_planned.income},{line})*{year_days}/365",
        ),
        Computed("income", "From the logs", "money", _sold("income")),
        Computed("difference", "Difference", "money", "{income}-{planned}"),
        Computed("sold", "Packs sold", "count", _sold("sold")),
        Computed("price", "Mean price", "money", 'CHOOSE(1+({sold}>0),"",{income}/{sold})'),
        LINE,
    ),
    rows=PRODUCTS.rows,
    totals=("planned", "income", "difference"),
)

_IN_MONTH = (
    '{sales.date},">="&INDEX({year_months.from},{month}),'
    '{sales.date},"<"&INDEX({year_months.until},{month})'
)
PACKS = Grid(
    "year_packs",
    "Packs taken by month and product line",
    (
        LINE,
        *of_each_month("year_planned.line"),
        Computed(
            "taken",
            "Packs taken",
            "number",
            f"SUMIFS({{sales.taken}},{{sales.product}},INDEX({{year_planned.product}},{{at}})"
            f",{_IN_MONTH})",
        ),
        Computed(
            "goods",
            "Packs and drying energy",
            "money",
            "{taken}*INDEX({year_planned.pack_goods},{at})",
        ),
        Computed(
            "labor",
            "Labor: packing and drying",
            "money",
            "{taken}*INDEX({year_planned.pack_labor},{at})",
        ),
    ),
    rows=MONTHS * PRODUCTS.rows,
)
