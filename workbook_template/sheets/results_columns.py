"""The columns of a group of batches on Results: losses, yield, days and cost, with intervals.

Losses and yields come in batches, so an interval counts batches, not blocks: it is as wide as
batches differ from one to the next on this farm.

- Losses: Wilson's interval on counts divided by how much batches differ, which is Pearson's
  chi-square of the batches around the rate of their strain, divided by batches less strains, and
  at least 1 (McCullagh & Nelder, Generalized Linear Models, section 4.5, from memory).
- BE, days and cost: each is a sum over batches divided by another. The residuals of the batches
  around it give its variance, the ratio estimator of surveys (Cochran, Sampling Techniques,
  chapter 6, from memory), and Student's t the width, on batches less one.

Both from sums alone, of squares and products in the Batches log:

    sum((lost - made * rate)^2 / made) = sum(lost^2 / made) - sum(lost)^2 / sum(made)
    sum((y - R * x)^2) = sum(y^2) - R * (2 * sum(x * y) - R * sum(x^2))

All batches together are a sample of each strain: residuals count within their strain (Cochran, the
combined ratio estimator, from memory).
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from cultivar_fx.catalog.dimensions import US
from workbook_template.schema import look_up
from workbook_template.schema.fields import Computed

COUNTED = "{batches.counts},1"
"""Picks the batches that are old enough to judge, ended or not."""
FINISHED = "{batches.finished},1"
"""Picks those of them whose yield is in."""


def total(column: str, condition: str) -> str:
    """Write the sum of a column over the batches that a condition picks out of the log."""
    return f"SUMIFS({{batches.{column}}},{condition})"


def known(column: str, condition: str, count: str) -> str:
    """Write whether as many batches as counted have a figure."""
    return f'(COUNTIFS({condition},{{batches.{column}}},">=0")={count})'


def cost_of(fresh: str, spent: str, units: str) -> str:
    """Write the cost of a fresh mass by weight, in the unit of the system."""
    cost_per = "CFX.COST_PER_POUND" if units == US else "CFX.COST_PER_KILOGRAM"
    return f"{cost_per}({spent},{fresh})"


FOR_FEW = "(TINV(1-{results_confidence},%s)/NORMSINV(AVERAGE({results_confidence},1)))^2"
"""Brings a spread that few batches show to what makes a normal interval one by Student's t."""


def _verdict(low: str, high: str, planned: str, is_wide: str) -> str:
    """Write what an interval says of the plan; whatever its width, one on one side says so."""
    return (
        f"CHOOSE(1+({low}>{planned}),CHOOSE(1+({high}<{planned}),"
        f'CHOOSE(1+({is_wide}),"as planned","too little data"),'
        '"less than planned"),"more than planned")'
    )


def losses(condition: str, has_own_spread: bool = True) -> tuple[Computed, ...]:
    """Make the columns of the losses of a group, which a condition picks out of the log.

    A group of one strain has a spread of its own once it has enough batches.
    """
    counted = f"{condition},{COUNTED}"
    interval = "{lost},{blocks},{results_confidence},{reach}"
    reach = "MAX(1,{results_reach})"
    if has_own_spread:
        own = f"MAX(1,{{squares}}/{{freedom}})*{FOR_FEW % '{freedom}'}"
        reach = f"CHOOSE(1+({{freedom}}>={{enough_for_spread}}),{reach},{own})"
    return (
        Computed("counted", "Batches counted", "count", f"COUNTIFS({counted})"),
        Computed("blocks", "Blocks in them", "count", total("bags", counted)),
        Computed("lost", "Blocks lost", "count", total("lost", counted)),
        Computed(
            "lost_cost",
            "Spent on blocks lost",
            "money",
            f'CHOOSE(1+{known("lost_cost", counted, "{counted}")},"",'
            f"{total('lost_cost', counted)})",
        ),
        Computed("loss", "Loss", "fraction", 'CHOOSE(1+({blocks}>0),"",{lost}/{blocks})'),
        Computed("low", "Loss, at least", "fraction", f"MIN({{loss}},CFX.LOSS_LOW({interval}))"),
        Computed("high", "Loss, at most", "fraction", f"MAX({{loss}},CFX.LOSS_HIGH({interval}))"),
        Computed(
            "planned",
            "Loss, plan",
            "fraction",
            f'CHOOSE(1+({{blocks}}>0)*{known("planned_lost", counted, "{counted}")},"",'
            f"{total('planned_lost', counted)}/{{blocks}})",
        ),
        Computed(
            "verdict",
            "Loss against plan",
            "state",
            _verdict("{low}", "{high}", "{planned}", "{high}-{low}>{widest_interval}"),
        ),
        Computed(
            "freedom",
            "Batches less one, if some blocks were lost and some not",
            "count",
            "({lost}>0)*({lost}<{blocks})*MAX(0,{counted}-1)",
            is_working=True,
        ),
        Computed(
            "squares",
            "Chi-square of its batches",
            "number",
            f"CHOOSE(1+({{freedom}}>0),0,({total('lost_squared', counted)}-{{lost}}*{{loss}})"
            "/({loss}*(1-{loss})))",
            is_working=True,
        ),
        Computed("reach", "Spread in the interval", "number", reach, is_working=True),
    )


