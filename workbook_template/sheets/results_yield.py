"""Batches that yielded less than luck explains: an individuals chart, as figures only.

BE of a batch over the mean of its strain and recipe, less 1; limits from the moving range (NIST/
SEMATECH e-Handbook 6.3.2.2). As with losses, limits are found three times, without the batches
that are below those before.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.sheets.results_runs import (
    BATCHES,
    EACH_LOOK,
    LOOKS,
    MEAN_STEP,
    of_batches,
    run_ends,
    runs_of,
    sentence,
    step_from_above,
)
from workbook_template.writing.blocks import Calculated, Form, Grid


def _look(look: int) -> tuple[Computed, ...]:
    """Make the columns of one look at all the batches."""
    same = f"{{yields.strain}},{{strain}},{{yields.recipe}},{{recipe}},{{yields.kept_{look - 1}}},1"
    before = "{be}" if look == 1 else f"{{mean_{look - 1}}}"
    return (
        Computed(
            f"mean_{look}",
            f"BE of its strain and recipe, look {look}",
            "fraction",
            f"CHOOSE(1+(COUNTIFS({same})>0),{before},"
            f"SUMIFS({{yields.be}},{same})/COUNTIFS({same}))",
        ),
        Computed(f"off_{look}", f"Above it, look {look}", "fraction", f"{{be}}/{{mean_{look}}}-1"),
        step_from_above("yields", f"off_{look}", look, "fraction"),
        Computed(
            f"kept_{look}",
            f"Within the limit, look {look}",
            "count",
            f"({{off_{look}}}>=0-{{luck_limit}}*N({{?yields_spread_{look}}}))*1",
        ),
    )


_LIST = Grid(
    "yields",
    f"The last {BATCHES} ended batches that were picked",
    (
        *of_batches("yields", "yield_turn"),
        Computed("recipe", "Recipe", "state", 'INDEX({batches.recipe},{row})&""'),
        Computed("be", "BE", "fraction", "N(INDEX({batches.be},{row}))"),
        Computed("kept_0", "Counted at first", "count", "({be}>0)*1"),
        *(column for look in EACH_LOOK for column in _look(look)),
        Computed(
            "bad",
            "Less than luck",
            "count",
            f"(1-{{kept_{LOOKS}}})*(COUNT({{yields_spread_{LOOKS}}})>0)",
        ),
        *run_ends("yields", "yields_count"),
    ),
    rows=BATCHES,
)

_FIGURES = Form(
    "Limits of yields",
    (
        Calculated(
            "yields_count",
            "Batches judged",
            "count",
            "MIN(ROWS({yields.line}),COUNT({batches.yield_turn}))",
        ),
        *(
            Calculated(
                f"yields_spread_{look}",
                f"Standard deviation, look {look}",
                "fraction",
                f'CHOOSE(1+(COUNT({{yields.step_{look}}})>={{enough_for_spread}}),"",'
                f"AVERAGE({{yields.step_{look}}})/{MEAN_STEP})",
                "Of BE over the mean of its strain and recipe; from the moving range.",
            )
            for look in EACH_LOOK
        ),
    ),
)

SENTENCE = sentence(
    "yields",
    "yields_count",
    "BE",
    "lower BE than luck explains.",
    "No batch had a lower BE than luck explains.",
)
WORKINGS = (
    _FIGURES,
    runs_of("yields", "Runs that yielded less than luck explains"),
    _LIST,
)
