"""Forecast: the flushes to come of every batch in progress, and how they spread over the weeks.

The day of a flush is normal about the one expected. Of the next thing that a batch does, its move
or a flush, it is known that it has not come: its day is a normal one cut off before today. What is
overdue by more than one standard deviation is taken as overdue by one, so that a batch that waits
for long is still expected soon. What follows starts from the mean and variance of that day.

A flush of mass m that falls into a week with the share p adds m*p to what is expected. Flushes of
a batch come at least about a week apart, so that at most one falls into a week: the variance of
what a batch gives in a week is ``vary * sum(m^2*p) - sum(m*p)^2``, where ``vary`` is the mean
square of what a flush gives over what is expected of it. Losses hit all flushes of a batch alike,
and never make the variance less than that of masses on days that are known.
"""

from __future__ import annotations

from datetime import date
from math import ceil
from typing import TYPE_CHECKING

from workbook_template.schema.batches import BATCHES
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.schema.materials import STRAINS
from workbook_template.sheets.forecast_weeks import WEEKS
from workbook_template.sheets.week_plan_coming import COMING
from workbook_template.writing.blocks import Calculated, Form, Grid

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from workbook_template.writing.layout import Value

FLUSHES = "flushes"
"""The grid that has a row for each batch that may be in progress at a time."""
_AT_LEAST, _OF_LOG = 60, 4
"""Batches that may be in progress: five a week for twelve weeks, or a quarter of a longer log."""
_OF_THOSE_OPEN = 1.5
"""Rows for each batch that is in progress already."""
EACH_FLUSH = range(1, MOST_FLUSHES + 1)
EACH_WEEK = range(1, WEEKS + 1)
_HALF_A_DAY = "1/2"
"""A day that is a whole number begins half before it."""

WEEK_ENDS = Form(
    "Ends of the weeks",
    [
        Calculated(
            f"week_end_{week}",
            f"End of week {week}",
            "number",
            (f"{{week_end_{week - 1}}}" if week > 1 else f"{{forecast_monday}}-{_HALF_A_DAY}")
            + "+7",
            "" if week > 1 else "Half a day before Monday: days are whole numbers.",
        )
        for week in EACH_WEEK
    ],
)


def _of_batch(column: str) -> str:
    return f"INDEX({{batches.{column}}},{{row}})"


def _of_strain(column: str) -> str:
    return used_in(column, "{at}")


def _spread(column: str) -> str:
    return f"INDEX({{spread.{column}}},{{at}})"


_IS_MOVED = f"(N({_of_batch('moved')})>0)"
_STATE_OF_WAIT = f"CHOOSE(1+COUNT({_of_batch('last_picked')})"
"""Of three: a batch waits for its move, for its first flush, or for a later one."""


def _by_wait(move: str, first: str, later: str) -> str:
    return f"{_STATE_OF_WAIT},CHOOSE(1+{_IS_MOVED},{move},{first}),{later})"


_EXPECTED = _by_wait(
    f"{_of_batch('made')}+{_of_strain('incubation_days')}",
    f"{_of_batch('moved')}+{_of_strain('first_flush_days')}",
    f"{_of_batch('last_picked')}+N({_of_strain('flush_interval_days')})",
)
_SINCE = f"(({{today}}-{_HALF_A_DAY}-{{event}})/{{wide}})"
"""How late it is today, in standard deviations."""
_TO_COME_LOST = f"MAX(0,{_of_strain('loss_rate')}-{_of_batch('lost')}/{_of_batch('bags')})"
"""Of a batch not moved: what its strain's losses still take."""


def _flush(number: int) -> tuple[Computed, ...]:
    is_to_come = f"({{last}}<{number})*({_of_strain('flushes')}>={number})"
    is_next = f"{{is_flush}}*({{last}}={number - 1})"
    steps = f"({number - 1}-{{last}})"
    center = f"{{then}}+{{first}}+{steps}*N({_of_strain('flush_interval_days')})"
    variance = f"{{then_square}}+{{first_square}}+{steps}*{_spread('next')}^2"
    has_mass = f"COUNT({{?mass_{number}}})"
    return (
        Computed(
            f"mass_{number}",
            f"Mass of flush {number}",
            "kg",
            f'CHOOSE(1+{is_to_come},"",{{dry}}*{_of_strain(f"be_{number}")})',
        ),
        Computed(
            f"day_{number}",
            f"Flush {number}, day",
            "number",
            f'CHOOSE(1+{has_mass},"",CHOOSE(1+{is_next},{center},{{event}}))',
        ),
        Computed(
            f"wide_{number}",
            f"Flush {number}, spread of days",
            "d",
            f'CHOOSE(1+{has_mass},"",CHOOSE(1+{is_next},SQRT({variance}),{{wide}}))',
        ),
    )


