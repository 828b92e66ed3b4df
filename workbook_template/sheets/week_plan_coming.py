"""What the batches in progress still give, each flush for the first market that it is in time for.

The days are those that are expected, without their spread: that is the Forecast's.
"""

from __future__ import annotations

from workbook_template.schema.batches import BATCHES
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.sheets.forecast_flushes import rows_ready
from workbook_template.writing.blocks import Grid

_EACH_FLUSH = range(1, MOST_FLUSHES + 1)


def _of_batch(column: str) -> str:
    return f"INDEX({{batches.{column}}},{{row}})"


def _of_strain(column: str) -> str:
    return used_in(column, "{at}")


def _crop_where(*criteria: str) -> str:
    return f"SUMIFS({{crops.number}},{{crops.strain_row}},{{at}},{','.join(criteria)})"


_READY = f"{_of_batch('made')}+{_of_strain('incubation_days')}"
_MOVED = f"CHOOSE(1+(N({_of_batch('moved')})>0),MAX({{today}},{_READY}),{_of_batch('moved')})"
_NEXT = (
    f"MAX({{today}},CHOOSE(1+({{last}}>0),{_MOVED}+{_of_strain('first_flush_days')},"
    f"N({_of_batch('last_picked')})+N({_of_strain('flush_interval_days')})))"
)
"""What is overdue may come today. Days are not rounded: they meet those that a start is for."""

_OF_RECIPE = _crop_where("{crops.recipe_row}", "{recipe}", "{crops.as_block}", "{whole}")
_OF_STRAIN = _crop_where("{crops.main}", "1")


def _flush(number: int) -> tuple[Computed, Computed]:
    is_to_come = (
        f"(1-{{whole}})*({{last}}<{number})*({_of_strain('flushes')}>={number})"
        if number > 1
        else f"(({{whole}}+({{last}}<{number}))>0)"
    )
    of_dry = f"{_of_batch('dry_substrate')}/{_of_batch('bags')}*N({_of_strain(f'be_{number}')})"
    gives = f"{{blocks}}*CHOOSE(1+{{whole}},{of_dry},1)"
    day = f"{{next}}+({number}-1-{{last}})*N({_of_strain('flush_interval_days')})*(1-{{whole}})"
    ready = f"{day}+{{days_before_market}}-{{rounding}}"
    return (
        Computed(
            f"gives_{number}", f"Flush {number}", "number", f'CHOOSE(1+{is_to_come},"",{gives})'
        ),
        Computed(
            f"market_{number}",
            f"Flush {number}, for the market on",
            "date",
            f'CHOOSE(1+COUNT({{?gives_{number}}}),"",'
            f"{{market_this_week}}-7*INT(({{market_this_week}}-MAX({{today}},{ready}))/7))",
        ),
    )


def coming(batch_rows: int) -> Grid:
    """Return every batch in progress, and for which market each flush comes.

    It stands last in the workings: with more rows nothing below it moves.
    """
    return Grid(
        "coming",
        "Flushes to come, by market",
        (
            Computed("batch", "Batch", "state", _of_batch("batch")),
            Computed(
                "crop",
                "Crop number",
                "count",
                f"CHOOSE(1+({_OF_RECIPE}>0),(1-{{whole}})*{_OF_STRAIN},{_OF_RECIPE})",
            ),
            Computed(
                "blocks",
                "Good blocks expected",
                "number",
                f"MIN({_of_batch('good')},{_of_batch('bags')}"
                f"*(1-{_of_strain('loss_rate')}*(N({_of_batch('moved')})=0)))",
            ),
            Computed("last", "Last flush picked", "count", f"{_of_batch('last_flush')}*1"),
            Computed(
                "next",
                "Next flush expected",
                "number",
                f"CHOOSE(1+{{whole}},{_NEXT},{_READY})",
            ),
            *(column for flush in _EACH_FLUSH for column in _flush(flush)),
            Computed("whole", "Sold whole", "count", f"{_of_batch('whole')}*1"),
            Computed("at", "Row of the strain", "count", f"{_of_batch('at_strain')}*1"),
            Computed("recipe", "Row of the recipe", "count", f"{_of_batch('at_recipe')}*1"),
            Computed(
                "row",
                "Row of the batch",
                "count",
                'CHOOSE(1+({line}<=COUNT({batches.open_line})),"",'
                "SMALL({batches.open_line},{line}))",
            ),
            Counter("line"),
        ),
        rows=rows_ready(batch_rows),
        rows_for=lambda entries: rows_ready(batch_rows, entries.tables.get(BATCHES.key, ())),
    )


def given(market: str, weeks: str = "1") -> str:
    """Write what comes of the crop of a row for the markets of so many weeks from a day."""
    return "+".join(
        f"SUMIFS({{coming.gives_{flush}}},{{coming.crop}},{{number}},"
        f'{{coming.market_{flush}}},">="&{market},{{coming.market_{flush}}},"<"&({market}+7*{weeks}))'
        for flush in _EACH_FLUSH
    )
