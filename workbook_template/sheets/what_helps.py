"""What would help: what one more shelf space, load or hour is worth a week, and how soon it pays.

Where one resource is short, the product lines that contribute most for each unit of it come first,
until it is used up; the line that then waits says what one more unit is worth. That is the dual
value, or shadow price, of the resource in the linear program that fills the week: as much
contribution as possible, no line above its demand. Where all demand is met, no resource is short,
and one more unit is worth nothing.

Sources: Dantzig, Linear Programming and Extensions, 1963 (duality; the knapsack with parts, filled
by worth per unit); limiting factor analysis as management accounting teaches it, contribution per
unit of the limiting factor (ACCA, Performance Management; from memory).
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import used_in
from workbook_template.schema.products import PRODUCTS
from workbook_template.schema.what_helps import MORE, PRICES
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.money_text import money_words
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.sheets.week_plan_stations import CAPACITIES
from workbook_template.writing.blocks import Calculated, Form, Grid
from workbook_template.writing.sentences import Sentences

_UNITS = {
    "mixer": "loads",
    "steamer": "loads",
    "bench": "hours",
    "incubation": "shelf spaces",
    "fruiting": "shelf spaces",
    "labor": "hours",
}
_NAMES = ",".join(f'"{station}"' for station in CAPACITIES)
_LABELS = ",".join(f'"{name.capitalize()}, {_UNITS[name]}"' for name in CAPACITIES)


def _of_plan(column: str) -> str:
    return f"INDEX({{plan_products.{column}}},{{line}})"


def _each_station(template: str) -> str:
    return f"CHOOSE({{number}},{','.join(template.replace('%s', name) for name in CAPACITIES)})"


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
            "CHOOSE(1+({units}>0),{worth_making},{fits}/{use})",
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


_WORTH = 'CHOOSE(1+({number}={helps_tightest}),CHOOSE(1+({share}>1),0,""),{helps_worth})'
STATIONS = Grid(
    "helps_stations",
    "What would help: the stations in a usual week, lines that lose money left out",
    (
        Computed("station", "Station", "state", f"CHOOSE({{number}},{_LABELS})"),
        Computed("load", "Needed", "number", _load("worth_making")),
        Computed(
            "capacity",
            "Capacity",
            "number",
            f"CHOOSE({{number}},{','.join(f'{{{key}}}*1' for key in CAPACITIES.values())})",
        ),
        Computed("share", "Share needed", "fraction", "{load}/{capacity}"),
        Computed("free", "Free", "number", "MAX(0,{capacity}-{load})"),
        Computed("short", "Short", "number", "MAX(0,{load}-{capacity})"),
        Computed("worth", "One more brings a week", "money", _WORTH),
        Computed(
            "payback",
            "Paid back, weeks",
            "number",
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
    rows=len(CAPACITIES),
)

_FIGURES = Form(
    "What would help",
    (
        Calculated("helps_share", "Highest share", "fraction", "MAX({helps_stations.share})"),
        Calculated(
            "helps_tightest",
            "Fullest station",
            "count",
            "CHOOSE(1+(COUNT({helps_stations.share})=ROWS({helps_stations.share})),"
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
    more = ",".join(f'"{PRICES[name].label.lower()}"' for name in CAPACITIES)
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
            f'more. The fullest is "&{_station("{?helps_tightest}")}&", at "'
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
    paid = f'"One more is paid back in "&MAX(1,ROUND({payback},0))&" weeks. "'
    also = (
        f'"This counts on more room at another station, "&{_station("{?helps_also}")}'
        '&", which would still be over its capacity. "'
    )
    out = f'"Left out, since each pack loses money: "&MID({left_out},3,LEN({left_out}))&". "'
    return (
        f'CHOOSE(1+({is_full}>0),"",{in_all}&CHOOSE(1+COUNT({payback}),"",{paid})'
        f'&CHOOSE(1+COUNT({{?helps_also}}),"",{also}))'
        f'&CHOOSE(1+(LEN({left_out})>0),"",{out})'
        f'&CHOOSE(1+({IS_KNOWN}>0),"","All stations and prices: see Costing.")'
    )


def answer(currency: str) -> Sentences:
    """Return the section that says it in words."""
    return Sentences(
        "What would help", {"helps_words": _answer(currency), "helps_besides": _besides(currency)}
    )


DETAILS = (STATIONS, Form(MORE.title, MORE.fields))
WORKINGS = (_FIGURES, _LINES)
