"""Puts every formula's value into the file, so that previews and readers show numbers.

The engine's own way from file to file takes no more formulas than some 750 batches have. A workbook
that is loaded into it may have any number, but its tables are not known there: it is given a copy
whose formulas hold plain ranges in place of the columns of tables, and no looks. The values are
then written into the sheets as they are.
"""

from __future__ import annotations

import re
from functools import cache, partial
from io import BytesIO
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import fromstring
from xml.sax.saxutils import escape
from zipfile import ZipFile

from openpyxl.packaging.relationship import get_dependents, get_rels_path
from openpyxl.utils import column_index_from_string, get_column_letter, range_boundaries
from openpyxl.xml.constants import REL_NS, SHEET_MAIN_NS

from workbook_template.errors import CannotCompute, shown
from workbook_template.texts import file_text
from workbook_template.writing.engine import EngineError, values_of
from workbook_template.writing.saving import new_part

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

MOST_FORMULAS = 1_500_000
"""That are computed, for want of memory; 5,000 batches and 20,000 harvests have half as many."""
NONE_STORED = (
    "The file is too large to be computed here: it holds no values, and mail previews show none, "
    "until a spreadsheet program opens and saves it."
)

_WORKBOOK = "xl/workbook.xml"
_NAMED_FUNCTIONS = re.compile(rb"<definedName [^>]*>_xlfn\.LAMBDA\(.*?</definedName>", re.DOTALL)
_CELL = re.compile(
    r'(?P<start><c r="(?P<column>[A-Z]+)(?P<row>\d+)"[^>]*)>'
    r"(?P<formula><f[^>]*?(?:/>|>(?P<text>[^<]*)</f>))(?:<v ?/>|<v></v>)?</c>"
)
_OF_TABLE = re.compile(r"\w+\[\[[^\]]*\](?:,\[[^\]]*\])?\]")
_ROW = "\0"
"""Where the number of a cell's own row goes."""
_ERRORS = {
    "Div": "#DIV/0!",
    "Na": "#N/A",
    "Name": "#NAME?",
    "Null": "#NULL!",
    "Num": "#NUM!",
    "Ref": "#REF!",
    "Value": "#VALUE!",
}
_MEMORY = ("memory", "Close other programs")
_ANY_CELL = re.compile(r'<c r="(?P<column>[A-Z]+)(?P<row>[0-9]+)"')
_WHOLE = 1e15
"""Whole numbers below it are written without a point."""


def with_stored_values(package: bytes) -> bytes:
    """Return a workbook file, as bytes, with the value of every formula beside it.

    Parameters
    ----------
    package : bytes
        A file that openpyxl or this package wrote, without values.

    Returns
    -------
    bytes
        The same, but for the values; nothing is packed, for speed.

    Raises
    ------
    CannotCompute
        If there is too little memory for the engine.
    """
    with ZipFile(BytesIO(package)) as archive:
        sheets = _sheets(archive)
        plain, formulas = _plain(archive, sheets)
        values = _values(plain, formulas)
        return _changed(archive, {part: _filler(values[title]) for part, title in sheets.items()})


def computed(package: bytes) -> dict[str, dict[tuple[int, int], Any]]:
    """Return the value of every cell of a workbook file, by sheet, row and column.

    Dates are their numbers, an error value is a mapping; see ``with_stored_values``.
    """
    with ZipFile(BytesIO(package)) as archive:
        sheets = _sheets(archive)
        plain, _ = _plain(archive, sheets)
        cells = {
            title: [
                (int(cell["row"]), column_index_from_string(cell["column"]))
                for cell in _ANY_CELL.finditer(archive.read(part).decode())
            ]
            for part, title in sheets.items()
        }
    values = _values(plain, cells)
    return {title: dict(zip(places, values[title], strict=True)) for title, places in cells.items()}


