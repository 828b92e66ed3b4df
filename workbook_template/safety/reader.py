"""Reads a package with the library, but only its parts that were looked through."""

from __future__ import annotations

import zipfile
from contextlib import suppress
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element, SubElement, iterparse, tostring

from defusedxml.ElementTree import fromstring
from openpyxl.cell.cell import Cell
from openpyxl.comments import Comment
from openpyxl.comments.comment_sheet import CommentSheet
from openpyxl.packaging.relationship import get_dependents, get_rels_path
from openpyxl.reader.excel import ExcelReader
from openpyxl.styles.numbers import is_date_format, is_timedelta_format
from openpyxl.styles.stylesheet import Stylesheet
from openpyxl.utils.cell import coordinate_to_tuple, get_column_letter
from openpyxl.utils.datetime import from_excel, to_excel
from openpyxl.worksheet._reader import (
    FORMULA_TAG,
    INLINE_STRING,
    ROW_TAG,
    TABLE_TAG,
    VALIDATION_TAG,
    VALUE_TAG,
    WorkSheetParser,
)
from openpyxl.worksheet.datavalidation import DataValidationList
from openpyxl.worksheet.table import Table, TablePartList
from openpyxl.xml.constants import ARC_STYLE, ARC_THEME, COMMENTS_NS, SHEET_MAIN_NS

from workbook_template.errors import shown
from workbook_template.progress import tell
from workbook_template.safety.looks import Look, own_looks
from workbook_template.safety.parts import KINDS_READ, RELATIONS
from workbook_template.safety.scan import LAST_COLUMN
from workbook_template.safety.shared_formula import SharedFormula
from workbook_template.texts import text_in_file

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable
    from datetime import datetime

    from workbook_template.safety.package import Package

_MILLISECOND = 2e-8
"""In days; finer than that no date is kept."""
_IN_WORDS = frozenset({"n", "s", "str"})
"""Kinds of cells whose value is a number, the number of a text, or a text."""
_TEXT_TAG = f"{{{SHEET_MAIN_NS}}}t"
_NUMBERS = {get_column_letter(number): number for number in range(1, LAST_COLUMN + 1)}
"""Of the columns that are read, by their letters."""
_Found = tuple[int, int, int, Any, str, Any]
"""A cell: row, column, number of its style, what it holds, what that is, and of a formula its value
as it stands in the file."""
_BESIDE_ROWS: dict[str, tuple[str, Any]] = {
    VALIDATION_TAG: ("data_validations", DataValidationList),
    TABLE_TAG: ("tables", TablePartList),
}


class _PartsRead(zipfile.ZipFile):
    """A package of which only the parts that were looked through for it can be seen."""

    def __init__(self, package: Package) -> None:
        super().__init__(BytesIO(package.data))
        self._parts_read = package.parts

    def namelist(self) -> list[str]:
        return sorted(self._parts_read)

    def open(self, name: Any, *arguments: Any, **options: Any) -> Any:
        if name not in self._parts_read:
            raise KeyError(name)
        return super().open(name, *arguments, **options)

    def read(self, name: Any, pwd: bytes | None = None) -> bytes:
        content = super().read(name, pwd)
        return _without_other_relations(content) if name.endswith(RELATIONS) else content


def _without_other_relations(content: bytes) -> bytes:
    root = fromstring(content)
    for relation in list(root):
        if relation.get("Type", "").rpartition("/")[2] not in KINDS_READ:
            root.remove(relation)
    return bytes(tostring(root))


