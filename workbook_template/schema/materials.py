"""Ingredients, recipes, strains: what is bought and grown."""

from __future__ import annotations

from workbook_template.schema.columns import LEAST_SUBSTRATE_MOISTURE, line_of
from workbook_template.schema.fields import ASSUMPTION, Computed, Field, Rule, Table, choices_found
from workbook_template.schema.figures import MOST_FLUSHES


def _latest(key: str, label: str, unit: str, column: str, note: str) -> tuple[Computed, ...]:
    """Make the columns of a figure of the latest delivery that tells it, and of its turn."""
    turns, turn = f"{{deliveries.{key}_turn}}", f"{{{key}_turn}}"
    found = f"INDEX({{deliveries.{column}}},MATCH({turn},{turns},0))"
    return (
        Computed(key, label, unit, f'CHOOSE(1+({turn}>0),"",{found})', note),
        Computed(
            f"{key}_turn",
            f"Turn, {label[0].lower()}{label[1:]}",
            "number",
            f"SUMPRODUCT(MAX(({{deliveries.at_item}}={{line}})*{turns}))",
            "Of the latest delivery that tells it; 0 where none does.",
            is_working=True,
        ),
    )


INGREDIENTS = Table(
    "ingredients",
    "Ingredients",
    (
        Field("ingredient", "Ingredient", "text", help="A name that you and your partner use."),
        Field(
            "bag_price",
            "Price of a bag or tote",
            "money",
            "0 or more",
            "What you pay for one, delivered.",
            required=False,
        ),
        Field(
            "bag_mass",
            "Mass of a bag or tote",
            "kg",
            "above 0",
            "As on its label.",
            required=False,
        ),
        Field(
            "price",
            "Price in bulk",
            "money/kg",
            "0 or more",
            "Where it is sold by mass; not used where a bag has its price and mass.",
            required=False,
        ),
        Field(
            "moisture",
            "Moisture",
            "fraction",
            "0 to below 1",
            "Wet basis: water over total mass. Dry a sample in the oven.",
            lowest=0.01,
            usual=0.06,
            source=ASSUMPTION,
        ),
        Field(
            "nitrogen",
            "Nitrogen in dry mass",
            "nitrogen share",
            "0 to 0.2",
            "Crude protein over 6.25; blank if you don't know.",
            # Some wood has no more than 0.03 % (Cowling and Merrill 1966, from memory), which is a
            # hundredth of what a rich supplement has: above 3 %, no limit finds the slip.
            lowest=0.0003,
            usual=0.024,
            required=False,
        ),
        Field(
            "carbon",
            "Carbon in dry mass",
            "fraction",
            "0 to 0.9",
            "Near half of the dry mass of wood; blank if you don't know.",
            lowest=0.01,
            usual=0.48,
            required=False,
        ),
        Field(
            "lead_days",
            "Lead time",
            "d",
            "0 to 365",
            "From the order to the day it is on your shelf; blank counts as none.",
            required=False,
        ),
        Field(
            "source",
            "Source of the figures",
            "text",
            required=False,
            help="A laboratory, a table, a delivery note, your own oven.",
            width=34.0,
        ),
        *_latest(
            "latest_moisture",
            "Moisture, latest delivery",
            "fraction",
            "moisture",
            "As measured; from the Deliveries sheet.",
        ),
        *_latest(
            "latest_price",
            "Price, latest delivery",
            "money/kg",
            "unit_price",
            "From the Deliveries sheet.",
        ),
        Computed(
            "price_used",
            "Price used",
            "money/kg",
            'CHOOSE(1+({delivery_prices}="yes")*COUNT({?latest_price}),{?price_listed},'
            "{?latest_price})",
            "Of the bag where both are typed, else in bulk; or of the latest delivery, see Farm.",
        ),
        Computed(
            "price_listed",
            "Price, of the bag or in bulk",
            "money/kg",
            'CHOOSE(1+(COUNT({bag_price})*COUNT({bag_mass})>0),CHOOSE(1+COUNT({price}),"",{price}),'
            "{bag_price}/{bag_mass})",
            "Of the bag where both are typed, else in bulk.",
            is_working=True,
        ),
        Computed(
            "missing",
            "Missing figures",
            "state",
            'CHOOSE(1+({ingredient}<>""),"",SUBSTITUTE(TRIM('
            + "&".join(
                f'REPT("{word} ",1-COUNT({{?{key}}}))'
                for word, key in (
                    *(("price", "price_used"), ("moisture", "moisture")),
                    *(("nitrogen", "nitrogen"), ("carbon", "carbon")),
                )
            )
            + ')," ",", "))',
            "Recipes with this ingredient stay blank there.",
            is_working=True,
        ),
        line_of("ingredients", "ingredient"),
    ),
    rows=12,
)


def _of_lines(column: str, formula: str) -> str:
    """Write what follows from a figure of all lines of a recipe, ``{sum}`` being its sum.

    It stays blank while the figure of one line is not known, and where there is no line.
    """
    lines = "{recipe_lines.recipe},{recipe}"
    known = f'COUNTIFS({lines},{{recipe_lines.{column}}},">=0")'
    total = f"SUMIFS({{recipe_lines.{column}}},{lines})"
    return f'CHOOSE(1+({known}=MAX(1,COUNTIF({lines}))),"",{formula.replace("{sum}", total)})'


