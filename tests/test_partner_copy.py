"""A partner's copy shows nothing private, in no part of the file, and the rest as it was."""

from __future__ import annotations

import re
import zipfile
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from openpyxl.comments import Comment
from openpyxl.workbook.defined_name import DefinedName
from reading import place
from small_farm import edited, few_batches, small, small_farm

from cultivar_fx.cli import main
from workbook_template.build import all_sheets
from workbook_template.page import Settings
from workbook_template.partner_copy import CannotCopy, Copied, partner_copy
from workbook_template.schema.partner import SHEETS_TO_MARK

if TYPE_CHECKING:
    from office import Office
    from openpyxl import Workbook

# What a grower would not show: written out here, not asked of the code under test.
PRIVATE_INPUTS = (
    *("hourly_wage", "burden", "electricity_price", "bag_price", "spawn_price", "rent"),
    *("insurance", "vehicle", "other_overhead", "wanted_margin", "change_1", "change_4"),
    *("fresh_moisture", "dried_moisture", "drying_energy", "drying_minutes"),
)
PRIVATE_COLUMNS = {
    "equipment": ("price", "salvage"),
    "ingredients": ("price",),
    "spawn_lots": ("cost",),
    "products": (
        *("pack_mass", "price", "pack_cost", "packing_minutes", "fees", "delivery"),
        *("sold_share", "packs_per_week"),
    ),
    "unusual_weeks": ("packs",),
}
PRIVATE_SHEETS = ("Products", "Costing")
HIDDEN = "Kept-4711-quiet"


class Farm:
    """A workbook with secrets planted in all its private inputs, and its copy."""

    def __init__(self, number: int) -> None:
        self.secrets: list[str] = []
        folder = Path(mkdtemp(prefix="workbooks-"))
        self.path = small(folder / "farm.xlsx", self._entries(number))
        self.copy = folder / "copy.xlsx"
        self.copied = partner_copy(self.path, self.copy)

    def _entries(self, number: int) -> Any:
        entries = few_batches("us")
        for key in PRIVATE_INPUTS:
            entries.singles[key] = self._plant(entries.singles[key] or 0.1, number)
        for table, columns in PRIVATE_COLUMNS.items():
            for row in entries.tables[table]:
                for key in columns:
                    if row[key] is not None:
                        row[key] = self._plant(row[key], number)
        self._rename_products(entries.tables, entries.singles, number)
        return entries

    def _plant(self, value: float, number: int) -> float:
        """Make a number that stands nowhere else in any workbook."""
        digits = 1 + (len(self.secrets) * 7919 + number * 104729) % 899981 * 1e-8
        planted = round(value * digits, 9)
        self.secrets += [repr(planted), f"{planted:.8g}"]
        return planted

    def _rename_products(self, tables: Any, singles: Any, number: int) -> None:
        names = {}
        for at, row in enumerate(tables["products"]):
            names[row["product"]] = row["product"] = f"Zq{number}x{at} cap & co"
        for row in tables["unusual_weeks"]:
            row["product"] = names[row["product"]]
        singles["cost_product"] = names[singles["cost_product"]]
        self.secrets += [f"Zq{number}x"]


@cache
def farm(number: int) -> Farm:
    return Farm(number)


def parts(path: Path) -> dict[str, str]:
    """Give every part of a file; the clock's time in the properties left out."""
    with zipfile.ZipFile(path) as archive:
        texts = {name: archive.read(name).decode() for name in archive.namelist()}
    times = re.compile(r"<dcterms:\w+[^>]*>[^<]*</dcterms:\w+>")
    return {name: times.sub("", text) for name, text in texts.items()}


def found_in(path: Path, secret: str) -> list[str]:
    return [name for name, text in parts(path).items() if secret in text or secret in name]


def copy_of(path: Path) -> tuple[Workbook, Copied]:
    target = path.with_name("copy.xlsx")
    copied = partner_copy(path, target, force=True)
    return openpyxl.load_workbook(target), copied


