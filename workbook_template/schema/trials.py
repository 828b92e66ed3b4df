"""A trial: two treatments side by side, their blocks, their losses, what each block yielded."""

from __future__ import annotations

from workbook_template.schema.fields import ASSUMPTION, COMMON_PRACTICE, Field, Section, Table

_BLOCKS = "1 or more, whole"
_LOST = "0 or more, whole"

TRIAL = Section(
    "The trial",
    (
        Field(
            "trial_about",
            "What you try",
            "text",
            help="Change one thing only; pick at random which block gets what.",
            required=False,
        ),
        Field("trial_a", "Treatment A", "text", help="Your usual way."),
        Field("trial_b", "Treatment B", "text", help="The new way."),
        Field("trial_blocks_a", "Blocks started with A", "count", _BLOCKS, "Lost ones included."),
        Field("trial_lost_a", "Blocks lost with A", "count", _LOST, "Contaminated or stalled."),
        Field("trial_blocks_b", "Blocks started with B", "count", _BLOCKS, "Lost ones included."),
        Field("trial_lost_b", "Blocks lost with B", "count", _LOST, "Contaminated or stalled."),
        Field(
            "trial_confidence",
            "Confidence",
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
            "Of the next trial, if it is as large as here.",
            lowest=0.5,
            default=0.8,
            source=COMMON_PRACTICE,
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

TRIAL_YIELDS = Table(
    "trial_yields",
    "Yield of each block",
    (
        Field(
            "yield_a",
            "With A",
            "kg/block",
            "0 or more",
            "Fresh mass of one good block, all flushes; you may paste a column.",
            required=False,
        ),
        Field(
            "yield_b",
            "With B",
            "kg/block",
            "0 or more",
            "Fresh mass of one good block, all flushes; you may paste a column.",
            required=False,
        ),
    ),
    rows=60,
    unique=False,
)
