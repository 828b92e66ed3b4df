"""Parts of formulas that the cost of one block and the lists of Costing share."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.fields import Counter

LABOR = "CFX.LABOR_COST({%s},{hourly_wage},{burden})"
NUMBER = Counter("number", "No.")


def of_product(column: str) -> str:
    """Return a figure of the product line that is chosen on Costing."""
    return f"INDEX({{products.{column}}},{{cost_row}})"


def of_recipe(column: str, choice: str) -> str:
    """Return a figure of a recipe that some cell names."""
    return look_up(f"recipes.{column}", choice)


def of_strain(column: str, choice: str) -> str:
    """Return a figure of a strain that some cell names."""
    return look_up(f"strains.{column}", choice)


def number_of(value: str, column: str, numbers: str) -> str:
    """Return the number of the first row that holds a value, from a list that computes itself.

    Not MATCH: LibreOffice keeps what it found in such a list when only some cells are computed
    anew, and then finds the row of before.
    """
    last = f"ROWS({{{column}}})+1"
    return f"{last}-SUMPRODUCT(MAX(({{{column}}}={value})*({last}-{{{numbers}}})))"


def mixer_blocks(recipe: str) -> str:
    """Return the blocks that a full mixer fills."""
    density = of_recipe("bulk_density", recipe)
    largest = f"CFX.LARGEST_BATCH({{mixer_volume}},{density},{{working_fill}})"
    return f"CFX.BAG_COUNT({largest},{{block_mass}},{{lost_mass}})"


def load_energy(recipe: str) -> str:
    """Return the energy of a steam load, losses and the hold included."""
    moisture = of_recipe("target_moisture", recipe)
    heat = (
        f"CFX.HEAT_UP_ENERGY({{block_mass}}*{{blocks_per_load}},{moisture},{{start_temperature}},"
        "CFX.BOILING_POINT({altitude}))"
    )
    return f"{heat}/{{steamer_efficiency}}+{{hold_hours}}*{{hold_power}}"


def chosen(*alternatives: str) -> str:
    """Write one formula for each row of a numbered list."""
    return f"CHOOSE({{number}},{','.join(alternatives)})"