def harvest(condition: str) -> tuple[Computed, ...]:
    """Make the columns of what was picked from a group."""
    finished = f"{condition},{FINISHED}"
    good = total("good", finished)
    return (
        Computed("finished", "Batches finished", "count", f"COUNTIFS({finished})"),
        Computed("fresh", "Fresh mass", "kg", total("fresh", finished)),
        Computed(
            "per_block",
            "Harvest, good block",
            "kg/block",
            f'CHOOSE(1+({good}>0),"",{{fresh}}/{good})',
        ),
    )


def be(condition: str) -> tuple[Computed, ...]:
    """Make the columns of the BE of a group; a batch lost whole has none."""
    finished = f"{condition},{FINISHED}"
    return (
        Computed(
            "be_batches",
            "Batches with good blocks",
            "count",
            f'COUNTIFS({finished},{{batches.dry_good}},">0")',
        ),
        Computed(
            "be",
            "BE",
            "fraction",
            'CHOOSE(1+({dry}>0),"",CFX.BIOLOGICAL_EFFICIENCY({fresh},{dry}))',
        ),
        Computed(
            "dry", "Dry substrate, good blocks", "kg", total("dry_good", finished), is_working=True
        ),
    )


def days(condition: str) -> tuple[Computed, ...]:
    """Make the columns of the days to the first harvest of a group, over those that had one."""
    picked = _picked(condition)
    return (
        Computed("days_batches", "Batches picked", "count", f"COUNTIFS({picked})"),
        Computed(
            "days",
            "Days to first harvest",
            "d",
            f'CHOOSE(1+({{days_batches}}>0),"",{total("days", picked)}/{{days_batches}})',
        ),
    )


def _picked(condition: str) -> str:
    return f'{condition},{COUNTED},{{batches.days}},">=0"'


def cost(condition: str, units: str) -> tuple[Computed, ...]:
    """Make the column of the cost by weight of a group."""
    finished = f"{condition},{FINISHED}"
    return (
        Computed(
            "cost",
            "Cost, harvested",
            "money/kg",
            f'CHOOSE(1+({{fresh}}>0)*{known("spent", finished, "{finished}")},"",'
            f"{cost_of('{fresh}', total('spent', finished), units)})",
        ),
    )


class _Ratio(NamedTuple):
    """A figure that is a sum over batches divided by another, with the sums for its interval."""

    key: str
    label: str
    unit: str
    batches: str
    """How many batches it rests on, and the other figures, all as templates."""
    above: str
    below: str
    squares: str
    crosses: str
    below_squares: str

    def residuals(self, figure: str) -> str:
        """Write the squared residuals of the batches around a figure, summed up."""
        return f"({self.squares}-{figure}*(2*{self.crosses}-{figure}*{self.below_squares}))"


def _be_ratio(condition: str) -> _Ratio:
    finished = f"{condition},{FINISHED}"
    sums = (total(column, finished) for column in ("fresh_squared", "fresh_dry", "dry_squared"))
    return _Ratio("be", "BE", "fraction", "{be_batches}", "{fresh}", "{dry}", *sums)


def _days_ratio(condition: str) -> _Ratio:
    picked = _picked(condition)
    above, squares = (total(column, picked) for column in ("days", "days_squared"))
    count = "{days_batches}"
    return _Ratio("days", "Days to first harvest", "d", count, above, count, squares, above, count)


