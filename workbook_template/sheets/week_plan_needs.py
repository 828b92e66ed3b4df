"""What each crop lacks for its markets, and the blocks that are started for them.

A start is for the market that its first flush is just in time for. What is wanted there, less what
batches in progress and earlier starts of the plan give at that time, flush by flush, has to come of
new blocks. What a crop that is started every second week gives keeps for two markets; there must be
enough at the first of them, and at both together.

All weeks of a crop stand in one row, so that a week can rest on those before it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import MOST_FLUSHES
from workbook_template.schema.orders import MOST_WEEKS
from workbook_template.sheets.week_plan_coming import given
from workbook_template.sheets.week_plan_crops import (
    LINE,
    MOST_CROPS,
    NUMBER,
    enough_for,
    in_steps,
    of_crop,
)
from workbook_template.writing.blocks import Grid
from workbook_template.writing.week_grid import WEEKS

if TYPE_CHECKING:
    from collections.abc import Sequence

_STARTS = range(1, WEEKS + 1)
_MARKETS = range(1, WEEKS + MOST_WEEKS)
"""Of the starts, and of what follows until the next one."""
UNTIL_NEXT = range(MOST_WEEKS)
_LATER_FLUSHES = range(2, MOST_FLUSHES + 1)


def _monday(week: int) -> str:
    """Write the Monday of a week of the plan, or of one of those behind its last."""
    beyond = week - WEEKS
    return f"{{week_{week}}}" if beyond <= 0 else f"({{week_{WEEKS}}}+7*{beyond})"


def _market(week: int) -> str:
    """Write the market day that is just in time for a start of a week."""
    return f"({_monday(week)}+7*{of_crop('ahead')}+{{plan_market}})"


def _wanted(market: str) -> str:
    """Write what is wanted of the crop for a market: as usual, special weeks, orders."""
    special = f"{{unusual_weeks.crop}},{{number}},{{unusual_weeks.week}},{market}-{{plan_market}}"
    ordered = (
        f'{{orders.crop}},{{number}},{{orders.market}},"<="&{market},{{orders.last}},">="&{market}'
    )

    def of(table: str, criteria: str) -> str:
        sums = (f"SUMIFS({{{table}.{column}}},{criteria})" for column in ("fresh", "blocks"))
        return f"CHOOSE(1+{of_crop('as_block')},{','.join(sums)})"

    usual = of_crop("usual")
    return f"MAX(0,{usual}+{of('unusual_weeks', special)})+{of('orders', ordered)}"


def _picked(market: str) -> str:
    """Write what is picked already for one of the next two markets."""
    return f"(({market}={{next_market}})*{{picked}}+({market}={{next_market}}+7)*{{picked_after}})"


def _picked_for(market: str) -> str:
    return (
        f"{of_crop('main')}*SUMIFS({{harvests.fresh}},{{harvests.strain}},"
        f"INDEX({{strains.strain}},{of_crop('strain_row')}),"
        f'{{harvests.date}},">"&({market}-7-{{days_before_market}}),'
        f'{{harvests.date}},"<="&({market}-{{days_before_market}}),'
        '{harvests.date},"<="&{today})'
    )


def _worth(later: int, week: int) -> str:
    """Write what a good block of a start gives so many weeks behind its first market."""
    first = f"{of_crop('gives_1')}*1" if later == 0 else "0"
    flushes = "".join(
        f"+{of_crop(f'gives_{flush}')}*({_after(flush, week)}*7={_monday(later + 1)}-{_monday(1)})"
        for flush in _LATER_FLUSHES
    )
    return f"{first}{flushes}"


def _after(flush: int, week: int) -> str:
    """Write the weeks of a later flush; the first start may be later than its mixing day."""
    return f"{{after_{flush}}}" if week == 1 else of_crop(f"after_{flush}")


def _weeks_later(flush: int) -> str:
    ready = f"{{days_before_market}}+{of_crop(f'day_{flush}')}-{{rounding}}"
    return f"MAX(0,-INT(({of_crop('lead')}-{{delay}}-({ready}))/7))"


def _gives(week: int, later: int) -> str:
    return f"{{{'first' if week == 1 else 'worth'}_{later}}}"


def _net(week: int, more: int) -> Computed:
    """Make the column of what a market lacks, so many weeks behind that of a start."""
    earlier = "".join(
        f"-{{sure_{week - later}}}*{_gives(week - later, later + more)}" for later in range(1, week)
    )
    return Computed(
        f"net_{week}_{more}",
        f"Start {week} lacks, {more} later",
        "number",
        f"{{gap_{week + more}}}{earlier}",
    )


def good_until_next(lacks: Sequence[str], gives: Sequence[str]) -> str:
    """Write the good blocks of a start that are enough until the next one of its crop.

    ``lacks`` is what each market lacks, from the one of the start on, and ``gives`` what a good
    block gives at each: there must be enough at the first, at the first two, and so on.
    """
    enough = (
        (f"({of_crop('every')}>{more})*" if more else "")
        + f"({'+'.join(lacks[: more + 1])})/({'+'.join(gives[: more + 1])})"
        for more in UNTIL_NEXT
    )
    # What rounding leaves of numbers that cancel out differs from program to program.
    return f"ROUND(MAX(0,{','.join(enough)})/{{rounding}},0)*{{rounding}}"


def _start(week: int) -> tuple[Computed, ...]:
    begins = f"(MOD(({_monday(week)}-{of_crop('begun')})/7,{of_crop('every')})=0)"
    lacks = [f"{{net_{week}_{more}}}" for more in UNTIL_NEXT]
    good = good_until_next(lacks, [_gives(week, more) for more in UNTIL_NEXT])
    return (
        *(_net(week, more) for more in UNTIL_NEXT),
        Computed(
            f"good_{week}",
            f"Good blocks needed, {week}",
            "number",
            f"{begins}{'*(1-{late})' if week == 1 else ''}*{good}",
        ),
        Computed(
            f"enough_{week}",
            f"Enough blocks, {week}",
            "count",
            enough_for(f"{{good_{week}}}"),
        ),
        Computed(
            f"blocks_{week}",
            f"Blocks to start, {week}",
            "count",
            f"({{good_{week}}}>0)*{in_steps(f'{{enough_{week}}}')}",
        ),
        Computed(
            f"sure_{week}",
            f"Good blocks to count on, {week}",
            "number",
            f"{{good_{week}}}+({{blocks_{week}}}-{{enough_{week}}})*(1-{of_crop('loss')})",
        ),
    )


def _short(week: int) -> tuple[Computed, ...]:
    """Make the columns of what a market lacks for which it is too late to start."""
    market = f"({_monday(week)}+{{plan_market}})"
    is_kept = f"(MOD(({{earliest}}-{market})/7,{of_crop('every')})>0)"
    kept = f"+{is_kept}*MAX(0,{{over_{week - 1}}})" if week > 1 else ""
    return (
        Computed(
            f"over_{week}",
            f"More than wanted in week {week}",
            "number",
            f"{{due_{week}}}{kept}-{{asked_{week}}}",
        ),
        Computed(
            f"short_{week}",
            f"Short, {week}",
            "number",
            f"({market}>={{today}})*({market}<{{earliest}})"
            f"*(0-{{over_{week}}}>{{rounding}})*(0-{{over_{week}}})",
        ),
    )


CROP_WEEKS = Grid(
    "crop_weeks",
    "What each crop lacks, and the starts for it, by week",
    (
        Computed("crop", "Crop", "state", of_crop("crop")),
        Computed(
            "late",
            "Too late to start for this week",
            "count",
            f"({_market(1)}-{of_crop('least_lead')}<{{today}})*1",
        ),
        Computed(
            "earliest",
            "First market that can be started for",
            "date",
            f"{_market(1)}+7*({{late}}+MOD(({of_crop('begun')}-{_monday(1)})/7-{{late}},"
            f"{of_crop('every')}))",
        ),
        Computed("picked", "Picked for the next market", "number", _picked_for("{next_market}")),
        Computed(
            "picked_after",
            "Picked for the market after it",
            "number",
            _picked_for("({next_market}+7)"),
        ),
        *(
            Computed(f"asked_{week}", f"Wanted in week {week}", "number", _wanted(market))
            for week in _STARTS
            for market in (f"({_monday(week)}+{{plan_market}})",)
        ),
        *(
            Computed(
                f"due_{week}", f"Due in week {week}", "number", f"{given(market)}+{_picked(market)}"
            )
            for week in _STARTS
            for market in (f"({_monday(week)}+{{plan_market}})",)
        ),
        *(column for week in _STARTS for column in _short(week)),
        *(
            Computed(
                f"gap_{week}",
                f"Lacking at market {week}",
                "number",
                f"{_wanted(_market(week))}-({given(_market(week))})-{_picked(_market(week))}",
            )
            for week in _MARKETS
        ),
        Computed(
            "delay",
            "First start, days late",
            "d",
            f"MAX(0,{{today}}-{_market(1)}+{of_crop('lead')})",
        ),
        *(
            Computed(
                f"after_{flush}", f"Flush {flush} of it, weeks later", "count", _weeks_later(flush)
            )
            for flush in _LATER_FLUSHES
        ),
        *(
            Computed(
                f"{key}_{later}",
                f"A good block of {label} gives, {later} later",
                "number",
                _worth(later, week),
            )
            for key, label, week in (("first", "the first start", 1), ("worth", "others", 2))
            for later in range(_MARKETS.stop - 1)
        ),
        *(column for week in _STARTS for column in _start(week)),
        Computed(
            "short",
            "Short in all weeks",
            "number",
            "+".join(f"{{short_{week}}}" for week in _STARTS),
        ),
        Computed(
            "first_short",
            "First market that is short",
            "date",
            f"{_monday(1)}+{{plan_market}}+7*("
            + "+".join(
                f"({'+'.join(f'{{short_{week}}}' for week in range(1, last + 1))}=0)"
                for last in _STARTS
            )
            + ")",
        ),
        Computed("short_at", "Crop that is short", "count", 'CHOOSE(1+({short}>0),"",{number})'),
        NUMBER,
    ),
    rows=MOST_CROPS,
)


def _of_short(column: str) -> str:
    return f"INDEX({{crop_weeks.{column}}},{{at}})"


_LISTED = 7
"""Crops that are too late; Start counts all of them."""
_OF_BLOCKS = "INDEX({crops.as_block},{at})"

NOT_IN_TIME = Grid(
    "not_in_time",
    "What can no longer be grown in time",
    (
        Computed("crop", "Crop", "state", _of_short("crop")),
        Computed("mass", "Short", "kg", f'CHOOSE(1+{_OF_BLOCKS},{_of_short("short")},"")'),
        Computed(
            "blocks",
            "Blocks short",
            "count",
            f'CHOOSE(1+{_OF_BLOCKS},"",ROUNDUP({_of_short("short")},0))',
        ),
        Computed("first", "First short on", "date", f"{_of_short('first_short')}*1"),
        Computed("earliest", "Can be ready by", "date", f"{_of_short('earliest')}*1"),
        Computed(
            "at",
            "Crop number",
            "count",
            'CHOOSE(1+({line}<=COUNT({crop_weeks.short_at})),"",SMALL({crop_weeks.short_at},{line}))',
            is_working=True,
        ),
        LINE,
    ),
    rows=_LISTED,
)


def in_week(column: str, week: str, number: str) -> str:
    """Write a figure of a week of a crop, from the numbers of both."""
    weeks = ",".join(f"INDEX({{crop_weeks.{column}_{one}}},{number})" for one in _STARTS)
    return f"CHOOSE({week},{weeks})"
