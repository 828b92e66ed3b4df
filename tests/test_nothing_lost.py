"""What a carry-over once lost without a word: texts, names, links, and what else was put in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from farm_edits import blank
from openpyxl.workbook.defined_name import DefinedName
from workbooks import loaded, reading_of

from workbook_template.build import build
from workbook_template.operations.carry_over import carried, carry_over
from workbook_template.reading.entries import read
from workbook_template.reading.unmatched import NAME, Search
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries

if TYPE_CHECKING:
    from pathlib import Path

    from office import Office

SPELLED = ("a _x0041_ b", "_x005F_", "_x005F_x0041_", "_x000D_", "x0041_", "_xZZZZ_", "__x0041__")
"""ECMA-376 part 1, 22.9.2.19: within a text, _xHHHH_ stands for a character by its number."""


@pytest.fixture(scope="module")
def spelled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    entries = Entries()
    entries.tables["strains"] = [{"strain": text} for text in SPELLED]
    entries.singles["farm_name"] = SPELLED[0]
    path = tmp_path_factory.mktemp("spelled") / "farm.xlsx"
    build(path, Settings("us", batch_rows=8, typed_functions=False), entries)
    return path


def strains(path: Path) -> list[Any]:
    return [row.cells["strain"].value for row in read(path).tables["strains"].rows]


def test_a_text_that_spells_a_character_stays_as_it_was_typed(
    spelled: Path, office: Office, tmp_path: Path
) -> None:
    assert strains(spelled) == list(SPELLED)
    with office.document(spelled) as document:
        document.store(tmp_path / "saved.xlsx")
    assert strains(tmp_path / "saved.xlsx")[:1] == list(SPELLED)[:1]
    carry_over(spelled, tmp_path / "new.xlsx")
    assert strains(tmp_path / "new.xlsx") == list(SPELLED)


def test_names_of_the_growers_own_are_carried() -> None:
    workbook = loaded(blank("us"))
    for name in ("CFX.MY_PRICE", "CFX_mine", "kept"):
        workbook.defined_names[name] = DefinedName(name, attr_text="Farm!$H$30")
    name = "of_this_sheet"
    workbook["Batches"].defined_names[name] = DefinedName(name, attr_text="Batches!$B$7")
    # Gnumeric writes tables as names, LibreOffice the functions of an earlier release as these.
    for name, text in (("Steam_runs", "Steam!$A$9:$I$30"), ("CFX_DRY_MASS", "NA()")):
        workbook.defined_names[name] = DefinedName(name, attr_text=text)
    reading = reading_of(workbook)
    names = {one.found.value for one in Search(reading).leftovers if one.kind == NAME}
    assert names == {"CFX.MY_PRICE", "CFX_mine", "kept", "of_this_sheet"}
    entries, _, report = carried(reading)
    text = "\n".join(report.lines())
    assert all(any(one in line for line in entries.carried) for one in names)
    assert all(one in text for one in names)
