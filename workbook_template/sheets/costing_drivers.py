"""What moves the cost: each driver by itself, the cost worked out anew."""

from __future__ import annotations

from workbook_template.schema.cards import CHANGES
from workbook_template.schema.fields import Computed
from workbook_template.sheets.costing_parts import NUMBER, chosen
from workbook_template.writing.blocks import Grid
from workbook_template.writing.week_grid import HeadedGrid

DRIVER_NAMES = (
    "BE",
    "losses",
    "spawn rate",
    "price of spawn",
    "price of ingredients",
    "labor",
    "energy",
    "overhead",
)


_CHANGES = range(1, len(CHANGES.fields) + 1)


_CHANGE_HEADINGS = {f"cost_{n}": (f"{{change_{n}}}*1", "fraction") for n in _CHANGES}


_ALL_COSTS = ",".join(f"{{cost_{n}}}" for n in _CHANGES)


_HERE = "{%s}"


_THERE = "INDEX({driver_parts.%s},{number})"


def _recomputed(change: str, part: str) -> str:
    """Return the whole cost of a pack sold when the row's driver is changed by a share.

    ``part`` writes where a figure of the driver comes from.
    """
    loss = f"{{cost_loss_rate}}*(1+{part % 'on_loss'}*{change})"
    fruiting = f"{{cost_fruited}}*{{cost_fruiting_energy}}*({{cost_loss_rate}}-{loss})"
    block = f"({{cost_started}}+{part % 'of_block'}*{change}+{fruiting})/(1-{loss})"
    grown = f"{block}*{{pack_blocks}}/(1+{part % 'on_be'}*{change})"
    rest = f"{{cost_pack_made}}-{{cost_pack_blocks}}+{part % 'of_pack'}*{change}"
    cost = f"({grown}+{rest})/{{cost_sold_share}}+{{cost_delivery}}"
    return f'CHOOSE(1+({loss}<1),"",{cost})'


DRIVER_PARTS = Grid(
    "driver_parts",
    "What each driver is a part of, for the product line chosen",
    (
        Computed(
            "driver",
            "Driver",
            "state",
            chosen(*(f'"{name}"' for name in DRIVER_NAMES)),
        ),
        Computed(
            "of_block",
            "Part of a block started",
            "money/block",
            chosen(
                "0",
                "0",
                "{cost_spawn}",
                "{cost_spawn}",
                "{cost_ingredients}",
                "{cost_mixing}+{cost_filling}+{cost_steaming}+{cost_inoculating}+{cost_moving}"
                "+{cost_half_mixer}+{cost_half_steamer}",
                "{cost_steam}+{cost_half_energy}+{cost_rooms}",
                "{cost_overhead}",
            ),
        ),
        Computed(
            "of_pack",
            "Part of a pack made",
            "money",
            chosen(
                *"00000",
                "{cost_picking}+{cost_drying}+{cost_packing}",
                "{cost_drying_energy}",
                "0",
            ),
        ),
        Computed("on_be", "Scales BE", "count", chosen("{cost_fruited}", *"0000000")),
        Computed("on_loss", "Scales losses", "count", chosen("0", "1", *"000000")),
        Computed("unchanged", "Cost at no change", "money", _recomputed("0", _HERE)),
        NUMBER,
    ),
    rows=len(DRIVER_NAMES),
)


DRIVER_COSTS = HeadedGrid(
    "driver_costs",
    "Cost of a pack sold with each change, and the order of the drivers",
    (
        Computed("driver", "Driver", "state", _THERE % "driver"),
        *(
            Computed(f"cost_{n}", f"Change {n}", "money", _recomputed(f"{{change_{n}}}", _THERE))
            for n in _CHANGES
        ),
        Computed(
            "swing",
            "Highest less lowest",
            "money",
            f"MAX({_ALL_COSTS})-MIN({_ALL_COSTS})",
        ),
        Computed(
            "place",
            "Place",
            "count",
            "1+SUMPRODUCT(({driver_costs.swing}>{swing})*1)"
            "+SUMPRODUCT(({driver_costs.swing}={swing})*({driver_costs.number}<{number}))",
        ),
        NUMBER,
    ),
    rows=len(DRIVER_NAMES),
    headings=_CHANGE_HEADINGS,
)


DRIVERS = HeadedGrid(
    "drivers",
    "Cost of a pack sold, when a driver changes",
    (
        Computed("driver", "Driver", "state", "INDEX({driver_costs.driver},{which})"),
        *(
            Computed(
                f"cost_{n}", f"Change {n}", "money", f"INDEX({{driver_costs.cost_{n}}},{{which}})"
            )
            for n in _CHANGES
        ),
        Computed("swing", "Highest less lowest", "money", "INDEX({driver_costs.swing},{which})"),
        Computed(
            "which",
            "Row in the list below",
            "count",
            "CHOOSE(1+MIN(1,COUNTIF({driver_costs.place},{number})),"
            '"",SUMIFS({driver_costs.number},{driver_costs.place},{number}))',
        ),
        NUMBER,
    ),
    rows=len(DRIVER_NAMES),
    headings=_CHANGE_HEADINGS,
)
