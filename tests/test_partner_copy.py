"""A partner's copy shows nothing private, in no part of the file, and the rest as it was."""

from __future__ import annotations

import re
import zipfile
from functools import cache
from io import BytesIO
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.utils import range_boundaries
from openpyxl.workbook.defined_name import DefinedName
from partner_copies import OF_MONEY, Copy, copied_farm, empty_book, found_in, parts, same
from small_farm import BATCH_ROWS, edited, replaced, small_farm
from workbooks import loaded

from workbook_template.cli import main
from workbook_template.errors import Refusal
from workbook_template.operations import partner_copy as copying
from workbook_template.operations.partner_copy import partner_copy
from workbook_template.operations.private import Formulas
from workbook_template.operations.references import References, refers_to_nothing
from workbook_template.reading.contents import Area
from workbook_template.sheets import all_sheets
from workbook_template.writing.blocks import Settings
from workbook_template.writing.stored_values import with_stored_values
from workbook_template.writing.workings import is_workings, workings_name

if TYPE_CHECKING:
    from office import Office
    from openpyxl import Workbook

HIDDEN = "Kept-4711-quiet"
SHEETS = [sheet.name for sheet in all_sheets(Settings())]


@cache
def edited_farm() -> Path:
    """Edit a farm in many ways at once, each in cells of its own."""
    return edited(Path(mkdtemp(prefix="copies-")) / "edited.xlsx", _edit)


@cache
def copied_edits() -> Copy:
    return Copy(edited_farm())


def _edit(workbook: Workbook) -> None:
    workbook["Farm"]["B7"].comment = Comment(HIDDEN, HIDDEN)
    workbook["Farm"]["F9"] = workbook["Batches"]["EZ7"] = workbook["Labels"]["A4"] = HIDDEN
    workbook["Batches"].oddFooter.left.text = HIDDEN
    workbook.create_sheet(HIDDEN)["A1"] = HIDDEN
    workbook.properties.creator = workbook.properties.title = HIDDEN
    workbook.defined_names["kept"] = DefinedName("kept", attr_text=f'"{HIDDEN}"')
    workbook["Batches"]["Y7"] = "=hourly_wage*3"
    workbook["Batches"]["X8"] = 5
    workbook["Harvests"]["D7"] = "=4*25"
    workbook["Harvests"]["F7"] = "=Costing!B13"
    workbook["Harvests"]["F8"] = "=1+1"
    workbook["Harvests"]["F8"].data_type = "s"
    log = workbook["Losses"]
    log.tables["Losses"].ref = f"A6:L{log.max_row + 1}"
    for column, value in enumerate(("B156", 46000, 2, "other"), 1):
        log.cell(6 + BATCH_ROWS + 1, column).value = value


# Nothing private


@pytest.mark.parametrize("is_strict", [False, True])
def test_no_part_of_the_copy_holds_a_secret(is_strict: bool) -> None:
    farm = small_farm(1, is_strict)
    before, after = parts(farm.path), parts(copied_farm(1, is_strict).path)
    secrets = farm.secrets
    planted = [secret for secret in secrets if found_in(before, secret)]
    assert len(planted) >= len(secrets) / 2  # each number is written in one of two ways
    leaks = {secret: found_in(after, secret) for secret in planted}
    assert not [secret for secret, names in leaks.items() if names]


@pytest.mark.parametrize("is_strict", [False, True])
def test_two_farms_that_differ_in_what_is_private_have_the_same_copy(is_strict: bool) -> None:
    """So nothing that is computed from a secret is in it, however many steps away.

    Private are all amounts of money, whatever else stands on Costing, and who orders; where the
    farm is strict, everything on Products and Orders.
    """
    part = f"xl/worksheets/sheet{SHEETS.index('Spawn') + 1}.xml"
    costs = [parts(small_farm(number, is_strict).path)[part] for number in (1, 2)]
    assert costs[0] != costs[1]  # those of the spawn lots
    assert parts(copied_farm(1, is_strict).path) == parts(copied_farm(2, is_strict).path)


