"""The budget by month, from the logs.

What a block cost is kept with its batch, as one figure. Its steps are those of today's Costing; the
difference to what was kept has a column of its own, so that each month adds up to what its batches
cost. Equipment, overhead and the energy of rooms count by days, whatever was started.
"""

from __future__ import annotations

from workbook_template.schema.columns import MONTH
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import RECIPES
from workbook_template.sheets.year_products import MONTHS, of_each_month
from workbook_template.writing.blocks import Calculated, Form, Grid

_LINE = Counter("line")


def _within(column: str, date: str) -> str:
    """Add up a column of a log over the days of the row that count."""
    return f'SUMIFS({{{column}}},{{{date}}},">="&{{from}},{{{date}}},"<"&{{until}})'


def _made(column: str) -> str:
    return _within(f"batches.{column}", "batches.made")


def _of_recipes(column: str) -> str:
    return f"SUMIFS({{year_recipes.{column}}},{{year_recipes.month}},{{line}})"


def _of_packs(column: str) -> str:
    return f"SUMIFS({{year_packs.{column}}},{{year_packs.month}},{{line}})+0*{{days}}"


RECIPE_BLOCKS = Grid(
    "year_recipes",
    "Blocks made by month and recipe",
    (
        _LINE,
        *of_each_month("recipe_costs.line"),
        Computed(
            "blocks",
            "Blocks",
            "number",
            "SUMIFS({batches.bags},{batches.recipe},INDEX({recipe_costs.recipe},{at}),"
            '{batches.made},">="&INDEX({year_months.from},{month}),'
            '{batches.made},"<"&INDEX({year_months.until},{month}))',
        ),
        Computed(
            "ingredients",
            "Ingredients",
            "money",
            "{blocks}*INDEX({recipe_costs.ingredients},{at})",
        ),
        Computed("steam", "Steam energy", "money", "{blocks}*INDEX({recipe_costs.steam},{at})"),
        Computed(
            "labor",
            "Labor: mixing",
            "money",
            "{blocks}*(INDEX({recipe_costs.mixing},{at})+INDEX({recipe_costs.half_empty},{at}))",
        ),
    ),
    rows=MONTHS * RECIPES.rows,
)

_MONTH = MONTH % ("first", "first")
_STEPS = (
    Computed("ingredients", "Ingredients", "money", _of_recipes("ingredients"), is_working=True),
    Computed("bags", "Bags", "money", "{blocks}*{bag_price}", is_working=True),
    Computed("spawn", "Spawn", "money", f"{_made('spawn')}*{{spawn_price}}", is_working=True),
)
VARIABLE = (
    ("fees", "Market fees", _within("sales.fees", "sales.date")),
    ("travel", "Travel", _within("sales.travel", "sales.date")),
    ("materials", "Ingredients, bags, spawn", "{ingredients}+{bags}+{spawn}"),
    ("steam", "Steam energy", f"{_of_recipes('steam')}+{{blocks}}*{{cost_half_energy}}"),
    (
        "block_labor",
        "Labor: blocks",
        f"{_of_recipes('labor')}+{{blocks}}*({{cost_filling}}+{{cost_steaming}}"
        "+{cost_inoculating}+{cost_moving}+{cost_half_steamer})",
    ),
    (
        "kept",
        "Blocks made at other prices",
        f"{_made('cost')}-{_made('fixed_cost')}-{{materials}}-{{steam}}-{{block_labor}}",
    ),
    ("picking", "Labor: picking", _within("harvests.picking_cost", "harvests.date")),
    ("goods", "Packs, drying energy", _of_packs("goods")),
    ("packing", "Labor: packing", _of_packs("labor")),
    ("selling", "Labor: selling", "{selling_hours}*{year_hour_cost}"),
)
"""What rises and falls with the blocks and the packs: key, label, template."""
LABOR = ("block_labor", "picking", "packing", "selling")

MONTHLY = Grid(
    "year_months",
    "By month, from the logs",
    (
        Computed("month", "Month", "state", f'CHOOSE(1+COUNT({{?from}}),"",{_MONTH})'),
        Computed("days", "Days", "d", "{until}-{from}"),
        Computed("income", "Income", "money", _within("sales.income", "sales.date")),
        *(Computed(key, label, "money", template) for key, label, template in VARIABLE),
        Computed(
            "contribution",
            "Contribution",
            "money",
            "{income}-" + "-".join(f"{{{key}}}" for key, _, _ in VARIABLE),
        ),
        Computed("fixed", "Fixed costs", "money", "{year_fixed}*{days}/365"),
        Computed("profit", "Profit", "money", "{contribution}-{fixed}"),
        Computed(
            "hours",
            "Work",
            "h",
            "({block_labor}+{picking}+{packing})/{year_hour_cost}+{selling_hours}",
        ),
        *_STEPS,
        Computed(
            "standing", "Fixed costs in the blocks", "money", _made("fixed_cost"), is_working=True
        ),
        Computed("blocks", "Blocks made", "count", _made("bags"), is_working=True),
        Computed(
            "selling_hours",
            "Selling",
            "h",
            _within("sales.hours", "sales.date"),
            is_working=True,
        ),
        Computed(
            "fresh",
            "Fresh mass sold",
            "kg",
            _within("sales.fresh_sold", "sales.date"),
            is_working=True,
        ),
        Computed(
            "whole",
            "A year at the rate of a whole month",
            "money",
            'CHOOSE(1+({first}={from})*({until}={next}),"",{profit}/{days}*365)',
            is_working=True,
        ),
        Computed(
            "first",
            "First day of the month",
            "date",
            "DATE(YEAR({year_begin}),MONTH({year_begin})+{line}-1,1)",
            is_working=True,
        ),
        Computed(
            "next",
            "First day of the next",
            "date",
            "DATE(YEAR({year_begin}),MONTH({year_begin})+{line},1)",
            is_working=True,
        ),
        Computed(
            "from",
            "Counts from",
            "date",
            "CHOOSE(1+(MAX({first},{year_begin})<MIN({next},{year_end})),"
            '"",MAX({first},{year_begin}))',
            is_working=True,
        ),
        Computed(
            "until",
            "Counts to before",
            "date",
            'CHOOSE(1+COUNT({?from}),"",MIN({next},{year_end}))',
            is_working=True,
        ),
        _LINE,
    ),
    rows=MONTHS,
)

DAYS = Form(
    "The days that count",
    (
        Calculated(
            "year_first",
            "First month begins",
            "date",
            "CHOOSE(1+COUNT({?year_from}),DATE(YEAR({today}),MONTH({today})-12+1,1),"
            "DATE(YEAR(N({?year_from})),MONTH(N({?year_from})),1))",
        ),
        Calculated(
            "year_begin",
            "Counts from",
            "date",
            'CHOOSE(1+(COUNT({sales.date})>0),"",MAX({year_first},MIN({sales.date})))',
        ),
        Calculated(
            "year_end",
            "Counts to before",
            "date",
            "MIN({today}+1,DATE(YEAR({year_first})+1,MONTH({year_first}),1))",
        ),
        Calculated("year_days", "Days", "d", "MAX(0,{year_end}-{year_begin})"),
        Calculated("year_fixed", "Fixed costs of a year", "money", "{year_rooms}+{year_standing}"),
        Calculated(
            "year_hour_cost",
            "An hour of work",
            "money",
            "CFX.LABOR_COST(60,{hourly_wage},{burden})",
        ),
    ),
)
