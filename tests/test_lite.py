"""The free Excel add-in: every call made in Pyodide, through the registered custom functions."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyodide_host
import pytest
from cases import ERRORS, Case
from host_calls import as_shown, host_calls, same

from cultivar_fx.calls.call import cell_value
from cultivar_fx.catalog.registry import definition, functions

if TYPE_CHECKING:
    from collections import Counter

    from cultivar_fx.catalog.definition import Definition

MAIN = "from cultivar_fx.hosts.lite import *\n"
"""What the grower pastes into main.py."""

SUPPORT = Path(__file__).parent / "support"
DAY_ZERO = dt.datetime(1899, 12, 30)


@pytest.fixture(scope="module")
def calls(seed: str) -> list[tuple[Case, list[Any]]]:
    """Each case, and what Excel hands over for it; once more where blanks may be left out."""
    return [
        (case, given)
        for case in map(in_numbers, host_calls(seed))
        for given in [handed_over(case), *left_out(case)]
    ]


@pytest.fixture(scope="module")
def report(
    pyodide: None, calls: list[tuple[Case, list[Any]]], tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Any]:
    files = {
        "main.py": MAIN,
        "lite_addin.py": (SUPPORT / "lite_addin.py").read_text(encoding="utf-8"),
        "calls.json": [[definition(case.function).worksheet_name, given] for case, given in calls],
    }
    folder = tmp_path_factory.mktemp("pyodide")
    return pyodide_host.run(SUPPORT / "lite_program.py", files, folder)


def test_every_call_is_answered_as_in_python(
    calls: list[tuple[Case, list[Any]]], report: dict[str, Any], counts: Counter[str]
) -> None:
    differing = []
    for (case, given), answer in zip(calls, report["answers"], strict=True):
        expected = in_rows(case.shown)
        if not same(with_dates(shown(answer), expected), expected):
            differing.append(f"{case.function} {case.about} {given}: {answer}, not {case.shown}")
    counts["calls of the Excel add-in compared in Pyodide"] += len(calls)
    assert differing == [], "\n".join(differing)
    assert {case.function for case, _ in calls} == set(functions())


def test_every_function_is_registered_under_its_worksheet_name(report: dict[str, Any]) -> None:
    assert set(report["functions"]) == {one.worksheet_name for one in functions().values()}


@pytest.mark.parametrize("wanted", functions().values(), ids=lambda one: one.name)
def test_excel_is_told_what_the_catalog_says(wanted: Definition, report: dict[str, Any]) -> None:
    told = report["functions"][wanted.worksheet_name]
    described = {one["name"]: one for one in told["parameters"] if not one["repeating"]}
    units = described.pop("units", None)
    assert told["description"] == wanted.summary
    assert list(described) == [one.name for one in wanted.arguments]
    for one in wanted.arguments:
        assert described[one.name]["description"].startswith(one.help)
        assert described[one.name]["optional"] == (not one.required)
    assert (units is not None and units["optional"]) == wanted.takes_units


def test_nothing_compiled_is_installed(report: dict[str, Any]) -> None:
    # formualizer has compiled wheels only; the functions do without it
    assert report["platform"] == "emscripten"
    assert {"cultivar-fx", "pint", "openpyxl", "defusedxml"} <= set(report["installed"])
    assert "formualizer" not in report["installed"]


def in_numbers(case: Case) -> Case:
    """Return a case with its dates as Excel hands them over: as numbers.

    A function cannot tell such a date from another number, so one that stands where no date
    belongs has to be answered like that number.
    """
    wanted = definition(case.function)
    numbers = tuple(map(_in_numbers, case.arguments))
    misplaced = any(
        isinstance(value, dt.date) and one.dimension.name != "date"
        for one, value in zip(wanted.arguments, case.arguments)
    )
    answer = as_shown(cell_value(wanted.name, numbers, case.units)) if misplaced else case.shown
    return case._replace(arguments=numbers, shown=answer)


def _in_numbers(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return [_in_numbers(one) for one in value]
    if isinstance(value, dt.date):
        moment = value if isinstance(value, dt.datetime) else dt.datetime(*value.timetuple()[:3])
        return (moment - DAY_ZERO) / dt.timedelta(days=1)
    return value


def with_dates(answer: Any, expected: Any) -> Any:
    """Return an answer with the days that its numbers are, where days are expected."""
    if isinstance(answer, list) and isinstance(expected, list):
        return [*map(with_dates, answer, expected), *answer[len(expected) :]]
    if isinstance(expected, dt.date) and isinstance(answer, float):
        return DAY_ZERO.date() + dt.timedelta(days=math.floor(answer))
    return answer


def handed_over(case: Case) -> list[Any]:
    """Return the arguments as Excel hands them over, blanks as blank cells."""
    wanted = definition(case.function)
    if wanted.variadic:
        first, *others = case.arguments
        return [_cells(first), [_cells(other) for other in others]]
    values = [*case.arguments, *[None] * (len(wanted.arguments) - len(case.arguments))]
    if wanted.takes_units:
        values.append(case.units)
    return [_cells(value) for value in values]


def left_out(case: Case) -> list[list[Any]]:
    """Return the arguments with the blanks at their end left out, if any may be left out."""
    wanted = definition(case.function)
    given = handed_over(case)
    required = len(given) if wanted.variadic else sum(one.required for one in wanted.arguments)
    needed = max([required, *(place for place, one in enumerate(given, 1) if one != [[""]])])
    return [given[:needed] + [None] * (len(given) - needed)] if needed < len(given) else []


def _cells(value: Any) -> list[list[Any]]:
    return [[_cell(one) for one in row] for row in in_rows(value)]


def _cell(value: Any) -> Any:
    if value in ERRORS:
        return {"type": "Error", "basicValue": value}
    return "" if value is None else value


def in_rows(value: Any) -> list[list[Any]]:
    """Return a value as rows of cells; a flat list is a column."""
    if not isinstance(value, (list, tuple)):
        return [[value]]
    return [list(row) if isinstance(row, (list, tuple)) else [row] for row in value]


def shown(answer: Any) -> Any:
    """Return the cells of an answer as they show: errors by their text, dates by their number."""
    if isinstance(answer, str):
        return answer
    return [[one["basicValue"] if isinstance(one, dict) else one for one in row] for row in answer]
