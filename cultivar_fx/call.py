"""One worksheet call: cell values in, a cell value or a cell error out.

The rules are the same for every way in. ``evaluate`` raises, as Python callers expect;
``cell_value`` gives a ``CellError`` in place of the answer, as cells expect.
"""

from __future__ import annotations

import datetime as dt
import re
from math import isfinite
from typing import TYPE_CHECKING, Any, List, Union

from cultivar_fx.catalog import definition
from cultivar_fx.dimensions import METRIC, SYSTEMS, US
from cultivar_fx.errors import (
    ERROR_CODES,
    CellError,
    ErrorGiven,
    FunctionError,
    Missing,
    NotPossible,
    OutOfRange,
    WrongType,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from cultivar_fx.definition import Argument, Definition

Grid = List[List[object]]
Answer = Union[float, str, dt.date, List[Any]]

DATE_ORIGIN = dt.date(1899, 12, 30)
"""Day 0 of spreadsheet dates after February 1900, in every program that we serve."""

_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d")


def evaluate(wanted: Definition, values: Sequence[object], units: object = None) -> Answer:
    """Answer one call by the rules of a cell.

    Parameters
    ----------
    wanted : Definition
        The function.
    values : sequence
        One value for each argument; ``None`` where it is blank or left out.
    units : str, optional
        How plain numbers are read, and in what the answer comes.

    Returns
    -------
    float, str, date or list
        A number; an empty text where all required arguments are blank; a date where a date was
        given and is asked for; a list, or a list of rows, of these and of ``CellError`` where
        a range was given for a single value.

    Raises
    ------
    FunctionError
        If there is no answer; the message says which argument, what it got, what it needs.
    """
    system = _system(units)
    arguments = wanted.arguments
    if len(values) != len(arguments):
        raise WrongType(f"{wanted.name} takes {_counted(wanted)}, got {len(values)}")
    for argument, value in zip(arguments, values):
        if not argument.is_range and not argument.is_text and _is_grid(value):
            return _spill(wanted, values, system)
    return _answer(wanted, arguments, values, system)


def cell_value(name: str, values: Sequence[object], units: object = None) -> Any:
    """Answer one call as a cell shows it: a ``CellError`` instead of an exception."""
    try:
        return evaluate(definition(name), values, units)
    except FunctionError as error:
        return CellError(error.code, str(error))


def call(name: str, *values: object) -> Answer:
    """Answer a call as it is typed: arguments in order, those at the end optional, units last."""
    return evaluate(definition(name), *_split_units(definition(name), values))


def reason(name: str, values: Sequence[object]) -> str:
    """Say why a call has no answer; an empty text where it has one."""
    try:
        answer = call(name, *values)
    except FunctionError as error:
        return str(error)
    errors = (value for value in _flat(_as_grid(answer)) if isinstance(value, CellError))
    return next((error.reason for error in errors), "")


def python_function(wanted: Definition) -> Callable[..., Answer]:
    """Make the function that Python callers use, with the same rules as in a cell."""
    names = [argument.name for argument in wanted.arguments]
    if wanted.takes_units:
        names.append("units")
    allowed = frozenset(names)

    def worksheet_call(*values: object, **named: object) -> Answer:
        if wanted.variadic:
            return str(wanted.function(*values))
        if named:
            values = _in_order(wanted, names, allowed, values, named)
        return evaluate(wanted, *_split_units(wanted, values))

    worksheet_call.__name__ = worksheet_call.__qualname__ = wanted.python_name
    worksheet_call.__doc__ = wanted.function.__doc__
    worksheet_call.__module__ = "cultivar_fx"
    return worksheet_call


def _in_order(
    wanted: Definition,
    names: Sequence[str],
    allowed: frozenset[str],
    values: tuple[object, ...],
    named: Mapping[str, object],
) -> tuple[object, ...]:
    """Put keyword arguments in their places, as Python itself would."""
    given = dict(zip(names, values))
    for name, value in named.items():
        if name not in allowed or name in given:
            fault = "twice" if name in given else "but there is none of that name"
            raise TypeError(f"{wanted.python_name}() got {name!r}, {fault}")
        given[name] = value
    return tuple(given.get(name) for name in names)


def _split_units(wanted: Definition, values: Sequence[object]) -> tuple[Sequence[object], object]:
    """Part the arguments from ``units`` behind them, and fill up those left out."""
    count = len(wanted.arguments)
    if len(values) > count + wanted.takes_units:
        raise WrongType(f"{wanted.name} takes {_counted(wanted)}, got {len(values)}")
    units = values[count] if len(values) > count else None
    return [*values[:count], *[None] * (count - len(values))], units


def _counted(wanted: Definition) -> str:
    names = [a.name if a.required else f"[{a.name}]" for a in wanted.arguments]
    if wanted.takes_units:
        names.append("[units]")
    return f"{len(names)} argument{'s' if len(names) > 1 else ''} ({', '.join(names)})"


def _system(units: object) -> str:
    if units is None or units == METRIC:
        return METRIC
    if units == US:
        return US
    while isinstance(units, (list, tuple)) and len(units) == 1:
        units = units[0]
    if isinstance(units, str):
        lowered = units.strip().lower()
        if lowered in ERROR_CODES or units.strip() in ERROR_CODES:
            raise ErrorGiven(f"units: is the error {units.strip()} already.", units.strip())
        if not lowered:
            return METRIC
        if lowered in SYSTEMS:
            return lowered
    elif units is None:
        return METRIC
    raise WrongType(f'units: got {_shown(units)}, needs "metric" or "us".')


def _answer(
    wanted: Definition, arguments: Sequence[Argument], values: Sequence[object], system: str
) -> Any:
    """Answer a call that does not spill."""
    prepared: list[Any] = []
    for argument, value in zip(arguments, values):
        kind = type(value)
        plain = kind is int or (kind is float and value == value)
        if plain and not argument.is_range and not argument.is_text:
            prepared.append(_checked(argument, float(value), system))  # type: ignore[arg-type]
        elif _is_blank(value) or _is_blank_range(value):
            if argument.default is None:
                if _all_blank(arguments, values):
                    return ""
                raise Missing(f"{argument.name}: is blank, needs {_needs(argument, system)}.")
            prepared.append(argument.default)
        elif argument.is_range:
            prepared.append(_as_grid(value))
        elif argument.is_text:
            prepared.append(_text(argument, value))
        else:
            prepared.append(read_number(argument, value, system))
    if wanted.has_range:
        _read_ranges(wanted, prepared, system)
    result = _computed(wanted, prepared, arguments, system)
    if wanted.result.name == "date" and any(_is_date(value) for value in values):
        return DATE_ORIGIN + dt.timedelta(days=round(result))
    return result


def _computed(
    wanted: Definition, prepared: list[Any], arguments: Sequence[Argument], system: str
) -> float:
    try:
        result = float(wanted.function(*prepared))
    except FunctionError:
        raise
    except (OverflowError, ZeroDivisionError) as error:
        raise NotPossible(
            f"{wanted.name}: these numbers together give no finite answer."
        ) from error
    if system == US and wanted.result.differs:
        result = wanted.result.from_metric(result)
    if not isfinite(result):
        raise NotPossible(f"{wanted.name}: these numbers together give no finite answer.")
    return result


def _checked(argument: Argument, number: float, system: str, as_given: object = None) -> float:
    """Bring a number to the metric unit and hold it against the limits."""
    metric = number
    if system == US and argument.dimension.differs:
        metric = argument.dimension.to_metric(number)
    if not isfinite(metric) or not argument.limits.hold(metric):
        got = _shown(number if as_given is None else as_given)
        hint = ""
        if argument.dimension.name == "fraction" and 1 < number <= 1000 and as_given is None:
            hint = f" (for {number:g} percent type {number:g}% or {number / 100:g})"
        raise OutOfRange(f"{argument.name}: got {got}, needs {_needs(argument, system)}{hint}.")
    return metric


def read_number(argument: Argument, value: object, system: str = METRIC) -> float:
    """Read any one cell value as a number in the argument's metric unit."""
    if isinstance(value, CellError):
        raise ErrorGiven(f"{argument.name}: is the error {value.code} already.", value.code)
    if isinstance(value, str):
        return _number_from_text(argument, value.strip(), system)
    if _is_date(value):
        if argument.dimension.name == "date":
            return _checked(argument, _serial(value), system, value)
    elif hasattr(value, "__float__") and not _is_boolean(value):
        try:
            return _checked(argument, float(value), system)
        except (TypeError, OverflowError) as error:
            raise WrongType(
                f"{argument.name}: got {_shown(value)}, needs {_needs(argument, system)}."
            ) from error
    raise WrongType(f"{argument.name}: got {_shown(value)}, needs {_needs(argument, system)}.")


def _number_from_text(argument: Argument, text: str, system: str) -> float:
    if text.upper() in ERROR_CODES:
        raise ErrorGiven(f"{argument.name}: is the error {text.upper()} already.", text.upper())
    if argument.dimension.name == "date":
        return _checked(argument, _serial_from_text(argument, text, system), METRIC, text)
    from cultivar_fx import units

    try:
        number = units.quantity_in(text, argument.dimension)
    except FunctionError as error:
        raise type(error)(
            f"{argument.name}: got {_shown(text)}, which {error}; needs {_needs(argument, system)}."
        ) from error
    if units.has_unit(text):
        return _checked(argument, number, METRIC, text)
    return _checked(argument, number, system)


def _serial_from_text(argument: Argument, text: str, system: str) -> float:
    if _ISO_DATE.fullmatch(text):
        try:
            return _serial(dt.date.fromisoformat(text))
        except ValueError:
            pass
    else:
        from cultivar_fx import units

        parsed = units.parse_number_and_unit(text)
        if parsed is not None and not parsed[1]:
            return parsed[0]
    raise WrongType(f"{argument.name}: got {_shown(text)}, needs {_needs(argument, system)}.")


def _serial(value: Any) -> float:
    if isinstance(value, dt.datetime):
        day = (value.date() - DATE_ORIGIN).days
        seconds = value.hour * 3600 + value.minute * 60 + value.second + value.microsecond / 1e6
        return day + seconds / 86400
    return float((value - DATE_ORIGIN).days)


def _text(argument: Argument, value: object) -> str:
    if isinstance(value, CellError):
        raise ErrorGiven(f"{argument.name}: is the error {value.code} already.", value.code)
    if isinstance(value, str):
        if value.strip().upper() in ERROR_CODES:
            code = value.strip().upper()
            raise ErrorGiven(f"{argument.name}: is the error {code} already.", code)
        return value.strip()
    raise WrongType(f"{argument.name}: got {_shown(value)}, needs a text. {argument.help}")


def _read_ranges(wanted: Definition, prepared: list[Any], system: str) -> None:
    """Turn the ranges of a call into lists of numbers, side by side where they are paired."""
    places = [place for place, argument in enumerate(wanted.arguments) if argument.is_range]
    columns = [_flat(prepared[place]) for place in places]
    if wanted.paired:
        longest = max(len(column) for column in columns)
        for place, column in zip(places, columns):
            if len(column) != longest:
                raise WrongType(
                    f"{wanted.arguments[place].name}: has {len(column)} values where another "
                    f"range has {longest}, needs as many."
                )
        rows = [row for row in zip(*columns) if not all(map(_is_blank, row))]
        columns = [list(column) for column in zip(*rows)]
    else:
        columns = [[value for value in column if not _is_blank(value)] for column in columns]
    for place, column in zip(places, columns):
        argument = wanted.arguments[place]
        prepared[place] = [
            _range_number(argument, position, value, system)
            for position, value in enumerate(column, 1)
        ]


def _range_number(argument: Argument, position: int, value: object, system: str) -> float:
    numbered = argument._replace(name=f"{argument.name}, value {position}")
    if _is_blank(value):
        raise Missing(f"{numbered.name}: is blank, needs {_needs(argument, system)}.")
    return read_number(numbered, value, system)


def _spill(wanted: Definition, values: Sequence[object], system: str) -> Any:
    """Answer a call element by element, errors in their own places."""
    spilled = [
        _as_grid(value) if not argument.is_range and _is_grid(value) else None
        for argument, value in zip(wanted.arguments, values)
    ]
    grids = [grid for grid in spilled if grid is not None]
    rows = max(len(grid) for grid in grids)
    columns = max(len(grid[0]) for grid in grids)
    answers = [
        [_element(wanted, values, spilled, row, column, system) for column in range(columns)]
        for row in range(rows)
    ]
    if rows == columns == 1:
        if isinstance(answers[0][0], CellError):
            error = answers[0][0]
            raise ErrorGiven(error.reason, error.code)
        return answers[0][0]
    flat_in = all(
        not _is_grid(value[0])
        for value, grid in zip(values, spilled)
        if grid is not None and isinstance(value, (list, tuple))
    )
    return [row[0] for row in answers] if flat_in and columns == 1 else answers


def _element(
    wanted: Definition,
    values: Sequence[object],
    spilled: Sequence[Grid | None],
    row: int,
    column: int,
    system: str,
) -> object:
    single: list[object] = []
    for value, grid in zip(values, spilled):
        if grid is None:
            single.append(value)
            continue
        down, right = min(row, len(grid) - 1), min(column, len(grid[0]) - 1)
        if (down != row and len(grid) > 1) or (right != column and len(grid[0]) > 1):
            return CellError(Missing.code, "the ranges have different sizes.")
        single.append(grid[down][right])
    try:
        return _answer(wanted, wanted.arguments, single, system)
    except FunctionError as error:
        return CellError(error.code, str(error))


def _is_grid(value: object) -> bool:
    return isinstance(value, (list, tuple)) or getattr(value, "ndim", 0) > 0


def _as_grid(value: Any) -> Grid:
    """Give any range as rows; a flat list is a column."""
    if not _is_grid(value):
        return [[value]]
    if not isinstance(value, (list, tuple)):
        value = getattr(value, "values", value).tolist()
    rows = [list(row) if isinstance(row, (list, tuple)) else [row] for row in value]
    if not rows or not rows[0]:
        return [[None]]
    width = max(len(row) for row in rows)
    return [row + [None] * (width - len(row)) for row in rows]


def _flat(grid: Iterable[Iterable[object]]) -> list[object]:
    return [value for row in grid for value in row]


def _is_blank(value: object) -> bool:
    if value is None:
        return True
    if isinstance(value, str):
        return not value.strip()
    return isinstance(value, float) and value != value


def _is_blank_range(value: object) -> bool:
    return _is_grid(value) and all(map(_is_blank, _flat(_as_grid(value))))


def _all_blank(arguments: Sequence[Argument], values: Sequence[object]) -> bool:
    return all(
        _is_blank(value) or _is_blank_range(value)
        for argument, value in zip(arguments, values)
        if argument.required
    )


def _is_date(value: object) -> bool:
    return isinstance(value, dt.date) or (
        isinstance(value, str) and _ISO_DATE.fullmatch(value.strip()) is not None
    )


def _is_boolean(value: object) -> bool:
    return isinstance(value, bool) or type(value).__name__ in ("bool_", "bool")


def _needs(argument: Argument, system: str) -> str:
    """Say what an argument takes, as a part of a sentence."""
    dimension = argument.dimension
    limits = argument.limits.text(dimension, system)
    between = f" {'from ' if argument.limits.high is not None else ''}{limits}"
    if dimension.name == "date":
        return "a date such as 2026-03-14"
    if dimension.name in ("fraction", "count", "number", "text"):
        noun = {"fraction": "a fraction", "count": "a number", "text": "a text"}
        return noun.get(dimension.name, "a number") + (between if limits else "")
    if dimension.name == "money":
        return "an amount of money" + (between if limits else "")
    unit = dimension.unit(system)
    sample = f' or a text with its unit, such as "5 {unit}"' if dimension.pint_unit else ""
    return f"a number of {unit}{between if limits else ''}{sample}"


def _shown(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.10g}"
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
