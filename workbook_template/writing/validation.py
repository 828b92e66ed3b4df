"""What an input accepts: the conditions that a number meets, and the validation of its cells."""

from __future__ import annotations

from typing import TYPE_CHECKING

from openpyxl.worksheet.datavalidation import DataValidation

from cultivar_fx.catalog.dimensions import METRIC
from cultivar_fx.formula.text import number_text
from workbook_template.schema.fields import Field, dimension_of, unit_label
from workbook_template.writing.layout import list_name

if TYPE_CHECKING:
    from collections.abc import Iterable

    from cultivar_fx.catalog.definition import Limits

LONGEST_TYPED = 200
"""Characters that an input of text takes."""
TITLE_LIMIT = 32
PROMPT_LIMIT = 255
_SMALL_SHARE = 0.01
"""Below it no text means the same everywhere: a typed 0.3 is 30 % in Excel, as it documents, and
0.3 % in LibreOffice, which makes no number of 0.3%."""
_SMALL_EXAMPLE = 0.005


def conditions(one: Field, cell: str, units: str) -> list[str]:
    """Return the conditions, as spreadsheet text, that a number in a cell has to meet."""
    ranges = [[cell + sign for sign in comparisons(one, limits, units)] for limits in one.ranges]
    texts = [f"ISNUMBER({cell})"]
    if len(ranges) > 1:
        texts.append(f"OR({','.join(f'AND({_joined(signs)})' for signs in ranges)})")
    else:
        texts += ranges[0]
    if one.bounds.whole:
        texts.append(f"{cell}=INT(N({cell}))")
    return texts


def _joined(texts: Iterable[str]) -> str:
    return ",".join(texts)


def comparisons(one: Field, limits: Limits, units: str) -> list[str]:
    """Return limits as comparisons, such as ``>=0``, in the units of a system."""
    return [sign + number_text(limit) for sign, limit in limits.compared(one.dimension, units)]


def validation(one: Field, cell: str, units: str, currency: str) -> DataValidation:
    """Return the validation of an input, as seen from the first of its cells."""
    is_listed = "." in one.choices
    if one.choices:
        listed = list_name(one.choices) if is_listed else f'"{one.choices.replace("|", ",")}"'
        made = DataValidation(type="list", formula1=listed)
        needs = "Choose from the list."
        if is_listed:
            needs = "Choose from the list, or clear it with the Delete key."
    elif one.is_number:
        made = DataValidation(
            type="custom", formula1=f"AND({_joined(conditions(one, cell, units))})"
        )
        needs = _needed_number(one, units, currency)
    else:
        made = DataValidation(
            type="textLength", operator="lessThanOrEqual", formula1=str(LONGEST_TYPED)
        )
        needs = ""
    # Where blanks are allowed and the list has some, Excel takes any text, as it documents. Where
    # they are not, LibreOffice lets a cell be cleared by the Delete key only.
    made.allow_blank = not is_listed
    made.promptTitle = made.errorTitle = _within(TITLE_LIMIT, one.label)
    made.prompt = _within(PROMPT_LIMIT, f"{one.help}\n{needs}".strip())
    made.error = _within(PROMPT_LIMIT, needs or f"At most {LONGEST_TYPED} characters.")
    made.showInputMessage = made.showErrorMessage = True
    return made


def _within(limit: int, text: str) -> str:
    """Return a text that programs show whole; a longer one would have to be cut."""
    if len(text) > limit:
        raise ValueError(f"prompts: got {len(text)} characters, needs at most {limit}: {text}")
    return text


def _needed_number(one: Field, units: str, currency: str) -> str:
    """Return which numbers an input takes, and how a share is typed, each sentence on a line.

    LibreOffice does not break a prompt's lines, and a long one runs out of the window.
    """
    words = needed(one, units, currency)
    text = f"{words[0].upper()}{words[1:]}."
    if not one.dimension.is_share:
        return text
    return "\n".join([text, *typing_shares(one)])


def needed(one: Field, units: str, currency: str) -> str:
    """Return which numbers an input takes, as a part of a sentence.

    Parameters
    ----------
    one : Field
        An input of a number or a date.
    units, currency : str
        Those of the workbook.

    Returns
    -------
    str
        Such as ``a number of kg, 0 or more`` or ``a share of 0.5 to 50 %``.
    """
    if one.dimension.is_date:
        return "a date, such as 2026-03-14"
    if one.dimension.is_share:
        return f"a share of {_percent_ranges(one)} %"
    unit = unit_label(one.dimension, units, currency)
    return _a_number(one, units, f" of {unit}" if unit else "")


def needed_on_sheet(one: Field, units: str) -> str:
    """Return which numbers an input takes, in the few words that a cell of a row has room for."""
    if one.dimension.is_date:
        return "a date"
    if one.dimension.is_share:
        return f"a share of {_percent_ranges(one)} %"
    return _a_number(one, units)


def _a_number(one: Field, units: str, of_unit: str = "") -> str:
    limits = one.bounds._replace(whole=False).text(one.dimension, units, is_prompt=True)
    kind = "a whole number" if one.bounds.whole else "a number"
    return f"{kind}{of_unit}{f', {limits}' if limits else ''}"


def _percent_ranges(one: Field) -> str:
    *others, last = (_percent_range(limits) for limits in one.ranges)
    return ", ".join([*others, f"or {last}"]) if others else last


def _percent_range(limits: Limits) -> str:
    if limits.low == limits.high:
        return percent(limits.low or 0.0)
    low, high = (None if end is None else end * 100 for end in (limits.low, limits.high))
    return limits._replace(low=low, high=high).text(dimension_of("number"), METRIC)


def percent(share: float) -> str:
    """Return a share as its number of percent."""
    return f"{share * 100:g}"


def typing_shares(one: Field) -> list[str]:
    """Return how the shares of an input are typed, in sentences."""
    sentences = [f"{typing(one.example).capitalize()}."]
    if one.lowest is not None and one.lowest < _SMALL_SHARE:
        sentences.append(f"Below 1 %: {typing(_SMALL_EXAMPLE)}.")
    return sentences


def typing(share: float) -> str:
    """Return how a share is typed into a percent cell, in words that hold for every program.

    Parameters
    ----------
    share : float
        The share that is meant.

    Returns
    -------
    str
        Such as ``type 62 for 62 %, without the percent sign``.
    """
    number = percent(share)
    if abs(share) < _SMALL_SHARE:
        return f"type {number}% in Excel, {number} in LibreOffice"
    return f"type {number} for {number} %, without the percent sign"
