"""The commands on workbooks end in the same line, and carry-over proves what it wrote."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from small_farm import edited, few_batches, small_farm

from workbook_template.cli import main
from workbook_template.operations import carry_over as carrying
from workbook_template.operations.entered import count_entered, holds_entries
from workbook_template.reading.entries import read
from workbook_template.schema import SINGLE_INPUTS

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl import Workbook

    from workbook_template.writing.layout import Entries

LINE = re.compile(r"Read (\S+): (\d+) entered cells\. Wrote (\S+)\. (.*)\.")


def entered_into_small_farm() -> int:
    """Count what the small farm is made of, before anything of it is written."""
    entries = few_batches()
    begun = {key: one.start_value("us") for key, one in SINGLE_INPUTS.items()}
    rows = [row for table in entries.tables.values() for row in table]
    cells = [value for row in (begun | entries.singles, *rows) for value in row.values()]
    return sum(value is not None for value in cells)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """Return a workbook with a fault and a note of one's own."""

    def edit(workbook: Workbook) -> None:
        workbook["Losses"]["D7"].value = "bad luck"
        workbook["Harvests"]["Z3"].value = "a note of mine"

    return edited(tmp_path / "farm.xlsx", edit)


@pytest.mark.parametrize(
    ("command", "status", "outcome"),
    [
        ("check", 1, "1 fault found, no warnings"),
        ("carry-over", 0, "No warnings"),
        ("partner-copy", 0, "No warnings"),
    ],
)
@pytest.mark.parametrize("is_open", [False, True])
def test_each_command_ends_in_what_it_read_wrote_and_found(
    command: str,
    status: int,
    outcome: str,
    is_open: bool,
    farm: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = farm.with_name("out.xlsx")
    if is_open:
        farm.with_name("~$farm.xlsx").touch()
        outcome = re.sub("no warnings", "1 warning", outcome, flags=re.IGNORECASE)
    arguments = [str(farm), *([] if command == "check" else [str(out)])]
    assert main([command, *arguments]) == status
    found = LINE.fullmatch(capsys.readouterr().out.splitlines()[-1])
    assert found is not None
    assert found[1] == str(farm)
    assert int(found[2]) == entered_into_small_farm()
    assert found[3] == ("nothing" if command == "check" else str(out))
    assert found[4] == outcome


@pytest.mark.usefixtures("without_values")
def test_carry_over_says_that_all_is_there(farm: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["carry-over", str(farm), str(farm.with_name("new.xlsx")), "--units", "metric"]) == 0
    )
    cells = entered_into_small_farm()
    said = capsys.readouterr().out
    assert f"All {cells} entered cells are in the new file, and 1 more on its Carried" in said
    assert count_entered(read(farm.with_name("new.xlsx"))) == cells


def without_a_cell(entries: Entries) -> tuple[Entries, str]:
    rows = [dict(row) for row in entries.tables["harvests"]]
    lost = rows[3].pop("fresh")
    return replace(entries, tables={**entries.tables, "harvests": rows}), str(lost)


def with_another_input(entries: Entries) -> tuple[Entries, str]:
    lost = entries.singles["altitude"]
    return replace(entries, singles={**entries.singles, "altitude": 821.0}), str(lost)


def without_a_row(entries: Entries) -> tuple[Entries, str]:
    rows = entries.tables["losses"]
    return replace(entries, tables={**entries.tables, "losses": rows[:-1]}), str(rows[-1]["batch"])


def without_a_line(entries: Entries) -> tuple[Entries, str]:
    return replace(entries, carried=[]), "a note of mine"


@pytest.mark.usefixtures("without_values")
@pytest.mark.parametrize(
    "lose", [without_a_cell, with_another_input, without_a_row, without_a_line]
)
def test_what_is_lost_on_the_way_is_named(
    lose: Any, farm: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    build, lost = carrying.build, []

    def build_less(new: Path, settings: Any, entries: Entries, *others: Any) -> bool:
        less, value = lose(entries)
        lost.append(value)
        return build(new, settings, less, *others)

    monkeypatch.setattr(carrying, "build", build_less)
    assert main(["carry-over", str(farm), str(farm.with_name("new.xlsx"))]) == 1
    said = capsys.readouterr().out
    assert "All " not in said
    lines = said.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("Keep the old file"))
    assert "of what was carried is not in the new one:" in lines[at]
    assert lost[0] in "".join(lines[at:])


def test_only_a_workbook_as_it_was_written_holds_no_entries(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    path.touch()
    assert not holds_entries(path)
    path.write_text("mine")
    assert holds_entries(path)
    assert holds_entries(small_farm().path)
