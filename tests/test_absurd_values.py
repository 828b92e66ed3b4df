"""Every cell to type in takes every kind of value, and check answers and finds what is wrong."""

from __future__ import annotations

import warnings
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import pytest
from live_engine import LiveValues, live_engine
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import to_excel

from cultivar_fx.errors import CellError
from workbook_template.build import lay_out
from workbook_template.cli import main
from workbook_template.demo.data import demo_entries
from workbook_template.operations import check as checking
from workbook_template.operations.check import check
from workbook_template.operations.input_rules import typed_faults
from workbook_template.reading.contents import Area, Found
from workbook_template.reading.entries import fields_of, input_grids, read
from workbook_template.reading.tables import Row, TableFound
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries
from workbook_template.writing.saving import workbook_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook_template.reading.entries import Reading
    from workbook_template.schema.fields import Field
    from workbook_template.writing.layout import Book

SETTINGS = Settings("metric", batch_rows=1, typed_functions=False)
LONG = "x" * 201
KINDS: dict[str, Any] = {
    "zero": 0.0,
    "half": 0.5,
    "below zero": -1.0,
    "date without hyphens": 20260914.0,
    "largest": 1e308,
    "lowest": -1e308,
    "tiny": 1e-308,
    "true": True,
    "text": "soon",
    "number as text": "12",
    "blanks": "  ",
    "formula as text": "=1+1",
    "date": date(2026, 9, 14),
    "last date": date(9999, 12, 31),
    "time": time(12, 30),
    "duration": timedelta(hours=30),
    "moment": datetime(2026, 9, 14, 12, 30),
    "error": CellError("#N/A", "entered"),
    "long text": LONG,
}
LISTS = {one.choices for one in SINGLE_INPUTS.values()} | {
    one.choices for table in TABLES.values() for one in table.fields
}
"""The columns that choices are made from."""
LAST_DATE = 2_958_465
"""9999-12-31 as a number: by Microsoft's documentation of DATE."""
MOST, MOST_MONEY = 1e6, 1e12
"""Assumption: no small farm has more of anything; an amount of money may be in rupiahs."""


def is_wrong(one: Field, value: Any) -> bool:
    """Return whether a value has to be found, by what the field's own texts say."""
    if isinstance(value, CellError):
        return True
    if one.choices:
        return value != LONG or "." not in one.choices
    if not one.is_number:
        return len(str(value)) > 200
    if isinstance(value, str | bool):
        return True
    if isinstance(value, date | time | timedelta):
        return not one.dimension.is_date or not 61 <= to_excel(value) <= LAST_DATE
    most = MOST_MONEY if "money" in one.unit else LAST_DATE if one.unit == "date" else MOST
    limits = one.bounds
    is_slip = one.lowest is not None and 0 < abs(value) < one.lowest
    return is_slip or not limits.hold(value) or value > (limits.high or most)


def planted_rows(key: str) -> Iterator[tuple[dict[str, Any], str, Any]]:
    """Yield for each column and kind a row that holds it, sound but for that."""
    sound = demo_entries("metric").tables[key][0]
    for one in fields_of(key).values():
        for value in KINDS.values():
            names_things = f"{key}.{one.key}" in LISTS
            if not names_things or value == LONG or isinstance(value, CellError):
                yield {**sound, one.key: value}, one.key, value


@cache
def planted() -> tuple[Path, Book, set[tuple[str, str]]]:
    """Write a workbook with every kind in every cell of its tables; return where it is wrong."""
    tables, wrong = demo_entries("metric").tables, []
    for key in TABLES:
        rows = tables[key]
        for row, column, value in planted_rows(key):
            if is_wrong(fields_of(key)[column], value):
                wrong.append((key, column, len(rows)))
            rows.append(row)
    book = lay_out(SETTINGS, Entries(demo_entries("metric").singles, tables))
    path = Path(mkdtemp(prefix="absurd-")) / "farm.xlsx"
    path.write_bytes(workbook_bytes(book.workbook, book.filled))
    places = ((book.columns[key, column], row) for key, column, row in wrong)
    cells = {
        (one.sheet, f"{get_column_letter(one.column)}{one.first + row}") for one, row in places
    }
    return path, book, cells


@cache
def reading() -> Reading:
    """Return what is read of the demo."""
    book = lay_out(SETTINGS, demo_entries("metric"))
    path = Path(mkdtemp(prefix="absurd-")) / "farm.xlsx"
    path.write_bytes(workbook_bytes(book.workbook, book.filled))
    return read(path)


@cache
def computed() -> Any:
    """Return the demo as check computes it, in an engine that takes other values."""
    anew = checking._Computed(SETTINGS, demo_entries("metric"))
    anew._values = LiveValues(live_engine(workbook_bytes(anew._book.workbook, anew._book.filled)))
    return anew


def in_engine(value: Any) -> Any:
    if isinstance(value, CellError):
        return {"type": "Error", "kind": "Na"}
    return to_excel(value) if isinstance(value, date | time | timedelta) else value


def test_every_kind_in_every_cell_of_a_table_is_found() -> None:
    path, _, wrong = planted()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = {(one.sheet, one.cell) for one in check(path, large=True).faults}
    assert len(wrong) > 500
    assert sorted(wrong - found) == []


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_in_every_single_input_is_found(kind: str) -> None:
    book, engine = computed()._book, computed()._values.engine
    file = replace(reading(), singles=dict(reading().singles))
    for key, found in file.singles.items():
        file.singles[key] = found._replace(value=KINDS[kind])
        place = book.cells[key]
        engine.set_value(place.sheet, place.row, place.column, in_engine(KINDS[kind]))
    engine.evaluate_all()
    faults = [*typed_faults(file), *computed().faults(file)]
    blamed = {(one.sheet, one.cell) for one in faults}
    missed = [
        key
        for key, one in SINGLE_INPUTS.items()
        if is_wrong(one, KINDS[kind])
        and (file.singles[key].sheet, file.singles[key].cell) not in blamed
    ]
    assert missed == []
    assert all(one.sentence.isprintable() for one in faults)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_in_every_cell_of_a_grid_is_found(kind: str) -> None:
    for key, fields in input_grids().items():
        for column, one in fields.items():
            cell = Found("Mix card", "A1", KINDS[kind])
            table = TableFound(key, Area("Mix card", 1, 1, 1, 1), {column: 1})
            table.rows.append(Row(1, {column: cell}))
            faults = list(typed_faults(replace(reading(), singles={}, tables={key: table})))
            assert bool(faults) >= is_wrong(one, KINDS[kind]), (column, kind)


@pytest.mark.parametrize("command", ["carry-over", "partner-copy", "export"])
def test_every_other_command_answers_too(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, _, _ = planted()
    units = ["--units", "us"] if command == "carry-over" else []
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        status = main([command, str(path), str(tmp_path / "out.xlsx"), "--large", *units])
    said = capsys.readouterr()
    if command == "partner-copy":  # it holds no values
        assert (status, said.err.count("\n")) == (2, 1)
    else:
        assert (status, said.err) == (0, "")
