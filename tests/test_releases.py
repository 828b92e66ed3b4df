"""A release knows those before it: their workbooks are blamed for nothing, and lose nothing.

The four workbooks are the samples of the first release, as it built them.
"""

from __future__ import annotations

import hashlib
import json
import lzma
from pathlib import Path
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from openpyxl.utils import range_boundaries
from upgrades import MOVED, bring_to_present_places, bring_to_present_units
from workbooks import loaded, made

from workbook_template.cli import main
from workbook_template.operations.carry_over import carried
from workbook_template.operations.check import check
from workbook_template.reading.appearance import appearance
from workbook_template.reading.blank_layout import as_stored, from_stored, written_now
from workbook_template.reading.entries import read
from workbook_template.reading.unmatched import Search
from workbook_template.releases import RELEASE, kept, path_of, stored
from workbook_template.releases.__main__ import content
from workbook_template.releases.packing import packed, texts_of, unpacked
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.writing.layout import table_name

if TYPE_CHECKING:
    from openpyxl import Workbook

FIRST = sorted((Path(__file__).with_name("fixtures") / "release_1").glob("*.xlsx"))
LARGEST = 150_000
"""Bytes that a release may take in every installation."""
WROTE = {
    (1, "metric"): "9cfdba9d318630f0aac328d5c1f82ff7d06284d866df09fa4f510960053a06b7",
    (1, "us"): "6fb549f646c1dc57a64c11d4a76ca2126ebe2eb63f4e6c24fc1d120cdbb59d49",
    (2, "metric"): "2c320e1a34187bed41fe61a1d95143f484810365580d214891cf2e75768a41a5",
    (2, "us"): "4604a707a231fe5b4e6a2066a68d405ac6950b0b6428acc1520ccbf6c304c4af",
    (3, "metric"): "96ab15c7ca16ee8947c01521ec208206b07c037054f289e52294a634d919093a",
    (3, "us"): "fc6eb67c4f7f362500ac9fd0f35990a25e5b4605d8c6e31fdd67c426c01d5f04",
    (4, "metric"): "afc837b1b77aa522f1fcef2ef5a83aad8f92ec3b6cc46bb390bb931bc7ffcd28",
    (4, "us"): "fadb091504e4d1e1a122c48e6fac2e176ba6cc982cafa591dfc9b28db4aa9f0e",
    (5, "metric"): "2c672d38bb737521cd86fdd67ca982f061176b8d35100cf48b9a1b2b074aa410",
    (5, "us"): "472f7677a413b54573b101426a30e5696cd53f2858a68f033941ab32a7536681",
}
"""SHA-256 of what each release wrote in each unit system, as JSON without spaces."""


@pytest.mark.parametrize("path", FIRST, ids=lambda path: path.stem)
def test_a_workbook_of_the_first_release_is_blamed_for_nothing(path: Path) -> None:
    checked = check(path)
    assert checked.faults == []
    assert checked.is_compared
    assert checked.is_computed


@pytest.mark.parametrize("path", FIRST, ids=lambda path: path.stem)
def test_all_that_was_entered_into_it_goes_to_its_place(path: Path) -> None:
    reading = read(path)
    search = Search(reading)
    entries, _, report = carried(reading, search=search)
    assert (entries.carried, report.leftovers, report.left) == ([], [], 0)
    assert not any(vars(appearance(reading, search.places)).values()), "no look is the grower's"
    workbook = openpyxl.load_workbook(path)
    singles = {key: value for key, value in entries.singles.items() if value is not None}
    tables = {key: rows for key, rows in entries.tables.items() if key in TABLES}
    typed = plain(typed_singles(workbook))
    typed_in = plain({key: typed_rows(workbook, key) for key in tables if key != "rooms"})
    if path.stem.endswith("us"):
        bring_to_present_units(typed, typed_in)
    bring_to_present_places(typed, typed_in)
    assert plain(singles) == typed
    assert plain(tables) == typed_in


def typed_singles(workbook: Workbook) -> dict[str, Any]:
    """Read the inputs by the names that they had: their keys."""
    cells = {}
    for key in (*SINGLE_INPUTS, *MOVED):
        if key in workbook.defined_names:
            sheet, _, cell = workbook.defined_names[key].attr_text.rpartition("!")
            cells[key] = workbook[sheet.strip("'")][cell.replace("$", "")].value
    return {key: value for key, value in cells.items() if value is not None}


