"""Faults planted into Products, Orders, Costing and Week plan: each turns the right check red."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import pytest
from farm_book import WORKINGS
from reading import Place, place, red_where
from workbooks import made

if TYPE_CHECKING:
    from collections.abc import Callable

    from office import Office


def below(sheet: str, title: str, heading: str, row: int = 1) -> Place:
    """Find a cell of a list by the section's title and the start of the column's heading."""
    cells = made("us", "demo").values[sheet]
    top = next(line[0].row for line in cells if str(line[0].value).startswith(title))
    found = (cell.column for cell in cells[top + 1] if str(cell.value).startswith(heading))
    return Place(sheet, top + row, next(found) - 1)


def beside(sheet: str, label: str) -> Place:
    """Find the value of a label."""
    cells = made("us", "demo").values[sheet]
    row = next(line[0].row for line in cells if line[0].value == label)
    return Place(sheet, row - 1, 1)


def input_at(key: str, row: int = 0) -> Place:
    at = place(made("us", "demo").values, key)
    return Place(at.sheet, at.row + row, at.column)


FAULTS: dict[str, tuple[Callable[[], Place], Any, str]] = {
    "product without the mass of its pack": (
        partial(input_at, "products.pack_mass"),
        None,
        "Product lines: rows to fix. Mass in a pack: needed where mushrooms are sold.",
    ),
    "strain that is on no list": (
        partial(input_at, "products.strain", 4),
        "Moon mushroom",
        "Product lines: rows to fix. Strain: choose one from the list.",
    ),
    "form that is none": (
        partial(input_at, "products.form", 4),
        "pickled",
        "Product lines: rows to fix. Form: choose one from the list.",
    ),
    "product named twice": (
        partial(input_at, "products.product", 1),
        "Oyster, half-pound box",
        "Product lines: rows to fix. Product line: duplicate name.",
    ),
    "price as text": (
        partial(input_at, "products.price", 2),
        "nine",
        "Product lines: rows to fix. Price of a pack: needs a number, above 0.",
    ),
    "share sold above 100 %": (
        partial(input_at, "products.sold_share", 2),
        93,
        "Product lines: rows to fix. Share sold: needs a share of 5 to 100 %.",
    ),
    "dried wetter than fresh": (
        partial(input_at, "dried_moisture"),
        0.95,
        "Dried mushrooms are not wetter than fresh ones",
    ),
    "product on Costing that is none": (
        partial(input_at, "cost_product"),
        "Truffles",
        "Choose: cells to fix. Product line: choose one from the list.",
    ),
    "step of a block overwritten": (
        partial(beside, "Costing", "Spawn"),
        9,
        "Steps of a block add up to what recipe, strain and all blocks put into it",
    ),
    "margin overwritten": (
        partial(beside, "Costing", "Margin of a pack"),
        9,
        "Cost and margin add up to the price after fees",
    ),
    "cost of a pack overwritten": (
        partial(below, "Costing", "All product lines", "Cost of a pack sold"),
        9,
        "Costs of packs add up, and with margins to the prices after fees",
    ),
    "chosen pack costed otherwise": (
        partial(beside, "Costing", "Labor: packing"),
        9,
        "The product line chosen costs the same in the list of all",
    ),
    "driver overwritten": (
        partial(below, "Costing workings", "What each driver is part of", "Cost at no change"),
        9,
        "A driver that does not change leaves the cost as it is",
    ),
    "flush overwritten": (
        partial(below, "Costing", "One flush or more", "Contribution", 2),
        9,
        "The flushes kept give the contribution of the product line",
    ),
    "demand from a Tuesday": (
        partial(input_at, "unusual_weeks.week"),
        46308,
        "Special weeks: rows to fix. Week of: not a Monday.",
    ),
    "demand of a product that is none": (
        partial(input_at, "unusual_weeks.product"),
        "Truffles",
        "Special weeks: rows to fix. Product line: choose one from the list.",
    ),
    "too few blocks": (
        partial(below, WORKINGS, "Every start", "Blocks to start"),
        3,
        "Week plan: starts with too few blocks on average",
    ),
    "blocks of a week overwritten": (
        partial(below, "Week plan", "Blocks to start, and bags needed", "2026-09-21"),
        3,
        "Week plan: blocks by crop and by week add up to the starts",
    ),
    "packs of a week overwritten": (
        partial(below, "Week plan", "Packs to sell", "2026-09-21"),
        3,
        "Week plan: fresh mass by strain matches the packs to sell",
    ),
    "good blocks of a crop overwritten": (
        partial(below, WORKINGS, "Crops", "Good blocks"),
        3,
        "Week plan: good blocks of the crops match the packs of a usual week",
    ),
    "purchase overwritten": (
        partial(below, "Week plan", "Ingredients needed", "2026-09-21"),
        3,
        "Week plan: ingredients by line and by name have the same mass",
    ),
    "spawn overwritten": (
        partial(below, WORKINGS, "Spawn needed", "2026-09-21"),
        3,
        "Week plan: spawn by strain matches the starts",
    ),
}


@pytest.mark.parametrize(("where", "value", "check"), FAULTS.values(), ids=FAULTS)
def test_a_planted_fault_turns_its_check_red(
    office: Office, where: Callable[[], Place], value: Any, check: str
) -> None:
    assert check in red_where(office, "us", where(), value)
