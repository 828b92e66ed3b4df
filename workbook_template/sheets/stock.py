"""Stock: what is on the shelf today, how long it lasts, what to order by when, and how much."""

from __future__ import annotations

from workbook_template.schema.columns import due_rank
from workbook_template.schema.fields import Computed, dimension_of, unit_label
from workbook_template.schema.materials import INGREDIENTS, STRAINS
from workbook_template.schema.stock import STOCK, amount_counted, counted
from workbook_template.sheets.stock_lists import (
    FOLLOWED,
    LINE,
    NUMBERS,
    RECIPE_DRY,
    STOCK_STARTS,
    TAKEN,
    over_recipes,
)
from workbook_template.writing.blocks import Check, Form, Grid, Lines, Settings, Sheet
from workbook_template.writing.week_grid import (
    WEEK_HEADINGS,
    WEEK_KEYS,
    WEEKS,
    HeadedGrid,
    week_columns,
)

_WORDS = (
    "On hand: the latest count of the shelf, and what came in since, less what the batches made "
    "since took; without a count, all deliveries less all that was used. Count in the evening: "
    "what came in or was mixed that day is in the count.",
    "A batch takes its ingredients on the day it was made: its recipe's shares, for the mass of "
    "its blocks and the mixer residue, at the moisture that it was mixed to.",
    "Runs out on: the first start of the Week plan that there is not enough for, counting what is "
    "still to start. Order by: the lead time before that, on the Ingredients sheet; for spawn, "
    f"above. How much: enough for the weeks above, as far as the plan goes, {WEEKS} weeks.",
    "Spawn: the lots that are not past use-by on the day of a start, the first to expire first. "
    "Only batches that name their lot are subtracted from it.",
)
_COUNT_IT = "count the shelf"
_BEFORE_WORDS = 6
"""The columns of figures between the name and what to do."""
_END = "(MAX({stock_starts.day})+1)"
"""The day behind the last start."""


_NEEDED = over_recipes("{TAKES}*{stock_starts.SO_FAR}")
"""What the starts take of an ingredient by the day of each."""


def _first_short(too_much: str) -> str:
    """Write how long before the end of the plan the first start is that something lacks for."""
    return f"SUMPRODUCT(MAX(({{stock_starts.day}}>0)*({too_much})*({_END}-{{stock_starts.day}})))"


def _to_order(lead: str, bag: str, on_sheet: str) -> tuple[Computed, ...]:
    """Make the columns of when something runs out, and what to order by when."""
    return (
        Computed(
            "runs_out",
            "Runs out on",
            "date",
            f'CHOOSE(1+({{short_back}}>0),"",{_END}-{{short_back}})',
            "The first start that there is not enough for.",
        ),
        Computed("order_by", "Order by", "date", f"{{runs_out}}-{lead}"),
        Computed(
            "order",
            "Order",
            "kg",
            'CHOOSE(1+({short_back}>0),"",{lacks})',
            "Lasts for the weeks to order for, from the day on which you would run out.",
        ),
        Computed("bags", "Whole bags", "count", bag, on_sheet),
    )


def _short_soon(lacks: str) -> tuple[Computed, ...]:
    """Make the columns of what the starts of the next seven days lack, for the Start sheet."""
    return (
        Computed("short_soon", "Lacks in the next seven days", "kg", lacks, is_working=True),
        Computed(
            "short_at",
            "Row, if short within seven days",
            "count",
            'CHOOSE(1+({short_soon}>{rounding}),"",{line})',
            is_working=True,
        ),
    )


def _state(name: str, unknown: str) -> Computed:
    """Make the column that says in words how things stand."""
    order = (
        "CHOOSE(1+({?order_by}<{today}+7)+({?order_by}<={today})+({?order_by}<{today}),"
        '"order later","order this week","order now","order now, late")'
    )
    stands = f'CHOOSE(1+COUNT({{?order_by}}),"enough for {WEEKS} weeks",{order})'
    return Computed(
        "state",
        "What to do",
        "state",
        f'CHOOSE(1+({{?{name}}}<>""),"",CHOOSE(1+(N({{?logged}})>0),"{unknown}",'
        f'CHOOSE(1+(N({{?on_hand}})<0-{{rounding}}),{stands},"{_COUNT_IT}")))',
        width=17.0,
    )


