"""Parts of formulas that the cost of one block and the lists of Costing share."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.fields import Counter

NUMBER = Counter("number")


def of_product(column: str) -> str:
    """Return a figure of the product line that is chosen on Costing."""
    return f"INDEX({{products.{column}}},{{cost_row}})"


def of_recipe(column: str, choice: str) -> str:
    """Return a figure of a recipe that some cell names."""
    return look_up(f"recipes.{column}", choice)


def work_of(minutes: str) -> str:
    """Return what so many minutes of work cost."""
    return f"CFX.LABOR_COST({minutes},{{hourly_wage}},{{burden}})"


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


def heating_energy(moisture: str, blocks: str) -> str:
    """Return the energy that heats so many blocks up, losses included."""
    heat = (
        f"CFX.HEAT_UP_ENERGY({{block_mass}}*{blocks},{moisture},{{start_temperature}},"
        "CFX.BOILING_POINT({altitude}))"
    )
    return f"{heat}/{{steamer_efficiency}}"


HOLD_ENERGY = "({hold_hours}+N({steam_soak}))*{hold_power}"
"""Of a steam load, whether it is full or not: soaking, as on the Steam sheet, and holding."""


def load_energy(recipe: str) -> str:
    """Return the energy of a full steam load, losses and the hold included."""
    return (
        f"{heating_energy(of_recipe('target_moisture', recipe), '{blocks_per_load}')}+{HOLD_ENERGY}"
    )


def planned(column: str, recipe_row: str) -> str:
    """Return what a usual week of the plan has of a recipe."""
    return f"SUMIFS({{usual.week_{column}}},{{usual.recipe_row}},{recipe_row})"


def residue(blocks: str, recipe_row: str, full: str) -> str:
    """Return what stays in the mixer for each block: of the batches planned, or of full loads."""
    batches = planned("batches", recipe_row)
    return f"{{lost_mass}}*CHOOSE(1+({blocks}>0),1/MAX(1,{full}),{batches}/{blocks})"


def more_loads(blocks: str, loads: str, full: str) -> str:
    """Return the loads that a block takes beyond its part of full ones; 0 where none is planned."""
    return f"CHOOSE(1+({loads}>0),0,{loads}/{blocks}-1/{full})"


def chosen(*alternatives: str) -> str:
    """Write one formula for each row of a numbered list."""
    return f"CHOOSE({{number}},{','.join(alternatives)})"
