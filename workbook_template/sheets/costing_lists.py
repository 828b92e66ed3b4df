"""The lists of Costing: what recipes and strains put into a block, and every product line."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import RECIPES, STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.sheets.costing_parts import (
    LABOR,
    load_energy,
    mixer_blocks,
    more_loads,
    number_of,
    of_recipe,
    of_strain,
    planned,
    residue,
)
from workbook_template.writing.blocks import Calculated, Grid

_LINE = Counter("line", "No.")


def _row_of(table: str, key: str, *needed: str) -> str:
    """Return the name in a row of a table, blank until the columns named are filled."""
    filled = "*".join(f"COUNT(INDEX({{{table}.{column}}},{{line}}))" for column in needed)
    return f'CHOOSE(1+{filled},"",INDEX({{{table}.{key}}},{{line}})&"")'


def _known(column: str) -> str:
    """Return a figure of the row's product line."""
    return look_up(f"products.{column}", "product")


def _in(column: str, choice: str) -> str:
    """Return a figure of a list on this sheet for a recipe or strain, in the rows of its table."""
    grid, _, _ = column.partition(".")
    names = {"recipe_costs": "recipes.recipe", "strain_costs": "strains.strain"}[grid]
    return f"INDEX({{{column}}},MATCH({choice},{{{names}}},0))"


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
            _row_of("recipes", "recipe", "cost_wet", "bulk_density", "target_moisture"),
        ),
        Computed(
            "ingredients",
            "Ingredients",
            "money/block",
            of_recipe("cost_wet", "recipe")
            + f"*({{block_mass}}+{residue('{blocks}', '{line}', '{full}')})",
        ),
        Computed(
            "mixing", "Work: mixing", "money/block", LABOR % "mixing_minutes" + "/MAX(1,{full})"
        ),
        Computed(
            "half_empty",
            "Half-empty mixer loads",
            "money/block",
            LABOR % "mixing_minutes" + "*" + more_loads("{blocks}", "{loads}", "MAX(1,{full})"),
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
        _LINE,
    ),
    rows=RECIPES.rows,
)


STRAIN_COSTS = Grid(
    "strain_costs",
    "What each strain puts into a block",
    (
        Computed(
            "strain",
            "Strain",
            "state",
            _row_of(
                "strains",
                "strain",
                "spawn_rate",
                "incubation_days",
                "fruiting_days",
                "biological_efficiency",
                "loss_rate",
            ),
        ),
        Computed(
            "spawn",
            "Spawn",
            "money/block",
            f"CFX.SPAWN_NEEDED({{block_mass}},{of_strain('spawn_rate', 'strain')})*{{spawn_price}}",
        ),
        Computed(
            "incubation",
            "Energy, incubation",
            "money/block",
            f"{{incubation_energy}}*{of_strain('incubation_days', 'strain')}"
            "/{incubation_places}*{electricity_price}",
        ),
        Computed(
            "fruiting",
            "Energy, fruiting",
            "money/block",
            f"{{fruiting_energy}}*{of_strain('fruiting_days', 'strain')}"
            f"*(1-{of_strain('loss_rate', 'strain')})/{{fruiting_places}}*{{electricity_price}}",
        ),
        Computed("together", "Total", "money/block", "{spawn}+{incubation}+{fruiting}"),
        _LINE,
    ),
    rows=STRAINS.rows,
)


_FRUITED = f'({_known("form")}<>"block")'


_DRIED = f'({_known("form")}="dried")'


_LOSSES = f"(1-{look_up('strains.loss_rate', 'strain')})".replace("{strain}", _known("strain"))


_ROOMS = (
    f"({_in('strain_costs.incubation', _known('strain'))}"
    f"+{_FRUITED}*{_in('strain_costs.fruiting', _known('strain'))})"
)


_STARTED = (
    f"({_in('recipe_costs.together', _known('recipe'))}"
    f"+{_in('strain_costs.spawn', _known('strain'))}+{_ROOMS}+{{cost_common_block}})"
)


_DRYING = f"({{drying_energy}}*{{electricity_price}}+{LABOR % 'drying_minutes'})"


_WORK_OF_PACKING = f"CFX.LABOR_COST({_known('packing_minutes')},{{hourly_wage}},{{burden}})"


