"""Workbooks made for the tests, once a run: empty and with the invented farm, in both systems."""

from __future__ import annotations

import copyreg
import gc
import pickle
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache, cached_property
from math import isclose
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import openpyxl
from openpyxl.worksheet.table import TableList
from shared import shared

from cultivar_fx.calls.cells import serial
from cultivar_fx.errors import CellError
from workbook_template.build import build
from workbook_template.demo.data import demo_entries
from workbook_template.reading.entries import read_opened
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from office import Office
    from openpyxl import Workbook

    from workbook_template.reading.entries import Reading


# Its items() are not what it holds, and pickle would take them for that.
copyreg.pickle(TableList, lambda tables: (TableList, (dict(dict.items(tables)),)))

ROUNDING = 1e-9
"""What two programs may differ by: the parity asked of every native formula."""


@dataclass(frozen=True)
class Made:
    """A generated file, read once for its formulas, and once for its stored values."""

    path: Path

    @cached_property
    def formulas(self) -> Workbook:
        return kept(loaded(self.path))

    @cached_property
    def values(self) -> Workbook:
        return kept(loaded(self.path, data_only=True))

    def cells(self, sheet: str) -> dict[str, str]:
        """Return every formula of a sheet by its address."""
        return {
            cell.coordinate: cell.value
            for row in self.formulas[sheet].iter_rows()
            for cell in row
            if cell.data_type == "f"
        }


KINDS = [(units, filled) for units in ("us", "metric") for filled in ("empty", "demo")]


@cache
def made(units: str, filled: str) -> Made:
    """Build a workbook of one kind."""
    settings = Settings(units=units, invented=filled == "demo")
    entries = demo_entries(units) if settings.invented else None
    return Made(shared(f"{filled}-{units}.xlsx", lambda path: build(path, settings, entries)))


def saved_by(office: Office, units: str) -> Path:
    """Let LibreOffice save the demo as it is."""

    def save(path: Path) -> None:
        with office.document(made(units, "demo").path) as document:
            document.store(path)

    return shared(f"saved-{units}.xlsx", save)


def loaded(path: Path, data_only: bool = False) -> Workbook:
    """Load a shared workbook for whoever changes it; parsed once a run, which takes longest."""

    def parse(to: Path) -> None:
        to.write_bytes(pickle.dumps(openpyxl.load_workbook(path, data_only=data_only)))

    pickled = shared(f"{path}-{data_only}.pickle", parse).read_bytes()
    with nothing_collected():
        workbook: Workbook = pickle.loads(pickled)
    for sheet in workbook.worksheets:  # pickle drops what makes the lines that are missing
        sheet.row_dimensions.default_factory = sheet._add_row
        sheet.column_dimensions.default_factory = sheet._add_column
    return workbook


@contextmanager
def nothing_collected() -> Iterator[None]:
    """Make many objects of which none is garbage yet: looking for some takes longer than that."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def kept(workbook: Workbook) -> Workbook:
    """Keep a workbook to the end: nobody looks for garbage among its cells from now on."""
    gc.collect()
    gc.freeze()
    return workbook


def reading_of(workbook: Workbook) -> Reading:
    """Read a workbook as it is in memory; its formulas have no values, as openpyxl saves them."""
    opened: Any = SimpleNamespace(data=b"", formulas=workbook, values={})
    return read_opened(Path("farm.xlsx"), opened)


def is_same(stored: Any, computed: Any) -> bool:
    """Return whether a stored value is what a spreadsheet program computes."""
    if isinstance(stored, (date, datetime)):
        stored = serial(stored)
    if isinstance(stored, (int, float)) and isinstance(computed, (int, float)):
        return isclose(stored, computed, rel_tol=ROUNDING, abs_tol=1e-12)
    return (stored or "") == (computed.code if isinstance(computed, CellError) else computed or "")
