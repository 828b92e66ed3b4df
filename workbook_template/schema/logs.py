"""The logs of batches, harvests and losses: one row a thing that happened."""

from __future__ import annotations

from workbook_template.schema.columns import (
    FIRST_DATE,
    LEAST_SUBSTRATE_MOISTURE,
    MONTH,
    NOTE,
    after_today,
    due_rank,
    line_of,
    long_before,
    place_of,
)
from workbook_template.schema.fields import Computed, Field, Rule, Table
from workbook_template.schema.figures import used_in
from workbook_template.schema.trials import COMPARED

LOSS_CAUSES = "green mold|bacteria|wet spot|cobweb|no growth|insects|torn bag|other"
SEEN_FIRST = "top|side|bottom|filter|around the spawn|all over"


def _month(key: str) -> Computed:
    return Computed(
        "month",
        "Month",
        "state",
        MONTH % (key, key),
        "Sorts and adds up.",
        width=10.0,
        is_working=True,
    )


def flush_of(row: str, flush: str) -> str:
    """Number a flush of the batch in a row of the log, as the look-up of the harvests does."""
    return f"{flush}*ROWS({{batches.batch}})+{row}"


def picked(column: str) -> str:
    """Write the rows of a column of the harvests among which all those of a batch are.

    Looking through all rows for each batch would take four times as long for twice the rows.
    """
    return f"INDEX({{harvests.{column}}},{{from_row}}):INDEX({{harvests.{column}}},{{to_row}})"


def _first_day(*criteria: str) -> str:
    """Return the day of the one harvest of the batch in a row that meets criteria, if it has one.

    A flush has one day everywhere, the first on which it was picked: what growers say, and what
    the days on the Strains sheet are counted between.
    """
    return f'IFERROR(INT(AVERAGEIFS({picked("date")},{",".join(criteria)})),"")'


def _harvest_row(key: str, label: str, anywhere: str, day: str, note: str) -> Computed:
    """Make the column that says where in the harvests those of a batch begin or end."""
    found = f"IFERROR(MATCH({{?made}}+{day},{{harvests.date}},1),1)"
    formula = f"CHOOSE(1+{{harvests_in_order}}*COUNT({{?made}}),{anywhere},{found})"
    return Computed(key, label, "count", formula, note, is_working=True)


def _of(column: str) -> str:
    """Write a figure of the batch that a row names."""
    return f"INDEX({{batches.{column}}},{{at_batch}})"


def _of_batch(key: str, label: str, unit: str, column: str) -> Computed:
    return Computed(key, label, unit, _of(column), "Of the batch.")


_TO_KEEP = "To keep it, copy the value used and paste it here as a value."

_BATCH = Field(
    "batch",
    "Batch",
    "choice",
    choices="batches.batch",
    help="As on the Batches sheet.",
    width=10.0,
)


MADE_WITH = (
    Field(
        "block_mass",
        "Mass of a block",
        "kg",
        "above 0",
        f"Wet substrate in a bag; blank: the mass on the Farm sheet. {_TO_KEEP}",
        required=False,
    ),
    Field(
        "moisture",
        "Moisture",
        "fraction",
        "above 0 to below 0.9",
        f"Measured, of the mixed substrate; blank: the target of the recipe. {_TO_KEEP}",
        lowest=LEAST_SUBSTRATE_MOISTURE,
        usual=0.62,
        required=False,
    ),
    Field(
        "spawn_rate",
        "Spawn rate",
        "fraction",
        "above 0 to 0.5",
        f"Wet spawn over wet substrate; blank: the rate of the strain. {_TO_KEEP}",
        lowest=0.005,
        usual=0.03,
        required=False,
    ),
    Field(
        "block_cost",
        "Cost of a block",
        "money/block",
        "0 or more",
        f"Started, with its spawn; blank: from the prices of today. {_TO_KEEP}",
        required=False,
    ),
    Field(
        "picking_cost",
        "Cost of picking",
        "money/kg",
        "0 or more",
        f"Work on a unit of fresh mass; blank: at the wage of today. {_TO_KEEP}",
        required=False,
    ),
)
"""What a batch was made with: typed, or kept from the settings, which may change afterwards."""


def used(key: str) -> str:
    """Return the key of the column that says what a batch is counted with."""
    return f"{key}_used"


