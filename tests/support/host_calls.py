"""What every way into a spreadsheet has to answer: one list of calls for all of them.

A function, or a case of ``cases.py``, that is added is tried in every host without another line.
"""

from __future__ import annotations

from random import Random
from typing import Any

import pytest
from cases import CELLS, RANGES, Case
from inputs import draw

from cultivar_fx.calls.call import cell_value
from cultivar_fx.catalog.dimensions import METRIC, SYSTEMS
from cultivar_fx.catalog.registry import functions
from cultivar_fx.errors import CellError

DRAWN = 8
"""Random calls for each function and unit system."""


def host_calls(seed: str) -> list[Case]:
    """Return the table of cases, each function's documented example, and random calls of each."""
    return [*CELLS, *RANGES, *examples(), *drawn(seed)]


def examples() -> list[Case]:
    """Return each function's documented example, in both unit systems."""
    return [
        _answered("example", wanted.name, wanted.example.arguments, system)
        for wanted in functions().values()
        for system in SYSTEMS[: 1 if wanted.unit_free else None]
    ]


def drawn(seed: str) -> list[Case]:
    """Return random calls of each function, ranges as columns, most of them with an answer."""
    calls = []
    for wanted in functions().values():
        if any(argument.is_text for argument in wanted.arguments):
            continue
        for system in SYSTEMS[: 1 if wanted.unit_free else None]:
            random = Random(f"{seed} {wanted.name} {system} hosts")
            for _ in range(DRAWN):
                values = [
                    [[one] for one in value] if isinstance(value, list) else value
                    for value in draw(wanted, system, random)
                ]
                calls.append(_answered("random", wanted.name, tuple(values), system))
    return calls


def _answered(about: str, name: str, arguments: tuple[Any, ...], system: str) -> Case:
    """Return a call with what Python answers, which the tests of the stages hold to account."""
    units = None if system == METRIC else system
    missing = len(functions()[name].arguments) - len(arguments)
    answer = cell_value(name, (*arguments, *[None] * missing), units)
    return Case(about, name, arguments, as_shown(answer), units)


def as_shown(answer: Any) -> Any:
    """Return what a cell shows: error values by their text."""
    if isinstance(answer, list):
        return [as_shown(one) for one in answer]
    return answer.code if isinstance(answer, CellError) else answer


def same(answer: Any, expected: Any) -> bool:
    """Return whether an answer is the expected one, numbers to 1e-9 relative."""
    if isinstance(expected, list):
        return len(answer) == len(expected) and all(map(same, answer, expected))
    if isinstance(expected, (int, float)):
        return isinstance(answer, float) and answer == pytest.approx(expected, rel=1e-9)
    return type(answer) is type(expected) and answer == expected