class _SheetParser(WorkSheetParser):
    """The library's parser of a sheet, for rows, validations and tables alone.

    It takes Python's own reader of XML: no part that declares a document type, against which the
    library takes one twice as slow, comes this far.
    """

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.data_validations: Any = DataValidationList()
        self._shared: dict[str, SharedFormula] = {}

    def parse(self) -> Generator[_Found, None, None]:
        """Return each cell, row by row."""
        elements: Any = iterparse(self.source)
        for _, element in elements:
            if element.tag == ROW_TAG:
                yield from self._cells(element)
                element.clear()
            elif element.tag in _BESIDE_ROWS:
                name, kind = _BESIDE_ROWS[element.tag]
                setattr(self, name, kind.from_tree(element))

    def _cells(self, row: Any) -> list[_Found]:
        number = row.get("r")
        self.row_counter = self.row_counter + 1 if number is None else int(number)
        self.col_counter = 0
        ending = str(self.row_counter)
        return [self._cell(element, ending) for element in row]

    def _cell(self, element: Any, ending: str) -> _Found:
        kind, style = element.get("t", "n"), int(element.get("s", 0))
        where = element.get("r", "")
        row, column = self.row_counter, _NUMBERS.get(where.removesuffix(ending), 0)
        if not column:
            row, column = coordinate_to_tuple(where) if where else (row, self.col_counter + 1)
        formula = element.find(FORMULA_TAG)
        if formula is not None:
            is_inline = kind == "inlineStr"
            stored = element if is_inline else (kind, element.findtext(VALUE_TAG))
            found = row, column, style, self._formula(formula, element, row, column), "f", stored
        elif len(element):
            found = row, column, style, *self._content(kind, element), None
        else:
            found = row, column, style, None, kind, None
        self.col_counter = column
        return found

    def _formula(self, formula: Any, element: Any, row: int, column: int) -> Any:
        """Return the formula of a cell; one that cells share is taken apart once."""
        kind = formula.get("t")
        if kind is None:
            return f"={formula.text or ''}"
        if kind != "shared":
            return self.parse_formula(element)  # type: ignore[no-untyped-call]
        text, number = f"={formula.text or ''}", formula.get("si")
        if number in self._shared:
            return self._shared[number].at(row, column)
        if text != "=":
            self._shared[number] = SharedFormula(text, row, column)
        return text

    def _content(self, kind: str, element: Any) -> tuple[Any, str]:
        """Return what a cell holds, and what that is; the library is asked about rarer kinds.

        In a text that stands in the cell itself, ``_x0041_`` stands for a letter.
        """
        if kind in _IN_WORDS:
            return self._said(kind, element.findtext(VALUE_TAG))
        inline = element.find(INLINE_STRING) if kind == "inlineStr" else None
        if inline is not None and [one.tag for one in inline] == [_TEXT_TAG] and inline[0].text:
            return text_in_file(inline[0].text), "s"
        cell: dict[str, Any] = self.parse_cell(element)
        value = cell["value"]
        is_text = inline is not None and isinstance(value, str)
        return text_in_file(value) if is_text else value, cell["data_type"]

    def _said(self, kind: str, text: str | None) -> tuple[Any, str]:
        if not text:
            return None, kind
        if kind == "n":
            is_whole = not any(sign in text for sign in ".eE")
            return int(text) if is_whole else float(text), kind
        return self.shared_strings[int(text)] if kind == "s" else text_in_file(text), "s"

    def stored(self, kept: Any) -> tuple[Any, str]:
        """Return what came along with a formula, as a cell without the formula would hold it."""
        if not isinstance(kept, tuple):
            return self._content("inlineStr", kept)
        kind, text = kept
        if kind in _IN_WORDS:
            return self._said(kind, text)
        element = Element("c", {"t": kind})
        SubElement(element, VALUE_TAG).text = text
        return self._content(kind, element)


