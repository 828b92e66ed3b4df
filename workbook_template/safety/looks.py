"""Which looks of a file's cells are the grower's own: what differs from the cell's named style."""

from __future__ import annotations

import colorsys
import re
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.styles.colors import COLOR_INDEX

if TYPE_CHECKING:
    from collections.abc import Sequence

    from openpyxl.styles.stylesheet import Stylesheet

_OURS = "farm "
"""Begins the names of our styles; a file without any was flattened by some program."""
_THEME_COLOR = re.compile(
    r"<a:(\w+)>\s*<a:(?:srgbClr val|sysClr [^<>]*lastClr)=\"([0-9A-Fa-f]{6})\""
)
_THEME_ORDER = (
    *("lt1", "dk1", "lt2", "dk2", "accent1", "accent2", "accent3", "accent4", "accent5"),
    *("accent6", "hlink", "folHlink"),
)
_OFFICE = (
    *("FFFFFF", "000000", "EEECE1", "1F497D", "4F81BD", "C0504D", "9BBB59", "8064A2"),
    *("4BACC6", "F79646", "0000FF", "800080"),
)
"""The colors of a theme where the file names none."""
_HEX = 6
_SIZES = range(4, 73)


class Look(NamedTuple):
    """What somebody gave a cell of a color and a font; what is None is as we made it."""

    fill: str | None = None
    color: str | None = None
    bold: bool | None = None
    italic: bool | None = None
    underline: str | None = None
    strike: bool | None = None
    size: float | None = None


def own_looks(sheet: Stylesheet, theme: bytes) -> list[Look | None]:
    """Return for each cell format of a file what in it is the grower's own.

    Parameters
    ----------
    sheet : Stylesheet
        The styles of the file.
    theme : bytes
        Its theme, or nothing.

    Returns
    -------
    list of Look or None
        By the number of the format; None where the look is that of the named style.
    """
    styles: Any = sheet
    names = {one.xfId: one.name or "" for one in styles.cellStyles.cellStyle}
    formats: Sequence[Any] = styles.cellXfs.xf
    if not any(name.startswith(_OURS) for name in names.values()):
        return [None] * len(formats)
    models: Sequence[Any] = styles.cellStyleXfs.xf
    colors = _theme_colors(theme)

    def look(one: Any) -> Look | None:
        number = one.xfId or 0
        # One of the program's own styles, such as Good, is put on by the grower.
        is_ours = names.get(number, "").startswith(_OURS)
        model = models[number if is_ours and number < len(models) else 0]
        fills = [_fill(styles.fills, which.fillId, colors) for which in (one, model)]
        here, there = (_font(styles.fonts, which.fontId, colors) for which in (one, model))
        font = [mine if mine != ours else None for mine, ours in zip(here, there, strict=True)]
        found = Look(fills[0] if fills[0] != fills[1] else None, *font)
        return found if any(part is not None for part in found) else None

    return [look(one) for one in formats]


def _fill(fills: Sequence[Any], number: int | None, colors: Sequence[str]) -> str | None:
    """Return the color of a plain fill."""
    one = fills[number or 0] if (number or 0) < len(fills) else None
    is_plain = getattr(one, "patternType", None) == "solid"
    return _rgb(one.fgColor, colors) if one is not None and is_plain else None


def _font(fonts: Sequence[Any], number: int | None, colors: Sequence[str]) -> tuple[Any, ...]:
    if (number or 0) >= len(fonts):
        return (None,) * 6
    one = fonts[number or 0]
    size = one.sz if one.sz and int(one.sz) in _SIZES else None
    return (
        _rgb(one.color, colors),
        bool(one.b),
        bool(one.i),
        one.u or "none",
        bool(one.strike),
        size,
    )


def _rgb(color: Any, colors: Sequence[str]) -> str | None:
    """Return a color as six hexadecimal digits; of one that nobody can tell nothing."""
    kind = getattr(color, "type", None)
    if kind == "rgb":
        plain = str(color.rgb)[-_HEX:].upper()
    elif kind == "indexed" and color.indexed < len(COLOR_INDEX):
        plain = COLOR_INDEX[color.indexed][-_HEX:]
    elif kind == "theme" and color.theme < len(colors):
        plain = colors[color.theme]
    else:
        return None
    return _tinted(plain, color.tint or 0.0)


def _tinted(color: str, tint: float) -> str:
    """Return a color lighter or darker by a tint, as the standard of the file format has it."""
    if not tint:
        return color
    red, green, blue = (int(color[at : at + 2], 16) / 255 for at in (0, 2, 4))
    hue, light, full = colorsys.rgb_to_hls(red, green, blue)
    light = light * (1 + tint) if tint < 0 else light + (1 - light) * tint
    parts = colorsys.hls_to_rgb(hue, min(max(light, 0.0), 1.0), full)
    return "".join(f"{round(min(max(one, 0.0), 1.0) * 255):02X}" for one in parts)


def _theme_colors(theme: bytes) -> list[str]:
    found = dict(_THEME_COLOR.findall(theme.decode("utf-8", "replace")))
    return [
        found.get(name, usual).upper() for name, usual in zip(_THEME_ORDER, _OFFICE, strict=True)
    ]
