"""What releases wrote, in little room: each text once, formulas by where they refer to.

Formulas that are filled down or copied aside differ only in the rows and columns of what they
refer to: seen from their own cell they are one text. All texts, of both unit systems, stand in one
list in the order in which they are first met; a cell is how far it is from the one before it, and
the number of its text. A text that the release before has, too, is the number that it has there.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

FORMULAS, OTHERS = "formulas", "others"
"""The two kinds of cells of a layout as it is stored."""
_KINDS = (FORMULAS, OTHERS)
_TEXTS, _LAYOUTS = "texts", "layouts"
_LETTERS = 26
_START, _END = "\x01", "\x02"
"""Around a reference; no file can hold these signs, so no text does."""
_ADDRESS = re.compile(r"(?<![\w.$])(\$?)([A-Z]{1,3})(\$?)([1-9][0-9]{0,6})(?![\w.(])")
_REFERENCE = re.compile(f"{_START}([^,]*),([^{_END}]*){_END}")


def packed(layouts: Mapping[str, Mapping[str, Any]], before: Sequence[str]) -> dict[str, Any]:
    """Return the layouts of a release, by unit system, in little room.

    ``before`` are the texts of the release before it.
    """
    numbers: dict[str, int] = {}

    def kept(value: object, row: int = 0, column: int = 0) -> object:
        if not isinstance(value, str):
            return [value]
        text = _seen_from(value, row, column) if row else value
        return numbers.setdefault(text, len(numbers))

    small: dict[str, dict[str, Any]] = {}
    for units, layout in layouts.items():
        small[units] = dict(layout)
        for kind in _KINDS:
            small[units][kind] = {}
            for sheet, cells in layout[kind].items():
                steps: list[object] = []
                last = (0, 0)
                for row, column, value in cells:
                    text = kept(value, row, column) if kind == FORMULAS else kept(value)
                    steps += (row - last[0], column - last[1], text)
                    last = (row, column)
                small[units][kind][sheet] = steps
    there = {text: number for number, text in enumerate(before)}
    return {_TEXTS: [there.get(text, text) for text in numbers], _LAYOUTS: small}


def kept_layouts(content: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the layouts of a release, by unit system, of which the cells are still packed."""
    layouts: dict[str, dict[str, Any]] = content[_LAYOUTS]
    return layouts


def texts_of(content: dict[str, Any], before: Sequence[str]) -> list[str]:
    """Return the texts of a release, from what was packed and those of the release before it."""
    return [before[text] if isinstance(text, int) else text for text in content[_TEXTS]]


def unpacked(content: dict[str, Any], texts: Sequence[str], units: str) -> dict[str, Any]:
    """Return the layout of a release in a unit system, from what was packed and its texts."""
    layout: dict[str, Any] = dict(content[_LAYOUTS][units])
    forms: dict[tuple[int, int], tuple[str, list[int]]] = {}
    for kind in _KINDS:
        layout[kind] = {}
        for sheet, steps in content[_LAYOUTS][units][kind].items():
            cells: list[list[Any]] = []
            row = column = 0
            for down, right, number in zip(*[iter(steps)] * 3, strict=True):
                row, column = row + down, column + right
                if isinstance(number, list):
                    value = number[0]
                elif kind == OTHERS:
                    value = texts[number]
                else:
                    if (number, column) not in forms:
                        forms[number, column] = _in_column(texts[number], column)
                    form, rows = forms[number, column]
                    value = form % tuple([row + one for one in rows])
                cells.append([row, column, value])
            layout[kind][sheet] = cells
    return layout


def _seen_from(formula: str, row: int, column: int) -> str:
    """Return a formula with each reference as so many rows and columns from its cell."""

    def relative(cell: re.Match[str]) -> str:
        across = f"${cell[2]}" if cell[1] else _number(cell[2]) - column
        down = f"${cell[4]}" if cell[3] else int(cell[4]) - row
        return f"{_START}{across},{down}{_END}"

    return _ADDRESS.sub(relative, formula)


def _in_column(text: str, column: int) -> tuple[str, list[int]]:
    """Return a formula as it stands in a column, with a gap for each row, and how far these are."""
    rows: list[int] = []

    def absolute(cell: re.Match[str]) -> str:
        across, down = cell.groups()
        letters = across if across.startswith("$") else _letters(column + int(across))
        if down.startswith("$"):
            return letters + down
        rows.append(int(down))
        return f"{letters}%d"

    return _REFERENCE.sub(absolute, text.replace("%", "%%")), rows


@cache
def _number(letters: str) -> int:
    """Return the number of a column; the library knows none behind XFD, and names may look so."""
    number = 0
    for letter in letters:
        number = number * _LETTERS + ord(letter) - ord("A") + 1
    return number


@cache
def _letters(number: int) -> str:
    """Return the letters of a column."""
    before, last = divmod(number - 1, _LETTERS)
    return (_letters(before) if before else "") + chr(ord("A") + last)
