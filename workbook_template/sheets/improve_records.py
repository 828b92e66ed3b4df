"""What own records say a strain can do better: its best quarter, its flushes, its other recipes.

Of each kind of change, the strain is taken where it brings most on the packs that are made today:
what their growing costs, and what the fullest station earns with the room that they free.

The range of a recipe is that of a difference of two means, each with an interval of its own (Zou &
Donner 2008, Stat. Med. 27:1693, the square-and-add of both, from memory).
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.schema.materials import STRAINS
from workbook_template.sheets.costing_parts import number_of
from workbook_template.sheets.results_columns import COUNTED, total
from workbook_template.sheets.results_groups import MONTHS, PAIRS
from workbook_template.writing.blocks import Calculated, Form, Grid

_A_QUARTER = 3
_QUARTERS = MONTHS - _A_QUARTER + 1
_LINE = Counter("line")
_EACH_STRAIN = "(ROWS({by_month.month})-2)"
"""Quarters of a strain, which stand below each other."""

_AT = f"({{line}}-({{at}}-1)*{_EACH_STRAIN})"
_BATCHES = (
    "{batches.strain},INDEX({strains.strain},{at}),"
    f'{{batches.made}},">="&INDEX({{by_month.start}},{_AT}),'
    f'{{batches.made}},"<"&INDEX({{by_month.until}},{_AT}+2),{COUNTED}'
)
QUARTERS = Grid(
    "improve_quarters",
    "Losses of each strain in each three months of the last twelve",
    (
        Computed("at", "Row of the strain", "count", f"INT(({{line}}-1)/{_EACH_STRAIN})+1"),
        Computed("batches", "Batches counted", "count", f"COUNTIFS({_BATCHES})"),
        Computed("blocks", "Blocks in them", "count", total("bags", _BATCHES)),
        Computed("lost", "Blocks lost", "count", total("lost", _BATCHES)),
        Computed(
            "loss",
            "Loss, where there are enough",
            "fraction",
            "CHOOSE(1+({batches}>={improve_batches})*({blocks}>0)*({lost}<{blocks}),"
            '"",{lost}/{blocks})',
        ),
        _LINE,
    ),
    rows=STRAINS.rows * _QUARTERS,
)


def _used(key: str) -> str:
    return used_in(key, "{line}")


def _flush(number: str) -> str:
    """Write the BE of a flush of the strain in a row; 0 where none is known."""
    every = ",".join(f"N({_used(f'be_{flush}')})" for flush in range(1, MOST_FLUSHES + 1))
    return f"CHOOSE({number},{every},0)"


def _sum(column: str) -> str:
    return f"SUMIFS({{improve_fill.{column}}},{{improve_fill.strain_row}},{{line}})"


def _first_where(condition: str) -> str:
    """Number the first product line that is so; one more than there are, where none is."""
    last = "(ROWS({improve_fill.line})+1)"
    return f"{last}-SUMPRODUCT(MAX({condition}*({last}-{{improve_fill.line}})))"


def _is_kept(times: str, days: str) -> str:
    """Write what a week gains where so many times the blocks stand so many times the days."""
    return f"{{growing}}*(1-{times})+{{standing}}*(1-{times}*{days})"


_BEST = (
    f"INDEX({{improve_quarters.loss}},({{line}}-1)*{_EACH_STRAIN}+1)"
    f":INDEX({{improve_quarters.loss}},{{line}}*{_EACH_STRAIN})"
)
BY_STRAIN = Grid(
    "improve_strains",
    "What a week gains with each strain, about",
    (
        Computed(
            "best",
            "Loss of its best quarter",
            "fraction",
            f'CHOOSE(1+(COUNT({_BEST})>0),"",MIN({_BEST}))',
        ),
        Computed(
            "growing", "Growing of its packs", "money", _sum("growing") + "+0*{improve_known}"
        ),
        Computed(
            "standing", "Fruiting of its packs", "money", _sum("standing") + "+0*{improve_known}"
        ),
        Computed(
            "loss_gain",
            "Gain, losses of the best quarter",
            "money",
            f"CHOOSE(1+({{best}}<{_used('loss_rate')})*(SUMIFS({{improve_fill.packs}},"
            '{improve_fill.strain_row},{line})>0),"",'
            "SUMIFS({improve_fill.all_growing},{improve_fill.strain_row},{line})"
            f"*(1-(1-{_used('loss_rate')})/(1-{{best}})))",
        ),
        Computed("last", "BE of the last flush", "fraction", _flush(_used("flushes"))),
        Computed("next", "BE of the next flush", "fraction", _flush(f"1+{_used('flushes')}")),
        Computed(
            "interval",
            "Days of a flush, of those in fruiting",
            "number",
            f'CHOOSE(1+({_used("fruiting_days")}>0),"",'
            f"N({_used('flush_interval_days')})/{_used('fruiting_days')})",
        ),
        Computed(
            "less_gain",
            "Gain, one flush less",
            "money",
            f'CHOOSE(1+({_used("flushes")}>1)*({{last}}>0)*({{be}}>{{last}})*({{growing}}>0),"",'
            + _is_kept("{be}/({be}-{last})", "(1-{interval})")
            + ")",
        ),
        Computed(
            "more_gain",
            "Gain, one flush more",
            "money",
            'CHOOSE(1+({next}>0)*({interval}>0)*({growing}>0),"",'
            + _is_kept("{be}/({be}+{next})", "(1+{interval})")
            + ")",
        ),
        Computed("be", "BE, planned flushes", "fraction", _used("biological_efficiency") + "*1"),
        Computed(
            "main",
            "First line to fruit",
            "count",
            _first_where(
                "({improve_fill.strain_row}={line})*({improve_fill.fruits}=1)"
                "*({improve_fill.packs}>0)"
            ),
        ),
        Computed(
            "recipe",
            "Row of its recipe",
            "count",
            'CHOOSE(1+({main}<=ROWS({improve_fill.line})),"",'
            "INDEX({improve_fill.recipe_row},{main}))",
        ),
        Computed(
            "pair",
            "Its row in the BE by recipe",
            "count",
            "SUMPRODUCT(({recipe_yields.strain}=INDEX({strains.strain},{line}))"
            "*({recipe_yields.recipe}=INDEX({recipes.recipe},{recipe}))*{recipe_yields.line})",
        ),
        _LINE,
    ),
    rows=STRAINS.rows,
)


def _of_pair(column: str, row: str) -> str:
    return f"INDEX({{recipe_yields.{column}}},{row})"


def _of_recipe(column: str, row: str) -> str:
    return f"INDEX({{{column}}},{row})"


_DRY = "(1-" + _of_recipe("recipes.target_moisture", "{%s}") + ")"
BY_RECIPE = Grid(
    "improve_recipes",
    "What a week gains with another recipe, about",
    (
        Computed(
            "strain",
            "Row of the strain",
            "count",
            f"MATCH({_of_pair('strain', '{line}')},{{strains.strain}},0)",
        ),
        Computed(
            "recipe",
            "Row of the recipe",
            "count",
            f"MATCH({_of_pair('recipe', '{line}')},{{recipes.recipe}},0)",
        ),
        Computed("now", "Recipe of today", "count", "INDEX({improve_strains.recipe},{strain})*1"),
        Computed(
            "pair",
            "Its row in the BE by recipe",
            "count",
            'CHOOSE(1+({recipe}<>{now})*(INDEX({improve_strains.pair},{strain})>0),"",'
            "INDEX({improve_strains.pair},{strain}))",
        ),
        Computed("be", "BE with it", "fraction", _of_pair("be", "{line}") + "*1"),
        Computed("be_now", "BE of today", "fraction", _of_pair("be", "{pair}") + "*1"),
        Computed(
            "dry",
            "Dry substrate of today, of that with it",
            "number",
            f"{_DRY % 'now'}/{_DRY % 'recipe'}",
        ),
        Computed(
            "down",
            "Lower end, below the difference",
            "fraction",
            f"SQRT(({{be}}-{_of_pair('be_low', '{line}')})^2"
            f"+({_of_pair('be_high', '{pair}')}-{{be_now}})^2)",
        ),
        Computed(
            "up",
            "Upper end, above the difference",
            "fraction",
            f"SQRT(({_of_pair('be_high', '{line}')}-{{be}})^2"
            f"+({{be_now}}-{_of_pair('be_low', '{pair}')})^2)",
        ),
        Computed(
            "times",
            "Blocks, times those of today",
            "number",
            'CHOOSE(1+({be}>0)*({be_now}>0),"",{be_now}*{dry}/{be})',
        ),
        Computed(
            "dearer",
            "A block costs more",
            "money/block",
            f"{_of_recipe('recipe_costs.together', '{recipe}')}"
            f"-{_of_recipe('recipe_costs.together', '{now}')}",
        ),
        Computed(
            "gain",
            "Gain",
            "money",
            "CHOOSE(1+({down}>=0)*(INDEX({improve_strains.growing},{strain})>0),"
            '"",(INDEX({improve_strains.growing},{strain})+INDEX({improve_strains.standing},'
            "{strain}))*(1-{times})-{dearer}*{times}*SUMIFS({improve_fill.fruiting_blocks},"
            "{improve_fill.strain_row},{strain}))",
        ),
        _LINE,
    ),
    rows=PAIRS,
)


def _chosen(key: str, grid: str, gain: str, label: str) -> Calculated:
    column = f"{grid}.{gain}"
    return Calculated(
        key,
        label,
        "count",
        f'CHOOSE(1+(COUNT({{{column}}})>0),"",'
        f"{number_of(f'MAX({{{column}}})', column, f'{grid}.line')})",
        "Where it brings most.",
    )


CHOSEN = Form(
    "Where each change brings most",
    (
        _chosen(
            "improve_loss_row", "improve_strains", "loss_gain", "Fewer lost: row of the strain"
        ),
        _chosen(
            "improve_less_row", "improve_strains", "less_gain", "Flush less: row of the strain"
        ),
        _chosen(
            "improve_more_row", "improve_strains", "more_gain", "Flush more: row of the strain"
        ),
        _chosen("improve_recipe_row", "improve_recipes", "gain", "Another recipe: row of the pair"),
        Calculated(
            "improve_quarter",
            "Row of the best quarter",
            "count",
            "SUMPRODUCT(MAX(({improve_quarters.at}={improve_loss_row})"
            "*({improve_quarters.loss}=INDEX({improve_strains.best},{improve_loss_row}))"
            "*{improve_quarters.line}))",
            "Of the strain that loses fewer; the last one where several are alike.",
        ),
        Calculated(
            "improve_first",
            "Line that comes first",
            "count",
            'CHOOSE(1+(MAX({improve_fill.turn})>0),"",'
            + number_of("1", "improve_fill.turn", "improve_fill.line")
            + ")",
            "Contributes most for each unit of the fullest station.",
        ),
        Calculated(
            "improve_weakest",
            "Line that comes last",
            "count",
            'CHOOSE(1+(MAX({improve_fill.turn})>1),"",'
            + number_of("MAX({improve_fill.turn})", "improve_fill.turn", "improve_fill.line")
            + ")",
            "Of those that fit the fullest station.",
        ),
        Calculated(
            "improve_market",
            "Market that leaves least a day",
            "count",
            'CHOOSE(1+(COUNT({by_market.judged})>0),"",'
            + number_of("MIN({by_market.judged})", "by_market.judged", "by_market.line")
            + ")",
            "Of those with enough days to judge.",
        ),
        Calculated(
            "improve_market_days",
            "Its days a week",
            "number",
            "INDEX({by_market.days},{improve_market})*7/MAX(1,MIN({today},"
            "CHOOSE(1+COUNT({?sales_until}),{today},N({?sales_until})))+1"
            "-MAX(N({?sales_from}),MIN({sales.date})))",
            "Over the days that the Markets sheet looks at.",
        ),
    ),
)
WORKINGS = (CHOSEN, BY_STRAIN, BY_RECIPE, QUARTERS)
