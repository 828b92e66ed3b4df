"""Results: what came of the batches, by strain, recipe and month, plan against actual, and luck.

A batch counts once the day has passed by which it should have left fruiting, ended or not: batches
lost whole end at once, so that counting ended ones would make the last weeks look bad. Its yield
and cost wait until it has ended or gave all planned flushes: one that is late is no poor yield.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema import look_up
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import STRAINS
from workbook_template.schema.outlook import RESULTS
from workbook_template.sheets import results_groups as groups
from workbook_template.sheets import results_luck as luck
from workbook_template.sheets import results_together as together
from workbook_template.writing.blocks import (
    Calculated,
    Check,
    Custom,
    Form,
    Grid,
    Lines,
    Sheet,
)
from workbook_template.writing.charts import Chart, add_chart

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

_RULE = (
    "A batch counts once the day has passed by which it should have left fruiting, going by the "
    "days on the Strains sheet, ended or not; a month is that in which it was made. Harvest, BE "
    "and cost wait until it is also finished: ended, or with all planned flushes picked. Days to "
    "the first harvest count from spawning, over the batches that had one. Cost is that of all "
    "blocks, with the picking.",
    "Loss is the share of the blocks made that were lost. BE and harvest are those of the good "
    "blocks. At least and at most are the ends of the range that the true figure is in, as far as "
    "so many batches can tell. Losses and yields come in batches, so a range rests on batches, "
    "not blocks: those counted for loss, those finished for cost, those with good blocks for BE, "
    "those picked for days. It is as wide as batches differ on this farm, and wider while there "
    "are few.",
    luck.RULE,
)


def _of_strain(key: str, label: str, unit: str) -> Computed:
    """Make the column of a figure from the list by strain."""
    formula = f"INDEX({{by_strain.{key}}},MATCH({{strain}},{{by_strain.strain}},0))"
    return Computed(key, label, unit, formula)


_PLAN = Grid(
    "plan",
    "Plan against actual, by strain",
    (
        Computed("strain", "Strain", "state", groups.listed("strains", "strain")),
        Computed("loss_planned", "Loss, plan", "fraction", look_up("strains.loss_rate", "strain")),
        _of_strain("loss", "Loss, actual", "fraction"),
        _of_strain("verdict", "Loss against plan", "state"),
        _of_strain("be_batches", "Batches with good blocks", "count"),
        _of_strain("be_planned", "BE, plan", "fraction"),
        _of_strain("be", "BE, actual", "fraction"),
        _of_strain("be_low", "BE, at least", "fraction"),
        _of_strain("be_high", "BE, at most", "fraction"),
        _of_strain("be_verdict", "BE against plan", "state"),
        _of_strain("days_batches", "Batches picked", "count"),
        _of_strain("days_planned", "Days to first harvest, plan", "d"),
        _of_strain("days", "Days to first harvest, actual", "d"),
        _of_strain("days_low", "Days to first harvest, at least", "d"),
        _of_strain("days_high", "Days to first harvest, at most", "d"),
        _of_strain("days_verdict", "Days to first harvest against plan", "state"),
        Counter("line"),
    ),
    rows=STRAINS.rows,
)

_CHECKS = (
    Check(
        "Results: strains or recipes that its lists have no row for",
        'COUNTA({strains.strain})-COUNTIF({by_strain.strain},"?*")'
        "+MAX(0,COUNTA({strains.strain})*ROWS({recipes.recipe})-ROWS({pairs.number}))",
    ),
    Check(
        "Results: batches counted by strain, and by recipe, are all batches counted",
        "ABS(SUM({by_strain.counted})-{results_counted})"
        "+ABS(SUM({pairs.counted})-{results_counted})",
    ),
)


_LOOKING_UP = (
    Calculated(
        "harvests_in_order",
        "Harvests sorted by date",
        "count",
        "(COUNT({harvests.date})=MAX({harvests.line}))"
        "*(COUNT({harvests.backward})=MAX({harvests.line}))"
        "*(SUM({harvests.backward})=0)*ISNUMBER(SUM({harvests.days}))",
        "1; 0 where they are not: a log of many years then computes slower.",
    ),
    Calculated(
        "harvests_soonest",
        "First harvest of a batch",
        "d",
        "IFERROR(MIN({harvests.days}),0)",
        "The soonest after it was made.",
    ),
    Calculated(
        "harvests_latest",
        "Last harvest of a batch",
        "d",
        "IFERROR(MAX({harvests.days}),0)",
        "The latest after it was made.",
    ),
    Calculated(
        "harvests_end",
        "Day after all harvests",
        "date",
        'CHOOSE(1+(COUNT({harvests.date})>0),"",MAX({harvests.date})+1)',
        "Puts harvests without a date behind all others.",
    ),
)
"""On no sheet that a partner's copy leaves out: what a batch gave rests on it."""


def _yields_chart(writer: Writer, row: int) -> None:
    """Draw beside the form below, where its notes end."""
    add_chart(
        writer,
        row + 3,
        Chart(
            title="Did each strain yield what you planned?",
            categories="plan.strain",
            values=["plan.be_planned", "plan.be"],
            names=["Plan", "Actual"],
            category_title="Strain",
            value_title="BE: fresh mass over dry substrate",
            description="Two columns for each strain: the BE that the Strains sheet expects, and "
            "that of the batches counted.",
            kind="col",
            number_format="0%",
            column="I",
            height=7.5,
            width=23.0,
        ),
    )


def _months_chart(writer: Writer, row: int) -> None:
    """Draw beside the list below, which is narrow."""
    add_chart(
        writer,
        row + 3,
        Chart(
            title="Blocks lost by month: the shorter the line, the surer the figure",
            categories="by_month.month",
            values=["by_month.low", "by_month.loss", "by_month.high"],
            names=["at least", "loss", "at most"],
            category_title="Month made",
            value_title="Share of the blocks made",
            description="A line for each of the last twelve months: the range of the loss "
            "of the batches counted and made in it, with a mark at the loss itself.",
            kind="range",
            number_format="0%",
            column="K",
            height=6.5,
            width=16.0,
        ),
    )


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Results",
        purpose="What came of the batches: losses, yield, days, cost, and was it as planned?",
        blocks=[
            Custom(0, _yields_chart),
            Form("All batches counted", together.figures(settings.units)),
            luck.SECTION,
            _PLAN,
            groups.by_strain(settings.units),
            groups.by_recipe(settings.units),
            Custom(0, _months_chart),
            groups.RECIPE_YIELDS,
            groups.by_month(settings.units),
            Form(RESULTS.title, RESULTS.fields),
            Lines("What counts", _RULE, "farm text"),
        ],
        workings=[
            groups.FARM,
            together.INTERVALS,
            *luck.WORKINGS,
            groups.PAIRED,
            Form("How the harvests of a batch are found", _LOOKING_UP),
        ],
        widths=(33, 10, 10, 18, 10, 10, 10, 10, 10, 18, 10, 10, 10, 10, 10, 18),
        landscape=True,
        pages_high=2,
        checks=_CHECKS,
    )