def _by_end(week: int, power: str = "") -> str:
    """Add up the flushes of a batch that come by the end of a week."""

    def share(flush: int) -> str:
        day = f"({{?day_{flush}}}-{{week_end_{week}}})/{{?wide_{flush}}}"
        is_next = f"({{is_flush}}*({{last}}={flush - 1}))"
        # The far tails differ from program to program; a millionth of a flush is none.
        come = f"1-NORMSDIST({day})/{{left}}^{is_next}"
        return f"ROUND(({come})/{{rounding}},0)*{{rounding}}"

    return "+".join(
        f"CHOOSE(1+COUNT({{?day_{flush}}}),0,{{?mass_{flush}}}{power}*{share(flush)})"
        for flush in EACH_FLUSH
    )


def _in_week(week: int) -> tuple[Computed, ...]:
    def step(key: str) -> str:
        before = f"-{{{key}_{week - 1}}}" if week > 1 else ""
        return f"({{{key}_{week}}}{before})"

    return (
        Computed(f"come_{week}", f"Come by the end of week {week}", "kg", _by_end(week)),
        Computed(f"square_{week}", f"Squares by that end, {week}", "number", _by_end(week, "^2")),
        Computed(
            f"off_{week}",
            f"Variance of week {week}",
            "number",
            f"MAX(0,({{vary}}-1)*{step('square')},{{vary}}*{step('square')}-{step('come')}^2)",
        ),
    )