def _cost_ratio(condition: str) -> _Ratio:
    finished = f"{condition},{FINISHED}"
    columns = ("spent", "spent_squared", "spent_fresh", "fresh_squared")
    above, *sums = (total(column, finished) for column in columns)
    return _Ratio("cost", "Cost", "money/kg", "{finished}", above, "{fresh}", *sums)


def half_width(batches: str, freedom: str, squares: str, below: str) -> str:
    """Write how far the ends of an interval are from a ratio of sums over batches."""
    return (
        f'CHOOSE(1+({freedom}>0),"",TINV(1-{{results_confidence}},{freedom})'
        f"*SQRT({batches}/{freedom}*{squares})/{below})"
    )


def ends(figure: str, half: str) -> tuple[str, str]:
    """Write both ends of an interval; none of the figures is below 0."""
    return f"MAX(0,{{{figure}}}-{{{half}}})", f"{{{figure}}}+{{{half}}}"


def _interval(ratio: _Ratio) -> tuple[Computed, ...]:
    """Make the columns of the interval of a ratio."""
    key, batches = ratio.key, ratio.batches
    low, high = ends(key, f"{key}_half")
    return (
        Computed(f"{key}_low", f"{ratio.label}, at least", ratio.unit, low),
        Computed(f"{key}_high", f"{ratio.label}, at most", ratio.unit, high),
        Computed(
            f"{key}_squares",
            f"{ratio.label}: residuals of its batches, squared",
            "number",
            f"MAX(0,{ratio.residuals(f'{{{key}}}')})",
            is_working=True,
        ),
        Computed(
            f"{key}_half",
            f"{ratio.label}, half of the interval",
            ratio.unit,
            half_width(batches, f"({batches}-1)", f"{{{key}_squares}}", ratio.below),
            is_working=True,
        ),
    )


def _within(ratio: _Ratio) -> Computed:
    """Make the column of what a strain adds to the interval of all batches together.

    Its batches around their own mean residual: how strains differ is no luck.
    """
    figure = f"{{results_{ratio.key}}}"
    mean = f"({ratio.above}-{figure}*{ratio.below})^2/{ratio.batches}"
    return Computed(
        f"{ratio.key}_within",
        f"{ratio.label}: residuals around that of all, squared",
        "number",
        f"CHOOSE(1+({ratio.batches}>0),0,MAX(0,{ratio.residuals(figure)}-{mean}))",
        is_working=True,
    )


def of_all(condition: str) -> tuple[Computed, ...]:
    """Make the columns of what a strain adds to the intervals of all batches together."""
    return _within(_be_ratio(condition)), _within(_cost_ratio(condition))


def be_interval(condition: str) -> tuple[Computed, ...]:
    """Make the columns of the interval of the BE of a group."""
    return _interval(_be_ratio(condition))


def days_interval(condition: str) -> tuple[Computed, ...]:
    """Make the columns of the interval of the days to the first harvest of a group."""
    return _interval(_days_ratio(condition))


def cost_interval(condition: str) -> tuple[Computed, ...]:
    """Make the columns of the interval of the cost by weight of a group."""
    return _interval(_cost_ratio(condition))


def against_plan(key: str, label: str, unit: str, plan: str) -> tuple[Computed, ...]:
    """Make the columns of a plan of a strain, and of what the interval of a figure says of it.

    One batch has no interval, and is too little data.
    """
    low, high, planned = f"{{?{key}_low}}", f"{{?{key}_high}}", f"{{{key}_planned}}"
    said = _verdict(low, high, planned, f"{high}-{low}>{{widest_share}}*{planned}")
    judged = f"({{{key}}}>=0)*({{{key}_batches}}>1)"
    return (
        Computed(f"{key}_planned", f"{label}, plan", unit, plan, is_working=True),
        Computed(
            f"{key}_verdict",
            f"{label} against plan",
            "state",
            f'CHOOSE(1+{judged},"too little data",{said})',
            is_working=True,
        ),
    )


BE_PLANNED = look_up("strains.biological_efficiency", "strain")
DAYS_PLANNED = "+".join(
    look_up(f"strains.{part}", "strain") for part in ("incubation_days", "first_flush_days")
)


def hidden(columns: tuple[Computed, ...]) -> tuple[Computed, ...]:
    """Put columns among the workings."""
    return tuple(replace(column, is_working=True) for column in columns)


def without_count(columns: tuple[Computed, ...]) -> tuple[Computed, ...]:
    """Put among the workings how many batches a figure rests on, which comes first."""
    return (*hidden(columns[:1]), *columns[1:])
