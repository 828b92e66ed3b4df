"""What losses cost by month and cause, added up loss by loss from what is typed.

What a good block of a strain would have earned comes from the figures of the Costing sheet.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

from reading import parts

from workbook_template.writing.workings import workings_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from openpyxl import Workbook

    Row = Mapping[str, Any]

COSTING = "Costing", workings_name("Costing")
LINES = "All product lines: cost, margin, shelf space"
MOLD = ("green mold", "bacteria", "wet spot", "cobweb")
"""What growers call contamination (common practice, no source); a torn bag is none yet."""


class Each(NamedTuple):
    """Of one good block of a strain: its contribution, and the fixed cost share within it."""

    earned: float
    fixed: float


class Sum(NamedTuple):
    """Blocks lost, and what they cost."""

    blocks: int
    cost: Decimal


def stored_costing(book: Workbook) -> tuple[Any, Any]:
    """Return the list of product lines as a file holds it, and its workings."""
    shown, behind = (parts(book[name])[LINES].rows for name in COSTING)
    return shown, behind


def of_good_blocks(
    sheets: tuple[Any, Any], products: Sequence[Row], rates: Mapping[str, float]
) -> dict[str, Each]:
    """Return the figures of each strain; its product lines count by the good blocks of a week."""
    costed = {of["Product line"]: {**of, **behind} for of, behind in zip(*sheets, strict=False)}
    each: dict[str, Each] = {}
    for strain, rate in rates.items():
        blocks = earned = fixed = 0.0
        for product in products:
            if product["strain"] == strain:
                row = costed[product["product"]]
                sold = row["Packs sold of a good block"]
                weight = product["packs_per_week"] / sold
                blocks += weight
                earned += weight * row["Contribution, $/block"]
                fixed += weight * row["Fixed cost share, $"] * sold * (1 - rate)
        each[strain] = Each(earned / blocks, fixed / blocks)
    return each


def cents(amount: float) -> Decimal:
    """Round as a person does, half a cent up."""
    return Decimal(str(round(amount, 9))).quantize(Decimal("0.01"), ROUND_HALF_UP)


def parts_of(loss: Row, batch: Row, each: Each) -> tuple[Decimal, Decimal, Decimal]:
    """Return what was spent on a loss, not earned, and is in both, each to the cent."""
    amounts = batch["block_cost"], each.earned, each.fixed
    spent, earned, fixed = (cents(loss["blocks"] * amount) for amount in amounts)
    return spent, earned, fixed


def months_back(today: date, day: date) -> int:
    """Count the months from that of a day to this one."""
    return (today.year - day.year) * 12 + today.month - day.month


def by_month_and_cause(
    losses: Iterable[Row], batches: Mapping[str, Row], each: Mapping[str, Each], today: date
) -> dict[tuple[int, str], Sum]:
    """Go over the losses once, and return their sums by months back and by cause."""
    found: dict[tuple[int, str], Sum] = defaultdict(lambda: Sum(0, Decimal(0)))
    for loss in losses:
        batch = batches[loss["batch"]]
        spent, earned, fixed = parts_of(loss, batch, each[batch["strain"]])
        at = months_back(today, loss["date"]), loss["cause"]
        blocks, cost = found[at]
        found[at] = Sum(blocks + int(loss["blocks"]), cost + spent + earned - fixed)
    return found
