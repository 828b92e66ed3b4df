"""The starts of the week plan, joined into mixer and steam loads; and those of a usual week."""

from __future__ import annotations

from workbook_template.schema.columns import due_rank
from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.sheets.week_plan_crops import (
    LINE,
    MOST_CROPS,
    NUMBER,
    enough_for,
    in_steps,
    of_crop,
    recipe_of,
)
from workbook_template.sheets.week_plan_needs import in_week
from workbook_template.writing.blocks import Calculated, Form, Grid
from workbook_template.writing.week_grid import WEEKS

EACH_FLUSH = range(1, MOST_FLUSHES + 1)
_WEEK_NUMBER = "(1+({line}-{number})/{plan_crops})"


def _first_of(grid: str, *same: str) -> str:
    """Write whether a row with blocks is the first of those that are alike."""
    alike = "".join(f",{{{grid}.{key}}},{{{key}}}" for key in same)
    return (
        f'({{blocks}}>0)*(COUNTIFS({{{grid}.blocks}},">0",'
        f'{{{grid}.{_row_of(grid)}}},"<="&{{{_row_of(grid)}}}{alike})=1)'
    )


def _row_of(grid: str) -> str:
    return "line" if grid == "starts" else "number"


def _alike(grid: str, column: str, *same: str) -> str:
    alike = ",".join(f"{{{grid}.{key}}},{{{key}}}" for key in same)
    return f"SUMIFS({{{grid}.{column}}},{alike})"


def _joined(grid: str, day: str, *more: str) -> tuple[Computed, ...]:
    """Make the columns of mixes and loads, which the first row of those that share them counts.

    Each row is a batch of the log, with a residue in the mixer of its own.
    """
    mix = (day, "recipe_row", *more)
    return (
        Computed(
            "mixed",
            "Mass to mix",
            "kg",
            "({blocks}>0)*CFX.BATCH_MASS({blocks},{block_mass},{lost_mass})",
        ),
        Computed("leads", "First of its mix", "count", _first_of(grid, *mix) + "*1"),
        Computed(
            "loads",
            "Mixer loads",
            "count",
            f"CHOOSE(1+{{leads}},0,CFX.MIXER_LOADS({_alike(grid, 'mixed', *mix)},{{mixer_volume}},"
            f"{recipe_of('bulk_density')},{{working_fill}}))",
        ),
        Computed(
            "steamed",
            "Steam loads",
            "count",
            f"{_first_of(grid, day, *more)}"
            f"*ROUNDUP({_alike(grid, 'blocks', day, *more)}/{{blocks_per_load}},0)",
        ),
    )


def _flush_of_start(flush: int) -> tuple[Computed, Computed]:
    """Make the columns of what a flush of a start is expected to give, and of its day."""
    day = of_crop("ready" if flush == 1 else f"day_{flush}")
    return (
        Computed(
            f"gives_{flush}",
            f"Flush {flush} gives",
            "kg",
            f"{{fruits}}*{of_crop(f'gives_{flush}')}",
        ),
        Computed(f"picked_{flush}", f"Flush {flush} expected", "date", f"{{start}}+{day}"),
    )


_SPAWN_RATE = used_in("spawn_rate", "{strain_row}")

