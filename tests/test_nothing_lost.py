"""What a carry-over once lost without a word: texts, names, links, and what else was put in."""

from __future__ import annotations

import random
import zipfile
from typing import TYPE_CHECKING, Any

import pytest
from farm_edits import blank
from openpyxl.packaging.custom import StringProperty
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from workbooks import loaded, reading_of

from workbook_template.build import build
from workbook_template.errors import TooLarge
from workbook_template.operations.carry_over import carried, carry_over
from workbook_template.reading.entries import read
from workbook_template.reading.extras import (
    HEADER,
    LINK,
    MESSAGE,
    PROPERTY,
    SCENARIO,
    TALK,
    TEXT_BOX,
)
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


@pytest.mark.usefixtures("without_values")
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


THREAD = (
    '<ThreadedComments xmlns="http://schemas.microsoft.com/office/spreadsheetml/2018/'
    'threadedcomments"><threadedComment ref="B8" dT="2026-03-01T10:00:00" personId="{1}" id="{2}">'
    "<text>ask Ana, twice</text></threadedComment></ThreadedComments>"
)
DRAWING = (
    '<xdr:wsDr xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing" '
    'xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"><xdr:oneCellAnchor><xdr:from>'
    "<xdr:col>5</xdr:col><xdr:row>9</xdr:row></xdr:from><xdr:sp><xdr:txBody><a:p><a:r><a:t>keep "
    "the </a:t></a:r><a:r><a:t>door shut</a:t></a:r></a:p></xdr:txBody></xdr:sp>"
    "</xdr:oneCellAnchor></xdr:wsDr>"
)
KINDS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
SCENARIOS = (
    '<scenarios><scenario name="dear" count="1"><inputCells r="B14" val="31"/></scenario>'
    "</scenarios>"
)


def test_what_is_no_cell_is_carried_as_text_and_named(tmp_path: Path) -> None:
    workbook = loaded(blank("us"))
    farm = workbook["Farm"]
    farm["H30"].value = "supplier"
    farm["H30"].hyperlink = "https://spawn.example/order?a=1&b=2"
    farm.oddHeader.center.text = "Barn two"
    workbook.properties.subject = "Loan of 2027"
    workbook.custom_doc_props.append(StringProperty(name="Grower", value="A. Example"))
    asked = DataValidation(type="whole", operator="between", formula1="0", formula2="9")
    asked.promptTitle, asked.prompt = "Own rule", "Count the lids"
    farm.add_data_validation(asked)
    asked.add("H31")
    path = tmp_path / "farm.xlsx"
    workbook.save(path)
    add_parts(path, workbook.sheetnames.index("Farm") + 1)
    reading = read(path)
    entries, _, report = carried(reading)
    values = [(line[3], line[6]) for line in entries.carried if len(line) > 6]
    text = "\n".join(report.lines())
    for kind, words in (
        (LINK, "https://spawn.example/order?a=1&b=2"),
        (HEADER, "Barn two"),
        (PROPERTY, "A. Example"),
        (MESSAGE, "Own rule\nCount the lids"),
        (TALK, "ask Ana, twice"),
        (TEXT_BOX, "keep the door shut"),
        (SCENARIO, "B14=31"),
    ):
        assert any(one == kind and words in str(value) for one, value in values), kind
        assert kind in text
    for words in ("Barn two", "Loan of 2027"):
        assert words in text


def add_parts(path: Path, number: int) -> None:
    """Put in what the library does not write, on the sheet of a number."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name).decode() for name in archive.namelist()}
    sheet, relations = (
        f"xl/worksheets/{name}" for name in (f"sheet{number}.xml", f"_rels/sheet{number}.xml.rels")
    )
    parts["xl/threadedComments/threadedComment1.xml"] = THREAD
    parts["xl/drawings/drawing99.xml"] = DRAWING
    added = (
        '<Relationship Id="rId98" Type="http://schemas.microsoft.com/office/2017/10/relationships/'
        'threadedComment" Target="/xl/threadedComments/threadedComment1.xml"/>'
        f'<Relationship Id="rId99" Type="{KINDS}/drawing" Target="/xl/drawings/drawing99.xml"/>'
    )
    parts[relations] = parts[relations].replace("</Relationships>", added + "</Relationships>")
    parts[sheet] = parts[sheet].replace("</sheetData>", f"</sheetData>{SCENARIOS}", 1)
    types = "".join(
        f'<Override PartName="/{name}" ContentType="{kind}"/>'
        for name, kind in (
            (
                "xl/threadedComments/threadedComment1.xml",
                "application/vnd.ms-excel.threadedcomments+xml",
            ),
            (
                "xl/drawings/drawing99.xml",
                "application/vnd.openxmlformats-officedocument.drawing+xml",
            ),
        )
    )
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(
        "</Types>", f"{types}</Types>"
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


@pytest.mark.usefixtures("without_values")
def test_a_long_sheet_of_the_growers_own_stays_a_sheet_that_can_be_read_again(
    tmp_path: Path,
) -> None:
    workbook = loaded(blank("us"))
    own = workbook.create_sheet("Temperatures")
    for row in range(7000):
        own.append([row + column / 8 for column in range(8)])
    own["A1"].value, own["A1"].data_type = "=1+1", "s"
    old, new, newer = (tmp_path / name for name in ("old.xlsx", "new.xlsx", "newer.xlsx"))
    workbook.save(old)
    report = carry_over(old, new)
    assert "Carried as a sheet of its own: Temperatures, 56000 cells." in report.lines()
    carry_over(new, newer)
    found = read(newer).contents
    assert found.found("Temperatures", 1, 1).value == "=1+1"
    assert found.found("Temperatures", 7000, 8).value == 6999.875
    assert len(found.rows["Temperatures"]) == 7000


def test_what_could_not_be_read_again_is_refused_before_it_is_written(tmp_path: Path) -> None:
    workbook = loaded(blank("us"))
    own = workbook.create_sheet("Sums")
    for row in range(1, 8000):
        for column in range(1, 6):
            own.cell(row, column, f"={row}+{column}")
    workbook.save(tmp_path / "old.xlsx")
    with pytest.raises(TooLarge):
        carry_over(tmp_path / "old.xlsx", tmp_path / "new.xlsx")
    assert not (tmp_path / "new.xlsx").exists()


@pytest.mark.usefixtures("without_values")
def test_numbers_come_back_bit_for_bit(tmp_path: Path) -> None:
    chance = random.Random(11)
    typed = [0.1 + 0.2, 1 / 3, 68.00000000000001, 68.00000000000003, 200, 6.25]
    typed += [chance.uniform(0, 1000) / 3 for _ in range(44)]
    entries = Entries()
    entries.tables["batches"] = [
        {"batch": f"B{at}", "block_mass": one} for at, one in enumerate(typed)
    ]
    paths = [tmp_path / f"{name}.xlsx" for name in ("us", "metric", "again", "back")]
    build(paths[0], Settings("us", batch_rows=60, typed_functions=False), entries)
    for old, new, units in zip(paths, paths[1:], ("metric", "metric", "us"), strict=False):
        carry_over(old, new, units)
    found = [row.cells for row in read(paths[3]).tables["batches"].rows]
    assert [row["block_mass"].value for row in found] == typed
