"""The groups of batches on Results: by strain, by recipe within strain, by month.

Losses come in batches, so an interval counts batches, not blocks: it is as wide as batches differ
from one to the next on this farm. How much that is, Pearson's chi-square of the batches around
the rate of their strain says, divided by batches less strains, and at least 1 (McCullagh & Nelder,
Generalized Linear Models, section 4.5, from memory). From sums alone:

    sum((lost - made * rate)^2 / made) = sum(lost^2 / made) - sum(lost)^2 / sum(made)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cultivar_fx.catalog.dimensions import US
from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import RECIPES, STRAINS
from workbook_template.writing.blocks import Calculated, Form, Grid

if TYPE_CHECKING:
    from collections.abc import Sequence

MONTHS = 12
PAIRS = 12
"""Of a strain and a recipe: those with the most batches."""


def cost_of(fresh: str, spent: str, units: str) -> str:
    """Write the cost of a fresh mass by weight, in the unit of the system."""
    cost_per = "CFX.COST_PER_POUND" if units == US else "CFX.COST_PER_KILOGRAM"
    return f"{cost_per}({spent},{fresh})"


_SPREAD = "{lost},{blocks},{results_confidence},{reach}"
_FOR_FEW = "(TINV(1-{results_confidence},%s)/NORMSINV(AVERAGE({results_confidence},1)))^2"
"""Brings a spread that few batches show to what makes a normal interval one by Student's t."""
_VERDICT = (
    "CHOOSE(1+({low}>{planned}),CHOOSE(1+({high}<{planned}),"
    'CHOOSE(1+({high}-{low}>{widest_interval}),"as planned","too little data"),'
    '"less than planned"),"more than planned")'
)
"""Whatever its width, an interval on one side of the plan says so."""

SPREAD = Calculated(
    "results_spread",
    "Spread between batches",
    "number",
    "CHOOSE(1+({results_freedom}>={enough_for_spread}),{assumed_spread},"
    "MAX(1,SUM({by_strain.squares})/{results_freedom}))",
    "1 if batches differ by luck alone; the more, the wider the intervals.",
    waits_for=("assumed_spread",),
)
FARM = Form(
    "Spread of the whole farm",
    (
        Calculated(
            "results_freedom",
            "Ended batches less strains",
            "count",
            "SUM({by_strain.freedom})",
            "Of strains that lost some blocks, and not all.",
        ),
        Calculated(
            "results_reach",
            "Spread in the intervals",
            "number",
            "{results_spread}*CHOOSE(1+({results_freedom}>={enough_for_spread}),1,"
            f"{_FOR_FEW % '{results_freedom}'})",
            "Larger where few batches show it (Student's t); an assumed one stays as it is.",
        ),
    ),
)


