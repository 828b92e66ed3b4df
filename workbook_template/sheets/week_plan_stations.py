"""The stations of the week plan: what loads each, and how full it is."""

from __future__ import annotations

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import Computed
from workbook_template.schema.room_rows import STAGES
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.week_plan_crops import NUMBER
from workbook_template.writing.blocks import Grid
from workbook_template.writing.week_grid import (
    WEEK_HEADINGS,
    WEEK_KEYS,
    WEEKS,
    HeadedGrid,
    week_columns,
)


def _in_week(column: str) -> str:
    return f"SUMIFS({{starts.{column}}},{{starts.week}},{{week}})"


LOADS = Grid(
    "loads",
    "Load of the stations",
    (
        Computed("week", "Week of", "date", "{plan_monday}+7*({number}-1)"),
        Computed("blocks", "Blocks started", "count", _in_week("blocks")),
        Computed("mixer", "Mixer loads", "count", _in_week("loads")),
        Computed("steamer", "Steam loads", "count", _in_week("steamed")),
        Computed("bench", "Bench", "h", "{blocks}*{inoculating_minutes}/60"),
        Computed(
            "growing",
            "Work on blocks",
            "h",
            "({mixer}*{mixing_minutes}+{steamer}*{steaming_minutes}+{blocks}"
            "*({filling_minutes}+{inoculating_minutes}+{moving_minutes}))/60",
        ),
        Computed(
            "selling",
            "Picking to packing",
            "h",
            "(SUMPRODUCT({plan_products.packs},{plan_products.minutes})"
            "+SUMIFS({unusual_weeks.minutes},{unusual_weeks.week},{week})"
            '+SUMIFS({orders.minutes},{orders.market},"<="&({week}+{plan_market}),'
            '{orders.last},">="&({week}+{plan_market})))/60',
        ),
        Computed("labor", "Labor", "h", "{growing}+{selling}"),
        NUMBER,
    ),
    rows=WEEKS,
)


CAPACITIES = {
    "mixer": "mixer_loads_per_week",
    "steamer": "steam_loads_per_week",
    "bench": "bench_hours_per_week",
    "incubation": "incubation_places",
    "fruiting": "fruiting_places",
    "labor": "labor_hours_per_week",
}


def _first_full() -> str:
    """Number the first station that is as full as the fullest."""
    number = "1"
    for station in reversed(list(CAPACITIES)[:-1]):
        number = f"1+({{{station}}}<{{fullest}})*({number})"
    return number


_NAMES = ",".join(f'"{name}"' for name in CAPACITIES)


SHARES = HeadedGrid(
    "shares",
    "Load of the stations as a share of their capacity",
    (
        Computed("week", "Week of", "date", "{plan_monday}+7*({number}-1)"),
        *(
            Computed(
                name,
                name.capitalize(),
                "fraction",
                f"INDEX({{room_weeks.{name}_share}},{{number}})*1"
                if name in STAGES
                else f"INDEX({{loads.{name}}},{{number}})/{{{capacity}}}",
            )
            for name, capacity in CAPACITIES.items()
        ),
        Computed(
            "fullest",
            "Fullest",
            "fraction",
            f"MAX({','.join(f'{{{name}}}' for name in CAPACITIES)})",
        ),
        Computed("station", "Station", "state", f"CHOOSE({_first_full()},{_NAMES})"),
        NUMBER,
    ),
    rows=WEEKS,
)


def _each_station(template: str) -> str:
    return f"CHOOSE({{number}},{','.join(template.replace('%s', name) for name in CAPACITIES)})"


def _of_known_weeks(function: str) -> str:
    """Write a figure over the weeks of a station; blank where none is known."""
    known = _each_station("COUNT({shares.%s})")
    return f'CHOOSE(1+({known}>0),"",{_each_station(function + "({shares.%s})")})'


_LABELS = ",".join(f'"{name.capitalize()}"' for name in CAPACITIES)

STATIONS = HeadedGrid(
    "stations",
    "How full each station is in the week of",
    (
        Computed("station", "Station", "state", f"CHOOSE({{number}},{_LABELS})"),
        *week_columns(
            "fraction", _each_station("INDEX({shares.%s},MATCH({week},{shares.week},0))")
        ),
        Computed("highest", "Fullest week", "fraction", _of_known_weeks("MAX"), is_working=True),
        Computed(
            "week",
            "Fullest in the week of",
            "date",
            "INDEX({shares.week},"
            + _each_station(number_of("{highest}", "shares.%s", "shares.number"))
            + ")",
            is_working=True,
        ),
        NUMBER,
    ),
    rows=len(CAPACITIES),
    headings=WEEK_HEADINGS,
    alarmed=WEEK_KEYS,
)

_HIGHEST = "MAX({stations.highest})"
_FULLEST = number_of(_HIGHEST, "stations.highest", "stations.number")
_DATE = iso_date(f"INDEX({{stations.week}},{_FULLEST})")
_STATION = f"LOWER(INDEX({{stations.station}},{_FULLEST}))"
_SHARE = f'TEXT({_HIGHEST},"0%")'
SENTENCE = (
    "CHOOSE(1+(SUM({loads.blocks})>0)*(1+("
    f"{_HIGHEST}>1)),"
    '"Nothing to start: enter packs a week for your product lines on the Products sheet.",'
    f'"No station is over its capacity in the next {WEEKS} weeks. The fullest is "'
    f'&{_STATION}&", at "&{_SHARE}&" of its capacity in the week of "&{_DATE}&".",'
    f'"The bottleneck is "&{_STATION}&": "&{_SHARE}&" of its capacity in the week of "&{_DATE}&'
    '". Start fewer blocks, move some to another week, or add capacity.")'
)
"""The bottleneck, in words."""