_OF_ITEM = "+".join(
    f'COUNTIFS({{{log}.at_item}},{{line}},{{{log}.day}},">0")' for log in ("deliveries", "counts")
)
_BAG = "INDEX({ingredients.bag_mass},{line})"
INGREDIENT_STOCK = Grid(
    "stock",
    "Ingredients",
    (
        Computed("ingredient", "Ingredient", "state", 'INDEX({ingredients.ingredient},{line})&""'),
        Computed(
            "on_hand",
            "On hand",
            "kg",
            'CHOOSE(1+({logged}>0),"",{in_count}+{came}-{used})',
            "Today.",
        ),
        Computed(
            "recent",
            "Used lately",
            "kg",
            over_recipes("{TAKES}*INDEX({recipe_dry.recent},NUMBER)"),
            "By the batches of the weeks to look back over.",
        ),
        *_to_order(
            "N(INDEX({ingredients.lead_days},{line}))",
            f'CHOOSE(1+COUNT({_BAG}),"",ROUNDUP({{order}}/{_BAG}-{{rounding}},0))',
            "By the mass of a bag on the Ingredients sheet.",
        ),
        _state("ingredient", "not counted yet"),
        LINE,
        *TAKEN,
        Computed(
            "logged",
            "Deliveries and counts",
            "count",
            f'({{ingredient}}<>"")*({_OF_ITEM})',
            is_working=True,
        ),
        Computed(
            "count_turn", "Turn of the latest count", "number", counted("{line}"), is_working=True
        ),
        Computed("in_count", "Counted", "kg", amount_counted("{count_turn}"), is_working=True),
        Computed(
            "came",
            "Came in since",
            "kg",
            "SUMIFS({deliveries.amount},{deliveries.at_item},{line},{deliveries.day},"
            '">"&INT({count_turn}))',
            is_working=True,
        ),
        Computed(
            "used",
            "Used since",
            "kg",
            over_recipes(
                "{TAKES}*SUMIFS({batches.dry_mixed},{batches.at_recipe},NUMBER,{batches.mixed_on},"
                '">"&INT({count_turn}),{batches.mixed_on},"<="&{today})'
            ),
            is_working=True,
        ),
        Computed(
            "used_so_far",
            "Used by all batches",
            "kg",
            over_recipes("{TAKES}*INDEX({recipe_dry.mixed},NUMBER)"),
            is_working=True,
        ),
        Computed(
            "short_back",
            "Lacks before the end of the plan by",
            "d",
            _first_short(f"({_NEEDED})>MAX(0,{{on_hand}})+{{rounding}}"),
            is_working=True,
        ),
        Computed(
            "lacks",
            "Lacks in the weeks to order for",
            "kg",
            "MAX(0,SUMPRODUCT(MAX(({stock_starts.day}<{runs_out}+7*{stock_weeks})"
            f"*({_NEEDED})))-MAX(0,{{on_hand}}))",
            is_working=True,
        ),
        *_short_soon(
            f"MAX(0,SUMPRODUCT(MAX(({{stock_starts.day}}<{{today}}+7)*({_NEEDED})))"
            "-MAX(0,{on_hand}))"
        ),
        due_rank("order_by", "stock"),
    ),
    rows=INGREDIENTS.rows,
)

