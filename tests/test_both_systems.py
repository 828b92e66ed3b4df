"""The metric and the us demo describe one farm: every number of one follows from the other.

The factors are exact by definition: the pound is 0.45359237 kg, the foot 0.3048 m, the US gallon
231 cubic inches (NIST SP 811, appendix B); the Fahrenheit scale by its definition.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from workbooks import made

from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import WORKBOOK_DIMENSIONS, unit_label
from workbook_template.sheets import all_sheets
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from cultivar_fx.catalog.dimensions import Dimension

TYPED = 1e-8
"""The demo's inputs are rounded to ten digits in each system."""

POUND = 0.45359237
PRODUCT = re.compile(r"squared|\btimes\b")
"""Sums of products of masses, in no unit of their own, tell how much batches differ."""

NOT_THE_FARM = ("Functions", "Checks", "Sources")
SHEETS = [
    sheet.name for sheet in all_sheets(Settings()) if sheet.name not in (*NOT_THE_FARM, "Labels")
]


def dimensions() -> dict[tuple[str, str], list[Dimension]]:
    """Return the dimensions by their two labels."""
    found: dict[tuple[str, str], list[Dimension]] = {}
    for one in WORKBOOK_DIMENSIONS.values():
        labels = (unit_label(one, "us", "$"), unit_label(one, "metric", "$"))
        found.setdefault(labels, []).append(one)
    return found


def unit_at(formulas: Worksheet, row: int, column: int) -> str:
    """Return the unit of a cell: of its heading, of the list's title, or beside the cell."""
    for above in range(row, 0, -1):
        head, title = formulas.cell(above, column), formulas.cell(above, 1)
        if head.style == "farm heading" and not str(head.value).startswith("="):
            return str(head.value).rpartition(", ")[2] if ", " in str(head.value) else ""
        if title.style == "farm section":
            unit = formulas.cell(row, column + 1)
            beside = str(unit.value or "") if unit.style == "farm unit" else ""
            in_title = str(title.value).rpartition(", ")[2]
            return in_title if in_title in ("kg", "lb") else beside
    return ""


def heading_at(formulas: Worksheet, row: int, column: int) -> Any:
    above = (formulas.cell(one, column) for one in range(row, 0, -1))
    return next((one.value for one in above if one.style == "farm heading"), None)


def numbers(sheet: Worksheet) -> dict[tuple[int, int], Any]:
    return {
        (cell.row, cell.column): cell.value
        for row in sheet.iter_rows(min_row=5)
        for cell in row
        if isinstance(cell.value, (int, float)) and cell.style.startswith("farm")
    }


@pytest.mark.parametrize("name", SHEETS)
def test_every_number_of_the_us_farm_is_that_of_the_metric_farm(name: str) -> None:
    us, metric = made("us", "demo"), made("metric", "demo")
    shown, others = numbers(us.values[name]), numbers(metric.values[name])
    assert shown.keys() == others.keys()
    known = dimensions()
    sheets = us.formulas[name], metric.formulas[name]
    for (row, column), value in shown.items():
        labels = tuple(unit_at(one, row, column) for one in sheets)
        possible = (
            {one.to_metric(value) for one in known[labels]} if labels[0] != labels[1] else {value}
        )
        if PRODUCT.search(str(heading_at(sheets[0], row, column))):
            possible |= {value * POUND**power for power in (1, 2)}
        expected = others[row, column]
        assert any(one == pytest.approx(expected, rel=TYPED, abs=TYPED) for one in possible), (
            f"{name}: row {row}, column {column}: {value} {labels[0]}, {expected} {labels[1]}"
        )


BOTH_DEFAULTS = {
    one.key: one
    for one in (*SINGLE_INPUTS.values(), *(one for each in TABLES.values() for one in each.fields))
    if one.us_default is not None
}


@pytest.mark.parametrize("key", BOTH_DEFAULTS)
def test_both_defaults_are_one_quantity_in_round_figures(key: str) -> None:
    # By the factors above; a round figure may be an eighth off the other. What has the same unit
    # in both systems, such as a share, has one default.
    field = BOTH_DEFAULTS[key]
    assert field.dimension.differs
    in_metric = field.dimension.to_metric(field.us_default)
    assert in_metric == pytest.approx(field.default, rel=1 / 8)