RECIPES = Table(
    "recipes",
    "Recipes",
    (
        Field("recipe", "Recipe", "text", help="A short name; the lists offer it."),
        Field(
            "target_moisture",
            "Target moisture",
            "fraction",
            "above 0 to below 0.9",
            "Wet basis, of the substrate in the bag before spawn.",
            lowest=LEAST_SUBSTRATE_MOISTURE,
            usual=0.62,
        ),
        Field(
            "bulk_density",
            "Bulk density, mixed",
            "mixer density",
            "0.02 to 1.5",
            "Wet substrate, loose in the mixer: weigh a full bucket of known volume.",
        ),
        Computed(
            "shares",
            "Sum of shares",
            "fraction",
            _of_lines("share", "{sum}"),
            "All shares of a recipe together: 100 %.",
            is_working=True,
        ),
        Computed(
            "moisture",
            "Moisture before water",
            "fraction",
            _of_lines("water", "{sum}/{shares}"),
            "Of the ingredients as weighed, by their usual moisture.",
        ),
        Computed(
            "nitrogen",
            "Nitrogen in dry mass",
            "nitrogen share",
            _of_lines("nitrogen", "{sum}/({shares}*(1-{moisture}))"),
            "Blank while the figure of an ingredient is missing.",
        ),
        Computed(
            "carbon",
            "Carbon in dry mass",
            "fraction",
            _of_lines("carbon", "{sum}/({shares}*(1-{moisture}))"),
            "Blank while the figure of an ingredient is missing.",
            is_working=True,
        ),
        Computed(
            "carbon_nitrogen",
            "C:N",
            "ratio",
            'CHOOSE(1+({nitrogen}>0),"",{carbon}/{nitrogen})',
            "Carbon to nitrogen: parts of carbon to one of nitrogen.",
        ),
        Computed(
            "cost_dry",
            "Cost, dry",
            "money/kg",
            _of_lines("cost", "{sum}/({shares}*(1-{moisture}))"),
            "Ingredients for a unit of dry substrate.",
            is_working=True,
        ),
        Computed(
            "cost_wet",
            "Cost, wet",
            "money/kg",
            "{cost_dry}*(1-{target_moisture})",
            "Ingredients for a unit of wet substrate.",
        ),
        Computed(
            "missing",
            "Missing figures",
            "state",
            'IFERROR(INDEX({recipe_lines.ingredient},MATCH({recipe},{recipe_lines.gap},0))&": "'
            '&INDEX({recipe_lines.missing},MATCH({recipe},{recipe_lines.gap},0)),"")',
            "Of the first ingredient that lacks any.",
            is_working=True,
        ),
    ),
    rows=8,
    faults=(
        Rule("shares", "does not add up to 100", "COUNT({shares})*(ABS(N({shares})-1)>{rounding})"),
    ),
)

RECIPE_NUMBERS = range(1, RECIPES.rows + 1)


def recipe_number(number: int) -> str:
    """Return the key of the cell that holds the number of a row of the recipes."""
    return f"recipe_row_{number}"


def takes(number: int) -> str:
    """Return the key of the column of what a recipe takes of each ingredient."""
    return f"takes_{number}"


_CHOSEN = (
    Field(
        "recipe",
        "Recipe",
        "choice",
        choices="recipes.recipe",
        help="One row for each ingredient of the recipe.",
    ),
    Field(
        "ingredient",
        "Ingredient",
        "choice",
        choices="ingredients.ingredient",
        help="From the Ingredients sheet.",
        width=26.0,
    ),
)

