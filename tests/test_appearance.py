"""How a grower made our sheets look: carried where that can be, named by sheet where not.

That nothing of an earlier release is taken for the grower's is seen where its workbooks are read:
in ``test_releases.py``, ``test_carry_over.py`` and ``test_past.py``.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import openpyxl
import pytest
from histories import live
from openpyxl.chart import BarChart, Reference
from openpyxl.drawing.image import Image
from openpyxl.formatting.rule import CellIsRule, DataBarRule
from openpyxl.styles import Font, PatternFill
from openpyxl.styles.colors import Color
from openpyxl.worksheet.hyperlink import Hyperlink
from PIL import Image as Pixels
from small_farm import small_farm
from workbooks import loaded

from workbook_template.operations.carry_over import carried, carry_over
from workbook_template.operations.entered import holds_entries
from workbook_template.reading.appearance import appearance
from workbook_template.reading.entries import read
from workbook_template.reading.extras import LINK
from workbook_template.reading.unmatched import Search
from workbook_template.writing import styles

if TYPE_CHECKING:
    from pathlib import Path

    from office import Office
    from openpyxl import Workbook

    from workbook_template.reading.appearance import Appearance

GREEN, YELLOW, RED = "C6EFCE", "FFFF00", "FF0000"
FOUR_SHEETS = [
    "Farm: the colors or fonts that you gave 1 cell are not carried.",
    "Steam: 1 chart, 1 hidden column of your own are not carried.",
    "Batches: 2 conditional formats of your own are not carried.",
    "Costing: 2 pictures, 1 chart of your own are not carried.",
]


def cell_of(workbook: Workbook, key: str) -> tuple[str, str]:
    """Return the sheet and the cell of an input."""
    sheet, _, cell = workbook.defined_names[f"input_{key}"].attr_text.partition("!")
    return sheet.strip("'"), cell.replace("$", "")


def dressed() -> Workbook:
    """Return the small farm's workbook with everything that a grower may do to its looks."""
    workbook = loaded(small_farm().path)
    farm, batches, costing = (workbook[name] for name in ("Farm", "Batches", "Costing"))
    assert cell_of(workbook, "hourly_wage")[0] == "Farm"
    wage = farm[cell_of(workbook, "hourly_wage")[1]]
    wage.fill = PatternFill("solid", start_color=GREEN)
    farm.cell(wage.row, 1).font = Font(name="Calibri", size=14, color=RED, bold=True, strike=True)
    farm["A1"].fill = PatternFill("solid", start_color=YELLOW)
    batches["A9"].fill = PatternFill("solid", fgColor=Color(theme=5, tint=0.6))
    farm.column_dimensions["D"].width = 70
    batches.column_dimensions["C"].width = 40
    picture = BytesIO()
    Pixels.new("RGB", (9, 9), "red").save(picture, "PNG")
    for place in ("J3", "J9"):
        costing.add_image(Image(BytesIO(picture.getvalue())), place)
    for sheet in (costing, workbook["Steam"]):
        chart = BarChart()
        chart.add_data(Reference(batches, min_col=5, min_row=6, max_row=12))
        sheet.add_chart(chart, "J20")
    workbook["Steam"].column_dimensions["C"].hidden = True
    batches.conditional_formatting.add("E7:E20", CellIsRule("greaterThan", formula=["10"]))
    batches.conditional_formatting.add("F7:F20", DataBarRule("min", 0, "max", 0, color=GREEN))
    return workbook


def found_in(path: Path) -> Appearance:
    reading = read(path)
    return appearance(reading, Search(reading).places)