STARTS = Grid(
    "starts",
    "Every start",
    (
        Computed("crop", "Crop", "state", of_crop("crop")),
        Computed("week", "Week of", "date", "{plan_monday}+7*({line}-{number})/{plan_crops}"),
        Computed(
            "start",
            "Start on",
            "date",
            # Where the mixing day is past, and there is still time, it is for today.
            f"MAX({{today}}*({{blocks}}>0),CFX.START_DATE({{market}},{of_crop('lead')}))",
        ),
        Computed(
            "market", "For the market on", "date", f"{{week}}+7*{of_crop('ahead')}+{{plan_market}}"
        ),
        Computed("good", "Good blocks needed", "number", in_week("good", _WEEK_NUMBER, "{number}")),
        Computed("blocks", "Blocks to start", "count", in_week("blocks", _WEEK_NUMBER, "{number}")),
        *_joined("starts", "start"),
        Computed(
            "spawn",
            "Spawn",
            "kg",
            f"CFX.SPAWN_NEEDED({{blocks}}*{{block_mass}},{_SPAWN_RATE})",
        ),
        Computed(
            "spare",
            "Blocks more than needed",
            "number",
            f"{{blocks}}-{{good}}/(1-{of_crop('loss')})",
        ),
        Computed("strain_row", "Row of the strain", "count", of_crop("strain_row")),
        Computed("recipe_row", "Row of the recipe", "count", of_crop("recipe_row")),
        Computed("move", "Move expected", "date", f"ROUND({{start}}+{of_crop('incubation')},0)"),
        Computed("clear", "Clearing expected", "date", f"ROUND({{move}}+{of_crop('fruiting')},0)"),
        Computed(
            "fruits",
            "Blocks that fruit",
            "number",
            f"(1-{of_crop('as_block')})*{{blocks}}*(1-{of_crop('loss')})",
        ),
        *(column for flush in EACH_FLUSH for column in _flush_of_start(flush)),
        due_rank("start", "starts", only="*({blocks}>0)"),
        Computed(
            "number",
            "Crop number",
            "count",
            'CHOOSE(1+({line}<={plan_crops}*ROWS({loads.week})),"",'
            "{line}-{plan_crops}*INT(({line}-1)/MAX(1,{plan_crops})))",
        ),
        LINE,
    ),
    rows=MOST_CROPS * WEEKS,
)

USUAL = Grid(
    "usual",
    "A usual week, when nothing changes",
    (
        Computed("crop", "Crop", "state", of_crop("crop")),
        Computed(
            "blocks",
            "Blocks in a start",
            "count",
            f"CHOOSE(1+({of_crop('blocks')}>0),0,"
            + in_steps(enough_for(of_crop("blocks") + "*{every}"))
            + ")",
        ),
        *_joined("usual", "weekday", "every"),
        Computed(
            "spawn",
            "Spawn",
            "kg",
            f"CFX.SPAWN_NEEDED({{blocks}}*{{block_mass}},{_SPAWN_RATE})",
        ),
        Computed("batches", "Batches", "count", "({blocks}>0)*1"),
        *(
            Computed(f"week_{key}", f"{label} a week", unit, f"{{{key}}}/{{every}}")
            for key, label, unit in (
                ("blocks", "Blocks", "number"),
                ("batches", "Batches", "number"),
                ("mixed", "Mass to mix", "kg"),
                ("loads", "Mixer loads", "number"),
                ("steamed", "Steam loads", "number"),
                ("spawn", "Spawn", "kg"),
            )
        ),
        Computed("every", "Weeks from start to start", "count", f"{of_crop('every')}*1"),
        Computed("weekday", "Day of the start", "d", f"MOD({{plan_market}}-{of_crop('lead')},7)"),
        Computed(
            "incubation",
            "Shelf spaces, incubation",
            "count",
            f"CFX.BLOCKS_IN_PROGRESS({{week_blocks}},{of_crop('incubation')})",
        ),
        Computed(
            "fruiting",
            "Shelf spaces, fruiting",
            "count",
            f"CFX.BLOCKS_IN_PROGRESS({{week_blocks}}*(1-{of_crop('loss')}),{of_crop('fruiting')})",
        ),
        Computed("recipe_row", "Row of the recipe", "count", of_crop("recipe_row")),
        Computed("strain_row", "Row of the strain", "count", of_crop("strain_row")),
        NUMBER,
    ),
    rows=MOST_CROPS,
)
"""What Costing counts with: the plan itself rests on where the farm stands."""


_USUAL_WORK = (
    "({usual_loads}*{mixing_minutes}+{usual_steamed}*{steaming_minutes}+{usual_blocks}"
    "*({filling_minutes}+{inoculating_minutes}+{moving_minutes}))/60"
)
USUAL_WEEK = Form(
    "A usual week",
    (
        Calculated("usual_blocks", "Blocks to start", "number", "SUM({usual.week_blocks})"),
        Calculated("usual_loads", "Mixer loads", "number", "SUM({usual.week_loads})"),
        Calculated("usual_steamed", "Steam loads", "number", "SUM({usual.week_steamed})"),
        Calculated("usual_spawn", "Spawn", "kg", "SUM({usual.week_spawn})"),
        Calculated("usual_work", "Work on blocks", "h", _USUAL_WORK),
    ),
)
