"""Opens a workbook that may come from anybody: a sound one of ours, or one sentence why not."""

from __future__ import annotations

import math
import os
import stat
import warnings
from contextlib import contextmanager
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, Any

from openpyxl.packaging.custom import IntProperty

from workbook_template.errors import (
    CannotRead,
    Damaged,
    ForeignWorkbook,
    NewerWorkbook,
    Refusal,
    TooLarge,
    cause_of,
    shown,
)
from workbook_template.safety.guard import opening
from workbook_template.safety.package import Package, examine
from workbook_template.safety.reader import Reader
from workbook_template.safety.scan import Limits
from workbook_template.schema import SCHEMA_VERSION, SINGLE_INPUTS
from workbook_template.schema.earlier_places import EARLIER_PLACES, LAST_VERSION
from workbook_template.writing.layout import input_name, name_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from openpyxl import Workbook
    from openpyxl.cell.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet

_VERSION_PROPERTY = "cultivar_fx schema"
_NAMES_ENOUGH = 60
"""So many of our input names make a workbook ours that lost its properties; the first version had
105, and later ones have more and more."""
_MACRO_ENDINGS = (".xlsm", ".xltm")


class OpenedWorkbook:
    """A workbook that was looked through and opened; never written.

    Parameters
    ----------
    package : Package
        What was looked through.
    large : bool
        Whether more is read than of a file from somebody else.

    Attributes
    ----------
    formulas : openpyxl.Workbook
        The cells as they were entered, formulas as text; go over them with ``filled_cells``.
    dressed : dict
        By sheet the cells, blank ones too, with a color or font of the grower's own.
    """

    def __init__(self, package: Package, large: bool = False) -> None:
        self._package = package
        self._large = large
        self._reader, self.formulas = _built(package)
        self.dressed = self._reader.dressed

    @property
    def data(self) -> bytes:
        """The bytes of the file."""
        return self._package.data

    @cached_property
    def values(self) -> dict[str, dict[tuple[int, int], Cell]]:
        """The values that the file holds for its formulas, as cells by sheet, row and column."""
        package = self._package
        with opening(self._large), _in_one_sentence(package.name):
            values = self._reader.stored_values()
            typed = (
                cell
                for worksheet in self.formulas.worksheets
                for cell in filled_cells(worksheet)
                if cell.data_type != "f"
            )
            _check_cells(chain(typed, *(cells.values() for cells in values.values())), package)
        return values


def open_workbook(path: Path, large: bool = False) -> OpenedWorkbook:
    """Open a workbook that cultivar_fx made.

    Nothing in it is run, followed or fetched, text stays text, and charts, pictures and macros
    are not read. The file is never written.

    Parameters
    ----------
    path : Path
        The .xlsx file, or .xlsm with its macros skipped.
    large : bool
        Whether more is read than of a file from somebody else.

    Returns
    -------
    OpenedWorkbook
        What was entered, and the values of formulas.

    Raises
    ------
    Refusal
        A ``ValueError`` with one sentence: why the file is not read, and what to do.
    """
    limits = Limits.of_file(large)
    name = shown(path.name)
    macros = path.suffix.lower() in _MACRO_ENDINGS
    with opening(large):
        try:
            package = examine(_bytes_of(path, limits), name, macros, limits)
        except MemoryError as error:
            raise _no_memory(name) from error
        return OpenedWorkbook(package, large)


def mark_version(workbook: Workbook) -> None:
    """Note in a workbook's properties which version of the schema it follows."""
    _own_properties(workbook).append(IntProperty(name=_VERSION_PROPERTY, value=SCHEMA_VERSION))


def _own_properties(workbook: Any) -> Any:
    """Return the properties that a program keeps for others; the library has no type for them."""
    return workbook.custom_doc_props


