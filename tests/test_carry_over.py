"""Carrying a workbook over: what goes where, what the report says, what is refused."""

from __future__ import annotations

import json
import zipfile
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
import upgrades
from farm_edits import blank, enter
from openpyxl.comments import Comment
from reading import place
from workbooks import loaded, reading_of

from workbook_template.cli import main
from workbook_template.errors import CannotWrite, TooLarge
from workbook_template.operations import carry_over as carrying
from workbook_template.operations.carry_over import carried, carry_over
from workbook_template.reading.appearance import appearance
from workbook_template.reading.entries import read
from workbook_template.reading.unmatched import Search
from workbook_template.safety.scan import Limits
from workbook_template.schema import SCHEMA_VERSION
from workbook_template.writing.layout import input_name

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl import Workbook

    from workbook_template.reading.entries import Reading

NOTE = "Ana:\nweigh it twice"

ROOMS = (11, 12)
"""Filled cells of the rooms of a new workbook: of one for incubation, and one for fruiting."""
STRAINS = 9
"""One below the last row of the table, in the gap above what follows."""


def at(workbook: Workbook, key: str) -> Any:
    """Find an input, or the first row of a column, of a workbook as we write it."""
    sheet, row, column = place(workbook, key)
    return workbook[sheet].cell(row + 1, column + 1)


def with_stored_values(path: Path, values: dict[str, tuple[str, str]]) -> None:
    """Put the values of formulas into a file, as a spreadsheet program does when it saves it."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for name, content in parts.items():
        for formula, (kind, value) in values.items():
            old = f"<f>{formula}</f><v></v>".encode(), f"<f>{formula}</f><v />".encode()
            for one in old:
                content = content.replace(one, f"<f>{formula}</f><v>{value}</v>".encode())
            if kind == "e":
                content = content.replace(
                    f"><f>{formula}</f>".encode(), f' t="e"><f>{formula}</f>'.encode()
                )
        parts[name] = content
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


@pytest.fixture(scope="module")
def old(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workbook of the us system in which all sorts of things were done."""
    workbook = loaded(blank("us"))
    typed = {
        "farm_name": "=1+1",
        "altitude": 5000000,
        "block_mass": "ten",
        "start_temperature": 68,
        "trial_power": None,
    }
    for key, value in typed.items():
        enter(at(workbook, key), value)
    at(workbook, "hourly_wage").value = "=36/2"
    at(workbook, "spawn_price").value = "=1/0"
    at(workbook, "lost_mass").value = "=8/4"
    at(workbook, "block_mass").comment = Comment(NOTE, "us")
    strains = at(workbook, "strains.strain")
    for row in range(STRAINS):
        strains.parent.cell(strains.row + row, strains.column, f"S{row}")
    workbook["Costing"]["B37"] = 3.2
    extra = workbook.create_sheet("My list")
    for column, value in enumerate(("=1+1", 4, "bags"), 2):
        enter(extra.cell(3, column), value)
    path = tmp_path_factory.mktemp("old") / "farm 2025.xlsx"
    workbook.save(path)
    with_stored_values(path, {"36/2": ("n", "18"), "1/0": ("e", "#DIV/0!")})
    return path


@pytest.fixture(scope="module")
def beside(reading: Reading) -> str:
    """The label of the computed cell that is typed over."""
    return f"{reading.contents.sheets['Costing']['A37'].value}, €/block"


@pytest.fixture(scope="module")
def new(old: Path) -> Path:
    path = old.with_name("farm 2026.xlsx")
    assert main(["carry-over", str(old), str(path), "--units", "metric"]) == 0
    return path


@pytest.fixture(scope="module")
def result(new: Path) -> Workbook:
    return openpyxl.load_workbook(new)


@pytest.fixture(scope="module")
def reading(old: Path) -> Reading:
    return read(old)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("farm_name", "=1+1"),
        ("altitude", 1524000.0),  # outside of its limits: kept, the Checks sheet tells
        ("block_mass", "ten"),
        ("start_temperature", 20.0),
        ("bag_price", None),
        ("trial_power", None),  # blank, though a new workbook has a default
        ("working_fill", 0.65),
        ("hourly_wage", 18),
        ("spawn_price", None),
        ("lost_mass", None),
    ],
)
def test_each_input_is_as_it_was(result: Workbook, key: str, value: Any) -> None:
    cell = at(result, key)
    assert cell.value == value
    assert cell.data_type != "f"


