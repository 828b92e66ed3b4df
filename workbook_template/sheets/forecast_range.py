"""Forecast: low and high of each week, and the chance to meet its demand.

What comes in a week is taken as normal, and never below nothing: what is expected of it, and the
variance of all flushes that may fall into it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter, dimension_of
from workbook_template.schema.materials import STRAINS
from workbook_template.sheets.forecast_flushes import of_week, picked_in_week
from workbook_template.sheets.forecast_weeks import (
    EACH_STRAIN,
    MONTH_AND_DAY,
    WEEK,
    WEEKS,
    by_week,
)
from workbook_template.sheets.money_text import whole_words
from workbook_template.writing.blocks import Calculated, Custom, Form, Grid
from workbook_template.writing.charts import Chart, add_chart

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

CHART_ROWS = 15
REACH = Form(
    "Range",
    (
        Calculated(
            "forecast_reach",
            "Standard deviations to low and high",
            "number",
            "NORMSINV(AVERAGE({forecast_range},1))",
            "Of a normal distribution.",
        ),
    ),
)


def _in(table: str, column: str) -> str:
    return f"INDEX({{{table}.{column}}},{{line}})"


def _end(sign: str, column: str) -> str:
    """Write the low or the high end of what comes in the week of the row."""
    reach = f"{{forecast_reach}}*SQRT({_in('varied', column)})"
    return f"MAX(0,{_in('expected', column)}{sign}{reach})"


def _chance(column: str, picked: str) -> str:
    """Write the chance that what was picked and what comes is no less than the demand."""
    missing = f"({_in('asked', column)}-{picked}-{_in('expected', column)})"
    variance = _in("varied", column)
    surely = f"({missing}<=0)*1"
    likely = f"1-NORMSDIST({missing}/SQRT({variance}))"
    return f'CHOOSE(1+({_in("asked", column)}>0),"",CHOOSE(1+({variance}>0),{surely},{likely}))'


VARIED = by_week(
    "varied",
    "Variance, by week and strain",
    lambda number: of_week("off", f"varied_name_{number}"),
    unit="number",
)


def _range_of(key: str, title: str, sign: str) -> Grid:
    def of_strain(number: int) -> str:
        picked = picked_in_week(f"{key}_name_{number}")
        return f"{_end(sign, f'strain_{number}')}+{picked}"

    total = f"{_end(sign, 'total')}+{_in('expected', 'picked')}"
    return by_week(key, title, of_strain, total=total)


def _percent(share: str) -> str:
    """Write a chance in whole percent; none is so sure that it is 0 or 100."""
    return (
        f'CHOOSE(1+(ROUND({share},2)>0)+(ROUND({share},2)>=1),"under 1%",TEXT({share},"0%"),'
        '"over 99%")'
    )


_CHANCES = ",".join(f"{{?strain_{number}}}" for number in EACH_STRAIN)


def _first_least() -> str:
    """Write the number of the strain with the least chance, the first of several."""
    first = "1"
    for number in reversed(EACH_STRAIN[:-1]):
        first = f"1+({{?strain_{number}}}<>{{least}})*({first})"
    return first


_NAMES = ",".join(f'{{?chance_name_{number}}}&""' for number in EACH_STRAIN)
_LEAST = (
    Computed(
        "least",
        "Least of them",
        "fraction",
        f'CHOOSE(1+(COUNT({_CHANCES})>0),"",MIN({_CHANCES}))',
    ),
    Computed(
        "least_name",
        "Strain with the least",
        "state",
        f"CHOOSE({_first_least()},{_NAMES})&LEFT({{least}},0)",
    ),
)


def lists(mass: str) -> tuple[Grid, Grid, Grid]:
    """Return low, high and chance by week and strain, in a unit of mass."""
    chances = by_week(
        "chance",
        "Chance to meet demand, by strain",
        lambda number: _chance(f"strain_{number}", picked_in_week(f"chance_name_{number}")),
        unit="fraction",
        more=_LEAST,
        total='CHOOSE(1+(COUNT(%s)>0),"",PRODUCT(%s))',
        total_label="Every strain",
    )
    return (
        _range_of("low", f"Low, what is picked included, {mass}", "-"),
        _range_of("high", f"High, what is picked included, {mass}", "+"),
        chances,
    )


RANGE = Grid(
    "range",
    "Low to high, what is picked included",
    (
        Computed("week", "Week of", "date", WEEK),
        Computed("low", "Low", "kg", f"{_in('low', 'total')}*1"),
        Computed(
            "middle", "Expected", "kg", f"{_in('expected', 'total')}+{_in('expected', 'picked')}"
        ),
        Computed("high", "High", "kg", f"{_in('high', 'total')}*1"),
        Computed("demand", "Demand", "kg", f"{_in('asked', 'total')}*1"),
        Computed(
            "chance",
            "Chance of enough, in total",
            "fraction",
            _chance("total", _in("expected", "picked")),
        ),
        Computed(
            "each",
            "Chance of enough, every strain",
            "fraction",
            f'CHOOSE(1+COUNT({_in("chance", "total")}),"",{_in("chance", "total")})',
        ),
        Computed(
            "least",
            "Least sure of enough",
            "state",
            f'CHOOSE(1+COUNT({_in("chance", "least")}),"",'
            f'{_in("chance", "least_name")}&": "&{_percent(_in("chance", "least"))})',
        ),
        Computed("day", "Month and day", "state", MONTH_AND_DAY, is_working=True),
        Counter("line"),
    ),
    rows=WEEKS,
)
"""What charts and sentences show: of all strains."""


def _of_two_weeks(week: int, label: str) -> tuple[Computed, ...]:
    def pick(table: str) -> str:
        cells = ",".join(f"N(INDEX({{{table}.strain_{n}}},{week}))" for n in EACH_STRAIN)
        return f"CHOOSE({{line}},{cells})"

    has_demand = f"({{demand_{week}}}>0)"
    return (
        Computed(f"low_{week}", f"{label}: low", "kg", pick("low")),
        Computed(
            f"middle_{week}",
            f"{label}: expected",
            "kg",
            f"{{demand_{week}}}+{pick('balance')}",
        ),
        Computed(f"high_{week}", f"{label}: high", "kg", pick("high")),
        Computed(f"demand_{week}", f"{label}: demand", "kg", pick("asked")),
        Computed(
            f"chance_{week}",
            f"{label}: chance",
            "fraction",
            f'CHOOSE(1+{has_demand},"",{pick("chance")})',
        ),
    )


TWO_WEEKS = Grid(
    "two_weeks",
    "This week and next, by strain",
    (
        Computed("strain", "Strain", "state", 'INDEX({used.strain},{line})&""'),
        *(
            Computed(one.key, one.label, one.unit, f'CHOOSE(1+({{strain}}<>""),"",{one.formula})')
            for week, label in ((1, "This week"), (2, "Next week"))
            for one in _of_two_weeks(week, label)
        ),
        Counter("line"),
    ),
    rows=STRAINS.rows,
)


def _of_this_week(column: str) -> str:
    return f"N(INDEX({{range.{column}}},1))"


def sentence(mass: str) -> str:
    """Write what is likely this week."""

    def rounded(column: str) -> str:
        return whole_words(f"ROUND({_of_this_week(column)},0)")

    come = (
        f'"This week: "&{rounded("low")}&" to "&{rounded("high")}&" {mass} ("'
        '&TEXT({forecast_range},"0%")&" sure), what is picked included."'
    )
    asked = (
        f'" Demand "&{rounded("demand")}&" {mass}: the chance of enough is "'
        f'&{_percent(_of_this_week("chance"))}&" in total, and lowest for "'
        '&INDEX({range.least},1)&"."'
    )
    none = '"Nothing to come yet: no batch is in progress."'
    some = f'{come}&CHOOSE(1+({_of_this_week("demand")}>0)," There is no demand.",{asked})'
    return f"IFERROR(CHOOSE(1+({{?forecast_batches}}>0),{none},{some}),{none})"


def _place(writer: Writer, row: int) -> None:
    writer.place_cell("forecast_words", row, 1, is_input=False, is_text=True)


def words(mass: str) -> Custom:
    """Return the row of the sentence."""

    def write(writer: Writer, row: int) -> None:
        writer.wide_text(row, "", "farm text")
        writer.formula(row, 1, sentence(mass), dimension_of("state"), "farm text", waits=False)

    return Custom(1, write, _place)


def chart(writer: Writer, row: int) -> None:
    """Draw the harvest to come with its range against demand."""
    add_chart(
        writer,
        row,
        Chart(
            title="Is the harvest to come enough for demand?",
            categories="range.day",
            values=["range.middle", "range.demand"],
            bounds=["range.low", "range.high"],
            names=["Picked and expected", "Demand", "Low", "High"],
            category_title="Week of, month and day",
            value_title=writer.unit(dimension_of("kg")),
            description="Lines over the 12 weeks from this one: the fresh mass picked and "
            "expected from the batches in progress, dotted its low and high end, and the demand "
            "of the Products and Orders sheets.",
            kind="line",
            number_format="#,##0",
            height=7.0,
            width=28.0,
        ),
    )


RULE = (
    "Low to high: from how much batches differ in the mass and the day of a flush, from losses "
    "still to come, and from how few batches the figures come from. What hits every batch at "
    "once, such as a heat wave, is not in it."
)
