"""The command check finds each broken rule, says where, and finds nothing where nothing is."""

from __future__ import annotations

import json
from contextlib import redirect_stdout
from dataclasses import replace
from datetime import date
from functools import cache
from io import StringIO
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import pytest
from reading import place
from small_farm import small_farm
from workbooks import loaded

from workbook_template.cli import main
from workbook_template.operations.check import check
from workbook_template.writing.layout import input_name

if TYPE_CHECKING:
    from office import Office
    from openpyxl import Workbook

# What is typed where, by a key or a cell; where the fault has to stand; words of its sentence.
PLANTED: tuple[tuple[str, Any, str, str], ...] = (
    # Text, errors, dates and truth where a number belongs
    ("altitude", "high up", "", "Altitude: 'high up' is text, and no program counts it; needs a"),
    ("hold_hours", "12", "", "Hold time: '12' is text"),
    (
        "blocks_per_load",
        True,
        "",
        "Blocks in a steam load: got TRUE, needs a whole number, 1 or more",
    ),
    ("harvests.fresh@12", date(2026, 3, 1), "", "Fresh mass: got the date 2026-03-01"),
    ("Ingredients!D7", "#N/A", "", "Price in bulk: holds the error #N/A"),
    ("Steam!A90", "soon", "", ""),
    # Outside of the limits
    ("hourly_wage", -1, "", "Wage: got -1, needs a number of $/h, 0 or more"),
    ("rooms.humidity", 90, "", "got 9000 %, needs a share of 10 to 100 %: type 90 for 90 %"),
    ("Recipes!B7", 62, "", "needs a share of 20 to below 90 %: type 62 for 62 %"),
    ("Batches!G8", 0.95, "", "Moisture: got 95 %, needs a share of 20 to below 90 %"),
    ("Strains!B8", 0.0003, "", "got 0.03 %, needs a share of 0.5 to 50 %: type 3 for 3 %"),
    (
        "strains.loss_rate@8",
        "4%%",
        "",
        "'4%%' is text, and no program counts it; needs a share of 0, or 0.2",
    ),
    ("Batches!E7", 2.5, "", "Blocks made: got 2.5, needs a whole number, 1 or more"),
    ("Harvests!C10", 12, "", "Flush: got 12, needs a whole number, 1 to 9"),
    ("harvests.note@13", "x" * 201, "", "Note: has 201 characters, needs at most 200"),
    ("Losses!B9", 12, "", "Date: got 12, needs a date"),
    ("Losses!B12", 20260914, "", "Date: got 20260914, needs a date, such as 2026-03-14."),
    ("insurance", 1e308, "", "got 1e+308, needs a number of $/year, 0 or more, at most 1,000,000,"),
    # Choices and names
    ("market_day", "Sonntag", "", "'Sonntag' is no choice, needs Monday, Tuesday"),
    ("mix_strain", "Nameless", "", "'Nameless' is not on the list Strains"),
    ("Batches!C11", "No such mix", "", "'No such mix' is not on the list Recipes"),
    ("Harvests!A7", "X999", "", "'X999' is not on the list Batches"),
    ("Losses!D7", "bad luck", "", "Cause: 'bad luck' is no choice, needs green mold, bacteria"),
    ("second_item", "PADDLE MIXER, REFURBISHED", "item", "Item: duplicate name, in 2 rows"),
    # Rows
    ("Losses!A8", None, "", "Batch is missing; the row is ignored"),
    ("harvests.fresh@11", None, "", "Fresh mass: is blank, and the row needs it"),
    # Dates and amounts against each other
    ("Batches!P12", date(2020, 1, 1), "", "Moved: before the batch was made."),
    ("Losses!B11", date(2099, 1, 1), "", "Date: after today."),
    ("Harvests!B8", date(2020, 1, 1), "", "Date: before the batch was made."),
    ("harvests.unsold@9", 9999, "", "Unsold: more than was picked."),
    ("Losses!C10", 9999, "Batches!E9", "Blocks made: fewer than were lost."),
    ("use_by", date(2020, 1, 1), "", "Use by: before it was received."),
    ("week", date(2026, 9, 22), "", "Week of: not a Monday."),
    ("share", 0.9, "Recipes!I7", "Sum of shares: does not add up to 100."),
    ("trial_lost_a", 9999, "Trials!", "no more blocks lost than started: this does not hold"),
    # Formulas
    ("Batches!X13", 5, "", "Good blocks: B141: This cell was typed over"),
    ("Batches!Y14", "=1+hourly_wage", "", "This cell has another formula than the workbook's"),
    ("Batches!AL10", None, "", "This row in the table lacks the formula of First flush picked"),
    ("Mix card!B17", None, "", "The formula of this cell was deleted"),
)
COLUMNS = {
    "use_by": "spawn_lots.use_by",
    "week": "unusual_weeks.week",
    "share": "recipe_lines.share",
    "item": "equipment.item",
}


def where(workbook: Workbook, key: str) -> tuple[str, str]:
    """Return the sheet and the cell of an input's key, a column's first row, ``column@row`` or an
    address."""
    if "@" in key:
        column, _, number = key.partition("@")
        at = place(workbook, column)
        return at.sheet, workbook[at.sheet].cell(int(number), at.column + 1).coordinate
    if "!" in key:
        sheet, _, cell = key.partition("!")
        return sheet, cell
    first = key.removeprefix("second_")
    at = place(workbook, COLUMNS.get(first, first))
    row = at.row + 1 + (key != first)
    return at.sheet, workbook[at.sheet].cell(row, at.column + 1).coordinate


