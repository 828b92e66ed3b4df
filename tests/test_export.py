"""The tables of a workbook as CSV files: nothing lost, nothing that a program would run."""

from __future__ import annotations

import csv
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import openpyxl
import pandas
import pytest
from reading import table
from small_farm import edited, small_farm
from workbooks import loaded

from workbook_template.cli import main
from workbook_template.operations.export import export
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.texts import original_text

if TYPE_CHECKING:
    from openpyxl import Workbook

RUN_BY_PROGRAMS = (
    *("=1+1", "+1", "-2+3", "@SUM(1)", "\t=1", " =1", "=cmd|' /C calc'!A0"),
    *("dry;=1+1", "a, b; =1+1", "dry\t@SUM(1)", "dry\n=1+1", 'dry|"=1+1"', "dry, =1+1;-2+3"),
)
ODD = ("'quoted", "two\nlines", 'say "hi"', "a;b,c", "007", "1e5", "NA", "grün ² µ", "-")
THIRD = 1 / 3


def _type(workbook: Workbook) -> None:
    """Type odd notes, and numbers with many digits, into the log of harvests."""
    log = workbook["Harvests"]
    for row, note in enumerate(RUN_BY_PROGRAMS + ODD, 7):
        for column, value in enumerate(("B156", 46000 + row, 1, THIRD * row, None, note), 1):
            log.cell(row, column).value = value
            if isinstance(value, str):
                log.cell(row, column).data_type = "s"


@cache
def exported() -> tuple[Path, Path]:
    folder = Path(mkdtemp(prefix="exports-"))
    path = edited(folder / "farm.xlsx", _type)
    export(path, folder / "tables")
    return path, folder / "tables"


@cache
def stored() -> Workbook:
    return openpyxl.load_workbook(exported()[0], data_only=True)


def frame(name: str, **options: Any) -> pandas.DataFrame:
    path = exported()[1] / f"{name}.csv"
    return pandas.read_csv(path, keep_default_na=False, na_values=[""], **options)


def cells(name: str) -> list[list[str]]:
    with (exported()[1] / f"{name}.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file))


def test_every_table_and_the_inputs_have_a_file() -> None:
    names = {path.name for path in exported()[1].iterdir()}
    assert names == {f"{key}.csv" for key in (*TABLES, "inputs")}


@pytest.mark.parametrize("key", TABLES)
def test_a_table_read_again_gives_the_values_that_were_typed(key: str) -> None:
    typed = {one.key: one for one in TABLES[key].fields}
    before = table(stored(), key, "us")
    texts = [at for at, one in enumerate(typed.values()) if not one.is_number]
    dates = [at for at, one in enumerate(typed.values()) if one.unit == "date"]
    again = frame(key, dtype=dict.fromkeys(texts, str), parse_dates=dates)
    assert len(again) == len(before) > 0
    for row, was in zip(again.itertuples(index=False), before, strict=True):
        for value, name in zip(row, typed):
            shown = None if pandas.isna(value) else original_text(value)
            assert shown == was[name], (name, shown, was[name])


def test_no_cell_of_any_file_begins_as_a_formula_does() -> None:
    texts = [text for path in exported()[1].iterdir() for row in cells(path.stem) for text in row]
    assert sum(text.lstrip("'\t ").startswith(("=", "+", "@")) for text in texts) >= 6
    for text in texts:
        if not is_number(text):
            assert not text.lstrip().startswith(("=", "+", "-", "@", "|", "\t")), text


@pytest.mark.parametrize("sign", [",", ";", "\t", "|", ":"])
@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_NONE])
def test_no_cell_begins_as_a_formula_whatever_parts_the_cells(sign: str, quoting: Any) -> None:
    texts = []
    for path in exported()[1].iterdir():
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = csv.reader(file, delimiter=sign, quoting=quoting)
            texts += [text for row in rows for text in row]
    assert any("dry" in text for text in texts)
    for text in texts:
        # A lone number may follow, with the cells behind it; a sign alone is text.
        begun = text.strip()
        is_row = is_number(begun.split(",")[0])
        assert is_row or len(begun) < 2 or not begun.startswith(("=", "+", "-", "@")), text


@pytest.mark.parametrize("currency", ["=1+1", "@x", "-$", "a;=1", "\u200b=1", "$" * 20])
def test_a_currency_that_is_none_is_not_written(currency: str, tmp_path: Path) -> None:
    workbook = loaded(small_farm().path)
    properties: Any = workbook
    properties.custom_doc_props["cultivar_fx currency"].value = currency
    workbook.save(tmp_path / "farm.xlsx")
    export(tmp_path / "farm.xlsx", tmp_path / "tables")
    for path in (tmp_path / "tables").iterdir():
        assert currency not in path.read_text(encoding="utf-8-sig")
    assert ",$/h\n" in (tmp_path / "tables" / "inputs.csv").read_text(encoding="utf-8-sig")


def test_no_heading_of_ours_has_to_be_kept_from_a_formula() -> None:
    for path in exported()[1].iterdir():
        assert "'" not in "".join(cells(path.stem)[0])


def is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def test_numbers_have_all_their_digits_and_no_apostrophe() -> None:
    # The digits that make the same binary number again: up to 17 of them.
    column = cells("batches")[0].index("Dry substrate, lb")
    numbers = [stored()["Batches"].cell(row, column + 1).value for row in range(7, 15)]
    assert [row[column] for row in cells("batches")[1:]] == [repr(number) for number in numbers]
    assert max(len(repr(number)) for number in numbers) > 16
    assert ["altitude", "Altitude", "820", "ft"] in cells("inputs")


def test_dates_are_iso_and_headings_carry_their_units() -> None:
    rows = cells("harvests")
    assert rows[0][:4] == ["Batch", "Date, yyyy-mm-dd", "Flush", "Fresh mass, lb"]
    assert rows[1][1] == "2025-12-16"  # 46007 days after 1899-12-30
    # A share is 0.62 in the file, not 62: so its heading does not say percent.
    assert cells("recipes")[0][1] == "Target moisture, fraction"


def test_what_is_computed_is_there_too() -> None:
    good = [stored()["Batches"].cell(row, 24).value for row in range(7, 15)]
    assert frame("batches")["Good blocks"].tolist() == good


def test_inputs_are_all_there_by_their_keys() -> None:
    assert [row[0] for row in cells("inputs")[1:]] == list(SINGLE_INPUTS)


def test_the_command_writes_all_files_or_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "tables"
    assert main(["export", str(small_farm().path), str(folder)]) == 0
    assert "batches.csv: 8 rows" in capsys.readouterr().out
    (folder / "mine.txt").write_text("mine")
    assert main(["export", str(small_farm().path), str(folder)]) == 2
    assert "--force replaces those of the same name" in capsys.readouterr().err
    assert main(["export", str(tmp_path / "none.xlsx"), str(folder), "--force"]) == 2
    assert "There is no file" in capsys.readouterr().err
    assert (folder / "mine.txt").read_text() == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["tables"]


def test_a_file_that_is_replaced_is_kept_unless_it_is_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["export", str(small_farm().path), str(tmp_path / "tables"), "--force"]
    assert main(command) == 0
    (tmp_path / "tables" / "batches.csv").write_text("my own remarks")
    assert main(command) == 0
    kept = tmp_path / "tables" / f"batches-before-{date.today().isoformat()}.csv"
    assert kept.read_text() == "my own remarks"
    assert f"The file that was there is kept as {kept}." in capsys.readouterr().out
    assert main(command) == 0
    assert "is kept as" not in capsys.readouterr().out
    assert [one.name for one in kept.parent.glob("*-before-*")] == [kept.name]
