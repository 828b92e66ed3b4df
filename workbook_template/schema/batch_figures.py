"""What a batch adds up to, out of sight: masses, money, turns, and what trials and Results ask."""

from __future__ import annotations

from workbook_template.schema.batch_dates import MADE_AND_INCUBATED
from workbook_template.schema.columns import (
    due_rank,
    line_of,
    place_of,
)
from workbook_template.schema.fields import Computed
from workbook_template.schema.figures import used_in
from workbook_template.schema.log_columns import (
    month_of,
)
from workbook_template.schema.trace import TRACED_BATCH
from workbook_template.schema.trials import COMPARED


def _harvest_row(key: str, label: str, anywhere: str, day: str, note: str) -> Computed:
    """Make the column that says where in the harvests those of a batch begin or end."""
    found = f"IFERROR(MATCH({{?made}}+{day},{{harvests.date}},1),1)"
    formula = f"CHOOSE(1+{{harvests_in_order}}*COUNT({{?made}}),{anywhere},{found})"
    return Computed(key, label, "count", formula, note, is_working=True)


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
_IS_NAMED = '({treatment}<>"")*({treatment}=TRIM({?trial_used_%s}&""))'
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
        f"({{strain}}={{?trial_used_strain}})*({_IS_NAMED % 'a'}-{_IS_NAMED % 'b'})",
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


FIGURES = (
    month_of("made"),
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
        'CHOOSE(1+({state}="ended")*COUNT({be}),"",INT({made})+{line}/(1+ROWS({batches.batch})))',
        "Orders the batches with a final BE: the day made, and a part of a day by row.",
        is_working=True,
    ),
    Computed(
        "counts",
        "Old enough to judge",
        "count",
        f"({MADE_AND_INCUBATED}+{used_in('fruiting_days', '{at_strain}')}<={{today}})*1",
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
    due_rank("due", "batches"),
    Computed(
        "whole",
        "Is sold whole",
        "count",
        '({?sold_whole}="yes")*1',
        "1 for blocks that are not fruited here.",
        is_working=True,
    ),
    place_of("at_recipe", "Row of the recipe", "recipes.recipe"),
    place_of("at_strain", "Row of the strain", "strains.strain"),
    place_of("at_lot", "Row of the spawn lot", "spawn_lots.lot", choice="spawn_lot"),
    place_of("at_run", "Row of the steam run", "steam_runs.run", choice="steam_run"),
    *_OF_TRIAL,
    TRACED_BATCH,
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
)

_OF_CHANGES = '({treatment}<>"")*((({?trial_strain}&""="")+({strain}={?trial_strain}))>0)'
CHANGE_TURN = Computed(
    "change_turn",
    "Turn, to find the newest change",
    "number",
    f'CHOOSE(1+{_OF_CHANGES},"",INT({{made}})+{{line}}/(1+ROWS({{batches.batch}})))',
    "Of the strain on the Trials sheet, or of all: the day made, and a part of a day by row.",
    is_working=True,
)

FIXED_COST = Computed(
    "fixed_cost",
    "Fixed costs in its cost",
    "money",
    "{bags}*({cost_equipment}+{cost_overhead}+INDEX({strain_costs.incubation},{at_strain})"
    "+INDEX({strain_costs.fruiting},{at_strain}))",
    "Its part of equipment, overhead and room energy, as on the Costing sheet.",
    is_working=True,
)