@cache
def found() -> tuple[Workbook, list[dict[str, Any]]]:
    """Plant all faults, and let the command find them."""
    path = Path(mkdtemp(prefix="checks-")) / "farm.xlsx"
    workbook = loaded(small_farm().path)
    for key, value, _, _ in PLANTED:
        sheet, cell = where(workbook, key)
        workbook[sheet][cell].value = value
    del workbook.defined_names[input_name("block_mass")]
    workbook.save(path)
    shown = StringIO()
    with redirect_stdout(shown):
        assert main(["check", str(path), "--json"]) == 1
    return workbook, json.loads(shown.getvalue())["faults"]


@pytest.mark.parametrize(("key", "value", "elsewhere", "words"), [one for one in PLANTED if one[3]])
def test_a_planted_fault_is_found_at_its_cell(
    key: str, value: Any, elsewhere: str, words: str
) -> None:
    workbook, faults = found()
    sheet, cell = where(workbook, elsewhere or key)
    at_cell = [one["sentence"] for one in faults if (one["sheet"], one["cell"]) == (sheet, cell)]
    assert any(words in sentence for sentence in at_cell), (sheet, cell, at_cell)


def test_no_cell_is_blamed_that_has_no_fault() -> None:
    workbook, faults = found()
    planted = {where(workbook, place) for key, _, elsewhere, _ in PLANTED
               for place in (key, elsewhere) if place}  # fmt: skip
    rows = {(sheet, "".join(filter(str.isdigit, cell))) for sheet, cell in planted}
    blamed = [one for one in faults if one["cell"]]
    assert not [
        one
        for one in blamed
        if (one["sheet"], "".join(filter(str.isdigit, one["cell"]))) not in rows
    ]


def test_an_input_whose_name_is_gone_is_missed() -> None:
    _, faults = found()
    missed = [one["sentence"] for one in faults if one["sheet"] == ""]
    assert missed == [
        "The input Mass of a filled bag is not found: its name input_block_mass is gone; "
        "carry-over makes a workbook with it again."
    ]


def test_values_stand_in_the_json_as_they_were_typed() -> None:
    _, faults = found()
    values = {(one["sheet"], one["cell"]): one["value"] for one in faults}
    assert values["Recipes", "B7"] == 62
    assert values["Batches", "P12"] == "2020-01-01"
    assert values["Losses", "D7"] == "bad luck"
    assert values["Batches", "Y14"] == "=1+hourly_wage"


def test_a_file_that_libreoffice_saved_has_no_fault_but_those_typed(
    office: Office, tmp_path: Path
) -> None:
    # LibreOffice writes formulas, numbers and formats in its own way.
    path = tmp_path / "farm.xlsx"
    workbook = loaded(small_farm().path)
    at, burden = place(workbook, "burden"), where(workbook, "burden")[1]
    with office.document(small_farm().path) as document:
        document.write(at.sheet, at.row, at.column, [[44]])
        document.write("Harvests", 6, 0, [["X999"]])
        document.write("Batches", 6, 19, [[5]])
        document.store(path)
    faults = {(one.sheet, one.cell): one.sentence for one in check(path).faults if one.cell}
    assert faults.keys() == {("Farm", burden), ("Harvests", "A7"), ("Batches", "T7")}
    assert "type 44 for 44 %" in faults["Farm", burden]


def test_a_sound_workbook_has_no_fault_with_lost_formats_either(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Dates become plain numbers, and shares lose their percent sign: the values are the same.
    workbook = loaded(small_farm().path)
    for sheet in workbook.worksheets:
        for cell in sheet._cells.values():
            cell.number_format = "General"
    workbook.save(tmp_path / "farm.xlsx")
    assert main(["check", str(tmp_path / "farm.xlsx")]) == 0
    said = capsys.readouterr().out
    assert said.startswith(f"Read {tmp_path / 'farm.xlsx'}: ")
    assert said.endswith(" entered cells. Wrote nothing. No faults found, no warnings.\n")
    assert said.count("\n") == 1


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "There is no file"),
        (b"", "is empty"),
        (b"Batch,Made\n", "is no workbook"),
        (b"PK\x03\x04 cut", "is cut off"),
    ],
)
def test_what_cannot_be_read_is_told_in_one_line(
    content: bytes | None, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "farm.xlsx"
    if content is not None:
        path.write_bytes(content)
    assert main(["check", str(path)]) == 2
    shown = capsys.readouterr().err
    assert words in shown
    assert shown.count("\n") == 1


def test_what_may_well_be_right_is_told_apart_and_is_no_failure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    workbook = loaded(small_farm().path)
    sheet, cell = where(workbook, "harvests.flush@12")
    workbook[sheet][cell].value = 9
    path = tmp_path / "farm.xlsx"
    workbook.save(path)
    checked = check(path)
    (warning,) = checked.warnings
    words = "Flush? More than planned for this strain."
    assert (warning.sheet, warning.cell, warning.value) == (sheet, cell, 9)
    assert warning.sentence == words
    monkeypatch.setattr(
        "workbook_template.operations.check.check", lambda *_: replace(checked, faults=[])
    )
    assert main(["check", str(path)]) == 0
    said = capsys.readouterr().out
    assert f"{sheet}, {cell}: Worth a look: {words}\n" in said
    assert said.endswith("No faults found, 1 warning.\n")
    assert main(["check", str(path), "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["faults"]
    assert (found["kind"], found["cell"], found["value"]) == ("warning", cell, 9)