class Reader(ExcelReader):
    """The library's reader on a package of which only some parts can be seen.

    Attributes
    ----------
    dressed : dict
        By sheet the cells, blank ones too, with a color or font of the grower's own.
    """

    def __init__(self, package: Package) -> None:
        super().__init__(BytesIO(package.data), keep_links=False)
        self.dressed: dict[str, dict[tuple[int, int], Look]] = {}
        self._looks: list[Look | None] = []
        self.archive = _PartsRead(package)
        self.valid_files = self.archive.namelist()
        self._texts: dict[str, str] = {}
        self._stored: dict[str, dict[tuple[int, int], Any]] = {}
        self._is_date = cache(is_date_format)

    def read_workbook(self) -> None:
        """Read the names, and whatever stands once for all sheets."""
        super().read_workbook()
        parser: Any = self.parser
        parser.caches = []
        # What is printed is not read: the library takes a print area apart in ways without end.
        names = parser.defined_names
        names.definedName = [one for one in names.definedName if not one.is_reserved]

    def read_worksheets(self) -> None:
        """Read of each sheet its cells, notes, tables, validations, and own colors and fonts.

        A number that is no date stays one, whatever its format says. What lies below merged cells
        is kept: LibreOffice saves it.
        """
        if ARC_STYLE in self.valid_files:
            theme = self.archive.read(ARC_THEME) if ARC_THEME in self.valid_files else b""
            styles: Any = Stylesheet.from_tree(fromstring(self.archive.read(ARC_STYLE)))
            self._looks = own_looks(styles, theme)
        sheets: Any = self.parser.find_sheets()
        for sheet, relation in sheets:
            if "chartsheet" in relation.Type:
                self.read_chartsheet(sheet, relation)
            else:
                self._read_worksheet(sheet.name, relation.target)
        for worksheet in self.wb.worksheets:
            self._find_dates(worksheet._cells.values())

    def stored_values(self) -> dict[str, dict[tuple[int, int], Cell]]:
        """Return for each formula that has a value in the file the cell that holds it instead."""
        sheets: dict[str, dict[tuple[int, int], Cell]] = {}
        parser: Any = _SheetParser(None, self.shared_strings, True, self.wb.epoch)
        for title, kept in self._stored.items():
            worksheet: Any = self.wb[title]
            cells = sheets[title] = {}
            for (row, column), one in kept.items():
                value, kind = parser.stored(one)
                if value is not None:
                    style = worksheet._cells[row, column]._style
                    cells[row, column] = self._cell(worksheet, row, column, value, kind, style)
            self._find_dates(cells.values())
        return sheets

    def _find_dates(self, cells: Iterable[Any]) -> None:
        for cell in cells:
            if cell.data_type == "n" and self._is_date(cell.number_format):
                _make_date(cell, self.wb.epoch)

    def _read_worksheet(self, name: str, part: str) -> None:
        tell(f"Reading the {shown(name)} sheet")
        worksheet: Any = self.wb.create_sheet(name)
        relations = get_rels_path(part)  # type: ignore[no-untyped-call]
        if relations in self.valid_files:
            worksheet._rels = get_dependents(self.archive, relations)
        with self.archive.open(part) as stream:
            parser: Any = _SheetParser(stream, self.shared_strings, self.data_only, self.wb.epoch)
            self._take_cells(worksheet, parser)
        worksheet.data_validations = parser.data_validations
        for one in parser.tables.tablePart:
            table = self.archive.read(worksheet._rels.get(one.id).Target)
            worksheet.add_table(Table.from_tree(fromstring(table)))
        for relation in worksheet._rels.find(COMMENTS_NS):
            comments: Any = CommentSheet.from_tree(fromstring(self.archive.read(relation.target)))
            authors = comments.authors.author
            for one in comments.commentList:  # of Gnumeric's notes, not all have an author
                author = authors[one.authorId] if 0 <= one.authorId < len(authors) else ""
                worksheet[one.ref].comment = Comment(one.content, author, one.height, one.width)

    def _take_cells(self, worksheet: Any, parser: Any) -> None:
        """Take the cells that hold something; equal texts, as of a log's rows, are kept once."""
        book: Any = self.wb
        styles, cells, looks = book._cell_styles, worksheet._cells, self._looks
        stored = self._stored[worksheet.title] = {}
        dressed = self.dressed.setdefault(worksheet.title, {})
        for row, column, number, value, kind, kept in parser.parse():
            look = looks[number] if number < len(looks) else None
            if look is not None:
                dressed[row, column] = look
            if value is None:
                continue
            stored.pop((row, column), None)
            if kind == "f":
                stored[row, column] = kept
            cells[row, column] = self._cell(worksheet, row, column, value, kind, styles[number])
        worksheet._current_row = max((row for row, _ in cells), default=0)

    def _cell(
        self, worksheet: Any, row: int, column: int, value: Any, kind: str, style: Any
    ) -> Cell:
        if isinstance(value, str):
            value = self._texts.setdefault(value, value)
        cell: Any = Cell(worksheet, row, column)
        cell._value, cell.data_type, cell._style = value, kind, style
        made: Cell = cell
        return made


def _make_date(cell: Any, epoch: datetime) -> None:
    """Turn a number into the date that it stands for, unless that changes it."""
    with suppress(OverflowError, ValueError):
        is_duration = is_timedelta_format(cell.number_format)
        when = from_excel(cell.value, epoch, timedelta=is_duration)
        number = to_excel(when, epoch)  # type: ignore[no-untyped-call]
        if abs(number - cell.value) <= _MILLISECOND * min(abs(cell.value), 1):
            cell._value, cell.data_type = when, "d"
