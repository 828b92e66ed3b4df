"""Pictures of sheets as they are printed: LibreOffice makes the pages, their content is kept."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pypdfium2
from PIL import Image, ImageChops

from cultivar_fx.hosts.calc_install import office_folders

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

SHEETS = {
    "start.png": "Start",
    "mix_card.png": "Mix card",
    "batches.png": "Batches",
    "rooms.png": "Rooms",
    "costing.png": "Costing",
    "week_plan.png": "Week plan",
    "forecast.png": "Forecast",
    "results.png": "Results",
}
"""The sheet on each picture: its first page."""

_SECONDS = 300
_SCALE = 2
"""Dots for each of the 72 in an inch."""
_MARGIN = 16
_FOOTER = 0.85
"""Inches at the lower edge of a page that hold its footer."""
_COLORS = 64


def draw(workbook: Path, folder: Path, sheets: Mapping[str, str] = SHEETS) -> None:
    """Draw the first page of some sheets of a workbook into a new folder.

    Parameters
    ----------
    workbook : Path
        The .xlsx file; each page's footer says its sheet and its number.
    folder : Path
        Where the pictures go.
    sheets : mapping
        The name of each picture, and the sheet on it.

    Raises
    ------
    ValueError
        If LibreOffice is missing or makes no pages, or a sheet has none.
    """
    folder.mkdir()
    with (
        TemporaryDirectory(prefix="pictures-") as aside,
        pypdfium2.PdfDocument(_printed(workbook, Path(aside))) as pages,
    ):
        texts = [page.get_textpage().get_text_bounded() for page in pages]
        for name, sheet in sheets.items():
            page = pages[_first_page(texts, sheet)].render(scale=_SCALE).to_pil()
            few_colors = _content(page).quantize(_COLORS, dither=Image.Dither.NONE)
            few_colors.save(folder / name, optimize=True)


def _printed(workbook: Path, folder: Path) -> Path:
    """Let LibreOffice print a workbook, in a profile of its own."""
    command = [
        _office(),
        "--headless",
        f"-env:UserInstallation={(folder / 'profile').as_uri()}",
        "--convert-to",
        "pdf",
        "--outdir",
        str(folder),
        str(workbook),
    ]
    subprocess.run(command, capture_output=True, timeout=_SECONDS, check=True)
    printed = folder / f"{workbook.stem}.pdf"
    if not printed.exists():
        raise ValueError(f"LibreOffice printed nothing of {workbook.name}.")
    return printed


def _office() -> str:
    """Find LibreOffice."""
    names = ("soffice.com", "soffice")  # on Windows the one that waits
    places = [folder / name for folder in office_folders() for name in names]
    found = next((str(place) for place in places if place.exists()), None)
    if found is None:
        raise ValueError("The pictures need LibreOffice, which is not found.")
    return found


def _first_page(texts: Sequence[str], sheet: str) -> int:
    footer = re.compile(rf"\b{re.escape(sheet)}\s+\d+ of \d+\b")
    for number, text in enumerate(texts):
        if footer.search(text):
            return number
    raise ValueError(f"No page is of the sheet {sheet}.")


def _content(page: Image.Image) -> Image.Image:
    """Cut off the footer and the empty edges of a page."""
    colored = page.convert("RGB")
    above = colored.crop((0, 0, page.width, page.height - round(_FOOTER * 72 * _SCALE)))
    blank = Image.new("RGB", above.size, "white")
    left, top, right, bottom = ImageChops.difference(above, blank).getbbox() or (0, 0, *above.size)
    return above.crop(
        (
            max(left - _MARGIN, 0),
            max(top - _MARGIN, 0),
            min(right + _MARGIN, above.width),
            min(bottom + _MARGIN, above.height),
        )
    )
