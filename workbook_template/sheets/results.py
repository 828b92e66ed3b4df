"""Results: what came of the batches, by strain, recipe and month, plan against actual, and luck.

Only ended batches count, for losses, yield and cost alike: one that still fruits has not given
all of its mushrooms, and one that incubates may still be lost.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema import look_up
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import STRAINS
from workbook_template.schema.outlook import RESULTS
from workbook_template.sheets import results_groups as groups
from workbook_template.sheets import results_luck as luck
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

_HEIGHT, _WIDTH, _CHART_ROWS = 7.5, 18.0, 15
"""Of both charts, side by side: in cm, and in rows of the sheet."""

_RULE = (
    "Only ended batches count; a month is that in which they were made. Days to the first harvest "
    "count from spawning, over every batch that has one. Cost is that of all blocks, with the "
    "picking.",
    "Loss is the share of the blocks made that were lost; lowest and highest are the ends of its "
    "interval (Wilson). Losses come in batches, so an interval counts batches, not blocks: it is "
    "as wide as batches differ on this farm, and wider while there are few. A strain or recipe "
    "with enough batches goes by its own. BE and harvest are those of the good blocks.",
    luck.RULE,
)


_LOSS = "{results_lost},{results_blocks},{results_confidence},{results_reach}"


def _together(units: str) -> tuple[Calculated, ...]:
    def total(column: str) -> str:
        return f'SUMIFS({{batches.{column}}},{{batches.state}},"ended")'

    costed = 'COUNTIFS({batches.state},"ended",{batches.spent},">=0")'
    cost = groups.cost_of("{results_fresh}", total("spent"), units)
    return (
        Calculated(
            "results_ended",
            "Batches ended",
            "count",
            'COUNTIFS({batches.state},"ended")',
            "Of those on the Batches sheet.",
        ),
        Calculated("results_blocks", "Blocks in them", "count", total("bags")),
        Calculated("results_lost", "Blocks lost", "count", total("lost")),
        Calculated(
            "results_lost_cost",
            "Cost of blocks lost",
            "money",
            'CHOOSE(1+(COUNTIFS({batches.state},"ended",{batches.lost_cost},">=0")'
            f'={{results_ended}}),"",{total("lost_cost")})',
            "At the cost of a block started; blank while a price is missing.",
        ),
        Calculated(
            "results_loss",
            "Loss",
            "fraction",
            'CHOOSE(1+({results_blocks}>0),"",{results_lost}/{results_blocks})',
            "Share of the blocks made.",
            is_key=True,
        ),
        Calculated(
            "results_low",
            "Loss, lowest",
            "fraction",
            f"CFX.LOSS_LOW({_LOSS})",
            "Lower end of the interval.",
            waits_for=("results_loss",),
        ),
        Calculated(
            "results_high",
            "Loss, highest",
            "fraction",
            f"CFX.LOSS_HIGH({_LOSS})",
            "Upper end of the interval.",
            waits_for=("results_loss",),
        ),
        groups.SPREAD,
        Calculated(
            "results_fresh", "Fresh mass", "kg", total("fresh"), "All that was picked from them."
        ),
        Calculated(
            "results_per_block",
            "Harvest of a good block",
            "kg/block",
            'CHOOSE(1+({results_blocks}>{results_lost}),"",'
            "{results_fresh}/({results_blocks}-{results_lost}))",
        ),
        Calculated(
            "results_be",
            "BE",
            "fraction",
            f'CHOOSE(1+({total("dry_good")}>0),"",'
            f"CFX.BIOLOGICAL_EFFICIENCY({{results_fresh}},{total('dry_good')}))",
            "Fresh mass over the dry substrate of the good blocks.",
            is_key=True,
        ),
        Calculated(
            "results_cost",
            "Cost, harvested",
            "money/kg",
            f'CHOOSE(1+({{results_fresh}}>0)*({costed}={{results_ended}}),"",{cost})',
            "Blank while a price is missing.",
            is_key=True,
        ),
    )


def _actual(column: str) -> str:
    return f"INDEX({{by_strain.{column}}},MATCH({{strain}},{{by_strain.strain}},0))"


def _planned(column: str) -> str:
    return look_up(f"strains.{column}", "strain")


_PLAN = Grid(
    "plan",
    "Plan against actual, by strain",
    (
        Computed("strain", "Strain", "state", groups.listed("strains", "strain")),
        Computed("be_planned", "BE, plan", "fraction", _planned("biological_efficiency")),
        Computed("be", "BE, actual", "fraction", _actual("be")),
        Computed(
            "be_share",
            "BE, share of plan",
            "fraction",
            'CHOOSE(1+({be_planned}>0),"",{be}/{be_planned})',
        ),
        Computed("loss_planned", "Loss, plan", "fraction", _planned("loss_rate")),
        Computed("loss", "Loss, actual", "fraction", _actual("loss")),
        Computed(
            "days_planned",
            "Days to first harvest, plan",
            "d",
            f"{_planned('incubation_days')}+{_planned('first_flush_days')}",
        ),
        Computed("days", "Days to first harvest, actual", "d", _actual("days")),
        Computed(
            "verdict",
            "Loss against plan",
            "state",
            _actual("verdict"),
        ),
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
        "Results: ended batches by strain, and by recipe, are all ended batches",
        "ABS(SUM({by_strain.ended})-{results_ended})+ABS(SUM({pairs.ended})-{results_ended})",
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


def _charts(writer: Writer, row: int) -> None:
    add_chart(
        writer,
        row,
        Chart(
            title="Did each strain yield what you planned?",
            categories="plan.strain",
            values=["plan.be_planned", "plan.be"],
            names=["Plan", "Actual"],
            category_title="Strain",
            value_title="BE: fresh mass over dry substrate",
            description="Two columns for each strain: the BE that the Strains sheet expects, and "
            "that of the ended batches.",
            kind="col",
            number_format="0%",
            height=_HEIGHT,
            width=_WIDTH,
        ),
    )
    add_chart(
        writer,
        row,
        Chart(
            title="Blocks lost by month: the shorter the line, the surer the figure",
            categories="by_month.month",
            values=["by_month.low", "by_month.loss", "by_month.high"],
            names=["lowest", "loss", "highest that fits the count"],
            category_title="Month made",
            value_title="Share of the blocks made",
            description="A line for each of the last twelve months: the interval of the loss "
            "of the ended batches made in it, with a mark at the loss itself.",
            kind="range",
            number_format="0%",
            column="H",
            height=_HEIGHT,
            width=_WIDTH,
        ),
    )


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Results",
        purpose="What came of the batches: losses, yield, days, cost, and was it as planned?",
        blocks=[
            Form("All ended batches", _together(settings.units)),
            luck.SECTION,
            Custom(_CHART_ROWS, _charts),
            _PLAN,
            groups.by_strain(settings.units),
            groups.by_recipe(settings.units),
            groups.by_month(settings.units),
            Form(RESULTS.title, RESULTS.fields),
            Lines("What counts", _RULE, "farm text"),
        ],
        workings=[
            groups.FARM,
            *luck.WORKINGS,
            groups.PAIRED,
            Form("How the harvests of a batch are found", _LOOKING_UP),
        ],
        widths=(33, 12, 11, 11, 12, 11, 11, 11, 18, 12, 12, 12, 11, 12),
        landscape=True,
        pages_high=2,
        checks=_CHECKS,
    )
