"""Each native formula, recalculated by LibreOffice, equals its Python function.

Expected values come from the functions; that these are right is for the tests of each stage,
against published cases. Here two independent ways of computing are held together.
"""

from __future__ import annotations

import re
from functools import cache
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from inputs import LONGEST_RANGE, NUMBERS_WANTED, default_cases, edge_cases, number_cases
from office import address

from cultivar_fx.calls.call import cell_value
from cultivar_fx.catalog.dimensions import METRIC, SYSTEMS
from cultivar_fx.catalog.native import formula
from cultivar_fx.catalog.registry import functions

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Callable, Sequence

    from inputs import Case
    from office import Office

    from cultivar_fx.catalog.definition import Definition

NATIVE = {name: wanted for name, wanted in functions().items() if wanted.native}
WITH_DEFAULTS = [name for name, wanted in NATIVE.items() if not wanted.arguments[-1].required]
DEFAULTS_TRIED = 50
FAILURES_SHOWN = 6
SLIPS = ("first slip", "second slip", "third slip")

COMPARED = "answers of native formulas in LibreOffice compared with Python's"
RELATIVE = 1e-9
LAST_DIGIT = 2.0**-52
ROUNDINGS = 8
"""How many roundings by the last digit of an argument an answer may be off; see ``unsure``."""

NUMBER = re.compile(r"(?<![\w.$:])\d+(?:\.\d+)?(?:E[+-]?\d+)?(?![\w.(:])")
OPERATOR = re.compile(r"(?<!\dE)(?<=[\w)}])[-+*/](?!1E-)")
SWAPPED = {"+": "-", "-": "+", "*": "/", "/": "*"}

each_function = pytest.mark.parametrize("name", NATIVE)
each_system = pytest.mark.parametrize("system", SYSTEMS)


class Recalculation(NamedTuple):
    """Many calls of a function, and what LibreOffice shows for each under several formulas."""

    wanted: Definition
    system: str
    cases: Sequence[Case]
    formulas: dict[str, str]
    shown: dict[str, Sequence[Any]]

    def differences(self, which: str, only_numbers: bool = False) -> list[str]:
        """Describe where a formula shows something else than the function answers."""
        return [
            f"{case.about}: {self.wanted.name}{tuple(case.values)} in {self.system} units "
            f"is {case.shown!r} in Python, {shown!r} in the sheet"
            for case, shown in zip(self.cases, self.shown[which])
            if (case.is_number or not only_numbers) and not self.agree(case, shown)
        ]

    def agree(self, case: Case, shown: Any) -> bool:
        """Return whether a cell shows the answer: the same error, or nearly the same number."""
        if not (case.is_number and isinstance(shown, float)):
            return bool(case.shown == shown)
        difference = abs(case.shown - shown)
        if difference <= RELATIVE * max(abs(case.shown), abs(shown)):
            return True
        return difference <= ROUNDINGS * self.unsure(case)

    def unsure(self, case: Case) -> float:
        """Return what the last digit of the arguments does to the answer.

        A small difference of two large numbers is known no better than that.
        """
        moved = (
            [*case.values[:place], _moved(value, way), *case.values[place + 1 :]]
            for place, value in enumerate(case.values)
            for way in (1 - LAST_DIGIT, 1 + LAST_DIGIT)
        )
        answers = (cell_value(self.wanted.name, values, self.system) for values in moved)
        return sum(abs(case.shown - answer) for answer in answers if isinstance(answer, float)) / 2


def _moved(value: Any, way: float) -> Any:
    if isinstance(value, list):
        return [_moved(number, way) for number in value]
    return value if value is None else value * way


@pytest.fixture(scope="module")
def recalculated(
    office: Office, seed: str, counts: Counter[str]
) -> Callable[[str, str], Recalculation]:
    """Recalculate a function in a unit system, once for all tests."""

    @cache
    def recalculate(name: str, system: str) -> Recalculation:
        wanted = NATIVE[name]
        random = Random(f"{seed} {name} {system}")
        cases = number_cases(wanted, system, random)
        good = [case for case in cases if case.is_number]
        cases += edge_cases(wanted, system, good, random)
        places = argument_places(wanted, system)
        formulas = {
            "guarded": formula(name, places, system, guarded=True),
            "plain": formula(name, places, system),
        }
        formulas |= {slip: changed(formulas["plain"], random) for slip in SLIPS}
        counts[COMPARED] += len(cases) + len(good)
        return recalculation(office, wanted, system, cases, formulas)

    return recalculate


def across(wanted: Definition, system: str) -> bool:
    """Return whether each call is a column of the sheet, its ranges columns too, or a row."""
    return wanted.has_range and system == METRIC


