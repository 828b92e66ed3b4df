"""What the grower changed in how our sheets look, and put upon them besides cells.

Colors and fonts of inputs and their labels, and the widths of columns, are known by what they
belong to, so that they can be carried. Of all else it is counted on which sheet it is. What stands
in the blank workbook of the file's release is none of it.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from html import unescape
from statistics import median
from typing import TYPE_CHECKING

from openpyxl.utils.cell import coordinate_to_tuple

from workbook_template.reading.blank_layout import condition_form, layout_of
from workbook_template.reading.entries import fields_of
from workbook_template.reading.extras import Parts, attributes, named
from workbook_template.releases import RELEASE
from workbook_template.schema import TABLES
from workbook_template.schema.earlier_places import EARLIER_PLACES
from workbook_template.schema.fields import is_working
from workbook_template.writing.dressing import LABEL, Dressed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook_template.reading.blank_layout import Layout
    from workbook_template.reading.entries import Reading
    from workbook_template.reading.places import Places
    from workbook_template.safety.looks import Look

_FOLDED = {
    (table.key, one.key) for table in TABLES.values() for one in table.columns if is_working(one)
}
PICTURES, CHARTS, SHAPES = "picture", "chart", "shape"
CONDITIONS, HIDDEN, CELLS = "conditional format", "hidden column", "cell"
"""What is counted; the last is a cell with a color or a font."""
_MOST_LOOKS = 1000
"""A file of somebody else may have as many as a spreadsheet program takes in all."""
_SAME_WIDTH = 1.0
"""In letters: closer than that programs do not keep it."""
_COLUMN = re.compile(r"<(?:\w+:)?col\s([^<>]*?)/?>")
_RULE = re.compile(r"<(?:\w+:)?cfRule\s([^<>]*?)(?:/>|>(.*?)</(?:\w+:)?cfRule>)", re.DOTALL)
_CONDITION = re.compile(r"<(?:\w+:)?(?:formula|f)>([^<]*)<")
_EXTENDED = re.compile(r"<(?:\w+:)?extLst\b")


@dataclass
class Appearance:
    """What the grower changed in how a workbook looks.

    Attributes
    ----------
    looks : dict
        The looks of inputs and labels, by what they are.
    widths : dict
        The widths of columns that were changed, by our sheet and the column's number there now.
    others : dict
        By sheet how many of each kind of thing have no place in a new workbook.
    """

    looks: dict[Dressed, Look] = field(default_factory=dict)
    widths: dict[tuple[str, int], float] = field(default_factory=dict)
    others: dict[str, Counter[str]] = field(default_factory=dict)


def appearance(reading: Reading, places: Places) -> Appearance:
    """Find what the grower changed in how a workbook looks.

    Parameters
    ----------
    reading : Reading
        The workbook.
    places : Places
        Where what we wrote is in it.

    Returns
    -------
    Appearance
        What was found.
    """
    found = Appearance()
    contents = reading.contents
    found.others = {name: Counter() for name in contents.sheets}
    known: set[Look] = set()
    dressed = {sheet: dict(cells) for sheet, cells in contents.dressed.items()}
    for which, sheet, place in _cells(reading):
        look = dressed.get(sheet, {}).get(place)
        if look is not None and (look in known or len(known) < _MOST_LOOKS):
            known.add(look)
            found.looks[which] = look
            del dressed[sheet][place]
    for sheet, cells in dressed.items():
        rows = contents.rows[sheet]
        # A font of a blank cell shows nowhere; LibreOffice gives some to cells beside headings.
        found.others[sheet][CELLS] += sum(
            look.fill is not None or column in rows.get(row, {})
            for (row, column), look in cells.items()
        )
    if contents.package:  # not a workbook that never was a file
        _Sheets(reading, places, found).search()
    found.others = {name: +counts for name, counts in found.others.items() if +counts}
    return found


def _cells(reading: Reading) -> Iterator[tuple[Dressed, str, tuple[int, int]]]:
    """Yield the cells to type in and the labels beside them, each with where it is."""
    for key, one in reading.singles.items():
        row, column = coordinate_to_tuple(one.cell)
        yield Dressed("", key), one.sheet, (row, column)
        if column > 1:
            yield Dressed("", key, LABEL), one.sheet, (row, column - 1)
    for key, one in reading.moved.items():
        table_now, number, column_now = EARLIER_PLACES[key]
        yield Dressed(table_now, column_now, number), one.sheet, coordinate_to_tuple(one.cell)
    for key, table in reading.tables.items():
        inputs = [(one, table.columns[one]) for one in fields_of(key) if one in table.columns]
        for number, line in enumerate(table.rows):
            for name, column in inputs:
                yield Dressed(key, name, number), table.area.sheet, (line.row, column)


class _Sheets:
    """Searches the parts of a file."""

    def __init__(self, reading: Reading, places: Places, found: Appearance) -> None:
        self._places, self._found = places, found
        self._parts = Parts(reading.contents)
        settings = reading.settings
        kind = settings.units, settings.currency, settings.invented, True
        is_now = reading.release == RELEASE
        self._now: Layout = places.layout if is_now else layout_of(RELEASE, *kind)
        self._ours = {theirs: ours for ours, theirs in places.homes.items()}
        self._keys: dict[tuple[str, int], list[tuple[str, str]]] = {}
        for key, one in places.layout.columns.items():
            self._keys.setdefault((one.sheet, one.number), []).append(key)

    def search(self) -> None:
        """Search each sheet."""
        widths: dict[tuple[str, int], tuple[float, float]] = {}
        for sheet, part in self._parts.sheets.items():
            head, _, rest = self._parts.text(part).partition("sheetData")
            counts = self._found.others[sheet]
            counts[CONDITIONS] += sum(self._is_own_rule(*one) for one in _rules(rest))
            self._count_drawn(sheet, part, counts)
            if sheet in self._ours:
                widths |= self._widths(self._ours[sheet], _columns(head), counts)
        # Whoever measures letters otherwise has changed all widths alike.
        ratio = median([theirs / ours for theirs, ours in widths.values()] or [1.0])
        for place, (theirs, ours) in widths.items():
            if abs(theirs / ratio - ours) > _SAME_WIDTH:
                self._found.widths[place] = round(theirs / ratio, 2)

    def _is_own_rule(self, kind: str, conditions: list[str]) -> bool:
        is_formula = kind == "expression" and len(conditions) == 1
        return not (is_formula and condition_form(conditions[0]) in self._places.layout.conditions)

    def _count_drawn(self, sheet: str, part: str, counts: Counter[str]) -> None:
        for kind, target in self._parts.relations(part).values():
            if kind == "drawing":
                tree = self._parts.tree(target)
                counts[PICTURES] += len(named(tree, "pic"))
                counts[CHARTS] += len(named(tree, "chart"))
                bare = [one for one in named(tree, "sp") if not any(map(_text, named(one, "t")))]
                counts[SHAPES] += len(bare) + len(named(tree, "cxnSp"))
        ours = self._places.layout.charts.get(self._ours.get(sheet, ""), 0)
        counts[CHARTS] = max(counts[CHARTS] - ours, 0)

    def _widths(
        self, sheet: str, theirs: dict[int, tuple[float, bool]], counts: Counter[str]
    ) -> dict[tuple[str, int], tuple[float, float]]:
        """Return the width of each column of ours in the file, and in its release."""
        found = {}
        for number, ours in self._places.layout.widths.get(sheet, {}).items():
            width, is_hidden = theirs.get(self._places.number(sheet, number), (0.0, False))
            counts[HIDDEN] += is_hidden and not self._is_folded(sheet, number)
            if width > 0 and not is_hidden:
                found[sheet, self._number_now(sheet, number)] = width, ours
        return found

    def _is_folded(self, sheet: str, number: int) -> bool:
        """Return whether a column is of the workings of a table, which we fold ourselves.

        Of an earlier release any column that computes itself may be.
        """
        layout = self._places.layout
        is_earlier = layout is not self._now
        return any(
            key in _FOLDED or (is_earlier and layout.columns[key].formula)
            for key in self._keys.get((sheet, number), ())
        )

    def _number_now(self, sheet: str, number: int) -> int:
        """Return the number of a column in a new workbook."""
        keys = self._keys.get((sheet, number), ())
        now = (self._now.columns[key] for key in keys if key in self._now.columns)
        return next((one.number for one in now), number)


def _columns(head: str) -> dict[int, tuple[float, bool]]:
    """Return the width of each column that a sheet says one for, and whether it is hidden."""
    found = {}
    for one in _COLUMN.findall(head):
        said = attributes(one)
        first, last, width = (said.get(name, "") for name in ("min", "max", "width"))
        if first.isdecimal() and last.isdecimal() and re.fullmatch(r"\d{1,3}(\.\d*)?", width):
            is_hidden = said.get("hidden") in ("1", "true")
            for number in range(int(first), min(int(last), int(first) + 200) + 1):
                found[number] = float(width), is_hidden
    return found


def _rules(text: str) -> Iterator[tuple[str, list[str]]]:
    """Yield the kind and the formulas of each conditional format.

    What stands among the extensions adds looks to a bar of data that stands before them too.
    """
    extended = _EXTENDED.search(text)
    end = extended.start() if extended else len(text)
    for rule in _RULE.finditer(text):
        kind = attributes(rule[1]).get("type", "")
        if rule.start() < end or kind != "dataBar":
            yield kind, [unescape(one) for one in _CONDITION.findall(rule[2] or "")]


def _text(element: object) -> str:
    return (getattr(element, "text", "") or "").strip()
