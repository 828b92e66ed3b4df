"""Every product line: what a pack costs and earns, and what its shelf space earns."""

from __future__ import annotations

from functools import partial

from workbook_template.schema import look_up
from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import used_of
from workbook_template.schema.products import PRODUCTS
from workbook_template.sheets.costing_lists import LINE
from workbook_template.sheets.costing_parts import number_of, work_of
from workbook_template.writing.blocks import Calculated, Grid


def _known(column: str) -> str:
    """Return a figure of the row's product line."""
    return look_up(f"products.{column}", "product")


def _in(column: str, choice: str) -> str:
    """Return a figure of a list for a recipe or strain, in the rows of its table."""
    grid, _, _ = column.partition(".")
    names = {"recipe_costs": "recipes.recipe", "strain_costs": "strains.strain"}[grid]
    return f"INDEX({{{column}}},MATCH({choice},{{{names}}},0))"


def _of_its_strain(column: str) -> str:
    return used_of(column, "strain").replace("{strain}", _known("strain"))


_FRUITED = f'({_known("form")}<>"block")'
_DRIED = f'({_known("form")}="dried")'
_LOSSES = f"(1-{_of_its_strain('loss_rate')})"
_ROOMS = (
    f"({_in('strain_costs.incubation', _known('strain'))}"
    f"+{_FRUITED}*{_in('strain_costs.fruiting', _known('strain'))})"
)
_STARTED = (
    f"({_in('recipe_costs.together', _known('recipe'))}"
    f"+{_in('strain_costs.spawn', _known('strain'))}+{_ROOMS}+{{cost_common_block}})"
)
_PICKING = work_of(_of_its_strain("picking_minutes"))
_DRYING = f"({{drying_energy}}*{{electricity_price}}+{work_of('{drying_minutes}')})"

_step = partial(Computed, is_working=True)

LINES = Grid(
    "packs",
    "All product lines: cost, margin, shelf space",
    (
        Computed("product", "Product line", "state", "INDEX({plan_products.product},{line})"),
        Computed(
            "cost",
            "Cost of a pack sold",
            "money",
            "{content}+{drying}+{pack}+{packing}+{unsold}+{delivery}",
        ),
        Computed(
            "by_mass",
            "Cost by mass",
            "money/kg",
            f'CHOOSE(1+{_FRUITED},"",{{cost}}/{_known("mass")})',
        ),
        Computed("net", "Price after fees", "money", f"{_known('price')}*(1-{_known('fees')})"),
        Computed("margin", "Margin of a pack", "money", "{net}-{cost}"),
        Computed("share", "Margin, share of price", "fraction", "CFX.MARGIN({net},{cost})"),
        Computed(
            "lowest",
            "Lowest price that contributes",
            "money",
            f"({{cost}}-{{standing}})/(1-{_known('fees')})",
        ),
        Computed("break_even", "Break-even price", "money", f"{{cost}}/(1-{_known('fees')})"),
        Computed(
            "wanted",
            "Price for target margin",
            "money",
            f"CFX.PRICE_FOR_MARGIN({{cost}},{{wanted_margin}})/(1-{_known('fees')})",
        ),
        Computed("of_block", "Contribution", "money/block", "{contribution}*{sold}"),
        Computed(
            "earning",
            "Shelf space earns a week",
            "money",
            'CHOOSE(1+(N({weeks})>0),"",{of_block}/N({weeks}))',
        ),
        Computed("rank", "Rank by earnings", "count", "RANK({earning},{packs.earning})"),
        _step(
            "content",
            "Grown and picked",
            "money",
            f"{_STARTED}/{_LOSSES}*{_known('blocks')}+{_known('fresh')}*{_PICKING}",
        ),
        _step("drying", "Drying", "money", f"{_DRIED}*{_known('fresh')}*{_DRYING}"),
        _step("pack", "Empty pack", "money", _known("pack_cost")),
        _step(
            "packing",
            "Labor: packing",
            "money",
            f"CFX.LABOR_COST({_known('packing_minutes')},{{hourly_wage}},{{burden}})",
        ),
        _step(
            "unsold",
            "Unsold packs",
            "money",
            f"({{content}}+{{drying}}+{{pack}}+{{packing}})*(1/{_known('sold_share')}-1)",
        ),
        _step("delivery", "Delivery", "money", _known("delivery")),
        _step(
            "standing",
            "Fixed cost share",
            "money",
            f"({_ROOMS}+{{cost_equipment}}+{{cost_overhead}})/{_LOSSES}*{_known('blocks')}"
            f"/{_known('sold_share')}",
        ),
        _step(
            "made",
            "Pack made, without fixed cost",
            "money",
            f"{{content}}+{{drying}}+{{pack}}+{{packing}}-{{standing}}*{_known('sold_share')}",
        ),
        _step("contribution", "Contribution of a pack", "money", "{margin}+{standing}"),
        _step(
            "sold",
            "Packs sold of a good block",
            "number",
            f"{_known('sold_share')}/{_known('blocks')}",
        ),
        _step(
            "weeks",
            "Weeks in fruiting",
            "number",
            f'CHOOSE(1+{_FRUITED},"",{_of_its_strain("fruiting_days")}/7)',
        ),
        LINE,
    ),
    rows=PRODUCTS.rows,
)

BEST_LINE = (
    Calculated(
        "best_product",
        "Earns most on a shelf space",
        "state",
        'CHOOSE(1+MIN(1,COUNT({packs.rank})),"",'
        f"INDEX({{packs.product}},{number_of('1', 'packs.rank', 'packs.line')}))",
        "Shelf space in fruiting is what most farms run out of first.",
        is_key=True,
    ),
    Calculated(
        "best_earning",
        "Contribution a week",
        "money",
        'CHOOSE(1+MIN(1,COUNT({packs.rank})),"",MAX({packs.earning}))',
        "Of one shelf space, with that product line.",
        is_key=True,
    ),
)

WORDS = (
    "Contribution is what a good block earns: the price after fees of what is sold, less "
    "ingredients, bag, spawn, steam, all labor, pack, delivery and its part of the lost blocks. "
    "Room energy, equipment and overhead stay the same with or without it; all contributions "
    "together have to cover them.",
    "Lowest price that contributes: it covers the pack, but nothing of room energy, equipment and "
    "overhead. Below it, each sale leaves you with less. Where a station is over full, a pack must "
    "also earn what others would earn there: the Quote sheet says how much.",
    "The rank goes by what a shelf space in fruiting earns a week: the contribution over the weeks "
    "that the block stays there, turnaround days included. A block sold whole takes no such "
    "space and has no rank: compare its contribution.",
)
