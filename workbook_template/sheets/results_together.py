"""All batches together on Results: losses, yield and cost, each with its interval."""

from __future__ import annotations

from workbook_template.sheets import results_columns as columns
from workbook_template.sheets import results_groups as groups
from workbook_template.writing.blocks import Calculated, Form

_LOSS = "{results_lost},{results_blocks},{results_confidence},{results_reach}"
_LOW = "The true figure may be as low, for all that so many batches can tell."
_HIGH = "The true figure may be as high."


def _ends(key: str, label: str, unit: str) -> tuple[Calculated, Calculated]:
    low, high = columns.ends(f"results_{key}", f"results_{key}_half")
    return (
        Calculated(f"results_{key}_low", f"{label}, at least", unit, low, _LOW),
        Calculated(f"results_{key}_high", f"{label}, at most", unit, high, _HIGH),
    )


def _half(key: str, label: str, unit: str, batches: str, below: str) -> Calculated:
    """Make half of an interval of all batches, which count within their strain."""
    count = f"SUM({{by_strain.{batches}}})"
    freedom = f'({count}-COUNTIF({{by_strain.{batches}}},">0"))'
    squares = f"SUM({{by_strain.{key}_within}})"
    return Calculated(
        f"results_{key}_half",
        f"{label}, half of the interval",
        unit,
        columns.half_width(count, freedom, squares, below),
        "By Student's t, on batches less strains.",
    )


INTERVALS = Form(
    "Intervals of all batches",
    (
        _half("be", "BE", "fraction", "be_batches", "SUM({by_strain.dry})"),
        _half("cost", "Cost", "money/kg", "finished", "{results_fresh}"),
    ),
)


def figures(units: str) -> tuple[Calculated, ...]:
    """Make the lines of all batches together."""

    def counted(column: str) -> str:
        return columns.total(column, columns.COUNTED)

    def finished(column: str) -> str:
        return columns.total(column, columns.FINISHED)

    lost_known = columns.known("lost_cost", columns.COUNTED, "{results_counted}")
    spent_known = columns.known("spent", columns.FINISHED, "{results_finished}")
    cost = columns.cost_of("{results_fresh}", finished("spent"), units)
    return (
        Calculated(
            "results_counted",
            "Batches counted",
            "count",
            f"COUNTIFS({columns.COUNTED})",
            "Past the day by which they should have left fruiting, ended or not.",
        ),
        Calculated("results_blocks", "Blocks in them", "count", counted("bags")),
        Calculated("results_lost", "Blocks lost", "count", counted("lost")),
        Calculated(
            "results_lost_cost",
            "Spent on blocks lost",
            "money",
            f'CHOOSE(1+{lost_known},"",{counted("lost_cost")})',
            "In the batches counted, up to the loss; for the lost sales too, see Loss causes.",
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
            "Loss, at least",
            "fraction",
            f"CFX.LOSS_LOW({_LOSS})",
            _LOW,
            waits_for=("results_loss",),
        ),
        Calculated(
            "results_high",
            "Loss, at most",
            "fraction",
            f"CFX.LOSS_HIGH({_LOSS})",
            _HIGH,
            waits_for=("results_loss",),
        ),
        groups.SPREAD,
        Calculated(
            "results_finished",
            "Batches finished",
            "count",
            f"COUNTIFS({columns.FINISHED})",
            "Of those counted: ended, or with all planned flushes picked.",
        ),
        Calculated(
            "results_fresh", "Fresh mass", "kg", finished("fresh"), "All that was picked from them."
        ),
        Calculated(
            "results_per_block",
            "Harvest of a good block",
            "kg/block",
            f'CHOOSE(1+({finished("good")}>0),"",{{results_fresh}}/{finished("good")})',
        ),
        Calculated(
            "results_be",
            "BE",
            "fraction",
            f'CHOOSE(1+({finished("dry_good")}>0),"",'
            f"CFX.BIOLOGICAL_EFFICIENCY({{results_fresh}},{finished('dry_good')}))",
            "Fresh mass over the dry substrate of the good blocks.",
            is_key=True,
        ),
        *_ends("be", "BE", "fraction"),
        Calculated(
            "results_cost",
            "Cost, harvested",
            "money/kg",
            f'CHOOSE(1+({{results_fresh}}>0)*{spent_known},"",{cost})',
            "Blank while a price is missing.",
            is_key=True,
        ),
        *_ends("cost", "Cost", "money/kg"),
    )
