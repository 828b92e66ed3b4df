"""The lists of Costing: every product line, what moves the cost, how many flushes to keep."""

from __future__ import annotations

from workbook_template.schema import look_up
from workbook_template.schema.cards import CHANGES
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import MOST_FLUSHES, RECIPES, STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.sheets.costing_parts import (
    LABOR,
    load_energy,
    mixer_blocks,
    number_of,
    of_recipe,
    of_strain,
)
from workbook_template.writing.headed import HeadedGrid
from workbook_template.writing.page import ROUNDING, Calculated, Check, Grid

_LINE = Counter("line", "No.")


def _row_of(table: str, key: str, *needed: str) -> str:
    """Give the name in a row of a table, blank until the columns named are filled."""
    filled = "*".join(f"COUNT(INDEX({{{table}.{column}}},{{line}}))" for column in needed)
    return f'CHOOSE(1+{filled},"",INDEX({{{table}.{key}}},{{line}}))'


def _known(column: str) -> str:
    """Give a figure of the row's product line."""
    return look_up(f"products.{column}", "product")


def _in(column: str, choice: str) -> str:
    """Give a figure of a list on this sheet for a recipe or strain, in the rows of its table."""
    grid, _, _ = column.partition(".")
    names = {"recipe_costs": "recipes.recipe", "strain_costs": "strains.strain"}[grid]
    return f"INDEX({{{column}}},MATCH({choice},{{{names}}},0))"


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
            of_recipe("cost_wet", "recipe") + "*{block_mass}",
        ),
        Computed(
            "mixing",
            "Work: mixing",
            "money/block",
            LABOR % "mixing_minutes" + f"/MAX(1,{mixer_blocks('recipe')})",
        ),
        Computed(
            "steam",
            "Steam energy",
            "money/block",
            f"({load_energy('recipe')})*{{electricity_price}}/{{blocks_per_load}}",
        ),
        Computed("together", "Together", "money/block", "{ingredients}+{mixing}+{steam}"),
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
            "/{fruiting_places}*{electricity_price}",
        ),
        Computed("together", "Together", "money/block", "{spawn}+{incubation}+{fruiting}"),
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
_NUMBER = Counter("number", "No.")
_CHANGES = range(1, len(CHANGES.fields) + 1)
_CHANGE_HEADINGS = {f"cost_{n}": (f"{{change_{n}}}*1", "fraction") for n in _CHANGES}
_ALL_COSTS = ",".join(f"{{cost_{n}}}" for n in _CHANGES)


def _chosen(*alternatives: str) -> str:
    return f"CHOOSE({{number}},{','.join(alternatives)})"


_HERE, _THERE = "{%s}", "INDEX({driver_parts.%s},{number})"


def _recomputed(change: str, part: str) -> str:
    """Give the whole cost of a pack sold when the row's driver is changed by a share.

    ``part`` writes where a figure of the driver comes from.
    """
    loss = f"{{cost_loss_rate}}*(1+{part % 'on_loss'}*{change})"
    block = f"({{cost_started}}+{part % 'of_block'}*{change})/(1-{loss})"
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
            "INDEX({" + ",".join(f'"{name}"' for name in DRIVER_NAMES) + "},{number})",
        ),
        Computed(
            "of_block",
            "Part of a block started",
            "money/block",
            _chosen(
                "0",
                "0",
                "{cost_spawn}",
                "{cost_spawn}",
                "{cost_ingredients}",
                "{cost_mixing}+{cost_filling}+{cost_steaming}+{cost_inoculating}+{cost_moving}",
                "{cost_steam}+{cost_rooms}",
                "{cost_overhead}",
            ),
        ),
        Computed(
            "of_pack",
            "Part of a pack made",
            "money",
            _chosen(
                *"00000",
                "{cost_picking}+{cost_drying}+{cost_packing}",
                "{cost_drying_energy}",
                "0",
            ),
        ),
        Computed("on_be", "Scales BE", "count", _chosen("{cost_fruited}", *"0000000")),
        Computed("on_loss", "Scales losses", "count", _chosen("0", "1", *"000000")),
        Computed("unchanged", "Cost at no change", "money", _recomputed("0", _HERE)),
        _NUMBER,
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
        _NUMBER,
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
        _NUMBER,
    ),
    rows=len(DRIVER_NAMES),
    headings=_CHANGE_HEADINGS,
)

_FLUSH_NUMBERS = range(2, MOST_FLUSHES + 1)
_INTERVAL = "INDEX({strains.flush_interval_days},{flush_row})"


def _be(number: int) -> str:
    return f"INDEX({{strains.be_{number}}},{{flush_row}})"


_ALL_BE_KNOWN = _chosen(
    "1",
    *(
        "*".join(f"COUNT({_be(each)})" for each in range(2, number + 1)) + f"*COUNT({_INTERVAL})"
        for number in _FLUSH_NUMBERS
    ),
)

