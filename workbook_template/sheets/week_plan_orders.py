"""What each order takes: how many blocks more are started for it than without it, when, and where.

Without an order the plan would start what the markets of that start lack less what the order asks
of them there. Starts before it rest on other markets, so nothing else has to be planned again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import used_in
from workbook_template.schema.orders import ORDERS
from workbook_template.schema.room_rows import STAGES
from workbook_template.sheets.week_plan_crops import LINE, enough_for, in_steps, of_crop
from workbook_template.sheets.week_plan_needs import UNTIL_NEXT, good_until_next, in_week
from workbook_template.sheets.week_plan_stations import CAPACITIES
from workbook_template.writing.blocks import Check, Grid
from workbook_template.writing.week_grid import WEEKS

if TYPE_CHECKING:
    from workbook_template.writing.layout import Entries

TOO_LATE, OVER = "Too late", "over capacity"
"""What an answer says where an order can't be met, or not without more room."""


def _of_order(column: str) -> str:
    return f"INDEX({{orders.{column}}},{{line}})"


def _of_needs(column: str) -> str:
    return f"INDEX({{crop_weeks.{column}}},{{number}})"


def _start_of(column: str) -> str:
    """Look up a column of the starts, in the row of the one for the order."""
    return f"INDEX({{starts.{column}}},{{at}})"


def _delivery() -> tuple[Computed, ...]:
    """Make the columns of the delivery that is answered: the next one, or the first in time."""
    monday = f"({{next}}-{{plan_market}}-7*{of_crop('ahead')})"
    return (
        Computed("number", "Crop number", "count", f"{_of_order('crop')}*1"),
        Computed(
            "amount",
            "Wanted of its crop",
            "number",
            f"CHOOSE(1+{of_crop('as_block')},{_of_order('fresh')},{_of_order('blocks')})*1",
        ),
        Computed(
            "next",
            "Market day of the next delivery",
            "date",
            f'CHOOSE(1+({_of_order("last")}>={{next_market}}),"",'
            f"MAX({_of_order('market')},{{next_market}})+0*{{amount}})",
        ),
        Computed("earliest", "First market in time", "date", f"{_of_needs('earliest')}*1"),
        Computed(
            "turn",
            "Weeks from the first market",
            "count",
            f"MOD(({monday}-{of_crop('begun')})/7,{of_crop('every')})",
            "Of the markets that its start is for.",
        ),
        Computed("late", "Too late for it", "count", "({next}-7*{turn}<{earliest})*1"),
        Computed(
            "ready",
            "Market day answered",
            "date",
            f"CHOOSE(1+{{late}}*({_of_order('last')}>={{earliest}}),{{next}},{{earliest}})",
        ),
        Computed("opens", "First market of its start", "date", "{ready}-7*{turn}*(1-{late})"),
        Computed(
            "week",
            "Number of the week of its start",
            "count",
            f'CHOOSE(1+({{opens}}>={{earliest}}),"",'
            f"ROUND(({{opens}}-{{plan_market}}-7*{of_crop('ahead')}-{{plan_monday}})/7,0)+1)",
            "Blank where it is too late to start.",
        ),
        Computed(
            "start", "Start on", "date", f"MAX({{today}},{{opens}}-{of_crop('lead')})+0*{{week}}"
        ),
        Computed(
            "planned", "Week of the plan", "count", f'CHOOSE(1+({{week}}<={WEEKS}),"",{{week}}*1)'
        ),
    )


def _lacks(later: int) -> Computed:
    """Make the column of what a market of the start would lack without the order."""
    market = f"({{opens}}+7*{later})"
    is_asked = f"({market}>={_of_order('market')})*({market}<={_of_order('last')})"
    nets = ",".join(_of_needs(f"net_{week}_{later}") for week in range(1, WEEKS + 1))
    return Computed(
        f"lacks_{later}",
        f"Without it lacking, {later} later",
        "number",
        f"CHOOSE({{planned}},{nets})-{{amount}}*{is_asked}",
    )


def _worth(later: int) -> Computed:
    return Computed(
        f"worth_{later}",
        f"A good block gives, {later} later",
        "number",
        f"CHOOSE(1+({{planned}}=1),{_of_needs(f'worth_{later}')},{_of_needs(f'first_{later}')})*1",
    )


_BLOCKS = (
    *map(_lacks, UNTIL_NEXT),
    *map(_worth, UNTIL_NEXT),
    Computed(
        "good",
        "Good blocks without it",
        "number",
        good_until_next(
            *([f"{{{key}_{one}}}" for one in UNTIL_NEXT] for key in ("lacks", "worth"))
        ),
    ),
    Computed(
        "base",
        "Good blocks to compare with",
        "number",
        f'CHOOSE(1+COUNT({{?planned}},{{?good}}),CHOOSE(1+COUNT({{?amount}}),"",N({{?amount}})'
        f'/{of_crop("gives_1")}),"",N({{?good}}))',
        "Those without it; behind the weeks of the plan, those for it alone.",
    ),
    Computed(
        "stepped",
        "Blocks to start for these",
        "count",
        f"({{base}}>0)*{in_steps(enough_for('{base}'))}+0*{{week}}",
    ),
    Computed(
        "more",
        "Blocks more for it",
        "count",
        "CHOOSE(1+COUNT({?planned}),{stepped},"
        f"{in_week('blocks', 'MAX(1,N({?planned}))', '{number}')}-{{stepped}})",
    ),
)


