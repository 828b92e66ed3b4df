"""Spawn: the lots, and how to grow more of it."""

from __future__ import annotations

from workbook_template.schema.columns import FIRST_DATE, after_today, due_rank, line_of, place_of
from workbook_template.schema.fields import (
    ASSUMPTION,
    Computed,
    Field,
    Rule,
    Section,
    Table,
)

SPAWN_LOTS = Table(
    "spawn_lots",
    "Spawn lots",
    (
        Field("lot", "Lot", "text", help="The supplier's number, or your own."),
        Field(
            "strain", "Strain", "choice", choices="strains.strain", help="From the Strains sheet."
        ),
        Field("received", "Received", "date", FIRST_DATE, "Or made, if you make your own."),
        Field("use_by", "Use by", "date", FIRST_DATE, "As the supplier says, or by your own rule."),
        Field("mass", "Mass received", "kg", "above 0", "All bags of the lot together."),
        Field(
            "cost",
            "Cost of the lot",
            "money",
            "0 or more",
            "Delivered. Blank: the price of spawn on the Farm sheet.",
            required=False,
        ),
        Field(
            "discarded",
            "Thrown away",
            "kg",
            "0 or more",
            "What you discarded; no longer counted as left.",
            required=False,
        ),
        Computed(
            "used",
            "Used by batches",
            "kg",
            "SUMIFS({batches.spawn},{batches.spawn_lot},{lot})",
            "By the batches of this lot, at their spawn rate.",
        ),
        Computed(
            "left",
            "Left",
            "kg",
            "{mass}-{used}-N({discarded})",
            "Received, less used and thrown away.",
        ),
        Computed(
            "state",
            "State",
            "state",
            'CHOOSE(1+({left}>=-{spawn_rest}),"more used than received",'
            'CHOOSE(1+({left}>{spawn_rest}),"used up",'
            'CHOOSE(1+({use_by}>={today}),"past use-by",'
            'CHOOSE(1+({use_by}>{today}+{spawn_warning}),"use soon","good"))))',
            "From the dates and what is left.",
        ),
        Computed(
            "price",
            "Price",
            "money/kg",
            "CHOOSE(1+COUNT({cost}),{spawn_price},N({cost})/{mass})",
            "Of this lot; its batches cost this much.",
        ),
        line_of("spawn_lots", "lot"),
        place_of("at_strain", "Row of the strain", "strains.strain"),
        Computed(
            "good_for",
            "Row of the strain, if good",
            "count",
            "(N({?left})>{spawn_rest})*(N({?use_by})>={today})*N({?at_strain})",
            "0 where the lot is used up or past its use-by.",
            is_working=True,
        ),
        Computed(
            "good_until",
            "Good until",
            "number",
            "N({?use_by})",
            "Its use-by; 0 where there is none.",
            is_working=True,
        ),
        due_rank("use_by", "spawn_lots", only="*({left}>{spawn_rest})"),
    ),
    rows=20,
    faults=(
        after_today("received"),
        Rule("use_by", "before it was received", "COUNT({received})*({use_by}<N({received}))"),
        Rule("mass", "less than the batches took", "N({left})<0-{spawn_rest}-{rounding}"),
    ),
    warnings=(
        Rule(
            "cost",
            "far from the price on the Farm sheet",
            "(N({cost})>0)*COUNT({price})*COUNT({spawn_price})"
            "*(({price}>{times_off}*{spawn_price})+({price}*{times_off}<{spawn_price})>0)",
        ),
    ),
)

SPAWN = Section(
    "Spawn on hand",
    (
        Field(
            "spawn_warning",
            "Use soon, ahead of use-by",
            "d",
            "0 to 365",
            "When a lot turns to use soon.",
            default=14.0,
            source=ASSUMPTION,
        ),
        Field(
            "spawn_rest",
            "Treat as used up below",
            "kg",
            "0 or more",
            "Scales are not exact: a lot with less than this is used up.",
            default=0.1,
            us_default=0.2,
            source=ASSUMPTION,
        ),
    ),
)

EXPANSION = Section(
    "Grain-to-grain expansion",
    (
        Field(
            "plan_spawn",
            "Spawn wanted",
            "kg",
            "above 0",
            "From the last generation.",
            required=False,
        ),
        Field(
            "plan_expansion",
            "Expansion per generation",
            "number",
            "above 1 to 100",
            "One bag of spawn becomes so many.",
            default=10.0,
            source=ASSUMPTION,
        ),
        Field(
            "plan_generations",
            "Generations",
            "count",
            "0 to 4, whole",
            "How many times spawn is expanded; vigor and cleanness suffer with each.",
            default=2.0,
            source=ASSUMPTION,
        ),
        Field(
            "plan_loss",
            "Bags lost per generation",
            "fraction",
            "0 to below 1",
            "Contaminated or stalled, of the bags made.",
            lowest=0.002,
            default=0.05,
            source=ASSUMPTION,
        ),
    ),
)
