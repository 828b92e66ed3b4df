"""A headless LibreOffice behind standard input and output: one JSON request a line, one answer.

Runs under the Python that LibreOffice's UNO bridge was built for, which need not be the one that
runs the tests; ``office.py`` is the other end. The office ends when the input does.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import traceback
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.table import TableSortField

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

START_SECONDS = 60
FILTERS = {
    "pdf": "calc_pdf_Export",
    "xlsx": "Calc MS Excel 2007 XML",
    "ods": "calc8",
    "xls": "MS Excel 97",
}
TO_RIGHT = uno.Enum("com.sun.star.sheet.FillDirection", "TO_RIGHT")
TO_BOTTOM = uno.Enum("com.sun.star.sheet.FillDirection", "TO_BOTTOM")
FORMULA = 16
"""Of com.sun.star.sheet.CellFlags."""
ERROR_NUMBERS = "error numbers"

# American texts, formulas as Excel writes them, files shown with the values they hold, and no file
# locked: the tests of several processes look at the same.
SETTINGS = (
    ("Setup/L10N", "ooLocale", "en-US"),
    ("Setup/L10N", "ooSetupSystemLocale", "en-US"),
    ("Office.Calc/Formula/Syntax", "Grammar", "1"),
    ("Office.Calc/Formula/Syntax", "SeparatorArg", ","),
    ("Office.Calc/Formula/Syntax", "SeparatorArrayCol", ","),
    ("Office.Calc/Formula/Syntax", "SeparatorArrayRow", ";"),
    ("Office.Calc/Formula/Load", "OOXMLRecalcMode", "1"),
    ("Office.Common/Misc", "UseLocking", "false"),
)
SETTINGS_FILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
{items}
</oor:items>
"""
SETTING = (
    '<item oor:path="/org.openoffice.{path}">'
    '<prop oor:name="{name}" oor:op="fuse"><value>{value}</value></prop></item>'
)


