"""What would help: what one more shelf space, load or hour is worth a week, and how soon it pays.

Where one resource is short, the product lines that contribute most for each unit of it come first,
until it is used up; the line that then waits says what one more unit is worth. That is the dual
value, or shadow price, of the resource in the linear program that fills the week: as much
contribution as possible, no line above its demand. Where all demand is met, no resource is short,
and one more unit is worth nothing.

The fans in fruiting limit the blocks as the shelves do: so many stay at the CO2 that the grower
wants. A room holds what both its shelves and its fan hold, so that more of one of them alone brings
nothing where the other is the limit.

Sources: Dantzig, Linear Programming and Extensions, 1963 (duality; the knapsack with parts, filled
by worth per unit); limiting factor analysis as management accounting teaches it, contribution per
unit of the limiting factor (ACCA, Performance Management; from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import used_in
from workbook_template.schema.products import PRODUCTS
from workbook_template.schema.room_rows import MOST_ROOMS
from workbook_template.schema.what_helps import MORE, PRICES
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.money_text import money_words
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.sheets.week_plan_stations import CAPACITIES
from workbook_template.writing.blocks import Calculated, Custom, Form, Grid
from workbook_template.writing.sentences import Sentences

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

_SHELVES, _AIR = "fruiting", "air"
LIMITS = {
    limit: key
    for name, capacity in CAPACITIES.items()
    for limit, key in (
        (name, capacity),
        *(((_AIR, "fruiting_air"),) if name == _SHELVES else ()),
    )
}
"""The stations of the Week plan, and what the air of the fruiting rooms allows."""
LIMIT_NAMES = tuple("the fruiting fan" if name == _AIR else name for name in LIMITS)
_UNITS = {
    "mixer": "loads",
    "steamer": "loads",
    "bench": "hours",
    "incubation": "shelf spaces",
    "fruiting": "shelf spaces",
    "air": "blocks",
    "labor": "hours",
}
_NAMES = ",".join(f'"{name}"' for name in LIMIT_NAMES)
_LABELS = {
    limit: f"{name.removeprefix('the ').capitalize()}, {_UNITS[limit]}"
    for limit, name in zip(LIMITS, LIMIT_NAMES, strict=True)
}
_STATIONS = ",".join(f'"{label}"' for label in _LABELS.values())


def _row_of(limit: str) -> str:
    """Write the row of a limit in the list of stations."""
    return f'MATCH("{_LABELS[limit]}",{{helps_stations.station}},0)'


def of_limit(limit: str, column: str) -> str:
    """Look up what the list of stations says of a limit."""
    return f"INDEX({{helps_stations.{column}}},{_row_of(limit)})"


_SHELVES_TIGHTEST = f"({{helps_tightest}}={_row_of(_SHELVES)})"
_AIR_TIGHTEST = f"({{helps_tightest}}={_row_of(_AIR)})"
IN_FRUITING = f"({_SHELVES_TIGHTEST}+{_AIR_TIGHTEST})"
"""Whether blocks in fruiting are the limit, by shelves or by air."""
FRUITING_HOLDS = f"MIN({of_limit(_SHELVES, 'capacity')},{of_limit(_AIR, 'capacity')})"
"""What shelves and fans hold of blocks in fruiting; the fans are blank without one."""
IS_FULL = f"{IN_FRUITING}*COUNT({{?helps_next}})"
"""Whether packs wait for room in fruiting."""


def _of_plan(column: str) -> str:
    return f"INDEX({{plan_products.{column}}},{{line}})"


def _each_station(template: str) -> str:
    return f"CHOOSE({{number}},{','.join(template.replace('%s', name) for name in LIMITS)})"


_USES = (
    Computed(
        "mixer",
        "Mixer loads",
        "number",
        f"{{started}}/INDEX({{recipe_costs.full}},{_of_plan('recipe_row')})",
    ),
    Computed("steamer", "Steam loads", "number", "{started}/{blocks_per_load}"),
    Computed("bench", "Bench", "h", "{started}*{inoculating_minutes}/60"),
    Computed(
        "incubation",
        "Incubation, shelf spaces",
        "number",
        f"{{started}}*{used_in('incubation_days', '{strain_row}')}/7",
    ),
    Computed(
        "fruiting",
        "Fruiting, shelf spaces",
        "number",
        f"(1-{_of_plan('as_block')})*{{good}}*{used_in('fruiting_days', '{strain_row}')}/7",
    ),
    Computed("air", "Fruiting fan, blocks", "number", "{fruiting}*1"),
    Computed(
        "labor",
        "Labor",
        "h",
        f"({_of_plan('minutes')}+{{mixer}}*{{mixing_minutes}}+{{steamer}}*{{steaming_minutes}}"
        "+{started}*({filling_minutes}+{inoculating_minutes}+{moving_minutes}))/60",
    ),
)
_OF_TIGHTEST = f"CHOOSE({{helps_tightest}},{','.join(f'{{{one.key}}}' for one in _USES)})"

_LINES = Grid(
    "helps_lines",
    "What a pack of each product line takes, and which packs fit the fullest station",
    (
        Computed("product", "Product line", "state", f'{_of_plan("product")}&""'),
        Computed("packs", "Packs, usual week", "count", f"{_of_plan('packs')}*1"),
        Computed(
            "contribution", "Contribution of a pack", "money", "INDEX({packs.contribution},{line})"
        ),
        Computed("strain_row", "Row of the strain", "count", f"{_of_plan('strain_row')}*1"),
        Computed("good", "Good blocks", "number", f"{_of_plan('blocks')}*1"),
        Computed(
            "started",
            "Blocks started",
            "number",
            f"{{good}}/(1-{used_in('loss_rate', '{strain_row}')})",
        ),
        *_USES,
        Computed("worth_making", "Packs that contribute", "count", "({contribution}>=0)*{packs}"),
        Computed("use", "A pack, of the fullest station", "number", _OF_TIGHTEST),
        Computed("units", "All packs, of it", "number", "{worth_making}*{use}"),
        Computed(
            "each",
            "Contribution for a unit of it",
            "money",
            'CHOOSE(1+({units}>0),"",{contribution}/{use})',
        ),
        Computed(
            "rank",
            "Turn",
            "count",
            "RANK({each},{helps_lines.each})"
            "+SUMPRODUCT(({helps_lines.each}={each})*({helps_lines.line}<{line}))",
        ),
        Computed(
            "before",
            "Units of the lines before",
            "number",
            'SUMIFS({helps_lines.units},{helps_lines.rank},"<"&{rank})',
        ),
        Computed(
            "fits", "Units that fit", "number", "MAX(0,MIN({units},{helps_capacity}-{before}))"
        ),
        Computed("waits", "Units that wait", "number", "{units}-{fits}"),
        Computed(
            "next",
            "Units of one more",
            "number",
            "MAX(0,MIN({before}+{units},{helps_capacity}+1)-MAX({before},{helps_capacity}))",
        ),
        Computed(
            "made",
            "Packs that fit",
            "number",
            "CHOOSE(1+({units}>0),{worth_making},N({?fits})/{use})",
        ),
        Computed("waiting", "Turn, waits", "count", 'CHOOSE(1+({waits}>{rounding}),"",{rank})'),
        Computed(
            "left_out",
            "Left out",
            "state",
            'REPT(", "&{product},({contribution}<0)*({packs}>0))',
        ),
        Counter("line"),
    ),
    rows=PRODUCTS.rows,
)


def _load(column: str, over: str = "") -> str:
    """Write what the packs of a column need of the station in the row, or that over something."""
    loads = _each_station(f"SUMPRODUCT({{helps_lines.{column}}},{{helps_lines.%s}})")
    return f'CHOOSE(1+(COUNT({{helps_lines.{column}}})>0),"",{loads}{over})'


_OTHER = (
    f"(({{number}}={_row_of(_SHELVES)})*{_AIR_TIGHTEST}+({{number}}={_row_of(_AIR)})"
    f"*{_SHELVES_TIGHTEST})"
)
"""Shelves while the air is the limit, or air while the shelves are: worth nothing alone."""
_WORTH = (
    "CHOOSE(1+({number}={helps_tightest}),"
    f'CHOOSE(1+({{share}}>1)*(1-{_OTHER}),0,""),{{helps_worth}})'
)


def _capacity(key: str) -> str:
    """Write a capacity; no station waits for that of the fans, which is blank without one."""
    return (
        f"{{{key}}}*1"
        if key in CAPACITIES.values()
        else f'CHOOSE(1+COUNT({{?{key}}}),"",N({{?{key}}}))'
    )


STATIONS = Grid(
    "helps_stations",
    "The stations in a usual week, lines that lose money left out",
    (
        Computed("station", "Station", "state", f"CHOOSE({{number}},{_STATIONS})"),
        Computed("load", "Needed", "units", _load("worth_making")),
        Computed(
            "capacity",
            "Capacity",
            "units",
            f"CHOOSE({{number}},{','.join(map(_capacity, LIMITS.values()))})",
        ),
        Computed("share", "Share needed", "fraction", "{load}/{capacity}"),
        Computed("free", "Free", "units", "MAX(0,{capacity}-{load})"),
        Computed("short", "Short", "units", "MAX(0,{load}-{capacity})"),
        Computed("worth", "One more brings a week", "money", _WORTH),
        Computed(
            "payback",
            "Paid back, weeks",
            "units",
            'CHOOSE(1+(N({worth})>0)*COUNT({price}),"",{price}/N({worth}))',
        ),
        Counter("number"),
        Computed(
            "price",
            "Price of one more",
            "money",
            f'CHOOSE(1+{_each_station("COUNT({more_%s})")},"",{_each_station("N({more_%s})")})',
            is_working=True,
        ),
        Computed(
            "after",
            "Share needed by what fits",
            "fraction",
            _load("made", over="/{capacity}"),
            is_working=True,
        ),
    ),
    rows=len(LIMITS),
)


def _of_room(key: str, label: str, unit: str, column: str = "") -> Computed:
    return Computed(key, label, unit, f"INDEX({{rooms.{column or key}}},{{line}})*1")


_FANS = Grid(
    "helps_fans",
    "Fans and shelves: what each room can hold at its CO2 limit",
    (
        Computed("room", "Room", "state", 'INDEX({rooms.room},{line})&""'),
        Computed("stage", "Stage", "state", 'INDEX({rooms.stage},{line})&""'),
        _of_room("spaces", "Shelf spaces", "count"),
        _of_room("fan", "Blocks the fan holds", "count", "fan_blocks"),
        _of_room("limit", "CO2 limit", "ppm", "ppm"),
        _of_room("full", "CO2, shelves full", "ppm", "fan_ppm"),
        _of_room("has", "Fan air flow", "m³/h", "fan_flow"),
        _of_room("needs", "Flow needed, shelves full", "m³/h", "air"),
        Counter("line"),
    ),
    rows=MOST_ROOMS,
)


def _to_rooms(writer: Writer, row: int) -> None:
    writer.link(row, 1, "Rooms", "Fans, CO2 limits: Rooms sheet")
    writer.text(
        row,
        2,
        "Where the fan is the limit, more shelves bring nothing before more air does.",
        "farm note",
    )


_FIGURES = Form(
    "What would help",
    (
        Calculated("helps_share", "Highest share", "fraction", "MAX({helps_stations.share})"),
        Calculated(
            "helps_tightest",
            "Fullest station",
            "count",
            "CHOOSE(1+(COUNT({helps_stations.share})+1-COUNT({?fruiting_air})"
            "=ROWS({helps_stations.share})),"
            f'"",{number_of("{helps_share}", "helps_stations.share", "helps_stations.number")})',
        ),
        Calculated(
            "helps_capacity",
            "Its capacity",
            "number",
            "INDEX({helps_stations.capacity},{helps_tightest})",
        ),
        Calculated(
            "helps_worth",
            "One more of it brings a week",
            "money",
            "SUMPRODUCT({helps_lines.each},{helps_lines.next})+0*{helps_tightest}",
        ),
        Calculated(
            "helps_waits",
            "Contribution that waits",
            "money",
            "SUMPRODUCT({helps_lines.each},{helps_lines.waits})+0*{helps_tightest}",
        ),
        Calculated(
            "helps_next",
            "Line that is next",
            "count",
            "CHOOSE(1+(COUNT({helps_lines.waiting})>0),"
            + '"",'
            + number_of("MIN({helps_lines.waiting})", "helps_lines.waiting", "helps_lines.line")
            + ")",
        ),
        Calculated(
            "helps_also",
            "Another station that stays too full",
            "count",
            'CHOOSE(1+(MAX({helps_stations.after})>1+{rounding}),"",'
            + number_of(
                "MAX({helps_stations.after})", "helps_stations.after", "helps_stations.number"
            )
            + ")",
        ),
    ),
)


def _line(column: str) -> str:
    return f"INDEX({{helps_lines.{column}}},{{?helps_next}})"


def _station(number: str) -> str:
    return f"CHOOSE({number},{_NAMES})"


IS_KNOWN = (
    "(COUNT({?helps_tightest})*(COUNT({helps_lines.packs})=COUNT({helps_lines.worth_making})))"
)


def _answer(currency: str) -> str:
    more = ",".join(f'"{PRICES[name].label.lower()}"' for name in LIMITS)
    return first_of(
        (
            "SUM({helps_lines.packs})=0",
            '"Enter packs a week for your product lines on the Products sheet first."',
        ),
        (
            f"{IS_KNOWN}=0",
            '"Enter the prices and costs of all product lines and the capacity of each station '
            'first. The Costing sheet says what is missing."',
        ),
        (
            "COUNT({?helps_next})=0",
            f'"In a usual week nothing would: no station is full, so demand is the limit. Sell '
            f'more. Its fullest is "&{_station("{?helps_tightest}")}&", at "'
            '&TEXT({?helps_share},"0%")&" of its capacity."',
        ),
        otherwise=f'"One more "&CHOOSE({{?helps_tightest}},{more})&" would bring "&'
        f'{money_words("{?helps_worth}", currency)}&" a week: "&MAX(1,ROUND({_line("waits")}/'
        f'{_line("use")},0))&" packs a week of "&{_line("product")}&" wait for it."',
    )


def _besides(currency: str) -> str:
    """Write what else to know: all that waits, the payback, other limits, what is left out."""
    is_full = f"{IS_KNOWN}*COUNT({{?helps_next}})"
    payback = "INDEX({helps_stations.payback},{?helps_tightest})"
    left_out = "&".join(
        f"INDEX({{helps_lines.left_out}},{line})" for line in range(1, PRODUCTS.rows + 1)
    )
    waits = money_words("{?helps_waits}", currency)
    in_all = f'"In all, "&{waits}&" of contribution a week waits. "'
    weeks = f"MAX(1,ROUND({payback},0))"
    paid = f'"One more is paid back in "&{weeks}&" week"&REPT("s",({weeks}>1)*1)&". "'
    also = (
        f'"This counts on more room at another station, "&{_station("{?helps_also}")}'
        '&", which would still be over its capacity. "'
    )
    air = (
        '"By the CO2 limit on the Rooms sheet the fan runs out first: more shelves bring nothing '
        'before more air does. "'
    )
    out = f'"Left out, since each pack loses money: "&MID({left_out},3,LEN({left_out}))&". "'
    return (
        f'CHOOSE(1+({is_full}>0),"",{in_all}&CHOOSE(1+COUNT({payback}),"",{paid})'
        f'&CHOOSE(1+COUNT({{?helps_also}}),"",{also})'
        f'&CHOOSE(1+(N({{?helps_tightest}})={_row_of(_AIR)}),"",{air}))'
        f'&CHOOSE(1+(LEN({left_out})>0),"",{out})'
        f'&CHOOSE(1+({IS_KNOWN}>0),"","All stations and prices: see Costing.")'
    )


def answer(currency: str) -> Sentences:
    """Return the section that says it in words."""
    return Sentences(
        "What would help", {"helps_words": _answer(currency), "helps_besides": _besides(currency)}
    )


_SAID = Sentences("Fan, shelves, mixer: what would help?", {"helps_said": '{?helps_words}&""'})
DETAILS = (_SAID, STATIONS, _FANS, Custom(1, _to_rooms), Form(MORE.title, MORE.fields))
WORKINGS = (_FIGURES, _LINES)
