"""Forecast: how much batches of a strain differ, in the mass of a flush and in the days to it.

Own batches are blended with an assumption, which counts as so many batches as are enough to
measure a spread: the farm's variance starts from the assumption, a strain's from the farm's. That
is the mean of a scaled inverse chi-square prior with its data (Gelman et al., Bayesian Data
Analysis, section 2.6, from memory). A deviation is counted from the figure that the forecast
uses, so that a plan far from what comes widens the range too.

From sums alone: sum((x - used)^2) = sum(x^2) - 2 * used * sum(x) + count * used^2.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.schema.materials import STRAINS
from workbook_template.writing.blocks import Calculated, Form, Grid

_FLUSHES = range(1, MOST_FLUSHES + 1)
_ENDED = '{batches.strain},{strain},{batches.state},"ended"'
_DATED = f'{_ENDED},{{batches.moved}},">0",{{batches.first_picked}},">0"'
_REPEATED = f'{_ENDED},{{batches.next_squared}},">=0"'


def _used(column: str) -> str:
    return f"N({used_in(column, '{line}')})"


def _worth(trait: str, weight: str) -> str:
    """Write how many batches a figure used is worth, the plan included."""
    return f"N(INDEX({{own_counts.{trait}}},{{line}}))*{{own_figures}}+{{{weight}}}"


def _off(squares: str, total: str, count: str, used: str) -> str:
    """Add up squared deviations from the figure used; rounding brings none below 0."""
    return f"MAX(0,{squares}-2*{used}*({total})+{count}*{used}^2)"


def _of_flush(flush: int) -> tuple[Computed, Computed]:
    """Make the columns of a flush: the batches kept for it, and how far they were off."""
    kept = f'{_ENDED},{{batches.kept_for}},">={flush}",{{batches.dry_good}},">0"'
    picked = f"{{harvests.strain}},{{strain}},{{harvests.flush}},{flush}"
    squares = f"SUMIFS({{harvests.flush_be_squared}},{picked})"
    total = f"SUMIFS({{harvests.flush_be}},{picked})"
    off = _off(squares, total, f"{{kept_{flush}}}", _used(f"be_{flush}"))
    return (
        Computed(
            f"kept_{flush}",
            f"Batches kept for flush {flush}",
            "count",
            f"COUNTIFS({kept})*({_used(f'be_{flush}')}>0)",
            is_working=True,
        ),
        Computed(
            f"off_{flush}",
            f"BE of flush {flush}, squares",
            "number",
            f"CHOOSE(1+({{kept_{flush}}}>0),0,{off})",
            is_working=True,
        ),
    )


_WEIGHT = "+".join(f"{{kept_{flush}}}*{_used(f'be_{flush}')}^2" for flush in _FLUSHES)
_OFF = "+".join(f"{{off_{flush}}}" for flush in _FLUSHES)


def _between(date: str, since: str, criteria: str) -> str:
    dates = [f"SUMIFS({{batches.{one}}},{criteria})" for one in (date, since)]
    return "-".join(dates)


def _wait(key: str, label: str, count: str, off: str) -> tuple[Computed, Computed, Computed]:
    """Make the columns of one of the waits: its steps seen, their squares, its spread."""
    farm = f"{{spread_{key}_farm}}"
    return (
        Computed(f"{key}_count", f"{label}, seen", "count", count, is_working=True),
        Computed(f"{key}_squares", f"{label}, squares", "number", off, is_working=True),
        Computed(
            key,
            f"{label} \N{PLUS-MINUS SIGN}",
            "d",
            f"SQRT(({{enough_for_spread}}*{farm}+{{{key}_squares}})"
            f"/({{enough_for_spread}}+MAX(0,{{{key}_count}}-1))*(1+1/{{worth}}))",
        ),
    )


SPREAD = Grid(
    "spread",
    "How far batches vary, by strain (standard deviation)",
    (
        Computed("strain", "Strain", "state", 'INDEX({used.strain},{line})&""'),
        Computed(
            "worth",
            "Batches that the days used are worth",
            "count",
            _worth("incubation_days", "days_weight"),
            is_working=True,
        ),
        Computed(
            "be_worth",
            "Batches that the BE used is worth",
            "count",
            _worth("be_1", "be_weight"),
            is_working=True,
        ),
        *(column for flush in _FLUSHES for column in _of_flush(flush)),
        Computed(
            "be_squares",
            "BE, squares as shares",
            "number",
            f"CHOOSE(1+({_WEIGHT}>0),0,{{kept_1}}*({_OFF})/({_WEIGHT}))",
            is_working=True,
        ),
        Computed(
            "be",
            "Mass of a flush \N{PLUS-MINUS SIGN}",
            "fraction",
            "SQRT(({enough_for_spread}*{spread_be_farm}+{be_squares})"
            "/({enough_for_spread}+MAX(0,{kept_1}-1)))",
        ),
        *_wait(
            "move",
            "Made to moved",
            f"COUNTIFS({_DATED})",
            _off(
                f"SUMIFS({{batches.move_squared}},{_DATED})",
                _between("moved", "made", _DATED),
                "{move_count}",
                _used("incubation_days"),
            ),
        ),
        *_wait(
            "first",
            "Moved to first flush",
            f"COUNTIFS({_DATED})",
            _off(
                f"SUMIFS({{batches.first_squared}},{_DATED})",
                _between("first_picked", "moved", _DATED),
                "{first_count}",
                _used("first_flush_days"),
            ),
        ),
        *_wait(
            "next",
            "Flush to flush",
            f"SUMIFS({{batches.last_flush}},{_REPEATED})-COUNTIFS({_REPEATED})",
            _off(
                f"SUMIFS({{batches.next_squared}},{_REPEATED})",
                _between("last_picked", "first_picked", _REPEATED),
                "{next_count}",
                _used("flush_interval_days"),
            ),
        ),
        Counter("line"),
    ),
    rows=STRAINS.rows,
)
"""Aligned with the figures used. The days hold what is unsure about their mean too; that of a
flush is added where its flushes are, as it hits all of them alike."""


def _farm(key: str, label: str, assumed: str, count: str) -> Calculated:
    """Make the variance of all strains, which starts from the assumption."""
    return Calculated(
        f"spread_{key}_farm",
        label,
        "number",
        f"({{enough_for_spread}}*{{{assumed}}}^2+SUM({{spread.{key}_squares}}))"
        f"/({{enough_for_spread}}+SUM({{spread.{count}}})"
        f'-COUNTIF({{spread.{count}}},">0"))',
        "Variance of all strains, blended with the assumed one.",
    )


FARM = Form(
    "Spread of the whole farm",
    (
        _farm("be", "Mass of a flush, as a share", "assumed_flush_spread", "kept_1"),
        _farm("move", "Made to moved", "assumed_day_spread", "move_count"),
        _farm("first", "Moved to first flush", "assumed_day_spread", "first_count"),
        _farm("next", "Flush to flush", "assumed_day_spread", "next_count"),
    ),
)
RULE = (
    "How far batches vary: the strain's ended batches from the figures used (standard deviation), "
    "blended with that of all strains and with the assumed one. The assumed one counts as many "
    "batches as the Results sheet asks for to measure unevenness."
)