def test_nothing_comes_along_from_outside_of_the_inputs() -> None:
    assert len(found_in(parts(edited_farm()), HIDDEN)) >= 5
    assert found_in(parts(copied_edits().path), HIDDEN) == []
    assert copied_edits().copied.other_sheets == [HIDDEN]


def test_the_copy_holds_values_only() -> None:
    texts = parts(copied_farm().path)
    sheets = "".join(text for name, text in texts.items() if "worksheets/" in name)
    for markup in ("<f>", "<f ", "<dataValidation", "<cfRule", "<conditional", "<tablePart"):
        assert markup not in sheets
    # The print set-up stands in names that the programs keep for it.
    names = set(re.findall(r'<definedName[^>]* name="([^"]*)"', texts["xl/workbook.xml"]))
    assert names == {"_xlnm.Print_Area", "_xlnm.Print_Titles"}
    assert not [name for name in texts if re.search("custom|comment|table|vml|external", name)]


@pytest.mark.parametrize("is_strict", [False, True])
def test_private_sheets_are_not_in_the_copy_and_nothing_leads_there(is_strict: bool) -> None:
    copied = copied_farm(1, is_strict)
    names = copied.after.sheetnames
    left_out = {*OF_MONEY, "Checks", "Functions"}
    left_out |= {"Week plan", "Stock"} if is_strict else set()
    assert {name for name in names if not is_workings(name)} == set(SHEETS) - left_out
    assert not {workings_name(name) for name in left_out} & set(names)
    assert copied.copied.followed == (["Products", "Orders"] if is_strict else [])
    for name, text in parts(copied.path).items():
        for location in re.findall(r"location=\"'?([^'!\"]*)", text):
            assert location in names, name


# The rest as it was


@pytest.mark.parametrize(
    "name", ["Strains", "Mix card", "Batches", "Harvests", "Losses", "Rooms", "Trials", "Labels"]
)
def test_everything_else_has_the_value_that_it_had(name: str) -> None:
    before, after = copied_farm().before[name], copied_farm().after[name]
    for row in before.iter_rows(min_row=5):
        for cell in row:
            value = after[cell.coordinate].value
            if value != "left out" and not is_of_money(before, cell):
                was = None if cell.value == "" else cell.value
                assert same(value, was), (cell.coordinate, value, was)


def test_every_formula_of_ours_can_be_followed() -> None:
    """One that cannot may come from anywhere, and would be left out as private.

    Checks are not followed: they are not copied.
    """
    formulas = Formulas(empty_book())
    lost = {here.sheet for here, areas in formulas.computed if areas == formulas.everything}
    assert lost <= {"Checks", workings_name("Checks")}


def is_of_money(sheet: Any, cell: Any) -> bool:
    """Tell by the heading or the unit whether a cell is of money, or a product of it."""
    heading, unit = str(sheet.cell(6, cell.column).value), str(sheet.cell(cell.row, 3).value)
    return "$" in heading or "$" in unit or heading.startswith("Cost")


def test_widths_formats_and_page_are_those_of_the_workbook() -> None:
    before, after = copied_farm().before["Batches"], copied_farm().after["Batches"]
    assert after["B7"].number_format == "yyyy-mm-dd"
    assert after["B6"].style == before["B6"].style
    assert after.column_dimensions["C"].width == before.column_dimensions["C"].width
    assert after.print_title_rows == before.print_title_rows
    assert after.page_setup.orientation == "landscape"


def test_a_typed_formula_counts_only_if_it_refers_to_nothing() -> None:
    harvests = copied_edits().after["Harvests"]
    assert harvests["D7"].value == 100
    assert harvests["F7"].value == "left out"
    assert "Harvests!F7" in copied_edits().copied.changed


def test_a_formula_that_was_changed_or_typed_over_is_left_out_and_named() -> None:
    batches = copied_edits().after["Batches"]
    assert (batches["Y7"].value, batches["X8"].value) == ("left out", None)
    assert {"Batches!Y7", "Batches!X8"} <= set(copied_edits().copied.changed)