class Server:
    """The office and its open documents."""

    def __init__(self, soffice: str, profile: Path) -> None:
        settings = profile / "user" / "registrymodifications.xcu"
        settings.parent.mkdir(parents=True, exist_ok=True)
        items = (
            SETTING.format(path=path, name=name, value=value) for path, name, value in SETTINGS
        )
        settings.write_text(SETTINGS_FILE.format(items="\n".join(items)), encoding="utf-8")
        pipe = f"cultivar_fx_{uuid4().hex}"
        options = [
            "headless",
            "norestore",
            "nologo",
            "nodefault",
            "nolockcheck",
            "nofirststartwizard",
        ]
        # The Python inside LibreOffice takes its library from beside the first python3 on the path,
        # whose version need not be the same: every call of an add-in then ends in bad_alloc.
        path = [str(Path(sys.executable).parent), os.environ["PATH"]]
        self.process = subprocess.Popen(
            [
                soffice,
                *(f"--{option}" for option in options),
                f"-env:UserInstallation={profile.as_uri()}",
                f"--accept=pipe,name={pipe};urp;",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PATH": os.pathsep.join(path)},
        )
        self.context = self._connect(pipe)
        self.desktop = self._service("com.sun.star.frame.Desktop")
        self.documents: dict[int, Any] = {}
        self.before: dict[int, list[Callable[[], None]]] = {}
        self.requests = {
            "version": self.version,
            "open": self.open,
            "close": self.close,
            "keep": self.keep,
            "take_back": self.take_back,
            "store": self.store,
            "calculate": self.calculate,
            "write": self.write,
            "fill": self.fill,
            "fill_array": self.fill_array,
            "write_formulas": self.write_formulas,
            "read": self.read,
            "values": self.values,
            "without": self.without,
            "contents": self.contents,
            "insert": self.insert,
            "delete_rows": self.delete_rows,
            "copy_row": self.copy_row,
            "sort": self.sort,
            "run_basic": self.run_basic,
        }

    def _connect(self, pipe: str) -> Any:
        local = uno.getComponentContext()
        resolver = local.ServiceManager.createInstanceWithContext(
            "com.sun.star.bridge.UnoUrlResolver", local
        )
        give_up = time.monotonic() + START_SECONDS
        while True:
            try:
                return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            except NoConnectException:
                if time.monotonic() > give_up or self.process.poll() is not None:
                    self.process.kill()
                    raise
                time.sleep(0.02)

    def stop(self) -> None:
        """End the office."""
        try:
            self.desktop.terminate()
            self.process.wait(20)
        except Exception:  # whatever happens, no office stays behind
            self.process.kill()

    def version(self) -> str:
        """Return the office's version."""
        provider = self._service("com.sun.star.configuration.ConfigurationProvider")
        access = provider.createInstanceWithArguments(
            "com.sun.star.configuration.ConfigurationAccess",
            (_property("nodepath", "/org.openoffice.Setup/Product"),),
        )
        return str(access.ooSetupVersionAboutBox)

    def open(self, path: str | None) -> dict[str, Any]:
        """Open a file, or make a new document."""
        url = "private:factory/scalc" if path is None else uno.systemPathToFileUrl(path)
        document = self.desktop.loadComponentFromURL(url, "_blank", 0, (_property("Hidden", True),))
        if document is None:
            raise ValueError(f"LibreOffice cannot open {path}")
        number = max(self.documents, default=0) + 1
        self.documents[number] = document
        return {"document": number, "sheets": document.Sheets.ElementNames}

    def close(self, document: int) -> None:
        """Close a document without saving."""
        self.documents.pop(document).close(True)

    def keep(self, document: int) -> None:
        """Take the protection off, and note from now on what cells hold before they are written."""
        self.before[document] = []
        for sheet in self.documents[document].Sheets.ElementNames:
            self._sheet(document, sheet).unprotect("")

    def take_back(self, document: int) -> None:
        """Let the cells hold what they held when the document was first kept."""
        while self.before[document]:
            self.before[document].pop()()

    def store(self, document: int, path: str, kind: str) -> None:
        """Write a document to a file of a kind in ``FILTERS``."""
        settings = (_property("FilterName", FILTERS[kind]),)
        self.documents[document].storeToURL(uno.systemPathToFileUrl(path), settings)

    def calculate(self, document: int) -> None:
        """Compute every formula anew."""
        self.documents[document].calculateAll()

    def write(
        self, document: int, sheet: str, row: int, column: int, rows: list[list[Any]]
    ) -> None:
        """Write a block of values; blanks come as null, errors as ``{"error": "#N/A"}``."""
        # A void in setDataArray ends LibreOffice 7.4; an empty text makes a blank cell.
        plain = tuple(
            tuple("" if value is None or isinstance(value, dict) else value for value in line)
            for line in rows
        )
        area = self._to_write(document, sheet, row, column, len(rows), len(rows[0]))
        area.setDataArray(plain)
        for down, line in enumerate(rows):
            for right, value in enumerate(line):
                if isinstance(value, dict):
                    area.getCellByPosition(right, down).FormulaLocal = f"={value['error']}"

    def fill(
        self, document: int, sheet: str, row: int, column: int, text: str, down: int, right: int
    ) -> None:
        """Write a formula in Excel's syntax into a cell, and fill it down and to the right."""
        self._to_write(document, sheet, row, column, down, right)
        cells = self._sheet(document, sheet)
        cells.getCellByPosition(column, row).FormulaLocal = f"={text}"
        _fill(cells, row, column, down, right)

    def write_formulas(
        self, document: int, sheet: str, row: int, column: int, rows: list[list[str]]
    ) -> None:
        """Write a block of formulas in LibreOffice's own syntax."""
        area = self._to_write(document, sheet, row, column, len(rows), len(rows[0]))
        area.setFormulaArray(tuple(map(tuple, rows)))

    def fill_array(
        self, document: int, sheet: str, row: int, column: int, text: str, down: int, right: int
    ) -> None:
        """Enter one array formula into a block."""
        area = self._to_write(document, sheet, row, column, down, right)
        area.setArrayFormula(f"={text}")

    def read(
        self, document: int, sheet: str, row: int, column: int, down: int, right: int
    ) -> list[list[Any]]:
        """Read a block of values; blanks go as null, errors as ``{"error": 502}``."""
        values = _area(self._sheet(document, sheet), row, column, down, right).getDataArray()
        if not any(value is None for line in values for value in line):
            return [[None if value == "" else value for value in line] for line in values]
        numbers = self._error_numbers(document, sheet, row, column, down, right)
        return [
            [
                {"error": int(number)} if value is None else None if value == "" else value
                for value, number in zip(line, error_line)
            ]
            for line, error_line in zip(values, numbers)
        ]

    def values(
        self, document: int, names: Sequence[str] | None = None
    ) -> dict[str, list[list[Any]]]:
        """Read the values of some sheets, or of all, from the first cell to the last used."""
        names = names or self.documents[document].Sheets.ElementNames
        return {name: self.read(document, name, *self._used(document, name)) for name in names}

    def without(self, document: int, cells: list[tuple[str, str]]) -> dict[str, list[list[Any]]]:
        """Read all values while some cells are cleared; afterwards they hold what they held.

        Every formula is computed anew, so that no value from before stays.
        """
        places = [self._sheet(document, sheet).getCellRangeByName(cell) for sheet, cell in cells]
        before = [place.getDataArray() for place in places]
        for place in places:
            place.setDataArray((("",),))
        try:
            self.calculate(document)
            return self.values(document)
        finally:
            for place, held in zip(places, before):
                place.setDataArray(held)

    def contents(self, document: int) -> dict[str, dict[str, Any]]:
        """Read the values and formulas of every sheet, from the first cell to the last used."""
        return {
            name: {
                "values": values,
                "formulas": _area(
                    self._sheet(document, name), *self._used(document, name)
                ).getFormulaArray(),
            }
            for name, values in self.values(document).items()
        }

    def insert(self, document: int, sheet: str, what: str, at: int, count: int) -> None:
        """Put rows or columns in before one: formulas everywhere go along."""
        cells = self._sheet(document, sheet)
        cells.unprotect("")
        getattr(cells, what).insertByIndex(at, count)

    def delete_rows(self, document: int, sheet: str, at: int, count: int) -> None:
        """Take rows out."""
        self._sheet(document, sheet).Rows.removeByIndex(at, count)

    def copy_row(self, document: int, sheet: str, row: int, below: int) -> None:
        """Copy a row, its formulas and formats, to another."""
        cells = self._sheet(document, sheet)
        whole = cells.Rows.getByIndex(row).RangeAddress
        cells.copyRange(cells.getCellByPosition(0, below).CellAddress, whole)

    def sort(
        self, document: int, sheet: str, row: int, column: int, down: int, right: int, by: int
    ) -> None:
        """Sort rows by one of their columns, falling."""
        key = TableSortField()
        key.Field, key.IsAscending = by, False
        keys = uno.Any("[]com.sun.star.table.TableSortField", (key,))
        _area(self._sheet(document, sheet), row, column, down, right).sort(
            (_property("SortFields", keys), _property("ContainsHeader", False))
        )

    def run_basic(self, modules: dict[str, str], function: str) -> Any:
        """Return what a function of the first of some Basic modules gives."""
        allowed = (_property("Hidden", True), _property("MacroExecutionMode", 4))
        document = self.desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, allowed)
        libraries = document.BasicLibraries
        libraries.VBACompatibilityMode = True
        if not libraries.hasByName("Standard"):
            libraries.createLibrary("Standard")
        for name in reversed(modules):
            libraries.getByName("Standard").insertByName(name, modules[name])
        place = f"Standard.{next(iter(modules))}.{function}?language=Basic&location=document"
        try:
            script = document.getScriptProvider().getScript(f"vnd.sun.star.script:{place}")
            return script.invoke((), (), ())[0]
        finally:
            document.close(True)

    def _error_numbers(
        self, document: int, sheet: str, row: int, column: int, down: int, right: int
    ) -> tuple[tuple[Any, ...], ...]:
        """Let a sheet made for it say the error of each cell; asking each takes 50 times longer."""
        sheets = self.documents[document].Sheets
        sheets.insertNewByName(ERROR_NUMBERS, sheets.Count)
        try:
            numbers = sheets.getByName(ERROR_NUMBERS)
            cell = numbers.getCellByPosition(column, row)
            place = cell.AbsoluteName.rsplit(".", 1)[1].replace("$", "")
            quoted = sheet.replace("'", "''")
            cell.setFormula(f"=ERRORTYPE($'{quoted}'.{place})")
            _fill(numbers, row, column, down, right)
            return tuple(_area(numbers, row, column, down, right).getDataArray())
        finally:
            sheets.removeByName(ERROR_NUMBERS)

    def _to_write(
        self, document: int, sheet: str, row: int, column: int, down: int, right: int
    ) -> Any:
        """Return an area that is about to be written; of a kept document, note what it holds."""
        area = _area(self._sheet(document, sheet), row, column, down, right)
        if document in self.before:
            values, restore = area.getDataArray(), area.setDataArray
            if area.queryContentCells(FORMULA).Count:
                values, restore = _formulas(area, values), area.setFormulaArray
            self.before[document].append(partial(restore, values))
        return area

    def _used(self, document: int, sheet: str) -> tuple[int, int, int, int]:
        """Return the area from the first cell to the last used: where it begins, and its size."""
        cursor = self._sheet(document, sheet).createCursor()
        cursor.gotoEndOfUsedArea(False)
        return 0, 0, cursor.RangeAddress.EndRow + 1, cursor.RangeAddress.EndColumn + 1

    def _sheet(self, document: int, sheet: str) -> Any:
        return self.documents[document].Sheets.getByName(sheet)

    def _service(self, name: str) -> Any:
        return self.context.ServiceManager.createInstanceWithContext(name, self.context)


