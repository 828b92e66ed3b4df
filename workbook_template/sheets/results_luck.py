"""Was it luck: the batches that lost more blocks than luck explains, on a chart with limits.

Laney's p' chart (Laney 2002, Qual. Eng. 14:531): the limits of a p chart, widened by what the
batches differ from one to the next. Three things are decided here:

- Bad weeks must not widen the limits that they are held against. The limits are found three
  times; the second and third time without the batches above the limits before.
- Losses of few blocks are skewed, so that good batches cross a straight limit too often. The
  limit is raised by the next term of the Cornish-Fisher expansion (Winterbottom 1993, Qual.
  Reliab. Eng. Int. 9:105, from memory), on counts divided by the square of Laney's factor.
- Bad batches come in runs. A batch beside one above its limit is named where it is above the
  limit of one standard deviation less: two of three beyond two sigma, a rule of the Western
  Electric handbook of 1956 (from memory).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, dimension_of
from workbook_template.sheets import results_yield
from workbook_template.sheets.results_runs import (
    ABOVE,
    BATCHES,
    EACH_LOOK,
    LOOKS,
    MEAN_STEP,
    below,
    of_batches,
    run_ends,
    runs_of,
    sentence,
    step_from_above,
)
from workbook_template.writing.blocks import Calculated, Custom, Form, Grid
from workbook_template.writing.charts import Chart, add_chart

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

_CHART_ROWS = 17
_VARIANCE = "{rate_%d}*(1-{rate_%d})"


def _straight(look: int, deviations: str) -> str:
    """Write Laney's limit at so many standard deviations."""
    deviation = f"{{luck_spread_{look}}}*SQRT({_VARIANCE % (look, look)}/{{blocks}})"
    return f"{{rate_{look}}}+{deviations}*{deviation}"


def _skew(look: int, deviations: str) -> str:
    """Write by how much skewness raises that limit; it never lowers it."""
    blocks = f"({{blocks}}/{{luck_spread_{look}}}^2)"
    return f"({deviations}^2-1)/(2*3)*MAX(0,1-2*{{rate_{look}}})/{blocks}"


def _look(look: int) -> tuple[Computed, ...]:
    """Make the columns of one look at all the batches on the chart."""
    same = f"{{luck.strain}},{{strain}},{{luck.kept_{look - 1}}},1"
    before = "{luck_rate_all}" if look == 1 else f"{{rate_{look - 1}}}"
    return (
        Computed(
            f"rate_{look}",
            f"Loss of the strain, look {look}",
            "fraction",
            f"CHOOSE(1+(SUMIFS({{luck.blocks}},{same})>0),{before},"
            f"SUMIFS({{luck.lost}},{same})/SUMIFS({{luck.blocks}},{same}))",
        ),
        Computed(
            f"z_{look}",
            f"Standard deviations off, look {look}",
            "number",
            f"CHOOSE(1+({_VARIANCE % (look, look)}>0),0,"
            f"({{rate}}-{{rate_{look}}})/SQRT({_VARIANCE % (look, look)}/{{blocks}}))",
        ),
        step_from_above("luck", f"z_{look}", look, "number"),
        Computed(
            f"straight_{look}",
            f"Laney's limit, look {look}",
            "fraction",
            _straight(look, "{luck_limit}"),
        ),
        Computed(
            f"limit_{look}",
            f"Limit, look {look}",
            "fraction",
            f"MIN(1,{{straight_{look}}}+{_skew(look, '{luck_limit}')})",
        ),
        Computed(
            f"kept_{look}",
            f"Within it, look {look}",
            "count",
            f"({{rate}}<={{limit_{look}}})*1",
        ),
    )


def _beside(offset: str) -> str:
    return f"N(INDEX({{luck.kept_{LOOKS}}},{offset}))"


_LESS = "({luck_limit}-1)"
_NEAR = (
    f"({{rate}}>{_straight(LOOKS, _LESS)}+{_skew(LOOKS, _LESS)})"
    f"*(1-{_beside(ABOVE)}*{_beside(below('luck_count'))})"
)

