"""The log of harvests: one row for each picking."""

from __future__ import annotations

from workbook_template.schema.columns import (
    FIRST_DATE,
    NOTE,
    after_today,
    before_above,
    line_of,
    long_before,
)
from workbook_template.schema.fields import Computed, Field, Rule, Table
from workbook_template.schema.figures import used_in
from workbook_template.schema.log_columns import (
    BATCH_NAME,
    before_made,
    flush_of,
    of_batch,
    of_its_batch,
)
from workbook_template.schema.trace import of_traced_batch

_MADE_BY = "MATCH({?date},{batches.made},1)"
_MADE_FROM = f"MIN({_MADE_BY},IFERROR(MATCH({{?date}}-365/2,{{batches.made}},1),1))"
"""The rows of the batches of the half year before, if their log is in the order of dates."""


def _same(column: str) -> str:
    """Write the rows of a column of the harvests among which are those of the row's batch."""
    ends = (f"INDEX({{batches.{end}}},{{at_batch}})" for end in ("from_row", "to_row"))
    return ":".join(f"INDEX({{harvests.{column}}},{end})" for end in ends)


def _of_same(column: str) -> str:
    """Write the criterion that a harvest has what the row has in a column."""
    return f"{_same(column)},{{{column}}}"


_EARLIER = f'COUNTIFS({_of_same("batch_flush")},{_same("turn")},"<"&{{turn}})'
_BATCH_FROM = "INDEX({batches.from_row},{at_batch})"
_FIRST_ROW = (
    f"MATCH({{batch_flush}},INDEX({{harvests.batch_flush}},{_BATCH_FROM}):"
    f"INDEX({{harvests.batch_flush}},{{line}}),0)+{_BATCH_FROM}-1"
)
"""Found at once where the rows are in the order of their dates: no later row is looked at."""

_BATCH_MADE, _BATCH_ENDED = of_batch("made"), of_batch("ended")
_BATCH_STRAIN = of_batch("at_strain")
_FLUSHES = f"N(INDEX({{strains.flushes}},{_BATCH_STRAIN}))"
_EXPECTED = f"{of_batch('dry_substrate')}*{used_in('biological_efficiency', _BATCH_STRAIN)}"
_BLOCKS_WEIGHED = f"{of_batch('bags')}*{of_batch('block_mass_used')}"


HARVESTS = Table(
    "harvests",
    "Harvests",
    (
        BATCH_NAME,
        Field("date", "Date", "date", FIRST_DATE, "The day of picking."),
        Field("flush", "Flush", "count", "1 to 9, whole", "1 for the first, 2 for the second."),
        Field("fresh", "Fresh mass", "kg", "0 or more", "Trimmed, as it goes to the cold room."),
        Field(
            "unsold",
            "Unsold",
            "kg",
            "0 or more",
            "Spoiled, given away; blank counts as nothing.",
            required=False,
        ),
        Field(
            "minutes",
            "Picking time",
            "min",
            "0 or more",
            "If you timed it: all who picked, together.",
            required=False,
            width=9.0,
        ),
        NOTE,
        *of_its_batch("date", "From spawning to this picking."),
        Computed(
            "of_ended",
            "Of an ended batch",
            "count",
            '(INDEX({batches.state},{at_batch})="ended")*1',
            "1 where it is: such harvests count for the farm's own figures.",
            is_working=True,
        ),
        Computed(
            "batch_flush",
            "Batch and flush",
            "count",
            flush_of("{at_batch}", "{flush}"),
            "One number for each flush of each batch: programs find numbers fastest.",
            is_working=True,
        ),
        Computed(
            "begins",
            "Begins a flush",
            "count",
            f"CHOOSE(1+{{harvests_in_order}},({_EARLIER}=0)*1,({_FIRST_ROW}={{line}})*1)",
            "1 on the first day of each flush of a batch, in one row.",
            is_working=True,
        ),
        Computed(
            "flush_be",
            "BE of its flush",
            "fraction",
            f'CHOOSE(1+{{begins}}*{{of_ended}}*(N({of_batch("dry_good")})>0),"",'
            f"SUMIFS({_same('fresh')},{_of_same('batch_flush')})/{of_batch('dry_good')})",
            "Of an ended batch, in the row in which the flush begins.",
            is_working=True,
        ),
        Computed(
            "flush_be_squared",
            "BE of its flush, squared",
            "number",
            "{flush_be}^2",
            "Their sum shows how much the flushes of batches differ.",
            is_working=True,
        ),
        Computed(
            "last",
            "Begins the last flush",
            "count",
            f"CHOOSE(1+{{begins}},0,(COUNTIFS({_of_same('at_batch')},"
            f'{_same("flush")},">"&{{flush}})=0)*1)',
            "1 where no later flush of the batch was picked.",
            is_working=True,
        ),
        Computed(
            "turn",
            "Turn",
            "number",
            "CHOOSE(1+COUNT({?date}),N({?harvests_end}),INT({?date}))"
            "*(1+ROWS({harvests.date}))+{line}",
            "Orders the rows by day, and those of a day as they stand; without a date, at the end.",
            is_working=True,
        ),
        before_above("harvests"),
        line_of("harvests", "batch"),
        Computed(
            "at_batch",
            "Row of the batch",
            "count",
            f"IFERROR({_MADE_FROM}-1+MATCH({{batch}},INDEX({{batches.batch}},{_MADE_FROM}):"
            f"INDEX({{batches.batch}},{_MADE_BY}),0),"
            'IFERROR(MATCH({batch},{batches.batch},0),""))',
            "Looked for among the batches of the half year before, then among all.",
            finds="batch",
            is_working=True,
        ),
        of_traced_batch("harvests"),
        Computed(
            "picking_cost",
            "Cost of the picking",
            "money",
            f"{{fresh}}*{of_batch('picking_cost_used')}",
            "At what the batch keeps, or at the wage of today.",
            is_working=True,
        ),
    ),
    rows=40,
    unique=False,
    faults=(
        after_today("date"),
        before_made(),
        Rule(
            "date",
            "after the batch ended",
            f"COUNT({_BATCH_ENDED})*({{date}}>N({_BATCH_ENDED}))*(N({_BATCH_ENDED})>=N({_BATCH_MADE}))",
        ),
        Rule("unsold", "more than was picked", "COUNT({fresh})*(N({unsold})>{fresh})"),
        Rule(
            "fresh",
            "more than its blocks weighed",
            f"COUNT({{fresh}})*({{fresh}}>{_BLOCKS_WEIGHED})",
        ),
    ),
    warnings=(
        long_before("harvests", "date"),
        Rule(
            "flush",
            "more than planned for this strain",
            f"COUNT({{flush}})*({{flush}}>{_FLUSHES})*({_FLUSHES}>0)",
        ),
        Rule(
            "fresh",
            "far above the plan of its batch",
            f"COUNT({{fresh}})*({{fresh}}>{{most_of_plan}}*{_EXPECTED})*({{fresh}}<={_BLOCKS_WEIGHED})",
        ),
    ),
)