def _kept_or(key: str, settings: str, label: str, unit: str, note: str) -> Computed:
    """Make the column of a figure that a batch was made with, kept or from the settings."""
    formula = f'CHOOSE(1+({{batch}}<>"")*COUNT({{{key}}}),{settings},{{{key}}})'
    return Computed(used(key), f"{label}, used", unit, formula, note)


_LOT_PRICE = (
    "IFERROR(INDEX({spawn_lots.price},{?at_lot}),"
    "{spawn_price}/COUNT({spawn_price}))"  # an error where it is blank, not a price of 0
)
_COST_NOW = (
    "IFERROR({cost_common_block}+INDEX({recipe_costs.together},{at_recipe})"
    "+({block_mass_used}-{$block_mass})*INDEX({recipes.cost_wet},{at_recipe})"
    "+INDEX({strain_costs.incubation},{at_strain})+INDEX({strain_costs.fruiting},{at_strain})"
    f'+{{spawn}}/{{bags}}*{_LOT_PRICE},"")'
)
_USED = (
    _kept_or(
        "block_mass",
        "{$block_mass}",
        "Mass of a block",
        "kg",
        "This batch's own, or that of the Farm sheet.",
    ),
    _kept_or(
        "moisture",
        "INDEX({recipes.target_moisture},{at_recipe})",
        "Moisture",
        "fraction",
        "This batch's own, or the target of the recipe.",
    ),
    _kept_or(
        "spawn_rate",
        used_in("spawn_rate", "{at_strain}"),
        "Spawn rate",
        "fraction",
        "This batch's own, or the rate of the strain.",
    ),
    _kept_or(
        "block_cost",
        _COST_NOW,
        "Cost of a block",
        "money/block",
        "This batch's own, or as on the Costing sheet; empty until its figures are known.",
    ),
    _kept_or(
        "picking_cost",
        f"CFX.LABOR_COST({used_in('picking_minutes', '{at_strain}')},{{hourly_wage}},{{burden}})",
        "Cost of picking",
        "money/kg",
        "This batch's own, or at the wage of today.",
    ),
)
TO_COPY = "copy the figures used"
_IS_NEW, _IS_KEPT = "follows the settings", "yes"


def _lacks(*keys: str) -> str:
    """Return whether one of these figures is known and not kept."""
    known, kept = (",".join(f"{{?{one}}}" for one in each) for each in (map(used, keys), keys))
    return f"(COUNT({known})>COUNT({kept}))"


_AT_THE_END = "picking_cost"
"""What is asked for only when all is picked."""
_LACKS = (
    _lacks(*(one.key for one in MADE_WITH if one.key != _AT_THE_END))
    + f'+({{state}}="ended")*{_lacks(_AT_THE_END)}'
)

_STATES = '{"incubating","to move","in fruiting","ended"}'
_INCUBATION = used_in("incubation_days", "{at_strain}")
_MADE_AND_INCUBATED = f"{{made}}+{_INCUBATION}"
_MOVE_TO_COME = f'MAX(({{state}}="to move")*{{today}},{_MADE_AND_INCUBATED})'
"""What is overdue is expected today."""
_MOVED_OR_DUE = f"CHOOSE(1+COUNT({{moved}}),{_MOVE_TO_COME},{{moved}})"
"""Not rounded: what is counted from here is rounded to a whole day once, at the end."""
_INTERVAL = f"N({used_in('flush_interval_days', '{at_strain}')})"
_LAST_TO_COME = (
    f"MAX({{today}},{{next_due}})+CHOOSE(1+({{flushes_left}}>1),0,({{flushes_left}}-1)*{_INTERVAL})"
)
_LAST_THAT_CAME = "CHOOSE(1+COUNT({?last_picked}),{first_due},{?last_picked})"
_STANDING_ON = (
    f"CHOOSE(1+COUNT({{?last_picked}})*COUNT({{ended}})*({_INTERVAL}>0),"
    "0,{ended}-{?last_picked})"
)

