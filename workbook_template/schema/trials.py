"""A trial: two treatments of one strain, batch by batch, from the logs or typed."""

from __future__ import annotations

from workbook_template.schema.columns import FIRST_DATE, NOTE, line_of
from workbook_template.schema.fields import (
    ASSUMPTION,
    COMMON_PRACTICE,
    Computed,
    Field,
    Rule,
    Section,
    Table,
)

_BLOCKS = "1 or more, whole"
_LOST = "0 or more, whole"
FROM_LOGS, TYPED = "from the logs", "typed here"
COMPARED = {"recipe": "recipe", "spawn lot": "spawn_lot", "steam run": "steam_run"}
"""What treatments can be, and the column of the batches that says which one a batch had."""
_POCOCK = "Level of each look: Pocock 1977, Biometrika 64:191; above 95 %, Bonferroni."

TRIAL = Section(
    "The trial",
    (
        Field(
            "trial_about",
            "What you try",
            "text",
            help="Change one thing only; pick at random which batch gets what.",
            required=False,
        ),
        Field(
            "trial_source",
            "Batches to judge",
            "choice",
            choices=f"{FROM_LOGS}|{TYPED}",
            help="Typed here: those in the lists at the end of this sheet.",
            default=FROM_LOGS,
        ),
        Field(
            "trial_strain",
            "Strain",
            "choice",
            choices="strains.strain",
            help="Always one: strains differ more than treatments do. Blank: that of the newest.",
            required=False,
        ),
        Field(
            "trial_kind",
            "Compare by",
            "choice",
            choices="|".join(COMPARED),
            help="What A and B are in the logs.",
            default=next(iter(COMPARED)),
        ),
        Field(
            "trial_a",
            "Treatment A",
            "text",
            help="Your usual way, named as in the log. A and B blank: the newest change.",
            required=False,
        ),
        Field(
            "trial_b",
            "Treatment B",
            "text",
            help="The new way, named as in the log.",
            required=False,
        ),
        Field(
            "trial_from",
            "Batches made from",
            "date",
            FIRST_DATE,
            "Blank: from the first one in the log.",
            required=False,
        ),
        Field(
            "trial_to",
            "Batches made until",
            "date",
            FIRST_DATE,
            "Blank: up to the last one in the log.",
            required=False,
        ),
    ),
)

SETTLING = Section(
    "What would settle it",
    (
        Field(
            "trial_worth_loss",
            "Loss difference worth having",
            "fraction",
            "above 0 to 0.5",
            "The smallest one, in points: 5 % is a loss of 5 % against one of 10 %.",
            lowest=0.006,
            default=0.05,
            source=ASSUMPTION,
        ),
        Field(
            "trial_worth_yield",
            "Yield difference worth having",
            "fraction",
            "above 0 to 1",
            "The smallest one, as a share of the yield with A.",
            lowest=0.011,
            default=0.1,
            source=ASSUMPTION,
        ),
        Field(
            "trial_looks",
            "Looks planned",
            "count",
            "1 to 5, whole",
            "How often you will look, the last look included; decide before you start.",
            default=1.0,
            source=_POCOCK,
        ),
        Field(
            "trial_confidence",
            "How sure you want to be",
            "fraction",
            "0.5 to below 1",
            "95 %: with equal treatments, one trial in twenty shows a difference.",
            lowest=0.5,
            default=0.95,
            source=COMMON_PRACTICE,
        ),
        Field(
            "trial_power",
            "Chance to find a difference",
            "fraction",
            "0.5 to below 1",
            "Where there is one as large as is worth having.",
            lowest=0.5,
            default=0.8,
            source=COMMON_PRACTICE,
        ),
        Field(
            "trial_yield_spread",
            "Yields vary by, assumed",
            "fraction",
            "above 0 to 1",
            "How far a batch usually is off (standard deviation); counts while there are few.",
            lowest=0.011,
            default=0.15,
            source=ASSUMPTION,
        ),
    ),
)

