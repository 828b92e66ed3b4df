"""The cells of a workbook that some of its cells are computed from, and the file without others.

A test that computes a workbook a hundred times asks for a few of its cells; most formulas are on
sheets that have nothing to do with them.
"""

from __future__ import annotations

import re
from html import unescape
from io import BytesIO
from typing import TYPE_CHECKING
from zipfile import ZipFile

from openpyxl.utils import column_index_from_string

from workbook_template.writing import stored_values

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

Place = tuple[str, int, int]
"""Sheet, row and column of a cell."""
_NAMED = re.compile(r'<definedName name="(\w+)"[^>]*>([^<]*)</definedName>')
_REFERENCE = re.compile(
    r"""(?P<text>"[^"]*")
    |(?:(?P<sheet>'(?:[^']|'')+'|\w+)!)?(?P<first>\$?[A-Z]{1,3}\$?[0-9]+)
    (?::(?P<last>\$?[A-Z]{1,3}\$?[0-9]+))?(?![\w(.])
    |(?P<name>[A-Za-z_][\w.]*)""",
    re.VERBOSE,
)
_ADDRESS = re.compile(r"\$?([A-Z]+)\$?([0-9]+)")


def without_others(plain: bytes, asked: Iterable[Place]) -> tuple[bytes, set[Place]]:
    """Return a file with those formulas only that some cells take, and where the others were.

    Parameters
    ----------
    plain : bytes
        A file as ``stored_values`` gives it to the engine, in which no formulas are shared.
    asked : iterable of Place
        The cells.
    """
    with ZipFile(BytesIO(plain)) as archive:
        sheets = stored_values._sheets(archive)
        formulas = {
            (title, int(cell["row"]), column_index_from_string(cell["column"])): cell["text"]
            for part, title in sheets.items()
            for cell in stored_values._CELL.finditer(archive.read(part).decode())
        }
        assert all(formulas.values()), "a formula is shared: its text stands elsewhere"
        names = dict(_NAMED.findall(archive.read(stored_values._WORKBOOK).decode()))
        taken = _precedents(formulas, names, asked)

        def kept(title: str, cell: re.Match[str]) -> str:
            place = (title, int(cell["row"]), column_index_from_string(cell["column"]))
            return cell[0] if place in taken else f"{cell['start']}/>"

        changes = {
            part: stored_values._in_cells(lambda cell, title=title: kept(title, cell))  # type: ignore[misc]
            for part, title in sheets.items()
        }
        return stored_values._changed(archive, changes), set(formulas) - taken


def _precedents(
    formulas: Mapping[Place, str], names: Mapping[str, str], asked: Iterable[Place]
) -> set[Place]:
    taken: set[Place] = set()
    ranges: set[tuple[str, str]] = set()
    to_read = list(asked)
    while to_read:
        place = to_read.pop()
        if place in taken or place not in formulas:
            continue
        taken.add(place)
        for one in _ranges(unescape(formulas[place]), place[0], names):
            if one not in ranges:
                ranges.add(one)
                to_read += _cells(*one)
    return taken


def _ranges(text: str, sheet: str, names: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for found in _REFERENCE.finditer(text):
        if found["first"]:
            where = (found["sheet"] or sheet).strip("'").replace("''", "'")
            yield where, f"{found['first']}:{found['last'] or found['first']}"
        elif found["name"] in names:
            yield from _ranges(unescape(names[found["name"]]), sheet, {})


def _cells(sheet: str, ends: str) -> Iterator[Place]:
    corners = [
        (int(row), column_index_from_string(letters)) for letters, row in _ADDRESS.findall(ends)
    ]
    (top, left), (bottom, right) = corners
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            yield sheet, row, column
