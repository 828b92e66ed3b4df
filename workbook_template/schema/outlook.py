"""What Results and Forecast have to be told: when figures are enough to go by."""

from __future__ import annotations

from workbook_template.schema.fields import ASSUMPTION, Field, Section

RESULTS = Section(
    "Minimum evidence",
    (
        Field(
            "widest_interval",
            "Maximum interval width",
            "fraction",
            "above 0 to 1",
            "A wider 95 % interval of the loss counts as too little data.",
            lowest=0.01,
            default=0.1,
            source=ASSUMPTION,
        ),
    ),
)

FORECAST = Section(
    "When to use your own records",
    (
        Field(
            "enough_batches",
            "Ended batches needed per strain",
            "count",
            "1 or more, whole",
            "With fewer, the forecast goes by the Strains sheet.",
            default=4.0,
            source=ASSUMPTION,
        ),
    ),
)
