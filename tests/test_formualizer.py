"""The engine that fills the workbook's stored values computes every native formula rightly."""

from __future__ import annotations

import io
import re
from random import Random
from typing import TYPE_CHECKING, Any

import formualizer
import openpyxl
import pytest
from inputs import LONGEST_RANGE, edge_cases, number_cases
from office import address
from test_parity import NATIVE, Recalculation, report

from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.catalog.native import formula
from cultivar_fx.errors import ERROR_CODES, CellError

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Sequence

    from inputs import Case

    from cultivar_fx.catalog.definition import Definition

NUMBERS_TRIED = 40
MODEL_ROW = 9998
"""Row that the formulas are written for, before the number of the call's own takes its place."""


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", NATIVE)
def test_engine_computes_the_formula(
    counts: Counter[str], seed: str, name: str, system: str
) -> None:
    wanted = NATIVE[name]
    random = Random(f"{seed} {name} {system} formualizer")
    good = [case for case in number_cases(wanted, system, random) if case.is_number]
    edges = edge_cases(wanted, system, good, random)
    cases = [*good[:NUMBERS_TRIED], *(case for case in edges if not case.about.endswith("huge"))]
    found = recalculation(wanted, system, cases)
    counts["answers of native formulas in formualizer compared with Python's"] += len(cases)
    differences = found.differences("guarded") + found.differences("plain", only_numbers=True)
    assert not differences, report(differences, found.formulas["guarded"])


def recalculation(wanted: Definition, system: str, cases: Sequence[Case]) -> Recalculation:
    """Let the engine compute the formulas for all calls, each a row of a file."""
    places = {}
    column = 0
    for argument in wanted.arguments:
        last = column + (LONGEST_RANGE if argument.is_range else 1) - 1
        ends = [address(MODEL_ROW - 1, n) for n in (column, last)]
        places[argument.name] = ":".join(ends) if argument.is_range else ends[0]
        column = last + 1
    formulas = {
        "guarded": formula(wanted.name, places, system, guarded=True),
        "plain": formula(wanted.name, places, system),
    }
    rows = [
        [*cells(case), *(in_row(text, row) for text in formulas.values())]
        for row, case in enumerate(cases, 1)
    ]
    shown = zip(*([shown_value(value) for value in row[column:]] for row in computed(rows)))
    return Recalculation(wanted, system, cases, formulas, dict(zip(formulas, shown)))


def cells(case: Case) -> list[Any]:
    """Return a call's arguments as cells of one row."""
    flat = [
        cell for value in case.values for cell in (value if isinstance(value, list) else [value])
    ]
    return [f"={cell.code}" if isinstance(cell, CellError) else cell for cell in flat]


def in_row(text: str, row: int) -> str:
    """Return a formula that was written for the model row in the row of a call."""
    return "=" + re.sub(rf"(?<=[A-Z]){MODEL_ROW}\b", str(row), text)


def computed(rows: Sequence[Sequence[Any]]) -> list[list[Any]]:
    """Return the rows of a file as the engine fills them."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    filled = formualizer.recalculate_xlsx_bytes(file.getvalue())["bytes"]
    sheet = openpyxl.load_workbook(io.BytesIO(filled), data_only=True).active
    return [list(row) for row in sheet.iter_rows(values_only=True)]


def shown_value(value: Any) -> Any:
    """Return a stored value as ``Recalculation`` compares it."""
    if value in ERROR_CODES:
        return CellError(value, "")
    return float(value) if isinstance(value, int) else value
