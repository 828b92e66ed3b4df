"""Calls of LAMBDA names, typed into a generated workbook in an engine that has LAMBDA: ironcalc."""

from __future__ import annotations

import datetime as dt
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

import ironcalc
from cases import ERRORS
from office import address
from workbooks import made

from cultivar_fx.calls.cells import as_grid, is_grid, serial

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

FIRST_ARGUMENT = 4
"""Column of the first argument; the answer, up to three columns wide, stands before it."""


class Typed(NamedTuple):
    """A call as typed into a cell, what the cells beside it hold, and the size of its answer."""

    function: str
    arguments: tuple[Any, ...]
    tall: int = 1
    wide: int = 1


def answers(units: str, calls: Sequence[Typed]) -> list[Any]:
    """Return what each call shows, its arguments in cells beside it: a value, or rows of them."""
    sheet = empty_sheet(units)
    rows = []
    row = 0
    for one in calls:
        sheet.type(row, 0, f"={one.function}({','.join(_placed(sheet, row, one))})")
        rows.append(row)
        row += max([one.tall, *(len(as_grid(value)) for value in one.arguments)])
    sheet.model.evaluate()
    return [
        [
            [sheet.shown(row + down, across) for across in range(one.wide)]
            for down in range(one.tall)
        ]
        for row, one in zip(rows, calls)
    ]


def typed_answers(units: str, formulas: Sequence[str]) -> list[Any]:
    """Return what formulas show that are typed into a new sheet of a generated workbook."""
    sheet = empty_sheet(units)
    for row, text in enumerate(formulas):
        sheet.type(row, 0, text)
    sheet.model.evaluate()
    return [sheet.shown(row, 0) for row in range(len(formulas))]


def empty_sheet(units: str) -> NewSheet:
    """Return a sheet of the grower's own in a generated workbook, as good as new."""
    sheet = _added(units)
    top, bottom, left, right = sheet.model.get_sheet_dimensions(sheet.number)
    sheet.model.range_clear_all(sheet.number, top, left, bottom, right)
    return sheet


@cache
def _added(units: str) -> NewSheet:
    """Load the workbook of the invented farm and put a sheet into it, once a run: both are slow."""
    model = ironcalc.load_from_xlsx(str(made(units, "demo").path), "en", "UTC", "en")
    model.add_sheet("Typed")
    return NewSheet(model, len(model.get_worksheets_properties()) - 1)


class NewSheet(NamedTuple):
    """A sheet in a loaded workbook."""

    model: ironcalc.Model
    number: int

    def type(self, row: int, column: int, text: str) -> None:
        """Type a text, which the engine reads as a spreadsheet program does."""
        self.model.set_user_input(self.number, row + 1, column + 1, text)

    def put(self, row: int, column: int, value: Any) -> None:
        """Let a cell hold a value just as it is."""
        here = (self.number, row + 1, column + 1)
        if isinstance(value, dt.date):
            value = serial(value)
        if isinstance(value, str) and value in ERRORS:
            self.model.set_user_input(*here, value)
        elif isinstance(value, str):
            self.model.update_cell_with_text(*here, value)
        elif isinstance(value, bool):
            self.model.update_cell_with_bool(*here, value)
        elif value is not None:
            self.model.update_cell_with_number(*here, value)

    def shown(self, row: int, column: int) -> Any:
        """Return a cell's value; a text that only looks like an error is no error."""
        here = (self.number, row + 1, column + 1)
        value = self.model.get_cell_value(*here)
        is_error = self.model.get_cell_type(*here) == ironcalc.CellType.ErrorValue
        return f"the text {value}" if value in ERRORS and not is_error else value


def _placed(sheet: NewSheet, row: int, one: Typed) -> Iterator[str]:
    """Put the arguments of a call into cells, and give their references."""
    column = FIRST_ARGUMENT
    for value in one.arguments:
        grid = as_grid(value)
        for down, line in enumerate(grid):
            for across, item in enumerate(line):
                sheet.put(row + down, column + across, item)
        ends = [address(row, column), address(row + len(grid) - 1, column + len(grid[0]) - 1)]
        yield ":".join(ends) if is_grid(value) else ends[0]
        column += len(grid[0])
