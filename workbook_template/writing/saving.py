"""Saves a workbook: the rows of its sheets as text, all else by the library.

The library makes an element of every cell before it writes it, which takes most of its time.
Here the rows are written as text in one go. A formula that is filled down is stored once and
shared by the cells below, as spreadsheet programs do it themselves, which keeps the file small.
"""

from __future__ import annotations

import posixpath
import re
from datetime import UTC, datetime
from functools import lru_cache
from io import BytesIO
from itertools import starmap
from typing import TYPE_CHECKING, Any, NamedTuple
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import to_excel
from openpyxl.worksheet._writer import WorksheetWriter
from openpyxl.worksheet.cell_range import CellRange
from openpyxl.writer.excel import ExcelWriter
from openpyxl.xml.functions import Element

from workbook_template.texts import file_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from openpyxl import Workbook

_SMALL = 9
_FOR_OWNER = 0o600
_ROWS_AT_ONCE = 200
_RELATIONS = ".rels"
_FROM_THE_TOP = re.compile(rb'Target="(/[^"]*)"')
_CELL = r"\$?[A-Z]{1,3}\$?[1-9][0-9]*"
_PLAIN_REFERENCE = re.compile(rf"{_CELL}:{_CELL}|[\w.$]+")
"""A range of cells on the sheet, or one cell or name."""
_WORDS = re.compile(r'"[^"]*"')
_NEVER_SHARED = re.compile(r"[!\[{#]")
"""Of other sheets, tables and workbooks, lists of constants, errors; out of texts."""
_EMPTY_ROWS = re.compile(rb"<sheetData ?/>")


class Filled(NamedTuple):
    """A formula that is filled down: its sheet, its column, and the rows that have it."""

    sheet: str
    column: int
    first: int
    last: int


@lru_cache(maxsize=4096)  # the same at the next workbook, and the library takes its time
def may_be_shared(formula: str) -> bool:
    """Return whether cells may share a formula.

    Parameters
    ----------
    formula : str
        With its equals sign.

    Returns
    -------
    bool
        Whether it holds nothing that the format keeps out of shared formulas ([MS-XLSB]
        2.5.98.98): references beyond the sheet or to nothing any more, lists of constants, and
        ranges, unions and intersections between expressions.
    """
    if _NEVER_SHARED.search(_WORDS.sub("", formula)):  # most; the library takes long to tell
        return False
    return not any(map(_is_for_one_cell, Tokenizer(formula).items))


def _is_for_one_cell(token: Any) -> bool:
    if token.type == Token.FUNC:  # the library leaves a range's colon with the call behind it
        return ":" in token.value
    if token.type == Token.OPERAND:
        is_plain = token.subtype != Token.RANGE or _PLAIN_REFERENCE.fullmatch(token.value)
        return token.subtype == Token.ERROR or not is_plain
    is_union = token.type == Token.OP_IN and token.value == ","
    return is_union or token.type in (Token.ARRAY, Token.WSPACE)


def workbook_bytes(
    workbook: Workbook, filled: Sequence[Filled] = (), is_small: bool = False
) -> bytes:
    """Return a workbook as the bytes of a file.

    Parameters
    ----------
    workbook : Workbook
        The finished workbook; its values are numbers, texts, dates, errors and formulas.
    filled : sequence of Filled
        Formulas to be stored once, and shared.
    is_small : bool
        Whether the parts are compressed, which takes time.

    Returns
    -------
    bytes
        The file.
    """
    workbook.properties.modified = datetime.now(tz=UTC).replace(tzinfo=None)
    content = BytesIO()
    archive = _Package(content, "w", ZIP_DEFLATED if is_small else ZIP_STORED, compresslevel=_SMALL)
    try:
        _PackageWriter(workbook, archive, filled).save()
    except BaseException:
        archive.fp = None  # nobody finishes it: with too little memory that would fail once more
        raise
    return content.getvalue()


def small(package: bytes) -> bytes:
    """Return the same parts, compressed as well as they can be."""
    content = BytesIO()
    with ZipFile(BytesIO(package)) as old, ZipFile(content, "w", ZIP_DEFLATED) as new:
        for entry in old.infolist():
            new.writestr(entry, old.read(entry), ZIP_DEFLATED, _SMALL)
    return content.getvalue()


def new_part(name: str) -> ZipInfo:
    """Return a part to write, without a time: a package knows none before 1980, clocks do."""
    part = ZipInfo(name)
    part.external_attr = _FOR_OWNER << 16
    return part


class _Package(ZipFile):
    """A package in which each part names the others as seen from where it is, as in Excel's.

    The library names them from the top, which the format allows and not every reader takes.
    """

    def writestr(self, zinfo_or_arcname: Any, data: Any, *_arguments: Any, **_options: Any) -> None:
        """Write one part."""
        if str(zinfo_or_arcname).endswith(_RELATIONS):
            data = _with_near_targets(str(zinfo_or_arcname), data)
        entry = new_part(str(zinfo_or_arcname))
        super().writestr(entry, data, self.compression, self.compresslevel)


def _with_near_targets(part: str, relations: bytes) -> bytes:
    folder = "/" + posixpath.dirname(posixpath.dirname(part))

    def near(target: re.Match[bytes]) -> bytes:
        return b'Target="%s"' % posixpath.relpath(target[1].decode(), folder).encode()

    return _FROM_THE_TOP.sub(near, relations)


