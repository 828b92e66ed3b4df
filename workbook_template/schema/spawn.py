"""Spawn: the lots, and how to grow more of it."""

from __future__ import annotations

from workbook_template.schema.columns import FIRST_DATE, after_today, due_rank, line_of
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
            "Delivered; blank: the price of spawn on the Farm sheet.",
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
            "Of this lot; its batches are costed with it.",
        ),
        line_of("spawn_lots", "lot"),
        due_rank("use_by", "(ROWS({batches.batch})+{line})", only="*({left}>{spawn_rest})"),
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
    "What the list of lots says",
    (
        Field(
            "spawn_warning",
            "Use soon: days before use-by",
            "d",
            "0 to 365",
            "For the states in the list of lots.",
            default=14.0,
            source=ASSUMPTION,
        ),
        Field(
            "spawn_rest",
            "Treat as used up below",
            "kg",
            "0 or more",
            "A lot with no more left than this is used up; scales are not exact.",
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
            "At the end of the last generation.",
            required=False,
        ),
        Field(
            "plan_expansion",
            "Expansion of a generation",
            "number",
            "above 1 to 100",
            "How many times its own mass a bag of spawn becomes.",
            default=10.0,
            source=ASSUMPTION,
        ),
        Field(
            "plan_generations",
            "Generations",
            "count",
            "0 to 4, whole",
            "How often the spawn is expanded; vigor and cleanness suffer with each.",
            default=2.0,
            source=ASSUMPTION,
        ),
        Field(
            "plan_loss",
            "Bags thrown out in a generation",
            "fraction",
            "0 to below 1",
            "Share of the bags.",
            lowest=0.002,
            default=0.05,
            source=ASSUMPTION,
        ),
    ),
)
