"""The values beside the formulas: of what kind they are, and those of a farm of many years."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from benchmarks.seasons_drawn import entries_of
from openpyxl.worksheet.table import Table
from workbooks import is_same

from workbook_template import build as building
from workbook_template.build import whole_workbook
from workbook_template.cli import main
from workbook_template.writing.blocks import Settings
from workbook_template.writing.stored_values import NONE_STORED, with_stored_values

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from office import Office

BATCHES = 800
"""The engine's own way takes some 750."""
WHOLE_SHEET = 60
EVERY = 41
"""Of longer sheets, the row is compared that comes so many after the last."""


def stored(fill: Callable[[Any], None]) -> Any:
    """Fill a sheet named for the grower, and read the values that its formulas get."""
    workbook = openpyxl.Workbook()
    sheet: Any = workbook.active
    sheet.title = "Ana's log & more"
    fill(sheet)
    package = BytesIO()
    workbook.save(package)
    filled = with_stored_values(package.getvalue())
    return openpyxl.load_workbook(BytesIO(filled), data_only=True).active


@pytest.mark.parametrize(
    ("formula", "value"),
    [
        ("=1/4", 0.25),
        ("=20/4", 5),
        ("=10^-9", 1e-9),
        ("=1=1", True),
        ('="a<b & "&"c"', "a<b & c"),
        ('=""', None),
        ("=1/0", "#DIV/0!"),
        ("=NA()", "#N/A"),
        ("=SQRT(0-1)", "#NUM!"),
        ('="wet"+1', "#VALUE!"),
        ("=no_such_name+1", "#NAME?"),
        ("=DATE(2026,3,14)", 46095),  # days since 1899-12-30
    ],
)
def test_value_is_stored_as_its_kind(formula: str, value: Any) -> None:
    # What each formula gives: from memory.
    def fill(sheet: Any) -> None:
        sheet["B2"] = formula

    found = stored(fill)["B2"].value
    assert (found, type(found)) == (value, type(value))


def test_date_is_stored_as_a_number_that_its_format_shows() -> None:
    def fill(sheet: Any) -> None:
        sheet["A1"] = "=DATE(2026,3,14)+0.5"
        sheet["A1"].number_format = "yyyy-mm-dd"

    assert stored(fill)["A1"].value == datetime(2026, 3, 14, 12)


def test_columns_of_a_table_are_those_of_the_sheet_and_the_row() -> None:
    def fill(sheet: Any) -> None:
        sheet.append([None])
        sheet.append([None, "Mass, lb", "Price & tax, $", "Cost"])
        cost = "=Log[[#This Row],[Mass, lb]]*Log[[#This Row],[Price & tax, $]]"
        sheet.append([None, 2, 3, cost])
        sheet.append([None, 5, 7, cost])
        sheet["F1"] = "=SUM(Log[[Cost]])+MAX(Log[[Mass, lb]])"
        sheet.add_table(Table(displayName="Log", ref="B2:D4"))

    sheet = stored(fill)
    assert [sheet[cell].value for cell in ("D3", "D4", "F1")] == [6, 35, 46]


def test_hundreds_of_batches_have_the_values_that_libreoffice_computes(
    office: Office, tmp_path: Path
) -> None:
    settings = Settings(batch_rows=BATCHES, typed_functions=False)
    package = whole_workbook(settings, entries_of(BATCHES))
    path = tmp_path / "without values.xlsx"  # LibreOffice computes such a file when it opens it
    path.write_bytes(package)
    filled = BytesIO(with_stored_values(package))
    workbook = openpyxl.load_workbook(filled, read_only=True, data_only=True)
    different, compared = [], 0
    with office.document(path) as document:
        for sheet in workbook:
            rows = list(sheet.iter_rows(values_only=True))
            width = max(map(len, rows))
            for at in range(0, len(rows), EVERY if len(rows) > WHOLE_SHEET else 1):
                computed = document.read(sheet.title, at, 0, right=width)[0]
                compared += len(rows[at])
                different += [
                    f"{sheet.title}, row {at + 1}: stored {held!r}, computed {value!r}"
                    for held, value in zip(rows[at], computed)
                    if not is_same(held, value)
                ]
    assert different == [], "\n".join(different[:20])
    assert compared > BATCHES


@pytest.fixture
def small_computer(monkeypatch: pytest.MonkeyPatch) -> None:
    """One that computes no more than a hundred formulas in tables."""
    monkeypatch.setattr(building, "MOST_FORMULAS", 100)


@pytest.mark.usefixtures("small_computer")
def test_file_that_is_too_large_to_compute_says_so_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = tmp_path / "farm.xlsx", tmp_path / "new.xlsx"
    assert main(["workbook", str(old), "--batch-rows", "20"]) == 0
    assert NONE_STORED in capsys.readouterr().out.splitlines()
    assert main(["carry-over", str(old), str(new)]) == 0
    assert NONE_STORED in capsys.readouterr().out.splitlines()
    written = openpyxl.load_workbook(new, read_only=True, data_only=True)
    assert written["Start"]["A6"].value is None


def test_file_that_is_computed_says_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["workbook", str(tmp_path / "farm.xlsx"), "--batch-rows", "1"]) == 0
    assert "too large" not in capsys.readouterr().out
