"""Whether a further flush is worth its place.

That is two questions. Where the shelves are full, a block that stays keeps out another one: what
counts is the contribution per day on the shelf. Where spaces are free, it keeps out none: the same
packs are grown on fewer blocks. Which of them a usual week asks, and what its spaces are worth, is
what the stations say (``what_helps``); Improve counts with the same figures.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.sheets import occupancy
from workbook_template.sheets.costing_parts import NUMBER, chosen, number_of
from workbook_template.sheets.money_text import whole_money
from workbook_template.sheets.trials_verdicts import first_of
from workbook_template.sheets.what_helps import FRUITING_HOLDS, IS_FULL, of_limit
from workbook_template.writing.blocks import Calculated, Grid
from workbook_template.writing.sentences import Sentences

_FLUSH_NUMBERS = range(2, MOST_FLUSHES + 1)


_INTERVAL = used_in("flush_interval_days", "{flush_row}")


def _be(number: int) -> str:
    return used_in(f"be_{number}", "{flush_row}")


_ALL_BE_KNOWN = chosen(
    "1",
    *(
        "*".join(f"COUNT({_be(each)})" for each in range(2, number + 1)) + f"*COUNT({_INTERVAL})"
        for number in _FLUSH_NUMBERS
    ),
)


BASIS = (
    Calculated(
        "flush_value",
        "Revenue",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",({cost_sold_share}*({net_price}-{cost_delivery})'
        "-{cost_pack_made}+{cost_pack_blocks})/{pack_fresh})",
        "For fresh mass: after fees, picking, drying, packing and delivery.",
    ),
    Calculated(
        "flush_block",
        "Variable cost of a good block",
        "money/block",
        "({cost_started}-{cost_standing_block})/(1-{cost_loss_rate})",
        "Without room energy, equipment and overhead.",
    ),
)

WORKINGS = (
    Calculated(
        "flush_row",
        "Row on the Strains sheet",
        "count",
        "MATCH({cost_strain},{strains.strain},0)",
        "Of the product line chosen.",
    ),
)


_KEPT_NOW = "INDEX({strains.flushes},{flush_row})"
_LOAD = of_limit("fruiting", "load")


def _now(column: str) -> str:
    """Look up what the list has for the flushes kept now."""
    return f"SUMIFS({{flush_worth.{column}}},{{flush_worth.number}},{_KEPT_NOW})"


def _of_week(column: str) -> str:
    """Look up what a usual week spends on the strain, as Improve has it."""
    return f"INDEX({{improve_strains.{column}}},{{flush_row}})"


FLUSHES = Grid(
    "flush_worth",
    "One flush or more",
    (
        Computed(
            "flushes",
            "Flushes kept",
            "state",
            chosen('"one flush"', '"two flushes"', '"three flushes"', '"four flushes"'),
        ),
        Computed(
            "be",
            "BE in total",
            "fraction",
            f'CHOOSE(1+{{cost_fruited}}*{_ALL_BE_KNOWN},"",{_be(1)}'
            + "".join(f"+({{number}}>={number})*N({_be(number)})" for number in _FLUSH_NUMBERS)
            + ")",
        ),
        Computed(
            "days",
            "Days in fruiting",
            "d",
            f"({{be}}>=0)*({used_in('first_flush_days', '{flush_row}')}"
            f"+({{number}}-1)*N({_INTERVAL})+{{turnover_days}})",
        ),
        Computed(
            "fresh",
            "Fresh mass",
            "kg",
            "CFX.EXPECTED_HARVEST(CFX.DRY_MASS({block_mass},{cost_target}),{be})",
        ),
        Computed(
            "contribution",
            "Contribution",
            "money/block",
            "{fresh}*{flush_value}-{flush_block}",
        ),
        Computed(
            "per_day",
            "Per day on the shelf",
            "money",
            'CHOOSE(1+({days}>0),"",{contribution}/{days})',
        ),
        Computed(
            "added",
            "Last flush adds per day",
            "money",
            f'CHOOSE(1+({{number}}>1)*(N({_INTERVAL})>0),"",({{contribution}}-SUMIFS('
            "{flush_worth.contribution},{flush_worth.number},{number}-1))/"
            f"{_INTERVAL})",
        ),
        Computed(
            "mark",
            "Best if shelves are full",
            "state",
            "CHOOSE(1+({per_day}>=MAX({flush_worth.per_day})),"
            'CHOOSE(1+({number}=INDEX({strains.flushes},{flush_row})),"","kept now"),'
            "CHOOSE(1+({number}=INDEX({strains.flushes},{flush_row})),"
            'CHOOSE(1+({per_day}>0),"none pays","best"),'
            'CHOOSE(1+({per_day}>0),"none pays, kept","best, kept")))',
        ),
        Computed(
            "blocks",
            "Blocks, times those of now",
            "number",
            f'CHOOSE(1+({{be}}>0),"",{_now("be")}/{{be}})',
            is_working=True,
        ),
        Computed(
            "stay",
            "Shelf spaces, times those of now",
            "number",
            f"{{blocks}}*{{days}}/{_now('days')}",
            is_working=True,
        ),
        Computed(
            "spaces",
            "Fruiting spaces, usual week",
            "count",
            f"{_LOAD}+SUMPRODUCT(({{helps_lines.strain_row}}={{flush_row}})*1,"
            "{helps_lines.worth_making},{helps_lines.fruiting})*({stay}-1)",
        ),
        Computed(
            "gain",
            "A usual week brings, against now",
            "money",
            f"{_of_week('growing')}*(1-{{blocks}})+{_of_week('standing')}*(1-{{stay}})",
        ),
        Computed(
            "usable",
            "Gain, where there are spaces for it",
            "money",
            f"CHOOSE(1+(({{spaces}}<=MAX({FRUITING_HOLDS},{_LOAD})+{{rounding}})"
            f"*({{spaces}}-{_LOAD}<=MAX(0,MEDIAN({{room_weeks.free}}))+{{rounding}})+{IS_FULL}>0),"
            '"",{gain})',
            is_working=True,
        ),
        Computed(
            "use",
            "Best in a usual week",
            "state",
            f'CHOOSE(1+COUNT({{gain}}),"",CHOOSE(1+COUNT({{?usable}}),"no room",'
            "CHOOSE(1+(N({?usable})>=MAX({flush_worth.usable})-{rounding}),"
            f'REPT("kept now",({{number}}={_KEPT_NOW})*1),'
            f'"best"&REPT(", kept",({{number}}={_KEPT_NOW})*1))))',
        ),
        NUMBER,
    ),
    rows=MOST_FLUSHES,
)


KEPT = "SUMIFS({strains.flushes},{strains.strain},{cost_strain})"


def _flushes_with_most(column: str) -> str:
    """Name the number of flushes with the most in a column."""
    return f"INDEX({{flush_worth.flushes}},{_row_with_most(column)})"


def _row_with_most(column: str) -> str:
    column = f"flush_worth.{column}"
    return number_of(f"MAX({{{column}}})", column, "flush_worth.number")


_BEST_ROW = _row_with_most("usable")
_BEST, _AT_FULL = _flushes_with_most("usable"), _flushes_with_most("per_day")
_MORE_SPACES = f"ROUNDUP(INDEX({{flush_worth.spaces}},{_BEST_ROW})-{_LOAD}-{{rounding}},0)"
_ROOM = (
    f'CHOOSE(1+({_MORE_SPACES}>0),"",'
    f'" For "&{_BEST}&" it takes "&{_MORE_SPACES}&" more: free in "'
    f'&COUNTIF({{room_weeks.free}},">="&{_MORE_SPACES})&" of these weeks.")'
)
"""Where the best of a usual week takes more spaces than now: in how many weeks they are free."""


def _answer(currency: str) -> str:
    more = whole_money("MAX({flush_worth.usable})", currency)
    best = (
        f'{_BEST}&CHOOSE(1+(MAX({{flush_worth.usable}})>{{rounding}}),", as now",'
        f'", about "&{more}&" a week more than now"'
        f'&REPT(", if its BE comes out as typed",({_BEST_ROW}>{_KEPT_NOW})*1))'
    )
    free = f"INT({FRUITING_HOLDS}-{_LOAD}+{{rounding}})"
    return first_of(
        (
            "COUNT({?cost_fruited})*(1-N({?cost_fruited}))",
            '"This line is sold as a block: its flushes are the buyer\'s."',
        ),
        ("COUNT({flush_worth.usable})=0", '""'),
        (
            f"{IS_FULL}>0",
            '"In a usual week fruiting is full, so a block that stays keeps out another one. '
            f'Best, with what a space is worth then: "&{best}&"."',
        ),
        otherwise=f'"In a usual week fruiting has "&{free}&" spaces free, so a block that stays '
        f'keeps out none. Best with the packs you sell: "&{best}&". If the shelves were full and '
        f'all could be sold: "&{_AT_FULL}&"."',
    )


def answer(currency: str) -> Sentences:
    """Return the section that answers it in words, and says where there is room for it."""
    return Sentences(
        "Is another flush worth it?",
        {
            "flush_words": _answer(currency),
            "flush_free": 'CHOOSE(1+(COUNT({flush_worth.usable})>0),"",'
            f"{occupancy.FREE_SENTENCE}&{_ROOM})",
        },
        2,
    )


WORDS = (
    "Best if shelves are full: the highest contribution per day on the shelf, turnaround days "
    "included, of the product line chosen. Best in a usual week: the packs of the Products sheet, "
    "all lines of the strain; a further flush saves blocks to start while spaces are free for it, "
    "in a usual week and in most of the next weeks (in a full week, clear out early). "
    "It goes by the same figures as the Improve sheet. A flush that you never kept rests on its BE "
    "as typed: leave a few blocks standing and weigh it first.",
)
