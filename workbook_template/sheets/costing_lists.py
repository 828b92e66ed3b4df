"""What each recipe and each strain puts into a block: the workings of Costing."""

from __future__ import annotations

from workbook_template.schema.columns import row_of
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import used_of
from workbook_template.schema.materials import RECIPES, STRAINS
from workbook_template.sheets.costing_parts import (
    load_energy,
    mixer_blocks,
    more_loads,
    of_recipe,
    planned,
    residue,
    work_of,
)
from workbook_template.writing.blocks import Grid

LINE = Counter("line")


def _where_named(formula: str) -> str:
    """Leave a row blank whose recipe is not complete."""
    return f'CHOOSE(1+({{recipe}}<>""),"",{formula})'


RECIPE_COSTS = Grid(
    "recipe_costs",
    "What each recipe puts into a block",
    (
        Computed(
            "recipe",
            "Recipe",
            "state",
            row_of("recipes", "recipe", "cost_wet", "bulk_density", "target_moisture"),
        ),
        Computed(
            "ingredients",
            "Ingredients",
            "money/block",
            of_recipe("cost_wet", "recipe")
            + f"*({{block_mass}}+{residue('{blocks}', '{line}', '{full}')})",
        ),
        Computed(
            "mixing", "Labor: mixing", "money/block", work_of("{mixing_minutes}") + "/MAX(1,{full})"
        ),
        Computed(
            "half_empty",
            "Half-empty mixer loads",
            "money/block",
            work_of("{mixing_minutes}") + "*" + more_loads("{blocks}", "{loads}", "MAX(1,{full})"),
        ),
        Computed(
            "steam",
            "Steam energy",
            "money/block",
            f"({load_energy('recipe')})*{{electricity_price}}/{{blocks_per_load}}",
        ),
        Computed("together", "Total", "money/block", "{ingredients}+{mixing}+{half_empty}+{steam}"),
        Computed("full", "Blocks of a full mixer", "count", mixer_blocks("recipe")),
        Computed("blocks", "Blocks planned", "count", _where_named(planned("blocks", "{line}"))),
        Computed("loads", "Mixer loads planned", "count", _where_named(planned("loads", "{line}"))),
        LINE,
    ),
    rows=RECIPES.rows,
)


STRAIN_COSTS = Grid(
    "strain_costs",
    "What each strain puts into a block",
    (
        Computed("strain", "Strain", "state", "INDEX({strain_demand.strain},{line})"),
        Computed(
            "spawn",
            "Spawn",
            "money/block",
            f"CFX.SPAWN_NEEDED({{block_mass}},{used_of('spawn_rate', 'strain')})*{{spawn_price}}",
        ),
        Computed(
            "incubation",
            "Incubation energy",
            "money/block",
            f"{{incubation_energy}}*{used_of('incubation_days', 'strain')}"
            "/{incubation_places}*{electricity_price}",
        ),
        Computed(
            "fruiting",
            "Fruiting energy",
            "money/block",
            f"{{fruiting_energy}}*{used_of('fruiting_days', 'strain')}"
            f"*(1-{used_of('loss_rate', 'strain')})/{{fruiting_places}}*{{electricity_price}}",
        ),
        Computed("together", "Total", "money/block", "{spawn}+{incubation}+{fruiting}"),
        LINE,
    ),
    rows=STRAINS.rows,
)