_STRAIN_ROW = of_crop("strain_row")
_SPAWN = (
    Computed("at", "Line of its start", "count", "({planned}-1)*{plan_crops}+{number}"),
    Computed(
        "spawn",
        "Spawn for it",
        "kg",
        f"CFX.SPAWN_NEEDED({{more}}*{{block_mass}},{used_in('spawn_rate', _STRAIN_ROW)})",
    ),
    Computed(
        "covered",
        "Spawn is on hand",
        "count",
        f"(N(INDEX({{spawn_stock.logged}},{_STRAIN_ROW}))>0)"
        "*(INDEX({stock_starts.spawn_short},{at})<={rounding})",
        "For all starts of its strain up to it.",
    ),
    Computed(
        "order_by",
        "Order spawn by",
        "date",
        'CHOOSE(1+({more}>0)*(1-N({?covered})),"",{start}-{spawn_lead})',
    ),
)


def _over(station: str, first: str, last: str, only: str = "") -> Computed:
    """Make the column of the first week, of some, in which a station is over its capacity; or 0."""
    share, number = f"{{shares.{station}}}", "{shares.number}"
    weeks = f'COUNTIFS({number},">="&{first},{number},"<="&{last},{share},">1")'
    back = f"({number}>={first})*({number}<={last})*({share}>1)*({WEEKS}+1-{number})"
    return Computed(
        f"over_{station}",
        f"{station.capitalize()} over capacity in week",
        "count",
        f"CHOOSE(1+({weeks}>0),0,{WEEKS}+1-SUMPRODUCT(MAX({back}))){only}",
    )


def _week_of(day: str) -> str:
    return f"(INT(({day}-{{plan_monday}})/7)+1)"


_INCUBATION, _FRUITING = STAGES
_STAYS = {
    _INCUBATION: ("{planned}", _week_of(f"({_start_of('move')}-1)")),
    _FRUITING: (
        _week_of(_start_of("move")),
        _week_of(f"({_start_of('clear')}-1)"),
        f"*(1-{of_crop('as_block')})",
    ),
}
"""The first and the last week in which its blocks stand in a room of a stage, if they do."""
_PICKED = "{picked}"
_ROOM = (
    Computed("picked", "Week of the market", "count", _week_of("{ready}")),
    *(
        _over(station, *_STAYS.get(station, ("{planned}", "{planned}")))
        for station in CAPACITIES
        if station != "labor"
    ),
    _over("labor", "{planned}", "{planned}"),
    Computed(
        "over_picking",
        "Labor over capacity at the market",
        "count",
        f'COUNTIFS({{shares.number}},{_PICKED},{{shares.labor}},">1")*{_PICKED}',
    ),
)
_OVERS = (*(f"over_{one}" for one in CAPACITIES), "over_picking")
_FIRST_OVER = f"MIN({','.join(f'{{{one}}}+{WEEKS}*7*({{{one}}}=0)' for one in _OVERS)})"


def _named(station: str) -> str:
    is_over = f"({{over_{station}}}{'+{over_picking}' if station == 'labor' else ''}>0)"
    return f'REPT(", {station}",{is_over}*1)'


_FULL = (
    Computed("full", "Over capacity", "state", f"MID({'&'.join(map(_named, CAPACITIES))},3,365)"),
    Computed(
        "full_from",
        "Over capacity from the week of",
        "date",
        f"{{plan_monday}}+7*({_FIRST_OVER}-1)",
    ),
)
_KNOWN = "MIN(1,COUNT({shares.incubation}))*MIN(1,COUNT({shares.fruiting}))"


_ENOUGH_COMES = (
    'CHOOSE(1+COUNT({?week}),"Nothing to start: enough is coming.",'
    '"The next delivery comes from what is growing.")'
)


