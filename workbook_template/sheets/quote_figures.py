"""The figures of a quote, once with what is typed and once as today, from one set of formulas.

In a template ``@price`` is a figure of the formula's own side, and ``@?price`` one that it does
not wait for. What a price has to cover is contribution pricing as management accounting teaches it
(from memory): whatever is spent only because of the pack, and, where something is short, what that
would earn otherwise.
"""

from __future__ import annotations

import re
from dataclasses import replace

from workbook_template.schema.figures import used_of
from workbook_template.sheets.costing_parts import work_of
from workbook_template.writing.blocks import Calculated

_SIDES = ("if", "today")
"""What might be, and what is: the order of the two columns."""


def _of_side(template: str, side: str) -> str:
    """Write a template for one side."""
    return re.sub(r"@(\??)(\w+)", rf"{{\1quote_\2_{side}}}", template)


def _both(*lines: Calculated) -> list[Calculated]:
    """Return each line for either side, one behind the other."""
    return [
        replace(line, key=f"quote_{line.key}_{side}", formula=_of_side(line.formula, side))
        for line in lines
        for side in _SIDES
    ]


def _of_recipe(column: str) -> str:
    return f"INDEX({{recipe_costs.{column}}},MATCH(@recipe,{{recipes.recipe}},0))"


def _of_strain(column: str) -> str:
    return f"INDEX({{strain_costs.{column}}},MATCH(@strain,{{strains.strain}},0))"


def _used(key: str) -> str:
    return used_of(key, "strain").replace("{strain}", "@strain")


_TARGET = "INDEX({recipes.target_moisture},MATCH(@recipe,{recipes.recipe},0))"
_DRYING = f"({{drying_energy}}*{{electricity_price}}+{work_of('{drying_minutes}')})"
_IS_DRIED = '(@form="dried")'