def test_a_table_grows_to_hold_all_rows(result: Workbook) -> None:
    first = at(result, "strains.strain")
    names = [first.parent.cell(first.row + row, first.column).value for row in range(STRAINS)]
    assert names == [f"S{row}" for row in range(STRAINS)]
    assert first.parent.tables["Strains"].ref.endswith(str(first.row + STRAINS - 1))


def test_what_stood_elsewhere_is_on_its_sheet_with_its_place(result: Workbook, beside: str) -> None:
    lines = {
        tuple(value for value in line[1:] if value is not None): line[0]
        for line in result["Carried over"].iter_rows(min_row=1, values_only=True)
    }
    formula = "formula in an input cell"
    for line in (
        ("Farm", at(result, "hourly_wage").coordinate, formula, "Wage", "=36/2", 18),
        (
            "Farm",
            at(result, "spawn_price").coordinate,
            formula,
            "Price of spawn",
            "=1/0",
            "#DIV/0!",
        ),
        ("Farm", at(result, "lost_mass").coordinate, formula, "Mixer residue", "=8/4"),
        ("Costing", "B37", "computed cell, typed over", beside, 3.2),
        ("Farm", at(result, "block_mass").coordinate, "note", "Mass of a filled bag", NOTE),
        ("My list", "B3:D3", "sheet of your own", "=1+1", 4, "bags"),
    ):
        assert lines[line] == "farm 2025.xlsx"


def test_no_formula_is_born_from_text(result: Workbook) -> None:
    sheet = result["Carried over"]
    cells = [cell for row in sheet.iter_rows() for cell in row]
    formulas = [cell.coordinate for cell in cells if cell.data_type == "f"]
    assert formulas == ["A3"], "the state of the checks, as on every sheet"


def test_the_grower_can_delete_lines(result: Workbook) -> None:
    assert not result["Carried over"].protection.sheet


def test_the_report_counts_and_names(reading: Reading, beside: str) -> None:
    _, _, report = carried(reading, "metric")
    lines = report.lines()
    inputs = sum(one.is_filled for one in reading.singles.values())
    assert lines[0] == (
        f"Read in farm 2025.xlsx: {inputs} inputs and {STRAINS + len(ROOMS)} rows with "
        f"{STRAINS + sum(ROOMS)} cells; "
        "8 other items."
    )
    assert lines[1] == "Carried to their places: all but 2."
    assert "Carried to the Carried over sheet: 8." in lines
    wage = reading.singles["hourly_wage"].cell
    for line in (
        f"  Farm, {wage} (Wage): formula in an input cell: 18, =36/2",
        f"  Costing, B37 ({beside}): computed cell, typed over: 3.2",
        "  My list: sheet of your own, 3 cells",
    ):
        assert line in lines
    assert any("Mixer residue: blank now, since the file" in line for line in lines)
    assert any(
        "Mass of a filled bag: ten is no number, so not converted." in line for line in lines
    )
    assert any(line.startswith(f"Strains: {STRAINS} rows, but other sheets list") for line in lines)
    assert all(line.isprintable() for line in lines)


def test_carried_over_once_more_it_is_the_same(new: Path, reading: Reading) -> None:
    entries, settings, report = carried(read(new), "us")
    first, _, _ = carried(reading)
    assert entries.singles == first.singles
    assert entries.tables == first.tables
    assert entries.carried == first.carried
    assert (report.leftovers, report.earlier) == ([], len(first.carried))
    assert (settings.units, settings.currency) == ("us", "€")


def test_what_is_not_found_is_named_and_as_in_a_new_workbook(old: Path) -> None:
    workbook = openpyxl.load_workbook(old)
    del workbook.defined_names[input_name("working_fill")]
    del workbook["Losses"]
    entries, _, report = carried(reading_of(workbook))
    assert "working_fill" not in entries.singles
    assert report.remarks[-3:-1] == [
        "Working fill of the mixer: not found in the file, so it is as in a new workbook.",
        "Losses: not found in the file, so it is as in a new workbook.",
    ]
    assert any(0.65 in line for line in entries.carried), "its cell is carried all the same"