_LOT_STRAIN, _LOT_USE_BY = (
    f"INDEX({{spawn_lots.{column}}},{{at_lot}})" for column in ("strain", "use_by")
)
_BATCH_FAULTS = (
    after_today("made"),
    Rule("bags", "fewer than were lost", "N({good})<0"),
    Rule(
        "spawn_lot",
        "of another strain",
        f"COUNT({{at_strain}})*({_LOT_STRAIN}<>{{strain}})"
        f"*ISNUMBER(MATCH({_LOT_STRAIN},{{strains.strain}},0))",
    ),
    Rule(
        "spawn_lot",
        "past its use-by when the batch was made",
        f"COUNT({_LOT_USE_BY})*({_LOT_USE_BY}<N({{made}}))*(N({{made}})<={{today}})",
    ),
    Rule(
        "steam_run",
        "of a later day than the batch",
        "COUNT({made})*(N(INDEX({steam_runs.date},{at_run}))>{made})"
        "*(N(INDEX({steam_runs.date},{at_run}))<={today})",
    ),
    after_today("moved"),
    Rule(
        "moved",
        "before the batch was made",
        "COUNT({moved})*(N({moved})<N({made}))*(N({made})<={today})",
    ),
    after_today("ended"),
    Rule(
        "ended",
        "before the batch was made or moved",
        "COUNT({ended})*((N({ended})<N({made}))*(N({made})<={today})"
        "+(N({ended})<N({moved}))*(N({moved})<={today})>0)",
    ),
)
_BATCH_WARNINGS = (
    long_before("batches", "made"),
    Rule(
        "block_mass",
        "far from that on the Farm sheet",
        "COUNT({block_mass})*COUNT({$block_mass})*(({block_mass}>{times_off}*{$block_mass})"
        "+({block_mass}*{times_off}<{$block_mass})>0)",
    ),
    Rule(
        "ended",
        "no harvest, yet not all blocks are lost",
        "COUNT({ended})*(N({ended})<={today})*({fresh}=0)*({good}>0)"
        '*(COUNTIFS({products.strain},{strain},{products.form},"block")=0)',
    ),
    Rule(
        "to_keep",
        "copy the five columns named used, and paste them as values over those before",
        f'{{to_keep}}="{TO_COPY}"',
    ),
)


def _product(key: str, label: str, one: str, other: str) -> Computed:
    """Make the column of a product that the intervals on the Results sheet are summed up from."""
    formula = f"{{{one}}}*{{{other}}}"
    note = "Its sum shows how much batches differ from one to the next."
    return Computed(key, label, "number", formula, note, is_working=True)


_SQUARES = (
    _product("fresh_squared", "Fresh mass, squared", "fresh", "fresh"),
    _product("fresh_dry", "Fresh mass times dry substrate", "fresh", "dry_good"),
    _product("dry_squared", "Dry substrate, squared", "dry_good", "dry_good"),
    _product("spent_squared", "Cost, squared", "spent", "spent"),
    _product("spent_fresh", "Cost times fresh mass", "spent", "fresh"),
    Computed(
        "days",
        "First harvest after",
        "d",
        "{first_picked}-{made}",
        "From spawning to the first day of picking.",
        is_working=True,
    ),
    _product("days_squared", "Days, squared", "days", "days"),
)

_KINDS = "{" + ",".join(f'"{kind}"' for kind in COMPARED) + "}"
_TREATMENTS = ",".join(f'{{?{column}}}&""' for column in COMPARED.values())
_IS_NAMED = '({treatment}<>"")*({treatment}=TRIM({?trial_%s}&""))'
_IN_DATES = "({made}>=N({?trial_from}))*((COUNT({?trial_to})=0)+({made}<=N({?trial_to}))>0)"
_OF_TRIAL = (
    Computed(
        "treatment",
        "Treatment",
        "state",
        f'IFERROR(TRIM(CHOOSE(MATCH({{?trial_kind}},{_KINDS},0),{_TREATMENTS})),"")',
        "What the Trials sheet compares by: the recipe, the spawn lot, or another thing.",
        is_working=True,
    ),
    Computed(
        "trial_side",
        "Side of the trial",
        "count",
        f"({{strain}}={{?trial_strain}})*({_IS_NAMED % 'a'}-{_IS_NAMED % 'b'})",
        "1 with treatment A of the Trials sheet, -1 with B; 0 for all other batches.",
        is_working=True,
    ),
    Computed(
        "trial_line",
        "Row in the trial",
        "count",
        f'CHOOSE(1+ABS({{trial_side}})*{{counts}}*{_IN_DATES},"",{{trial_side}}*{{line}})',
        "Of those old enough to judge and made in its dates; below zero for B.",
        is_working=True,
    ),
    Computed(
        "be_squared",
        "BE, squared",
        "number",
        "{be}*{be}",
        "Their sum shows how much BE varies from batch to batch.",
        is_working=True,
    ),
)

