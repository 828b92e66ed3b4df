"""Calls of the worksheet functions in LibreOffice Calc, as the add-in is asked and answers.

What a call becomes where Calc cannot hold it as it stands, and what it shows of itself:

- TRUE and FALSE are the numbers 1 and 0, and a date is its number, both ways.
- A single number that a function requires reaches it with 15 digits.
- An optional argument that is blank is left out, since Calc hands an empty cell over as 0; and
  an optional 0 is refused where leaving it out would mean something else.
- A range for a single value is entered as an array formula. Where one of two ranges ends, Calc
  shows #VALUE!.
- A range with an error in it never reaches a function: Calc shows ``Err:504``.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any, NamedTuple

from cases import ERRORS, NA, VALUE
from host_calls import as_shown
from office import address

from cultivar_fx.calls.call import cell_value
from cultivar_fx.catalog.registry import functions
from cultivar_fx.errors import CellError

if TYPE_CHECKING:
    from cases import Case
    from office import Document

    from cultivar_fx.catalog.definition import Argument, Definition

ERROR_IN_RANGE = "Err:504"
FIRST_DAY = dt.datetime(1899, 12, 30)
ANSWERS, ARGUMENTS = 0, 5
"""The columns where answers and arguments begin."""


class Call(NamedTuple):
    """One call as Calc holds it, and what it has to show."""

    case: Case
    wanted: Definition
    arguments: list[Any]
    shown: Any

    def __str__(self) -> str:
        return f"{self.case.about}: {self.wanted.name}{tuple(self.arguments)}"

    @property
    def spills(self) -> bool:
        """Return whether a range stands for a single value."""
        return any(
            isinstance(value, list) and not argument.is_range
            for argument, value in zip(self.wanted.arguments, self.arguments)
        )

    @property
    def size(self) -> tuple[int, int]:
        """Rows and columns of the answer."""
        return (len(self.shown), len(self.shown[0])) if isinstance(self.shown, list) else (1, 1)


def as_call(case: Case) -> Call:
    """Turn a case into what Calc can hold."""
    wanted = functions()[case.function]
    arguments = [_held(one, value) for one, value in zip(wanted.arguments, case.arguments)]
    arguments += map(_plain, case.arguments[len(arguments) :])
    shown = case.shown
    if repr(arguments) != repr([*case.arguments]):  # True is equal to 1.0
        blank = [None] * (len(wanted.arguments) - len(arguments))
        shown = as_shown(cell_value(case.function, [*arguments, *blank], case.units))
    if any(_is_refused_zero(one, value) for one, value in zip(wanted.arguments, arguments)):
        shown = NA
    if any(_is_refused_range(one, value) for one, value in zip(wanted.arguments, arguments)):
        shown = ERROR_IN_RANGE
    if isinstance(shown, list):
        heights = (len(value) for value in arguments if isinstance(value, list) and len(value) > 1)
        shortest = min(heights, default=len(shown))
        shown = [*shown[:shortest], *([VALUE] * len(line) for line in shown[shortest:])]
    # The system of units goes last, where a function has it.
    units = [case.units] if case.units is not None and wanted.takes_units else []
    blank = [None] * (len(wanted.arguments) - len(arguments)) if units else []
    return Call(case, wanted, [*arguments, *blank, *units], _dates_as_numbers(shown))


def enter(document: Document, calls: list[Call]) -> list[int]:
    """Write calls one below the other, with their arguments beside them, and give their rows."""
    sheet = document.sheets[0]
    cells: list[list[Any]] = []
    formulas: list[str] = []
    starts: list[int] = []
    arrays: list[tuple[int, str, tuple[int, int]]] = []
    for call in calls:
        starts.append(len(cells))
        lines, places = _laid_out(call, len(cells))
        formula = f"{call.wanted.worksheet_name}({';'.join(places)})"
        if call.spills:
            arrays.append((len(cells), formula, call.size))
        cells += lines
        formulas += [f"={formula}" if not call.spills else "", *[""] * (len(lines) - 1)]
    _write(document, cells)
    document.write_formulas(sheet, 0, ANSWERS, [[one] for one in formulas])
    for row, formula, (down, right) in arrays:
        document.fill_array(sheet, row, ANSWERS, formula, down, right)
    return starts


def answers(document: Document, calls: list[Call], starts: list[int]) -> list[Any]:
    """Read what each call shows."""
    last = starts[-1] + calls[-1].size[0]
    values = document.read(document.sheets[0], 0, ANSWERS, last, ARGUMENTS)
    found = []
    for call, row in zip(calls, starts):
        down, right = call.size
        block = [line[:right] for line in values[row : row + down]]
        plain = [["" if value is None else as_shown(value) for value in line] for line in block]
        found.append(plain if isinstance(call.shown, list) else plain[0][0])
    return found


def _held(argument: Argument, value: Any) -> Any:
    """Return a value as it reaches the function."""
    value = _plain(value)
    if isinstance(value, float) and argument.required and not argument.is_range:
        return float(f"{value:.15g}")
    return value


def _plain(value: Any) -> Any:
    """Return a value as a cell holds it: dates and booleans as numbers."""
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    if isinstance(value, dt.date):
        return _number_of_day(value)
    return float(value) if isinstance(value, bool) else value


def _number_of_day(value: dt.date) -> float:
    moment = value if isinstance(value, dt.datetime) else dt.datetime(*value.timetuple()[:3])
    return (moment - FIRST_DAY) / dt.timedelta(days=1)


def _dates_as_numbers(shown: Any) -> Any:
    if isinstance(shown, list):
        return [_dates_as_numbers(one) for one in shown]
    return _number_of_day(shown) if isinstance(shown, dt.date) else shown


def _is_refused_zero(argument: Argument, value: Any) -> bool:
    return value == 0 and bool(argument.default) and argument.limits.hold(0)


def _is_refused_range(argument: Argument, value: Any) -> bool:
    whole = argument.is_range or not argument.required
    return (
        whole
        and isinstance(value, list)
        and any(one in ERRORS for row in _rows(value) for one in row)
    )


def _laid_out(call: Call, row: int) -> tuple[list[list[Any]], list[str]]:
    """Return the cells of the arguments side by side, and the places where they stand."""
    blocks: list[list[list[Any]]] = []
    places: list[str] = []
    for position, value in enumerate(call.arguments):
        required = (
            position < len(call.wanted.arguments) and call.wanted.arguments[position].required
        )
        if value is None and not required:
            places.append("")
            continue
        column = ARGUMENTS + sum(len(block[0]) for block in blocks)
        block = _rows(value)
        last = address(row + len(block) - 1, column + len(block[0]) - 1)
        places.append(address(row, column) + (f":{last}" if isinstance(value, list) else ""))
        blocks.append(block)
    while places and not places[-1]:
        places.pop()
    height = max(call.size[0], *(len(block) for block in blocks))
    empty = [[None] * len(block[0]) for block in blocks]
    lines = [
        [
            one
            for block, none in zip(blocks, empty)
            for one in (block[line] if line < len(block) else none)
        ]
        for line in range(height)
    ]
    return lines, places


def _rows(value: Any) -> list[list[Any]]:
    if not isinstance(value, list):
        return [[value]]
    return [row if isinstance(row, list) else [row] for row in value]


def _write(document: Document, lines: list[list[Any]]) -> None:
    """Write the arguments; an empty text is a formula's, since a cell that holds one is blank."""
    sheet = document.sheets[0]
    width = max(map(len, lines))
    cells = [
        [CellError(one, "") if one in ERRORS else one for one in line]
        + [None] * (width - len(line))
        for line in lines
    ]
    document.write(sheet, 0, ARGUMENTS, cells)
    for row, line in enumerate(lines):
        for column, value in enumerate(line, ARGUMENTS):
            if value == "":
                document.fill(sheet, row, column, '""')
