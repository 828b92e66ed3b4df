"""Batches: the log that everything else hangs on, a row a batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.logs import BATCHES, TO_COPY
from workbook_template.writing.blocks import Check, Sheet, TableBlock

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_CHECKS = (
    Check("Batches: more blocks lost than made", 'COUNTIF({batches.good},"<0")'),
    Check(
        "Batches: moved before made, or ended before moved",
        'COUNTIF({batches.out_of_order},">0")',
    ),
    Check(
        "Batches: dates after today",
        'COUNTIF({batches.made},">"&{today})+COUNTIF({batches.moved},">"&{today})'
        '+COUNTIF({batches.ended},">"&{today})',
    ),
    Check(
        "Batches: spawned from a lot of another strain, or past its use-by",
        'COUNTIF({batches.spawn_unfit},">0")',
    ),
    Check("Batches: made before their steam run", 'COUNTIF({batches.unsteamed},">0")'),
    Check(
        "Batches: no longer new, and what they were made with is not kept",
        f'COUNTIF({{batches.to_keep}},"{TO_COPY}")',
    ),
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Batches",
        purpose="The log: one row for each batch. On Mondays keep its figures, see Start.",
        blocks=[TableBlock(BATCHES, more_rows=settings.batch_rows)],
        landscape=True,
        checks=_CHECKS,
    )
