"""What Results and Forecast have to be told: when figures are enough, and how far they vary."""

from __future__ import annotations

from workbook_template.schema.fields import ASSUMPTION, COMMON_PRACTICE, Field, Section

RESULTS = Section(
    "Minimum evidence",
    (
        Field(
            "widest_interval",
            "Widest range of a loss",
            "fraction",
            "above 0 to 1",
            "From at least to at most; where it is wider and holds the plan: too little data.",
            lowest=0.01,
            default=0.1,
            source=ASSUMPTION,
        ),
        Field(
            "widest_share",
            "Widest range, BE and days",
            "fraction",
            "above 0 to 2",
            "As a share of the plan; where the range is wider and holds it: too little data.",
            lowest=0.01,
            default=0.2,
            source=ASSUMPTION,
        ),
        Field(
            "results_confidence",
            "How sure the ranges are",
            "fraction",
            "0.5 to below 1",
            "95 %: one range in twenty misses the true figure.",
            lowest=0.5,
            default=0.95,
            source=COMMON_PRACTICE,
        ),
        Field(
            "enough_for_spread",
            "Batches to measure unevenness",
            "count",
            "2 or more, whole",
            "Batches counted, less the strains in them; below that, the assumed one counts.",
            default=6.0,
            source=ASSUMPTION,
        ),
        Field(
            "assumed_spread",
            "Unevenness of batches, assumed",
            "number",
            "1 to 100",
            "1: luck alone; 2.5: losses of batches vary 2.5 times as much (variance).",
            default=2.5,
            source=ASSUMPTION,
        ),
        Field(
            "luck_limit",
            "Alarm limit",
            "number",
            "2 to 6",
            "3: luck alone passes the limit about once in 700 batches. Higher: fewer alarms.",
            default=3.0,
            source=COMMON_PRACTICE,
        ),
    ),
)

THIS_MONTH, LAST_MONTH = "this month", "last month"
MONTHS_BACK = (THIS_MONTH, LAST_MONTH, *(f"{number} months ago" for number in range(2, 12)))
"""The months of the last twelve, as one picks them: such words mean the right month next month."""

LOSSES_OF_MONTH = Section(
    "What did the losses of a month cost?",
    (
        Field(
            "loss_month",
            "Month",
            "choice",
            choices="|".join(MONTHS_BACK),
            help="Pick one; the list below shows it cause by cause.",
            default=LAST_MONTH,
        ),
    ),
)

SUSPECTS = Section(
    "When to name a lot, run or recipe",
    (
        Field(
            "suspect_limit",
            "Name it if luck alone is below",
            "fraction",
            "above 0 to 0.2",
            "Held against the last column above. 5 %: of twenty farms where nothing is wrong, one "
            "or none has something named.",
            lowest=0.005,
            default=0.05,
            source=COMMON_PRACTICE,
        ),
        Field(
            "suspect_batches",
            "Batches needed",
            "count",
            "1 or more, whole",
            "Of a lot, run or recipe; one batch by itself is judged on Results.",
            default=2.0,
            source=ASSUMPTION,
        ),
    ),
)

RANGE = Section(
    "Range of the forecast",
    (
        Field(
            "forecast_range",
            "Share of weeks in the range",
            "fraction",
            "0.5 to below 1",
            "80 %: the harvest of four weeks in five is between low and high.",
            lowest=0.5,
            default=0.8,
            source=COMMON_PRACTICE,
        ),
        Field(
            "assumed_flush_spread",
            "A flush varies by, assumed",
            "fraction",
            "above 0 to 2",
            "How far a batch usually is off (standard deviation), as a share of the flush; counts "
            "while batches are few.",
            lowest=0.03,
            default=0.25,
            source=ASSUMPTION,
        ),
        Field(
            "assumed_day_spread",
            "Days vary by, assumed",
            "d",
            "above 0 to 30",
            "How far each wait usually is off: to the move, to the first flush, to the next.",
            default=2.0,
            source=ASSUMPTION,
        ),
    ),
)
