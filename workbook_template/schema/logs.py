"""The logs: spawn lots, steam runs, batches, harvests, losses. One row a thing that happened."""

from __future__ import annotations

from workbook_template.fields import Computed, Field, Table, times_named

FIRST_DATE = "61 or more"
"""Dates before March 1900 are counted differently from program to program."""

LOSS_CAUSES = "green mold|bacteria|no growth|insects|torn bag|other"

ROWS_DUE = "(1+ROWS({batches.batch})+ROWS({spawn_lots.lot}))"
"""More than the rows of all tables that the due list reads: a row's part of it is below 1."""

MONTH = 'YEAR({%s})&"-"&TEXT(MONTH({%s}),"00")'


def _month(key: str) -> Computed:
    return Computed("month", "Month", "state", MONTH % (key, key), "Sorts and adds up.")


def _line(table: str, key: str) -> Computed:
    formula = f"ROW({{{key}}})-ROW(INDEX({{{table}.{key}}},1))+1"
    return Computed("line", "Row", "count", formula, "Numbers the rows of the table.")


def _place(key: str, label: str, column: str) -> Computed:
    """Make the column that says in which row of another table a choice stands."""
    choice = column.partition(".")[2]
    return Computed(
        key,
        label,
        "count",
        f'IFERROR(MATCH({{{choice}}},{{{column}}},0),"")',
        "Where the rest of the row looks it up; empty where it is on no list.",
    )


def _of_batch(key: str, label: str, unit: str, column: str) -> Computed:
    return Computed(key, label, unit, f"INDEX({{batches.{column}}},{{at_batch}})", "Of the batch.")


def _batch_found() -> Computed:
    return Computed(
        "found",
        "Batch found",
        "count",
        "COUNTIF({batches.batch},{batch})",
        "0 where the batch is not on the sheet Batches.",
    )


def _early() -> Computed:
    return Computed(
        "early",
        "Before batch made",
        "count",
        "({date}<INDEX({batches.made},{at_batch}))*1",
        "1 where the date lies before the batch was made.",
    )


_BATCH = Field(
    "batch", "Batch", "choice", choices="batches.batch", help="As on the sheet Batches."
)
_NOTE = Field("note", "Note", "text", help="Whatever you want to remember.", required=False)

SPAWN_LOTS = Table(
    "spawn_lots",
    "Spawn lots",
    (
        Field("lot", "Lot", "text", help="The maker's number, or your own."),
        Field("strain", "Strain", "choice", choices="strains.strain", help="What grows in it."),
        Field("received", "Received", "date", FIRST_DATE, "Or made, where you make it."),
        Field("use_by", "Use by", "date", FIRST_DATE, "As the maker says, or your own rule."),
        Field("mass", "Mass received", "kg", "above 0", "Of all bags of the lot."),
        Field(
            "cost",
            "Cost of the lot",
            "money",
            "0 or more",
            "Delivered; blank: the price of spawn on the sheet Farm.",
            required=False,
        ),
        Field(
            "discarded",
            "Thrown away",
            "kg",
            "0 or more",
            "What went to waste, so that it no longer counts as left.",
            required=False,
        ),
        Computed(
            "used",
            "Used by batches",
            "kg",
            "SUMIFS({batches.spawn},{batches.spawn_lot},{lot})",
            "Batches that name the lot, at the rate of their strain.",
        ),
        Computed(
            "left", "Left", "kg", "{mass}-{used}-N({discarded})", "Received, less used and waste."
        ),
        Computed(
            "state",
            "State",
            "state",
            'CHOOSE(1+({left}>=-{rounding}),"more used than received",'
            'CHOOSE(1+({left}>{rounding}),"used up",'
            'CHOOSE(1+({use_by}>={today}),"past use-by",'
            'CHOOSE(1+({use_by}>{today}+{spawn_warning}),"use soon","good"))))',
            "From the dates and what is left.",
        ),
        Computed(
            "price",
            "Price",
            "money/kg",
            "CHOOSE(1+COUNT({cost}),{spawn_price},N({cost})/{mass})",
            "Of this lot; its batches are costed with it.",
        ),
        Computed(
            "found",
            "Strain found",
            "count",
            "COUNTIF({strains.strain},{strain})",
            "0 where the strain is not on its list.",
        ),
        times_named("spawn_lots", "lot"),
        _line("spawn_lots", "lot"),
        Computed(
            "rank",
            "Place in the due list",
            "number",
            "CHOOSE(1+({left}>{rounding})*({use_by}<={today}+7),"
            f'"",{{use_by}}+(ROWS({{batches.batch}})+{{line}})/{ROWS_DUE})',
            "The date, and behind the point a part of a day that tells rows apart.",
        ),
    ),
    rows=20,
)