def _columns(
    first: Sequence[Computed], condition: str, units: str, has_own_spread: bool = True
) -> tuple[Computed | Counter, ...]:
    """Make the columns of a group of batches, which ``condition`` picks out of the log.

    A group of one strain has a spread of its own once it has enough batches.
    """
    ended = f'{condition},{{batches.state}},"ended"'
    picked = f'{condition},{{batches.first_picked}},">0"'

    def total(column: str) -> str:
        return f"SUMIFS({{batches.{column}}},{ended})"

    costed = f'COUNTIFS({ended},{{batches.spent}},">=0")'
    cost = cost_of("{fresh}", total("spent"), units)
    days = (
        f"(SUMIFS({{batches.first_picked}},{picked})-SUMIFS({{batches.made}},{picked}))"
        f"/COUNTIFS({picked})"
    )
    reach = "MAX(1,{results_reach})"
    if has_own_spread:
        own = f"MAX(1,{{squares}}/{{freedom}})*{_FOR_FEW % '{freedom}'}"
        reach = f"CHOOSE(1+({{freedom}}>={{enough_for_spread}}),{reach},{own})"
    return (
        *first,
        Computed("ended", "Batches ended", "count", f"COUNTIFS({ended})"),
        Computed("blocks", "Blocks in them", "count", total("bags")),
        Computed("lost", "Blocks lost", "count", total("lost")),
        Computed(
            "lost_cost",
            "Cost of blocks lost",
            "money",
            f'CHOOSE(1+(COUNTIFS({ended},{{batches.lost_cost}},">=0")={{ended}}),"",'
            f"{total('lost_cost')})",
        ),
        Computed("loss", "Loss", "fraction", 'CHOOSE(1+({blocks}>0),"",{lost}/{blocks})'),
        Computed("low", "Loss, lowest", "fraction", f"MIN({{loss}},CFX.LOSS_LOW({_SPREAD}))"),
        Computed("high", "Loss, highest", "fraction", f"MAX({{loss}},CFX.LOSS_HIGH({_SPREAD}))"),
        Computed("verdict", "Loss against plan", "state", _VERDICT),
        Computed(
            "days", "Days to first harvest", "d", f'CHOOSE(1+(COUNTIFS({picked})>0),"",{days})'
        ),
        Computed("fresh", "Fresh mass", "kg", total("fresh")),
        Computed(
            "per_block",
            "Harvest, good block",
            "kg/block",
            'CHOOSE(1+({blocks}>{lost}),"",{fresh}/({blocks}-{lost}))',
        ),
        Computed("dry", "Dry substrate, good blocks", "kg", total("dry_good"), is_working=True),
        Computed(
            "be",
            "BE",
            "fraction",
            'CHOOSE(1+({dry}>0),"",CFX.BIOLOGICAL_EFFICIENCY({fresh},{dry}))',
        ),
        Computed(
            "cost",
            "Cost, harvested",
            "money/kg",
            f'CHOOSE(1+({{fresh}}>0)*({costed}={{ended}}),"",{cost})',
        ),
        Computed(
            "planned",
            "Loss planned for these batches",
            "fraction",
            f'CHOOSE(1+({{blocks}}>0)*(COUNTIFS({ended},{{batches.planned_lost}},">=0")={{ended}}),'
            f'"",{total("planned_lost")}/{{blocks}})',
            is_working=True,
        ),
        Computed(
            "freedom",
            "Batches less one, if some blocks were lost and some not",
            "count",
            "({lost}>0)*({lost}<{blocks})*MAX(0,{ended}-1)",
            is_working=True,
        ),
        Computed(
            "squares",
            "Chi-square of its batches",
            "number",
            f"CHOOSE(1+({{freedom}}>0),0,({total('lost_squared')}-{{lost}}*{{loss}})"
            "/({loss}*(1-{loss})))",
            is_working=True,
        ),
        Computed("reach", "Spread in the interval", "number", reach, is_working=True),
        Counter("line"),
    )


def listed(table: str, key: str) -> str:
    """Name the thing in the same row of its table, or nothing where there is none."""
    column = f"{{{table}.{key}}}"
    return f'CHOOSE(1+({{line}}<=ROWS({column})),"",INDEX({column},{{line}})&"")'


def by_strain(units: str) -> Grid:
    """Make the list by strain."""
    name = Computed("strain", "Strain", "state", listed("strains", "strain"))
    condition = "{batches.strain},{strain}"
    columns = _columns((name,), condition, units)
    return Grid("by_strain", "By strain", columns, rows=STRAINS.rows)


def _of_pair(column: str) -> str:
    return f'INDEX({{pairs.{column}}},{{at}})&""'


def by_recipe(units: str) -> Grid:
    """Make the list by recipe, each strain by itself: strains differ more than recipes do."""
    first = (
        Computed("name", "Strain, recipe", "state", '{strain}&", "&{recipe}'),
        Computed("strain", "Strain", "state", _of_pair("strain"), is_working=True),
        Computed("recipe", "Recipe", "state", _of_pair("recipe"), is_working=True),
        Computed(
            "at",
            "Row of the pair",
            "count",
            'CHOOSE(1+(COUNT({pairs.kept})>={line}),"",SMALL({pairs.kept},{line}))',
            is_working=True,
        ),
    )
    condition = "{batches.strain},{strain},{batches.recipe},{recipe}"
    columns = _columns(first, condition, units)
    return Grid("by_recipe", "By recipe, each strain by itself", columns, rows=PAIRS)


_OF_PAIR = "{batches.strain},{strain},{batches.recipe},{recipe}"
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
        Computed(
            "ended", "Batches ended", "count", f'COUNTIFS({_OF_PAIR},{{batches.state}},"ended")'
        ),
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


def by_month(units: str) -> Grid:
    """Make the list of the last twelve months."""
    first_day = "DATE(YEAR({today}),MONTH({today})-12+{line}%s,1)"
    name = Computed(
        "month",
        "Month made",
        "state",
        'YEAR({start})&"-"&TEXT(MONTH({start}),"00")',
    )
    condition = '{batches.made},">="&{start},{batches.made},"<"&{until}'
    return Grid(
        "by_month",
        "By month, the last twelve",
        (
            *_columns((name,), condition, units, has_own_spread=False),
            Computed("start", "From", "date", first_day % "", is_working=True),
            Computed("until", "To before", "date", first_day % "+1", is_working=True),
        ),
        rows=MONTHS,
    )