def _coming(unit: str) -> tuple[Computed, ...]:
    """Make the columns of a delivery that nothing can be started for: what is coming anyhow."""
    amount = f'" of "&{_amount("{asked}")}&CHOOSE(1+{of_crop("as_block")}," {unit}"," blocks")'
    # Whoever starts a crop every second week misses its day in that week.
    days = f"CHOOSE(1+({of_crop('every')}>1),{of_crop('least_lead')},{of_crop('lead')})"
    since = f"MIN({{today}},{{next}}-7*{{turn}}-{days}+1)"
    too_late = f'"{TOO_LATE} since "&{iso_date("{since}")}&"."'
    return (
        Computed(
            "late_week",
            "Week of that market",
            "count",
            f'CHOOSE(1+{{late}}*({_week_of("{next}")}<={WEEKS}),"",{_week_of("{next}")})',
        ),
        Computed(
            "asked", "Wanted there", "number", f"{in_week('asked', '{late_week}', '{number}')}*1"
        ),
        Computed(
            "short", "Short there", "number", f"{in_week('short', '{late_week}', '{number}')}*1"
        ),
        Computed("since", "Too late since", "date", f'CHOOSE(1+{{late}},"",{since})'),
        Computed(
            "late_words",
            "Too late, in words",
            "state",
            f'CHOOSE(1+N({{?late}}),"",CHOOSE(1+(N({{?short}})>0),'
            f"CHOOSE(1+COUNT({{?short}}),{too_late},{_ENOUGH_COMES}),"
            f'{too_late}&" That market gets "&{_amount("({asked}-{short})")}&{amount}&"."'
            "))",
        ),
    )


def _amount(number: str) -> str:
    return f'TEXT({number},"0.0")'


_FROM = f'REPT(" from "&{iso_date("{ready}")}&" on",{{late}})'
_IN_PLAN = (
    f'CHOOSE(1+({{?full}}<>""),CHOOSE(1+{_KNOWN},"",", and there is room"),'
    f'", but {OVER}: "&{{?full}}&", from the week of "&{iso_date("{?full_from}")})'
)
_BEHIND = (
    '", with about so many blocks. The Week plan has it from "&'
    f'{iso_date(f"({{plan_monday}}+7*({{?week}}-{WEEKS}))")}&" on"'
)
_ORDER_NOW = 'REPT(" Order spawn now.",(COUNT({?order_by})>0)*(N({?order_by})<{today}))'
_TO_START = (
    f'"In time"&{_FROM}&CHOOSE(1+(N({{?more}})>0),": what is planned and coming is enough",'
    f'CHOOSE(1+COUNT({{?planned}}),{_BEHIND},{_IN_PLAN})&". Start: "&{of_crop("crop")})&"."'
    f"&{_ORDER_NOW}"
)
_AGAIN = f'REPT(" Each week again.",({_of_order("last")}>{{ready}})*1)'
_CAN_BE_READY = (
    f'REPT(" Can be ready by "&{iso_date("{earliest}")}&".",'
    "1-(COUNT({?short})>0)*(N({?short})=0))"
)
_LAST = f"N({_of_order('last')})"
_MISSED = (
    f'CHOOSE(1+({_LAST}+N({_of_order("days_after")})>={{today}})*COUNT({{?amount}}),"",'
    f'"{TOO_LATE}: its market day was "&{iso_date(_LAST)}&".")'
)


def order_starts(unit: str) -> Grid:
    """Return the list of what each order takes; masses in words are in the given unit."""
    return Grid(
        "order_starts",
        "What each order takes",
        (
            *_delivery(),
            *_BLOCKS,
            *_SPAWN,
            *_ROOM,
            *_FULL,
            *_coming(unit),
            Computed(
                "answer",
                "Next delivery, in words",
                "state",
                f"TRIM({{?late_words}}&CHOOSE(1+COUNT({{?week}}),{_CAN_BE_READY},"
                f'" "&{_TO_START}&{_AGAIN})&REPT("",{{ready}}))',
            ),
            Computed(
                "words",
                "In words",
                "state",
                f'CHOOSE(1+COUNT({{?next}}),{_MISSED},{{?answer}}&"")',
            ),
            LINE,
        ),
        rows=ORDERS.rows,
        rows_for=rows,
    )


def rows(entries: Entries) -> int:
    """Count the orders that have a line."""
    return max(ORDERS.rows, len(entries.tables.get(ORDERS.key, ())))


def _of_start(column: str) -> str:
    return f"INDEX({{order_starts.{column}}},{{line}})"


ANSWERS = (
    Computed("product", "Product line", "state", f'{_of_order("product")}&""'),
    Computed("customer", "Customer", "state", f'{_of_order("customer")}&""'),
    Computed("ready", "For the market on", "date", f"{_of_start('ready')}*1"),
    Computed("start", "Start by", "date", f"{_of_start('start')}*1"),
    Computed("more", "Blocks more to start", "count", f"{_of_start('more')}*1"),
    Computed("spawn", "Spawn for these", "kg", f"{_of_start('spawn')}*1"),
    Computed("order_by", "Order spawn by", "date", f"{_of_start('order_by')}*1"),
    Computed("words", "Can it be done?", "state", f'{_of_start("words")}&""'),
    LINE,
)

CHECKS = (
    Check(
        "Orders without a line in the list of what each takes",
        "MAX(0,COUNTA({orders.product})-ROWS({order_answers.words}))",
    ),
)
