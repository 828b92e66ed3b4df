"""Which months the Year sheet adds up."""

from __future__ import annotations

from workbook_template.schema.columns import FIRST_DATE
from workbook_template.schema.fields import Field, Section

YEAR = Section(
    "Choose",
    (
        Field(
            "year_from",
            "Twelve months from",
            "date",
            FIRST_DATE,
            "Any day of the first month; blank: the last twelve months.",
            required=False,
        ),
    ),
)
