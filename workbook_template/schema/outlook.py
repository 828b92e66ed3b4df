"""What Results and Forecast have to be told: when figures are enough, and how far they vary."""

from __future__ import annotations

from workbook_template.schema.fields import ASSUMPTION, COMMON_PRACTICE, Field, Section

RESULTS = Section(
    "Minimum evidence",
    (
        Field(
            "widest_interval",
            "Maximum interval width",
            "fraction",
            "above 0 to 1",
            "A wider interval of the loss that holds the plan counts as too little data.",
            lowest=0.01,
            default=0.1,
            source=ASSUMPTION,
        ),
        Field(
            "widest_share",
            "Maximum width, BE and days",
            "fraction",
            "above 0 to 2",
            "Of the plan; a wider interval of BE or days that holds it is too little data.",
            lowest=0.01,
            default=0.2,
            source=ASSUMPTION,
        ),
        Field(
            "results_confidence",
            "Confidence of the intervals",
            "fraction",
            "0.5 to below 1",
            "95 %: one interval in twenty misses the true figure.",
            lowest=0.5,
            default=0.95,
            source=COMMON_PRACTICE,
        ),
        Field(
            "enough_for_spread",
            "Batches needed to measure spread",
            "count",
            "2 or more, whole",
            "Batches counted, less the strains in them; below that, the assumed spread counts.",
            default=6.0,
            source=ASSUMPTION,
        ),
        Field(
            "assumed_spread",
            "Spread between batches, assumed",
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
            "In standard deviations of luck; higher: fewer alarms, more of them true.",
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
            "Name it when luck is below",
            "fraction",
            "above 0 to 0.2",
            "5 %: of twenty farms where nothing is wrong, one or none has something named.",
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
            "Spread of a flush, assumed",
            "fraction",
            "above 0 to 2",
            "Standard deviation between batches, as a share of the flush; counts while batches "
            "are few.",
            lowest=0.03,
            default=0.25,
            source=ASSUMPTION,
        ),
        Field(
            "assumed_day_spread",
            "Spread of days, assumed",
            "d",
            "above 0 to 30",
            "Standard deviation of each wait: to the move, to the first flush, to the next.",
            default=2.0,
            source=ASSUMPTION,
        ),
    ),
)