TOTALS = Section(
    "Totals, where you have no figures by batch",
    (
        Field(
            "trial_blocks_a",
            "Blocks started with A",
            "count",
            _BLOCKS,
            "Counts as one batch; lost ones included.",
            required=False,
        ),
        Field(
            "trial_lost_a",
            "Blocks lost with A",
            "count",
            _LOST,
            "Contaminated or stalled.",
            required=False,
        ),
        Field(
            "trial_blocks_b",
            "Blocks started with B",
            "count",
            _BLOCKS,
            "Counts as one batch; lost ones included.",
            required=False,
        ),
        Field(
            "trial_lost_b",
            "Blocks lost with B",
            "count",
            _LOST,
            "Contaminated or stalled.",
            required=False,
        ),
    ),
)

INSPECTION = Section(
    "Blocks to inspect",
    (
        Field(
            "inspect_share",
            "Fault rate to catch",
            "fraction",
            "0.0001 to below 1",
            "Share of faulty blocks.",
            lowest=0.001,
            default=0.05,
            source=ASSUMPTION,
        ),
        Field(
            "inspect_confidence",
            "Chance of finding one",
            "fraction",
            "0.5 to 0.999",
            "95 %: one such lot in twenty slips through.",
            lowest=0.5,
            default=0.95,
            source=COMMON_PRACTICE,
        ),
        Field(
            "inspect_lot",
            "Blocks in the lot",
            "count",
            "1 to 10000, whole",
            "A batch or a delivery; blank for very many.",
            required=False,
        ),
    ),
)

TRIAL_BATCHES = Table(
    "trial_batches",
    "Batches typed here",
    (
        Field("side", "Treatment", "choice", choices="A|B", help="A or B, as named above."),
        Field(
            "name",
            "Batch",
            "text",
            help="Whatever you call it.",
            required=False,
        ),
        Field("blocks", "Blocks started", "count", _BLOCKS, "Lost ones included."),
        Field(
            "lost",
            "Blocks lost",
            "count",
            _LOST,
            "Contaminated or stalled; blank counts as none.",
            required=False,
        ),
        Field(
            "fresh",
            "Fresh mass",
            "kg",
            "0 or more",
            "Of the whole batch, all flushes; blank: not weighed.",
            required=False,
        ),
        NOTE,
        Computed("loss", "Loss", "fraction", "N({lost})/{blocks}", "Of the blocks started."),
        Computed(
            "per_block",
            "Harvest, good block",
            "kg/block",
            'CHOOSE(1+COUNT({fresh})*({blocks}>N({lost})),"",{fresh}/({blocks}-N({lost})))',
            "Fresh mass over the blocks that were not lost.",
        ),
        Computed(
            "side_line",
            "Row, below zero for B",
            "count",
            'CHOOSE(1+({side}="A"),CHOOSE(1+({side}="B"),"",0-{line}),{line})',
            "Tells the treatments apart.",
            is_working=True,
        ),
        Computed(
            "lost_squared",
            "Blocks lost, squared, over those started",
            "number",
            "N({lost})*N({lost})/{blocks}",
            "Their sum shows how much more the losses of batches vary than luck makes them.",
            is_working=True,
        ),
        Computed(
            "yield_squared",
            "Harvest of a good block, squared",
            "number",
            "{per_block}*{per_block}",
            "Their sum shows how much yields vary from batch to batch.",
            is_working=True,
        ),
        line_of("trial_batches", "side"),
    ),
    rows=12,
    unique=False,
    faults=(
        Rule(
            "lost",
            "more than were started",
            "COUNT({lost})*COUNT({blocks})*(N({lost})>N({blocks}))",
        ),
    ),
)

TRIAL_YIELDS = Table(
    "trial_yields",
    "Yield of each block",
    (
        Field(
            "yield_a",
            "With A",
            "kg/block",
            "0 or more",
            "Fresh mass of one good block; all of them count as one batch.",
            required=False,
        ),
        Field(
            "yield_b",
            "With B",
            "kg/block",
            "0 or more",
            "Fresh mass of one good block; all of them count as one batch.",
            required=False,
        ),
    ),
    rows=60,
    unique=False,
)