BATCHES = Table(
    "batches",
    "Batches",
    (
        Field(
            "batch",
            "Batch",
            "text",
            help="A number or name that is never used again.",
            width=10.0,
        ),
        Field("made", "Made", "date", FIRST_DATE, "The day it was spawned."),
        Field("recipe", "Recipe", "choice", choices="recipes.recipe", help="What it is made of."),
        Field("strain", "Strain", "choice", choices="strains.strain", help="What grows on it."),
        Field("bags", "Blocks made", "count", "1 or more, whole", "Bags filled and spawned."),
        *MADE_WITH,
        Field(
            "spawn_lot",
            "Spawn lot",
            "choice",
            choices="spawn_lots.lot",
            help="From the Spawn sheet.",
            required=False,
            width=11.0,
        ),
        Field(
            "steam_run",
            "Steam run",
            "choice",
            choices="steam_runs.run",
            help="From the Steam runs sheet.",
            required=False,
            width=9.0,
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
            "The day it was removed from fruiting; blank until then.",
            required=False,
        ),
        NOTE,
        Computed(
            "state",
            "State",
            "state",
            "CHOOSE(1+((COUNT({ended})*(N({ended})<={today})+({good}<=0))>0),"
            "CHOOSE(1+COUNT({moved})*(N({moved})<={today}),"
            'CHOOSE(1+({move_due}<={today}),"incubating","to move"),"in fruiting"),"ended")',
            "From the dates; ended also where every block is lost.",
            width=12.0,
        ),
        Computed(
            "due_what",
            "Due next",
            "state",
            f'CHOOSE(MATCH({{state}},{_STATES},0),"move to fruiting","move to fruiting",'
            'CHOOSE(1+({flushes_left}>0),"clear out","harvest flush "&({last_flush}+1)),"")',
            "What the due list on Start says.",
        ),
        Computed(
            "due",
            "Due",
            "date",
            f"CHOOSE(MATCH({{state}},{_STATES},0),{{move_due}},{{move_due}},"
            'CHOOSE(1+({flushes_left}>0),{clear_due},{next_due}),"")',
            "The day for it: a move, a flush, or clearing out.",
        ),
        Computed(
            "lost",
            "Blocks lost",
            "count",
            "SUMIFS({losses.blocks},{losses.batch},{batch})",
            "From the Losses sheet.",
        ),
        Computed("good", "Good blocks", "count", "{bags}-{lost}", "Made, less lost."),
        Computed(
            "fresh",
            "Fresh mass",
            "kg",
            f"SUMIFS({picked('fresh')},{picked('at_batch')},{{line}})",
            "From the Harvests sheet, so far.",
        ),
        Computed(
            "be",
            "BE so far",
            "fraction",
            'CHOOSE(1+({fresh}>0)*({good}>0),"",CFX.BIOLOGICAL_EFFICIENCY({fresh},{dry_good}))',
            "Fresh mass so far over the dry substrate of the good blocks.",
        ),
        Computed(
            "cost_per_mass",
            "Cost so far",
            "money/kg",
            'CHOOSE(1+({fresh}>0),"",{spent}/{fresh})',
            "The batch over its fresh mass so far, with the picking.",
        ),
        Computed(
            "to_keep",
            "Figures kept",
            "state",
            'CHOOSE(1+(({made}+{keep_days}<={today})+({state}="ended")>0),'
            f'"{_IS_NEW}",CHOOSE(1+({_LACKS}>0),"{_IS_KEPT}","{TO_COPY}"))',
            "Whether the settings may change without changing this batch.",
            is_presence=True,
            width=20.0,
        ),
        *_USED,
        Computed(
            "move_due",
            "Move expected",
            "date",
            f"ROUND({_MADE_AND_INCUBATED},0)",
            "Made, and the days of incubation of the strain.",
            is_working=True,
        ),
        Computed(
            "first_due",
            "First flush expected",
            "date",
            f"ROUND({_MOVED_OR_DUE}+{used_in('first_flush_days', '{at_strain}')},0)",
            "Counted from the move, once that has a date.",
            is_working=True,
        ),
        Computed(
            "clear_due",
            "Clearing expected",
            "date",
            'CHOOSE(1+({state}="ended"),ROUND('
            f"CHOOSE(1+({{flushes_left}}>0),{_LAST_THAT_CAME},{_LAST_TO_COME})"
            '+{turnover_days},0),"")',
            "After the last planned flush, later where one is late, with the turnaround days.",
            is_working=True,
        ),
        Computed(
            "first_picked",
            "First flush picked",
            "date",
            _first_day(picked("batch_flush"), flush_of("{line}", "1"), picked("begins"), "1"),
            "The first day of picking, where it took several.",
            is_working=True,
        ),
        Computed(
            "flushes_picked",
            "Flushes picked",
            "count",
            f"SUMIFS({picked('begins')},{picked('at_batch')},{{line}})",
            "How many different flushes the harvests name.",
            is_working=True,
        ),
        Computed(
            "flushes_left",
            "Flushes to come",
            "count",
            '({state}<>"ended")*MAX(0,INDEX({strains.flushes},{at_strain})-{last_flush})',
            "Of the planned flushes, after the last one picked; none once it has ended.",
            is_working=True,
        ),
        Computed(
            "last_flush",
            "Last flush picked",
            "count",
            f"SUMIFS({picked('flush')},{picked('at_batch')},{{line}},{picked('last')},1)",
            "The highest number among its harvests; 0 before the first.",
            is_working=True,
        ),
        Computed(
            "last_picked",
            "Last flush, first day",
            "date",
            _first_day(picked("at_batch"), "{line}", picked("last"), "1"),
            "The first day on which that flush was picked.",
            is_working=True,
        ),
        Computed(
            "next_due",
            "Next flush expected",
            "date",
            "CHOOSE(1+COUNT({?last_picked}),{first_due},"
            f"ROUND({{?last_picked}}+{_INTERVAL},0))",
            "A later flush is counted from the first day of the one before.",
            is_working=True,
        ),
        Computed(
            "kept_for",
            "Kept for flushes",
            "count",
            'CHOOSE(1+({state}="ended"),"",MAX(COUNT({moved}),'
            f"{{last_flush}}+INT(MAX(0,{_STANDING_ON})/MAX(1,{_INTERVAL}))))",
            "Of an ended batch: those picked, and any whose day came before it was cleared out.",
            is_working=True,
        ),
        _month("made"),
        Computed(
            "dry_substrate",
            "Dry substrate",
            "kg",
            "CFX.DRY_MASS({bags}*{block_mass_used},{moisture_used})",
            "Of all blocks made.",
            is_working=True,
        ),
        Computed(
            "dry_good",
            "Dry substrate, good blocks",
            "kg",
            "{dry_substrate}*{good}/{bags}",
            "Of the blocks made, less those lost.",
            is_working=True,
        ),
        Computed(
            "spawn",
            "Spawn",
            "kg",
            "CFX.SPAWN_NEEDED({bags}*{block_mass_used},{spawn_rate_used})",
            "At the rate used.",
            is_working=True,
        ),
        Computed(
            "cost",
            "Cost of the batch",
            "money",
            "{bags}*{block_cost_used}",
            "Of all blocks made.",
            is_working=True,
        ),
        Computed(
            "spent",
            "Cost with the picking",
            "money",
            "{cost}+{fresh}*{picking_cost_used}",
            "Of all blocks made, and of what was picked so far.",
            is_working=True,
        ),
        Computed(
            "lost_cost",
            "Cost of the blocks lost",
            "money",
            "{lost}*{block_cost_used}",
            "At the cost of a block started.",
            is_working=True,
        ),
        Computed(
            "lost_squared",
            "Blocks lost, squared, over those made",
            "number",
            "{lost}*{lost}/{bags}",
            "Their sum shows how much more the losses of batches vary than luck makes them.",
            is_working=True,
        ),
        *_SQUARES,
        Computed(
            "move_squared",
            "Days to the move, squared",
            "number",
            "({moved}-{made})^2",
            "Their sum shows how much the days of batches differ.",
            is_working=True,
        ),
        Computed(
            "first_squared",
            "Days to the first flush, squared",
            "number",
            "({first_picked}-{moved})^2",
            "Counted from the move.",
            is_working=True,
        ),
        Computed(
            "next_squared",
            "Days between flushes, squared",
            "number",
            'CHOOSE(1+({last_flush}>1),"",({last_picked}-{first_picked})^2/({last_flush}-1))',
            "Over the steps from flush to flush.",
            is_working=True,
        ),
        Computed(
            "planned_lost",
            "Blocks lost as planned",
            "number",
            "{bags}*INDEX({strains.loss_rate},{at_strain})",
            "At the loss that the Strains sheet plans.",
            is_working=True,
        ),
        Computed(
            "luck_turn",
            "Turn, incubation over",
            "number",
            'CHOOSE(1+({state}<>"incubating"),"",INT({made})+{line}/(1+ROWS({batches.batch})))',
            "Orders the batches whose losses are in: the day made, and a part of a day by row.",
            is_working=True,
        ),
        Computed(
            "yield_turn",
            "Turn, ended and picked",
            "number",
            'CHOOSE(1+({state}="ended")*COUNT({be}),"",'
            "INT({made})+{line}/(1+ROWS({batches.batch})))",
            "Orders the batches with a final BE: the day made, and a part of a day by row.",
            is_working=True,
        ),
        Computed(
            "counts",
            "Old enough to judge",
            "count",
            f"({_MADE_AND_INCUBATED}+{used_in('fruiting_days', '{at_strain}')}<={{today}})*1",
            "1 once the day has passed on which a batch of its strain is cleared out, ended or "
            "not: counting only ended ones would count those lost whole too early.",
            is_working=True,
        ),
        Computed(
            "finished",
            "Old enough, and nothing to come",
            "count",
            "{counts}*({flushes_left}=0)",
            "1 where it also has ended, or gave its planned flushes: one that is late would count "
            "as a poor yield.",
            is_working=True,
        ),
        Computed(
            "judged_turn",
            "Turn, old enough to judge",
            "number",
            'CHOOSE(1+{counts},"",INT({made})+{line}/(1+ROWS({batches.batch})))',
            "Orders the batches old enough to judge: the day made, and a part of a day by row.",
            is_working=True,
        ),
        line_of("batches", "batch"),
        Computed(
            "open_line",
            "Row, in progress",
            "count",
            'CHOOSE(1+({state}<>"ended"),"",{line})',
            "Lists the batches in progress on the Forecast sheet.",
            is_working=True,
        ),
        due_rank("due", "{line}"),
        place_of("at_recipe", "Row of the recipe", "recipes.recipe"),
        place_of("at_strain", "Row of the strain", "strains.strain"),
        place_of("at_lot", "Row of the spawn lot", "spawn_lots.lot", choice="spawn_lot"),
        place_of("at_run", "Row of the steam run", "steam_runs.run", choice="steam_run"),
        *_OF_TRIAL,
        _harvest_row(
            "from_row",
            "Harvests from row",
            "MIN(1,{line})",
            "{?harvests_soonest}-1",
            "Its harvests are in no row before.",
        ),
        _harvest_row(
            "to_row",
            "Harvests to row",
            "MIN(1,{line})*ROWS({harvests.date})",
            "{?harvests_latest}+1",
            "Its harvests are in no row behind.",
        ),
    ),
    rows=10,
    faults=_BATCH_FAULTS,
    warnings=_BATCH_WARNINGS,
)

