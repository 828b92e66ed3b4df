"""What the logs of batches, harvests and losses share: one row a thing that happened."""

from __future__ import annotations

from workbook_template.schema.columns import (
    MONTH,
)
from workbook_template.schema.fields import Computed, Field, Rule


def month_of(key: str) -> Computed:
    """Make the column of the month of a day."""
    return Computed(
        "month",
        "Month",
        "state",
        MONTH % (key, key),
        "Sorts and adds up.",
        width=10.0,
        is_working=True,
    )


def flush_of(row: str, flush: str) -> str:
    """Number a flush of the batch in a row of the log, as the look-up of the harvests does."""
    return f"{flush}*ROWS({{batches.batch}})+{row}"


def picked(column: str) -> str:
    """Write the rows of a column of the harvests among which all those of a batch are.

    Looking through all rows for each batch would take four times as long for twice the rows.
    """
    return f"INDEX({{harvests.{column}}},{{from_row}}):INDEX({{harvests.{column}}},{{to_row}})"


def of_batch(column: str) -> str:
    """Write a figure of the batch that a row names."""
    return f"INDEX({{batches.{column}}},{{at_batch}})"


def from_batch(key: str, label: str, unit: str, column: str) -> Computed:
    """Make the column that repeats a figure of the batch that a row names."""
    return Computed(key, label, unit, of_batch(column), "Of the batch.")


def of_its_batch(day: str, age: str) -> tuple[Computed, ...]:
    """Make the columns that a log has of the batch that a row names: what, when, how old."""
    return (
        from_batch("strain", "Strain", "state", "strain"),
        from_batch("recipe", "Recipe", "state", "recipe"),
        month_of(day),
        Computed("days", "Since made", "d", f"{{{day}}}-{of_batch('made')}", age),
    )


BATCH_NAME = Field(
    "batch",
    "Batch",
    "choice",
    choices="batches.batch",
    help="As on the Batches sheet.",
    width=10.0,
)


def before_made() -> Rule:
    """Make the rule that nothing comes from a batch before it was made."""
    return Rule(
        "date", "before the batch was made", f"(N({{days}})<0)*(N({of_batch('made')})<={{today}})"
    )
