"""Where the blocks stand, by room and day for twelve weeks, and the rooms that are over-full.

Logged batches and planned starts are counted together. A batch whose room is typed stands there;
all others of a stage fill its open rooms in the order of their rows. What fits nowhere stands in
the last open room of the stage, or in its last room where none is open.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.room_rows import MOST_ROOMS, STAGES
from workbook_template.sheets.costing_parts import number_of
from workbook_template.writing.blocks import ROUNDING, Check, Grid
from workbook_template.writing.week_grid import WEEKS

if TYPE_CHECKING:
    from collections.abc import Sequence

_DAYS_A_WEEK = 7
DAYS = _DAYS_A_WEEK * WEEKS
SENTENCE_LINES = 2
_NAMED = 3
"""How many rooms the sentence names."""
_LISTED = 8
"""How many over-full days the list has."""

_LINE = Counter("line", "Line")
_LOGGED = {
    "incubation": (
        "{batches.good}",
        '{batches.made},"<="&{day},{batches.leaves_incubation},">"&{day}',
        "{batches.incubates_in}",
    ),
    "fruiting": (
        "{batches.fruits}",
        '{batches.leaves_incubation},"<="&{day},{batches.leaves_fruiting},">"&{day}',
        "{batches.fruits_in}",
    ),
}
"""By stage: the blocks of a batch, the conditions under which they stand there, the row of its
room."""
_PLANNED = {
    "incubation": 'SUMIFS({starts.blocks},{starts.start},"<="&{day},{starts.move},">"&{day})',
    "fruiting": 'SUMIFS({starts.fruits},{starts.move},"<="&{day},{starts.clear},">"&{day})',
}


def _logged(stage: str, room: str) -> str:
    blocks, stands, stands_in = _LOGGED[stage]
    return f"SUMIFS({blocks},{stands_in},{room},{stands})"


def _of_stage(templates: Sequence[str]) -> str:
    """Choose between a template for incubation and one for fruiting."""
    return f'CHOOSE(1+({{stage}}="{STAGES[1]}"),{",".join(templates)})'


def _rooms_of_day(column: str, day: str = "{line}") -> str:
    """Write the rows of a column that are of a day, so that no others are searched."""
    rooms = "ROWS({room_list.line})"
    ends = (f"({day}-1)*{rooms}+1", f"{day}*{rooms}")
    return ":".join(f"INDEX({{occupancy.{column}}},{end})" for end in ends)


def _total(stage: str, what: str) -> str:
    """Add a figure of all rooms of a stage up on a day, once the stage has rooms."""
    total = f'SUMIFS({_rooms_of_day(what)},{_rooms_of_day("stage")},"{stage}")'
    return f"{total}+0*{{{stage}_places}}"


def _takes_rest(stage: str) -> str:
    """Find the row of the last open room of a stage, or of its last room where none is open."""
    is_of_stage = f'({{room_list.stage}}="{stage}")'
    is_closed = "({room_list.from}<={day})*({day}<={room_list.until})"
    last = f"SUMPRODUCT(MAX({is_of_stage}*%s{{room_list.line}}))"
    is_open = last.replace("%s", f"(1-{is_closed})*")
    return f"CHOOSE(1+({is_open}>0),{last.replace('%s', '')},{is_open})"


_BY_DAY = Grid(
    "room_days",
    "Blocks of each stage by day",
    (
        _LINE,
        Computed("day", "Day", "date", "{plan_monday}+{line}-1"),
        *(
            Computed(
                stage,
                f"In {stage}, no room typed",
                "number",
                f"{_logged(stage, '0')}+({{day}}>={{today}})*{_PLANNED[stage]}",
            )
            for stage in STAGES
        ),
        *(
            Computed(
                f"{stage}_last",
                f"Room for the rest, {stage}",
                "count",
                _takes_rest(stage),
            )
            for stage in STAGES
        ),
        *(
            one
            for stage in STAGES
            for one in (
                Computed(
                    f"{stage}_blocks", f"Blocks in {stage}", "number", _total(stage, "blocks")
                ),
                Computed(f"{stage}_spaces", f"Spaces in {stage}", "count", _total(stage, "spaces")),
                Computed(
                    f"{stage}_share",
                    f"{stage.capitalize()}, filled",
                    "fraction",
                    f"{{{stage}_blocks}}/MAX(1,{{{stage}_spaces}})",
                ),
            )
        ),
        Computed(
            "free",
            "Spaces free in fruiting, from today on",
            "number",
            'CHOOSE(1+({day}>={today}),"",{fruiting_spaces}-{fruiting_blocks})',
        ),
    ),
    rows=DAYS,
)


def _room(column: str) -> str:
    return f"INDEX({{room_list.{column}}},{{at}})"


_OVER = "1+({day}>={today})*({blocks}-{spaces}>{rounding})"

_BY_ROOM = Grid(
    "occupancy",
    "Blocks in each room by day",
    (
        _LINE,
        Computed("on", "Number of the day", "count", "INT(({line}-1)/ROWS({room_list.line}))+1"),
        Computed("at", "Row of the room", "count", "{line}-({on}-1)*ROWS({room_list.line})"),
        Computed("day", "Day", "date", "INDEX({room_days.day},{on})*1"),
        Computed("stage", "Stage", "state", f'{_room("stage")}&""'),
        Computed(
            "spaces",
            "Spaces",
            "count",
            f"(1-({_room('from')}<={{day}})*({{day}}<={_room('until')}))"
            f'*N(INDEX({{rooms.spaces}},{{at}}))*({{stage}}<>"")',
        ),
        Computed(
            "typed",
            "Blocks whose room is typed",
            "number",
            _of_stage([_logged(stage, "{at}") for stage in STAGES]),
        ),
        Computed("free", "Spaces free for others", "number", "MAX(0,{spaces}-{typed})"),
        Computed(
            "others",
            "Others, not in rooms above",
            "number",
            "MAX(0,"
            + _of_stage([f"INDEX({{room_days.{stage}}},{{on}})" for stage in STAGES])
            + f"-SUMIFS({_rooms_of_day('free', '{on}')},{_rooms_of_day('stage', '{on}')},{{stage}},"
            f'{_rooms_of_day("at", "{on}")},"<"&{{at}}))',
        ),
        Computed(
            "is_last",
            "Takes the rest",
            "count",
            "("
            + _of_stage([f"INDEX({{room_days.{stage}_last}},{{on}})" for stage in STAGES])
            + "={at})*1",
        ),
        Computed(
            "blocks",
            "Blocks",
            "number",
            "{typed}+MIN({others},{free})+{is_last}*MAX(0,{others}-{free})",
        ),
        Computed("over_line", "Over-full, line", "count", f'CHOOSE({_OVER},"",{{line}})'),
        Computed("over_room", "Over-full, room", "count", f'CHOOSE({_OVER},"",{{at}})'),
    ),
    rows=DAYS * MOST_ROOMS,
)


def _first(column: str) -> str:
    """Look up what the first over-full day of a room has."""
    return f"INDEX({{occupancy.{column}}},{{first}})"


_WORDS = (
    '{room}&" is over-full on "&CHOOSE(1+({days}>1),"",{days}&" days, first on ")'
    f"&{iso_date(_first('day'))}"
    f'&": "&ROUNDUP({_first("blocks")},0)&" blocks "&CHOOSE(1+({_first("spaces")}>0),'
    f'"while it is closed.","in "&{_first("spaces")}&" spaces.")'
)

_DATES = "COUNT(INDEX({rooms.closed_from},{line}))*COUNT(INDEX({rooms.closed_until},{line}))"


def _closed(key: str, label: str) -> Computed:
    """Make the column of the first or the last day on which a room is closed; 0 if it is not."""
    day = f"N(INDEX({{rooms.closed_{key}}},{{line}}))"
    return Computed(key, f"{label} closed", "count", f"{_DATES}*{day}")


_ROOM_LIST = Grid(
    "room_list",
    "Rooms, and their over-full days from today on",
    (
        _LINE,
        Computed("room", "Room", "state", 'INDEX({rooms.room},{line})&""'),
        Computed("stage", "Stage", "state", 'INDEX({rooms.stage},{line})&""'),
        *(_closed(key, label) for key, label in (("from", "First day"), ("until", "Last day"))),
        Computed(
            "days", "Days over-full", "count", "COUNTIF({occupancy.over_room},{line})+0*{first}"
        ),
        Computed(
            "first",
            "First line",
            "count",
            'IFERROR(MATCH({line},{occupancy.over_room},0),"")',
        ),
        Computed("rank", "Place", "count", 'COUNTIF({room_list.first},"<="&{first})'),
        Computed("words", "In words", "state", _WORDS),
    ),
    rows=MOST_ROOMS,
)


def _fullest(stage: str) -> tuple[Computed, ...]:
    """Make the columns of the fullest day of a week: its place, blocks, spaces, and their share."""

    def end(day: str) -> str:
        return f"INDEX({{room_days.{stage}_share}},{_DAYS_A_WEEK}*({{line}}-1)+{day})"

    days = f"{end('1')}:{end(str(_DAYS_A_WEEK))}"
    fullest = f"{_DAYS_A_WEEK}*({{line}}-1)+MATCH(MAX({days}),{days},0)"
    found = f'CHOOSE(1+(COUNT({days})>0),"",{fullest})'
    labels = {"blocks": "blocks", "spaces": "spaces", "share": "share filled"}
    units = {"blocks": "number", "spaces": "count", "share": "fraction"}
    return (
        Computed(f"{stage}_on", f"{stage.capitalize()}, fullest day", "count", found),
        *(
            Computed(
                f"{stage}_{what}",
                f"{stage.capitalize()}, {labels[what]}",
                units[what],
                f"INDEX({{room_days.{stage}_{what}}},{{{stage}_on}})*1",
            )
            for what in labels
        ),
    )


_OF_WEEK = (
    f"INDEX({{room_days.free}},{_DAYS_A_WEEK}*({{line}}-1)+1)"
    f":INDEX({{room_days.free}},{_DAYS_A_WEEK}*{{line}})"
)
_BY_WEEK = Grid(
    "room_weeks",
    "The fullest day of each week",
    (
        _LINE,
        Computed("week", "Week of", "date", f"{{plan_monday}}+{_DAYS_A_WEEK}*({{line}}-1)"),
        *(one for stage in STAGES for one in _fullest(stage)),
        Computed(
            "free",
            "Spaces free in fruiting, fullest day",
            "number",
            f'CHOOSE(1+(COUNT({_OF_WEEK})>0),"",MIN({_OF_WEEK}))',
        ),
    ),
    rows=WEEKS,
)

WORKINGS = (_ROOM_LIST, _BY_WEEK, _BY_DAY, _BY_ROOM)


OVER_FULL = Grid(
    "over_full",
    f"Over-full days in the next {WEEKS} weeks (the first {_LISTED})",
    (
        Computed("room", "Room", "state", 'INDEX({room_list.room},INDEX({occupancy.at},{at}))&""'),
        Computed("day", "Day", "date", "INDEX({occupancy.day},{at})*1"),
        Computed("blocks", "Blocks", "count", "ROUNDUP(INDEX({occupancy.blocks},{at}),0)"),
        Computed("spaces", "Spaces", "count", "INDEX({occupancy.spaces},{at})*1"),
        Computed("over", "Too many", "count", "{blocks}-{spaces}"),
        Computed(
            "at",
            "Line of the day",
            "count",
            'CHOOSE(1+({line}<=COUNT({occupancy.over_line})),"",'
            "SMALL({occupancy.over_line},{line}))",
            is_working=True,
        ),
        _LINE,
    ),
    rows=_LISTED,
)

_COUNT = "COUNT({room_list.rank})"


def _named(place: int) -> str:
    words = f"INDEX({{room_list.words}},MATCH({place},{{room_list.rank}},0))"
    return f'CHOOSE(1+({_COUNT}>={place}),"",{words}&" ")'


SENTENCE = (
    f"CHOOSE(1+({_COUNT}>0),CHOOSE(1+(COUNT({{rooms.spaces}})>0),"
    f'"Type your rooms on the Rooms sheet.","No room is over-full in the next {WEEKS} weeks."),'
    f"TRIM({'&'.join(_named(place) for place in range(1, _NAMED + 1))}"
    f'&CHOOSE(1+({_COUNT}>{_NAMED}),"",({_COUNT}-{_NAMED})&" more: see the Rooms sheet.")))'
)
"""The rooms that are over-full, today's first."""