_MADE_BY = "MATCH({?date},{batches.made},1)"
_MADE_FROM = f"MIN({_MADE_BY},IFERROR(MATCH({{?date}}-365/2,{{batches.made}},1),1))"
"""The rows of the batches of the half year before, if their log is in the order of dates."""


def _same(column: str) -> str:
    """Write the rows of a column of the harvests among which are those of the row's batch."""
    ends = (f"INDEX({{batches.{end}}},{{at_batch}})" for end in ("from_row", "to_row"))
    return ":".join(f"INDEX({{harvests.{column}}},{end})" for end in ends)


def _of_same(column: str) -> str:
    """Write the criterion that a harvest has what the row has in a column."""
    return f"{_same(column)},{{{column}}}"


_EARLIER = f'COUNTIFS({_of_same("batch_flush")},{_same("turn")},"<"&{{turn}})'
_BATCH_FROM = "INDEX({batches.from_row},{at_batch})"
_FIRST_ROW = (
    f"MATCH({{batch_flush}},INDEX({{harvests.batch_flush}},{_BATCH_FROM}):"
    f"INDEX({{harvests.batch_flush}},{{line}}),0)+{_BATCH_FROM}-1"
)
"""Found at once where the rows are in the order of their dates: no later row is looked at."""

_BATCH_MADE, _BATCH_ENDED = _of("made"), _of("ended")
_BATCH_STRAIN = _of("at_strain")
_FLUSHES = f"N(INDEX({{strains.flushes}},{_BATCH_STRAIN}))"
_EXPECTED = f"{_of('dry_substrate')}*{used_in('biological_efficiency', _BATCH_STRAIN)}"
_BLOCKS_WEIGHED = f"{_of('bags')}*{_of('block_mass_used')}"


