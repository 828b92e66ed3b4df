"""A formula that several cells share, written out for each of them.

The library goes through all of such a formula again for every cell. Here it is taken apart once.
"""

from __future__ import annotations

import re

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import column_index_from_string, get_column_letter

_COLUMN, _ROW = r"\$?[A-Za-z]{1,3}", r"\$?[1-9][0-9]{0,6}"
_CELL = re.compile(rf"(?P<column>{_COLUMN})(?P<row>{_ROW})\Z")
_COLUMNS = re.compile(rf"(?P<column>{_COLUMN})(?P<row>)\Z")
_ROWS = re.compile(rf"(?P<column>)(?P<row>{_ROW})\Z")
_RANGE = 2
"""The ends of one."""


class SharedFormula:
    """A formula and the cell that holds its text.

    Parameters
    ----------
    text : str
        The formula with its equals sign.
    row, column : int
        The cell that it stands in.
    """

    def __init__(self, text: str, row: int, column: int) -> None:
        self._row, self._column = row, column
        self._parts: list[tuple[str, str]] = [("=", "")]
        """Text, and the column or row without a dollar sign that stands behind it."""
        for token in Tokenizer(text).items:
            if token.type == Token.OPERAND and token.subtype == Token.RANGE:
                self._take_range(token.value)
            else:
                self._parts.append((token.value, ""))
        self._by_column: dict[int, str] = {}
        self._rows = [int(moving) for _, moving in self._parts if moving.isdigit()]
        self._lowest = min(self._rows, default=1)

    def at(self, row: int, column: int) -> str:
        """Return the formula as another cell has it.

        Raises
        ------
        ValueError
            If it refers to what lies before the first row or column.
        """
        down = row - self._row
        if self._lowest + down < 1:
            raise ValueError("a shared formula refers to a row above the first")
        right = column - self._column
        if right not in self._by_column:
            self._by_column[right] = self._moved(right)
        return self._by_column[right] % tuple([one + down for one in self._rows])

    def _take_range(self, text: str) -> None:
        sheet, mark, cells = text.rpartition("!")
        self._parts.append((sheet + mark, ""))
        ends = cells.split(":")
        whole = (_ROWS, _COLUMNS) if len(ends) == _RANGE else ()
        pattern = next((one for one in whole if all(map(one.match, ends))), _CELL)
        for number, end in enumerate(ends):
            self._parts.append((":" * (number > 0), ""))
            self._take_end(pattern.match(end), end)

    def _take_end(self, cell: re.Match[str] | None, text: str) -> None:
        """Take an end of a range; what is no cell is a name, and stays as it is."""
        if cell is None:
            self._parts.append((text, ""))
            return
        for part in cell.group("column", "row"):
            self._parts.append((part, "") if part.startswith("$") else ("", part))

    def _moved(self, right: int) -> str:
        """Write the formula so many columns further, with a gap for each row that moves."""
        pieces = []
        for text, moving in self._parts:
            pieces.append(text.replace("%", "%%"))
            if moving.isdigit():
                pieces.append("%d")
            elif moving:
                pieces.append(get_column_letter(column_index_from_string(moving) + right))
        return "".join(pieces)
