"""The budget line by line: a year of usual weeks, its part for the days logged, and the logs."""

from __future__ import annotations

from typing import NamedTuple

from workbook_template.schema.fields import Computed
from workbook_template.sheets.costing_parts import NUMBER, chosen
from workbook_template.sheets.costing_year import A_YEAR
from workbook_template.sheets.year_months import LABOR
from workbook_template.writing.blocks import Calculated, Form, Grid


class _Line(NamedTuple):
    """A line of the budget: its words, what is planned of it in a year, what the logs have."""

    words: str
    planned: str
    logged: str


def _planned(column: str) -> str:
    return f"SUM({{year_planned.{column}}})"


def _logged(column: str) -> str:
    return f"SUM({{year_months.{column}}})"


_VARIABLE = (
    _Line("Market fees", _planned("fees"), _logged("fees")),
    _Line("Delivery and travel", _planned("delivery"), _logged("travel")),
    _Line("Ingredients", "SUM({plan_costs.ingredients})", _logged("ingredients")),
    _Line("Bags", "{year_blocks}*{bag_price}", _logged("bags")),
    _Line("Spawn", f"{{usual_spawn}}{A_YEAR}*{{spawn_price}}", _logged("spawn")),
    _Line("Steam energy", "{year_steam}*1", _logged("steam")),
    _Line("Labor: blocks", "{year_work}*1", _logged("block_labor")),
    _Line("Blocks made at other prices", "0", _logged("kept")),
    _Line("Labor: picking", _planned("picking"), _logged("picking")),
    _Line("Packs, drying energy", _planned("goods"), _logged("goods")),
    _Line("Labor: packing, drying", _planned("labor"), _logged("packing")),
    _Line("Labor: selling", "{year_selling}*1", _logged("selling")),
)
_FIXED = (
    _Line("Room energy", "{year_rooms}*1", "{year_rooms}*{year_days}/365"),
    _Line(
        "Equipment",
        "{cost_equipment}*{blocks_per_year}",
        "{cost_equipment}*{blocks_per_year}*{year_days}/365",
    ),
    _Line(
        "Overhead",
        "{cost_overhead}*{blocks_per_year}",
        "{cost_overhead}*{blocks_per_year}*{year_days}/365",
    ),
)
_TOTALS = (
    _Line("Variable costs", "{year_variable}*1", "{year_variable_logged}*1"),
    _Line(
        "Contribution",
        "{year_income}-{year_variable}",
        "{year_income_logged}-{year_variable_logged}",
    ),
)
_ENDS = (
    _Line("Fixed costs", "{year_fixed}*1", "{year_fixed}*{year_days}/365"),
    _Line("Profit", "{year_profit}*1", "{year_profit_logged}*1"),
    _Line(
        "Idle capacity in it",
        "{year_idle}*1",
        f"{{year_fixed}}*{{year_days}}/365-{_logged('standing')}",
    ),
)
_INCOME = _Line("Income", "{year_income}*1", "{year_income_logged}*1")
_LINES = (_INCOME, *_VARIABLE, *_TOTALS, *_FIXED, *_ENDS)


def _each(column: str) -> str:
    return chosen(*(getattr(line, column) for line in _LINES))


BUDGET = Grid(
    "year_budget",
    "The budget: planned and from the logs",
    (
        Computed("line", "Line", "state", chosen(*(f'"{line.words}"' for line in _LINES))),
        Computed("planned", "Planned, a year", "money", _each("planned")),
        Computed("for_days", "Planned, these days", "money", "{planned}*{year_days}/365"),
        Computed("logged", "From the logs", "money", _each("logged")),
        Computed("difference", "Difference", "money", "ROUND({logged}-{for_days},2)"),
        Computed(
            "share",
            "Share of income",
            "fraction",
            'CHOOSE(1+({year_income_logged}>0),"",{logged}/{year_income_logged})',
        ),
        NUMBER,
    ),
    rows=len(_LINES),
)


def _total(lines: tuple[_Line, ...], column: str) -> str:
    return "+".join(getattr(line, column) for line in lines)