@pytest.mark.usefixtures("without_values")
@pytest.mark.parametrize("units", ["us", "metric"])
def test_colors_fonts_and_widths_come_to_their_new_places(units: str, tmp_path: Path) -> None:
    old, new = tmp_path / "old.xlsx", tmp_path / "new.xlsx"
    dressed().save(old)
    report = carry_over(old, new, units)
    said = report.lines()
    assert "Carried as you changed them: the colors and fonts of 3 cells and the width of 2" in (
        "\n".join(said)
    )
    assert [one for one in said if "not carried." in one] == FOUR_SHEETS
    written = openpyxl.load_workbook(new)
    sheet, cell = cell_of(written, "hourly_wage")
    wage = written[sheet][cell]
    assert wage.fill.start_color.rgb.endswith(GREEN)
    label = written[sheet].cell(wage.row, 1).font
    assert (label.color.rgb[-6:], label.sz, label.b, label.strike) == (RED, 14, True, True)
    assert written["Batches"]["A9"].fill.start_color.rgb.endswith("E6B9B8")  # as LibreOffice shows
    assert written["Batches"]["A10"].fill.start_color.rgb[-6:] == styles.INPUT_FILL
    assert written["Farm"].column_dimensions["D"].width == 70
    assert written["Batches"].column_dimensions["C"].width == 40
    assert written["Farm"]["A1"].fill.start_color.rgb[-6:] != YELLOW
    # Carried again, nothing is left to name.
    again = found_in(new)
    assert (len(again.looks), len(again.widths), again.others) == (3, 2, {})


@pytest.mark.parametrize("seed", [0, 2, 3])
def test_looks_are_found_and_ours_are_not_whatever_saved_the_workbook(
    seed: int, office: Office, tmp_path: Path
) -> None:
    """The ways are .xlsx, .ods, Gnumeric and .xls; Gnumeric knows no named styles and no bars.

    Through .ods our charts of ranges are left out, so charts are not counted there.
    """
    workbook = dressed() if seed < 2 else loaded(small_farm().path)
    path, done = live(workbook, office, seed, tmp_path)
    found = found_in(path)
    if seed >= 2:
        assert (found.looks, found.widths, found.others) == ({}, {}, {}), done
        return
    assert found.others["Costing"] == {"picture": 2, "chart": 1}, done
    assert found.others["Steam"]["chart"] == 1, done
    assert found.others["Batches"]["conditional format"] >= 2, done  # a range may be split
    assert {one.fill for one in found.looks.values()} >= {GREEN, "E6B9B8"}, done
    assert found.widths["Farm", 4] == pytest.approx(70, abs=1), done


def test_a_style_of_the_program_is_the_growers_too(tmp_path: Path) -> None:
    workbook = loaded(small_farm().path)
    workbook["Farm"][cell_of(workbook, "hourly_wage")[1]].style = "Good"
    workbook.save(tmp_path / "old.xlsx")
    (look,) = found_in(tmp_path / "old.xlsx").looks.values()
    assert look.fill == GREEN


def test_links_of_the_grower_on_our_sheets_are_found_and_ours_are_not(tmp_path: Path) -> None:
    workbook = loaded(small_farm().path)
    wage = cell_of(workbook, "hourly_wage")[1]
    for cell, location in ((wage, "'Costing'!A1"), ("A7", "'Costing'!B20"), ("H3", "Steam!A1")):
        workbook["Farm"][cell].hyperlink = Hyperlink(ref=cell, location=location)
    workbook["Farm"]["H3"] = "see there"
    workbook.save(tmp_path / "old.xlsx")
    _, _, report = carried(read(tmp_path / "old.xlsx"))
    links = {one.found.cell: one.found.value for one in report.leftovers if one.kind == LINK}
    assert links == {wage: "'Costing'!A1", "A7": "'Costing'!B20", "H3": "Steam!A1"}


@pytest.mark.usefixtures("without_values")
def test_a_workbook_that_was_only_colored_is_worth_keeping(tmp_path: Path) -> None:
    from workbook_template.build import build
    from workbook_template.writing.blocks import Settings

    path = tmp_path / "new.xlsx"
    build(path, Settings(batch_rows=2))
    assert not holds_entries(path)
    workbook = openpyxl.load_workbook(path)
    workbook["Farm"][cell_of(workbook, "hourly_wage")[1]].fill = PatternFill("solid", GREEN)
    workbook.save(path)
    assert holds_entries(path)
