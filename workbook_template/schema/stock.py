"""Deliveries, counts of the shelf, and how to order: what comes in of every ingredient."""

from __future__ import annotations

from workbook_template.schema.batch_materials import so_far
from workbook_template.schema.columns import (
    FIRST_DATE,
    NOTE,
    after_today,
    line_of,
    long_before,
    place_of,
)
from workbook_template.schema.fields import ASSUMPTION, Computed, Field, Rule, Section, Table
from workbook_template.schema.materials import RECIPE_NUMBERS, takes

_ITEM = Field(
    "item",
    "Item",
    "choice",
    choices="ingredients.ingredient",
    help="From the Ingredients sheet.",
    width=26.0,
)


def _date(help_text: str) -> Field:
    return Field("date", "Date", "date", FIRST_DATE, help_text)


def _in_order(table: str, last: str) -> tuple[Computed, ...]:
    """Make the columns that put the rows of a log in the order of their days."""
    return (
        Computed(
            "day",
            "Day it counts from",
            "number",
            f"(COUNT({{?{last}}})*COUNT({{?at_item}})>0)*(N({{?date}})<={{today}})*INT(N({{?date}}))",
            "Its date; 0 where the date, the item or the amount is not known.",
            is_working=True,
        ),
        Computed(
            "turn",
            "Turn",
            "number",
            f"({{day}}>0)*({{day}}+N({{?line}})/(1+ROWS({{{table}.date}})))",
            "The day, and after the decimal point a part of a day that tells rows apart.",
            is_working=True,
        ),
        place_of("at_item", "Row of the item", "ingredients.ingredient", choice="item"),
        line_of(table, "date"),
    )


def counted(item: str, before: str = "") -> str:
    """Write the turn of the latest count of an item, before a day where one is given, or 0."""
    early = f"*({{counts.day}}<{before})" if before else ""
    return f"SUMPRODUCT(MAX(({{counts.at_item}}={item}){early}*{{counts.turn}}))"


def amount_counted(turn: str) -> str:
    """Write how much a count found, by its turn; 0 where there is none."""
    return f"CHOOSE(1+({turn}>0),0,INDEX({{counts.amount}},MATCH({turn},{{counts.turn}},0)))"


def _turn_where(key: str, label: str, column: str) -> Computed:
    """Make the column of the turn where something is known of the delivery, 0 elsewhere."""
    formula = f"{{turn}}*COUNT({{?{column}}})"
    note = "The largest of an item is that of its latest delivery."
    return Computed(key, label, "number", formula, note, is_working=True)


_USED_SO_FAR = "+".join(
    f"INDEX({{stock.{takes(number)}}},{{at_item}})*{{batches.{so_far(number)}}}"
    for number in RECIPE_NUMBERS
)
"""What batches had used of the item by the end of their day, a figure for each batch."""


def _used_by(condition: str) -> str:
    """Write what was used of the item by the days that a condition on them leaves."""
    return f"SUMPRODUCT(MAX(({{batches.mixed_on}}{condition})*({_USED_SO_FAR})))"


def _first_day(condition: str) -> str:
    """Write how long ago the first day was, from tomorrow, by which so much was used; or 0."""
    return (
        f"SUMPRODUCT(MAX(({{batches.mixed_on}}>={{day}})*(({_USED_SO_FAR}){condition})"
        "*({today}+1-{batches.mixed_on})))"
    )


def _lot_day(key: str, label: str, back: str, note: str) -> Computed:
    formula = f'CHOOSE(1+({back}>0),"",{{today}}+1-{back})'
    return Computed(key, label, "date", formula, note)