_LIST = Grid(
    "luck",
    f"The last {BATCHES} batches past incubation",
    (
        *of_batches("luck", "luck_turn"),
        Computed("blocks", "Blocks made", "count", "N(INDEX({batches.bags},{row}))"),
        Computed("lost", "Blocks lost", "count", "N(INDEX({batches.lost},{row}))"),
        Computed("rate", "Loss", "fraction", "{lost}/{blocks}"),
        Computed("kept_0", "Counted at first", "count", "({blocks}>0)*1"),
        *(column for look in EACH_LOOK for column in _look(look)),
        Computed("bad", "More than luck", "count", f"MAX(1-{{kept_{LOOKS}}},{_NEAR})"),
        *run_ends("luck", "luck_count"),
    ),
    rows=BATCHES,
)

_FIGURES = Form(
    "Limits of luck",
    (
        Calculated(
            "luck_count",
            "Batches on the chart",
            "count",
            "MIN(ROWS({luck.line}),COUNT({batches.luck_turn}))",
            "Those past incubation: nearly all of their losses are in.",
        ),
        Calculated(
            "luck_rate_all",
            "Loss of all of them",
            "fraction",
            'CHOOSE(1+(SUM({luck.blocks})>0),"",SUM({luck.lost})/SUM({luck.blocks}))',
            "For a strain of which every batch is left out.",
        ),
        *(
            Calculated(
                f"luck_spread_{look}",
                f"Laney's factor, look {look}",
                "number",
                f"CHOOSE(1+(COUNT({{luck.step_{look}}})>={{enough_for_spread}}),"
                f"SQRT({{assumed_spread}}),MAX(1,AVERAGE({{luck.step_{look}}})/{MEAN_STEP}))",
                "From steps between batches within the limits; with few, the assumed spread.",
                waits_for=("assumed_spread", "enough_for_spread"),
            )
            for look in EACH_LOOK
        ),
    ),
)

SENTENCE = sentence(
    "luck",
    "luck_count",
    "losses",
    "more blocks lost than luck explains.",
    "No batch lost more than luck explains.",
)


def _place(writer: Writer, row: int) -> None:
    writer.place_cell("luck_words", row + 1, 1, is_input=False, is_text=True)
    writer.place_cell("yield_words", row + 2, 1, is_input=False, is_text=True)


def _write(writer: Writer, row: int) -> None:
    writer.section(row, "Was it luck?")
    for offset, words in enumerate((SENTENCE, results_yield.SENTENCE), 1):
        writer.wide_text(row + offset, "", "farm text")
        writer.formula(row + offset, 1, words, dimension_of("state"), "farm text", waits=False)
    add_chart(
        writer,
        row + 3,
        Chart(
            title="A batch above its limit lost more than luck explains",
            categories="luck.batch",
            values=["luck.rate", f"luck.rate_{LOOKS}"],
            names=["Loss of the batch", "Usual loss of its strain", "Limit"],
            limits=[f"luck.limit_{LOOKS}"],
            category_title="Batch, in the order made",
            value_title="Share of the blocks made",
            description=f"A point for each of the last {BATCHES} batches past incubation: its "
            "loss, the usual loss of its strain, and the limit that luck keeps to.",
            kind="line",
            number_format="0%",
            height=8.5,
            width=46.0,
            label_every=2,
        ),
    )


SECTION = Custom(_CHART_ROWS + 3, _write, _place)
WORKINGS = (
    _FIGURES,
    runs_of("luck", "Runs that lost more than luck explains"),
    _LIST,
    *results_yield.WORKINGS,
)
RULE = (
    "Was it luck: each batch past incubation, against what its strain loses and what batches "
    "differ from one to the next. Limits are found three times, each "
    "time without the batches above those before, so that bad weeks do not hide themselves. Beside "
    "a batch above its limit, a somewhat lower limit counts. BE of ended batches likewise, "
    "against the mean of the strain and recipe."
)