def test_no_part_of_the_copy_holds_a_secret() -> None:
    one = farm(1)
    planted = [secret for secret in one.secrets if found_in(one.path, secret)]
    assert len(planted) > len(one.secrets) / 2  # each number was written in one of two ways
    assert {secret: found_in(one.copy, secret) for secret in planted} == {
        secret: [] for secret in planted
    }


def test_what_is_computed_from_secrets_is_left_out_too() -> None:
    # Two farms that differ in nothing but what is private have the same copy, part by part.
    assert farm(1).path.read_bytes() != farm(2).path.read_bytes()
    cost = [openpyxl.load_workbook(one.path, data_only=True)["Batches"]["T7"].value
            for one in (farm(1), farm(2))]  # fmt: skip
    assert cost[0] != cost[1]
    assert parts(farm(1).copy) == parts(farm(2).copy)


def test_the_copy_holds_values_only() -> None:
    texts = parts(farm(1).copy)
    rest = "".join(texts.values())
    for markup in (
        "<f>",
        "<f ",
        "<dataValidation",
        "<cfRule",
        "<table ",
        '<definedName name="[a-z]',
    ):
        assert re.search(markup, rest) is None, markup
    # The print set-up stands in names that the programs keep for it.
    names = set(re.findall(r'<definedName name="([^"]*)"', texts["xl/workbook.xml"]))
    assert names <= {"_xlnm.Print_Area", "_xlnm.Print_Titles"}
    assert not [name for name in texts if re.search("custom|comment|vml|external|media", name)]


def test_private_sheets_are_not_in_the_copy_and_nothing_leads_there() -> None:
    names = openpyxl.load_workbook(farm(1).copy).sheetnames
    assert not set(names) & {*PRIVATE_SHEETS, "Week plan", "Checks", "Functions"}
    assert {"Start", "Farm", "Batches", "Harvests", "Results"} <= set(names)
    for name, text in parts(farm(1).copy).items():
        for location in re.findall(r'location="\'?([^\'!"]*)', text):
            assert location in names, name


def test_everything_else_has_the_value_that_it_had() -> None:
    before = openpyxl.load_workbook(farm(1).path, data_only=True)
    after = openpyxl.load_workbook(farm(1).copy)
    for name in ("Batches", "Harvests", "Losses", "Strains", "Steam", "Rooms", "Trials", "Labels"):
        for row in after[name].iter_rows(min_row=5):
            for cell in row:
                if cell.value != "left out" and not is_of_money(after[name], cell):
                    there = before[name][cell.coordinate].value
                    assert cell.value == (None if there == "" else there), (name, cell.coordinate)


def is_of_money(sheet: Any, cell: Any) -> bool:
    """Tell by the heading or the unit whether a cell is of money."""
    return "$" in str(sheet.cell(6, cell.column).value) or "$" in str(sheet.cell(cell.row, 3).value)


def test_widths_styles_and_page_are_those_of_the_workbook() -> None:
    before = openpyxl.load_workbook(farm(1).path)["Batches"]
    after = openpyxl.load_workbook(farm(1).copy)["Batches"]
    assert after["B7"].number_format == "yyyy-mm-dd"
    assert after["B6"].style == before["B6"].style
    assert after.column_dimensions["C"].width == before.column_dimensions["C"].width
    assert after.print_title_rows == before.print_title_rows
    assert after.page_setup.orientation == "landscape"


def test_charts_stay_unless_they_show_something_private() -> None:
    # Steam: one of temperatures. Results: losses and yields stay, costs by strain do not.
    before = openpyxl.load_workbook(farm(1).path)
    after = openpyxl.load_workbook(farm(1).copy)
    assert len(after["Steam"]._charts) == len(before["Steam"]._charts) == 1
    assert 0 < len(after["Results"]._charts) < len(before["Results"]._charts)


