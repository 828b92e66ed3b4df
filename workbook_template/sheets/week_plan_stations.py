"""The stations of the week plan: what loads each, and how full it is."""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.week_plan_crops import NUMBER
from workbook_template.writing.blocks import Grid
from workbook_template.writing.week_grid import (
    WEEKS,
    HeadedGrid,
)


def _in_week(column: str) -> str:
    return f"SUMIFS({{starts.{column}}},{{starts.week}},{{week}})"


LOADS = Grid(
    "loads",
    "Calculation: load of the stations",
    (
        Computed("week", "Week from", "date", "{plan_monday}+7*({number}-1)"),
        Computed("blocks", "Blocks started", "count", _in_week("blocks")),
        Computed("mixer", "Mixer loads", "count", _in_week("loads")),
        Computed("steamer", "Steam loads", "count", "ROUNDUP({blocks}/{blocks_per_load},0)"),
        Computed("bench", "Bench", "h", "{blocks}*{inoculating_minutes}/60"),
        Computed("incubation", "Places, incubation", "count", _in_week("incubation")),
        Computed("fruiting", "Places, fruiting", "count", _in_week("fruiting")),
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
            "+SUMIFS({unusual_weeks.minutes},{unusual_weeks.week},{week}))/60",
        ),
        Computed("labor", "Labor", "h", "{growing}+{selling}"),
        NUMBER,
    ),
    rows=WEEKS,
)


_STATIONS = {
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
    for station in reversed(list(_STATIONS)[:-1]):
        number = f"1+({{{station}}}<{{fullest}})*({number})"
    return number


_NAMES = ",".join(f'"{name}"' for name in _STATIONS)


SHARES = HeadedGrid(
    "shares",
    "Load of the stations as a share of their capacity",
    (
        Computed("week", "Week from", "date", "{plan_monday}+7*({number}-1)"),
        *(
            Computed(
                name,
                name.capitalize(),
                "fraction",
                f"INDEX({{loads.{name}}},{{number}})/{{{capacity}}}",
            )
            for name, capacity in _STATIONS.items()
        ),
        Computed(
            "fullest",
            "Fullest",
            "fraction",
            f"MAX({','.join(f'{{{name}}}' for name in _STATIONS)})",
        ),
        Computed("station", "Station", "state", f"CHOOSE({_first_full()},{_NAMES})"),
        NUMBER,
    ),
    rows=WEEKS,
    alarmed=(*_STATIONS, "fullest"),
)


def _each_station(template: str) -> str:
    return f"CHOOSE({{number}},{','.join(template.replace('%s', name) for name in _STATIONS)})"


def _of_known_weeks(function: str) -> str:
    """Write a figure over the weeks of a station; blank where none is known."""
    known = _each_station("COUNT({shares.%s})")
    return f'CHOOSE(1+({known}>0),"",{_each_station(function + "({shares.%s})")})'


STATIONS = HeadedGrid(
    "stations",
    "Load of each station",
    (
        Computed("station", "Station", "state", f"CHOOSE({{number}},{_NAMES})"),
        Computed("now", "This week", "fraction", _each_station("INDEX({shares.%s},1)")),
        Computed("usual", "Average", "fraction", _of_known_weeks("AVERAGE")),
        Computed("highest", "Highest", "fraction", _of_known_weeks("MAX")),
        Computed(
            "week",
            "Highest in week from",
            "date",
            "INDEX({shares.week},"
            + _each_station(number_of("{highest}", "shares.%s", "shares.number"))
            + ")",
        ),
        Computed("over", "Weeks over 100 %", "count", _each_station('COUNTIF({shares.%s},">"&1)')),
        NUMBER,
    ),
    rows=len(_STATIONS),
    alarmed=("now", "usual", "highest"),
)
