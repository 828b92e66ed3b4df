"""When things of a batch are due, and when they came: the workings of its dates."""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import used_in
from workbook_template.schema.log_columns import (
    flush_of,
    picked,
)


def _first_day(*criteria: str) -> str:
    """Return the day of the one harvest of the batch in a row that meets criteria, if it has one.

    A flush has one day everywhere, the first on which it was picked: what growers say, and what
    the days on the Strains sheet are counted between.
    """
    return f'IFERROR(INT(AVERAGEIFS({picked("date")},{",".join(criteria)})),"")'


_INCUBATION = used_in("incubation_days", "{at_strain}")
MADE_AND_INCUBATED = f"{{made}}+{_INCUBATION}"
_MOVE_TO_COME = f'MAX(({{state}}="to move")*{{today}},{MADE_AND_INCUBATED})'
"""What is overdue is expected today."""
_MOVED_OR_DUE = f"CHOOSE(1+COUNT({{moved}}),{_MOVE_TO_COME},{{moved}})"
"""Not rounded: what is counted from here is rounded to a whole day once, at the end."""
_INTERVAL = f"N({used_in('flush_interval_days', '{at_strain}')})"
_LAST_TO_COME = (
    f"MAX({{today}},{{next_due}})+CHOOSE(1+({{flushes_left}}>1),0,({{flushes_left}}-1)*{_INTERVAL})"
)
_LAST_THAT_CAME = "CHOOSE(1+COUNT({?last_picked}),{first_due},{?last_picked})"
_STANDING_ON = (
    f"CHOOSE(1+COUNT({{?last_picked}})*COUNT({{ended}})*({_INTERVAL}>0),"
    "0,{ended}-{?last_picked})"
)

DATES = (
    Computed(
        "move_due",
        "Move expected",
        "date",
        f"ROUND({MADE_AND_INCUBATED},0)",
        "Made, and the days of incubation of the strain.",
        is_working=True,
    ),
    Computed(
        "first_due",
        "First flush expected",
        "date",
        f"ROUND({_MOVED_OR_DUE}+{used_in('first_flush_days', '{at_strain}')},0)",
        "Counted from the move, once that has a date.",
        is_working=True,
    ),
    Computed(
        "clear_due",
        "Clearing expected",
        "date",
        'CHOOSE(1+(({state}="ended")+{whole}>0),ROUND('
        f"CHOOSE(1+({{flushes_left}}>0),{_LAST_THAT_CAME},{_LAST_TO_COME})"
        '+{turnover_days},0),"")',
        "After the last planned flush, later where one is late, with the turnaround days.",
        is_working=True,
    ),
    Computed(
        "first_picked",
        "First flush picked",
        "date",
        _first_day(picked("batch_flush"), flush_of("{line}", "1"), picked("begins"), "1"),
        "The first day of picking, where it took several.",
        is_working=True,
    ),
    Computed(
        "flushes_picked",
        "Flushes picked",
        "count",
        f"SUMIFS({picked('begins')},{picked('at_batch')},{{line}})",
        "How many different flushes the harvests name.",
        is_working=True,
    ),
    Computed(
        "flushes_left",
        "Flushes to come",
        "count",
        '({state}<>"ended")*(1-{whole})*MAX(0,INDEX({strains.flushes},{at_strain})-{last_flush})',
        "Of the planned flushes, after the last one picked; none once it has ended, or if it is "
        "sold whole.",
        is_working=True,
    ),
    Computed(
        "last_flush",
        "Last flush picked",
        "count",
        f"SUMIFS({picked('flush')},{picked('at_batch')},{{line}},{picked('last')},1)",
        "The highest number among its harvests; 0 before the first.",
        is_working=True,
    ),
    Computed(
        "last_picked",
        "Last flush, first day",
        "date",
        _first_day(picked("at_batch"), "{line}", picked("last"), "1"),
        "The first day on which that flush was picked.",
        is_working=True,
    ),
    Computed(
        "next_due",
        "Next flush expected",
        "date",
        f"CHOOSE(1+COUNT({{?last_picked}}),{{first_due}},ROUND({{?last_picked}}+{_INTERVAL},0))",
        "A later flush is counted from the first day of the one before.",
        is_working=True,
    ),
    Computed(
        "kept_for",
        "Kept for flushes",
        "count",
        'CHOOSE(1+({state}="ended"),"",MAX(COUNT({moved}),'
        f"{{last_flush}}+INT(MAX(0,{_STANDING_ON})/MAX(1,{_INTERVAL}))))",
        "Of an ended batch: those picked, and any whose day came before it was cleared out.",
        is_working=True,
    ),
)