@pytest.mark.parametrize("version", range(1, SCHEMA_VERSION + 1))
def test_a_workbook_of_each_version_carries_over_with_nothing_lost(version: int) -> None:
    """What was entered is known from the file beside it, not from reading the workbook."""
    wanted = upgrades.entered_as_now(version)
    reading = read(upgrades.kept(version)[0])
    assert reading.version == version
    search = Search(reading)
    entries, settings, report = carried(reading, search=search)
    assert not any(vars(appearance(reading, search.places)).values()), "no look is the grower's"
    assert (settings.units, settings.currency, settings.invented) == (wanted["units"], "€", True)
    assert report.left == 0
    assert not set(reading.absent) & set(wanted["singles"]), "others came later"
    singles = plain(entries.singles)
    assert {key: singles[key] for key in wanted["singles"]} == wanted["singles"]
    assert {key: plain(rows) for key, rows in entries.tables.items()} == {
        key: rows if key != "weigh" else [*rows, *[{}] * (8 - len(rows))]
        for key, rows in wanted["tables"].items()
    }
    values = [(line[1], line[2], value) for line in entries.carried for value in line[6:]]
    for sheet, cell, value in wanted["besides"]:
        assert any(
            where == sheet and cells in (cell, "B2:C2") and found == value
            for where, cells, found in values
        ), (sheet, cell)


def plain(values: Any) -> Any:
    return json.loads(json.dumps(values, default=lambda one: one.isoformat()))


def test_what_is_typed_on_the_sheet_itself_is_carried_too(new: Path) -> None:
    workbook = openpyxl.load_workbook(new)
    sheet = workbook["Carried over"]
    before = [[cell.value for cell in row] for row in sheet.iter_rows()]
    sheet["C2"] = "done in May"
    sheet.append(["me", None, None, None, None, None, "look again"])
    sheet.cell(sheet.max_row, 9, "=1+1")
    entries, _, report = carried(reading_of(workbook))
    assert [(one.found.cell, one.found.value) for one in report.leftovers] == [
        ("C2", "done in May"),
        (f"I{sheet.max_row}", None),
    ]
    assert ["me", None, None, None, None, None, "look again", None] in entries.carried
    assert len(entries.carried) == len(before) - 10 + 3


# What is refused


def test_the_old_workbook_is_never_written(old: Path, new: Path, tmp_path: Path) -> None:
    before = old.read_bytes(), old.stat().st_mtime_ns
    link = tmp_path / "link.xlsx"
    link.symlink_to(old)
    for target in (old, link):
        with pytest.raises(CannotWrite, match="is the workbook to read: give another name"):
            carry_over(old, target, replace=True)
    assert (old.read_bytes(), old.stat().st_mtime_ns) == before


def test_a_new_workbook_that_is_there_is_kept(old: Path, new: Path) -> None:
    before = new.read_bytes()
    with pytest.raises(CannotWrite, match="exists already; --force replaces it"):
        carry_over(old, new)
    assert new.read_bytes() == before


def test_a_workbook_that_could_not_be_read_again_is_not_made(
    old: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    strict = SimpleNamespace(of_file=lambda _: Limits(work=1000))
    monkeypatch.setattr(carrying, "Limits", strict)
    with pytest.raises(TooLarge, match="add --large"):
        carry_over(old, tmp_path / "new.xlsx")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["none.xlsx", "new.xlsx"], "There is no file"),
        (["{old}", "new.ods"], "needs a name that ends in .xlsx"),
        (["{old}", "no folder/new.xlsx"], "There is no folder"),
        (["{old}", "new.xlsx", "--batch-rows", "0"], "batch rows: got 0"),
    ],
)
def test_the_command_refuses_in_a_sentence(
    arguments: list[str],
    words: str,
    old: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    status = main(["carry-over", *(one.format(old=old) for one in arguments)])
    said = capsys.readouterr()
    assert (status, said.out) == (2, "")
    assert words in said.err
    assert said.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
