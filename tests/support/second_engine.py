"""What engines that nobody here wrote make of a workbook, cell by cell.

betteroffice-xlsx computes a file anew; what formualizer stored is read from the file itself; and
``office.py`` asks LibreOffice. Where all three agree, Excel may still differ, but no longer for
want of a second opinion.
"""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from io import BytesIO
from math import isclose
from typing import TYPE_CHECKING, Any, Literal, NamedTuple
from xml.sax.saxutils import escape
from zipfile import ZipFile

from betteroffice_xlsx import CellError as EngineError
from betteroffice_xlsx import Workbook
from office import address
from openpyxl.utils.datetime import to_excel

from cultivar_fx.errors import CellError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

RELATIVE, ABSOLUTE = 1e-9, 1e-12
NOT_COMPUTED: Literal["not computed"] = "not computed"
"""Stands for a value that rests on a function which betteroffice-xlsx does not know."""

_CELL = re.compile(r'<c r="([A-Z]+[0-9]+)"([^>]*?)(?:/>|>(.*?)</c>)', re.DOTALL)
_KIND = re.compile(r' t="(\w+)"')
_VALUE = re.compile(r"<v>([^<]*)</v>")
_FORMULA_VALUE = re.compile(
    rb'(<c r="[A-Z]+[0-9]+"[^>]*?)(?: t="\w+")?>(<f[^>]*(?:/>|>[^<]*</f>))<v>[^<]*</v></c>'
)
_SHARED = re.compile(r'<f t="shared" si="(\d+)"[^>]*>([^<]+)</f>')
_SHARED_AS = re.compile(r'<f t="shared" si="(\d+)"')
_LACKING = re.compile(
    r"\b(?:NORMS(?:INV|DIST)|TTEST|TINV|TDIST|BETADIST|BINOMDIST|CRITBINOM|GAMMALN)\("
    r'|\bMATCH\("[*?]'
)
"""Functions that betteroffice-xlsx does not know, and MATCH for a text with wildcards."""
_SHEET = re.compile(r'<sheet [^>]*?name="([^"]*)"')
_WORKBOOK = "xl/workbook.xml"


class Cell(NamedTuple):
    """A cell of a workbook; as text ``Costing!B12``."""

    sheet: str
    address: str

    def __str__(self) -> str:
        return f"{self.sheet}!{self.address}"


Values = dict[Cell, Any]
"""Of every formula: a number, a text, a ``CellError``, or ``None`` where it shows nothing."""


class Difference(NamedTuple):
    """A formula that two engines compute differently."""

    cell: Cell
    formula: str
    one: Any
    other: Any

    def __str__(self) -> str:
        return f"{self.cell}: {self.one!r} against {self.other!r}: {self.formula[:200]}"


class Package:
    """A workbook file of ours: the parts of its sheets by number, each cell with its address."""

    def __init__(self, content: bytes) -> None:
        with ZipFile(BytesIO(content)) as archive:
            self._parts = {name: archive.read(name) for name in archive.namelist()}
        names = _SHEET.findall(self._parts[_WORKBOOK].decode())
        self._sheets = {
            unescape(name): f"xl/worksheets/sheet{number}.xml"
            for number, name in enumerate(names, 1)
        }

    def without_values(self) -> Package:
        """Return the file without the stored values.

        An engine that does not know a function keeps the value that is stored, without a word.
        """
        parts = self._sheets.values()
        return self._changed(
            {part: _FORMULA_VALUE.sub(rb"\1>\2</c>", self._parts[part]) for part in parts}
        )

    def without(self, cells: Iterable[Cell]) -> Package:
        """Return the file with some cells cleared; their looks stay."""
        changed: dict[str, bytes] = {}
        for cell in cells:
            part = self._sheets[cell.sheet]
            found = rf'(<c r="{cell.address}"[^>/]*?)(?: t="\w+")?>.*?</c>'.encode()
            before = changed.get(part, self._parts[part])
            changed[part], count = re.subn(found, rb"\1/>", before, count=1, flags=re.DOTALL)
            if not count:
                raise ValueError(f"{cell} is empty already")
        return self._changed(changed)

    def handed_over(self, values: Mapping[Cell, Any]) -> tuple[Package, set[Cell]]:
        """Put values in place of the formulas with functions that betteroffice-xlsx lacks.

        What rests on such a formula can then be computed all the same.
        """
        changed: dict[str, bytes] = {}
        cells: set[Cell] = set()
        for sheet, part in self._sheets.items():
            text = self._parts[part].decode()
            shared = {one[1] for one in _SHARED.finditer(text) if _LACKING.search(one[2])}

            def value(found: re.Match[str], sheet: str = sheet, shared: set[str] = shared) -> str:
                inside = found[3] or ""
                same_as = _SHARED_AS.search(inside)
                if not _LACKING.search(inside) and not (same_as and same_as[1] in shared):
                    return found[0]
                cell = Cell(sheet, found[1])
                cells.add(cell)
                return _constant(found[1], _KIND.sub("", found[2]), values[cell])

            changed[part] = _CELL.sub(value, text).encode()
        return self._changed(changed), cells

    def content(self) -> bytes:
        """Return the bytes of the file; nothing is packed, for speed."""
        file = BytesIO()
        with ZipFile(file, "w") as archive:
            for name, part in self._parts.items():
                archive.writestr(name, part)
        return file.getvalue()

    def stored_values(self) -> Values:
        """Return the value that the file holds beside each formula."""
        return {
            Cell(sheet, place): _stored(looks, inside)
            for sheet, part in self._sheets.items()
            for place, looks, inside in _CELL.findall(self._parts[part].decode())
            if inside.startswith("<f")
        }

    def _changed(self, parts: Mapping[str, bytes]) -> Package:
        package = object.__new__(Package)
        package._parts, package._sheets = {**self._parts, **parts}, self._sheets
        return package


