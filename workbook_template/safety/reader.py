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
from openpyxl.utils.cell import coordinate_to_tuple
from openpyxl.utils.datetime import from_excel, to_excel
from openpyxl.worksheet._reader import (
    FORMULA_TAG,
    ROW_TAG,
    TABLE_TAG,
    VALIDATION_TAG,
    VALUE_TAG,
    WorkSheetParser,
)
from openpyxl.worksheet.datavalidation import DataValidationList
from openpyxl.worksheet.table import Table, TablePartList
from openpyxl.xml.constants import ARC_STYLE, ARC_THEME, COMMENTS_NS

from workbook_template.errors import shown
from workbook_template.progress import tell
from workbook_template.safety.looks import Look, own_looks
from workbook_template.safety.parts import KINDS_READ, RELATIONS
from workbook_template.safety.shared_formula import SharedFormula
from workbook_template.texts import text_in_file

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable
    from datetime import datetime

    from workbook_template.safety.package import Package

_MILLISECOND = 2e-8
"""In days; finer than that no date is kept."""
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

    def parse(self) -> Generator[Any, None, None]:
        """Return each row, its number and its cells."""
        elements: Any = iterparse(self.source)
        for _, element in elements:
            if element.tag == ROW_TAG:
                yield self.parse_row(element)
                element.clear()
            elif element.tag in _BESIDE_ROWS:
                name, kind = _BESIDE_ROWS[element.tag]
                setattr(self, name, kind.from_tree(element))

    def parse_cell(self, element: Any) -> dict[str, Any]:
        """Return a cell; in a text that stands in it, ``_x0041_`` stands for a letter.

        Of a formula its value comes along as it stands in the file.
        """
        cell: dict[str, Any] = super().parse_cell(element)
        kind = element.get("t", "n")
        if cell["data_type"] == "f":
            is_inline = kind == "inlineStr"
            cell["stored"] = element if is_inline else (kind, element.findtext(VALUE_TAG))
        elif kind in ("inlineStr", "str") and cell["data_type"] == "s":
            value = cell["value"]
            cell["value"] = text_in_file(value) if isinstance(value, str) else value
        return cell

    def parse_formula(self, element: Any) -> Any:
        """Return the formula of a cell; one that cells share is taken apart once."""
        formula = element.find(FORMULA_TAG)
        if formula.get("t") != "shared":
            return super().parse_formula(element)  # type: ignore[no-untyped-call]
        where, text, number = element.get("r"), f"={formula.text or ''}", formula.get("si")
        place = coordinate_to_tuple(where) if where else (self.row_counter, self.col_counter)
        if number in self._shared:
            return self._shared[number].at(*place)
        if text != "=":
            self._shared[number] = SharedFormula(text, *place)
        return text

    def stored(self, kept: Any) -> dict[str, Any]:
        """Return what came along with a formula as the cell that it would be without it."""
        if not isinstance(kept, tuple):
            return self.parse_cell(kept)
        kind, text = kept
        element = Element("c", {"t": kind})
        SubElement(element, VALUE_TAG).text = text
        return self.parse_cell(element)


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
                found = parser.stored(one)
                if found["value"] is not None:
                    style = worksheet._cells[row, column]._style
                    cells[row, column] = self._cell(worksheet, row, column, found, style)
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
        for _, line in parser.parse():
            for one in line:
                row, column, number = one["row"], one["column"], one["style_id"]
                look = looks[number] if number < len(looks) else None
                if look is not None:
                    dressed[row, column] = look
                if one["value"] is None:
                    continue
                stored.pop((row, column), None)
                if "stored" in one:
                    stored[row, column] = one["stored"]
                cells[row, column] = self._cell(worksheet, row, column, one, styles[number])
        worksheet._current_row = max((row for row, _ in cells), default=0)

    def _cell(
        self, worksheet: Any, row: int, column: int, found: dict[str, Any], style: Any
    ) -> Cell:
        value = found["value"]
        if isinstance(value, str):
            value = self._texts.setdefault(value, value)
        cell: Any = Cell(worksheet, row, column)
        cell._value, cell.data_type, cell._style = value, found["data_type"], style
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