def test_text_that_looks_like_a_formula_stays_text() -> None:
    note = copied_edits().after["Harvests"]["F8"]
    assert (note.value, note.data_type) == ("=1+1", "s")


def test_rows_that_were_added_to_a_table_are_copied() -> None:
    assert copied_edits().after["Losses"].cell(6 + BATCH_ROWS + 1, 1).value == "B156"


def test_a_file_that_libreoffice_saved_has_the_same_copy(office: Office, tmp_path: Path) -> None:
    with office.document(small_farm().path) as document:
        document.store(tmp_path / "farm.xlsx")
    again = Copy(tmp_path / "farm.xlsx")
    assert again.copied.changed == []
    for name in ("Farm", "Batches", "Harvests", "Results"):
        for row in copied_farm().after[name].iter_rows(min_row=5):
            for cell in row:
                value = again.after[name][cell.coordinate].value
                assert same(value, cell.value), (name, cell.coordinate, value)


# Formulas that reach a private cell without naming it

REACHING = (
    *("=SUM(11:11)", "=MAX(1:1048576)", "=MAX(Costing!11:11)", "=SUM(Costing!A:Z)"),
    *('=INDIRECT("Costing!B13")', "=OFFSET(A1,3,3)", "=INDEX(Costing!13:13,2)"),
    *("=INDEX(13:13,1,2)", '=CELL("contents",Costing!B13)', '=INDIRECT(ADDRESS(13,2,1,1,"Farm"))'),
    *("=costing!B13", "=EVALUATE(1)", "=hourly_wage", "=input_hourly_wage*1", "=HOURLY_WAGE"),
    *("=SUM(Costing!A1:XFD1048576)", "=CHOOSE(1,Costing!B13)", "=Sneaky", "=Farm!F40"),
    *(
        '=SUMIF(A1:A2,"x",Costing!B13)',
        "=Products[[Product]:[Price, $/pack]]",
        "=SUM(Farm:Costing!B9)",
    ),
    *('=HYPERLINK("#Farm!A1",Costing!B13)', "=HYPERLINK(Costing!B13)"),
    *("=IF(TRUE,Costing!B13)", "=CFX.DRY_MASS(200,6%)", "=$B$1:INDEX(Costing!B:B,13)"),
)
"""Written out by hand: each may answer with what stands in a private cell."""


@pytest.mark.parametrize("formula", REACHING)
def test_the_value_of_a_formula_that_may_reach_a_private_cell_is_left_out(formula: str) -> None:
    assert not refers_to_nothing(formula)


@pytest.mark.parametrize("typed", ["Farm!$B$9:$B$12", "'Farm'!B9:B12", "Farm!B12:Farm!B9"])
def test_a_range_on_another_sheet_is_followed_whole(typed: str) -> None:
    found = References(empty_book().workbook).areas(f"=SUM({typed})", "Costing", 5)
    assert {one.sheet for one in found} == {"Farm"}
    assert Area("Farm", 2, 9, 2, 12) in found


SECRET = "48151.623421"
SECRETLY = [re.escape(escape(one[1:])) for one in (*REACHING, "=input_hourly_wage")]


@cache
def reaching() -> Copy:
    """Copy a farm whose harvests are typed as such formulas, each holding a secret as its value."""
    folder = Path(mkdtemp(prefix="copies-"))
    workbook = loaded(small_farm().path)
    workbook["Farm"]["F40"] = "=input_hourly_wage"
    workbook.defined_names["Sneaky"] = DefinedName("Sneaky", attr_text="Farm!$F$40")
    for row, formula in enumerate(REACHING[: BATCH_ROWS - 4], 7):
        workbook["Harvests"].cell(row, 4).value = formula
    place = workbook.defined_names["input_altitude"].attr_text.rpartition("!")[2].replace("$", "")
    workbook["Farm"][place] = "=SUM(11:11)"
    path = folder / "farm.xlsx"
    workbook.save(path)
    path.write_bytes(with_values(path.read_bytes()))
    return Copy(path)