FLUSH_BASIS = (
    Calculated(
        "flush_row",
        "Row on the sheet Strains",
        "count",
        "MATCH({cost_strain},{strains.strain},0)",
        "Of the product line chosen at the top.",
    ),
    Calculated(
        "flush_value",
        "A fresh mass brings",
        "money/kg",
        'CHOOSE(1+{cost_fruited},"",({cost_sold_share}*({net_price}-{cost_delivery})'
        "-{cost_pack_made}+{cost_pack_blocks})/{pack_fresh})",
        "Price after fees of what is sold, less picking, drying, pack, delivery.",
    ),
    Calculated(
        "flush_block",
        "A good block takes",
        "money/block",
        "({cost_started}-{cost_standing_block})/(1-{cost_loss_rate})",
        "What is spent because of it; not rooms, equipment, overhead.",
    ),
)

FLUSHES = Grid(
    "flush_worth",
    "One, two, three or four flushes",
    (
        Computed(
            "flushes",
            "Flushes kept",
            "state",
            'INDEX({"one flush","two flushes","three flushes","four flushes"},{number})',
        ),
        Computed(
            "be",
            "BE, all of them",
            "fraction",
            f'CHOOSE(1+{{cost_fruited}}*{_ALL_BE_KNOWN},"",{_be(1)}'
            + "".join(f"+({{number}}>={number})*N({_be(number)})" for number in _FLUSH_NUMBERS)
            + ")",
        ),
        Computed(
            "days",
            "Days in fruiting",
            "d",
            "({be}>=0)*(INDEX({strains.first_flush_days},{flush_row})"
            f"+({{number}}-1)*N({_INTERVAL})+{{turnover_days}})",
        ),
        Computed(
            "fresh",
            "Fresh mass",
            "kg",
            "CFX.EXPECTED_HARVEST(CFX.DRY_MASS({block_mass},{cost_target}),{be})",
        ),
        Computed(
            "contribution",
            "Contribution",
            "money/block",
            "{fresh}*{flush_value}-{flush_block}",
        ),
        Computed(
            "per_day",
            "For a place and day",
            "money",
            'CHOOSE(1+({days}>0),"",{contribution}/{days})',
        ),
        Computed(
            "added",
            "Last flush adds a day",
            "money",
            f'CHOOSE(1+({{number}}>1)*(N({_INTERVAL})>0),"",({{contribution}}-SUMIFS('
            "{flush_worth.contribution},{flush_worth.number},{number}-1))/"
            f"{_INTERVAL})",
        ),
        Computed(
            "mark",
            "Which is best",
            "state",
            "CHOOSE(1+({per_day}>=MAX({flush_worth.per_day})),"
            'CHOOSE(1+({number}=INDEX({strains.flushes},{flush_row})),"","kept now"),'
            "CHOOSE(1+({number}=INDEX({strains.flushes},{flush_row})),"
            'CHOOSE(1+({per_day}>0),"none pays","best"),'
            'CHOOSE(1+({per_day}>0),"none pays, kept","best, kept")))',
        ),
        _NUMBER,
    ),
    rows=MOST_FLUSHES,
)

_KEPT = "SUMIFS({strains.flushes},{strains.strain},{cost_strain})"

CHECKS = (
    Check(
        "Costing: the product line chosen is not on its list, or not complete",
        '({cost_product}<>"")*(COUNTIFS({products.product},{cost_product},{products.ready},1)=0)',
    ),
    Check(
        "Cost and margin make the price after fees",
        "ABS(N({cost_pack_sold})+N({margin_amount})-N({net_price}))*COUNT({margin_amount})",
        ROUNDING,
    ),
    Check(
        "Steps of a block make what recipe, strain and all blocks put into it",
        "ABS(SUMIFS({recipe_costs.together},{recipe_costs.recipe},{cost_recipe})"
        "+SUMIFS({strain_costs.spawn},{strain_costs.strain},{cost_strain})"
        "+SUMIFS({strain_costs.incubation},{strain_costs.strain},{cost_strain})"
        "+N({cost_fruited})*SUMIFS({strain_costs.fruiting},{strain_costs.strain},{cost_strain})"
        "+N({cost_common_block})-N({cost_started}))*COUNT({cost_started})",
        ROUNDING,
    ),
    Check(
        "The product line chosen costs the same in the list of all",
        "ABS(SUMIFS({packs.cost},{packs.product},{cost_product})-N({cost_pack_sold}))"
        "*COUNT({cost_pack_sold})",
        ROUNDING,
    ),
    Check(
        "Costs of packs add up, and with margins to the prices after fees",
        "ABS(SUM({packs.content})+SUM({packs.drying})+SUM({packs.pack})+SUM({packs.packing})"
        "+SUM({packs.unsold})+SUM({packs.delivery})-SUM({packs.cost}))"
        "+ABS(SUM({earnings.cost})+SUM({earnings.margin})-SUM({earnings.net}))",
        ROUNDING,
    ),
    Check(
        "A driver that does not change leaves the cost as it is",
        "ABS(SUM({driver_parts.unchanged})-COUNT({driver_parts.unchanged})*N({cost_pack_sold}))",
        ROUNDING,
    ),
    Check(
        "The flushes kept give the contribution of the product line",
        f"ABS(SUMIFS({{flush_worth.contribution}},{{flush_worth.number}},{_KEPT})"
        "-SUMIFS({places.of_block},{places.product},{cost_product}))"
        f'*COUNTIFS({{flush_worth.number}},{_KEPT},{{flush_worth.be}},">=0")',
        ROUNDING,
    ),
    Check(
        "Product lines that Costing has no row for",
        "MAX(0,COUNT({products.ready})-COUNT({packs.cost}))",
    ),
)