class _PackageWriter(ExcelWriter):
    """The library's writer, but for the sheets."""

    def __init__(self, workbook: Workbook, archive: ZipFile, filled: Sequence[Filled]) -> None:
        super().__init__(workbook, archive)
        self._package = archive
        self._filled = filled

    def write_worksheet(self, ws: Any) -> None:
        """Write one sheet."""
        ws._drawing = SpreadsheetDrawing()
        ws._drawing.charts = ws._charts
        ws._drawing.images = ws._images
        filled = [one for one in self._filled if one.sheet == ws.title]
        writer: Any = _SheetWriter(ws, filled)
        writer.write()
        ws._rels = writer._rels
        with self._package.open(ws.path[1:], "w") as part:
            for piece in writer.pieces():
                part.write(piece)
        self.manifest.append(ws)


class _SheetWriter(WorksheetWriter):
    """The library's writer of a sheet, but for the rows."""

    def __init__(self, ws: Any, filled: Sequence[Filled]) -> None:
        self._sheet = ws
        self._content = BytesIO()
        super().__init__(ws, self._content)
        self._numbers: dict[int, int] = {}  # of the styles, by their objects
        self._shared: dict[tuple[int, int], int] = {}
        self._firsts: dict[tuple[int, int], str] = {}
        for number, one in enumerate(filled):
            letter = get_column_letter(one.column)
            self._firsts[one.first, one.column] = f"{letter}{one.first}:{letter}{one.last}"
            for row in range(one.first, one.last + 1):
                self._shared[row, one.column] = number

    def write_rows(self) -> None:
        """Leave the place of the rows empty, and note the links in them."""
        self.xf.send(Element("sheetData"))
        cells = self._sheet._cells.values()
        self._sheet._hyperlinks += [cell.hyperlink for cell in cells if cell.hyperlink]

    def write_breaks(self) -> None:
        """Write the breaks between pages, and what comes behind them.

        Where a table names what its cells address, both are the same, and Excel need not warn.
        """
        super().write_breaks()
        if cells := " ".join(self._addressed()):
            ignored = Element("ignoredErrors")
            ignored.append(Element("ignoredError", {"sqref": cells, "calculatedColumn": "1"}))
            self.xf.send(ignored)

    def _addressed(self) -> Iterator[str]:
        """Yield the columns of tables whose formula is written otherwise in their cells."""
        for table in self._sheet.tables.values():
            area = CellRange(table.ref)
            top, bottom = area.min_row, area.max_row
            for number, column in enumerate(table.tableColumns, area.min_col):
                formula = column.calculatedColumnFormula
                if formula and self._sheet.cell(top + 1, number).value != f"={formula.attr_text}":
                    letter = get_column_letter(number)
                    yield f"{letter}{top + 1}:{letter}{bottom}"

    def pieces(self) -> Iterator[bytes]:
        """Return the sheet with its rows, piece by piece: a log as a whole takes much memory."""
        before, after = _EMPTY_ROWS.split(self._content.getvalue(), maxsplit=1)
        yield before + b"<sheetData>"
        rows = super().rows()
        for at in range(0, len(rows), _ROWS_AT_ONCE):
            yield "".join(starmap(self._row, rows[at : at + _ROWS_AT_ONCE])).encode()
        yield b"</sheetData>" + after

    def _row(self, number: int, cells: list[Any]) -> str:
        size = self._sheet.row_dimensions.get(number)
        looks = "".join(f' {key}="{value}"' for key, value in dict(size or {}).items())
        return f'<row r="{number}"{looks}>{"".join(map(self._cell, cells))}</row>'

    def _cell(self, cell: Any) -> str:
        value = cell._value
        start = f'<c r="{get_column_letter(cell.column)}{cell.row}" s="{self._style(cell)}"'
        if value is None or value == "":
            return f"{start}/>"
        if cell.data_type == "f":
            return f"{start}>{self._formula(cell)}<v/></c>"
        if cell.data_type == "s":
            kept = "" if value == value.strip() else ' xml:space="preserve"'
            return f'{start} t="inlineStr"><is><t{kept}>{file_text(value)}</t></is></c>'
        if cell.data_type in ("e", "b"):
            shown = value if cell.data_type == "e" else int(value)
            return f'{start} t="{cell.data_type}"><v>{shown}</v></c>'
        if cell.data_type == "d":
            value = to_excel(value)  # type: ignore[no-untyped-call]
        return f"{start}><v>{value}</v></c>"

    def _style(self, cell: Any) -> int:
        """Return the number of a cell's style; the library looks each up by all that it says."""
        known = id(cell._style)
        if known not in self._numbers:
            self._numbers[known] = cell.style_id
        return self._numbers[known]

    def _formula(self, cell: Any) -> str:
        place = (cell.row, cell.column)
        if place not in self._shared:
            return f"<f>{escape(cell.value[1:])}</f>"
        shared = f'<f t="shared" si="{self._shared[place]}"'
        if place not in self._firsts:
            return f"{shared}/>"
        return f'{shared} ref="{self._firsts[place]}">{escape(cell.value[1:])}</f>'