def test_nothing_comes_along_from_outside_of_the_inputs(tmp_path: Path) -> None:
    def plant(workbook: Workbook) -> None:
        workbook["Farm"]["B7"].comment = Comment(HIDDEN, HIDDEN)
        workbook["Farm"]["F9"] = HIDDEN
        workbook["Batches"]["AZ7"] = HIDDEN
        workbook["Batches"].oddFooter.left.text = HIDDEN
        workbook["Labels"]["A4"] = HIDDEN
        workbook.create_sheet(HIDDEN)["A1"] = HIDDEN
        workbook.properties.creator = workbook.properties.title = HIDDEN
        workbook.defined_names["kept"] = DefinedName("kept", attr_text=f'"{HIDDEN}"')

    path = edited(tmp_path / "farm.xlsx", plant)
    assert len(found_in(path, HIDDEN)) >= 5
    _, copied = copy_of(path)
    assert found_in(tmp_path / "copy.xlsx", HIDDEN) == []
    assert copied.other_sheets == [HIDDEN]


def test_a_sheet_that_is_marked_is_left_out_with_what_is_computed_from_it(tmp_path: Path) -> None:
    path = small(tmp_path / "farm.xlsx", with_singles(private_harvests="private"))
    copy, copied = copy_of(path)
    assert "Harvests" in copied.left_out
    fresh = [cell.value for cell in copy["Batches"]["R"][6:]]
    assert copy["Batches"]["R6"].value == "Fresh mass, lb"
    assert set(fresh) == {"left out", None}


def test_what_is_shown_on_purpose_is_in_the_copy(tmp_path: Path) -> None:
    shown = {"private_products": "shown", "private_costing": "shown"}
    path = small(tmp_path / "farm.xlsx", with_singles(**shown))
    copy, copied = copy_of(path)
    assert {"Products", "Week plan"} <= set(copied.sheets)
    before = openpyxl.load_workbook(path, data_only=True)
    assert copy["Week plan"]["A6"].value == before["Week plan"]["A6"].value
    assert copy["Products"]["F13"].value == "left out"  # the price of a pack
    path = small(tmp_path / "farm.xlsx", with_singles(private_money="shown", **shown))
    copy, copied = copy_of(path)
    assert copied.shows_money
    assert copy["Products"]["F13"].value == before["Products"]["F13"].value


def with_singles(**singles: str) -> Any:
    entries = few_batches("us")
    entries.singles |= singles
    return entries


@pytest.mark.parametrize("mark", ["", "SHOWN", "no", None])
def test_a_mark_that_says_nothing_known_keeps_what_is_private(mark: Any, tmp_path: Path) -> None:
    def change(workbook: Workbook) -> None:
        at = place(workbook, "private_costing")
        workbook[at.sheet].cell(at.row + 1, at.column + 1).value = mark

    _, copied = copy_of(edited(tmp_path / "farm.xlsx", change))
    assert "Costing" in copied.left_out


def test_a_formula_that_was_changed_or_typed_over_is_left_out_and_named(tmp_path: Path) -> None:
    def change(workbook: Workbook) -> None:
        workbook["Batches"]["R7"] = "=hourly_wage*3"
        workbook["Batches"]["Q8"] = 5

    copy, copied = copy_of(edited(tmp_path / "farm.xlsx", change))
    assert copied.changed == ["Batches!R7", "Batches!Q8"]
    assert copy["Batches"]["R7"].value is None
    assert copy["Batches"]["Q8"].value is None


def test_a_typed_formula_counts_only_if_it_refers_to_nothing(tmp_path: Path) -> None:
    def change(workbook: Workbook) -> None:
        workbook["Harvests"]["D7"] = "=4*25"
        workbook["Harvests"]["F7"] = "=Costing!B13"

    copy, copied = copy_of(edited(tmp_path / "farm.xlsx", change))
    assert copy["Harvests"]["D7"].value == 100
    assert copy["Harvests"]["F7"].value is None
    assert copied.changed == ["Harvests!F7"]


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    entries = few_batches("us")
    entries.tables["harvests"][0]["note"] = "=HYPERLINK(1)"
    copy, _ = copy_of(small(tmp_path / "farm.xlsx", entries))
    assert copy["Harvests"]["F7"].value == "=HYPERLINK(1)"
    assert copy["Harvests"]["F7"].data_type == "s"


