"""Strains: plan, own figures and what is used, one below the other in the same columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import OWN_TOO, TRAITS
from workbook_template.schema.materials import STRAINS, efficiency, fruiting_days
from workbook_template.writing.blocks import Calculated, Form, Grid, Lines, Sheet, TableBlock

if TYPE_CHECKING:
    from collections.abc import Callable

    from workbook_template.schema.figures import Trait

_LINE = Counter("line")
_NAME = Computed(
    "strain",
    "Strain",
    "state",
    'CHOOSE(1+({line}<=ROWS({strains.strain})),"",INDEX({strains.strain},{line})&"")',
)
_NAMED = 'CHOOSE(1+({strain}<>""),"",%s)'

_WORDS = (
    "Plan: what you type above. Own: what the Batches, Harvests and Losses sheets say, as soon as "
    "there is a batch. Used: the plan at first, more and more your own figures as batches come in; "
    "the Farm sheet says how many batches the plan is worth, and can keep everything at plan. All "
    "other sheets calculate with what is used.",
    "Own losses count batches that by their age should have ended, whether they have or "
    "not. Own BE of a flush: ended batches that gave it or stood until its day. Own picking time: "
    "harvests with minutes.",
)


def _plan(trait: Trait) -> str:
    return trait.plan.replace("%s", trait.key)


def _columns(of_trait: Callable[[Trait], str], **others: Computed) -> list[Computed]:
    """Make a column for each trait that is typed above, in the order there."""
    traits = {trait.key: trait for trait in TRAITS}
    columns = []
    for column in STRAINS.fields[1:]:
        if column.key in others:
            columns.append(others[column.key])
        elif column.key in traits:
            formula = of_trait(traits[column.key])
            columns.append(Computed(column.key, column.label, column.unit, formula))
    return columns


def _count(trait: Trait) -> str:
    return f"INDEX({{own_counts.{trait.key}}},{{line}})"


def _own(trait: Trait) -> str:
    own = trait.own.replace("{n}", _count(trait))
    return f'CHOOSE(1+(N({_count(trait)})>0),"",{own})'


def _used(trait: Trait) -> str:
    own = f"INDEX({{own.{trait.key}}},{{line}})"
    counts = f"N({_count(trait)})*{{own_figures}}"
    plan = _plan(trait)
    blended = f"CFX.BLENDED(N({own}),{plan},{counts},{{{trait.weight}}})"
    return _NAMED % f'CHOOSE(1+COUNT({plan}),CHOOSE(1+({counts}>0),"",{own}),{blended})'


def _differs(of_strain: str, what: str) -> str:
    """Write what differs from the plan by more than luck, and which way; else nothing."""
    verdict = f"INDEX({{by_strain.{of_strain}}},{{line}})"
    is_real = f'(RIGHT(IFERROR({verdict},""),12)="than planned")'
    return f'CHOOSE(1+{is_real},"",", "&LEFT({verdict},4)&" {what}")'


_DIFFERS = (
    Computed(
        "differs",
        "Differs from plan, not by luck",
        "state",
        "REPLACE("
        + "&".join(
            (
                _differs("verdict", "losses"),
                _differs("be_verdict", "BE"),
                _differs("days_verdict", "days to harvest"),
            )
        )
        + ',1,2,"")',
        width=31.0,
    ),
    Computed(
        "differs_at",
        "Row that differs",
        "count",
        'CHOOSE(1+({differs}<>""),"",{line})',
        is_working=True,
    ),
)

_COUNTS = Grid(
    "own_counts",
    "Batches behind the own figures; pickings behind the picking time",
    (
        _NAME,
        *(
            Computed(one.key, one.label, "count", one.formula)
            for one in _columns(lambda trait: _NAMED % trait.batches)
        ),
        _LINE,
    ),
    rows=STRAINS.rows,
)
_OWN = Grid(
    "own",
    "Own figures, from the logs",
    (
        _NAME,
        *_columns(
            _own,
            flushes=Computed(
                "batches",
                "Batches counted",
                "count",
                _NAMED % "INDEX({own_counts.loss_rate},{line})",
            ),
        ),
        *_DIFFERS,
        _LINE,
    ),
    rows=STRAINS.rows,
)
_USED = Grid(
    "used",
    "Used, on all other sheets",
    (
        _NAME,
        *_columns(
            _used,
            flushes=Computed(
                "flushes",
                "Planned flushes",
                "count",
                'CHOOSE(1+COUNT(INDEX({strains.flushes},{line})),"",INDEX({strains.flushes},{line}))',
            ),
            source=Computed(
                "share",
                "How much own losses count",
                "fraction",
                _NAMED % "CFX.CREDIBILITY(N(INDEX({own_counts.loss_rate},{line}))*{own_figures},"
                "{losses_weight})",
            ),
        ),
        Computed(
            "biological_efficiency",
            "BE, planned flushes",
            "fraction",
            efficiency("{?be_%d}"),
        ),
        Computed("fruiting_days", "Time in fruiting", "d", fruiting_days("{?flush_interval_days}")),
        _LINE,
    ),
    rows=STRAINS.rows,
)

_SWITCH = Calculated(
    "own_figures",
    "Own figures count",
    "count",
    f'({{figures_used}}="{OWN_TOO}")*1',
    "1; 0 where everything is kept at plan.",
)


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Strains",
        purpose="What to expect of each strain: plan, own figures, and what is used of both.",
        blocks=[TableBlock(STRAINS), _OWN, _USED, Lines("How it is counted", _WORDS, "farm text")],
        workings=[Form("Plan or own", (_SWITCH,)), _COUNTS],
        landscape=True,
        pages_high=1,
    )
