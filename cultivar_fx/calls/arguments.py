"""The arguments of one worksheet call: what a cell or a range holds, read as what a function takes.

Whatever cannot be read raises an error that names the argument, what it got and what it needs.
"""

from __future__ import annotations

import re
import sys
from functools import lru_cache
from math import isfinite
from typing import TYPE_CHECKING, Any

from cultivar_fx.calls.cells import (
    as_grid,
    error_code,
    flat,
    is_blank,
    is_blank_range,
    is_date,
    is_unclear_date,
    plain,
    serial,
    shown,
)
from cultivar_fx.calls.units import as_typed, converter, has_unit, parse_number_and_unit
from cultivar_fx.catalog.dimensions import METRIC, SYSTEMS, US
from cultivar_fx.errors import (
    ErrorGiven,
    FunctionError,
    Missing,
    OutOfRange,
    UnknownUnit,
    WrongType,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from cultivar_fx.catalog.definition import Argument, Definition
    from cultivar_fx.catalog.dimensions import Dimension

_LARGEST = sys.float_info.max
_NOUNS = {
    "text": "a text",
    "fraction": "a fraction",
    "money": "an amount of money",
    "time": "a number of hours",
    "days": "a number of days",
    "minutes": "a number of minutes",
    "years": "a number of years",
    "pounds": "a number of pounds",
    "kilograms": "a number of kilograms",
}


def read_number(argument: Argument, value: object, system: str = METRIC) -> float:
    """Read any one cell value as a number in the argument's metric unit.

    Parameters
    ----------
    argument : Argument
        What the value is for.
    value : object
        A number, a text quantity, a date.
    system : str
        How plain numbers are read.

    Raises
    ------
    FunctionError
        If it is none, or none that the argument takes.
    """
    number = _plain_number(argument, value, system)
    if number is not None:
        return number
    value = plain(value)
    code = error_code(value)
    if code:
        raise error_given(argument.name, code)
    if argument.dimension.is_date and is_date(value):
        return _from_date(argument, value, system)
    if isinstance(value, str):
        return _from_text(argument, value, system)
    if isinstance(value, bool) or not hasattr(value, "__float__"):
        raise WrongType(f"{_got(argument, value)}, needs {_needs(argument, system, value)}.")
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError) as error:
        raise OutOfRange(
            f"{_got(argument, value)}, needs {_needs(argument, system, value)}."
        ) from error
    return _within_limits(argument, _metric(argument, number, system), value, system)


def read_arguments(wanted: Definition, values: Sequence[object], system: str) -> list[Any]:
    """Read whatever the arguments of a call that does not spill may be.

    Parameters
    ----------
    wanted : Definition
        The function.
    values : sequence
        One value for each argument; ``None`` where it is blank or left out.
    system : str
        How plain numbers are read.

    Returns
    -------
    list
        What the function itself takes.

    Raises
    ------
    FunctionError
        If an argument is missing, or is none that the function takes.
    """
    if wanted.blank_at_zero:
        values = _blanks_at_zero(wanted, values, system)
    read = [_read_argument(a, value, system) for a, value in zip(wanted.arguments, values)]
    if wanted.has_range:
        _read_ranges(wanted, read, system)
    return read


def _blanks_at_zero(wanted: Definition, values: Sequence[object], system: str) -> list[object]:
    """Put 0 for arguments that may be blank, where what allows it is 0."""
    arguments = {argument.name: argument for argument in wanted.arguments}
    given = dict(zip(arguments, values))
    for name, counted in wanted.blank_at_zero.items():
        if is_blank(plain(given[name])):
            try:
                is_zero = read_number(arguments[counted], given[counted], system) == 0
            except FunctionError:
                continue  # what is wrong with that one is told in its turn
            given[name] = 0.0 if is_zero else None
    return list(given.values())


def _read_argument(argument: Argument, value: object, system: str) -> Any:
    """Read one argument; a range is only brought into rows yet."""
    if argument.is_range:
        if not is_blank_range(value) and not is_blank(value):
            return as_grid(value)
    elif not is_blank(plain(value)):
        return (
            read_text(argument, value) if argument.is_text else read_number(argument, value, system)
        )
    if argument.default is None:
        raise Missing(f"{argument.name}: is blank, needs {_needs(argument, system)}.")
    return argument.default


def read_text(argument: Argument, value: object) -> str:
    """Read a cell that has to hold a text."""
    code = error_code(value)
    if code:
        raise error_given(argument.name, code)
    if isinstance(value, str):
        return value.strip()
    raise WrongType(f"{_got(argument, value)}, needs a text. {argument.help}")