def typed_rows(workbook: Workbook, key: str) -> list[dict[str, Any]]:
    """Read the rows of a table, each column by the label in the file's properties."""
    sheet = next(one for one in workbook.worksheets if table_name(key) in one.tables)
    left, top, right, bottom = range_boundaries(sheet.tables[table_name(key)].ref)
    heads = {number: str(sheet.cell(top, number).value) for number in range(left, right + 1)}
    labels = {
        one.name.rpartition(".")[2]: one.value
        for one in workbook.custom_doc_props.props  # type: ignore[attr-defined]
        if one.name.startswith(f"cultivar_fx {key}.")
    }
    numbers = {
        column: min(
            (number for number, head in heads.items() if head.startswith(label)),
            key=lambda number: len(heads[number]),
        )
        for column, label in labels.items()
    }
    rows = [
        {
            column: value
            for column, number in numbers.items()
            if (value := sheet.cell(row, number).value) is not None
        }
        for row in range(top + 1, bottom + 1)
    ]
    return [row for row in rows if row]


def plain(values: Any) -> Any:
    return json.loads(json.dumps(values, default=lambda one: one.isoformat()[:10]))


@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_layout_is_the_same_after_it_was_stored(units: str) -> None:
    kept = json.loads(json.dumps(as_stored(written_now(units))))
    assert from_stored(kept, "R$") == written_now(units, "R$")


def test_what_is_kept_of_this_release_is_what_it_writes() -> None:
    """Where it is kept already, a change of a formula or word belongs into the next release."""
    if path_of(RELEASE).exists():
        packages = path_of(RELEASE).read_bytes(), content()
        is_kept, is_written = (json.loads(lzma.decompress(one)) for one in packages)
        assert is_kept == is_written, "raise RELEASE"


@pytest.mark.parametrize("release", range(1, RELEASE))
def test_each_earlier_release_is_kept_and_small(release: int) -> None:
    assert path_of(release).stat().st_size < LARGEST
    assert kept(release).keys() == {"us", "metric"}


@pytest.mark.parametrize(("release", "units"), WROTE)
def test_what_is_kept_is_what_the_release_wrote(release: int, units: str) -> None:
    """By the digest of what each release wrote at its end, taken before any of it was packed."""
    text = json.dumps(stored(release, units), ensure_ascii=False, separators=(",", ":"))
    assert hashlib.sha256(text.encode()).hexdigest() == WROTE[release, units]


def test_formulas_of_any_form_come_back_from_the_packed_ones() -> None:
    """Words that only look like a cell, and references to all sides, at the ends of a sheet too."""
    formulas = [
        [1, 1, "=B2+$B2+B$2+$B$2+SUM(A1:XFD1048576)"],
        [2, 1, "=LOG10(A1)*10%+ATAN2(A2,B2)"],
        [3, 16384, "='Week 12'!A1&\"A1 is 5 % of B2\"&Batches[[Lot A1]]"],
        [3, 1, "=ABC123456+FARM1"],
        [1, 2, "=A1"],
        [1, 3, ""],
    ]
    others = [[1, 5, "A1"], [1, 6, 5], [2, 5, 0.1], [2, 6, None], [2, 7, True], [2, 8, "=A1"]]
    layout = {"formulas": {"Farm": formulas}, "others": {"Farm": others, "": []}, "tabs": ["Farm"]}
    before = ["=A1", "of an earlier release", "=\x010,0\x02"]
    content = json.loads(json.dumps(packed({"us": layout, "metric": layout}, before)))
    texts = texts_of(content, before)
    assert unpacked(content, texts, "us") == layout
    assert unpacked(content, texts, "metric") == layout


def test_a_file_of_an_unknown_release_is_checked_without_its_formulas(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    workbook = loaded(made("us", "demo").path)
    del workbook.custom_doc_props["cultivar_fx release"]  # type: ignore[attr-defined]
    workbook["Costing"]["B36"] = "=B37*2"
    workbook["Recipes"]["B7"] = 62
    workbook.save(tmp_path / "farm.xlsx")
    assert main(["check", str(tmp_path / "farm.xlsx")]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line for line in lines if "formula" in line] == [
        "An unknown release wrote this file: its formulas were not compared."
    ]
    assert any(line.startswith("Recipes, B7:") and "type 62" in line for line in lines)
