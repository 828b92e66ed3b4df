"""The look: one accent color of our own, inputs that look like inputs, numbers by their kind.

Every pair of text and fill has a contrast of at least 4.5:1, and no meaning is carried by color
alone: inputs have a border, headings are bold, states are words.
"""

from __future__ import annotations

from colorsys import hls_to_rgb, rgb_to_hls
from typing import TYPE_CHECKING

from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Protection, Side

if TYPE_CHECKING:
    from openpyxl.cell import Cell, MergedCell

    from cultivar_fx.catalog.dimensions import Dimension

ACCENT = "4A4063"
ACCENT_PALE = "ECE9F2"
INK = "222222"
QUIET = "595959"
INPUT_FILL = "FFF8E1"
INPUT_INK = "1F3A6E"
LINE = "A8A2B5"
ALARM = "8C1C13"
ALARM_FILL = "FBE9E7"
WARNING_FILL = "FFE9A8"
WHITE = "FFFFFF"
GRID = "D9D9D9"
"""Of the lines behind a chart."""
WORKINGS_TAB = "BFBFBF"
_LIGHTER = 0.15
"""Tabs beside text are paler than what is read."""
FONT = "Calibri"
TEXT_SIZE = 11.0
TITLE_HEIGHT, SECTION_HEIGHT = 27.0, 20.0
"""Of the rows of titles, in points: other fonts than ours are higher."""

_FORMATS = {
    "fraction": "0.0%",
    "nitrogen share": "0.00%",
    "count": "#,##0",
    "blocks of a year": "#,##0",
    "date": "yyyy-mm-dd",
    "money": "#,##0.00",
    "yearly amount": "#,##0.00",
    "cost of a block": "#,##0.00",
    "money per pound": "#,##0.00",
    "money per kilogram": "#,##0.00",
    "price of a mass": "#,##0.000",
    "price of energy": "#,##0.000",
    "price of a bag": "#,##0.000",
    "price of a pack": "#,##0.00",
    "wage": "#,##0.00",
    "rounding": "0.0#####",
    "energy of a mass": "#,##0.00",
    "mass in a pack": "#,##0.0##",
    "density": "0.000",
    "mixer density": "0.0##",
    "harvest of a block": "#,##0.00",
    "mass rate": "#,##0.00",
    "power": "#,##0.00",
    "thermal resistance": "0.00",
    "carbon dioxide of a mass": "0.000",
    "temperature": "0.0",
    "thermal diffusivity": "0.000",
    "thermal conductivity": "0.00",
    "block or bag length": "0.0#",
    "number": "#,##0.0##",
    "text": "@",
    "choice": "@",
    "state": "General",
}
_DEFAULT_FORMAT = "#,##0.0"


def number_format(dimension: Dimension) -> str:
    """Return the number format of a kind of quantity."""
    return _FORMATS.get(dimension.name, _DEFAULT_FORMAT)


_THIN = Side(style="thin", color=LINE)
_BOX = Border(left=_THIN, right=_THIN, top=_THIN, bottom=_THIN)
_UNDERLINE = Border(bottom=Side(style="medium", color=ACCENT))
_OPEN = Protection(locked=False)


def stage_color(number: int, count: int) -> str:
    """Return the color of the tabs of a stage of the work: the accent, turned around the wheel.

    Parameters
    ----------
    number : int
        Of the stage, from 0, the accent itself.
    count : int
        How many stages there are.

    Returns
    -------
    str
        The color, as six digits.
    """
    red, green, blue = (int(ACCENT[place : place + 2], 16) / 255 for place in (0, 2, 4))
    hue, lightness, saturation = rgb_to_hls(red, green, blue)
    turned = hls_to_rgb((hue + number / count) % 1, lightness + _LIGHTER, saturation)
    return "".join(f"{round(255 * part):02X}" for part in turned)


def _fill(color: str) -> PatternFill:
    return PatternFill("solid", start_color=color, end_color=color)


