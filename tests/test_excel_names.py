"""The LAMBDA names answer what Python answers, typed into generated workbooks.

The engine is ironcalc, which has LAMBDA. Excel was not run; that it takes the texts rests on the
stored forms that public surveys of files saved by Excel agree on.
"""

from __future__ import annotations

import datetime as dt
import re
from random import Random
from typing import TYPE_CHECKING, Any

import pytest
from cases import ERRORS, Case
from host_calls import as_shown, host_calls, same
from inputs import edge_cases, number_cases
from lambda_sheet import Typed, answers

from cultivar_fx.calls.arguments import read_number
from cultivar_fx.calls.call import cell_value
from cultivar_fx.calls.cells import as_grid, flat, is_grid, serial
from cultivar_fx.calls.units import converter
from cultivar_fx.catalog.dimensions import METRIC, SYSTEMS, US
from cultivar_fx.catalog.registry import functions
from cultivar_fx.hosts.excel_names import lambda_names
from cultivar_fx.hosts.excel_units import unit_table

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator, Sequence

    from cultivar_fx.catalog.definition import Argument, Definition

COMPARED = "answers of LAMBDA names in ironcalc compared with Python's"

NAMES = lambda_names()
NAMED = {name: one for name, one in functions().items() if one.worksheet_name in NAMES}
FAILURES_SHOWN = 20
TEXTS_TRIED = 600


def in_cells(value: Any) -> Any:
    """Return a value as a cell holds it: a date is a number, an error has its own spelling."""
    if is_grid(value):
        return [[in_cells(one) for one in line] for line in as_grid(value)]
    if isinstance(value, dt.date):
        return serial(value)
    return value.upper() if isinstance(value, str) and value.upper() in ERRORS else value


def for_excel(case: Case) -> Case:
    """Return a case as Excel can hold it; what a date answers is what its number answers."""
    arguments = tuple(map(in_cells, case.arguments))
    shown = case.shown
    if any(isinstance(one, dt.date) for value in case.arguments for one in flat(as_grid(value))):
        shown = as_shown(cell_value(case.function, arguments, case.units))
    return case._replace(arguments=arguments, shown=in_cells(shown))


def call_of(case: Case) -> Typed:
    """Return a case as a call in a sheet, with room for its answer."""
    wanted = functions()[case.function]
    grid = as_grid(case.shown)
    arguments = case.arguments
    if wanted.takes_units and case.units is not None:
        blanks = [None] * (len(wanted.arguments) - len(arguments))
        arguments = (*arguments, *blanks, in_cells(case.units))
    return Typed(wanted.worksheet_name, arguments, len(grid), len(grid[0]))


def compare(cases: Sequence[Case], counts: Counter[str], units: str = US) -> None:
    """Let the engine answer the cases, and fail where it says something else."""
    found = answers(units, [call_of(case) for case in cases])
    counts[COMPARED] += len(cases)
    differing = [
        f"{case.about}: {case.function}{case.arguments} {case.units or ''} shows {answer}, "
        f"not {as_grid(case.shown)}"
        for case, answer in zip(cases, found)
        if not same(answer, as_grid(case.shown))
    ]
    assert not differing, "\n".join([f"{len(differing)} differ", *differing[:FAILURES_SHOWN]])


def test_every_function_has_a_name_but_the_one_that_explains() -> None:
    assert set(functions()) - set(NAMED) == {"WHY"}  # it looks into another function's call


@pytest.mark.parametrize("units", SYSTEMS)
def test_calls_answer_as_in_python(units: str, seed: str, counts: Counter[str]) -> None:
    cases = [for_excel(case) for case in host_calls(seed) if case.function in NAMED]
    compare(cases, counts, units)


def test_limits_are_those_of_python(seed: str, counts: Counter[str]) -> None:
    cases = []
    for wanted in NAMED.values():
        if not wanted.native:
            continue
        random = Random(f"{seed} {wanted.name} names")
        system = random.choice(SYSTEMS)
        good = [case for case in number_cases(wanted, system, random) if case.is_number]
        cases += [
            answered(edge.about, wanted, edge.values, system)
            for edge in edge_cases(wanted, system, good, random)
            if wanted.name != "WELCH_P_VALUE" or not edge.about.endswith("huge")
        ]
    # Huge values are left out for one function: TTEST of the engine overflows at fourth powers.
    compare(cases, counts)


def answered(about: str, wanted: Definition, values: Sequence[Any], system: str) -> Case:
    """Return a call, its lists as columns, with what Python answers."""
    arguments = tuple(
        [[as_shown(one)] for one in value] if isinstance(value, list) else as_shown(value)
        for value in values
    )
    return Case(
        about, wanted.name, arguments, as_shown(cell_value(wanted.name, values, system)), system
    )


