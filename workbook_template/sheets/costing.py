"""Costing: what a block costs step by step, and a unit of mushrooms at each stage to the sale."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cultivar_fx.dimensions import US
from workbook_template.charts import CHART_ROWS, Chart, add_chart
from workbook_template.page import ROUNDING, Calculated, Check, Custom, Form, Sheet
from workbook_template.schema import look_up
from workbook_template.schema.cards import COSTING

if TYPE_CHECKING:
    from workbook_template.page import Settings
    from workbook_template.writer import Writer

_LABOR = "CFX.LABOR_COST({%s},{hourly_wage},{burden})"

_BASIS = (
    Calculated(
        "cost_target",
        "Moisture of the substrate",
        "fraction",
        look_up("recipes.target_moisture", "cost_recipe"),
        "From the sheet Recipes.",
    ),
    Calculated(
        "cost_loss_rate",
        "Blocks lost",
        "fraction",
        look_up("strains.loss_rate", "cost_strain"),
        "From the sheet Strains.",
    ),
    Calculated(
        "cost_fresh_mass",
        "Fresh mass of a good block",
        "kg",
        "CFX.EXPECTED_HARVEST(CFX.DRY_MASS({block_mass},{cost_target}),"
        + look_up("strains.biological_efficiency", "cost_strain")
        + ")",
        "Dry substrate of the block times the strain's BE.",
    ),
    Calculated(
        "cost_mixer_blocks",
        "Blocks of a full mixer",
        "count",
        "CFX.BAG_COUNT(CFX.LARGEST_BATCH({mixer_volume},"
        + look_up("recipes.bulk_density", "cost_recipe")
        + ",{working_fill}),{block_mass},{lost_mass})",
        "Shares out the work of mixing.",
    ),
    Calculated(
        "cost_load_energy",
        "Energy of a steam load",
        "kWh",
        "CFX.HEAT_UP_ENERGY({block_mass}*{blocks_per_load},{cost_target},"
        "{start_temperature},CFX.BOILING_POINT({altitude}))/{steamer_efficiency}"
        "+{hold_hours}*{hold_power}",
        "Heating up with losses, then holding.",
    ),
)

_STEPS = (
    Calculated(
        "cost_ingredients",
        "Ingredients",
        "money/block",
        look_up("recipes.cost_wet", "cost_recipe") + "*{block_mass}",
        "Cost of wet mass times the mass of a bag.",
    ),
    Calculated("cost_bag", "Bag", "money/block", "{bag_price}*1", "From the sheet Farm."),
    Calculated(
        "cost_spawn",
        "Spawn",
        "money/block",
        "CFX.SPAWN_NEEDED({block_mass},"
        + look_up("strains.spawn_rate", "cost_strain")
        + ")*{spawn_price}",
        "At the strain's rate.",
    ),
    Calculated(
        "cost_steam",
        "Steam energy",
        "money/block",
        "{cost_load_energy}*{electricity_price}/{blocks_per_load}",
        "The energy of a load, shared by its blocks.",
    ),
    Calculated(
        "cost_mixing",
        "Work: mixing",
        "money/block",
        _LABOR % "mixing_minutes" + "/{cost_mixer_blocks}",
        "A full mixer, shared by its blocks.",
    ),
    Calculated(
        "cost_filling",
        "Work: filling",
        "money/block",
        _LABOR % "filling_minutes",
        "Minutes from the sheet Farm.",
    ),
    Calculated(
        "cost_steaming",
        "Work: steaming",
        "money/block",
        _LABOR % "steaming_minutes" + "/{blocks_per_load}",
        "A load, shared by its blocks.",
    ),
    Calculated(
        "cost_inoculating",
        "Work: inoculating",
        "money/block",
        _LABOR % "inoculating_minutes",
        "Minutes from the sheet Farm.",
    ),
    Calculated(
        "cost_moving",
        "Work: moving and cleaning",
        "money/block",
        _LABOR % "moving_minutes",
        "Minutes from the sheet Farm.",
    ),
    Calculated(
        "cost_rooms",
        "Energy of the rooms",
        "money/block",
        "({incubation_energy}*"
        + look_up("strains.incubation_days", "cost_strain")
        + "/{incubation_places}+{fruiting_energy}*"
        + look_up("strains.fruiting_days", "cost_strain")
        + "/{fruiting_places})*{electricity_price}",
        "Days of stay times a full room's energy for one place.",
    ),
    Calculated(
        "cost_equipment",
        "Equipment",
        "money/block",
        "SUM({equipment.depreciation})/{blocks_per_year}",
        "A year of all equipment, shared by the blocks of a year.",
    ),
    Calculated(
        "cost_overhead",
        "Overhead",
        "money/block",
        "({rent}+{insurance}+{vehicle}+{other_overhead})/{blocks_per_year}",
        "A year of overhead, shared by the blocks of a year.",
    ),
)
_TOTAL = Calculated(
    "cost_started",
    "A block started",
    "money/block",
    "+".join(f"{{{step.key}}}" for step in _STEPS),
    "All of the above together.",
    is_key=True,
)


def _mass_steps(units: str) -> tuple[Calculated, ...]:
    cost_per = "CFX.COST_PER_POUND" if units == US else "CFX.COST_PER_KILOGRAM"
    return (
        Calculated(
            "cost_good",
            "A good block",
            "money/block",
            "CFX.COST_AFTER_LOSSES({cost_started},{cost_loss_rate})",
            "Good blocks pay for the lost ones.",
        ),
        Calculated(
            "cost_grown",
            "Grown",
            "money/kg",
            cost_per + "({cost_good},{cost_fresh_mass})",
            "The good block over its fresh mass.",
        ),
        Calculated(
            "cost_harvested",
            "Harvested",
            "money/kg",
            "{cost_grown}+" + _LABOR % "harvesting_minutes",
            "With the picking.",
        ),
        Calculated(
            "cost_packed",
            "Packed and delivered",
            "money/kg",
            "{cost_harvested}+{packaging}+" + _LABOR % "packing_minutes",
            "With packaging and the work on it.",
        ),
        Calculated(
            "cost_sold",
            "Sold",
            "money/kg",
            "{cost_packed}/{sold_share}",
            "What is sold pays for what is not.",
            is_key=True,
        ),
    )


_EARNINGS = (
    Calculated(
        "net_price",
        "Price after fees",
        "money/kg",
        "{price}*(1-{fees})",
        "What stays of the price.",
    ),
    Calculated(
        "margin_amount",
        "Margin",
        "money/kg",
        "{net_price}-{cost_sold}",
        "Price after fees less cost.",
        is_key=True,
    ),
    Calculated(
        "margin_share",
        "Margin of the price after fees",
        "fraction",
        "CFX.MARGIN({net_price},{cost_sold})",
        "Below zero: each sale costs you money.",
        is_key=True,
    ),
    Calculated(
        "break_even_price",
        "Price without gain or loss",
        "money/kg",
        "{cost_sold}/(1-{fees})",
        "Below it you pay to sell.",
    ),
    Calculated(
        "wanted_price",
        "Price for the margin wanted",
        "money/kg",
        "CFX.PRICE_FOR_MARGIN({cost_sold},{wanted_margin})/(1-{fees})",
        "Fees on top.",
    ),
)


_CHECKS = (
    Check(
        "Cost and margin make the price after fees",
        "ABS(N({cost_sold})+N({margin_amount})-N({net_price}))*COUNT({margin_amount})",
        ROUNDING,
    ),
)


def _chart(writer: Writer, row: int) -> None:
    writer.section(row, "Where the money of a block goes")
    add_chart(
        writer,
        row + 1,
        Chart(
            title="Cost of a block started, step by step",
            categories=[step.key for step in _STEPS],
            values=[[step.key for step in _STEPS]],
            names=["Cost"],
            category_title="Step",
            value_title=f"{writer.currency} a block",
            description="Bars of the cost of one block started, one for each step of the work, "
            "with the figures of the list above.",
        ),
    )


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Costing",
        purpose="What a block and a unit of mushrooms cost, step by step, and what is earned.",
        blocks=[
            Form(COSTING.title, COSTING.fields),
            Form("What it rests on", _BASIS),
            Form("A block started, step by step", (*_STEPS, _TOTAL)),
            Form("From the block to the sale", _mass_steps(settings.units)),
            Form("What is left", _EARNINGS),
            Custom(CHART_ROWS, _chart, new_page=True),
        ],
        widths=(36, 14, 12, 22, 22, 22),
        checks=_CHECKS,
    )
