"""What to expect of a strain: the plan, the farm's own records, and what is used of both.

The Strains sheet has a row of each for every strain, column below column. The plan is typed; the
own figures come from the logs; used is ``Z * own + (1 - Z) * plan``, where Z grows with the own
batches (``CFX.CREDIBILITY``). All other sheets read what is used, by ``used_of`` or ``used_in``.
"""

from __future__ import annotations

from typing import NamedTuple

from workbook_template.schema.fields import ASSUMPTION, Field, Section

MOST_FLUSHES = 4

OWN_TOO, PLAN_ONLY = "plan and own", "plan only"

FIGURES = Section(
    "Plan or own figures",
    (
        Field(
            "figures_used",
            "Figures used",
            "choice",
            choices=f"{OWN_TOO}|{PLAN_ONLY}",
            help="By all sheets. Plan and own: your own count more as batches come in.",
            default=OWN_TOO,
        ),
        Field(
            "losses_weight",
            "Planned losses, in batches",
            "count",
            "above 0 to 1000",
            "What the plan is worth: with as many of your own, each counts half.",
            default=4.0,
            source=ASSUMPTION,
        ),
        Field(
            "be_weight",
            "Planned BE, in batches",
            "count",
            "above 0 to 1000",
            "What the plan is worth, against batches that gave the flush.",
            default=3.0,
            source=ASSUMPTION,
        ),
        Field(
            "days_weight",
            "Planned days, in batches",
            "count",
            "above 0 to 1000",
            "What the plan is worth; for the spawn rate, too.",
            default=2.0,
            source=ASSUMPTION,
        ),
        Field(
            "picking_weight",
            "Planned picking, in pickings",
            "count",
            "above 0 to 1000",
            "What the plan is worth, against pickings with minutes.",
            default=10.0,
            source=ASSUMPTION,
        ),
        Field(
            "start_confidence",
            "How sure of enough good blocks",
            "fraction",
            "0.5 to 0.999",
            "When starting: 50 % is the average, 80 % enough in four weeks of five.",
            lowest=0.5,
            default=0.8,
            source=ASSUMPTION,
        ),
        Field(
            "enough_batches",
            "Ended batches needed per strain",
            "count",
            "1 or more, whole",
            "With fewer, Costing does not go by your own months.",
            default=4.0,
            source=ASSUMPTION,
        ),
    ),
)


class Trait(NamedTuple):
    """A figure of a strain that own records replace as they come in."""

    key: str
    weight: str
    """The input that says how many batches its plan is worth."""
    batches: str
    own: str
    """Templates: how many batches of the strain tell it, and what they say; ``{n}`` is how many."""
    plan: str = "INDEX({strains.%s},{line})"
    """Template of what is planned."""


_OF = "{batches.strain},{strain}"
_MOVED = f'{_OF},{{batches.made}},">0",{{batches.moved}},">0",{{batches.moved}},"<="&{{today}}'
_PICKED = f'{_MOVED},{{batches.first_picked}},">0"'
_AGAIN = f'{_OF},{{batches.first_picked}},">0",{{batches.last_flush}},">1"'
_COUNTED = f'{_OF},{{batches.counts}},1,{{batches.good}},">=0"'
"""A row that says more lost than made is a slip, and has a fault of its own."""
_TIMED = '{harvests.strain},{strain},{harvests.minutes},">0",{harvests.fresh},">0"'


def _days(until: str, since: str, criteria: str) -> str:
    sums = [f"SUMIFS({{batches.{date}}},{criteria})" for date in (until, since)]
    return f"({sums[0]}-{sums[1]})"


def _be(flush: int) -> Trait:
    """Return the trait of the BE of a flush: of ended batches that were kept until its day."""
    kept = f'{_OF},{{batches.state}},"ended",{{batches.kept_for}},">={flush}"'
    picked = (
        f"SUMIFS({{harvests.fresh}},{{harvests.strain}},{{strain}},{{harvests.flush}},{flush},"
        "{harvests.of_ended},1)"
    )
    return Trait(
        f"be_{flush}",
        "be_weight",
        f'COUNTIFS({kept},{{batches.dry_good}},">0")',
        f'{picked}/SUMIFS({{batches.dry_good}},{kept},{{batches.dry_good}},">0")',
    )


TRAITS = (
    Trait(
        "spawn_rate",
        "days_weight",
        f'COUNTIFS({_OF},{{batches.spawn_rate}},">0")',
        f"SUMIFS({{batches.spawn_rate}},{_OF})/{{n}}",
    ),
    Trait(
        "incubation_days",
        "days_weight",
        f"COUNTIFS({_MOVED})",
        f"{_days('moved', 'made', _MOVED)}/{{n}}",
    ),
    Trait(
        "first_flush_days",
        "days_weight",
        f"COUNTIFS({_PICKED})",
        f"{_days('first_picked', 'moved', _PICKED)}/{{n}}",
    ),
    Trait(
        "flush_interval_days",
        "days_weight",
        f"COUNTIFS({_AGAIN})",
        f"{_days('last_picked', 'first_picked', _AGAIN)}"
        f"/(SUMIFS({{batches.last_flush}},{_AGAIN})-{{n}})",
    ),
    *(_be(flush) for flush in range(1, MOST_FLUSHES + 1)),
    Trait(
        "loss_rate",
        "losses_weight",
        f"COUNTIFS({_COUNTED})",
        f"SUMIFS({{batches.lost}},{_COUNTED})/SUMIFS({{batches.bags}},{_COUNTED})",
    ),
    Trait(
        "picking_minutes",
        "picking_weight",
        f"COUNTIFS({_TIMED})",
        f"SUMIFS({{harvests.minutes}},{_TIMED})/SUMIFS({{harvests.fresh}},{_TIMED})",
        "CHOOSE(1+COUNT(INDEX({strains.%s},{line})),{harvesting_minutes},"
        "INDEX({strains.%s},{line}))",
    ),
)


PLANNED = {"used": "strains"}
"""Where the figures are planned that stand in another list."""


def used_of(key: str, strain: str) -> str:
    """Write a template that finds the figure used of the strain that a key names."""
    return used_in(key, f"MATCH({{{strain}}},{{strains.strain}},0)")


def used_in(key: str, row: str) -> str:
    """Write the figure used of the strain in a row of the Strains sheet's table."""
    return f"INDEX({{used.{key}}},{row})"
