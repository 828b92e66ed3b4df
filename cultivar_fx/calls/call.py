"""One worksheet call: cell values in, a cell value or a cell error out.

The rules are the same for every way in. ``evaluate`` raises, as Python callers expect;
``cell_value`` gives a ``CellError`` in place of the answer, as cells expect.
"""

from __future__ import annotations

import datetime as dt
from functools import partial
from math import inf, isfinite
from typing import TYPE_CHECKING, Any, List, Union

from cultivar_fx.calls.arguments import (
    error_given,
    need_units_last,
    quick_column,
    quick_number,
    quick_numbers,
    read_arguments,
    read_text,
    sentence_in_units,
)
from cultivar_fx.calls.cells import (
    as_grid,
    date_of,
    error_code,
    flat,
    is_blank,
    is_blank_range,
    is_date,
    is_flat,
    is_grid,
    plain,
    shown,
)
from cultivar_fx.catalog.dimensions import METRIC, SYSTEMS, US
from cultivar_fx.catalog.registry import definition
from cultivar_fx.errors import (
    CellError,
    FunctionError,
    Missing,
    NotPossible,
    WrongType,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from cultivar_fx.catalog.definition import Argument, Definition

Answer = Union[float, str, dt.date, List[Any]]


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
    if wanted.variadic:
        return _about_another(wanted, values)
    system = _system(units)
    if len(values) != len(wanted.arguments):
        raise WrongType(f"{wanted.name} takes {_counted(wanted)}, got {len(values)}.")
    return _answer(wanted, values, system)


def cell_value(name: str, values: Sequence[object], units: object = None) -> Any:
    """Answer one call as a cell shows it: a ``CellError`` instead of an exception."""
    try:
        return evaluate(definition(name), values, units)
    except FunctionError as error:
        return CellError(error.code, str(error))


def call(name: str, *values: object) -> Answer:
    """Answer a call as it is typed: arguments in order, those at the end optional, units last."""
    wanted = definition(name)
    return evaluate(wanted, *_split_units(wanted, values))


def reason(name: str, values: Sequence[object]) -> str:
    """Describe why a call has no answer; an empty text where it has one."""
    try:
        answer = call(name, *values)
    except FunctionError as error:
        return str(error)
    errors = (one for one in flat(as_grid(answer)) if isinstance(one, CellError))
    return next((error.reason for error in errors), "")


def python_function(wanted: Definition) -> Callable[..., Answer]:
    """Make the function that Python callers use, with the same rules as in a cell."""
    names = [parameter.name for parameter in wanted.parameters if not parameter.takes_rest]

    def worksheet_call(*values: object, **named: object) -> Answer:
        if named:
            values = _in_order(wanted, names, values, named)
        return evaluate(wanted, *_split_units(wanted, values))

    worksheet_call.__name__ = worksheet_call.__qualname__ = wanted.python_name
    worksheet_call.__doc__ = wanted.function.__doc__
    worksheet_call.__module__ = "cultivar_fx"
    return worksheet_call


def _in_order(
    wanted: Definition,
    names: Sequence[str],
    values: tuple[object, ...],
    named: Mapping[str, object],
) -> tuple[object, ...]:
    """Put keyword arguments in their places, as Python itself would."""
    given = dict(zip(names, values))
    for name, value in named.items():
        if name not in names or name in given:
            fault = "twice" if name in given else "but there is none of that name"
            raise TypeError(f"{wanted.python_name}() got {name!r}, {fault}")
        given[name] = value
    return (*(given.get(name) for name in names), *values[len(names) :])


def _split_units(wanted: Definition, values: Sequence[object]) -> tuple[Sequence[object], object]:
    """Part the arguments from ``units`` behind them, and fill up those left out."""
    if wanted.variadic:
        return values, None
    count = len(wanted.arguments)
    left_out = count - len(values)
    if left_out >= 0:
        return [*values, *[None] * left_out], None
    if left_out < -1 or not wanted.takes_units:
        raise WrongType(f"{wanted.name} takes {_counted(wanted)}, got {len(values)}.")
    return values[:count], values[count]


def _counted(wanted: Definition) -> str:
    names = [parameter.spelled for parameter in wanted.parameters]
    return f"{len(names)} argument{'s' if len(names) > 1 else ''} ({', '.join(names)})"


def _about_another(wanted: Definition, values: Sequence[object]) -> str:
    """Answer a call that hands over the name of another function and that one's arguments."""
    names = flat(as_grid(values[0])) if values else [None]
    name = names[0] if len(names) == 1 else names
    if is_blank(name):
        return ""
    return str(wanted.function(read_text(wanted.arguments[0], name), *values[1:]))


def _system(units: object) -> str:
    if units is None or units is METRIC:
        return METRIC
    units = as_grid(units)[0][0]
    code = error_code(units)
    if code:
        raise error_given("units", code)
    if is_blank(units):
        return METRIC
    system = units.strip().lower() if isinstance(units, str) else ""
    if system not in SYSTEMS:
        raise WrongType(f'units: got {shown(units)}, needs "metric" or "us".')
    return system


def _answer(wanted: Definition, values: Sequence[object], system: str) -> Answer:
    return _told(_metric_answer, wanted, values, system, values)


def _told(
    answer: Callable[..., Answer],
    wanted: Definition,
    values: Sequence[Any],
    system: str,
    given: Sequence[object],
) -> Answer:
    """Answer, and tell what is not possible in the units of what was given."""
    try:
        return answer(wanted, values, system)
    except NotPossible as error:
        raise NotPossible(sentence_in_units(str(error), wanted, given, system)) from error


def _metric_answer(wanted: Definition, values: Sequence[object], system: str) -> Answer:
    """Answer a call; the sentence of what is not possible has metric units."""
    arguments = wanted.arguments
    numbers = quick_numbers(wanted, values, system)
    if numbers is not None:
        return _computed(wanted, numbers, system)
    if any(is_grid(value) and not argument.is_range for argument, value in zip(arguments, values)):
        return _spill(wanted, values, system)
    return _careful_answer(wanted, values, system)


def _careful_answer(wanted: Definition, values: Sequence[object], system: str) -> Answer:
    """Answer a call that has more than plain numbers, or less, but does not spill."""
    arguments = wanted.arguments
    try:
        prepared = read_arguments(wanted, values, system)
    except FunctionError:
        _pass_errors_on(arguments, values)
        need_units_last(wanted, values)
        if _nothing_given(arguments, values):
            return ""
        raise
    result = _computed(wanted, prepared, system)
    if wanted.result.is_date and any(map(is_date, values)):
        return date_of(result)
    return result


def _pass_errors_on(arguments: Sequence[Argument], values: Sequence[object]) -> None:
    """Let an error value among the arguments go before every other complaint."""
    for argument, value in zip(arguments, values):
        code = error_code(value)
        if code:
            raise error_given(argument.name, code)


def _nothing_given(arguments: Sequence[Argument], values: Sequence[object]) -> bool:
    """Return whether all required arguments are blank, as in a row that waits for input."""
    return all(
        is_blank(plain(value)) or is_blank_range(value)
        for argument, value in zip(arguments, values)
        if argument.required
    )


def _computed(wanted: Definition, prepared: Sequence[Any], system: str) -> float:
    try:
        result = float(wanted.function(*prepared))
    except FunctionError:
        raise
    except (ArithmeticError, ValueError):
        result = inf
    if system == US and wanted.result.differs:
        result = wanted.result.from_metric(result)
    if not isfinite(result):
        raise NotPossible(f"{wanted.name}: these numbers together give no finite answer.")
    return result


def _spill(wanted: Definition, values: Sequence[object], system: str) -> Answer:
    """Answer a call element by element, errors in their own places."""
    spills = [
        not argument.is_range and is_grid(value)
        for argument, value in zip(wanted.arguments, values)
    ]
    parts: list[Any] = [as_grid(v) if spill else v for v, spill in zip(values, spills)]
    grids = [part for part, spill in zip(parts, spills) if spill]
    height, width = max(map(len, grids)), max(len(grid[0]) for grid in grids)
    if height == width == 1:
        return _answer(wanted, [one for one, _ in map(_single, parts, spills)], system)
    parts, spills = map(list, zip(*map(_single, parts, spills)))  # one cell counts for all
    rows = _quick_spill(wanted, parts, spills, system) or [
        [_element(wanted, parts, spills, row, column, system) for column in range(width)]
        for row in range(height)
    ]
    if width == 1 and all(is_flat(v) for v, spill in zip(values, spills) if spill):
        return [row[0] for row in rows]
    return rows


def _single(part: Any, spill: bool) -> tuple[Any, bool]:
    """Return a range of one cell as that cell; and whether it is a range of more."""
    return (part[0][0], False) if spill and len(part) == len(part[0]) == 1 else (part, spill)


def _quick_spill(
    wanted: Definition, parts: Sequence[Any], spills: Sequence[bool], system: str
) -> list[list[object]] | None:
    """Answer for columns of the same height that hold only numbers; nothing for any others."""
    heights = {len(part) for part, spill in zip(parts, spills) if spill}
    if not wanted.takes_only_numbers or len(heights) > 1:
        return None
    columns = []
    for argument, part, spill in zip(wanted.arguments, parts, spills):
        if spill:
            one_wide = len(part[0]) == 1
            column = quick_column(argument, flat(part), system) if one_wide else None
        else:
            number = quick_number(argument, part, system)
            column = None if number is None else [number] * max(heights)
        if column is None:
            return None
        columns.append(column)
    computed = partial(_told, _computed, given=parts)
    return [[_or_error(computed, wanted, numbers, system)] for numbers in zip(*columns)]


def _element(
    wanted: Definition,
    parts: Sequence[Any],
    spills: Sequence[bool],
    row: int,
    column: int,
    system: str,
) -> object:
    """Answer for one place of a spilled range; a single row or column counts for all."""
    try:
        single = [
            part[row if len(part) > 1 else 0][column if len(part[0]) > 1 else 0] if spill else part
            for part, spill in zip(parts, spills)
        ]
    except IndexError:
        return CellError(Missing.code, "The ranges have different sizes, need the same.")
    return _or_error(_answer, wanted, single, system)


def _or_error(
    answer: Callable[..., Answer], wanted: Definition, values: Sequence[Any], system: str
) -> object:
    try:
        return answer(wanted, values, system)
    except FunctionError as error:
        return CellError(error.code, str(error))