_MOVED_OR_DUE = "CHOOSE(1+COUNT({moved}),{move_due},{moved})"

BATCHES = Table(
    "batches",
    "Batches",
    (
        Field("batch", "Batch", "text", help="A number or name that is never used again."),
        Field("made", "Made", "date", FIRST_DATE, "The day it was spawned."),
        Field("recipe", "Recipe", "choice", choices="recipes.recipe", help="What it is made of."),
        Field("strain", "Strain", "choice", choices="strains.strain", help="What grows on it."),
        Field("bags", "Blocks made", "count", "1 or more, whole", "Bags filled and spawned."),
        Field(
            "block_mass",
            "Mass of a block",
            "kg",
            "above 0",
            "Wet substrate in a bag; blank: the mass on the sheet Farm.",
            required=False,
        ),
        Field(
            "moisture",
            "Moisture, measured",
            "fraction",
            "above 0 to below 0.9",
            "Of the mixed substrate; blank: the target of the recipe.",
            required=False,
        ),
        Field(
            "spawn_lot",
            "Spawn lot",
            "choice",
            choices="spawn_lots.lot",
            help="From the sheet Spawn.",
            required=False,
        ),
        Field(
            "steam_run",
            "Steam run",
            "choice",
            choices="steam_runs.run",
            help="From the sheet Steam.",
            required=False,
        ),
        Field(
            "moved",
            "Moved",
            "date",
            FIRST_DATE,
            "The day it went into fruiting; blank until then.",
            required=False,
        ),
        Field(
            "ended",
            "Ended",
            "date",
            FIRST_DATE,
            "The day it was cleared out; blank until then.",
            required=False,
        ),
        _NOTE,
        Computed(
            "state",
            "State",
            "state",
            "CHOOSE(1+((COUNT({ended})*(N({ended})<={today})+({good}<=0))>0),"
            "CHOOSE(1+COUNT({moved})*(N({moved})<={today}),"
            'CHOOSE(1+({move_due}<={today}),"incubating","to move"),"in fruiting"),"ended")',
            "From the dates; ended also where every block is lost.",
        ),
        Computed(
            "move_due",
            "Move expected",
            "date",
            "{made}+INDEX({strains.incubation_days},{at_strain})",
            "Made, and the days of incubation of the strain.",
        ),
        Computed(
            "first_due",
            "First flush expected",
            "date",
            _MOVED_OR_DUE + "+INDEX({strains.first_flush_days},{at_strain})",
            "Counted from the move, once that has a date.",
        ),
        Computed(
            "next_due",
            "Next flush expected",
            "date",
            "CHOOSE(1+({flushes_picked}<INDEX({strains.flushes},{at_strain}))*({state}<>"
            '"ended"),"",IFERROR(AVERAGEIFS({harvests.date},{harvests.batch_flush},'
            '{batch}&"|"&{flushes_picked})+N(INDEX({strains.flush_interval_days},{at_strain})),'
            "{first_due}))",
            "From the days on which the flush before was picked.",
        ),
        Computed(
            "clear_due",
            "Clearing expected",
            "date",
            _MOVED_OR_DUE + "+INDEX({strains.fruiting_days},{at_strain})",
            "After the last flush that you wait for, with the days to clear a place.",
        ),
        Computed(
            "lost",
            "Blocks lost",
            "count",
            "SUMIFS({losses.blocks},{losses.batch},{batch})",
            "From the sheet Losses.",
        ),
        Computed("good", "Good blocks", "count", "{bags}-{lost}", "Made, less lost."),
        Computed(
            "fresh",
            "Fresh mass",
            "kg",
            "SUMIFS({harvests.fresh},{harvests.batch},{batch})",
            "From the sheet Harvests, so far.",
        ),
        Computed(
            "be",
            "BE",
            "fraction",
            'CHOOSE(1+({fresh}>0)*({good}>0),"",CFX.BIOLOGICAL_EFFICIENCY({fresh},'
            "{dry_substrate}*{good}/{bags}))",
            "Fresh mass so far over the dry substrate of the good blocks.",
        ),
        Computed(
            "cost_per_mass",
            "Cost",
            "money/kg",
            'CHOOSE(1+({fresh}>0),"",{cost}/{fresh}'
            "+CFX.LABOR_COST({harvesting_minutes},{hourly_wage},{burden}))",
            "The batch over its fresh mass so far, with the picking.",
        ),
        Computed(
            "flushes_picked",
            "Flushes picked",
            "count",
            "SUMIFS({harvests.begins},{harvests.batch},{batch})",
            "How many different flushes the harvests name.",
        ),
        Computed(
            "first_picked",
            "First flush picked",
            "date",
            'IFERROR(AVERAGEIFS({harvests.date},{harvests.batch_flush},{batch}&"|"&1),"")',
            "Mean day, where it took several.",
        ),
        Computed(
            "block_mass_used",
            "Mass of a block, used",
            "kg",
            "CHOOSE(1+COUNT({block_mass}),{farm.block_mass},{block_mass})",
            "This batch's own, or that of the sheet Farm.",
        ),
        Computed(
            "moisture_used",
            "Moisture, used",
            "fraction",
            "CHOOSE(1+COUNT({moisture}),INDEX({recipes.target_moisture},{at_recipe}),{moisture})",
            "Measured, or the target of the recipe.",
        ),
        Computed(
            "dry_substrate",
            "Dry substrate",
            "kg",
            "CFX.DRY_MASS({bags}*{block_mass_used},{moisture_used})",
            "Of all blocks made.",
        ),
        Computed(
            "spawn",
            "Spawn",
            "kg",
            "CFX.SPAWN_NEEDED({bags}*{block_mass_used},INDEX({strains.spawn_rate},{at_strain}))",
            "At the rate of the strain.",
        ),
        Computed(
            "cost",
            "Cost of the batch",
            "money",
            "{bags}*({cost_started}+{block_mass_used}*INDEX({recipes.cost_wet},{at_recipe})"
            "+({incubation_energy}*INDEX({strains.incubation_days},{at_strain})"
            "/{incubation_places}"
            "+{fruiting_energy}*INDEX({strains.fruiting_days},{at_strain})/{fruiting_places})"
            "*{electricity_price})+{spawn}*IFERROR(INDEX({spawn_lots.price},"
            "MATCH({spawn_lot},{spawn_lots.lot},0)),{spawn_price})",
            "All blocks made: what every block costs, ingredients, rooms, spawn.",
        ),
        _month("made"),
        Computed(
            "due_what",
            "Due next",
            "state",
            'CHOOSE(MATCH({state},{"incubating","to move","in fruiting","ended"},0),'
            '"move to fruiting","move to fruiting",'
            'CHOOSE(1+COUNT({next_due}),"clear out","harvest flush "&({flushes_picked}+1)),"")',
            "What the due list on Start says.",
            waits_for=(),
        ),
        Computed(
            "due",
            "Due",
            "date",
            'CHOOSE(MATCH({state},{"incubating","to move","in fruiting","ended"},0),'
            "{move_due},{move_due},"
            'CHOOSE(1+COUNT({next_due}),{clear_due},{next_due}),"")',
            "The day for it.",
        ),
        Computed(
            "rank",
            "Place in the due list",
            "number",
            f'CHOOSE(1+({{due}}<={{today}}+7),"",{{due}}+{{line}}/{ROWS_DUE})',
            "The date, and behind the point a part of a day that tells rows apart.",
        ),
        Computed(
            "found",
            "Choices found",
            "count",
            "MIN(COUNTIF({recipes.recipe},{recipe}),COUNTIF({strains.strain},{strain}),"
            '({spawn_lot}="")+COUNTIF({spawn_lots.lot},{spawn_lot}),'
            '({steam_run}="")+COUNTIF({steam_runs.run},{steam_run}))',
            "0 where a recipe, strain, lot or run is not on its list.",
        ),
        Computed(
            "out_of_order",
            "Dates out of order",
            "count",
            "COUNT({moved})*(N({moved})<{made})+COUNT({ended})*(N({ended})<MAX({made},N({moved})))",
            "1 for a move before it was made, 1 for an end before that.",
        ),
        Computed(
            "spawn_unfit",
            "Spawn of another strain, or old",
            "count",
            "IFERROR((INDEX({spawn_lots.strain},MATCH({spawn_lot},{spawn_lots.lot},0))<>{strain})"
            "+(INDEX({spawn_lots.use_by},MATCH({spawn_lot},{spawn_lots.lot},0))<{made}),0)",
            "1 for a lot of another strain, 1 for a lot past its use-by.",
        ),
        Computed(
            "unsteamed",
            "Made before steamed",
            "count",
            "IFERROR((INDEX({steam_runs.date},MATCH({steam_run},{steam_runs.run},0))>{made})*1,0)",
            "1 where the steam run is of a later day.",
        ),
        times_named("batches", "batch"),
        _line("batches", "batch"),
        _place("at_recipe", "Row of the recipe", "recipes.recipe"),
        _place("at_strain", "Row of the strain", "strains.strain"),
    ),
    rows=10,
)
