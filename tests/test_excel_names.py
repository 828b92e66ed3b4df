"""The LAMBDA names answer what Python answers, in an engine that has LAMBDA.

The engine is ironcalc. Real Excel was not run: that Excel takes the texts rests on the stored
forms that public surveys of files saved by Excel agree on.
"""

from __future__ import annotations

import datetime as dt
import re
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from cases import ERRORS, Case
from host_calls import as_shown, host_calls, same
from lambda_sheet import Typed, answers

from cultivar_fx.call import cell_value
from cultivar_fx.catalog import functions
from cultivar_fx.cells import as_grid, is_grid, serial
from cultivar_fx.hosts.excel_names import lambda_names, typed

if TYPE_CHECKING:
    from collections import Counter

NAMES = lambda_names()
LEFT_OUT = {"WHY"}
"""Its answer is a sentence on another function's call; a formula has no such sentences."""


def in_cells(value: Any) -> Any:
    """Give a value as a cell holds it: a date is a number, an error has its own spelling."""
    if is_grid(value):
        return [[in_cells(one) for one in line] for line in as_grid(value)]
    if isinstance(value, dt.date):
        return serial(value)
    return value.upper() if isinstance(value, str) and value.upper() in ERRORS else value


def for_excel(case: Case) -> Case:
    """Give a case as Excel can hold it; what a date answers is what its number answers."""
    arguments = tuple(map(in_cells, case.arguments))
    dated = any(
        isinstance(one, dt.date) for value in case.arguments for one in sum(as_grid(value), [])
    )
    shown = case.shown
    if dated:
        shown = as_shown(cell_value(case.function, arguments, case.units))
    return case._replace(arguments=arguments, shown=in_cells(shown))


def call_of(case: Case) -> Typed:
    wanted = functions()[case.function]
    grid = as_grid(case.shown)
    arguments = case.arguments
    if wanted.takes_units and case.units is not None:
        blanks = [None] * (len(wanted.arguments) - len(arguments))
        arguments = (*arguments, *blanks, in_cells(case.units))
    return Typed(wanted.worksheet_name, arguments, len(grid), len(grid[0]))


def test_every_call_answers_as_in_python(seed: str, counts: Counter[str]) -> None:
    cases = [for_excel(case) for case in host_calls(seed) if case.function not in LEFT_OUT]
    found = answers(NAMES, [call_of(case) for case in cases])
    differing = [
        f"{case.about}: {case.function}{case.arguments} {case.units} is {as_grid(case.shown)!r}, "
        f"not {answer!r}"
        for case, answer in zip(cases, found)
        if not same(answer, as_grid(case.shown))
    ]
    counts["answers of LAMBDA names in ironcalc compared with Python's"] += len(cases)
    assert not differing, f"{len(differing)}\n" + "\n".join(differing[:60])
