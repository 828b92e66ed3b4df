"""Workbooks made for the tests, once a run: empty and with the invented farm, in both systems."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, NamedTuple

import openpyxl

from workbook_template.build import build
from workbook_template.invented.demo_data import demo_entries
from workbook_template.writing.page import Settings

if TYPE_CHECKING:
    from openpyxl import Workbook


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
