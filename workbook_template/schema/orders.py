"""What is wanted beside a usual week, and how the grower likes to start each crop."""

from __future__ import annotations

from dataclasses import replace

from workbook_template.schema.columns import FIRST_DATE, NOTE
from workbook_template.schema.fields import Computed, Field, Rule, Table

MOST_WEEKS = 4
"""Weeks between the starts of a crop that is not started every week, at most."""
_NOTE = replace(NOTE, of_customers=True)


def _taken(of_packs: str, words: str, is_working: bool) -> tuple[Computed, ...]:
    """Make the columns of what so many packs of a product line take: mushrooms or blocks, work."""

    def each(key: str, label: str, unit: str, note: str, is_kept_apart: bool) -> Computed:
        formula = f"{{{of_packs}}}*INDEX({{plan_products.{key}}},{{at}})"
        return Computed(key, f"{label}{words}", unit, formula, note, is_working=is_kept_apart)

    return (
        each("fresh", "Fresh mass", "kg", "Packs that go unsold included.", is_working),
        each("minutes", "Work", "min", "Picking, drying, packing.", is_working),
        each("blocks", "Good blocks", "number", "All flushes of them.", is_kept_apart=True),
    )


_CROP = Computed(
    "crop",
    "Crop",
    "count",
    "INDEX({plan_products.crop},{at})",
    "Its number in the list of crops.",
    is_working=True,
)
_STRAIN_ROW = Computed(
    "strain_row",
    "Row of the strain",
    "count",
    "INDEX({plan_products.strain_row},{at})",
    "On the Strains sheet.",
    is_working=True,
)
_AT = Computed(
    "at",
    "Line",
    "count",
    "CHOOSE(1+MIN(1,COUNTIF({plan_products.product},{product})),"
    '"",MATCH({product},{products.product},0))',
    "Of the product; blank where its row is not complete.",
    is_working=True,
)

DEMAND = Table(
    "unusual_weeks",
    "Special weeks",
    (
        Field(
            "product",
            "Product line",
            "choice",
            choices="products.product",
            help="Of which more or fewer packs than usual are wanted.",
        ),
        Field("week", "Week of", "date", FIRST_DATE, "The Monday of the week of the market."),
        Field(
            "packs",
            "Packs wanted",
            "count",
            "0 or more",
            "In that week, instead of the usual number; several rows add up.",
        ),
        _NOTE,
        Computed(
            "extra",
            "More than usual",
            "count",
            "{packs}-{first}*INDEX({plan_products.packs},{at})",
            "Packs; below zero where fewer are wanted.",
        ),
        *_taken("extra", ", more than usual", is_working=False),
        _CROP,
        _STRAIN_ROW,
        Computed(
            "first",
            "First of its week",
            "count",
            "(COUNTIFS({unusual_weeks.product},{product},{unusual_weeks.week},{week},"
            '{unusual_weeks.order},"<="&{order})=1)*1',
            "1 in the first row of a product and week.",
            is_working=True,
        ),
        Computed(
            "order",
            "Row",
            "count",
            "ROW({product})",
            "Keeps the rows in their order.",
            is_working=True,
        ),
        _AT,
    ),
    rows=16,
    unique=False,
    faults=(Rule("week", "not a Monday", "WEEKDAY({week}-1)>1"),),
)

ORDERS = Table(
    "orders",
    "Orders",
    (
        Field(
            "product",
            "Product line",
            "choice",
            choices="products.product",
            help="On top of the usual packs of the Products sheet.",
        ),
        Field(
            "customer",
            "Customer",
            "text",
            help="Who ordered, in your words.",
            required=False,
            of_customers=True,
            width=24.0,
        ),
        Field("packs", "Packs", "count", "above 0", "Of each delivery."),
        Field("date", "Delivery", "date", FIRST_DATE, "The day, or the first one if weekly."),
        Field(
            "until",
            "Weekly until",
            "date",
            FIRST_DATE,
            "The last day that it may be delivered; blank if you deliver once.",
            required=False,
        ),
        _NOTE,
        Computed(
            "market",
            "Ready by",
            "date",
            "{date}-{days_after}",
            "The market day that its first delivery is picked for: that day, or the last before.",
        ),
        Computed(
            "last",
            "Ready by, last time",
            "date",
            "{market}+7*INT((MAX({date},N({until}))-{date})/7)",
            "The market day of its last delivery.",
            is_working=True,
        ),
        Computed(
            "days_after",
            "Wait after a market day",
            "d",
            "MOD({date}-{market_this_week},7)",
            "So long the mushrooms wait in the cold room.",
            is_working=True,
        ),
        *_taken("packs", "", is_working=True),
        _CROP,
        _STRAIN_ROW,
        _AT,
    ),
    rows=16,
    unique=False,
    faults=(Rule("until", "before the delivery", "COUNT({until})*(N({until})<N({date}))"),),
)

_CHOSEN = (
    Field(
        "strain",
        "Strain",
        "choice",
        choices="strains.strain",
        help="A crop is a strain on a recipe.",
    ),
    Field("recipe", "Recipe", "choice", choices="recipes.recipe", help="What it is grown on."),
)

RHYTHMS = Table(
    "rhythms",
    "Crops started less often, or in set numbers",
    (
        *_CHOSEN,
        Field(
            "every",
            "Weeks from start to start",
            "count",
            f"1 to {MOST_WEEKS}, whole",
            "2: every second week. What a start gives until the next one counts as one.",
            default=1.0,
        ),
        Field(
            "week",
            "A day in a week with a start",
            "date",
            FIRST_DATE,
            "Any such day; only needed for 2 or more weeks.",
            required=False,
        ),
        Field(
            "smallest",
            "Fewest blocks in a start",
            "count",
            "1 or more, whole",
            "Fewer are not worth it; blank: any number.",
            required=False,
        ),
        Field(
            "whole",
            "Whole loads of",
            "choice",
            choices="mixer|steamer",
            help="Rounds up to full loads; blank: as many blocks as are needed.",
            required=False,
        ),
        _NOTE,
    ),
    rows=8,
    unique=False,
    faults=(
        Rule(
            "recipe",
            "the strain has a row with this recipe above",
            "COUNTIFS({rhythms.strain},{strain},{rhythms.recipe},{recipe})>1",
        ),
        Rule("week", "needed for 2 or more weeks", "COUNTBLANK({week})*(N({every})>1)"),
    ),
)
"""How a crop is started where it is not simply each week as many as are needed."""