def with_values(package: bytes) -> bytes:
    """Put a secret in as the value of each such formula; all else as the small farm has it."""
    values = {
        (sheet.title, cell.coordinate): cell.value
        for sheet in openpyxl.load_workbook(small_farm().path, data_only=True)
        for line in sheet.iter_rows()
        for cell in line
        if isinstance(cell.value, int | float)
    }
    sheets = openpyxl.load_workbook(BytesIO(package), read_only=True).sheetnames
    written = BytesIO()
    with zipfile.ZipFile(BytesIO(package)) as old, zipfile.ZipFile(written, "w") as new:
        for name in old.namelist():
            text = old.read(name).decode()
            number = re.fullmatch(r"xl/worksheets/sheet(\d+)\.xml", name)
            if number:
                sheet = sheets[int(number[1]) - 1]

                def valued(cell: re.Match[str], sheet: str = sheet) -> str:
                    if re.fullmatch(r"=?" + "|=?".join(SECRETLY), cell[2]):
                        value: Any = SECRET
                    else:
                        value = values.get((sheet, cell[1]))
                    if value is None:
                        return cell[0]
                    return f"{cell[0].removesuffix('<v />').removesuffix('<v></v>')}<v>{value}</v>"

                text = re.sub(
                    r'<c r="([A-Z]+\d+)"[^>]*><f>([^<]*)</f><v ?(?:/>|></v>)', valued, text
                )
            new.writestr(name, text, zipfile.ZIP_DEFLATED, 1)
    return written.getvalue()


def test_nothing_that_is_computed_from_such_a_formula_is_in_the_copy() -> None:
    assert found_in(parts(reaching().path), SECRET) == []
    harvests = reaching().after["Harvests"]
    assert {harvests.cell(row, 4).value for row in range(7, 7 + BATCH_ROWS - 4)} <= {
        None,
        "left out",
    }
    batches, place = reaching().after["Batches"], empty_book().columns["batches", "fresh"]
    assert batches.cell(place.first, place.column).value == "left out"


# What is refused


def test_names_that_were_lost_or_moved_are_refused(tmp_path: Path) -> None:
    def lost(workbook: Workbook) -> None:
        workbook.defined_names.clear()

    def pushed(workbook: Workbook) -> None:
        workbook["Farm"].insert_rows(8, 3)

    def exchanged(workbook: Workbook) -> None:
        one, other = (workbook["Farm"].cell(row, 1) for row in mark_rows(workbook))
        one.value, other.value = other.value, one.value

    def elsewhere(workbook: Workbook) -> None:
        names = workbook.defined_names
        names["input_private_money"].attr_text = names["input_private_labels"].attr_text

    def headings(workbook: Workbook) -> None:
        left, top, _, _ = range_boundaries(workbook["Products"].tables["Products"].ref)
        cells = [workbook["Products"].cell(top, column) for column in (left, left + 3)]
        cells[0].value, cells[1].value = cells[1].value, cells[0].value

    def shadowed(workbook: Workbook) -> None:
        name = "input_altitude"
        workbook["Batches"].defined_names[name] = DefinedName(name, attr_text="Farm!$B$9")

    for edit, words in (
        (lost, "does not say any more what is private"),
        (pushed, "points to a cell beside which"),
        (exchanged, "points to a cell beside which"),
        (elsewhere, "points to a cell beside which"),
        (headings, "over cells that were made for"),
        (shadowed, "for the Batches sheet alone"),
    ):
        workbook = loaded(small_farm().path)
        edit(workbook)
        path = tmp_path / f"{edit.__name__}.xlsx"
        workbook.save(path)
        with pytest.raises(Refusal) as refusal:
            partner_copy(path, tmp_path / "copy.xlsx")
        assert words in str(refusal.value), edit
        assert "\n" not in str(refusal.value)
        assert not (tmp_path / "copy.xlsx").exists()


def mark_rows(workbook: Workbook) -> list[int]:
    names = ("input_private_money", "input_private_labels")
    return [int(workbook.defined_names[name].attr_text.rpartition("$")[2]) for name in names]