def with_unit() -> Iterator[tuple[Argument, Definition, int]]:
    """Return one argument of each dimension that has units, and where it is."""
    seen = set()
    for wanted in NAMED.values():
        for place, argument in enumerate(wanted.arguments):
            dimension = argument.dimension
            if dimension.has_unit and dimension not in seen and not argument.is_range:
                seen.add(dimension)
                yield argument, wanted, place


def units_of(argument: Argument) -> list[str]:
    return re.findall('"([^"]+)"', unit_table(argument.dimension).names)


def test_every_common_unit_is_read_as_in_python(counts: Counter[str]) -> None:
    cases = []
    for argument, wanted, place in with_unit():
        example = [*wanted.example.arguments, *[None] * len(wanted.arguments)]
        for unit in units_of(argument):
            values = example[: len(wanted.arguments)]
            values[place] = f"{in_unit(argument, example[place], unit):.12g} {unit}"
            cases.append(answered(f"{argument.name} in {unit}", wanted, values, METRIC))
    assert len({case.about for case in cases if isinstance(case.shown, float)}) > 150
    compare(cases, counts)


def in_unit(argument: Argument, value: Any, unit: str) -> float:
    """Return an example's value, or the default, as a number of a unit."""
    metric = argument.default if value is None else read_number(argument, value)
    zero, one = (converter(unit, argument.dimension)(number) for number in (0.0, 1.0))
    return (metric - zero) / (one - zero)


def test_units_that_the_help_names_are_common_ones() -> None:
    for argument, _, _ in with_unit():
        labels = {argument.dimension.unit(system) for system in SYSTEMS}
        assert {label.replace(" only", "") for label in labels} <= set(units_of(argument))


def test_a_unit_converts_as_in_python(seed: str, counts: Counter[str]) -> None:
    wanted = NAMED["CONVERT_UNITS"]
    random = Random(f"{seed} conversions")
    kinds = [units_of(argument) for argument, _, _ in with_unit()]
    kinds = [kind for kind in kinds if len(kind) > 2]  # the others are no common units
    pairs = [(random.choice(kind), random.choice(kind)) for kind in kinds for _ in range(8)]
    pairs += [(random.choice(kind), random.choice(random.choice(kinds))) for kind in kinds]
    cases = [
        answered("conversion", wanted, (f"{random.uniform(1, 99):.3f} {unit}", other), METRIC)
        for unit, other in pairs
    ]
    compare(cases, counts)


TAKES_TEXT = (
    ("DRY_MASS", ("{}", 0)),
    ("DRY_MASS", (1, "{}")),
    ("BATCH_MASS", ("{}", 1, 0)),
    ("START_DATE", ("{}", 0)),
    ("WALL_HEAT_LOSS", (1, 1, "{}", 0)),
    ("METER_SETTING", ("{}", 1, 1)),
    ("MOISTURE_OF_MIX", ([1, "{}"], [0, 0.5])),
)
NUMERALS = "0 1 2 5 00 07 62 200 2026 . , + - e E e2 E-1 e400 2026-03-14 2026-02-30 1e3 ½ ٣ ２"
SIGNS = "/ * ^ % # ° ² ( ) = $ € ' \" : ;"
UNITS = "kg KG kG Kg g lb lbs L ml ML F C °F K m M MM min Min d a h each inf nan TRUE us"
SPACES = (" ", " ", "\t", "\n", "\u00a0", "\u2009")
SCRAPS = (*NUMERALS.split(), *SIGNS.split(), *UNITS.split(), *SPACES)


def test_no_text_gives_another_number_than_in_python(seed: str, counts: Counter[str]) -> None:
    """A name may refuse a text that Python reads; it never reads another number into it."""
    random = Random(f"{seed} texts")
    cases = []
    for _ in range(TEXTS_TRIED):
        function, arguments = random.choice(TAKES_TEXT)
        number = random.choice(("1", "0.5", "2e1", "-3", ".40", "+7.", ""))
        text = number + "".join(random.choices(SCRAPS, k=random.choice((1, 1, 1, 2, 3, 5))))
        case = answered("text", NAMED[function], put(arguments, text), random.choice(SYSTEMS))
        cases.append(for_excel(case))
    found = answers(US, [call_of(case) for case in cases])
    counts[COMPARED] += len(cases)
    wrong = [
        f"{case.function}{case.arguments} {case.units} shows {answer}, not {case.shown!r}"
        for case, answer in zip(cases, found)
        if not same(answer, [[case.shown]]) and answer[0][0] not in ERRORS
    ]
    assert not wrong, "\n".join([f"{len(wrong)} are wrong", *wrong[:FAILURES_SHOWN]])
    numbers = [isinstance(answer[0][0], float) for answer in found]
    assert sum(numbers) > TEXTS_TRIED / 20


def put(arguments: Any, text: str) -> Any:
    if isinstance(arguments, (list, tuple)):
        return type(arguments)(put(one, text) for one in arguments)
    return text if arguments == "{}" else arguments
