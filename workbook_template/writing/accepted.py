"""What an input accepts: the conditions that a number meets, and the validation of its cells."""

from __future__ import annotations

from openpyxl.worksheet.datavalidation import DataValidation

from cultivar_fx.dimensions import US
from cultivar_fx.native import number_text
from workbook_template.schema.fields import Field, unit_label
from workbook_template.writing.book import list_name

LONGEST_TYPED = 200
"""Characters that an input of text takes."""
TITLE_LIMIT = 32
_PROMPT_LIMIT = 255


def bounds(one: Field, units: str) -> list[str]:
    """Give the limits of an input as comparisons, such as ``>=0``, in the units of a system."""
    limits = one.bounds
    texts = []
    for bound, sign, strict in (
        (limits.low, ">", limits.above),
        (limits.high, "<", limits.below),
    ):
        if bound is not None:
            shown = one.dimension.from_metric(bound) if units == US else bound
            texts.append(f"{sign}{'' if strict else '='}{number_text(shown)}")
    return texts


def conditions(one: Field, cell: str, units: str) -> list[str]:
    """Give the conditions, as spreadsheet text, that a number in a cell has to meet."""
    texts = [f"ISNUMBER({cell})", *(cell + bound for bound in bounds(one, units))]
    if one.bounds.whole:
        texts.append(f"{cell}=INT(N({cell}))")
    return texts


def validation(one: Field, cell: str, units: str, currency: str) -> DataValidation:
    """Make the validation of an input, as seen from the first of its cells."""
    if one.choices:
        listed = (
            list_name(one.choices)
            if "." in one.choices
            else '"' + one.choices.replace("|", ",") + '"'
        )
        made = DataValidation(type="list", formula1=listed)
        needs = "Choose from the list."
    elif one.is_number:
        made = DataValidation(
            type="custom", formula1=f"AND({','.join(conditions(one, cell, units))})"
        )
        needs = _needed_number(one, units, currency)
    else:
        made = DataValidation(
            type="textLength", operator="lessThanOrEqual", formula1=str(LONGEST_TYPED)
        )
        needs = ""
    made.allow_blank = True
    made.promptTitle = made.errorTitle = one.label[:TITLE_LIMIT]
    made.prompt = f"{one.help} {needs}".strip()[:_PROMPT_LIMIT]
    made.error = (needs or f"At most {LONGEST_TYPED} characters.")[:_PROMPT_LIMIT]
    made.showInputMessage = made.showErrorMessage = True
    return made


def _needed_number(one: Field, units: str, currency: str) -> str:
    """Say in a sentence which numbers an input takes."""
    limits = one.bounds.text(one.dimension, units)
    if one.unit == "fraction":
        return f"A share, {limits}; type 62% or 0.62."
    unit = unit_label(one.dimension, units, currency)
    return f"A number{f' of {unit}' if unit else ''}{f', {limits}' if limits else ''}."