def engine_values(content: bytes, stored: Values) -> Values:
    """Return what betteroffice-xlsx computes for the formulas of a file without stored values.

    Where it lacks a function it is handed the stored value, and what rests on that is computed.
    """
    today: Any = to_excel(date.today())
    package, handed_over = Package(content).handed_over(stored)
    workbook = Workbook.open_recalculated(package.content(), now_serial=today)
    return {
        cell: NOT_COMPUTED if cell in handed_over else _computed(workbook.value(*cell))
        for cell in stored
    }


def office_values(sheets: Mapping[str, list[list[Any]]], cells: Iterable[Cell]) -> Values:
    """Return what LibreOffice shows in some cells, out of all its values."""
    found = {
        Cell(sheet, address(row, column)): value
        for sheet, rows in sheets.items()
        for row, line in enumerate(rows)
        for column, value in enumerate(line)
    }
    return {cell: found.get(cell) for cell in cells}


def differences(one: Values, other: Values, content: bytes) -> list[Difference]:
    """Return the formulas of a file that two engines compute differently."""
    if one.keys() != other.keys():
        raise ValueError("the two engines were asked for different cells")
    differing = [cell for cell, value in one.items() if not same(value, other[cell])]
    texts = formulas(content, differing)
    return [Difference(cell, texts[cell], one[cell], other[cell]) for cell in differing]


def errors(values: Values) -> dict[Cell, CellError]:
    """Return the formulas that show an error."""
    return {cell: value for cell, value in values.items() if isinstance(value, CellError)}


def same(one: Any, other: Any) -> bool:
    """Return whether two values are the same to who reads them; 0 is another than nothing."""
    if NOT_COMPUTED in (one, other):
        return True
    if isinstance(one, CellError) or isinstance(other, CellError):
        return getattr(one, "code", None) == getattr(other, "code", None)
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return (one is None or isinstance(one, str)) and one == other


def formulas(content: bytes, cells: Sequence[Cell]) -> dict[Cell, str]:
    """Return the formulas of some cells, also where several share one."""
    if not cells:
        return {}
    workbook = Workbook.open(content)
    return {cell: workbook.formula(*cell) or "" for cell in cells}


def _computed(value: Any) -> Any:
    if isinstance(value, EngineError):
        return CellError(value.code, "computed by betteroffice-xlsx")
    return _plain(value)


def _plain(value: Any) -> Any:
    """Return a value as ``same`` compares it; LibreOffice counts true as 1."""
    return float(value) if isinstance(value, (int, float)) else value or None


def _constant(place: str, looks: str, value: Any) -> str:
    """Write a cell that holds a value and no formula."""
    if value is None:
        return f'<c r="{place}"{looks} t="str"><v></v></c>'
    if isinstance(value, CellError):
        return f'<c r="{place}"{looks} t="e"><v>{value.code}</v></c>'
    if isinstance(value, str):
        return f'<c r="{place}"{looks} t="str"><v>{escape(value)}</v></c>'
    return f'<c r="{place}"{looks}><v>{value!r}</v></c>'


def _stored(looks: str, inside: str) -> Any:
    kind, found = _KIND.search(looks), _VALUE.search(inside)
    if found is None or not found[1]:
        return None
    text = unescape(found[1])
    if kind is None or kind[1] in ("n", "b"):
        return float(text)
    return CellError(text, "stored") if kind[1] == "e" else text