def test_a_name_that_is_broken_means_private(tmp_path: Path) -> None:
    workbook = loaded(small_farm().path)
    for name in ("input_private_money", "input_private_harvests"):
        workbook.defined_names[name].attr_text = "Farm!#REF!"
    workbook.save(tmp_path / "farm.xlsx")
    path = tmp_path / "farm.xlsx"
    path.write_bytes(with_stored_values(path.read_bytes()))
    copied = partner_copy(path, tmp_path / "copy.xlsx")
    assert not copied.shows_money
    assert "Harvests" in copied.left_out
    texts = parts(tmp_path / "copy.xlsx")
    assert not [one for one in small_farm().secrets if found_in(texts, one)]


def test_the_copy_is_searched_before_it_is_handed_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    secret = next(one for one in small_farm().secrets if len(one) > 9)
    strip = copying._Copy.strip

    def leaking(copy: Any) -> None:
        strip(copy)
        copy.book.workbook.properties.title = f"paid {secret} each"

    monkeypatch.setattr(copying._Copy, "strip", leaking)
    with pytest.raises(Refusal, match="would hold what is private"):
        partner_copy(small_farm().path, tmp_path / "copy.xlsx")
    assert not (tmp_path / "copy.xlsx").exists()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"xl/tables/": ('ref="A6:([A-Z]+)[0-9]+"', r'ref="A6:\g<1>1048576"')}, "is larger than"),
        ({"xl/workbook.xml": ('name="Batches"', 'name="Lots"')}, "has no sheet Batches any more"),
        (
            {"xl/worksheets": ("<f( [^>]*[^/>])?>", r"<f\1>0+")},
            "made by another version of cultivar_fx, or its",
        ),
        (
            {"xl/worksheets": ("(</f>|<f [^>]*/>)<v[^>]*>[^<]*</v>", r"\1")},
            "holds no computed values",
        ),
    ],
)
def test_a_workbook_that_cannot_be_told_apart_is_refused(
    changes: dict[str, tuple[str, str]], words: str, tmp_path: Path
) -> None:
    path = replaced(tmp_path / "farm.xlsx", changes)
    with pytest.raises(Refusal) as refusal:
        partner_copy(path, tmp_path / "copy.xlsx")
    assert words in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert not (tmp_path / "copy.xlsx").exists()


def test_the_command_says_how_to_keep_the_plan(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(copying, "partner_copy", lambda *_: copied_farm(1, True).copied)
    assert main(["partner-copy", "farm.xlsx", "copy.xlsx"]) == 0
    shown = capsys.readouterr().out
    assert "All that is computed from Products and Orders is left out, too." in shown
    assert 'choose "sheet only" for both on the Farm sheet.' in shown


def test_the_command_says_what_was_left_out(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(copying, "partner_copy", lambda *_: copied_edits().copied)
    assert main(["partner-copy", "farm.xlsx", "copy.xlsx"]) == 0
    shown = capsys.readouterr().out
    assert f"Sheets left out: {', '.join(OF_MONEY)}, Functions, Checks." in shown
    assert "sheet only" not in shown
    assert "Prices, wages and costs are left out." in shown
    assert f"Your own sheets, left out: {HIDDEN}." in shown
    assert "with a formula that is not ours: Batches!Y7, Batches!X8, Harvests!F7." in shown


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["missing.xlsx", "copy.xlsx"], "There is no file"),
        (["there.xlsx", "copy.ods"], "needs a name that ends in .xlsx"),
        (["there.xlsx", "old.xlsx"], "exists already; --force replaces it"),
        (["there.xlsx", "there.xlsx", "--force"], "is the workbook to copy: give another name"),
    ],
)
def test_the_command_refuses_in_one_line(
    arguments: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("there.xlsx", "old.xlsx"):
        (tmp_path / name).write_bytes(small_farm().path.read_bytes())
    paths = [str(tmp_path / name) for name in arguments[:2]]
    assert main(["partner-copy", *paths, *arguments[2:]]) == 2
    assert words in capsys.readouterr().err
