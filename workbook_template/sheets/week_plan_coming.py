"""What the batches in progress still give, each flush for the first market that it is in time for.

The days are those that are expected, without their spread: that is the Forecast's.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import MOST_FLUSHES, used_in

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


COMING = (
    Computed(
        "crop",
        "Crop number",
        "count",
        f"CHOOSE(1+({_OF_RECIPE}>0),(1-{{whole}})*{_OF_STRAIN},{_OF_RECIPE})",
    ),
    Computed(
        "next",
        "Next flush, for the plan",
        "number",
        # Blocks that wait for a buyer are ready; a flush that is late may come today.
        f"CHOOSE(1+{{whole}},{_NEXT},{_READY})",
    ),
    *(column for flush in _EACH_FLUSH for column in _flush(flush)),
    Computed("whole", "Sold whole", "count", f"{_of_batch('whole')}*1"),
    Computed("recipe", "Row of the recipe", "count", f"{_of_batch('at_recipe')}*1"),
)
"""Columns of the Forecast's list of batches in progress: for which market each flush comes."""


def given(market: str, weeks: str = "1") -> str:
    """Write what comes of the crop of a row for the markets of so many weeks from a day."""
    return "+".join(
        f"SUMIFS({{flushes.gives_{flush}}},{{flushes.crop}},{{number}},"
        f'{{flushes.market_{flush}}},">="&{market},{{flushes.market_{flush}}},"<"&({market}+7*{weeks}))'
        for flush in _EACH_FLUSH
    )