BLOCK = _both(
    Calculated(
        "started",
        "A block started",
        "money/block",
        f"{_of_recipe('together')}+{_of_strain('spawn')}+@rooms+{{cost_common_block}}",
        "Step by step on the Costing sheet.",
    ),
    Calculated("loss", "Blocks lost", "fraction", f"{_used('loss_rate')}*1", "Strains sheet."),
    Calculated(
        "lost", "Cost of lost blocks", "money/block", "@good-@started", "Good ones carry it."
    ),
    Calculated(
        "good",
        "A good block",
        "money/block",
        "CFX.COST_AFTER_LOSSES(@started,@loss)",
        "With the cost of the lost ones.",
        is_key=True,
    ),
    Calculated(
        "harvest",
        "Harvest of a good block",
        "kg",
        f'CHOOSE(1+@fruited,"",CFX.EXPECTED_HARVEST(CFX.DRY_MASS({{block_mass}},{_TARGET}),'
        f"{_used('biological_efficiency')}))",
        "All flushes kept; blank for a block.",
    ),
    Calculated(
        "blocks",
        "Good blocks in a pack",
        "number",
        'CHOOSE(1+@fruited,1,CHOOSE(1+(N(@?harvest)>0),"",@fresh/N(@?harvest)))',
        "Whose harvest fills it.",
    ),
)
PACK = _both(
    Calculated("grown", "Grown", "money/pack", "@good*@blocks", "Its good blocks."),
    Calculated(
        "picked", "Picked", "money/pack", f"@fresh*{work_of(_used('picking_minutes'))}", "Labor."
    ),
    Calculated(
        "dried",
        "Dried",
        "money/pack",
        f"CHOOSE(1+{_IS_DRIED},0,@fresh*{_DRYING})",
        "Energy and labor.",
    ),
    Calculated("empty", "Empty pack", "money/pack", "@pack_cost*1", ""),
    Calculated(
        "packed",
        "Packed",
        "money/pack",
        "CFX.LABOR_COST(@packing_minutes,{hourly_wage},{burden})",
        "Labor.",
    ),
    Calculated(
        "unsold",
        "Unsold packs",
        "money/pack",
        "(@grown+@picked+@dried+@empty+@packed)*(1/@sold_share-1)",
        "Packs sold carry them.",
    ),
    Calculated("delivered", "Delivery of a pack", "money/pack", "@delivery*1", ""),
    Calculated(
        "cost",
        "Cost of a pack sold",
        "money/pack",
        "@grown+@picked+@dried+@empty+@packed+@unsold+@delivered",
        "All steps above.",
        is_key=True,
    ),
)
PRICE = _both(
    Calculated("net", "Price after fees", "money/pack", "@price*(1-@fees)", ""),
    Calculated("margin", "Margin of a pack", "money/pack", "@net-@cost", "After all costs."),
    Calculated(
        "share", "Margin, share of price", "fraction", "CFX.MARGIN(@net,@cost)", "After fees."
    ),
    Calculated(
        "contribution",
        "Contribution of a pack",
        "money/pack",
        "@margin+@standing",
        "Before room energy, equipment and overhead.",
        is_key=True,
    ),
    Calculated(
        "lowest",
        "Lowest price that contributes",
        "money/pack",
        "(@cost-@standing)/(1-@fees)",
        "Below it, each sale leaves you with less.",
        is_key=True,
    ),
    Calculated(
        "floor",
        "Lowest price while a station is full",
        "money/pack",
        "@lowest+@elsewhere/(1-@fees)",
        "Earns what others would there, too.",
    ),
    Calculated(
        "break_even",
        "Break-even price",
        "money/pack",
        "@cost/(1-@fees)",
        "Covers all costs of the pack.",
    ),
    Calculated(
        "wanted",
        "Price for the target margin",
        "money/pack",
        "CFX.PRICE_FOR_MARGIN(@cost,{wanted_margin})/(1-@fees)",
        "The target is on the Costing sheet.",
    ),
    Calculated(
        "by_mass",
        "Price by mass",
        "money/kg",
        "@price/@mass",
        "What the pack costs the customer.",
    ),
    Calculated(
        "lowest_by_mass",
        "Lowest price by mass",
        "money/kg",
        "@lowest/@mass",
        "Below it, no contribution.",
    ),
    Calculated(
        "earning",
        "Shelf space earns a week",
        "money",
        'CHOOSE(1+(@weeks>0),"",@contribution*@sold_share/@blocks/@weeks)',
        "Contribution of one space in fruiting.",
    ),
)
WEEK = _both(
    Calculated("sold", "Packs sold", "count", "@packs*1", "A week.", is_key=True),
    Calculated(
        "good_blocks",
        "Good blocks needed",
        "count",
        "@packs*@blocks/@sold_share",
        "A week, unsold packs included.",
    ),
    Calculated(
        "starts",
        "Blocks to start",
        "count",
        "CFX.BLOCKS_TO_START(@good_blocks,@loss,{start_confidence},{results_spread})",
        "A week; losses as the Week plan counts.",
    ),
    Calculated(
        "spaces",
        "Shelf spaces taken",
        "count",
        f"CHOOSE(1+@fruited,0,CFX.BLOCKS_IN_PROGRESS(@starts*(1-@loss),{_used('fruiting_days')}))",
        "In fruiting, at all times.",
    ),
    Calculated(
        "added",
        "On top of the usual week",
        "count",
        "@spaces-(1-@extra)*N({?quote_spaces_today})",
        "Of these spaces.",
    ),
    Calculated(
        "free",
        "Free in the usual week",
        "count",
        "MAX(0,{fruiting_places}-SUM({usual.fruiting}))+0*@spaces",
        "Shelf spaces in fruiting, by the Week plan.",
    ),
    Calculated(
        "weekly",
        "Contribution a week",
        "money",
        "@contribution*@packs",
        "Of all these packs.",
        is_key=True,
    ),
)