def argument_places(wanted: Definition, system: str) -> dict[str, str]:
    """Return where each argument of the first call stands."""
    places = {}
    line = 0
    for argument in wanted.arguments:
        last = line + (LONGEST_RANGE if argument.is_range else 1) - 1
        ends = [address(n, 0) if across(wanted, system) else address(0, n) for n in (line, last)]
        places[argument.name] = ":".join(ends) if argument.is_range else ends[0]
        line = last + 1
    return places


def recalculation(
    office: Office,
    wanted: Definition,
    system: str,
    cases: Sequence[Case],
    formulas: dict[str, str],
) -> Recalculation:
    """Let LibreOffice compute the formulas for all calls."""
    calls = [
        [cell for value in case.values for cell in (value if isinstance(value, list) else [value])]
        for case in cases
    ]
    width, count = len(calls[0]), len(calls)
    shown: Sequence[Sequence[Any]]
    with office.document() as document:
        sheet = document.sheets[0]
        if across(wanted, system):
            document.write(sheet, 0, 0, list(zip(*calls)))
            for row, text in enumerate(formulas.values(), width):
                document.fill(sheet, row, 0, text, right=count)
            shown = document.read(sheet, width, 0, len(formulas), count)
        else:
            document.write(sheet, 0, 0, calls)
            for column, text in enumerate(formulas.values(), width):
                document.fill(sheet, 0, column, text, down=count)
            shown = list(zip(*document.read(sheet, 0, width, count, len(formulas))))
    return Recalculation(wanted, system, cases, formulas, dict(zip(formulas, shown)))


def changed(text: str, random: Random) -> str:
    """Change one number or operator of a formula, as a slip of the pen would.

    What allows for rounding errors, such as 1E-9, is left alone: no call comes that near.
    """
    places = [
        match
        for pattern in (NUMBER, OPERATOR)
        for match in pattern.finditer(text)
        if match[0] in SWAPPED or float(match[0]) == 0 or float(match[0]) > 1e-6
    ]
    match = random.choice(places)
    old = match[0]
    if old in SWAPPED:
        new = SWAPPED[old]
    else:
        new = str(int(old) + 1) if old.isdecimal() else repr(float(old) * 1.01)
    return text[: match.start()] + new + text[match.end() :]


def report(differences: list[str], text: str) -> str:
    """Put differences into a readable text."""
    more = len(differences) - FAILURES_SHOWN
    lines = [*differences[:FAILURES_SHOWN], *([f"and {more} more"] if more > 0 else []), text]
    return "\n".join(lines)


@each_system
@each_function
def test_guarded_formula_shows_what_the_function_answers(
    recalculated: Callable[[str, str], Recalculation], name: str, system: str
) -> None:
    found = recalculated(name, system)
    assert sum(case.is_number for case in found.cases) >= NUMBERS_WANTED
    differences = found.differences("guarded")
    assert not differences, report(differences, found.formulas["guarded"])


@each_system
@each_function
def test_plain_formula_gives_the_same_numbers(
    recalculated: Callable[[str, str], Recalculation], name: str, system: str
) -> None:
    found = recalculated(name, system)
    differences = found.differences("plain", only_numbers=True)
    assert not differences, report(differences, found.formulas["plain"])


@each_function
def test_a_slip_in_a_formula_is_noticed(
    recalculated: Callable[[str, str], Recalculation], name: str
) -> None:
    found = recalculated(name, METRIC)
    assert any(found.differences(slip, only_numbers=True) for slip in SLIPS)


def test_nearly_every_slip_is_noticed(
    recalculated: Callable[[str, str], Recalculation], counts: Counter[str]
) -> None:
    slips = [
        bool(recalculated(name, METRIC).differences(slip, only_numbers=True))
        for name in NATIVE
        for slip in SLIPS
    ]
    counts[f"slips made in native formulas, of which {sum(slips)} were noticed"] = len(slips)
    # Some slips change nothing, such as one in the case of ice of a comparison with thawing.
    assert sum(slips) > 0.95 * len(slips)


@each_system
@pytest.mark.parametrize("name", WITH_DEFAULTS)
def test_formula_without_optional_arguments_takes_their_defaults(
    office: Office, counts: Counter[str], seed: str, name: str, system: str
) -> None:
    wanted = NATIVE[name]
    drawn = number_cases(wanted, system, Random(f"{seed} {name} {system} defaults"))
    cases = list(default_cases(wanted, system, drawn[:DEFAULTS_TRIED]))
    places = argument_places(wanted, system)
    given = {a.name: places[a.name] for a in wanted.arguments if a.required}
    formulas = {"guarded": formula(name, given, system, guarded=True)}
    found = recalculation(office, wanted, system, cases, formulas)
    counts[COMPARED] += len(cases)
    differences = found.differences("guarded")
    assert not differences, report(differences, formulas["guarded"])
    assert any(case.is_number for case in cases)