def _before_made() -> Rule:
    """Make the rule that nothing comes from a batch before it was made."""
    return Rule(
        "date", "before the batch was made", f"(N({{days}})<0)*(N({_BATCH_MADE})<={{today}})"
    )


HARVESTS = Table(
    "harvests",
    "Harvests",
    (
        _BATCH,
        Field("date", "Date", "date", FIRST_DATE, "The day of picking."),
        Field("flush", "Flush", "count", "1 to 9, whole", "1 for the first, 2 for the second."),
        Field("fresh", "Fresh mass", "kg", "0 or more", "Trimmed, as it goes to the cold room."),
        Field(
            "unsold",
            "Unsold",
            "kg",
            "0 or more",
            "Spoiled, given away; blank counts as nothing.",
            required=False,
        ),
        Field(
            "minutes",
            "Picking time",
            "min",
            "0 or more",
            "If you timed it: all who picked, together.",
            required=False,
            width=9.0,
        ),
        NOTE,
        _of_batch("strain", "Strain", "state", "strain"),
        _of_batch("recipe", "Recipe", "state", "recipe"),
        _month("date"),
        Computed(
            "days",
            "Since made",
            "d",
            "{date}-INDEX({batches.made},{at_batch})",
            "From spawning to this picking.",
        ),
        Computed(
            "of_ended",
            "Of an ended batch",
            "count",
            '(INDEX({batches.state},{at_batch})="ended")*1',
            "1 where it is: such harvests count for the farm's own figures.",
            is_working=True,
        ),
        Computed(
            "batch_flush",
            "Batch and flush",
            "count",
            flush_of("{at_batch}", "{flush}"),
            "One number for each flush of each batch: programs find numbers fastest.",
            is_working=True,
        ),
        Computed(
            "begins",
            "Begins a flush",
            "count",
            f"CHOOSE(1+{{harvests_in_order}},({_EARLIER}=0)*1,({_FIRST_ROW}={{line}})*1)",
            "1 on the first day of each flush of a batch, in one row.",
            is_working=True,
        ),
        Computed(
            "flush_be",
            "BE of its flush",
            "fraction",
            f'CHOOSE(1+{{begins}}*{{of_ended}}*(N({_of("dry_good")})>0),"",'
            f"SUMIFS({_same('fresh')},{_of_same('batch_flush')})/{_of('dry_good')})",
            "Of an ended batch, in the row in which the flush begins.",
            is_working=True,
        ),
        Computed(
            "flush_be_squared",
            "BE of its flush, squared",
            "number",
            "{flush_be}^2",
            "Their sum shows how much the flushes of batches differ.",
            is_working=True,
        ),
        Computed(
            "last",
            "Begins the last flush",
            "count",
            f"CHOOSE(1+{{begins}},0,(COUNTIFS({_of_same('at_batch')},"
            f'{_same("flush")},">"&{{flush}})=0)*1)',
            "1 where no later flush of the batch was picked.",
            is_working=True,
        ),
        Computed(
            "turn",
            "Turn",
            "number",
            "CHOOSE(1+COUNT({?date}),N({?harvests_end}),INT({?date}))"
            "*(1+ROWS({harvests.date}))+{line}",
            "Orders the rows by day, and those of a day as they stand; without a date, at the end.",
            is_working=True,
        ),
        Computed(
            "backward",
            "Before the row above",
            "count",
            "({date}<N(INDEX({harvests.date},MAX(1,{line}-1))))*1",
            "1 where the date is before that of the row above.",
            is_working=True,
        ),
        line_of("harvests", "batch"),
        Computed(
            "at_batch",
            "Row of the batch",
            "count",
            f"IFERROR({_MADE_FROM}-1+MATCH({{batch}},INDEX({{batches.batch}},{_MADE_FROM}):"
            f"INDEX({{batches.batch}},{_MADE_BY}),0),"
            'IFERROR(MATCH({batch},{batches.batch},0),""))',
            "Looked for among the batches of the half year before, then among all.",
            finds="batch",
            is_working=True,
        ),
    ),
    rows=40,
    unique=False,
    faults=(
        after_today("date"),
        _before_made(),
        Rule(
            "date",
            "after the batch ended",
            f"COUNT({_BATCH_ENDED})*({{date}}>N({_BATCH_ENDED}))*(N({_BATCH_ENDED})>=N({_BATCH_MADE}))",
        ),
        Rule("unsold", "more than was picked", "COUNT({fresh})*(N({unsold})>{fresh})"),
        Rule(
            "fresh",
            "more than its blocks weighed",
            f"COUNT({{fresh}})*({{fresh}}>{_BLOCKS_WEIGHED})",
        ),
    ),
    warnings=(
        long_before("harvests", "date"),
        Rule(
            "flush",
            "more than planned for this strain",
            f"COUNT({{flush}})*({{flush}}>{_FLUSHES})*({_FLUSHES}>0)",
        ),
        Rule(
            "fresh",
            "far above the plan of its batch",
            f"COUNT({{fresh}})*({{fresh}}>{{most_of_plan}}*{_EXPECTED})*({{fresh}}<={_BLOCKS_WEIGHED})",
        ),
    ),
)