def rows_ready(batch_rows: int, batches: Sequence[Mapping[str, Value]] = ()) -> int:
    """Return for how many batches in progress there are rows.

    Parameters
    ----------
    batch_rows : int
        The rows of the log.
    batches : sequence of mapping
        What is typed into it.
    """
    in_progress = sum(
        row.get("batch") is not None and not isinstance(row.get("ended"), date) for row in batches
    )
    usual = min(batch_rows, max(_AT_LEAST, batch_rows // _OF_LOG))
    return max(BATCHES.rows, usual, ceil(_OF_THOSE_OPEN * in_progress))


def flushes(batch_rows: int) -> Grid:
    """Return every batch in progress with its flushes to come.

    It stands last in the workings: with more rows nothing below it moves. A row for each row of
    the log would make most of a workbook's cells, and nearly all of them empty.
    """
    return Grid(
        FLUSHES,
        "Flushes to come, by batch in progress",
        (
            Computed("batch", "Batch", "state", _of_batch("batch")),
            Computed("strain", "Strain", "state", _of_batch("strain")),
            Computed("state", "State", "state", _of_batch("state")),
            Computed(
                "blocks",
                "Good blocks expected",
                "number",
                f"MIN({_of_batch('good')},{_of_batch('bags')}*(1-{_of_strain('loss_rate')}*(1-{_IS_MOVED})))",
            ),
            Computed(
                "dry",
                "Dry substrate, good blocks",
                "kg",
                f"{_of_batch('dry_substrate')}*{{blocks}}/{_of_batch('bags')}"
                f"*(1-{_of_batch('whole')})",
            ),
            Computed("last", "Last flush picked", "count", f"{_of_batch('last_flush')}*1"),
            Computed(
                "is_flush",
                "Waits for a flush",
                "count",
                _by_wait("0", "1", "1"),
            ),
            Computed(
                "wide",
                "Spread of the next step",
                "d",
                _by_wait(f"{_spread('move')}*1", f"{_spread('first')}*1", f"{_spread('next')}*1"),
            ),
            Computed(
                "event",
                "Next step expected",
                "number",
                f"MAX({{today}}-{_HALF_A_DAY}-{{wide}},{_EXPECTED})",
            ),
            Computed("left", "Chance of it after now", "fraction", f"NORMSDIST(0-{_SINCE})"),
            Computed(
                "lean",
                "Later than expected",
                "number",
                f"EXP(0-{_SINCE}^2/2)/SQRT(2*PI())/{{left}}",
            ),
            Computed("then", "Next step, mean day", "number", "{event}+{wide}*{lean}"),
            Computed(
                "then_square",
                "Next step, variance",
                "number",
                f"{{wide}}^2*(1+{_SINCE}*{{lean}}-{{lean}}^2)",
            ),
            Computed(
                "first",
                "Days to the flush of that step",
                "d",
                f"CHOOSE(1+{{is_flush}},N({_of_strain('first_flush_days')}),0)",
            ),
            Computed(
                "first_square",
                "Variance of these days",
                "number",
                f"CHOOSE(1+{{is_flush}},{_spread('first')}^2,0)",
            ),
            Computed(
                "vary",
                "Mean square of a flush over what is expected",
                "number",
                f"(1+{_spread('be')}^2)*(1+(1-{_IS_MOVED})*{{results_spread}}"
                f"*{_TO_COME_LOST}*(1-{_TO_COME_LOST})*{_of_batch('bags')}"
                "/MAX(1,{blocks})^2)",
            ),
            *(column for flush in EACH_FLUSH for column in _flush(flush)),
            *(column for week in EACH_WEEK for column in _in_week(week)),
            *COMING,
            Computed(
                "row",
                "Row of the batch",
                "count",
                'CHOOSE(1+({line}<=COUNT({batches.open_line})),"",'
                "SMALL({batches.open_line},{line}))",
            ),
            Computed(
                "at", "Row of the strain", "count", 'IFERROR(MATCH({strain},{used.strain},0),"")'
            ),
            Counter("line"),
        ),
        rows=rows_ready(batch_rows),
        rows_for=lambda entries: rows_ready(batch_rows, entries.tables.get(BATCHES.key, ())),
    )


def _exact(difference: str) -> str:
    """Write a difference without what rounding leaves of numbers that cancel each other out."""
    return f"MAX(0,ROUND(({difference})/{{rounding}},4)*{{rounding}})"


def _weekly(week: int) -> tuple[Computed, Computed]:
    before = f"-SUMIFS({{flushes.come_{week - 1}}},{{flushes.strain}},{{strain}})"
    return (
        Computed(
            f"due_{week}",
            f"Expected in week {week}",
            "kg",
            _exact(
                f"SUMIFS({{flushes.come_{week}}},{{flushes.strain}},{{strain}})"
                f"{before if week > 1 else ''}"
            ),
        ),
        Computed(
            f"off_{week}",
            f"Variance of week {week}",
            "number",
            f"SUMIFS({{flushes.off_{week}}},{{flushes.strain}},{{strain}})"
            f"+(INDEX({{spread.be}},{{line}})*{{due_{week}}})^2/INDEX({{spread.be_worth}},{{line}})",
        ),
    )


WEEKLY = Grid(
    "weekly",
    "Expected and its variance, by strain and week",
    (
        Computed("strain", "Strain", "state", 'INDEX({used.strain},{line})&""'),
        Computed(
            "picked",
            "Picked this week",
            "kg",
            "SUMIFS({harvests.fresh},{harvests.strain},{strain},{harvests.date},"
            '">="&{forecast_monday},{harvests.date},"<="&{today})',
        ),
        *(column for week in EACH_WEEK for column in _weekly(week)),
        Counter("line"),
    ),
    rows=STRAINS.rows,
)
"""The variance of a week holds that of the mean of a flush, which all batches of a strain share."""


def of_week(column: str, name: str) -> str:
    """Write a figure of a strain in the week of the row."""
    weeks = ",".join(
        f"SUMIFS({{weekly.{column}_{week}}},{{weekly.strain}},{{{name}}})" for week in EACH_WEEK
    )
    return f"CHOOSE({{line}},{weeks})"


def picked_in_week(name: str) -> str:
    """Write what was picked of a strain in the week of the row, up to today."""
    return f"({{line}}=1)*SUMIFS({{weekly.picked}},{{weekly.strain}},{{{name}}})"