def test_rows_that_were_added_to_a_table_are_copied(tmp_path: Path) -> None:
    def grow(workbook: Workbook) -> None:
        sheet = workbook["Losses"]
        last = sheet.max_row
        sheet.tables["Losses"].ref = f"A6:L{last + 1}"
        for column in range(1, 13):
            text = str(sheet.cell(last, column).value or "")
            sheet.cell(last + 1, column).value = text or None
        for column, value in enumerate(("B1", 46000, 2, "other"), 1):
            sheet.cell(last + 1, column).value = value

    path = edited(tmp_path / "farm.xlsx", grow)
    copy, copied = copy_of(path)
    assert copied.changed == []
    assert [cell.value for cell in copy["Losses"][copy["Losses"].max_row]][:1] == ["B1"]


def test_a_file_that_libreoffice_saved_has_the_same_copy(office: Office, tmp_path: Path) -> None:
    with office.document(small_farm()) as document:
        document.store(tmp_path / "farm.xlsx")
    again, copied = copy_of(tmp_path / "farm.xlsx")
    assert copied.changed == []
    partner_copy(small_farm(), tmp_path / "first.xlsx")
    first = openpyxl.load_workbook(tmp_path / "first.xlsx")
    for name in ("Farm", "Batches", "Harvests", "Results"):
        for row in first[name].iter_rows(min_row=5):
            for cell in row:
                value = again[name][cell.coordinate].value
                same = (
                    value == pytest.approx(cell.value)
                    if cell.data_type == "n"
                    else value == cell.value
                )  # noqa: E501
                assert same, (name, cell.coordinate, value, cell.value)


def test_every_working_sheet_can_be_marked() -> None:
    names = [sheet.name for sheet in all_sheets(Settings())]
    assert list(SHEETS_TO_MARK) == [
        name for name in names if name not in ("Start", "Functions", "Checks", "Sources")
    ]


def rename(workbook: Workbook) -> None:
    workbook["Batches"].title = "Lots"


def empty(workbook: Workbook) -> None:
    for row in workbook["Batches"].iter_rows(min_row=7, min_col=13):
        for cell in row:
            cell.value = 1


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (rename, "has no sheet Batches any more, it was renamed or deleted"),
        (lambda workbook: workbook["Farm"].insert_rows(6, 3), "its rows were moved"),
    ],
)
def test_a_workbook_of_another_layout_is_refused(edit: Any, words: str, tmp_path: Path) -> None:
    path = edited(tmp_path / "farm.xlsx", edit)
    with pytest.raises(CannotCopy, match="make a whole workbook of it with carry-over") as refusal:
        partner_copy(path, tmp_path / "copy.xlsx")
    assert words in str(refusal.value)
    assert not (tmp_path / "copy.xlsx").exists()


def test_a_file_without_values_is_refused_with_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = edited(tmp_path / "farm.xlsx", lambda _: None, keep_values=False)
    assert main(["partner-copy", str(path), str(tmp_path / "copy.xlsx")]) == 2
    shown = capsys.readouterr().err
    assert "holds no computed values" in shown
    assert shown.count("\n") == 1
    assert not (tmp_path / "copy.xlsx").exists()


def test_the_command_says_what_was_left_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "copy.xlsx"
    assert main(["partner-copy", str(small_farm()), str(target)]) == 0
    shown = capsys.readouterr().out
    assert "Sheets left out: Products, Costing, Week plan, Functions, Checks." in shown
    assert "Prices, wages and costs are left out." in shown
    assert main(["partner-copy", str(small_farm()), str(target)]) == 2
    assert "--force replaces it" in capsys.readouterr().err
    assert main(["partner-copy", str(small_farm()), str(tmp_path / "copy.ods")]) == 2
