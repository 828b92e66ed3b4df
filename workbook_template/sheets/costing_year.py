"""A year of usual weeks: what is spent, what its blocks cover, what stands idle."""

from __future__ import annotations

from workbook_template.schema.fields import Computed
from workbook_template.sheets.costing_parts import HOLD_ENERGY, heating_energy
from workbook_template.sheets.week_plan_crops import MOST_CROPS, NUMBER, of_crop
from workbook_template.writing.blocks import Calculated, Grid

A_YEAR = "/7*365"
"""Brings what a usual week has to a year of such weeks."""


def _of(table: str, column: str) -> str:
    """Return a figure of the recipe or strain of the crop in a row."""
    row = {"recipe": "recipe_row", "strain": "strain_row"}[table.partition("_")[0].rstrip("s")]
    return f"INDEX({{{table}.{column}}},{of_crop(row)})"


PLAN_COSTS = Grid(
    "plan_costs",
    "A year of each crop, of usual weeks",
    (
        Computed("crop", "Crop", "state", of_crop("crop")),
        Computed(
            "blocks",
            "Blocks",
            "blocks/year",
            f'CHOOSE(1+({{crop}}<>""),"",INDEX({{usual.week_blocks}},{{number}}){A_YEAR})',
        ),
        Computed(
            "started",
            "A block started",
            "money/block",
            f"{_of('recipe_costs', 'together')}+{_of('strain_costs', 'spawn')}"
            f"+{_of('strain_costs', 'incubation')}"
            f"+(1-{of_crop('as_block')})*{_of('strain_costs', 'fruiting')}+{{cost_common_block}}",
        ),
        Computed("carried", "Covered by its blocks", "money/year", "{blocks}*{started}"),
        Computed(
            "ingredients",
            "Ingredients",
            "money/year",
            f"INDEX({{usual.week_mixed}},{{number}}){A_YEAR}"
            f"*{_of('recipes', 'cost_wet')}*({{blocks}}>0)",
        ),
        Computed(
            "heat",
            "Heating up",
            "money/year",
            heating_energy(_of("recipes", "target_moisture"), "{blocks}") + "*{electricity_price}",
        ),
        NUMBER,
    ),
    rows=MOST_CROPS,
)


def _sum(column: str, more: str = "") -> str:
    """Add up a column of the crops, and more; blank while a crop's figure is not known."""
    cells = f"{{plan_costs.{column}}}"
    return f'CHOOSE(1+(COUNT({cells})=MAX(1,{{plan_crops}})),"",SUM({cells}){more})'


def _idle_room(room: str) -> str:
    """Return the energy of a room that no block of the plan stands for."""
    used = f"SUM({{usual.{room}}})/{{{room}_places}}"
    return f"{{{room}_energy}}*365*{{electricity_price}}*(1-{used})"


YEAR = (
    Calculated(
        "year_shared",
        "Blocks a year, Farm sheet",
        "blocks/year",
        "{blocks_per_year}*1",
        "They share equipment and overhead.",
    ),
    Calculated(
        "year_blocks",
        "Blocks a year, usual weeks",
        "blocks/year",
        f'CHOOSE(1+({{usual_blocks}}>0),"",{{usual_blocks}}{A_YEAR})',
        "If every week were a usual one.",
        is_key=True,
    ),
    Calculated(
        "year_materials",
        "Ingredients, bags, spawn",
        "money/year",
        _sum(
            "ingredients",
            f"+{{year_blocks}}*{{bag_price}}+{{usual_spawn}}{A_YEAR}*{{spawn_price}}",
        ),
        "For these blocks.",
    ),
    Calculated(
        "year_work",
        "Labor on blocks",
        "money/year",
        f"CFX.LABOR_COST({{usual_work}}*60,{{hourly_wage}},{{burden}}){A_YEAR}",
        "Mixing to moving, without picking and packing.",
        waits_for=("year_blocks",),
    ),
    Calculated(
        "year_steam",
        "Steam energy",
        "money/year",
        _sum("heat", f"+{{usual_steamed}}*{HOLD_ENERGY}*{{electricity_price}}{A_YEAR}"),
        "Every steam load of these weeks.",
    ),
    Calculated(
        "year_rooms",
        "Room energy",
        "money/year",
        "({incubation_energy}+{fruiting_energy})*365*{electricity_price}",
        "Whether the rooms are full or empty.",
    ),
    Calculated(
        "year_standing",
        "Equipment and overhead",
        "money/year",
        "({cost_equipment}+{cost_overhead})*{blocks_per_year}",
        "A year of both.",
    ),
    Calculated(
        "year_spent",
        "Total spent on blocks",
        "money/year",
        "{year_materials}+{year_work}+{year_steam}+{year_rooms}+{year_standing}",
        "Picking, packing and delivery come on top.",
        is_key=True,
    ),
    Calculated(
        "year_carried",
        "Covered by these blocks",
        "money/year",
        _sum("carried"),
        "Blocks of each crop times the cost of a block started.",
    ),
    Calculated(
        "year_idle_standing",
        "Idle: equipment and overhead",
        "money/year",
        "({year_shared}-{year_blocks})*({cost_equipment}+{cost_overhead})",
        "The share of blocks that are not made; below zero where more are planned.",
    ),
    Calculated(
        "year_idle_incubation",
        "Idle: incubation energy",
        "money/year",
        _idle_room("incubation"),
        "For shelf spaces that these blocks leave empty.",
        waits_for=("year_blocks",),
    ),
    Calculated(
        "year_idle_fruiting",
        "Idle: fruiting energy",
        "money/year",
        _idle_room("fruiting"),
        "For shelf spaces that these blocks leave empty.",
        waits_for=("year_blocks",),
    ),
    Calculated(
        "year_idle",
        "Idle capacity",
        "money/year",
        "{year_idle_standing}+{year_idle_incubation}+{year_idle_fruiting}",
        "Spent, and covered by no block.",
        is_key=True,
    ),
    Calculated(
        "year_idle_block",
        "Idle capacity per block",
        "money/block",
        "{year_idle}/{year_blocks}",
        "What each block would have to earn on top of its cost.",
        is_key=True,
    ),
)

WORDS = (
    "A usual week has the packs of the Products sheet, no orders and no special weeks. "
    "A block's cost is that of a farm with full rooms and the blocks a year that the Farm sheet "
    "says. What is spent beyond that is idle capacity: more blocks, or less room and equipment, "
    "bring it down. A half-empty load takes as much labor and hold energy as a full one, and the "
    "blocks in it carry that, as a usual week has them; with no packs, full loads are counted.",
)
