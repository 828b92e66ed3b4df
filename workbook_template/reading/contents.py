"""The cells of an opened workbook: what was entered into each, whatever program saved it."""

from __future__ import annotations

import re
import sys
from datetime import datetime, time
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils import get_column_letter, range_boundaries

from cultivar_fx.errors import ERROR_CODES, CellError
from workbook_template.safety.opening import schema_version
from workbook_template.sheets.carried import CARRIED_OVER, HEADINGS
from workbook_template.writing.layout import name_in

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from workbook_template.safety.looks import Look
    from workbook_template.safety.opening import OpenedWorkbook
    from workbook_template.writing.layout import Value

_REFERENCE = re.compile(
    r"(?:'((?:[^']|'')+)'|([^'!]+))!(\$?[A-Z]{1,3}\$?\d+(?::\$?[A-Z]{1,3}\$?\d+)?)"
)


class Found(NamedTuple):
    """What stands in one cell.

    Attributes
    ----------
    sheet, cell : str
        Where, such as ``Farm`` and ``B7``.
    value : Value
        What was typed; for a formula, the value that the file holds for it.
    formula : str
        The formula with its equals sign, or an empty text.
    note : str
        The comment on the cell, or an empty text.
    """

    sheet: str
    cell: str
    value: Value
    formula: str = ""
    note: str = ""

    @property
    def is_filled(self) -> bool:
        """Return whether something was entered."""
        return self.value is not None or bool(self.formula)


class Area(NamedTuple):
    """A rectangle of cells on one sheet, its ends included."""

    sheet: str
    left: int
    top: int
    right: int
    bottom: int


class Contents:
    """A workbook of ours, opened; never written.

    Parameters
    ----------
    opened : OpenedWorkbook
        What was looked through and opened.
    name : str
        The file's name, for the sentence of a refusal.
    """

    def __init__(self, opened: OpenedWorkbook, name: str) -> None:
        self._opened = opened
        self.workbook = opened.formulas
        self.version = schema_version(self.workbook, name)
        self.sheets: dict[str, Worksheet] = {
            sheet.title: sheet for sheet in self.workbook.worksheets
        }
        self.rows = {name: _by_row(sheet) for name, sheet in self.sheets.items()}

    @property
    def package(self) -> bytes:
        """The bytes of the file, of which the library reads a part only."""
        return self._opened.data

    @property
    def dressed(self) -> dict[str, dict[tuple[int, int], Look]]:
        """By sheet the cells, blank ones too, with a color or font of the grower's own."""
        return self._opened.dressed

    def found(self, sheet: str, row: int, column: int) -> Found:
        """Return what stands in a cell, blank or not."""
        place = f"{get_column_letter(column)}{row}"
        cell = self.rows[sheet].get(row, {}).get(column)
        if cell is None:
            return Found(sheet, place, None)
        note = cell.comment.text if cell.comment else ""
        formula = formula_of(cell)
        value = self.stored(sheet, row, column) if formula else value_of(cell)
        return Found(sheet, place, value, formula, note)

    def stored(self, sheet: str, row: int, column: int) -> Value:
        """Return the value that the file holds for a cell, computed or typed."""
        cell = self.rows.get(sheet, {}).get(row, {}).get(column)
        if cell is not None and cell.data_type == "f":
            cell = self._opened.values.get(sheet, {}).get((row, column))
        return None if cell is None else value_of(cell)

    def lines_from(self, sheet: str) -> int:
        """Return the row that the lines of a sheet Carried over begin in; 0 for any other sheet."""
        rows = self.rows[sheet]
        title = rows.get(1, {}).get(1)
        if title is None or title.value != CARRIED_OVER:
            return 0
        heads = (
            row
            for row, cells in rows.items()
            if tuple(cell.value for cell in cells.values())[: len(HEADINGS)] == HEADINGS
        )
        return next(heads, -1) + 1

    def carried(self, sheet: str) -> list[list[Value]]:
        """Return the lines of a sheet Carried over; none for any other sheet."""
        first = self.lines_from(sheet)
        where = range(1, len(HEADINGS))
        return [
            [
                *(self.found(sheet, row, column).value for column in where),
                *(self.found(sheet, row, one).value for one in cells if one not in where),
            ]
            for row, cells in self.rows[sheet].items()
            if 0 < first <= row
        ]

    def named(self, name: str) -> Area | None:
        """Find the cells that a name of ours stands for, as it was in the file's version."""
        defined: Any = self.workbook.defined_names.get(name_in(self.version, name))
        match = _REFERENCE.fullmatch(defined.attr_text or "") if defined else None
        if match is None:
            return None
        sheet = match[1].replace("''", "'") if match[1] else match[2]
        return area_of(sheet, match[3].replace("$", "")) if sheet in self.sheets else None


def area_of(sheet: str, cells: str, totals: int = 0) -> Area | None:
    """Return the area of cells such as ``B7:D9``; None where there are no such cells."""
    try:
        left, top, right, bottom = range_boundaries(cells)
    except ValueError:
        return None
    if left is None or top is None or right is None or bottom is None:
        return None
    return Area(sheet, int(left), int(top), int(right), int(bottom) - totals)


def _by_row(sheet: Worksheet) -> dict[int, dict[int, Any]]:
    """Return the cells that hold something, a value or a comment, by row and column."""
    rows: dict[int, dict[int, Any]] = {}
    for row, column in sorted(sheet._cells):
        cell = sheet._cells[row, column]
        if cell.value is not None or cell.comment:
            rows.setdefault(row, {})[column] = cell
    return rows


def formula_of(cell: Any) -> str:
    """Return a cell's formula; an error that was typed is none, though LibreOffice makes it one."""
    if cell.data_type != "f":
        return ""
    text = getattr(cell.value, "text", cell.value)  # that of an array stands in an object
    if not isinstance(text, str):
        return "="
    return "" if text.startswith("=#") and _error_in(cell) else text


def _error_in(cell: Any) -> str:
    code = str(cell.value).removeprefix("=")
    return code if cell.data_type == "e" or code in ERROR_CODES else ""


def value_of(cell: Any) -> Value:
    """Return what a cell holds: an empty text is a blank, midnight is a date."""
    value = cell.value
    if cell.data_type in ("e", "f"):
        return CellError(_error_in(cell), "entered")
    if isinstance(value, str):
        return value.replace("\r\n", "\n").replace("\r", "\n") or None
    if isinstance(value, int) and abs(value) > sys.float_info.max:
        return str(value)
    if isinstance(value, datetime) and value.time() == time():
        return value.date()
    result: Value = value
    return result
