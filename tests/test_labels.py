"""The Labels sheet: what each label says, and that the pages fit label paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from reading import place, table
from workbooks import made

if TYPE_CHECKING:
    from office import Office

LINES, ACROSS, DOWN, PAGES = 4, 3, 10, 3
PAPER = {
    "us": (1, 72.0, 0.5 * 72, 11 * 72),  # Letter; labels 1 inch high; half an inch above
    "metric": (9, 29.7 / 25.4 * 72, 0.0, 297 / 25.4 * 72),  # A4; labels 29.7 mm high
}
"""Kind of paper, height of a label, margin, height of the page [pt]; common label sheets."""


def first_row(units: str) -> int:
    area = made(units, "demo").formulas["Labels"].print_area
    return int(area.replace("$", "").partition("!")[2].partition(":")[0][1:])


def test_a_label_for_each_block_and_no_more() -> None:
    values = made("us", "demo").values
    (batch,) = (row for row in table(values, "batches", "us") if row["batch"] == "B155")
    rows = list(
        values["Labels"].iter_rows(min_row=first_row("us"), max_col=ACROSS, values_only=True)
    )
    labels = [
        [rows[place * LINES + line][column] for line in range(LINES)]
        for place in range(PAGES * DOWN)
        for column in range(ACROSS)
    ]
    blocks = int(batch["bags"])
    for number, label in enumerate(labels[:blocks], 1):
        assert label == [
            f"B155   {number} of {blocks}",
            batch["strain"],
            f"{batch['recipe']}, made {batch['made']:%Y-%m-%d}",
            f"Move {batch['move_due']:%Y-%m-%d}, harvest {batch['first_due']:%Y-%m-%d}",
        ]
    assert all(text in (None, "") for label in labels[blocks:] for text in label)


def test_another_batch_is_picked(office: Office) -> None:
    workbook = made("metric", "demo").values
    spot = place(workbook, "label_batch")
    with office.kept(made("metric", "demo").path) as document:
        document.write(spot.sheet, spot.row, spot.column, [["B101"]])
        assert document.read("Labels", first_row("metric") - 1, 0)[0][0].startswith("B101   1 of ")


@pytest.mark.parametrize("units", PAPER)
def test_pages_fit_label_paper(units: str) -> None:
    sheet = made(units, "demo").formulas["Labels"]
    kind, height, margin, page = PAPER[units]
    top = first_row(units)
    heights = [sheet.row_dimensions[top + row].height for row in range(LINES * DOWN * PAGES)]
    assert sheet.page_setup.paperSize == kind
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert sheet.page_margins.top * 72 == margin
    for first in range(0, len(heights), LINES):
        label = sum(heights[first : first + LINES])
        assert label == pytest.approx(height, abs=0.25)  # rows go by steps of a quarter point
    left = page - margin - sum(heights[: LINES * DOWN]) - sheet.page_margins.bottom * 72
    assert 0 <= left < heights[0]  # Excel breaks where the page is full: it ignores other breaks
    breaks = [one.id for one in sheet.row_breaks.brk]
    assert breaks == [top - 1 + LINES * DOWN * page for page in range(1, PAGES)]
    assert sheet.print_area == f"'Labels'!$A${top}:$C${top + len(heights) - 1}"
    assert sheet.print_title_rows is None
