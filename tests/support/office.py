"""A headless LibreOffice kept running, for tests that ask a real spreadsheet program.

It is driven by ``office_server.py`` under the Python that its UNO bridge belongs to, so the
tests may run under any other.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from threading import Timer
from typing import TYPE_CHECKING, Any, NamedTuple

from cultivar_fx.errors import CellError
from cultivar_fx.hosts.calc_install import office_folders
from workbook_template import system_packages

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

PACKAGES = ("libreoffice-calc", "python3-uno", "fonts-liberation")
"""Those of Debian and Ubuntu: the program, its Python bridge, and letters to print with."""
OFFICES = ("soffice", "soffice.exe")
PYTHONS = ("python.exe", "python", "../Resources/python")
"""Where LibreOffice comes with a Python of its own, seen from the folder of its programs."""
ELSEWHERE = {
    "win32": "winget install TheDocumentFoundation.LibreOffice",
    "darwin": "brew install --cask libreoffice (or the installer from libreoffice.org)",
}
"""How LibreOffice comes to other systems; its own Python is the bridge there."""
ANSWER_SECONDS = 120
"""An office that takes longer for one request hangs, and is ended."""

ERRORS = {
    502: "#NUM!",  # invalid argument, such as SQRT(-1): Excel says #NUM!
    503: "#NUM!",
    519: "#VALUE!",
    521: "#NULL!",
    523: "#NUM!",  # no convergence
    524: "#REF!",
    525: "#NAME?",
    532: "#DIV/0!",
    32767: "#N/A",
}
"""Excel's error value for each of LibreOffice's error numbers; others stay ``Err:508``."""


class OfficeMissing(Exception):
    """LibreOffice, or its Python bridge, is not installed."""


class Sheet(NamedTuple):
    """All that a sheet of a document holds, by rows from the first cell to the last used."""

    values: list[list[Any]]
    formulas: list[list[str]]
    """In LibreOffice's own syntax, with semicolons; what is no formula is its plain text."""

    def errors(self) -> dict[str, str]:
        """Return the error of each cell that has one, by its address such as ``B7``."""
        return {
            address(row, column): value.code
            for row, line in enumerate(self.values)
            for column, value in enumerate(line)
            if isinstance(value, CellError)
        }


class Document:
    """An open document. Rows and columns count from 0; sheets go by name."""

    def __init__(self, office: Office, number: int, sheets: Sequence[str]) -> None:
        self._office = office
        self._number = number
        self.sheets = tuple(sheets)

    def write(self, sheet: str, row: int, column: int, rows: Sequence[Sequence[Any]]) -> None:
        """Write a block of numbers, texts, blanks (``None``) and errors."""
        encoded = [
            [{"error": value.code} if isinstance(value, CellError) else value for value in line]
            for line in rows
        ]
        self._ask("write", sheet=sheet, row=row, column=column, rows=encoded)

    def fill(
        self, sheet: str, row: int, column: int, text: str, down: int = 1, right: int = 1
    ) -> None:
        """Write a formula in Excel's syntax, and fill it so many cells down and right."""
        self._ask("fill", sheet=sheet, row=row, column=column, text=text, down=down, right=right)

    def write_formulas(
        self, sheet: str, row: int, column: int, rows: Sequence[Sequence[str]]
    ) -> None:
        """Write a block of formulas, their arguments parted by semicolons; empty texts are none."""
        self._ask("write_formulas", sheet=sheet, row=row, column=column, rows=rows)

    def fill_array(
        self, sheet: str, row: int, column: int, text: str, down: int = 1, right: int = 1
    ) -> None:
        """Enter one array formula, its arguments parted by semicolons, into a block."""
        area = {"row": row, "column": column, "down": down, "right": right}
        self._ask("fill_array", sheet=sheet, text=text, **area)

    def read(
        self, sheet: str, row: int, column: int, down: int = 1, right: int = 1
    ) -> list[list[Any]]:
        """Read a block: numbers, texts, ``None`` for blanks, ``CellError`` for errors."""
        area = {"row": row, "column": column, "down": down, "right": right}
        return _decoded(self._ask("read", sheet=sheet, **area))

    def contents(self) -> dict[str, Sheet]:
        """Read every cell of every sheet."""
        return {
            name: Sheet(_decoded(found["values"]), found["formulas"])
            for name, found in self._ask("contents").items()
        }

    def values(self, *sheets: str) -> dict[str, list[list[Any]]]:
        """Read the values of some sheets, or of all, without the formulas."""
        return _all_decoded(self._ask("values", names=sheets))

    def without(self, cells: Sequence[tuple[str, str]]) -> dict[str, list[list[Any]]]:
        """Read them computed anew while some cells, by sheet and address, are cleared."""
        return _all_decoded(self._ask("without", cells=cells))

    def insert(self, sheet: str, what: str, at: int, count: int) -> None:
        """Put so many "Rows" or "Columns" in before one."""
        self._ask("insert", sheet=sheet, what=what, at=at, count=count)

    def delete_rows(self, sheet: str, at: int, count: int) -> None:
        """Take rows out."""
        self._ask("delete_rows", sheet=sheet, at=at, count=count)

    def copy_row(self, sheet: str, row: int, below: int) -> None:
        """Copy a row to another."""
        self._ask("copy_row", sheet=sheet, row=row, below=below)

    def sort(self, sheet: str, row: int, column: int, down: int, right: int, by: int) -> None:
        """Sort a block by one of its columns, counted from 0, falling."""
        self._ask("sort", sheet=sheet, row=row, column=column, down=down, right=right, by=by)

    def calculate(self) -> None:
        """Compute every formula anew, whatever value the file held."""
        self._ask("calculate")

    def store(self, path: Path) -> None:
        """Write the document to a file: .xlsx, .ods or .pdf."""
        self._ask("store", path=str(path.absolute()), kind=path.suffix[1:])

    def close(self) -> None:
        """Close the document without saving."""
        self._ask("close")

    def keep(self) -> None:
        """Take the protection off, and note what is written from now on, for ``take_back``."""
        self._ask("keep")

    def take_back(self) -> None:
        """Let the cells hold again what they held."""
        self._ask("take_back")

    def _ask(self, request: str, **details: Any) -> Any:
        return self._office.ask(request, document=self._number, **details)