PACKS = Grid(
    "packs",
    "All product lines: what a pack sold costs",
    (
        Computed("product", "Product line", "state", _row_of("products", "product", "ready")),
        Computed(
            "content",
            "Grown and picked",
            "money",
            f"{_STARTED}/{_LOSSES}*{_known('blocks')}"
            f"+{_known('fresh')}*{LABOR % 'harvesting_minutes'}",
        ),
        Computed("drying", "Drying", "money", f"{_DRIED}*{_known('fresh')}*{_DRYING}"),
        Computed("pack", "Empty pack", "money", _known("pack_cost")),
        Computed("packing", "Work: packing", "money", _WORK_OF_PACKING),
        Computed(
            "unsold",
            "Packs not sold",
            "money",
            f"({{content}}+{{drying}}+{{pack}}+{{packing}})*(1/{_known('sold_share')}-1)",
        ),
        Computed("delivery", "Delivery", "money", _known("delivery")),
        Computed(
            "cost",
            "A pack sold",
            "money",
            "{content}+{drying}+{pack}+{packing}+{unsold}+{delivery}",
        ),
        _LINE,
    ),
    rows=PRODUCTS.rows,
)


_NAMED = Computed("product", "Product line", "state", "INDEX({packs.product},{line})")


EARNINGS = Grid(
    "earnings",
    "All product lines: what a pack sold earns",
    (
        _NAMED,
        Computed("net", "Price after fees", "money", f"{_known('price')}*(1-{_known('fees')})"),
        Computed("cost", "A pack sold costs", "money", "INDEX({packs.cost},{line})"),
        Computed("margin", "Margin", "money", "{net}-{cost}"),
        Computed("share", "Margin, of price after fees", "fraction", "CFX.MARGIN({net},{cost})"),
        Computed("break_even", "Price without gain", "money", f"{{cost}}/(1-{_known('fees')})"),
        Computed(
            "wanted",
            "Price for margin wanted",
            "money",
            f"CFX.PRICE_FOR_MARGIN({{cost}},{{wanted_margin}})/(1-{_known('fees')})",
        ),
        _LINE,
    ),
    rows=PRODUCTS.rows,
)


PLACES = Grid(
    "places",
    "All product lines: contribution of a place in fruiting",
    (
        _NAMED,
        Computed("margin", "Margin of a pack", "money", "INDEX({earnings.margin},{line})"),
        Computed(
            "standing",
            "Rooms, equipment, overhead in it",
            "money",
            f"({_ROOMS}+{{cost_equipment}}+{{cost_overhead}})/{_LOSSES}*{_known('blocks')}"
            f"/{_known('sold_share')}",
        ),
        Computed("contribution", "Contribution of a pack", "money", "{margin}+{standing}"),
        Computed(
            "sold",
            "Packs sold of a good block",
            "number",
            f"{_known('sold_share')}/{_known('blocks')}",
        ),
        Computed(
            "of_block",
            "Contribution of a good block",
            "money/block",
            "{contribution}*{sold}",
        ),
        Computed(
            "weeks",
            "Weeks in fruiting",
            "number",
            f'CHOOSE(1+{_FRUITED},"",'
            + look_up("strains.fruiting_days", "strain").replace("{strain}", _known("strain"))
            + "/7)",
        ),
        Computed(
            "earning",
            "For a place and week",
            "money",
            'CHOOSE(1+(N({weeks})>0),"",{of_block}/N({weeks}))',
        ),
        Computed("rank", "Rank", "count", "RANK({earning},{places.earning})"),
        _LINE,
    ),
    rows=PRODUCTS.rows,
)


BEST_LINE = (
    Calculated(
        "best_product",
        "Most for a place and week",
        "state",
        'CHOOSE(1+MIN(1,COUNT({places.rank})),"",'
        f"INDEX({{places.product}},{number_of('1', 'places.rank', 'places.line')}))",
        is_key=True,
    ),
    Calculated(
        "best_earning",
        "It brings",
        "money",
        'CHOOSE(1+MIN(1,COUNT({places.rank})),"",MAX({places.earning}))',
        is_key=True,
    ),
)
