"""Making the file: what is refused, what is kept, what is left behind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import openpyxl
import pytest

from cultivar_fx.errors import CellError
from workbook_template import build as building
from workbook_template.build import build
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries
from workbook_template.writing.writer import enter

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl import Workbook

STRAINS = [f"S{number}" for number in range(9)]


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        (Settings(units="imperial"), "units: got 'imperial', needs us or metric."),
        (Settings(currency=""), "currency: got '', needs a symbol"),
        (Settings(currency="[x]"), "currency: got '[x]', needs a symbol"),
        (Settings(batch_rows=0), "batch rows: got 0, needs 1 to"),
    ],
)
def test_settings_that_cannot_be_used_are_refused(
    settings: Settings, words: str, tmp_path: Path
) -> None:
    with pytest.raises(ValueError, match="got") as refusal:
        build(tmp_path / "farm.xlsx", settings)
    assert words in str(refusal.value)
    assert list(tmp_path.iterdir()) == []


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    """A file with texts that look like formulas, and more strains than a new one has rows for."""
    path = tmp_path_factory.mktemp("built") / "farm.xlsx"
    tables = {
        "ingredients": [{"ingredient": "=CMD()"}],
        "strains": [{"strain": name} for name in STRAINS],
    }
    build(path, Settings(batch_rows=1), Entries({"farm_name": "=1+1"}, tables))
    return openpyxl.load_workbook(path)


def test_typed_text_never_becomes_a_formula(workbook: Workbook) -> None:
    typed = [
        cell
        for sheet in ("Farm", "Ingredients")
        for row in workbook[sheet].iter_rows()
        for cell in row
        if cell.value in ("=1+1", "=CMD()")
    ]
    assert [cell.data_type for cell in typed] == ["s", "s"]


def test_the_program_computes_again_when_it_opens_the_file(workbook: Workbook) -> None:
    assert workbook.calculation.fullCalcOnLoad


def test_a_table_grows_to_hold_all_rows(workbook: Workbook) -> None:
    sheet = workbook["Strains"]
    rows = list(sheet[sheet.tables["Strains"].ref])[1:]
    assert [row[0].value for row in rows] == STRAINS
    assert rows[-1][-1].data_type == "f"


def test_a_failure_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "farm.xlsx"
    target.write_text("old")

    def fail(_: bytes) -> bytes:
        raise OSError("no space left")

    monkeypatch.setattr(building, "with_stored_values", fail)
    with pytest.raises(OSError, match="no space left"):
        build(target, Settings())
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["farm.xlsx"]


@pytest.mark.parametrize(("code", "kind"), [("#N/A", "e"), ("#SPILL!", "s")])
def test_an_error_that_not_every_program_knows_becomes_text(code: str, kind: str) -> None:
    cell = openpyxl.Workbook().create_sheet()["A1"]
    enter(cell, CellError(code, "typed"))
    assert (cell.value, cell.data_type) == (code, kind)