def _not_earned(key: str, label: str, note: str) -> Computed:
    """Make the column of a figure of a good block of the strain, for all blocks of the row."""
    of_strain = f"INDEX({{strain_money.{key}}},{_of('at_strain')})"
    return Computed(key, label, "money", f"{{blocks}}*{of_strain}", note, is_working=True)


LOSSES = Table(
    "losses",
    "Losses",
    (
        _BATCH,
        Field("date", "Date", "date", FIRST_DATE, "The day it was thrown out."),
        Field(
            "blocks",
            "Blocks lost",
            "count",
            "1 or more, whole",
            "Contaminated, or lost; thrown out before picking.",
        ),
        Field(
            "cause",
            "Cause",
            "choice",
            choices=LOSS_CAUSES,
            help="Cause observed. Wet spot: slimy, sour-smelling patches around the grain; brown "
            "blotch on caps is bacteria. Cobweb: thin gray mold that spreads fast on the surface.",
        ),
        Field(
            "seen",
            "Seen first",
            "choice",
            choices=SEEN_FIRST,
            help="Where on the block it showed first. Leave blank if nobody saw it.",
            required=False,
            width=16.0,
        ),
        NOTE,
        _of_batch("strain", "Strain", "state", "strain"),
        _of_batch("recipe", "Recipe", "state", "recipe"),
        _month("date"),
        Computed(
            "days",
            "Since made",
            "d",
            "{date}-INDEX({batches.made},{at_batch})",
            "How old the block was.",
        ),
        Computed(
            "block_days",
            "Blocks times days since made",
            "number",
            "{blocks}*{days}",
            "Their sum over the blocks lost is how old these were on average.",
            is_working=True,
        ),
        Computed(
            "spent",
            "Spent on these blocks",
            "money",
            "{blocks}*INDEX({batches.block_cost_used},{at_batch})",
            "At the cost of a block of the batch.",
            is_working=True,
        ),
        _not_earned("contribution", "Contribution not earned", "Of good blocks of the strain."),
        _not_earned("fixed", "Fixed cost share", "In what was spent, and earned by contributions."),
        Computed(
            "loss_cost",
            "Cost of the loss",
            "money",
            "{spent}+{contribution}-{fixed}",
            "Spent and not earned, the fixed cost share counted once.",
            is_working=True,
        ),
        place_of("at_batch", "Row of the batch", "batches.batch"),
        line_of("losses", "batch"),
    ),
    rows=10,
    unique=False,
    faults=(after_today("date"), _before_made()),
    warnings=(long_before("losses", "date"),),
)