def free_in_fruiting(free: str = "room_weeks.free") -> str:
    """Write how many spaces are free at least in the fruiting rooms, and in which week."""
    least = f"MIN({{{free}}})"
    week = f"INDEX({{room_weeks.week}},{number_of(least, free, 'room_weeks.line')})"
    return f'MAX(0,INT({least}+{{rounding}}))&", in the week of "&{iso_date(week)}'


FREE_SENTENCE = (
    'CHOOSE(1+(COUNT({room_weeks.free})>0),"",'
    f'"Free spaces in the fruiting rooms in the next {WEEKS} weeks, by the Week plan: least "'
    f'&{free_in_fruiting()}&".")'
)

CHECKS = (
    Check(
        f"Rooms that are over-full on some day of the next {WEEKS} weeks",
        # A date or a number that is wrong elsewhere may fill a room: that is to be fixed first.
        "COUNT({room_list.rank})*(SUM({check_lines.inputs})=0)",
        is_warning=True,
    ),
    Check(
        "Blocks by room and by stage add up to all blocks that stand in rooms",
        # Of twelve weeks, programs round in different ways what is left of two large sums.
        "+".join(
            f"ABS(ROUND((SUM({{room_days.{stage}_blocks}})-SUM({{room_days.{stage}}})"
            f'-SUMIFS({{occupancy.typed}},{{occupancy.stage}},"{stage}"))/{{rounding}},0)*{{rounding}})'
            f"*COUNT({{{stage}_places}})"
            for stage in STAGES
        ),
        ROUNDING,
    ),
    Check(
        f"Rooms behind the first {MOST_ROOMS}, whose figures and days are not listed",
        "MAX(0,COUNTA({rooms.room})-ROWS({room_list.line}))",
    ),
)