DELIVERIES = Table(
    "deliveries",
    "Deliveries",
    (
        _date("The day it came in."),
        _ITEM,
        Field(
            "lot",
            "Lot",
            "text",
            help="What the bag or the ticket says.",
            required=False,
            width=14.0,
        ),
        Field("amount", "Amount", "kg", "above 0", "All of it, as weighed or as on the ticket."),
        Field(
            "price",
            "Price paid",
            "money",
            "0 or more",
            "For all of it, delivered.",
            required=False,
        ),
        Field(
            "moisture",
            "Measured moisture",
            "fraction",
            "0 to below 1",
            "Wet basis, if you dried a sample. The Mix card weighs out by it.",
            lowest=0.01,
            usual=0.06,
            required=False,
        ),
        NOTE,
        Computed(
            "unit_price",
            "Price",
            "money/kg",
            'CHOOSE(1+COUNT({price}),"",N({price})/{amount})',
            "Of this delivery.",
        ),
        _lot_day(
            "first_used",
            "First used",
            "{first_back}",
            "The first batch that took from it, if the oldest on the shelf goes first.",
        ),
        _lot_day(
            "last_used",
            "Last used",
            "{last_back}",
            "The batch that used it up, or the latest so far. Those in between may hold it.",
        ),
        *_in_order("deliveries", "amount"),
        _turn_where("latest_price_turn", "Turn, with a price", "unit_price"),
        _turn_where("latest_moisture_turn", "Turn, with a moisture", "moisture"),
        Computed(
            "count_turn",
            "Turn of the count before",
            "number",
            f"CHOOSE(1+({{day}}>0),0,{counted('{at_item}', '{day}')})",
            "Of the latest count of the item before the day; 0 without one.",
            is_working=True,
        ),
        Computed(
            "used_before",
            "Used before",
            "kg",
            f'CHOOSE(1+({{day}}>0),"",{_used_by("<{day}")})',
            "Of the item, by the batches made before the day.",
            is_working=True,
        ),
        Computed(
            "queue",
            "Used until it is opened",
            "kg",
            f"{{used_before}}+MAX(0,{amount_counted('{count_turn}')}"
            "+SUMIFS({deliveries.amount},{deliveries.at_item},{at_item},{deliveries.day},"
            '">"&INT({count_turn}),{deliveries.day},"<"&{day})'
            "+SUMIFS({deliveries.amount},{deliveries.at_item},{at_item},{deliveries.day},{day},"
            '{deliveries.line},"<"&{line})'
            f"-({{used_before}}-{_used_by('<=INT({count_turn})')}))",
            "What batches use of the item until all that stood before it on the shelf is gone.",
            is_working=True,
        ),
        Computed(
            "first_back",
            "Back to the first batch",
            "d",
            _first_day(">{queue}+{rounding}"),
            "From tomorrow; 0 where no batch has taken from it yet.",
            is_working=True,
        ),
        Computed(
            "last_back",
            "Back to the last batch",
            "d",
            "CHOOSE(1+({first_back}>0),0,"
            + _first_day(">=MIN({queue}+{amount},INDEX({stock.used_so_far},{at_item}))-{rounding}")
            + ")",
            "From tomorrow; 0 where no batch has taken from it yet.",
            is_working=True,
        ),
    ),
    rows=10,
    unique=False,
    faults=(after_today("date"),),
    warnings=(
        long_before("deliveries", "date"),
        Rule(
            "price",
            "far from the price on the Ingredients sheet",
            "(N({price})>0)*COUNT({unit_price})"
            "*COUNT(INDEX({ingredients.price_listed},{at_item}))"
            "*(({unit_price}>{times_off}*INDEX({ingredients.price_listed},{at_item}))"
            "+({unit_price}*{times_off}<INDEX({ingredients.price_listed},{at_item}))>0)",
        ),
    ),
)

COUNTS = Table(
    "counts",
    "Shelf counts",
    (
        _date("Counted in the evening: what came in or was mixed that day is in the count."),
        _ITEM,
        Field("amount", "On the shelf", "kg", "0 or more", "All lots and opened bags together."),
        NOTE,
        *_in_order("counts", "amount"),
    ),
    rows=10,
    unique=False,
    faults=(after_today("date"),),
    warnings=(
        long_before("counts", "date"),
        Rule(
            "item",
            "counted twice on that day; the lower row counts",
            "({day}>0)*(COUNTIFS({counts.at_item},{at_item},{counts.day},{day})>1)",
        ),
    ),
)

STOCK = Section(
    "Ordering",
    (
        Field(
            "stock_weeks",
            "Weeks to order for",
            "number",
            "above 0 to 52",
            "How long an order lasts, from the day on which you would run out.",
            default=4.0,
            source=ASSUMPTION,
        ),
        Field(
            "spawn_lead",
            "Lead time of spawn",
            "d",
            "0 to 365",
            "From the order to the day it is in your cooler. Of ingredients: Ingredients sheet.",
            default=14.0,
            source=ASSUMPTION,
        ),
        Field(
            "stock_back",
            "Weeks to look back",
            "number",
            "above 0 to 52",
            "What the batches used lately is counted over so many weeks.",
            default=4.0,
            source=ASSUMPTION,
        ),
    ),
)
