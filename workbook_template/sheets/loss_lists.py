"""Losses by cause, in a month and in twelve; by age and by where they were seen first."""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.losses import LOSS_CAUSES, SEEN_FIRST
from workbook_template.sheets.loss_money import COUNTED, IN_YEAR, total
from workbook_template.sheets.loss_month import IN_MONTH, KNOWN
from workbook_template.writing.blocks import Check, Grid

CAUSES, PLACES = LOSS_CAUSES.split("|"), SEEN_FIRST.split("|")
NOT_NOTED = "not noted"
_WEEKS = 4
"""Weeks of age with a column of their own: incubation; all later ones share one."""


def _listed(words: list[str]) -> str:
    return ",".join(f'"{word}"' for word in words)


def _named(words: list[str]) -> str:
    return f"CHOOSE({{line}},{_listed(words)})"


def _blocks(*criteria: str) -> str:
    return f"SUMIFS({','.join(('{losses.blocks}', IN_YEAR, *criteria))})"


def _counts(words: list[str], column: str, of_row: str) -> tuple[Computed, ...]:
    """Make the columns that count a row's blocks for each word of a choice."""
    return tuple(
        Computed(
            f"of_{number}",
            word.capitalize(),
            "count",
            _blocks(of_row, f'{{losses.{column}}},"{word}"'),
            is_working=True,
        )
        for number, word in enumerate(words, 1)
    )


def _most(words: list[str]) -> str:
    """Write which of the words has the most blocks in a row; the first of several."""
    most = f"MAX({','.join(f'{{of_{number}}}' for number in range(1, len(words) + 1))})"
    first = "1"
    for number in reversed(range(1, len(words))):
        first = f"1+({{of_{number}}}<{most})*({first})"
    return f'CHOOSE(1+({most}>0),"",CHOOSE({first},{_listed(words)}))'


_SHARE = 'CHOOSE(1+({loss_blocks}>0),"",{blocks}/{loss_blocks})'
_OF_CAUSE = "{losses.cause},{cause}"


def _of_week(week: int) -> Computed:
    """Make the column of the blocks lost in a week of their age, or later."""
    from_day = [f'{{losses.days}},">="&7*{week - 1}'] * (week > 1)
    to_day = [f'{{losses.days}},"<"&7*{week}'] * (week <= _WEEKS)
    label = f"Week {week}" if week <= _WEEKS else "Later"
    return Computed(f"week_{week}", label, "count", _blocks(_OF_CAUSE, *from_day, *to_day))


_SHARE_OF_MONTH = "({loss_month_blocks}>0)*COUNT({month_blocks})"
_MONTH = (
    Computed(
        "month_blocks",
        "Month: blocks lost",
        "count",
        f'CHOOSE(1+({KNOWN}),"",SUMIFS({{losses.blocks}},{IN_MONTH},{_OF_CAUSE}))',
    ),
    Computed(
        "month_share",
        "Month: share of lost",
        "fraction",
        f'CHOOSE(1+{_SHARE_OF_MONTH},"",{{month_blocks}}/{{loss_month_blocks}})',
    ),
    Computed(
        "month_cost",
        "Month: cost with lost sales",
        "money",
        f'CHOOSE(1+({KNOWN}),"",{total("loss_cost", IN_MONTH, _OF_CAUSE, COUNTED)})',
    ),
)
_BY_WEEK = [_of_week(week) for week in range(1, _WEEKS + 2)]

BY_CAUSE = Grid(
    "by_cause",
    "By cause: the month picked, then twelve months; weeks are the age of the block",
    (
        Computed("cause", "Cause", "state", _named(CAUSES)),
        *_MONTH,
        Computed("blocks", "12 months: blocks lost", "count", _blocks(_OF_CAUSE)),
        Computed("share", "12 months: share of lost", "fraction", _SHARE),
        Computed(
            "of_made",
            "12 months: share of made",
            "fraction",
            'CHOOSE(1+({loss_made}>0),"",{blocks}/{loss_made})',
        ),
        Computed(
            "cost",
            "12 months: cost with lost sales",
            "money",
            total("loss_cost", IN_YEAR, _OF_CAUSE, COUNTED),
        ),
        Computed(
            "age",
            "Average age when lost",
            "d",
            f'CHOOSE(1+({{blocks}}>0),"",SUMIFS({{losses.block_days}},{IN_YEAR},{_OF_CAUSE})'
            "/{blocks})",
        ),
        Computed("seen", "Seen first, mostly", "state", _most(PLACES), width=16.0),
        *_BY_WEEK,
        *_counts(PLACES, "seen", _OF_CAUSE),
        Counter("line"),
    ),
    rows=len(CAUSES),
    totals=(
        *(one.key for one in _MONTH),
        *("blocks", "share", "of_made", "cost"),
        *(one.key for one in _BY_WEEK),
    ),
)

_OF_PLACE = "{losses.seen},{place}"
_NOTED = '{losses.seen},"?*"'
BY_PLACE = Grid(
    "by_place",
    "By where it was seen first",
    (
        Computed("place", "Seen first", "state", _named([*PLACES, NOT_NOTED])),
        Computed(
            "blocks",
            "Blocks lost",
            "count",
            f'CHOOSE(1+({{place}}="{NOT_NOTED}"),{_blocks(_OF_PLACE)},'
            f"{{loss_blocks}}-{_blocks(_NOTED)})",
        ),
        Computed("share", "Share of all lost", "fraction", _SHARE),
        Computed("cause", "Mostly", "state", _most(CAUSES), width=11.0),
        *_counts(CAUSES, "cause", _OF_PLACE),
        Counter("line"),
    ),
    rows=len(PLACES) + 1,
)

_AGES = "+".join(f"SUM({{by_cause.{one.key}}})" for one in _BY_WEEK)


def _cost_off(by_cause: str, all_of_it: str) -> str:
    """Write by how much the causes miss a total, to the cent; 0 while the cost is not known."""
    return (
        f"COUNT({all_of_it})*ABS(ROUND(SUM({{by_cause.{by_cause}}})-N({all_of_it}),2))"
        f"*(COUNT({{by_cause.{by_cause}}})>0)"
    )


_YEAR_COST = "INDEX({loss_periods.loss_cost},ROWS({loss_periods.line}))"
CHECKS = (
    Check(
        "Loss causes: blocks and cost of the month by cause are those of all its losses",
        "ABS(SUM({by_cause.month_blocks})-N({?loss_month_blocks}))"
        f"+{_cost_off('month_cost', '{?loss_month_cost}')}",
    ),
    Check(
        "Loss causes: cost by cause is the cost of all losses of twelve months",
        _cost_off("cost", _YEAR_COST),
    ),
    Check(
        "Loss causes: blocks by cause, by age and by place are all blocks lost",
        "ABS(SUM({by_cause.blocks})-{loss_blocks})"
        f"+ABS({_AGES}-{{loss_blocks}})+ABS(SUM({{by_place.blocks}})-{{loss_blocks}})",
    ),
    Check(
        "Loss causes: blocks lost are the same on the Losses and Batches sheets",
        "ABS(SUM({losses.blocks})-SUM({batches.lost}))",
    ),
)
