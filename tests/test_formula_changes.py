"""Every formula that somebody changed is found, whatever token of it was changed."""

from __future__ import annotations

import random
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from formula_changes import KINDS, changed
from workbooks import loaded, made

from workbook_template.operations.check import check
from workbook_template.reading.contents import formula_of
from workbook_template.reading.entries import read
from workbook_template.reading.own_formulas import OTHER_FORMULA
from workbook_template.reading.unmatched import Search

if TYPE_CHECKING:
    from collections import Counter

    from openpyxl import Workbook

CHANGES = 500
_RELEASE_1 = Path(__file__).with_name("fixtures") / "release_1"


def change(workbook: Workbook, count: int, seed: str) -> dict[tuple[str, str], tuple[str, str]]:
    """Change so many formulas, of every sheet in turn; give the old and new text of each."""
    chance = random.Random(seed)
    formulas: dict[str, list[Any]] = {}
    for sheet in workbook.worksheets:
        for cell in sheet._cells.values():
            if formula_of(cell):
                formulas.setdefault(sheet.title, []).append(cell)
    names = [name for name in workbook.defined_names if name.startswith("input_")]
    names = names or [name for name in workbook.defined_names if not name.startswith("CFX.")]
    headings = [
        f"{table.displayName}[{column.name}]"
        for sheet in workbook.worksheets
        for table in sheet.tables.values()
        for column in table.tableColumns
    ]
    changes: dict[tuple[str, str], tuple[str, str]] = {}
    left = {name: chance.sample(cells, len(cells)) for name, cells in formulas.items()}
    while len(changes) < count:
        name = chance.choice([name for name, cells in left.items() if cells])
        cell = left[name].pop()
        before = formula_of(cell)
        after = changed(before, chance.choice(KINDS), names, headings, chance)
        if after:
            cell.value = after
            changes[name, cell.coordinate] = before, after
    return changes


@pytest.mark.parametrize(
    ("path", "count"),
    [(made("us", "demo").path, CHANGES), (_RELEASE_1 / "demo_metric.xlsx", 200)],
    ids=["this release", "the first release"],
)
def test_every_change_of_one_token_is_found(
    path: Path, count: int, seed: str, counts: Counter[str]
) -> None:
    reading = read(path)
    changes = change(reading.contents.workbook, count, seed)
    found = {(one.found.sheet, one.found.cell): one.kind for one in Search(reading).leftovers}
    unnoticed = {place: texts for place, texts in changes.items() if place not in found}
    assert unnoticed == {}
    assert found.keys() == changes.keys(), "no other cell is blamed"
    assert set(found.values()) == {OTHER_FORMULA}
    counts["formulas with one token changed, all found"] += count


def test_the_command_names_each_of_them(tmp_path: Path, seed: str) -> None:
    workbook = loaded(made("metric", "demo").path)
    changes = change(workbook, 30, seed)
    workbook.save(tmp_path / "farm.xlsx")
    faults = {
        (one.sheet, one.cell): one.value
        for one in check(tmp_path / "farm.xlsx").faults
        if "another formula than the workbook's" in one.sentence
    }
    assert faults == {place: after for place, (_, after) in changes.items()}