def quick_numbers(wanted: Definition, values: Sequence[object], system: str) -> list[float] | None:
    """Read the arguments of a call that has only numbers within their limits, or their texts."""
    if not wanted.takes_only_numbers:
        return None
    numbers = []
    for argument, value in zip(wanted.arguments, values):
        number = quick_number(argument, value, system)
        if number is None:
            return None
        numbers.append(number)
    return numbers


def quick_number(argument: Argument, value: object, system: str) -> float | None:
    """Read one argument that is a number within its limits, or its text; nothing for another."""
    if type(value) is str:
        return _known_text(argument, value, system)
    return _plain_number(argument, value, system)


@lru_cache(maxsize=4096)
def _known_text(argument: Argument, text: str, system: str) -> float | None:
    """Read a text quantity once; nothing for whatever needs a closer look."""
    if argument.dimension.is_date or is_blank(text):
        return None
    try:
        return read_number(argument, text, system)
    except FunctionError:
        return None


def _read_ranges(wanted: Definition, prepared: list[Any], system: str) -> None:
    """Turn the ranges of a call into lists of numbers, side by side where they are paired."""
    places = [place for place, argument in enumerate(wanted.arguments) if argument.is_range]
    quick = {
        place: quick_column(wanted.arguments[place], flat(prepared[place]), system)
        for place in places
    }
    lengths = {len(column) for column in quick.values() if column}
    if None not in quick.values() and (len(lengths) == 1 or not wanted.paired):
        prepared[:] = [quick.get(place, value) for place, value in enumerate(prepared)]
        return
    columns = {place: [plain(value) for value in flat(prepared[place])] for place in places}
    kept = {place: [not is_blank(value) for value in column] for place, column in columns.items()}
    if wanted.paired:
        _need_same_length(wanted, columns)
        in_any = [any(line) for line in zip(*kept.values())]
        if wanted.unbroken:
            in_any = [any(in_any[line:]) for line in range(len(in_any))]
        kept.update((place, in_any) for place in places)
    for place, column in columns.items():
        prepared[place] = [
            _range_number(wanted.arguments[place], position, value, system)
            for position, (value, keep) in enumerate(zip(column, kept[place]), 1)
            if keep
        ]


def quick_column(argument: Argument, column: Sequence[Any], system: str) -> list[float] | None:
    """Read a column of nothing but numbers within the limits; nothing for any other."""
    if argument.limits.whole or set(map(type, column)) != {float}:
        return None
    if not isfinite(sum(column)):  # not finite where one of them is not
        return None
    numbers = column if system != US else [_metric(argument, one, system) for one in column]
    limits = argument.limits
    return list(numbers) if limits.hold(min(numbers)) and limits.hold(max(numbers)) else None


def _need_same_length(wanted: Definition, columns: Mapping[int, Sequence[object]]) -> None:
    longest = max(map(len, columns.values()))
    for place, column in columns.items():
        if len(column) != longest:
            raise WrongType(
                f"{wanted.arguments[place].name}: has {len(column)} values where another "
                f"range has {longest}, needs as many."
            )


def _range_number(argument: Argument, position: int, value: object, system: str) -> float:
    number = _plain_number(argument, value, system)
    if number is not None:
        return number
    numbered = argument._replace(name=f"{argument.name}, value {position}")
    if is_blank(value):
        raise Missing(f"{numbered.name}: is blank, needs {_needs(argument, system)}.")
    return read_number(numbered, value, system)


def _plain_number(argument: Argument, value: Any, system: str) -> float | None:
    """Return what a plain number within the limits means, and nothing for all else."""
    kind = type(value)
    if (kind is float or kind is int) and -_LARGEST <= value <= _LARGEST:
        number = float(value)
        if system == US:
            number = _metric(argument, number, system)
        return number if argument.limits.hold(number) else None
    return argument.default if value is None else None


def _metric(argument: Argument, number: float, system: str) -> float:
    if system == US and argument.dimension.differs:
        return argument.dimension.to_metric(number)
    return number


def _from_date(argument: Argument, value: object, system: str) -> float:
    try:
        number = serial(value)
    except ValueError as error:
        fault = f", {error}" if is_unclear_date(value) else ""
        raise WrongType(
            f"{_got(argument, value)}{fault}, needs {_needs(argument, system)}."
        ) from error
    return _within_limits(argument, number, value, system)