class Office:
    """A running LibreOffice with a profile of its own, to be used in a ``with`` block.

    ``prepared`` is a profile folder to start with, for example one with an extension.
    """

    def __init__(self, prepared: Path | None = None) -> None:
        self._prepared = prepared
        self._stays_open: dict[Path, Document] = {}

    def __enter__(self) -> Office:
        python, soffice = installed()
        self._profile = tempfile.TemporaryDirectory(prefix="office-", ignore_cleanup_errors=True)
        profile = self._prepared or Path(self._profile.name, "profile")
        server = Path(__file__).with_name("office_server.py")
        self._process = subprocess.Popen(
            [python, str(server), soffice, str(profile)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
            start_new_session=True,
        )
        self.version: str = self.ask("version")
        return self

    def __exit__(self, *_: object) -> None:
        self._process.communicate()
        self._profile.cleanup()

    def ask(self, request: str, **details: Any) -> Any:
        """Send one request to the server, and give its answer."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps({"do": request, **details}) + "\n")
        self._process.stdin.flush()
        watch = Timer(ANSWER_SECONDS, self._kill)
        watch.start()
        line = self._process.stdout.readline()
        watch.cancel()
        if not line:
            raise RuntimeError(f"LibreOffice ended at the request {request!r}")
        reply = json.loads(line)
        if "failure" in reply:
            raise RuntimeError(f"{request} {str(details)[:200]}\n{reply['failure']}")
        return reply["answer"]

    def _kill(self) -> None:
        if os.name == "posix":
            os.killpg(self._process.pid, signal.SIGKILL)
        else:
            self._process.kill()

    def run_basic(self, modules: dict[str, str], function: str) -> Any:
        """Run a function of the first of some Basic modules; nothing if they do not compile."""
        return self.ask("run_basic", modules=modules, function=function)

    @contextmanager
    def document(self, path: Path | None = None) -> Iterator[Document]:
        """Open a file, or a new document, for the time of a ``with`` block."""
        document = self._open(path)
        try:
            yield document
        finally:
            document.close()

    @contextmanager
    def kept(self, path: Path) -> Iterator[Document]:
        """Open a file that stays open for who asks next; what is written is taken back.

        Everything in it is computed, and no sheet is protected.
        """
        if path not in self._stays_open:
            self._stays_open[path] = self._open(path)
            self._stays_open[path].calculate()
            self._stays_open[path].keep()
        try:
            yield self._stays_open[path]
        finally:
            self._stays_open[path].take_back()

    def _open(self, path: Path | None) -> Document:
        opened = self.ask("open", path=None if path is None else str(path.absolute()))
        return Document(self, opened["document"], opened["sheets"])


@lru_cache(maxsize=1)
def installed() -> tuple[str, str]:
    """Find a Python that has the UNO bridge, and the office's program.

    Raises
    ------
    OfficeMissing
        If one of them is not installed; the message says how to get them.
    """
    folders = office_folders()
    office = shutil.which("soffice") or shutil.which("libreoffice") or _first(folders, OFFICES)
    pythons = ("/usr/bin/python3", shutil.which("python3"), _first(folders, PYTHONS))
    for python in pythons:
        if office and python and Path(python).exists():
            probe = [python, "-c", "import uno"]
            if subprocess.run(probe, stderr=subprocess.DEVNULL).returncode == 0:
                return python, office
    raise OfficeMissing(
        "LibreOffice Calc or its Python bridge is missing. This installs it: " + how_to_install()
    )


def how_to_install() -> str:
    """Return the command that installs LibreOffice on this system."""
    if system_packages.is_debian():
        return system_packages.command(*PACKAGES)
    if shutil.which("dnf"):
        return "sudo dnf install libreoffice-calc libreoffice-pyuno"
    return ELSEWHERE.get(sys.platform, "the package manager, or libreoffice.org")


def _first(folders: Sequence[Path], names: Sequence[str]) -> str | None:
    """Find the first of some programs that is there, in the folders of LibreOffice."""
    places = (folder / name for folder in folders for name in names)
    return next((str(place) for place in places if place.exists()), None)


def address(row: int, column: int) -> str:
    """Return a cell's address, such as ``B7`` for row 6 and column 1."""
    letters = ""
    column += 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{row + 1}"


def _all_decoded(sheets: dict[str, list[list[Any]]]) -> dict[str, list[list[Any]]]:
    return {name: _decoded(rows) for name, rows in sheets.items()}


def _decoded(rows: list[list[Any]]) -> list[list[Any]]:
    return [
        [_error(value) if isinstance(value, dict) else value for value in line] for line in rows
    ]


def _error(value: dict[str, int]) -> CellError:
    number = value["error"]
    return CellError(ERRORS.get(number, f"Err:{number}"), f"LibreOffice's error {number}")
