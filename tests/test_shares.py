"""Percent cells: what a farm means is taken, and a share a hundred times too small is refused.

LibreOffice adds a percent sign to what is typed into a percent cell: it makes 0.62 % of 0.62, and
no number of 62% (seen in its window, 7.4). Excel makes 62 % of 62, 62% and 0.62 (its page "Format
numbers as percentages").
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from reading import Place, place
from small_farm import few_batches, small_farm
from workbooks import loaded, made

from workbook_template.operations.carry_over import carry_over
from workbook_template.operations.check import check
from workbook_template.reading.entries import input_grids
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import Field
from workbook_template.writing.layout import grid_name
from workbook_template.writing.validation import PROMPT_LIMIT, TITLE_LIMIT, validation

if TYPE_CHECKING:
    from pathlib import Path

    from office import Office
    from openpyxl import Workbook

FIELDS = {
    **SINGLE_INPUTS,
    **{f"{key}.{one.key}": one for key, table in TABLES.items() for one in table.fields},
    **{f"{key}.{name}": one for key, grid in input_grids().items() for name, one in grid.items()},
}
SHARES = {key: one for key, one in FIELDS.items() if one.dimension.is_share}
SUMMED = "recipe_lines.share"
"""A hundredth of half a recipe may be meant, as for lime; shares that are not 100 % are found."""


def where(workbook: Workbook, key: str) -> Place:
    """Return the place of an input, or of the first cell of a column of a table or grid."""
    name, _, column = key.partition(".")
    if name in TABLES or not column:
        return place(workbook, key)
    sheet, _, cells = workbook.defined_names[grid_name(name, column)].attr_text.rpartition("!")
    first = workbook[sheet.strip("'")][cells.replace("$", "").partition(":")[0]]
    return Place(first.parent.title, first.row - 1, first.column - 1)


def rule(workbook: Workbook, key: str) -> Any:
    """Return the validation of an input."""
    at = where(workbook, key)
    rules = workbook[at.sheet].data_validations.dataValidation
    cell = workbook[at.sheet].cell(at.row + 1, at.column + 1).coordinate
    return next(one for one in rules if cell in one.sqref)


def invented() -> list[tuple[str, float]]:
    """Return the shares above 0 that the invented farm typed, each with its input."""
    entries = few_batches()
    found = [(key, value) for key, value in entries.singles.items() if key in SHARES]
    for table, rows in entries.tables.items():
        found += [(f"{table}.{key}", value) for row in rows for key, value in row.items()]
    return [(key, value) for key, value in found if key in SHARES and value]


def typed() -> list[tuple[str, Any, bool]]:
    """Return inputs with what a program makes of a typed text, and whether it has to be taken."""
    found: list[tuple[str, Any, bool]] = []
    for key, one in SHARES.items():
        lowest = one.lowest
        assert lowest is not None, key
        found += [
            (key, one.example, True),
            (key, float(f"{lowest * 100:g}") / 100, True),
            (key, lowest / 100, False),
            (key, f"{one.example:%}%", False),
            (key, 62, False),
            (key, 0, one.limits.startswith(("0 to", "-"))),
        ]
    for key, share in invented():
        found += [(key, share, True), *[(key, share / 100, False)] * (key != SUMMED)]
    # What farms have at the ends: card fees of 0.2 % (EU 2015/751, debit), wood with 0.05 %
    # nitrogen, oysters of 150 % in one flush, a steamer that loses half. Common practice else.
    for key, share in (
        ("products.fees", 0.002),
        ("ingredients.nitrogen", 0.0005),
        ("ingredients.carbon", 0.12),
        ("strains.be_1", 1.5),
        ("strains.spawn_rate", 0.2),
        ("strains.loss_rate", 0.005),
        ("steamer_efficiency", 0.5),
        ("cold_humidity", 1.0),
        ("change_1", -0.5),
    ):
        found.append((key, share, True))
    return found


def test_each_percent_cell_takes_what_farms_mean_and_refuses_a_hundredth(office: Office) -> None:
    workbook = made("us", "empty").formulas
    calls = typed()
    formulas = []
    for row, (key, _, _) in enumerate(calls, 1):
        one = rule(workbook, key)
        first = str(one.sqref).partition(":")[0]
        formulas.append(["=" + one.formula1.replace(first, f"A{row}").replace(",", ";")])
    with office.document() as document:
        sheet = document.sheets[0]
        document.write(sheet, 0, 0, [[value] for _, value, _ in calls])
        document.write_formulas(sheet, 0, 1, formulas)
        answers = document.read(sheet, 0, 1, len(calls))
    wrong = [call for call, (answer,) in zip(calls, answers, strict=True) if answer != call[2]]
    assert not wrong


def test_prompts_and_refusals_say_what_to_type() -> None:
    workbook = made("us", "empty").formulas
    for key in SHARES:
        for text in (rule(workbook, key).prompt, rule(workbook, key).error):
            assert ", without the percent sign." in text, key
    assert "\nType 62 for 62 %" in rule(workbook, "recipes.target_moisture").error
    assert "A share of 20 to below 90 %.\n" in rule(workbook, "recipes.target_moisture").error
    assert "\nType 4 for 4 %" in rule(workbook, "strains.spawn_rate").prompt
    assert "A share of 0, or 1 to 200 %." in rule(workbook, "burden").prompt
    assert "A share of -90 to -1, 0, or 1 to 100 %." in rule(workbook, "change_1").prompt
    small = "Below 1 %: type 0.5% in Excel, 0.5 in LibreOffice."
    assert rule(workbook, "ingredients.nitrogen").prompt.endswith(small)
    assert small not in rule(workbook, "ingredients.moisture").prompt


def test_nothing_of_a_prompt_is_cut() -> None:
    for one in FIELDS.values():
        made_of_it = validation(one, "B7", "us", "money")
        assert made_of_it.promptTitle == made_of_it.errorTitle == one.label
        assert made_of_it.prompt.startswith(one.help)
        assert len(made_of_it.prompt) <= 255
        assert len(made_of_it.error) <= 255
        assert len(one.label) <= 32


@pytest.mark.parametrize(
    "field",
    [
        Field("long_title", "x" * (TITLE_LIMIT + 1), "kg", help="Of it."),
        Field("long_help", "Mass", "text", help="x" * (PROMPT_LIMIT + 1)),
    ],
)
def test_a_text_that_programs_would_cut_is_refused(field: Field) -> None:
    with pytest.raises(ValueError, match="needs at most"):
        validation(field, "B7", "us", "$")


@cache
def slipped(folder: Path) -> tuple[Path, dict[str, Place]]:
    """Write the small farm with a hundredth of the smallest share in every percent cell."""
    workbook = loaded(small_farm().path)
    places = {key: where(workbook, key) for key in SHARES}
    for key, at in places.items():
        cell = workbook[at.sheet].cell(at.row + 1, at.column + 1)
        cell.value = (SHARES[key].lowest or 0) / 100
    path = folder / "slipped.xlsx"
    workbook.save(path)
    return path, places


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("shares")


def test_check_finds_each_share_that_is_a_hundred_times_too_small(folder: Path) -> None:
    path, places = slipped(folder)
    found: dict[Place, list[str]] = {}
    for fault in check(path).faults:
        if fault.cell:
            column, row = openpyxl.utils.cell.coordinate_from_string(fault.cell)
            at = Place(fault.sheet, row - 1, openpyxl.utils.column_index_from_string(column) - 1)
            found.setdefault(at, []).append(fault.sentence)
    for key, at in places.items():
        sentences = [one for one in found.get(at, []) if "needs a share of" in one]
        assert len(sentences) == 1, key
        assert "type " in sentences[0], key
    rate = found[places["strains.spawn_rate"]][0]
    # 0.5 % is the least: a hundredth of it was typed.
    assert rate.startswith("Spawn rate: got 0.005 %, needs a share of 0.5 to 50 %: type 0.5% in")


def test_the_sheet_checks_counts_them_too(office: Office, folder: Path) -> None:
    path, places = slipped(folder)
    with office.document(path) as document:
        document.calculate()
        lines = document.read("Checks", 0, 0, 200, 3)
    rows = {(at.sheet, at.row if "." in key else key) for key, at in places.items()}
    counted = [line[2] for line in lines if str(line[0]).endswith(("rows to fix", "cells to fix"))]
    assert sum(counted) == len(rows)


@pytest.mark.usefixtures("without_values")
def test_carrying_over_keeps_them(folder: Path) -> None:
    path, _ = slipped(folder)
    carry_over(path, folder / "carried.xlsx")
    carried = openpyxl.load_workbook(folder / "carried.xlsx", data_only=True)
    for key, one in SHARES.items():
        at = where(carried, key)
        cell = carried[at.sheet].cell(at.row + 1, at.column + 1)
        assert cell.value == pytest.approx((one.lowest or 0) / 100, rel=1e-12), key


@pytest.mark.parametrize("units", ["us", "metric"])
def test_lists_refuse_what_is_not_in_them(units: str) -> None:
    """Excel lets any text in where a list is a range with blanks that may be ignored.

    Its page "Apply data validation to cells": "selecting the Ignore blank check box lets any
    values be entered". A list written out is at most 255 characters.
    """
    ranges = 0
    for sheet in made(units, "demo").formulas:
        for one in sheet.data_validations.dataValidation:
            if one.type != "list":
                continue
            if one.formula1.startswith('"'):
                assert len(one.formula1) - 2 <= 255, (sheet.title, one.formula1)
            else:
                ranges += 1
                assert not one.allow_blank, (sheet.title, one.formula1)
            assert one.showErrorMessage, (sheet.title, one.formula1)
    assert ranges > 10