def _style(
    name: str,
    font: Font,
    fill: str | None = None,
    border: Border | None = None,
    alignment: Alignment | None = None,
    protection: Protection | None = None,
) -> NamedStyle:
    return NamedStyle(
        name=name,
        font=font,
        fill=_fill(fill) if fill else PatternFill(),
        border=border or Border(),
        alignment=alignment or Alignment(vertical="center"),
        protection=protection or Protection(),
    )


def _font(
    color: str = INK, size: float = TEXT_SIZE, bold: bool = False, italic: bool = False
) -> Font:
    return Font(name=FONT, size=size, bold=bold, italic=italic, color=color)


SHRUNK = Alignment(vertical="center", shrink_to_fit=True)
_LEFT = Alignment(vertical="center", horizontal="left", indent=1)
_LEFT_WRAPPED = Alignment(vertical="center", horizontal="left", indent=1, wrap_text=True)
_WRAPPED = Alignment(vertical="center", horizontal="left", wrap_text=True)
_OVER = Alignment(vertical="bottom", horizontal="center", shrink_to_fit=True)
_UNDER = Alignment(vertical="top", horizontal="center", shrink_to_fit=True)
_CENTERED = Alignment(vertical="center", horizontal="center", wrap_text=True)


def named_styles() -> list[NamedStyle]:
    """Make the styles of a workbook, by the names that ``role`` gives."""
    return [
        _style("farm title", _font(ACCENT, 18, bold=True)),
        _style("farm purpose", _font(QUIET, 11, italic=True)),
        _style("farm section", _font(ACCENT, 13, bold=True), border=_UNDERLINE),
        _style("farm group", _font(ACCENT, 11, bold=True)),
        _style("farm heading", _font(WHITE, 10, bold=True), ACCENT, _BOX, _CENTERED),
        _style("farm label", _font()),
        _style("farm function", _font(ACCENT, 11, bold=True)),
        _style("farm argument", _font(), alignment=Alignment(vertical="center", indent=1)),
        _style("farm unit", _font(QUIET, 10), alignment=_LEFT),
        _style("farm note", _font(QUIET, 9, italic=True), alignment=_LEFT),
        _style("farm text", _font(), alignment=_WRAPPED),
        _style("farm small text", _font(INK, 9), alignment=_WRAPPED),
        _style("farm caution", _font(ALARM, 10, bold=True), ALARM_FILL, _BOX, _WRAPPED),
        _style("farm link", Font(name=FONT, size=11, underline="single", color=INPUT_INK)),
        _style("farm input", _font(INPUT_INK), INPUT_FILL, _BOX, protection=_OPEN),
        _style("farm input text", _font(INPUT_INK), INPUT_FILL, _BOX, _LEFT, _OPEN),
        _style("farm input sample", _font(INPUT_INK), INPUT_FILL, _BOX),
        _style("farm result", _font(), border=_BOX),
        _style("farm result text", _font(), None, _BOX, _LEFT),
        _style("farm said", _font(), alignment=_LEFT),
        _style("farm key said", _font(ACCENT, 12, bold=True), alignment=_LEFT),
        _style("farm small result text", _font(INK, 9), None, _BOX, _LEFT),
        _style("farm small wrapped text", _font(INK, 9), None, _BOX, _LEFT_WRAPPED),
        _style("farm key result", _font(ACCENT, 12, bold=True), ACCENT_PALE, _BOX),
        _style("farm block name", _font("000000", 14, bold=True), alignment=_OVER),
        _style("farm block line", _font("000000", 9), alignment=_UNDER),
        _style("farm writing line", _font(), border=Border(bottom=_THIN), protection=_OPEN),
    ]


def wrapped(cell: Cell | MergedCell) -> Alignment:
    """Return a cell's alignment with line breaks, in the middle."""
    return Alignment(vertical="center", horizontal=cell.alignment.horizontal, wrap_text=True)