_GOOD_LOTS = (
    '{spawn_lots.at_strain},{line},{spawn_lots.use_by},">="&{today},'
    '{spawn_lots.left},">"&{spawn_rest}'
)
SPAWN_STOCK = Grid(
    "spawn_stock",
    "Spawn",
    (
        Computed("strain", "Strain", "state", 'INDEX({strains.strain},{line})&""'),
        Computed(
            "on_hand",
            "On hand",
            "kg",
            f'CHOOSE(1+({{logged}}>0),"",SUMIFS({{spawn_lots.left}},{_GOOD_LOTS}))',
            "In lots that are not past use-by.",
        ),
        Computed(
            "recent",
            "Used lately",
            "kg",
            "SUMIFS({batches.spawn},{batches.at_strain},{line},{batches.made},"
            '">"&{today}-7*{stock_back},{batches.made},"<="&{today})*({strain}<>"")',
            "By the batches of the weeks to look back over.",
        ),
        *_to_order(
            "{spawn_lead}",
            "CFX.SPAWN_BAGS({order},{spawn_bag_mass})",
            "By the mass of a spawn bag on the Farm sheet.",
        ),
        _state("strain", "no lots yet"),
        Computed(
            "use_by",
            "First use-by",
            "date",
            'CHOOSE(1+({use_by_back}>0),"",MAX({spawn_lots.good_until})+1-{use_by_back})',
            "Of the lots on hand.",
        ),
        LINE,
        Computed(
            "logged",
            "Lots",
            "count",
            '({strain}<>"")*COUNTIF({spawn_lots.at_strain},{line})',
            is_working=True,
        ),
        Computed(
            "use_by_back",
            "First use-by before the last by",
            "d",
            "SUMPRODUCT(MAX(({spawn_lots.good_for}={line})"
            "*(MAX({spawn_lots.good_until})+1-{spawn_lots.good_until})))",
            is_working=True,
        ),
        Computed(
            "short_back",
            "Lacks before the end of the plan by",
            "d",
            _first_short(
                "({stock_starts.strain_row}={line})*({stock_starts.spawn_short}>{rounding})"
            )
            + "*MIN(1,{logged})",
            is_working=True,
        ),
        Computed(
            "lacks",
            "Lacks in the weeks to order for",
            "kg",
            "SUMPRODUCT(MAX(({stock_starts.strain_row}={line})"
            "*({stock_starts.day}<{runs_out}+7*{stock_weeks})*{stock_starts.spawn_short}))",
            is_working=True,
        ),
        *_short_soon(
            "SUMPRODUCT(MAX(({stock_starts.strain_row}={line})"
            "*({stock_starts.day}<{today}+7)*{stock_starts.spawn_short}))*MIN(1,{logged})"
        ),
        due_rank("order_by", "spawn_stock"),
    ),
    rows=STRAINS.rows,
)


def _weeks(key: str, title: str, name: str, first: str, template: str, rows: int) -> HeadedGrid:
    return HeadedGrid(
        key,
        title,
        (
            Computed(name, name.capitalize(), "state", first),
            *week_columns("kg", template),
            LINE,
        ),
        rows=rows,
        headings=WEEK_HEADINGS,
    )


_CHECKS = (
    Check(
        "Stock: ingredients of which more was used than came in",
        f'COUNTIF({{stock.state}},"{_COUNT_IT}")',
        is_warning=True,
    ),
    Check(
        "Stock: dry substrate by week matches the starts",
        "(ABS("
        + "+".join(f"SUM({{recipe_dry.{week}}})" for week in WEEK_KEYS)
        + "-SUM({stock_starts.dry}))>{rounding})*1",
    ),
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    of_week = f"still needed for the starts in the week of, {mass}"
    return Sheet(
        name="Stock",
        purpose="What is on the shelf today, how long it lasts, and what to order by when.",
        blocks=[
            Form(STOCK.title, STOCK.fields),
            INGREDIENT_STOCK,
            SPAWN_STOCK,
            _weeks(
                "stock_needs",
                f"Ingredients {of_week}",
                "ingredient",
                'INDEX({stock.ingredient},{line})&""',
                over_recipes("INDEX({stock.TAKES},{line})*INDEX({recipe_dry.{w}},NUMBER)"),
                INGREDIENTS.rows,
            ),
            _weeks(
                "spawn_needs",
                f"Spawn {of_week}",
                "strain",
                'INDEX({spawn_stock.strain},{line})&""',
                '({strain}<>"")*SUMIFS({stock_starts.spawn},{stock_starts.strain_row},{line},'
                "{stock_starts.week},{week})",
                STRAINS.rows,
            ),
            Lines("How it is counted", _WORDS),
        ],
        workings=[NUMBERS, FOLLOWED, RECIPE_DRY, STOCK_STARTS],
        widths=(30, *[11.5] * _BEFORE_WORDS, 19, *[11.5] * (WEEKS - _BEFORE_WORDS - 1)),
        landscape=True,
        pages_high=1,
        checks=_CHECKS,
    )
