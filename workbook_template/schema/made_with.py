"""What a batch was made with: typed, or kept from the settings, which may change afterwards."""

from __future__ import annotations

from workbook_template.schema.columns import (
    LEAST_SUBSTRATE_MOISTURE,
)
from workbook_template.schema.fields import Computed, Field
from workbook_template.schema.figures import used_in

_TO_KEEP = "To keep it, copy the value used and paste it here as a value."

MADE_WITH = (
    Field(
        "block_mass",
        "Mass of a block",
        "kg",
        "above 0",
        f"Wet substrate in a bag; blank: the mass on the Farm sheet. {_TO_KEEP}",
        required=False,
    ),
    Field(
        "moisture",
        "Moisture",
        "fraction",
        "above 0 to below 0.9",
        f"Measured, of the mixed substrate; blank: the target of the recipe. {_TO_KEEP}",
        lowest=LEAST_SUBSTRATE_MOISTURE,
        usual=0.62,
        required=False,
    ),
    Field(
        "spawn_rate",
        "Spawn rate",
        "fraction",
        "above 0 to 0.5",
        f"Wet spawn over wet substrate; blank: the rate of the strain. {_TO_KEEP}",
        lowest=0.005,
        usual=0.03,
        required=False,
    ),
    Field(
        "block_cost",
        "Cost of a block",
        "money/block",
        "0 or more",
        f"Started, with its spawn; blank: from the prices of today. {_TO_KEEP}",
        required=False,
    ),
    Field(
        "picking_cost",
        "Cost of picking",
        "money/kg",
        "0 or more",
        f"Work on a unit of fresh mass; blank: at the wage of today. {_TO_KEEP}",
        required=False,
    ),
)
"""What a batch was made with: typed, or kept from the settings, which may change afterwards."""


def used(key: str) -> str:
    """Return the key of the column that says what a batch is counted with."""
    return f"{key}_used"


def _kept_or(key: str, settings: str, label: str, unit: str, note: str) -> Computed:
    """Make the column of a figure that a batch was made with, kept or from the settings."""
    formula = f'CHOOSE(1+({{batch}}<>"")*COUNT({{{key}}}),{settings},{{{key}}})'
    return Computed(used(key), f"{label}, used", unit, formula, note)


_LOT_PRICE = (
    "IFERROR(INDEX({spawn_lots.price},{?at_lot}),"
    "{spawn_price}/COUNT({spawn_price}))"  # an error where it is blank, not a price of 0
)
_COST_NOW = (
    "IFERROR({cost_common_block}+INDEX({recipe_costs.together},{at_recipe})"
    "+({block_mass_used}-{$block_mass})*INDEX({recipes.cost_wet},{at_recipe})"
    "+INDEX({strain_costs.incubation},{at_strain})+INDEX({strain_costs.fruiting},{at_strain})"
    f'+{{spawn}}/{{bags}}*{_LOT_PRICE},"")'
)
USED = (
    _kept_or(
        "block_mass",
        "{$block_mass}",
        "Mass of a block",
        "kg",
        "This batch's own, or that of the Farm sheet.",
    ),
    _kept_or(
        "moisture",
        "INDEX({recipes.target_moisture},{at_recipe})",
        "Moisture",
        "fraction",
        "This batch's own, or the target of the recipe.",
    ),
    _kept_or(
        "spawn_rate",
        used_in("spawn_rate", "{at_strain}"),
        "Spawn rate",
        "fraction",
        "This batch's own, or the rate of the strain.",
    ),
    _kept_or(
        "block_cost",
        _COST_NOW,
        "Cost of a block",
        "money/block",
        "This batch's own, or as on the Costing sheet; empty until its figures are known.",
    ),
    _kept_or(
        "picking_cost",
        f"CFX.LABOR_COST({used_in('picking_minutes', '{at_strain}')},{{hourly_wage}},{{burden}})",
        "Cost of picking",
        "money/kg",
        "This batch's own, or at the wage of today.",
    ),
)
TO_COPY = "copy the figures used"
IS_NEW, IS_KEPT = "follows the settings", "yes"


def _lacks(*keys: str) -> str:
    """Return whether one of these figures is known and not kept."""
    known, kept = (",".join(f"{{?{one}}}" for one in each) for each in (map(used, keys), keys))
    return f"(COUNT({known})>COUNT({kept}))"


_AT_THE_END = "picking_cost"
"""What is asked for only when all is picked."""
LACKS = (
    _lacks(*(one.key for one in MADE_WITH if one.key != _AT_THE_END))
    + f'+({{state}}="ended")*{_lacks(_AT_THE_END)}'
)
