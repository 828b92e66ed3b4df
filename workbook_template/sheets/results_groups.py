"""The groups of batches on Results: by strain, by recipe within strain, by month."""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import RECIPES, STRAINS
from workbook_template.sheets import results_columns as columns
from workbook_template.writing.blocks import Calculated, Form, Grid

MONTHS = 12
PAIRS = 12
"""Of a strain and a recipe: those with the most batches."""


SPREAD = Calculated(
    "results_spread",
    "Unevenness of batches",
    "number",
    "CHOOSE(1+({results_freedom}>={enough_for_spread}),{assumed_spread},"
    "MAX(1,SUM({by_strain.squares})/{results_freedom}))",
    "1: losses differ by luck alone. The more, the farther apart at least and at most.",
    waits_for=("assumed_spread",),
)
FARM = Form(
    "Spread of the whole farm",
    (
        Calculated(
            "results_freedom",
            "Batches counted less strains",
            "count",
            "SUM({by_strain.freedom})",
            "Of strains that lost some blocks, and not all.",
        ),
        Calculated(
            "results_reach",
            "Spread in the intervals",
            "number",
            "{results_spread}*CHOOSE(1+({results_freedom}>={enough_for_spread}),1,"
            f"{columns.FOR_FEW % '{results_freedom}'})",
            "Larger where few batches show it (Student's t); an assumed one stays as it is.",
        ),
    ),
)


def listed(table: str, key: str) -> str:
    """Name the thing in the same row of its table, or nothing where there is none."""
    column = f"{{{table}.{key}}}"
    return f'CHOOSE(1+({{line}}<=ROWS({column})),"",INDEX({column},{{line}})&"")'


def by_strain(units: str) -> Grid:
    """Make the list by strain; its BE and days are shown beside the plan."""
    condition = "{batches.strain},{strain}"
    return Grid(
        "by_strain",
        "By strain",
        (
            Computed("strain", "Strain", "state", listed("strains", "strain")),
            *columns.losses(condition),
            *columns.harvest(condition),
            *columns.cost(condition, units),
            *columns.cost_interval(condition),
            *columns.hidden(
                (
                    *columns.be(condition),
                    *columns.be_interval(condition),
                    *columns.against_plan("be", "BE", "fraction", columns.BE_PLANNED),
                    *columns.days(condition),
                    *columns.days_interval(condition),
                    *columns.against_plan(
                        "days", "Days to first harvest", "d", columns.DAYS_PLANNED
                    ),
                    *columns.of_all(condition),
                )
            ),
            Counter("line"),
        ),
        rows=STRAINS.rows,
    )


def _of_pair(column: str) -> str:
    return f'INDEX({{pairs.{column}}},{{at}})&""'


_OF_PAIR = "{batches.strain},{strain},{batches.recipe},{recipe}"


def by_recipe(units: str) -> Grid:
    """Make the list by recipe, each strain by itself: strains differ more than recipes do."""
    return Grid(
        "by_recipe",
        "By recipe, each strain by itself",
        (
            Computed("name", "Strain, recipe", "state", '{strain}&", "&{recipe}'),
            *columns.losses(_OF_PAIR),
            *columns.harvest(_OF_PAIR),
            *columns.cost(_OF_PAIR, units),
            *columns.cost_interval(_OF_PAIR),
            Computed("strain", "Strain", "state", _of_pair("strain"), is_working=True),
            Computed("recipe", "Recipe", "state", _of_pair("recipe"), is_working=True),
            Computed(
                "at",
                "Row of the pair",
                "count",
                'CHOOSE(1+(COUNT({pairs.kept})>={line}),"",SMALL({pairs.kept},{line}))',
                is_working=True,
            ),
            Counter("line"),
        ),
        rows=PAIRS,
    )


def _listed_above(column: str) -> str:
    return f'INDEX({{by_recipe.{column}}},{{line}})&""'


RECIPE_YIELDS = Grid(
    "recipe_yields",
    "BE and days by recipe, each strain by itself",
    (
        Computed("name", "Strain, recipe", "state", _listed_above("name")),
        *columns.be(_OF_PAIR),
        *columns.be_interval(_OF_PAIR),
        *columns.days(_OF_PAIR),
        *columns.days_interval(_OF_PAIR),
        Computed("strain", "Strain", "state", _listed_above("strain"), is_working=True),
        Computed("recipe", "Recipe", "state", _listed_above("recipe"), is_working=True),
        Computed("fresh", "Fresh mass", "kg", "INDEX({by_recipe.fresh},{line})*1", is_working=True),
        Counter("line"),
    ),
    rows=PAIRS,
)


_AT_STRAIN = "INT(({number}-1)/ROWS({recipes.recipe}))"
PAIRED = Grid(
    "pairs",
    "Strains and recipes that occur together",
    (
        Counter("number"),
        Computed(
            "strain",
            "Strain",
            "state",
            f"CHOOSE(1+({_AT_STRAIN}<ROWS({{strains.strain}})),"
            f'"",INDEX({{strains.strain}},{_AT_STRAIN}+1)&"")',
        ),
        Computed(
            "recipe",
            "Recipe",
            "state",
            f'INDEX({{recipes.recipe}},{{number}}-{_AT_STRAIN}*ROWS({{recipes.recipe}}))&""',
        ),
        Computed("made", "Batches made", "count", f"COUNTIFS({_OF_PAIR})"),
        Computed("counted", "Batches counted", "count", f"COUNTIFS({_OF_PAIR},{columns.COUNTED})"),
        Computed(
            "size",
            "Size",
            "number",
            'CHOOSE(1+({made}>0),"",{made}-{number}/(1+ROWS({pairs.number})))',
        ),
        Computed(
            "kept",
            "Listed",
            "count",
            "CHOOSE(1+({size}>=LARGE({pairs.size},MIN(COUNT({pairs.size}),ROWS({by_recipe.line})))),"
            '"",{number})',
        ),
    ),
    rows=STRAINS.rows * RECIPES.rows,
)


_MONTH = 'YEAR({start})&"-"&TEXT(MONTH({start}),"00")'


def by_month(units: str) -> Grid:
    """Make the list of the last twelve months."""
    first_day = "DATE(YEAR({today}),MONTH({today})-12+{line}%s,1)"
    condition = '{batches.made},">="&{start},{batches.made},"<"&{until}'
    return Grid(
        "by_month",
        "By month, the last twelve",
        (
            Computed("month", "Month made", "state", _MONTH),
            *columns.losses(condition, has_own_spread=False),
            *columns.harvest(condition),
            *columns.without_count(columns.be(condition)),
            *columns.without_count(columns.days(condition)),
            *columns.cost(condition, units),
            Counter("line"),
            Computed("start", "From", "date", first_day % "", is_working=True),
            Computed("until", "To before", "date", first_day % "+1", is_working=True),
        ),
        rows=MONTHS,
    )
