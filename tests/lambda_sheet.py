"""Calls of LAMBDA names, recalculated by an engine that has LAMBDA: ironcalc."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, NamedTuple

import ironcalc
import openpyxl
from cases import ERRORS
from office import address
from openpyxl.workbook.defined_name import DefinedName

from cultivar_fx.cells import as_grid, is_grid, serial

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from openpyxl.worksheet.worksheet import Worksheet

FIRST_ARGUMENT = 4
"""Column of the first argument; the answer, up to three columns wide, stands before it."""


class Typed(NamedTuple):
    """A call as typed into a cell, what the cells beside it hold, and the size of its answer."""

    function: str
    arguments: tuple[Any, ...]
    tall: int = 1
    wide: int = 1


def answers(names: Mapping[str, str], calls: Sequence[Typed]) -> list[Any]:
    """Give what each call shows, its arguments in cells beside it: a value, or rows of them."""
    book = openpyxl.Workbook()
    sheet = book.active
    for name, text in names.items():
        book.defined_names[name] = DefinedName(name, attr_text=text)
    formulas = []
    row = 0
    for one in calls:
        formulas.append((row, f"={one.function}({','.join(_placed(sheet, row, one))})"))
        row += max([one.tall, *(len(as_grid(value)) for value in one.arguments)])
    with TemporaryDirectory() as folder:
        path = Path(folder, "calls.xlsx")
        book.save(path)
        model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    for row, text in formulas:
        model.set_user_input(0, row + 1, 1, text)
    model.evaluate()
    return [
        [
            [_shown(model, row + down, across) for across in range(one.wide)]
            for down in range(one.tall)
        ]
        for (row, _), one in zip(formulas, calls)
    ]


def _placed(sheet: Worksheet, row: int, one: Typed) -> list[str]:
    """Write the arguments of a call into cells, and give their references."""
    references = []
    column = FIRST_ARGUMENT
    for value in one.arguments:
        grid = as_grid(value)
        for down, line in enumerate(grid):
            for across, item in enumerate(line):
                _write(sheet, row + down, column + across, item)
        ends = [address(row, column), address(row + len(grid) - 1, column + len(grid[0]) - 1)]
        references.append(":".join(ends) if is_grid(value) else ends[0])
        column += len(grid[0])
    return references


def _write(sheet: Worksheet, row: int, column: int, value: Any) -> None:
    if value is None:
        return
    is_error = isinstance(value, str) and value in ERRORS
    cell = sheet.cell(row + 1, column + 1)
    cell.value = serial(value) if isinstance(value, dt.date) else value
    if isinstance(value, str):
        cell.data_type = "e" if is_error else "s"


def _shown(model: ironcalc.Model, row: int, column: int, sheet: int = 0) -> Any:
    """Give a cell's value; a text that only looks like an error is no error."""
    value = model.get_cell_value(sheet, row + 1, column + 1)
    is_error = model.get_cell_type(sheet, row + 1, column + 1) == ironcalc.CellType.ErrorValue
    return f"the text {value}" if value in ERRORS and not is_error else value


def typed_answers(path: Path, formulas: Sequence[str]) -> list[Any]:
    """Give what formulas show that are typed into a new sheet of a file."""
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    model.add_sheet("Typed")
    sheet = len(model.get_worksheets_properties()) - 1
    for row, text in enumerate(formulas, 1):
        model.set_user_input(sheet, row, 1, text)
    model.evaluate()
    return [_shown(model, row, 0, sheet) for row in range(len(formulas))]