def _property(name: str, value: Any) -> Any:
    made = PropertyValue()
    made.Name, made.Value = name, value
    return made


def _area(sheet: Any, row: int, column: int, down: int, right: int) -> Any:
    return sheet.getCellRangeByPosition(column, row, column + right - 1, row + down - 1)


def _formulas(area: Any, values: Any) -> tuple[tuple[str, ...], ...]:
    """Return the formulas of an area to be set again; a text that looks like one is quoted."""
    return tuple(
        tuple(
            f"'{text}" if text.startswith("=") and text == value else text for text, value in pair
        )
        for pair in (zip(*lines) for lines in zip(area.getFormulaArray(), values))
    )


def _fill(sheet: Any, row: int, column: int, down: int, right: int) -> None:
    if down > 1:
        _area(sheet, row, column, down, 1).fillAuto(TO_BOTTOM, 1)
    if right > 1:
        _area(sheet, row, column, down, right).fillAuto(TO_RIGHT, 1)


def main() -> None:
    """Serve requests until the input ends. What the office's libraries print is kept apart."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    server = Server(sys.argv[1], Path(sys.argv[2]))
    try:
        for line in sys.stdin:
            request = json.loads(line)
            try:
                answer = {"answer": server.requests[request.pop("do")](**request)}
            except Exception:  # the other end reports it
                answer = {"failure": traceback.format_exc()}
            answers.write(json.dumps(answer) + "\n")
            answers.flush()
    finally:
        server.stop()


if __name__ == "__main__":
    main()