def _plain(
    archive: ZipFile, sheets: Mapping[str, str]
) -> tuple[bytes, dict[str, list[tuple[int, int]]]]:
    """Return a file that the engine can read, and where its formulas are, by sheet, in order."""
    ranges = dict(_ranges(archive, sheets))
    known: dict[str, str] = {}
    cells: dict[str, list[tuple[int, int]]] = {title: [] for title in sheets.values()}
    number = cache(column_index_from_string)

    def plain(places: list[tuple[int, int]], cell: re.Match[str]) -> str:
        places.append((int(cell["row"]), number(cell["column"])))
        text = cell["text"]
        if not text or "[" not in text:
            return cell[0]
        if text not in known:  # the rows of a table share most
            known[text] = _OF_TABLE.sub(lambda found: ranges.get(found[0], found[0]), text)
        formula = cell["formula"].replace(text, known[text].replace(_ROW, cell["row"]))
        return f"{cell['start']}>{formula}</c>"

    changes: dict[str, Callable[[bytes], bytes]] = {
        part: _in_cells(partial(plain, cells[title])) for part, title in sheets.items()
    }
    # No cell uses the named functions, whose long texts take the engine a quarter of its time.
    changes[_WORKBOOK] = lambda content: _NAMED_FUNCTIONS.sub(b"", content)
    return _changed(archive, changes), cells


def _values(package: bytes, cells: Mapping[str, Sequence[tuple[int, int]]]) -> dict[str, list[Any]]:
    try:
        return values_of(package, cells)
    except EngineError as error:
        what, cure = ("space on the disk", "Free some") if "I/O" in str(error) else _MEMORY
        raise CannotCompute(
            f"The workbook could not be computed ({shown(str(error))}): there may be too little "
            f"{what}. {cure}, and try again. Nothing was changed."
        ) from error


def _filler(values: Sequence[Any]) -> Callable[[bytes], bytes]:
    """Return what writes the values of a sheet into it."""
    following = iter(values)

    def filled(cell: re.Match[str]) -> str:
        kind, value = _as_stored(next(following))
        return f"{cell['start']}{kind}>{cell['formula']}<v>{value}</v></c>"

    return _in_cells(filled)


def _as_stored(value: Any) -> tuple[str, str]:
    """Return a value as a file holds it: the attribute that names its kind, and its text."""
    if isinstance(value, float):
        is_whole = value.is_integer() and abs(value) < _WHOLE
        return "", str(int(value)) if is_whole else repr(value)
    if isinstance(value, str):
        return ' t="str"', file_text(value)
    if isinstance(value, bool):
        return ' t="b"', str(int(value))
    return ' t="e"', _ERRORS.get(value["kind"], "#VALUE!")  # others are no error of files


def _in_cells(change: Callable[[re.Match[str]], str]) -> Callable[[bytes], bytes]:
    """Return what changes the formula cells of a sheet."""
    return lambda content: _CELL.sub(change, content.decode()).encode()


def _sheets(archive: ZipFile) -> dict[str, str]:
    """Return the title of each sheet by its part."""
    relations = get_dependents(archive, get_rels_path(_WORKBOOK))  # type: ignore[no-untyped-call]
    sheets = fromstring(archive.read(_WORKBOOK)).iter(f"{{{SHEET_MAIN_NS}}}sheet")
    return {
        relations.get(one.get(f"{{{REL_NS}}}id", "")).Target: one.get("name", "") for one in sheets
    }


def _ranges(archive: ZipFile, sheets: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Return each reference to a column of a table, as formulas are stored, and its plain range."""
    for part, title in sheets.items():
        relations = get_rels_path(part)  # type: ignore[no-untyped-call]
        if relations not in archive.namelist():
            continue
        quoted = escape(title.replace("'", "''"))
        for relation in get_dependents(archive, relations):
            if not relation.Type.endswith("/table"):
                continue
            table = fromstring(archive.read(relation.Target))
            left, top, _, bottom = range_boundaries(table.get("ref", ""))
            for at, column in enumerate(table.iter(f"{{{SHEET_MAIN_NS}}}tableColumn"), left or 0):
                name, heading = table.get("displayName"), escape(column.get("name", ""))
                letter = f"${get_column_letter(at)}"
                whole = f"{letter}${(top or 0) + 1}:{letter}${bottom}"
                yield f"{name}[[{heading}]]", f"'{quoted}'!{whole}"
                yield f"{name}[[#This Row],[{heading}]]", f"{letter}{_ROW}"


def _changed(archive: ZipFile, changes: Mapping[str, Callable[[bytes], bytes]]) -> bytes:
    """Return a package with some of its parts changed."""
    changed = BytesIO()
    with ZipFile(changed, "w") as new:
        for entry in archive.namelist():
            content = archive.read(entry)
            new_content = changes[entry](content) if entry in changes else content
            new.writestr(new_part(entry), new_content)
    return changed.getvalue()