RECIPE_LINES = Table(
    "recipe_lines",
    "What is in each recipe",
    (
        *_CHOSEN,
        Field(
            "share",
            "Share as weighed",
            "fraction",
            "above 0 to 1",
            "Of the mass before water; all shares of a recipe together are 100 %.",
            # A hundredth of half a recipe is as much as some have of lime; the sum of the shares,
            # which is then no longer 100 %, tells them apart.
            lowest=0.001,
            usual=0.5,
        ),
        Computed(
            "order",
            "Row",
            "count",
            "ROW({recipe})",
            "Keeps the lines in their order.",
            is_working=True,
        ),
        Computed(
            "line",
            "Line",
            "state",
            '{recipe}&"|"&COUNTIFS({recipe_lines.recipe},{recipe},'
            '{recipe_lines.order},"<="&{order})',
            "Finds the lines of a recipe for the Mix card.",
            is_working=True,
        ),
        Computed(
            "moisture",
            "Moisture",
            "fraction",
            "INDEX({ingredients.moisture},MATCH({ingredient},{ingredients.ingredient},0))",
            "From the Ingredients sheet.",
        ),
        Computed(
            "latest_moisture",
            "Moisture, latest delivery",
            "fraction",
            "INDEX({ingredients.latest_moisture},MATCH({ingredient},{ingredients.ingredient},0))",
            "As measured; the Mix card weighs out by it.",
            is_working=True,
        ),
        Computed(
            "water",
            "Water in the share",
            "fraction",
            "{share}*{moisture}",
            "Of the mix.",
            is_working=True,
        ),
        Computed(
            "nitrogen",
            "Nitrogen",
            "nitrogen share",
            "CFX.DRY_MASS({share},{moisture})"
            "*INDEX({ingredients.nitrogen},MATCH({ingredient},{ingredients.ingredient},0))",
            "Of the mix.",
        ),
        Computed(
            "carbon",
            "Carbon",
            "fraction",
            "CFX.DRY_MASS({share},{moisture})"
            "*INDEX({ingredients.carbon},MATCH({ingredient},{ingredients.ingredient},0))",
            "Of the mix.",
        ),
        Computed(
            "cost",
            "Cost",
            "money/kg",
            "{share}*INDEX({ingredients.price_used},MATCH({ingredient},{ingredients.ingredient},0))",
            "Its share of the cost of a unit of the mix, as weighed.",
        ),
        Computed(
            "missing",
            "Missing figures",
            "state",
            'CHOOSE(1+COUNT({?share}),"share",IFERROR(INDEX({ingredients.missing},'
            'MATCH({ingredient},{ingredients.ingredient},0))&"","not on the Ingredients sheet"))',
            "Of this row and of its ingredient.",
            is_working=True,
        ),
        choices_found(*_CHOSEN),
        Computed(
            "gap",
            "Recipe with a gap",
            "state",
            'REPT({recipe},({?missing}<>"")*1)',
            "Finds the first line of a recipe that lacks a figure.",
            is_working=True,
        ),
    ),
    rows=40,
    unique=False,
)


def efficiency(be: str) -> str:
    """Write the BE of all planned flushes together, where each one has it.

    Parameters
    ----------
    be : str
        Template of the BE of a flush, with its number as ``%d``.

    Returns
    -------
    str
        The template.
    """
    later = range(2, MOST_FLUSHES + 1)
    known = f"COUNT({be % 1})" + "".join(
        f"+COUNT({be % number})*({{flushes}}>={number})" for number in later
    )
    total = be % 1 + "".join(f"+N({be % number})*({{flushes}}>={number})" for number in later)
    return f'CHOOSE(1+({known}>={{flushes}}),"",{total})'


def fruiting_days(interval: str) -> str:
    """Write the days from the move until the shelf space is clean and free again."""
    later = f"CHOOSE(1+({{flushes}}>1),0,({{flushes}}-1)*{interval})"
    return f"{{first_flush_days}}+{later}+{{turnover_days}}"


STRAINS = Table(
    "strains",
    "Strains",
    (
        Field("strain", "Strain", "text", help="Species and strain, as on your labels."),
        Field(
            "spawn_rate",
            "Spawn rate",
            "fraction",
            "above 0 to 0.5",
            "Wet spawn over wet substrate; most yield at 3.75 to 5 % (Royse 2002).",
            lowest=0.005,
            usual=0.04,
        ),
        Field(
            "incubation_days",
            "Incubation",
            "d",
            "above 0 to 400",
            "From inoculation to the move into fruiting.",
        ),
        Field(
            "first_flush_days",
            "Move to first flush",
            "d",
            "0 to 100",
            "From the move into fruiting to the first harvest.",
        ),
        Field(
            "flush_interval_days",
            "Flush to flush",
            "d",
            "0 to 100",
            "From one harvest to the next; blank for a single flush.",
            required=False,
        ),
        Field(
            "flushes",
            "Planned flushes",
            "count",
            "1 to 4, whole",
            "How many you pick before the block leaves.",
        ),
        *(
            Field(
                f"be_{number}",
                f"BE of flush {number}",
                "fraction",
                "above 0 to 3" if number == 1 else "0 to 3",
                "Fresh mushrooms of this flush over the dry substrate of a block.",
                lowest=0.03 if number == 1 else 0.01,
                usual=0.6 if number == 1 else 0.2,
                required=number == 1,
            )
            for number in range(1, MOST_FLUSHES + 1)
        ),
        Field(
            "loss_rate",
            "Blocks lost",
            "fraction",
            "0 to below 1",
            "Of the blocks started: contaminated, stalled, torn.",
            # One block of 500. A hundredth of a loss above 20 % is not found; few plan with that.
            lowest=0.002,
            usual=0.05,
        ),
        Field(
            "picking_minutes",
            "Picking",
            "min/kg",
            "0 or more",
            "Of fresh mass; blank: the time on the Farm sheet.",
            required=False,
        ),
        Field(
            "source",
            "Source of the figures",
            "text",
            required=False,
            help="Your records, the spawn maker's sheet, a paper.",
        ),
        Computed(
            "biological_efficiency",
            "BE, planned flushes",
            "fraction",
            efficiency("{be_%d}"),
            "All planned flushes together.",
        ),
        Computed(
            "fruiting_days",
            "Time in fruiting",
            "d",
            fruiting_days("{flush_interval_days}"),
            "From the move until the shelf space is clean and free again.",
        ),
    ),
    rows=8,
)
