"""Tells where the cells of a sheet as we write it stand in a sheet that somebody worked with.

Rows and columns were put in, taken out and moved, and the sheet renamed. The words in the first
column are what the rows are known by.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from datetime import date
from difflib import SequenceMatcher
from functools import cache
from math import isclose
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils.datetime import to_excel

if TYPE_CHECKING:
    from collections.abc import Mapping

_SAME_NUMBER = 1e-14
"""LibreOffice keeps 15 digits."""

_REPEATS = 3
"""How often a label of ours may stand elsewhere on a sheet, and still tell a row."""


class Formula(NamedTuple):
    """A formula, as opposed to text that begins with an equals sign."""

    text: str


Cells = dict[tuple[int, int], Any]
"""What the cells of a sheet hold, by row and column; a formula is a ``Formula``."""


class Alignment:
    """Where the rows and columns of one sheet are on another.

    Parameters
    ----------
    ours : dict
        The cells as we write them, but for those to type in.
    theirs : dict
        The cells of the file's sheet, but for its tables.
    """

    def __init__(self, ours: Cells, theirs: Cells) -> None:
        self._columns = _columns(ours, theirs)
        self._column = cache(self._moved)
        self._rows = _anchors(_words(ours, 1), _words(theirs, self._column(1)))
        self._known = [here for here, _ in self._rows]

    def place(self, row: int, column: int) -> tuple[int, int]:
        """Return the place that a cell of ours has come to; row 0 where its rows are gone."""
        at = bisect_right(self._known, row)
        if at == 0:
            return row, self._column(column)
        here, there = self._rows[at - 1]
        moved = there + row - here
        is_gone = at < len(self._rows) and moved >= self._rows[at][1]
        return (0 if is_gone else moved), self._column(column)

    def _moved(self, column: int) -> int:
        known = [one for one in self._columns if one <= column]
        return column + self._columns[max(known)] if known else column


def same_value(ours: object, theirs: object) -> bool:
    """Return whether a cell without a formula is as we write it, whatever program saved it."""
    if isinstance(theirs, date):  # the number that we write, in the format of a date
        theirs = to_excel(theirs)  # type: ignore[no-untyped-call]
    if isinstance(ours, int | float) and isinstance(theirs, int | float):
        return isclose(ours, theirs, rel_tol=_SAME_NUMBER)
    return type(ours) is type(theirs) and ours == theirs


def texts(cells: Cells) -> Counter[str]:
    """Count the texts of a sheet that are no formulas."""
    return Counter(one for one in cells.values() if isinstance(one, str))


def _columns(ours: Cells, theirs: Cells) -> dict[int, int]:
    """Count, for each column, how far its words have moved; most of them decide."""
    places = {value: place for place, value in theirs.items() if isinstance(value, str)}
    here, there = texts(ours), texts(theirs)
    votes: dict[int, Counter[int]] = {}
    for (_, column), value in ours.items():
        if here[value] == 1 and there[value] == 1:
            votes.setdefault(column, Counter())[places[value][1] - column] += 1
    return {column: counts.most_common(1)[0][0] for column, counts in votes.items()}


def _words(cells: Cells, column: int) -> list[tuple[int, object]]:
    """Return the words of a column, and the numbers that count the rows of a list."""
    return [
        (row, value)
        for (row, number), value in sorted(cells.items(), key=lambda one: one[0])
        if number == column and isinstance(value, str | int | float)
    ]


def _anchors(
    ours: list[tuple[int, object]], theirs: list[tuple[int, object]]
) -> list[tuple[int, int]]:
    """Return the rows whose words are found again, as pairs in rising order."""
    theirs = _likely(theirs, Counter(word for _, word in ours))
    matcher = SequenceMatcher(
        None, [word for _, word in ours], [word for _, word in theirs], autojunk=False
    )
    return [
        (ours[block.a + offset][0], theirs[block.b + offset][0])
        for block in matcher.get_matching_blocks()
        for offset in range(block.size)
    ]


def _likely(words: list[tuple[int, object]], wanted: Counter[object]) -> list[tuple[int, object]]:
    """Leave out words that are not wanted, and those that stand there again and again."""
    room = Counter({word: count + _REPEATS for word, count in wanted.items()})
    likely = []
    for row, word in words:
        if room[word] > 0:
            room[word] -= 1
            likely.append((row, word))
    return likely


def match_sheets(
    ours: Mapping[str, Cells],
    theirs: Mapping[str, Cells],
    by_inputs: Mapping[str, str],
    enough: float = 0.5,
) -> dict[str, str]:
    """Find each sheet of ours in a file.

    Parameters
    ----------
    ours, theirs : dict
        The cells of each sheet, by its name.
    by_inputs : dict
        The sheets that are known by the inputs that stand there.
    enough : float
        The share of its words by which any other sheet is known.

    Returns
    -------
    dict
        The name of the file's sheet by the name that we give it.
    """
    found = dict(by_inputs)
    there = {name: texts(cells).keys() for name, cells in theirs.items()}
    for name, cells in ours.items():
        words = texts(cells).keys()
        if name in found or not words:
            continue
        free = [one for one in theirs if one not in found.values()]
        scores = {one: (len(words & there[one]) / len(words), one == name) for one in free}
        best = max(scores, key=lambda one: scores[one], default="")
        if best and scores[best][0] >= enough:
            found[name] = best
    return found