def schema_version(workbook: Workbook, name: str) -> int:
    """Return which version of the schema a workbook follows.

    Parameters
    ----------
    workbook : openpyxl.Workbook
        Any workbook.
    name : str
        Its name, for the sentence.

    Returns
    -------
    int
        The version; where the file lost its properties, the one whose input names it has.

    Raises
    ------
    ForeignWorkbook
        If cultivar_fx did not make it.
    """
    for one in _own_properties(workbook).props:
        if one.name == _VERSION_PROPERTY and isinstance(one.value, int | float):
            if not 1 <= one.value < math.inf:
                raise Damaged(f"{name} is damaged: its version is {one.value}.")
            return math.ceil(one.value)
    for version in range(SCHEMA_VERSION, 0, -1):
        ours = {name_in(version, input_name(key)) for key in SINGLE_INPUTS}
        if len(ours & workbook.defined_names.keys()) >= _NAMES_ENOUGH:
            moved = {input_name(key) for key in EARLIER_PLACES} & workbook.defined_names.keys()
            return min(version, LAST_VERSION) if moved else version
    raise ForeignWorkbook(f"{name} was not made by cultivar_fx: give the workbook that it wrote.")


def filled_cells(worksheet: Worksheet) -> Iterator[Cell]:
    """Go over the cells that hold something, row by row.

    Parameters
    ----------
    worksheet : Worksheet
        A sheet. Its size is not gone through: one cell far out would make that endless.

    Yields
    ------
    openpyxl cell
        Each cell with a value.
    """
    for place in sorted(worksheet._cells):
        cell = worksheet._cells[place]
        if cell.value is not None:
            yield cell


def _bytes_of(path: Path, limits: Limits) -> bytes:
    name = shown(str(path))
    try:
        if path.is_dir():
            raise CannotRead(f"{name} is a folder: give the name of a workbook.")
        with open(_opened_at_once(path), "rb") as file:
            # Asked of what is open: by its name there may be something else by now.
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise CannotRead(f"{name} is not a file: give the name of a workbook.")
            return file.read(limits.file_bytes + 1)
    except FileNotFoundError:
        raise CannotRead(f"There is no file {name}.") from None
    except OSError as error:
        raise CannotRead(f"Cannot read {name}: {cause_of(error)}.") from error
    except ValueError as error:
        if isinstance(error, Refusal):
            raise
        raise CannotRead(f"There is no file {name}.") from error


def _opened_at_once(path: Path) -> int:
    """Open a file without waiting for somebody to write into it, as one would for a pipe."""
    return os.open(path, sum(getattr(os, flag, 0) for flag in ("O_BINARY", "O_NONBLOCK")))


def _built(package: Package) -> tuple[Reader, Workbook]:
    """Let the library read a package."""
    name = package.name
    with _in_one_sentence(name):
        reader = Reader(package)
        reader.read()
        workbook: Workbook = reader.wb
        if not workbook.worksheets:
            raise Damaged(f"{name} is damaged: it has no sheet.")
        cells = (cell for worksheet in workbook.worksheets for cell in filled_cells(worksheet))
        _check_cells(cells, package)
    if schema_version(workbook, name) > SCHEMA_VERSION:
        raise NewerWorkbook(
            f"{name} was made by a later version of cultivar_fx: install that version."
        )
    return reader, workbook


@contextmanager
def _in_one_sentence(name: str) -> Iterator[None]:
    """Let whatever the library stumbles over become one sentence."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except Refusal:
        raise
    except MemoryError as error:
        raise _no_memory(name) from error
    except Exception as error:
        raise Damaged(
            f"{name} is damaged ({type(error).__name__}): open it in your spreadsheet program, "
            "save it anew, and try again."
        ) from error


def _no_memory(name: str) -> TooLarge:
    return TooLarge(f"{name} takes more memory than there is.")


def _check_cells(cells: Iterable[Cell], package: Package) -> None:
    """Check what the scan of the parts cannot know: what the cells came out as."""
    name = package.name
    letters = 0
    for cell in cells:
        value = cell.value
        if isinstance(value, str):
            letters += len(value)
        elif isinstance(value, float) and not math.isfinite(value):
            where = f"{shown(cell.parent.title)}, {cell.coordinate}"
            raise Damaged(f"{name} is damaged: {where} holds no number, but {value}.")
    if letters > package.limits.letters:
        raise TooLarge(f"{name} holds more text than a farm's workbook: it is not read.")
