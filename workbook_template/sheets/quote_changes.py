"""What a product line is in a quote: as typed, or else as today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.products import FORMS, PRODUCTS
from workbook_template.schema.quote import CHANGED, INSTEAD, WHAT_IF
from workbook_template.writing.blocks import Calculated

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.schema.fields import Field

_POSSIBLE = {
    "pack_mass": "N({x})>0",
    "price": "N({x})>0",
    "fees": "(N({x})>=0)*(N({x})<1)",
    "sold_share": "(N({x})>0)*(N({x})<=1)",
}
"""What a figure has to be, where 0 and more does not do: errors never come of a slip."""
_IS_FORM = "+".join(f'({{x}}="{word}")' for word in FORMS.split("|"))


def _is_possible(column: str, value: str) -> str:
    return _POSSIBLE.get(column, "N({x})>=0").replace("{x}", value)


def _today(column: str, key: str) -> Calculated:
    """Make the figure of the line chosen, blank where the Products sheet has none."""
    field = PRODUCTS.field(column)
    found = f"INDEX({{products.{column}}},{{quote_row}})"
    formula = f'CHOOSE(1+COUNT({found})*({_is_possible(column, found)}),"",{found})'
    if column == "form":
        formula = f'CHOOSE(1+({_IS_FORM.replace("{x}", found)}>0),"",{found}&"")'
    elif not field.is_number:
        formula = f'{found}&""'
    unit = field.unit if field.is_number else "state"
    return Calculated(f"quote_{key}_today", field.label, unit, formula, waits_for=("quote_row",))


def _changed(column: str) -> Calculated:
    """Make the figure of the what-if: what is typed, or else that of today."""
    field = PRODUCTS.field(column)
    typed, today = f"{{quote_{column}}}", f"{{?quote_{column}_today}}"
    if column == "form":
        formula = f'CHOOSE(1+({_IS_FORM.replace("{x}", typed)}>0),"",{typed}&"")'
        formula = f'CHOOSE(1+({typed}<>""),{today}&"",{formula})'
    elif not field.is_number:
        formula = f'CHOOSE(1+({typed}<>""),{today}&"",{typed}&"")'
    else:
        formula = f'CHOOSE(1+({_is_possible(column, typed)}),"",N({typed}))'
        formula = f"CHOOSE(1+COUNT({typed}),{today},{formula})"
    unit = field.unit if field.is_number else "state"
    return Calculated(f"quote_{column}_if", field.label, unit, formula)


_PACKS_TODAY = _today("packs_per_week", "packs")
_MASS_TODAY = Calculated(
    "quote_weekly_mass_today", "Mass a week", "kg", "{quote_packs_today}*{quote_mass_today}"
)


def changes() -> Sequence[Field | Calculated]:
    """Return the inputs, each with the figure of today beside it."""
    todays = [*(_today(column, column) for column in CHANGED), _PACKS_TODAY, _MASS_TODAY]
    return [one for pair in zip(WHAT_IF.fields, todays, strict=True) for one in pair]


_ROW = Calculated(
    "quote_row",
    "Row on the Products sheet",
    "count",
    'CHOOSE(1+({quote_product}<>""),"",MATCH({quote_product},{products.product},0))',
)
_PACKS = Calculated(
    "quote_packs_if",
    "Packs a week",
    "count",
    "CHOOSE(1+COUNT({quote_packs}),CHOOSE(1+COUNT({quote_weekly_mass}),{?quote_packs_today},"
    'CHOOSE(1+COUNT({?quote_mass_if}),"",'
    "MAX(0,ROUNDUP(N({quote_weekly_mass})/N({?quote_mass_if})-{rounding},0)))),"
    "MAX(0,N({quote_packs})))",
)
_EXTRA = (
    Calculated(
        "quote_extra_if",
        "Packs on top of today's",
        "count",
        f'MIN(1,COUNT({{quote_packs}})+COUNT({{quote_weekly_mass}}))*({{quote_counts}}<>"{INSTEAD}")',
    ),
    Calculated("quote_extra_today", "Packs on top of today's", "count", "0*{quote_row}"),
)
WORKINGS = (_ROW, *map(_changed, CHANGED), _PACKS, *_EXTRA)