SUMS = Form(
    "Sums of the budget",
    (
        Calculated("year_income", "Income planned", "money", _planned("income")),
        Calculated(
            "year_selling_hours",
            "Hours of selling in a year, at the rate logged",
            "h",
            f"{_logged('selling_hours')}/MAX(1,N({{?year_days}}))*365",
        ),
        Calculated("year_selling", "Labor of it", "money", "{year_selling_hours}*{year_hour_cost}"),
        Calculated(
            "year_variable", "Variable costs planned", "money", _total(_VARIABLE, "planned")
        ),
        Calculated(
            "year_profit", "Profit planned", "money", "{year_income}-{year_variable}-{year_fixed}"
        ),
        Calculated(
            "year_income_logged", "Income", "money", _logged("income"), waits_for=("year_begin",)
        ),
        Calculated(
            "year_variable_logged",
            "Variable costs",
            "money",
            _total(_VARIABLE, "logged"),
            waits_for=("year_begin",),
        ),
        Calculated(
            "year_profit_logged",
            "Profit",
            "money",
            "{year_income_logged}-{year_variable_logged}-{year_fixed}*{year_days}/365",
        ),
        Calculated(
            "year_labor_planned",
            "Labor planned",
            "money",
            f"{{year_work}}+{_planned('picking')}+{_planned('labor')}+{{year_selling}}",
        ),
        Calculated(
            "year_hours_planned",
            "Hours planned",
            "h",
            f"{{usual_work}}{A_YEAR}+{_planned('hours')}+{{year_selling_hours}}",
        ),
        Calculated(
            "year_labor_logged",
            "Labor",
            "money",
            "+".join(_logged(key) for key in LABOR),
            waits_for=("year_begin",),
        ),
        Calculated("year_hours_logged", "Hours", "h", _logged("hours"), waits_for=("year_begin",)),
        Calculated("year_months_whole", "Whole months", "count", "COUNT({year_months.whole})"),
    ),
)

_RATE = "({year_profit_logged}/{year_days}*365)"
_HALF = (
    "TINV(1-{results_confidence},{year_months_whole}-1)*STDEV({year_months.whole})"
    "/SQRT({year_months_whole})"
)


def _end(sign: str) -> str:
    return f'CHOOSE(1+({{year_months_whole}}>=3),"",{_RATE}{sign}{_HALF})'


_SOLD = _logged("fresh")
COMES_TO = (
    Calculated(
        "year_earns_planned",
        "An hour of work earns, planned",
        "money/h",
        "({year_profit}+{year_labor_planned})/{year_hours_planned}",
        "Profit and the labor counted as cost, over all hours.",
        is_key=True,
    ),
    Calculated(
        "year_earns",
        "An hour of work earns, from the logs",
        "money/h",
        "({year_profit_logged}+{year_labor_logged})/{year_hours_logged}",
        "With the hours of selling. More than the wage: the farm pays.",
        is_key=True,
    ),
    Calculated(
        "year_rate",
        "Profit of a year at this rate",
        "money/year",
        _RATE,
        "Days logged, brought to a year.",
        is_key=True,
    ),
    Calculated(
        "year_rate_low",
        "Lowest",
        "money/year",
        _end("-"),
        "As far as the whole months differ (Student's t); from 3 months on.",
    ),
    Calculated("year_rate_high", "Highest", "money/year", _end("+"), "Upper end of the interval."),
    Calculated(
        "year_of_space",
        "Profit of a fruiting shelf space",
        "money/year",
        "{year_rate}/{fruiting_places}",
        "At this rate.",
    ),
    Calculated(
        "year_of_area",
        "Profit of the rooms' floor",
        "money/m²",
        "{year_rate}/SUMPRODUCT({rooms.length},{rooms.width})",
        "At this rate, a year; floor of all rooms on the Rooms sheet.",
    ),
    Calculated(
        "year_even_income",
        "Break-even income",
        "money/year",
        "CHOOSE(1+({year_income_logged}>{year_variable_logged}),"
        '"",{year_fixed}*{year_income_logged}/({year_income_logged}-{year_variable_logged}))',
        "What a year has to bring in to cover fixed costs, at the contribution logged.",
    ),
    Calculated(
        "year_even_mass",
        "Break-even fresh mass",
        "kg",
        f'CHOOSE(1+({_SOLD}>0),"",{{year_even_income}}*{_SOLD}/{{year_income_logged}})',
        "Sold in a year, at the income by mass logged; dried counts as picked.",
    ),
    Calculated(
        "year_even_price",
        "Break-even price",
        "money/kg",
        f'CHOOSE(1+({_SOLD}>0),"",({{year_income_logged}}-{{year_profit_logged}})/{_SOLD})',
        "All costs of these days over the fresh mass sold.",
    ),
)
