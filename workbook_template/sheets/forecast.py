"""Forecast: the flushes still to come from the batches in progress, by week and strain.

A batch is expected to do what the Strains sheet uses of plan and own figures. Flushes that are
picked are not expected again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, dimension_of, unit_label
from workbook_template.schema.outlook import RANGE
from workbook_template.sheets import forecast_range as ranges
from workbook_template.sheets import forecast_spread as spread
from workbook_template.sheets.forecast_flushes import (
    EACH_FLUSH,
    WEEK_ENDS,
    WEEKLY,
    flushes,
    of_week,
    picked_in_week,
)
from workbook_template.sheets.forecast_weeks import EACH_STRAIN, WEEKS, by_week
from workbook_template.writing.blocks import (
    ROUNDING,
    Calculated,
    Check,
    Custom,
    Form,
    Lines,
    Sheet,
)

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings


_RULES = (
    "Days, losses and BE are those used on the Strains sheet: the plan at first, more and more "
    "your own as batches come in.",
    "A batch not moved yet counts its good blocks, but no more than the strain's losses leave. A "
    "flush counts as picked with its first harvest, and the next one follows from that day. "
    "Whatever is overdue is expected from today on. Days vary, so a flush may count in part for "
    "each of the weeks that it may come in.",
    spread.RULE,
    ranges.RULE,
    "Demand of this week covers all seven days: what was picked since Monday counts toward it, "
    "with what is expected from today on. A week is short if any strain is: a surplus of one "
    "strain does not fill the gap of another.",
)


def _in_week(strain: int) -> str:
    return of_week("due", f"expected_name_{strain}")


def _asked(strain: int) -> str:
    """Take a usual week's packs of a strain, and what one week wants more or less."""
    at = f"MATCH({{asked_name_{strain}}},{{strains.strain}},0)"
    return (
        f"SUMPRODUCT(({{plan_products.strain_row}}={at})*1,{{plan_products.packs}},"
        "{plan_products.fresh})"
        f"+SUMIFS({{unusual_weeks.fresh}},{{unusual_weeks.strain_row}},{at},{{unusual_weeks.week}},{{week}})"
        f"+SUMIFS({{orders.fresh}},{{orders.strain_row}},{at},"
        '{orders.market},"<="&({week}+{plan_market}),{orders.last},">="&({week}+{plan_market}))'
    )


def _balance(strain: int) -> str:
    columns = [f"INDEX({{{key}.strain_{strain}}},{{line}})" for key in ("expected", "asked")]
    name = f"{{balance_name_{strain}}}"
    picked = picked_in_week(f"balance_name_{strain}")
    return f"CHOOSE(1+({name}<>0),0,{columns[0]}+{picked}-{columns[1]})"


_AHEAD = (
    Calculated(
        "forecast_this_week",
        "Expected this week",
        "kg",
        "INDEX({expected.total},1)",
        "From today on, with what is overdue.",
        is_key=True,
    ),
    Calculated(
        "forecast_picked",
        "Picked this week so far",
        "kg",
        "INDEX({expected.picked},1)",
        "Since Monday; counts toward the demand of this week.",
    ),
    Calculated(
        "forecast_next_week", "Expected next week", "kg", "INDEX({expected.total},2)", is_key=True
    ),
    Calculated(
        "forecast_short",
        "Weeks short of demand",
        "count",
        'COUNTIF({balance.short},">"&{rounding})',
        "For any strain. Later weeks need batches that you still have to make: see the Week plan.",
        is_key=True,
    ),
    Calculated(
        "forecast_short_mass",
        "Short in these weeks",
        "kg",
        "SUM({balance.short})",
        "Of all strains that are short; a surplus of another strain is not subtracted.",
        is_key=True,
    ),
    Calculated("forecast_total", "Expected in 12 weeks", "kg", "SUM({expected.total})"),
    Calculated("forecast_asked", "Demand in 12 weeks", "kg", "SUM({asked.total})"),
    Calculated(
        "forecast_later",
        "Beyond 12 weeks",
        "kg",
        "+".join(f"SUM({{flushes.mass_{flush}}})" for flush in EACH_FLUSH)
        + f"-SUM({{flushes.come_{WEEKS}}})",
        "Expected later from the batches in progress.",
    ),
    Calculated(
        "forecast_batches",
        "Batches in progress",
        "count",
        "COUNT({batches.open_line})",
        "Made and not ended.",
    ),
)
_BASIS = (
    Calculated(
        "forecast_monday",
        "Monday of this week",
        "date",
        "{today}+1-WEEKDAY({today}-1)",
        "The first of the weeks begins with it.",
    ),
)


_PICKED = Computed(
    "picked",
    "Picked so far",
    "kg",
    'SUMIFS({harvests.fresh},{harvests.date},">="&{week},{harvests.date},"<"&({week}+7),'
    '{harvests.date},"<="&{today})',
)
_SHORT = Computed(
    "short", "Short", "kg", "+".join(f"MAX(0,0-N({{?strain_{number}}}))" for number in EACH_STRAIN)
)

_CHECKS = (
    Check(
        "Forecast: batches without a row in its list",
        "MAX(0,{forecast_batches}-ROWS({flushes.line}))",
    ),
    Check(
        "Forecast: strains without a row in its list",
        'COUNTA({strains.strain})-COUNTIF({used.strain},"?*")',
    ),
    Check(
        "Forecast: the weeks and what is beyond them add up to all flushes",
        "ABS({forecast_total}+{forecast_later}-"
        + "-".join(f"SUM({{flushes.mass_{flush}}})" for flush in EACH_FLUSH)
        + ")",
        ROUNDING,
    ),
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    return Sheet(
        name="Forecast",
        purpose="What the batches in progress will still yield, by week and strain.",
        blocks=[
            ranges.words(mass),
            Form("The weeks ahead", _AHEAD),
            Custom(ranges.CHART_ROWS, ranges.chart),
            ranges.RANGE,
            ranges.TWO_WEEKS,
            by_week("balance", f"Short (below 0) or over, {mass}", _balance, (_SHORT,)),
            Form(RANGE.title, RANGE.fields),
            Lines("How it is counted", _RULES, "farm text"),
            spread.SPREAD,
            by_week("expected", f"Expected, {mass}", _in_week, (_PICKED,)),
            *ranges.lists(mass),
            by_week("asked", f"Demand, {mass}", _asked),
        ],
        workings=[
            Form("Basis", _BASIS),
            WEEK_ENDS,
            ranges.REACH,
            spread.FARM,
            WEEKLY,
            ranges.VARIED,
            flushes(settings.batch_rows),
        ],
        printed_blocks=9,
        widths=(30, 11.5, 13, *(11.5,) * 4, 25, *(11.5,) * (len(EACH_STRAIN) - 7)),
        pages_high=1,
        checks=_CHECKS,
    )
