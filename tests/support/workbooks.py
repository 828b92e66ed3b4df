"""Workbooks made for the tests, once a run: empty and with the invented farm, in both systems."""

from __future__ import annotations

from datetime import date, datetime
from functools import cache
from math import isclose
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any, NamedTuple

import openpyxl

from cultivar_fx.cells import serial
from cultivar_fx.errors import CellError
from workbook_template.build import build
from workbook_template.invented.demo_data import demo_entries
from workbook_template.writing.page import Settings

if TYPE_CHECKING:
    from openpyxl import Workbook


ROUNDING = 1e-9
"""What two programs may differ by: the parity asked of every native formula."""


class Made(NamedTuple):
    """A generated file, read twice: its formulas, and its stored values."""

    path: Path
    formulas: Workbook
    values: Workbook

    def cells(self, sheet: str) -> dict[str, str]:
        """Give every formula of a sheet by its address."""
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
    path = Path(mkdtemp(prefix="workbooks-")) / f"{filled}-{units}.xlsx"
    demo = filled == "demo"
    build(path, Settings(units=units, invented=demo), demo_entries(units) if demo else None)
    return Made(path, openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True))


def is_same(stored: Any, computed: Any) -> bool:
    """Return whether a stored value is what a spreadsheet program computes."""
    if isinstance(stored, (date, datetime)):
        stored = serial(stored)
    if isinstance(stored, (int, float)) and isinstance(computed, (int, float)):
        return isclose(stored, computed, rel_tol=ROUNDING, abs_tol=1e-12)
    return (stored or "") == (computed.code if isinstance(computed, CellError) else computed or "")
