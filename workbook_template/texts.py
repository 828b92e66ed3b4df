"""Text that comes from elsewhere stays text, in CSV files as in workbooks.

A spreadsheet program takes text in a CSV file for a formula where it begins with one of a few
signs. An apostrophe in front keeps it text; taking it off again gives the same text back. Where a
program takes another sign than the comma for what parts the cells, quotes hold nothing together,
and a text falls apart at that sign: so what follows any of them within a text is kept as well.
"""

from __future__ import annotations

import re
from copy import copy
from typing import TYPE_CHECKING, Any, TypeVar
from xml.sax.saxutils import escape

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell

Value = TypeVar("Value")

LONGEST_TEXT = 32767
"""Characters that a cell holds in any of the programs."""

# What a program skips before it looks for a formula: blanks, controls, marks without width.
_BLANK = r"\s\x00-\x1f\x7f\u00ad\u200b-\u200f\u2060\ufeff"
_SKIPPED = rf"[{_BLANK}]*"
# The signs that begin a formula or a call; some programs take the wide forms for the same.
_LIVE = re.compile(rf"'*(?:{_SKIPPED}[=+\-@|%＝＋－＠]|[\t\r\n])")
_KEPT = re.compile(rf"'+(?:{_SKIPPED}[=+\-@|%＝＋－＠]|[\t\r\n])")
# The same within a text, where a program may begin a new cell: behind what parts cells or rows
# surely, behind a blank where the sign has something to work on. Runs are matched whole, so that
# long ones take no longer.
_SEPARATORS = r",;:|\t\n\x0b\x0c\r\x1c-\x1e\x85\u2028\u2029"
_RUN = rf'(?<![{_SEPARATORS}{_BLANK}"])(?P<run>[{_SEPARATORS}{_BLANK}"]++)'
_SIGN = rf"'*[=+\-@＝＋－＠](?P<alone>[{_BLANK}]|\Z)?"
_LIVE_WITHIN = re.compile(rf"{_RUN}(?={_SIGN})")
_KEPT_WITHIN = re.compile(rf"{_RUN}'(?={_SIGN})")
_PARTS = re.compile(rf"[{_SEPARATORS}]")
_PARTS_OR_BLANK = re.compile(rf"[{_SEPARATORS}{_BLANK}]")
_NO_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def safe_text(value: Value) -> Value | str:
    """Keep a text from being taken for a formula when a spreadsheet program reads it.

    Parameters
    ----------
    value : object
        What goes into a file.

    Returns
    -------
    object
        A text with an apostrophe in front of whatever would start a formula, at its beginning or
        where a program may part it; anything else, numbers and dates included, untouched.
        ``original_text`` gives the text back.

    Examples
    --------
    >>> safe_text("=1+1")
    "'=1+1"
    >>> safe_text("wet; =1+1")
    "wet; '=1+1"
    >>> safe_text(-3.5)
    -3.5
    """
    if not isinstance(value, str):
        return value
    within = _LIVE_WITHIN.sub(lambda found: found[0] + "'" * _begins_cell(found), value)
    return "'" + within if _LIVE.match(value) else within


def original_text(value: Value) -> Value | str:
    """Take off the apostrophes that ``safe_text`` put in front.

    Parameters
    ----------
    value : object
        What was read from a file.

    Returns
    -------
    object
        The text as it was; anything else untouched.

    Examples
    --------
    >>> original_text("'=1+1")
    '=1+1'
    >>> original_text("'n' roll")
    "'n' roll"
    """
    if not isinstance(value, str):
        return value
    text = _KEPT_WITHIN.sub(lambda found: found["run"] + "'" * (not _begins_cell(found)), value)
    return text[1:] if _KEPT.match(text) else text


def _begins_cell(found: re.Match[str]) -> bool:
    """Return whether a program may begin a cell with what follows a run of separators."""
    begins = _PARTS if found["alone"] is not None else _PARTS_OR_BLANK
    return begins.search(found["run"]) is not None


def write_text(cell: Cell | Any, text: str) -> None:
    """Write text into a cell of a workbook so that it is never a formula.

    It is stored as text, and marked so that it also stays text when somebody edits the cell.
    Give the cell its style first.

    Parameters
    ----------
    cell : openpyxl cell
        Where to write.
    text : str
        What to write.

    Raises
    ------
    ValueError
        If a cell cannot hold the text.
    """
    if len(text) > LONGEST_TEXT:
        raise ValueError(
            f"text: got {len(text)} characters, needs at most {LONGEST_TEXT} in a cell."
        )
    if _NO_XML.search(text):
        raise ValueError(f"text: got {text[:40]!r}, needs characters that a workbook can hold.")
    cell.value = text
    cell.data_type = "s"
    if _LIVE.match(text):
        alone: Any = cell
        alone._style = copy(alone._style)  # other cells may share it
        alone.quotePrefix = True


_SPELLED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_SPELLED_OUT = re.compile(r"_x([0-9A-Fa-f]{4})_")


def file_text(text: str) -> str:
    """Return text as a part of a workbook holds it, where ``_x0041_`` stands for a letter A.

    Examples
    --------
    >>> file_text("lot _x0041_ & co")
    'lot _x005F_x0041_ &amp; co'
    """
    return escape(_SPELLED.sub("_x005F_", text))


def text_in_file(text: str) -> str:
    """Return what a text in a part of a workbook stands for.

    Examples
    --------
    >>> text_in_file("lot _x005F_x0041_")
    'lot _x0041_'
    """
    return _SPELLED_OUT.sub(lambda letter: chr(int(letter[1], 16)), text)
