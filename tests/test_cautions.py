"""Each caution stands on the sheet where the work is done, marked as one, within what is printed.

The facts are those of the sources named in the texts; words such as "by a licensed electrician"
defer to local codes and licensed practice.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from openpyxl.utils import get_column_letter, range_boundaries
from workbooks import made

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

README = Path(__file__).parents[1] / "README.md"

CAUTIONS = [
    # Common practice; OSHA and CDC sheets, from memory.
    ("Spawn", ("Alcohol", "flame", "extinguisher")),
    ("Spawn", ("Bleach", "acids, ammonia or alcohol")),
    # CPSC Pub. 5098: about 5 s at 140 °F.
    (
        "Steam",
        ("Unloading", "Hot blocks", "scald", "5 seconds", "60 °C (140 °F)", "CPSC Pub. 5098"),
    ),
    # 10,000 W / 240 V = 41.7 A; NEC 210.20(A), 125 % of a continuous load, from memory.
    ("Steam", ("42 A", "continuous load", "licensed electrician", "NEC 210.20(A), from memory")),
    ("Steam", ("never plug a vent or a relief valve", "licensed practice")),
    # Mahoney et al. 1992, J. Infect. Dis. 165:257.
    ("Rooms", ("Fog machines", "Legionella", "Mahoney et al. 1992", "potable water", "clean")),
    # Lenhart & Cole 1993, Appl. Occup. Environ. Hyg. 8:112.
    ("Rooms", ("of 14 workers", "11 reported 15 or more symptoms", "Lenhart & Cole 1993")),
    ("Rooms", ("floor and shelves", "load", "Local codes and licensed practice")),
    ("Rooms", ("5000 ppm over 8 hours (OSHA PEL)", "30 000 ppm")),
    ("Rooms", ("ground-fault protection", "licensed electrician")),
    ("Rooms", ("cold room has to open from inside", "licensed practice", "local codes")),
    # 21 CFR 112.32 and 112.44 from memory, 112.115.
    ("Products", ("Clean hands", "potable water", "21 CFR 112.32 and 112.44, from memory", "cold")),
    (
        "Products",
        ("Breathable packaging", "Clostridium botulinum", "21 CFR 112.115", "licensed practice"),
    ),
    ("Mix card", ("mixer", "lock it")),
    ("Mix card", ("Dust", "explode")),
]


def cautions(sheet: Worksheet) -> list[str]:
    """Return the texts that are marked as cautions and printed."""
    area = sheet.print_area.split("!")[-1].replace("$", "")
    _, top, right, bottom = range_boundaries(area)
    return [
        str(cell.value)
        for row in sheet.iter_rows(min_row=top, max_row=bottom, max_col=right)
        for cell in row
        if cell.style == "farm caution" and cell.value
    ]


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize(
    ("sheet", "words"), CAUTIONS, ids=[f"{sheet}-{words[0]}" for sheet, words in CAUTIONS]
)
def test_the_caution_stands_where_the_work_is(
    sheet: str, words: tuple[str, ...], units: str
) -> None:
    texts = cautions(made(units, "demo").formulas[sheet])
    assert [text for text in texts if all(word in text for word in words)], texts


@pytest.mark.parametrize("sheet", sorted({sheet for sheet, _ in CAUTIONS}))
def test_cautions_are_short_and_plain(sheet: str) -> None:
    texts = cautions(made("us", "demo").formulas[sheet])
    assert 0 < len(texts) <= 7
    assert max(map(len, texts)) <= 330


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("sheet", sorted({sheet for sheet, _ in CAUTIONS}))
def test_cautions_have_the_rows_that_they_take(sheet: str, units: str) -> None:
    """Seen in LibreOffice's PDF: 178 bold letters of 10 points fill 146 units of column width."""
    worksheet = made(units, "demo").formulas[sheet]
    areas = {area.min_row: area for area in worksheet.merged_cells.ranges if area.min_col == 1}
    for row in worksheet.iter_rows(max_col=1):
        cell = row[0]
        if cell.style == "farm caution":
            columns = range(1, areas[cell.row].max_col + 1)
            widths = [worksheet.column_dimensions[get_column_letter(n)].width for n in columns]
            lines = worksheet.row_dimensions[cell.row].height / 15
            assert len(str(cell.value)) <= lines * sum(widths) * 178 / 146, cell.value


def test_the_workers_who_fell_ill_are_counted_as_published() -> None:
    """Not all 14 with any symptom: 11 of them with 15 or more (Lenhart & Cole 1993)."""
    root = README.parent
    files = [README, root / "DEVELOPERS.md", *(root / "workbook_template").rglob("*.py")]
    files += (root / "cultivar_fx").rglob("*.py")
    texts = {file.name: " ".join(file.read_text(encoding="utf-8").split()) for file in files}
    assert not [name for name, text in texts.items() if re.search(r"11 of (?:the )?14", text)]


def test_readme_does_not_say_that_nobody_published_the_heat_of_blocks() -> None:
    text = README.read_text(encoding="utf-8")
    assert "Koncsag & Kirwan 2010" in text
    assert not re.search(r"nobody (?:has )?published[^.]*heat of colonizing", text)
