"""The lists behind the Stock sheet: what recipes take, and what starts still take day by day."""

from __future__ import annotations

from workbook_template.schema.batch_materials import is_followed
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import RECIPE_NUMBERS, RECIPES, recipe_number, takes
from workbook_template.sheets.week_plan_starts import STARTS
from workbook_template.writing.blocks import Calculated, Form, Grid
from workbook_template.writing.week_grid import WEEK_HEADINGS, HeadedGrid, week_columns

LINE = Counter("line")
_LOGS_LOTS = "MIN(1,COUNT({deliveries.amount}))"
NUMBERS = Form(
    "Rows of the recipes",
    tuple(
        Calculated(
            recipe_number(number),
            f"Recipe {number}",
            "count",
            f"{{{recipe_number(number - 1)}}}+1" if number > 1 else "0+1",
        )
        for number in RECIPE_NUMBERS
    ),
)
FOLLOWED = Form(
    "Recipes whose batches the lots of deliveries are followed through",
    tuple(
        Calculated(
            is_followed(number),
            f"Recipe {number}",
            "count",
            f"{_LOGS_LOTS}*MIN(1,COUNTIF({{batches.at_recipe}},{{{recipe_number(number)}}}))",
            "1 where deliveries and batches of it are logged.",
        )
        for number in RECIPE_NUMBERS
    ),
)


def over_recipes(template: str) -> str:
    """Add a template up over the recipes.

    Parameters
    ----------
    template : str
        With ``TAKES`` for the key of what a recipe takes, ``SO_FAR`` for that of what starts take
        of it so far, and ``NUMBER`` for its row.

    Returns
    -------
    str
        The template of the sum.
    """
    return "+".join(
        template.replace("TAKES", takes(number))
        .replace("SO_FAR", f"so_far_{number}")
        .replace("NUMBER", f"{{{recipe_number(number)}}}")
        for number in RECIPE_NUMBERS
    )


def _takes(number: int) -> Computed:
    """Make the column of what a recipe takes of an ingredient for a unit of dry substrate."""

    def of_recipe(column: str) -> str:
        return f"INDEX({{recipes.{column}}},{{{recipe_number(number)}}})"

    share = (
        f'SUMIFS({{recipe_lines.share}},{{recipe_lines.recipe}},{of_recipe("recipe")}&"",'
        "{recipe_lines.ingredient},{ingredient})"
    )
    return Computed(
        takes(number),
        f"Taken for dry substrate, recipe {number}",
        "number",
        f'CHOOSE(1+({{?ingredient}}<>"")*({share}>0),0,'
        f"{share}/({of_recipe('shares')}*(1-{of_recipe('moisture')})))",
        "Mass as weighed, at its usual moisture, over the dry mass of the substrate.",
        is_working=True,
    )


TAKEN = tuple(map(_takes, RECIPE_NUMBERS))

_DAYS = '{batches.mixed_on},">"&{today}-7*{stock_back},{batches.mixed_on},"<="&{today}'
RECIPE_DRY = HeadedGrid(
    "recipe_dry",
    "Dry substrate of each recipe: mixed, and still to mix in the week of",
    (
        Computed("recipe", "Recipe", "state", 'INDEX({recipes.recipe},{line})&""'),
        Computed(
            "mixed",
            "Mixed so far",
            "kg",
            'SUMIFS({batches.dry_mixed},{batches.at_recipe},{line},{batches.mixed_on},"<="&{today})',
        ),
        Computed(
            "recent",
            "Mixed lately",
            "kg",
            f"SUMIFS({{batches.dry_mixed}},{{batches.at_recipe}},{{line}},{_DAYS})",
        ),
        *week_columns(
            "kg",
            "SUMIFS({stock_starts.dry},{stock_starts.recipe_row},{line},{stock_starts.week},{week})",
        ),
        LINE,
    ),
    rows=RECIPES.rows,
    headings=WEEK_HEADINGS,
)


def _of_start(column: str) -> str:
    return f"INDEX({{starts.{column}}},{{line}})"


def _still_to_mix(number: int) -> Computed:
    return Computed(
        f"so_far_{number}",
        f"Dry substrate to mix so far, recipe {number}",
        "kg",
        "SUMIFS({stock_starts.dry},{stock_starts.recipe_row},"
        f'{{{recipe_number(number)}}},{{stock_starts.day}},"<="&{{day}})*({{day}}>0)',
    )


_OF_STRAIN = "{stock_starts.spawn},{stock_starts.strain_row},{?strain_row},{stock_starts.day}"
_TO_COME = "CHOOSE(1+({day}>0),0,%s*1)"
_DRY_OF_START = (
    f"CFX.DRY_MASS({_of_start('mixed')},INDEX({{recipes.target_moisture}},{{recipe_row}}))"
)
STOCK_STARTS = Grid(
    "stock_starts",
    "What every start still takes",
    (
        Computed(
            "day",
            "Day",
            "number",
            f"CHOOSE(1+(N({_of_start('blocks')})>0)*COUNT({_of_start('start')}),0,"
            f"{_of_start('start')}*1)",
            "Of the start; 0 where nothing is to be started.",
        ),
        Computed("week", "Week of", "date", f"{_of_start('week')}*1"),
        Computed("recipe_row", "Row of the recipe", "count", f"{_of_start('recipe_row')}*1"),
        Computed("strain_row", "Row of the strain", "count", f"{_of_start('strain_row')}*1"),
        Computed(
            "dry",
            "Dry substrate to mix",
            "kg",
            _TO_COME % _DRY_OF_START,
        ),
        Computed("spawn", "Spawn", "kg", _TO_COME % _of_start("spawn")),
        *map(_still_to_mix, RECIPE_NUMBERS),
        Computed(
            "spawn_so_far",
            "Spawn of the strain so far",
            "kg",
            f'({{day}}>0)*SUMIFS({_OF_STRAIN},"<="&{{day}})',
        ),
        Computed(
            "spawn_limit",
            "Spawn that can be used so far",
            "kg",
            "({day}>0)*SUMIFS({spawn_lots.left},{spawn_lots.at_strain},{?strain_row},"
            '{spawn_lots.use_by},">="&{day},{spawn_lots.left},">"&{spawn_rest})'
            f'+SUMIFS({_OF_STRAIN},"<"&{{day}},{{stock_starts.day}},">0")',
            "What is used before the day, and the lots that are good on it.",
        ),
        Computed(
            "spawn_short",
            "Spawn short by then",
            "kg",
            "({day}>0)*MAX(0,SUMPRODUCT(MAX(({stock_starts.strain_row}={?strain_row})"
            "*({stock_starts.day}>0)*({stock_starts.day}<={day})"
            "*({?spawn_so_far}-{stock_starts.spawn_limit}))))",
            "Lots that are used up first go past use-by first.",
        ),
        LINE,
    ),
    rows=STARTS.rows,
)
