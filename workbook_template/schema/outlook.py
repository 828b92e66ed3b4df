"""What Results and Forecast have to be told: when figures are enough to go by."""

from __future__ import annotations

from workbook_template.schema.fields import ASSUMPTION, Field, Section

RESULTS = Section(
    "When figures say something",
    (
        Field(
            "widest_interval",
            "Widest interval of a loss",
            "fraction",
            "above 0 to 1",
            "Where the 95 % interval is wider, there are too few blocks to say.",
            lowest=0.01,
            default=0.1,
            source=ASSUMPTION,
        ),
    ),
)

FORECAST = Section(
    "When your own figures count",
    (
        Field(
            "enough_batches",
            "Ended batches of a strain needed",
            "count",
            "1 or more, whole",
            "With fewer, the sheet Strains says what to expect.",
            default=4.0,
            source=ASSUMPTION,
        ),
    ),
)