_FULL_LABOR = (
    "((@fresh*({picking}+{dried}*{{drying_minutes}})+@packing_minutes)/@sold_share+@begun*("
    "{{mixing_minutes}}/{full}+{{steaming_minutes}}/{{blocks_per_load}}"
    "+{{filling_minutes}}+{{inoculating_minutes}}+{{moving_minutes}}))/60"
).format(picking=_used("picking_minutes"), dried=_IS_DRIED, full=_of_recipe("full"))
_OF_STATION = ",".join(
    (
        f"@begun/{_of_recipe('full')}",
        "@begun/{blocks_per_load}",
        "@begun*{inoculating_minutes}/60",
        f"@begun*{_used('incubation_days')}/7",
        "N(@?weeks)*@blocks/@sold_share",
        "N(@?weeks)*@blocks/@sold_share",
        _FULL_LABOR,
    )
)
"""What a pack sold takes of each limit, in the order of ``LIMITS``: as ``helps_lines`` has it for
the product lines. A block takes air as it takes a shelf space."""

_WEEK_IN = "INT(({today}+@stands-{plan_monday})/7)+1"
_FREE_THEN = "INDEX({room_weeks.free},@week_in):INDEX({room_weeks.free},ROWS({room_weeks.free}))"
_LAST_WEEK = "(ROWS({room_weeks.line})+1)"
WORKINGS = _both(
    Calculated("fruited", "Goes into fruiting", "count", '(@form<>"block")*1'),
    Calculated(
        "stands",
        "Start to fruiting, or to the sale of a block",
        "d",
        f"{_used('incubation_days')}*1",
    ),
    Calculated(
        "ready",
        "First market day, if started today",
        "date",
        "{market_this_week}-7*INT(MIN(0,{market_this_week}-{today}+INT({rounding}"
        f"-{{days_before_market}}-@stands-@fruited*{_used('first_flush_days')}))/7)",
        "With the days from start to market of the Week plan.",
    ),
    Calculated(
        "week_in",
        "Week of the plan in which it is moved",
        "count",
        f'CHOOSE(1+@fruited*({_WEEK_IN}<{_LAST_WEEK}),"",{_WEEK_IN})',
        "Blank where it takes no space in fruiting in the weeks of the plan.",
    ),
    Calculated(
        "least",
        "Fewest spaces free in fruiting from then on",
        "number",
        f'CHOOSE(1+(COUNT({_FREE_THEN})>0),"",MIN({_FREE_THEN}))',
        "By the Week plan, with all orders.",
    ),
    Calculated(
        "fullest",
        "Week in which they are fewest",
        "date",
        f"INDEX({{room_weeks.week}},{_LAST_WEEK}-SUMPRODUCT(MAX(({{room_weeks.free}}=@least)"
        f"*({{room_weeks.line}}>=@week_in)*({_LAST_WEEK}-{{room_weeks.line}}))))",
    ),
    Calculated(
        "mass",
        "Sold mass of a pack",
        "kg",
        'CHOOSE(1+@fruited,"",UNIT(@pack_mass,"kg/pack","kg"))',
    ),
    Calculated(
        "fresh",
        "Fresh mass of a pack",
        "kg",
        f'CHOOSE(1+@fruited,0,CHOOSE(1+COUNT(@?mass),"",N(@?mass)*CHOOSE(1+{_IS_DRIED},1,'
        "CFX.DRYING_RATIO({fresh_moisture},{dried_moisture}))))",
    ),
    Calculated(
        "rooms",
        "Room energy",
        "money/block",
        f"{_of_strain('incubation')}+@fruited*{_of_strain('fruiting')}",
    ),
    Calculated(
        "standing",
        "Fixed cost share",
        "money/pack",
        "(@rooms+{cost_equipment}+{cost_overhead})/(1-@loss)*@blocks/@sold_share",
    ),
    Calculated(
        "weeks",
        "Weeks in fruiting",
        "number",
        f'CHOOSE(1+@fruited,"",{_used("fruiting_days")}/7)',
    ),
    Calculated("begun", "Blocks started for a pack", "number", "@blocks/@sold_share/(1-@loss)"),
    Calculated(
        "use",
        "Of the fullest station",
        "number",
        f"CHOOSE({{helps_tightest}},{_OF_STATION})",
    ),
    Calculated(
        "elsewhere",
        "What others would earn there",
        "money/pack",
        "N({?helps_worth})*N(@?use)+0*@begun",
    ),
)
