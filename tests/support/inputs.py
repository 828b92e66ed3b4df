"""Calls to try a worksheet function with, made from nothing but its definition.

A new function is covered without another line, unless random arguments hardly ever fit
together; then ``TOGETHER`` says how they do.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from cultivar_fx.calls.call import cell_value
from cultivar_fx.catalog.dimensions import US
from cultivar_fx.errors import NOT_AVAILABLE, CellError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from random import Random

    from cultivar_fx.catalog.definition import Argument, Definition

LONGEST_RANGE = 12
NUMBERS_WANTED = 200
FAILURES_KEPT = 40
MOST_DRAWS = 20_000

A_LITTLE = 1e-6
"""Just inside or outside a limit. Spreadsheet programs hold numbers to be equal that differ in
the 15th digit, so the next floating-point number is too near."""

HUGE = 1e150
"""Its square is still a number, its cube is not."""


def _rising_hours(values: list[Any]) -> list[Any]:
    return [sorted(values[0]), *values[1:]]


def _late_brick(values: list[Any], core: int) -> list[Any]:
    """Return a brick 5 to 40 cm thick, whose core is near the steam temperature already."""
    edges = [5 * 2 ** (math.log10(edge) / 2 + 1) for edge in values[core + 1 : core + 4]]
    start, steam = sorted(values[core + 4 : core + 6])
    near = start + (steam - start) * (0.8 + 0.2 * values[core] / 150)
    return [*values[:core], near, *edges, start, steam, *values[core + 6 :]]


def _lost_of_started(values: list[Any]) -> list[Any]:
    return [list(map(min, *values)), list(map(max, *values))]


TOGETHER: dict[str, Callable[[list[Any]], list[Any]]] = {
    "LETHALITY": _rising_hours,
    "DISPERSION": _lost_of_started,
    "DESIGN_EFFECT": _lost_of_started,
    "CORE_HOURS": lambda values: _late_brick(values, core=0),
    "DIFFUSIVITY_FROM_PROBE": lambda values: _late_brick(values, core=1),
}
"""For functions whose random arguments hardly ever fit together: how to make them fit."""


class Case(NamedTuple):
    """One call: what it tries, its arguments, and what the cell has to show."""

    about: str
    values: list[Any]
    shown: Any

    @property
    def is_number(self) -> bool:
        """Return whether the answer is a number."""
        return isinstance(self.shown, float)


def number_cases(wanted: Definition, system: str, random: Random) -> list[Case]:
    """Draw until ``NUMBERS_WANTED`` calls give a number; keep some of those that do not."""
    numbers: list[Case] = []
    failures: list[Case] = []
    for _ in range(MOST_DRAWS):
        case = _case(wanted, "random", draw(wanted, system, random), system)
        if case.is_number:
            numbers.append(case)
        elif len(failures) < FAILURES_KEPT:
            failures.append(case)
        if len(numbers) == NUMBERS_WANTED:
            return numbers + failures
    raise AssertionError(f"{wanted.name}: only {len(numbers)} of {MOST_DRAWS} draws give a number")


def draw(wanted: Definition, system: str, random: Random) -> list[Any]:
    """Draw one value, or a range of values with blanks behind them, for each argument."""
    size = random.randint(2, LONGEST_RANGE)
    values: list[Any] = []
    for argument in wanted.arguments:
        if argument.is_range:
            if not wanted.paired:
                size = random.randint(2, LONGEST_RANGE)
            values.append([_draw_one(argument, random) for _ in range(size)])
        else:
            values.append(_draw_one(argument, random))
    values = TOGETHER.get(wanted.name, list)(values)
    return [_typed(argument, value, system) for argument, value in zip(wanted.arguments, values)]


def edge_cases(wanted: Definition, system: str, good: list[Case], random: Random) -> Iterator[Case]:
    """Return calls at, just inside and just outside each limit, and with what is no number."""
    for place, argument in enumerate(wanted.arguments):
        for about, value in _edges(argument, system):
            values = list(random.choice(good).values)
            values[place] = _put(values[place], value, random) if argument.is_range else value
            yield _case(wanted, f"{argument.name} {about}", values, system)
        if not argument.is_range:
            for about, value in (("blank", None), ("a number as text", "1")):
                values = list(random.choice(good).values)
                values[place] = value
                yield _unfilled(f"{argument.name} {about}", values)
    if wanted.has_range:
        yield from _range_cases(wanted, system, good, random)


def default_cases(wanted: Definition, system: str, good: list[Case]) -> Iterator[Case]:
    """Return calls whose optional arguments are left out."""
    optional = {place for place, a in enumerate(wanted.arguments) if not a.required}
    for case in good:
        values = [None if place in optional else v for place, v in enumerate(case.values)]
        yield _case(wanted, "defaults", values, system)


def _case(wanted: Definition, about: str, values: list[Any], system: str) -> Case:
    return Case(about, values, cell_value(wanted.name, values, system))


def _unfilled(about: str, values: list[Any]) -> Case:
    """Return a call that only a formula sees so: it has no defaults for blank cells, no units."""
    return Case(about, values, CellError(NOT_AVAILABLE, "a cell of the formula holds no number"))


def _edges(argument: Argument, system: str) -> Iterator[tuple[str, Any]]:
    yield "text", "wet"
    yield "an error", CellError("#DIV/0!", "")
    yield "not available", CellError(NOT_AVAILABLE, "")
    yield "huge", HUGE
    limits = argument.limits
    for limit, inward in ((limits.low, 1), (limits.high, -1)):
        if limit is not None:
            step = inward * (1.0 if limits.whole else A_LITTLE * max(1.0, abs(limit)))
            yield "at its limit", _exactly(argument, limit, system)
            yield "just inside its limit", _exactly(argument, limit + step, system)
            yield "just outside its limit", _exactly(argument, limit - step, system)
    if limits.whole:
        yield "not whole", (limits.low or 0.0) + 1.5


def _range_cases(
    wanted: Definition, system: str, good: list[Case], random: Random
) -> Iterator[Case]:
    """Return calls with blanks in ranges: a whole line, one value, different ones, all of them."""
    places = [place for place, argument in enumerate(wanted.arguments) if argument.is_range]
    long = [case for case in good if None not in case.values[places[0]][:3]]

    def blanked(about: str, blanks: dict[int, int]) -> Case:
        values = list(random.choice(long).values)
        for place, position in blanks.items():
            values[place] = [*values[place][:position], None, *values[place][position + 1 :]]
        return _case(wanted, about, values, system)

    yield blanked("a blank line", dict.fromkeys(places, 1))
    for place in places:
        yield blanked("a blank value", {place: 1})
    if len(places) > 1:
        yield blanked("blanks in different lines", {places[0]: 0, places[1]: 1})
    for place in places:
        values = list(random.choice(good).values)
        values[place] = [None] * LONGEST_RANGE
        yield _unfilled("a blank range", values)


def _put(numbers: list[Any], value: Any, random: Random) -> list[Any]:
    """Put a value in the place of one of the numbers of a range."""
    changed = list(numbers)
    changed[random.randrange(len(changed) - changed.count(None))] = value
    return changed


def _exactly(argument: Argument, metric: float, system: str) -> float:
    """Return what is typed in a system for a limit: 15 digits, of which none leads beyond it."""
    if system != US or metric == 0:
        return argument.dimension.from_metric(metric) if system == US else metric
    near = argument.dimension.from_metric(metric)
    digit = 10.0 ** (math.floor(math.log10(abs(near))) - 14) if near else 0.0
    typed = [float(f"{near + step * digit:.15g}") for step in (0, 1, -1)]
    read = [argument.dimension.to_metric(number) for number in typed]
    if metric in read:
        return typed[read.index(metric)]
    return next((n for n, m in zip(typed, read) if argument.limits.hold(m)), near)


def _typed(argument: Argument, metric: Any, system: str) -> Any:
    """Return metric numbers as they are typed in a system, and ranges at their full length."""
    if argument.is_range:
        numbers = metric if system != US else list(map(argument.dimension.from_metric, metric))
        return [*numbers, *[None] * (LONGEST_RANGE - len(numbers))]
    return metric if system != US else argument.dimension.from_metric(metric)


def _draw_one(argument: Argument, random: Random) -> float:
    """Draw a metric number: evenly between two limits, or over the sizes that a farm has."""
    low, high, *_, whole = argument.limits
    if argument.dimension.name == "date":
        return float(random.randint(36526, 73050))  # the years 2000 to 2099
    if low is not None and high is not None:
        return float(random.randint(int(low), int(high))) if whole else random.uniform(low, high)
    size = 10 ** random.uniform(-2, 4)
    if low is not None:
        number = low + size
    elif high is not None:
        number = high - size
    else:
        number = random.choice((-1, 1)) * size
    return float(math.floor(number)) if whole else number
