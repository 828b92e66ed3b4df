"""The lists of the Markets sheet: what came of each market, product line and month.

What a market leaves is its contribution: takings less what the day there takes, in fees, travel
and the labor of selling, and less the variable cost of the packs taken, sold or not. That is the
contribution of enterprise budgets (gross margin in older texts), as extension services publish
them (Penn State Extension, Budgeting for Agricultural Decision Making, from memory). Fixed costs
stay the same with or without the market, so they are no part of it.

How sure its mean is shows in how the days differ: Student's interval of the mean of a market's
days, from the squares of what each is off the mean (Student 1908, Biometrika 6:1). Half of it
shrinks with the root of the days: where 0 is within, so many days in all would leave it out if the
mean and the differences stay as they are (Student's t of more days is smaller, so that is enough).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.products import PRODUCTS
from workbook_template.schema.sales import MARKETS
from workbook_template.sheets.costing_parts import work_of
from workbook_template.sheets.money_text import whole_money
from workbook_template.sheets.results_groups import listed
from workbook_template.writing.blocks import Calculated, Grid

if TYPE_CHECKING:
    from workbook_template.writing.layout import Entries

MONTHS = 12
_ADDED_UP = (
    *("days", "taken", "sold"),
    *("income", "fees", "travel", "goods", "hours", "labor", "left"),
)
_IS_LOGGED = "(COUNT({sales.date})>0)"


def _total(column: str, where: str) -> str:
    """Write the sum of a column over the sales meant; blank while one of them is unknown."""
    cells = f"{{sales.{column}}}"
    known = f'COUNTIFS({where},{cells},">=0")+COUNTIFS({where},{cells},"<0")'
    return f'CHOOSE(1+({known}=COUNTIFS({where})),"",SUMIFS({cells},{where}))'


def _sum(key: str, label: str, unit: str, where: str, column: str = "") -> Computed:
    """Make the column of such a sum."""
    return Computed(key, label, unit, _total(column or key, where))


def _share(key: str, label: str, part: str, whole: str) -> Computed:
    return Computed(key, label, "fraction", f'CHOOSE(1+({whole}>0),"",{part}/{whole})')


def _row_if_named(name: str) -> Computed:
    """Make the column of the row of the table, once something is sold at all."""
    formula = f'CHOOSE(1+({{{name}}}<>"")*{_IS_LOGGED},"",{{line}})'
    return Computed("at", "Row", "count", formula, is_working=True)


def _costs(where: str) -> tuple[Computed, ...]:
    """Make the columns from the income down to what it leaves."""
    return (
        _sum("income", "Income", "money", where),
        _sum("fees", "Fees", "money", where),
        _sum("travel", "Travel", "money", where),
        _sum("goods", "Cost of packs taken", "money", where),
        _sum("hours", "Work", "h", where),
        Computed("labor", "Labor of selling", "money", work_of("{hours}*60")),
        Computed("left", "Contribution", "money", "{income}-{fees}-{travel}-{goods}-{labor}"),
    )


_OF_MARKET = "{sales.at_market},{at},{sales.counts},1"
_HALF = "TINV(1-{results_confidence},{days}-1)*SQRT({squares}/(({days}-1)*{days}))"


_ENOUGH = "MAX(2,{days_to_judge})"


_OF_MEAN = "(({high}-{low})/(2*MAX({rounding},ABS({per_day}))))"
_MORE = f"MAX(1,ROUNDUP({{days}}*{_OF_MEAN}^2-{{rounding}},0)-{{days}})"
_MANY = 365
"""More days than that are said as so many."""


def _verdict(currency: str) -> str:
    mean, low, high = (whole_money(one, currency) for one in ("{per_day}", "{low}", "{high}"))
    said = 'CHOOSE(1+({low}>0),CHOOSE(1+({high}<0),"Not known yet","Loses money"),"Worth it")'
    more = f'CHOOSE(1+({_MORE}>{_MANY}),"some "&{_MORE},"over {_MANY}")&" more would tell"'
    return (
        f'CHOOSE(1+({{days}}>={_ENOUGH}),"Too few days to tell: "&{{days}},'
        f'{said}&": about "&{mean}&" a day ("&{low}&" to "&{high}&", "&{{days}}&" days)"'
        f'&CHOOSE(1+({{low}}<=0)*({{high}}>=0),"","; "&{more}))'
    )


def by_market(currency: str) -> Grid:
    """Make the list of markets and customers."""

    def rows(entries: Entries) -> int:
        return max(MARKETS.rows, len(entries.tables.get(MARKETS.key, ())))

    return Grid(
        "by_market",
        "By market and customer",
        (
            Computed("market", "Market or customer", "state", listed("markets", "market")),
            _sum("days", "Days sold on", "count", _OF_MARKET, "first"),
            _sum("taken", "Packs taken", "count", _OF_MARKET),
            _sum("sold", "Packs sold", "count", _OF_MARKET),
            _share("share_sold", "Share sold", "{sold}", "{taken}"),
            _share("share_assumed", "Share assumed", "{planned}", "{taken}"),
            *_costs(_OF_MARKET),
            Computed(
                "per_day",
                "Contribution a day",
                "money",
                'CHOOSE(1+({days}>0),"",{left}/{days})',
            ),
            Computed(
                "per_hour",
                "An hour there pays",
                "money",
                'CHOOSE(1+({hours}>0),"",({left}+{labor})/{hours})',
            ),
            Computed(
                "verdict",
                "Is it worth it?",
                "state",
                f'CHOOSE(1+({{days}}>0),"",{_verdict(currency)})',
                width=61.0,
            ),
            Computed(
                "judged",
                "Contribution a day, enough days",
                "money",
                f'CHOOSE(1+({{days}}>={_ENOUGH}),"",{{per_day}})',
                is_working=True,
            ),
            Computed(
                "low",
                "Contribution a day, lowest",
                "money",
                f'CHOOSE(1+({{days}}>1),"",{{per_day}}-{_HALF})',
                is_working=True,
            ),
            Computed(
                "high",
                "Contribution a day, highest",
                "money",
                f'CHOOSE(1+({{days}}>1),"",{{per_day}}+{_HALF})',
                is_working=True,
            ),
            Computed(
                "planned",
                "Packs sold as assumed",
                "number",
                _total("planned_sold", _OF_MARKET),
                is_working=True,
            ),
            Computed(
                "squares",
                "Days off their mean, squared",
                "number",
                _total("day_off", f"{_OF_MARKET},{{sales.first}},1"),
                is_working=True,
            ),
            _row_if_named("market"),
            Counter("line"),
        ),
        rows=MARKETS.rows,
        totals=_ADDED_UP,
        rows_for=rows,
    )


_OF_PRODUCT = "{sales.at_product},{at},{sales.counts},1"

BY_PRODUCT = Grid(
    "by_product",
    "By product line",
    (
        Computed("product", "Product line", "state", listed("products", "product")),
        Computed(
            "days",
            "Rows in the log",
            "count",
            f"COUNTIFS({_OF_PRODUCT})",
        ),
        _sum("taken", "Packs taken", "count", _OF_PRODUCT),
        _sum("sold", "Packs sold", "count", _OF_PRODUCT),
        _share("share_sold", "Share sold", "{sold}", "{taken}"),
        Computed(
            "share_assumed", "Share assumed", "fraction", "INDEX({products.sold_share},{at})*1"
        ),
        _sum("income", "Income", "money", _OF_PRODUCT),
        Computed(
            "mean_price",
            "Price, actual",
            "money/pack",
            'CHOOSE(1+({sold}>0),"",{income}/{sold})',
        ),
        Computed("usual_price", "Price, usual", "money/pack", "INDEX({products.price},{at})*1"),
        _row_if_named("product"),
        Counter("line"),
    ),
    rows=PRODUCTS.rows,
    totals=("taken", "sold", "income"),
)

_OF_MONTH = '{sales.month},{start},{sales.date},"<"&{today}+1'

FIRST_MONTH = Calculated(
    "sales_first_month",
    "First month that is listed",
    "date",
    f'CHOOSE(1+{_IS_LOGGED},"",MAX(DATE(YEAR({{today}}),MONTH({{today}})-12+1,1),'
    "DATE(YEAR(MIN({sales.date})),MONTH(MIN({sales.date})),1)))",
    "Of the last twelve, from the first sale on.",
)
_START = "DATE(YEAR({sales_first_month}),MONTH({sales_first_month})+{line}-1,1)"

BY_MONTH = Grid(
    "by_sales_month",
    "By month, the last twelve",
    (
        Computed("month", "Month", "state", 'YEAR({start})&"-"&TEXT(MONTH({start}),"00")'),
        _sum("days", "Days sold on", "count", _OF_MONTH, "first"),
        _sum("taken", "Packs taken", "count", _OF_MONTH),
        _sum("sold", "Packs sold", "count", _OF_MONTH),
        _share("share_sold", "Share sold", "{sold}", "{taken}"),
        _share("share_assumed", "Share assumed", "{planned}", "{taken}"),
        *_costs(_OF_MONTH),
        Computed(
            "planned",
            "Packs sold as assumed",
            "number",
            _total("planned_sold", _OF_MONTH),
            is_working=True,
        ),
        Computed(
            "start",
            "From",
            "date",
            f'CHOOSE(1+({_START}<={{today}}),"",{_START})',
            is_working=True,
        ),
        Counter("line"),
    ),
    rows=MONTHS,
    totals=_ADDED_UP,
)