def _from_text(argument: Argument, text: str, system: str) -> float:
    parsed = parse_number_and_unit(text)
    if parsed is None:
        fault = "not a date" if argument.dimension.is_date else "not one number and one unit"
        if names_system(text):
            system, fault = text.strip().lower(), "a unit system, which goes last"
        raise WrongType(
            f"{_got(argument, text)}, which is {fault}; needs {_needs(argument, system)}."
        )
    number, unit = parsed
    if not unit:
        return _within_limits(argument, _metric(argument, number, system), text, system)
    try:
        number = converter(unit, argument.dimension)(number)
    except (WrongType, UnknownUnit) as error:
        raise type(error)(
            f"{_got(argument, text)}, which {error}; needs {_needs(argument, system)}."
        ) from error
    return _within_limits(argument, number, text, system)


def _within_limits(argument: Argument, number: float, given: object, system: str) -> float:
    """Hold a metric number against the limits."""
    if isfinite(number) and argument.limits.hold(number):
        return number
    hint = ""
    named = isinstance(given, str) and has_unit(given)
    if argument.dimension.is_share and 1 < number <= 1000 and not named:
        hint = f" (for {number:g} percent type {number:g}% or {number / 100:g})"
    raise OutOfRange(f"{_got(argument, given)}, needs {_needs(argument, system, given)}{hint}.")


def names_system(value: object) -> bool:
    """Return whether a value is the name of a unit system."""
    return isinstance(value, str) and value.strip().lower() in SYSTEMS


def need_units_last(wanted: Definition, values: Sequence[object]) -> None:
    """Let a unit system in the wrong place go before other complaints, whose units it decides."""
    for argument, value in zip(wanted.arguments, values):
        if names_system(value) and not argument.is_text and not argument.is_range:
            read_number(argument, value)


def error_given(name: str, code: str) -> ErrorGiven:
    """Make the error that hands on one which an argument holds already."""
    return ErrorGiven(f"{name}: is the error {code} already.", code)


def _got(argument: Argument, value: object) -> str:
    return f"{argument.name}: got {shown(value)}"


def _needs(argument: Argument, system: str, given: object = None) -> str:
    """Describe what an argument takes, as a part of a sentence, in the unit that was typed."""
    if argument.dimension.is_date:
        return "a date such as 2026-03-14"
    dimension = told_in(argument.dimension, system, given)
    limits = argument.limits._replace(whole=False).text(dimension, US)
    if " or more" in limits:
        limits = ", " + limits
    elif limits:
        limits = (" from " if limits[0] in "-0123456789" else " ") + limits
    unit = dimension.us.replace(" only", "")
    if dimension.us == dimension.metric and dimension.name in _NOUNS:
        number = _NOUNS[dimension.name]
    else:
        kind = "a whole number" if argument.limits.whole else "a number"
        number = f"{kind} in {unit}" if dimension.has_unit else kind
    typed = f' (or a text with its unit, such as "5 {unit}")' if dimension.has_unit else ""
    return number + limits + typed


def told_in(dimension: Dimension, system: str, given: object) -> Dimension:
    """Return a dimension whose us unit is the one that a sentence is told in.

    That is the unit of the text that was given; of anything else, the unit of the system.
    """
    typed = as_typed(given, dimension) if isinstance(given, str) else None
    if typed is not None:
        return typed
    if system == US:
        return dimension
    return dimension._replace(us=dimension.metric, factor=1.0, divisor=1.0, zero=0.0)


def sentence_in_units(
    sentence: str, wanted: Definition, values: Sequence[object], system: str
) -> str:
    """Bring the metric quantities of a sentence to the units of the call.

    A stage writes a number and its metric unit with a space between, such as ``21.5 °C``. The
    unit is the one that was typed for the argument that the sentence begins with, or else for
    another argument of that kind, or else that of the system.
    """
    about = sentence.partition(":")[0]
    given = sorted(zip(wanted.arguments, values), key=lambda one: one[0].name != about)
    for dimension in dict.fromkeys(one.dimension for one in wanted.arguments):
        if not dimension.has_unit:
            continue
        typed = (
            value
            for argument, value in given
            if argument.dimension == dimension and isinstance(value, str) and has_unit(value)
        )
        told = told_in(dimension, system, next(typed, None))
        if told.us == dimension.metric:
            continue

        def converted(match: re.Match[str], told: Dimension = told) -> str:
            return f"{told.from_metric(float(match[1])):.5g} {told.us}"

        metric = rf"(-?\d[\d.]*(?:e[+-]?\d+)?) {re.escape(dimension.metric)}(?![\w/·²³])"
        sentence = re.sub(metric, converted, sentence)
    return sentence
