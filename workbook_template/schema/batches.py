"""The log of batches: one row for each."""

from __future__ import annotations

from workbook_template.schema.batch_dates import DATES
from workbook_template.schema.batch_figures import CHANGE_TURN, FIGURES, FIXED_COST
from workbook_template.schema.batch_materials import MATERIALS
from workbook_template.schema.batch_rooms import ROOM_FAULTS, ROOMS_TYPED, STANDING
from workbook_template.schema.columns import (
    FIRST_DATE,
    NOTE,
    after_today,
    long_before,
)
from workbook_template.schema.fields import Computed, Field, Rule, Table
from workbook_template.schema.log_columns import (
    picked,
)
from workbook_template.schema.made_with import IS_KEPT, IS_NEW, LACKS, MADE_WITH, TO_COPY, USED

_STATES = '{"incubating","to move","to sell","in fruiting","ended"}'
_LOT_STRAIN, _LOT_USE_BY = (
    f"INDEX({{spawn_lots.{column}}},{{at_lot}})" for column in ("strain", "use_by")
)
_FAULTS = (
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
    *ROOM_FAULTS,
    after_today("moved"),
    Rule(
        "moved",
        "before the batch was made",
        "COUNT({moved})*(N({moved})<N({made}))*(N({made})<={today})",
    ),
    Rule("moved", "in fruiting, yet to be sold whole", "COUNT({moved})*{whole}"),
    after_today("ended"),
    Rule(
        "ended",
        "before the batch was made or moved",
        "COUNT({ended})*((N({ended})<N({made}))*(N({made})<={today})"
        "+(N({ended})<N({moved}))*(N({moved})<={today})>0)",
    ),
)
_WARNINGS = (
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
        '*(1-{whole})*(COUNTIFS({products.strain},{strain},{products.form},"block")=0)',
    ),
    Rule(
        "to_keep",
        "copy the five columns named used, and paste them as values over those before",
        f'{{to_keep}}="{TO_COPY}"',
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
        *ROOMS_TYPED,
        Field(
            "lots",
            "Ingredient lots",
            "text",
            help="What the bags that you opened say, if you note it.",
            required=False,
            width=14.0,
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
            "The day it was removed from fruiting, or sold whole; blank until then.",
            required=False,
        ),
        Field(
            "sold_whole",
            "Sold whole",
            "choice",
            choices="yes",
            help="Blocks for sale, not for your fruiting room; blank: they are fruited.",
            required=False,
            width=8.0,
        ),
        NOTE,
        Computed(
            "state",
            "State",
            "state",
            "CHOOSE(1+((COUNT({ended})*(N({ended})<={today})+({good}<=0))>0),"
            "CHOOSE(1+COUNT({moved})*(N({moved})<={today}),"
            'CHOOSE(1+({move_due}<={today}),"incubating",CHOOSE(1+{whole},"to move","to sell")),'
            '"in fruiting"),"ended")',
            "From the dates; ended also where every block is lost.",
            width=12.0,
        ),
        Computed(
            "due_what",
            "Due next",
            "state",
            f"CHOOSE(MATCH({{state}},{_STATES},0),"
            'CHOOSE(1+{whole},"move to fruiting","sell whole"),"move to fruiting","sell whole",'
            'CHOOSE(1+({flushes_left}>0),"clear out","harvest flush "&({last_flush}+1)),"")',
            "What the due list on Start says.",
        ),
        Computed(
            "due",
            "Due",
            "date",
            f"CHOOSE(MATCH({{state}},{_STATES},0),{{move_due}},{{move_due}},{{move_due}},"
            'CHOOSE(1+({flushes_left}>0),{clear_due},{next_due}),"")',
            "The day for it: a move, a sale, a flush, or clearing out.",
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
            f'"{IS_NEW}",CHOOSE(1+({LACKS}>0),"{IS_KEPT}","{TO_COPY}"))',
            "Whether the settings may change without changing this batch.",
            is_presence=True,
            width=20.0,
        ),
        *USED,
        *DATES,
        *FIGURES,
        *STANDING,
        *MATERIALS,
        FIXED_COST,
        CHANGE_TURN,
    ),
    rows=10,
    faults=_FAULTS,
    warnings=_WARNINGS,
)
