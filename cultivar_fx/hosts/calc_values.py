"""One call from a cell of LibreOffice Calc: what the program hands over, and what it takes back.

What Calc does, and this module goes by (measured with LibreOffice 7.4):

- A number comes as text where the argument is declared as text: 15 digits, with the decimal
  sign of the program's locale. An empty cell comes as an empty text, which is the one way to
  tell it from zero, so every required single value is declared so. In an array formula Calc
  then calls the function for one cell after the other, errors in their places.
- Only what is declared as ``any`` may be left out, and may be a range. Left out, it comes as
  ``None``; numbers are exact; an empty cell comes as 0.0 if it is a single one, as an empty text
  within a range.
- TRUE is the number 1, and a date is its number.
- A single cell with an error never arrives: the answer is that error. A range with an error in
  it never arrives either: the answer is ``Err:504``.
- A result that is not a number, but holds one of Calc's error numbers, is shown as that error.
- A table of results needs a declared type of its own.

It runs inside LibreOffice, whose Python may be as old as 3.8.
"""

from __future__ import annotations

import datetime as dt
import re
import struct
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple, Tuple

from cultivar_fx.calls.call import cell_value
from cultivar_fx.calls.cells import as_grid, serial
from cultivar_fx.catalog.registry import definition
from cultivar_fx.errors import NOT_AVAILABLE, WRONG_NUMBER, CellError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from cultivar_fx.catalog.definition import Argument, Definition, Parameter

ERROR_NUMBERS = {
    "#NUM!": 503,
    "#VALUE!": 519,
    "#NULL!": 521,
    "#REF!": 524,
    "#NAME?": 525,
    "#DIV/0!": 532,
    "#N/A": 32767,
}
"""LibreOffice's number of each error value."""

TEXT, ANY, SEVERAL, TABLE = "string", "any", "[]any", "[][]any"

_QUIET_NAN = 0x7FF8_0000_0000_0000
_SIGNS_OF_A_NUMBER = "0123456789.E+-"
_COMMA_NUMBER = re.compile(r"-?\d+,\d+(E[+-]\d{1,3})?")
_EMPTY_OR_ZERO = (
    "{name}: is 0 or an empty cell, which LibreOffice does not tell apart here. Leave it out, "
    'or type it as a text with its unit, such as "0 {unit}".'
)


def argument_types(wanted: Definition) -> list[tuple[str, str]]:
    """Return name and declared type of each argument, ``units`` and another's arguments last."""

    def declared(parameter: Parameter) -> str:
        if parameter.takes_rest:
            return SEVERAL
        is_range = parameter.argument is not None and parameter.argument.is_range
        return ANY if parameter.optional or is_range else TEXT

    return [(parameter.name, declared(parameter)) for parameter in wanted.parameters]


def answer_type(wanted: Definition) -> str:
    """Return the declared type of the answer: a table where an optional argument may be a range."""
    return ANY if all(argument.required for argument in wanted.arguments) else TABLE


def answer(name: str, given: Sequence[Any], decimal_sign: Callable[[], str]) -> Any:
    """Answer one call.

    Parameters
    ----------
    name : str
        The function, without its prefix.
    given : sequence
        What Calc hands over, one for each of ``argument_types``.
    decimal_sign : callable
        Gives the decimal sign of the program's locale.

    Returns
    -------
    float, str or tuple
        A number, which may be an error in disguise, or a text; rows of these where the answer
        is declared to be a table.
    """
    shape = _shape(name)
    if shape.variadic:
        return _result(_why(given[0], [_read(value, decimal_sign) for value in given[1]]))
    values = [
        value if is_text else _read(value, decimal_sign)
        for is_text, value in zip(shape.is_text, given)
    ]
    units = given[len(values)] if shape.takes_units else None
    found = _unclear(shape, values) or cell_value(name, values, None if units == 0.0 else units)
    if shape.is_table:
        return tuple(tuple(map(_result, row)) for row in as_grid(found))
    return _result(found)


class _Shape(NamedTuple):
    """What answering a call has to know of its function: found once, since cells are many."""

    variadic: bool
    takes_units: bool
    is_table: bool
    is_text: Tuple[bool, ...]
    unclear: Tuple[Tuple[int, Argument], ...]


@lru_cache(maxsize=None)
def _shape(name: str) -> _Shape:
    wanted = definition(name)
    return _Shape(
        variadic=wanted.variadic,
        takes_units=wanted.takes_units,
        is_table=answer_type(wanted) == TABLE,
        is_text=tuple(argument.is_text for argument in wanted.arguments),
        unclear=tuple(
            (place, argument)
            for place, argument in enumerate(wanted.arguments)
            if argument.is_range
            or (not argument.required and argument.default != 0 and argument.limits.hold(0.0))
        ),
    )


def _read(value: Any, decimal_sign: Callable[[], str]) -> Any:
    """Return a single value as a number where it is one; other texts as they are."""
    if isinstance(value, str):
        if not value.strip(_SIGNS_OF_A_NUMBER):
            try:
                return float(value)
            except ValueError:
                return value
        if _COMMA_NUMBER.fullmatch(value) and decimal_sign() == ",":
            return float(value.replace(",", "."))
    elif isinstance(value, tuple):
        return [[_unmasked(one) for one in row] for row in value]
    return value


def _unclear(shape: _Shape, values: Sequence[Any]) -> CellError | None:
    """Refuse a 0 that may be an empty cell, where that would mean something else."""
    for place, argument in shape.unclear:
        if _is_zero(values[place]):
            unit = argument.dimension.metric
            reason = _EMPTY_OR_ZERO.format(name=argument.name, unit=unit)
            return CellError(NOT_AVAILABLE, reason)
    return None


def _why(name: Any, values: Sequence[Any]) -> Any:
    """Describe why a call has no answer; empty cells among its arguments come as 0."""
    sentence = cell_value("WHY", [name, *values])
    if sentence != "" or not any(map(_is_zero, values)):
        return sentence
    unclear = _unclear(_shape(name), values)
    if unclear is not None:
        return unclear.reason
    sentence = cell_value("WHY", [name, *(None if _is_zero(one) else one for one in values)])
    return sentence and f"If the cell that counts as 0 is empty: {sentence}"


def _is_zero(value: Any) -> bool:
    return isinstance(value, float) and value == 0.0


def _result(value: Any) -> Any:
    if isinstance(value, CellError):
        return _masked(ERROR_NUMBERS[value.code])
    if isinstance(value, dt.date):
        return serial(value)
    return value


def _masked(number: int) -> float:
    """Return what Calc takes for one of its errors: not a number, but holding the error's."""
    not_a_number: float = struct.unpack("<d", struct.pack("<Q", _QUIET_NAN | number))[0]
    return not_a_number


def _unmasked(value: Any) -> Any:
    """Return the error value that comes, within a computed range, as what is not a number."""
    if not isinstance(value, float) or value == value:
        return value
    number = struct.unpack("<Q", struct.pack("<d", value))[0] & 0xFFFF
    codes = {number: code for code, number in ERROR_NUMBERS.items()}
    return CellError(codes.get(number, WRONG_NUMBER), "")
