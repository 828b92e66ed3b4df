"""Partner's copies of the small farm, and what is private in an empty workbook."""

from __future__ import annotations

import re
import zipfile
from functools import cache, cached_property
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from small_farm import BATCH_ROWS, few_batches, small_farm

from workbook_template.build import lay_out
from workbook_template.operations import partner_copy as copying
from workbook_template.operations.partner_copy import partner_copy
from workbook_template.operations.private import Formulas, PrivateCells
from workbook_template.schema import SINGLE_INPUTS
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Mapping

    from openpyxl import Workbook

    from workbook_template.writing.layout import Book


OF_MONEY = (
    *("Products", "Orders", "Markets", "Sales", "Costing", "Quote", "Year", "Improve"),
    "Price list",
)
"""Sheets that a new workbook keeps to the farm, in their order."""


class Copy:
    """A workbook's copy; either is read when a test asks for it."""

    def __init__(self, source: Path) -> None:
        self._source = source
        self.path = Path(mkdtemp(prefix="copies-")) / "copy.xlsx"
        self.copied = partner_copy(source, self.path)

    @cached_property
    def before(self) -> Workbook:
        return openpyxl.load_workbook(self._source, data_only=True)

    @cached_property
    def after(self) -> Workbook:
        return openpyxl.load_workbook(self.path)


@cache
def copied_farm(number: int = 1, is_strict: bool = False) -> Copy:
    return Copy(small_farm(number, is_strict).path)


@cache
def empty_book() -> Book:
    return lay_out(Settings(batch_rows=BATCH_ROWS, typed_functions=False))


@cache
def farm_book() -> Book:
    """Say where everything stands in the small farm's workbook."""
    settings = Settings("us", invented=True, batch_rows=BATCH_ROWS, typed_functions=False)
    return lay_out(settings, few_batches())


def parts(path: Path) -> dict[str, str]:
    """Return every part of a file; the clock's time in the properties left out."""
    with zipfile.ZipFile(path) as archive:
        texts = {name: archive.read(name).decode() for name in archive.namelist()}
    times = re.compile(r"<dcterms:\w+[^>]*>[^<]*</dcterms:\w+>")
    return {name: times.sub("", text) for name, text in texts.items()}


def found_in(texts: dict[str, str], secret: str) -> list[str]:
    return [name for name, text in texts.items() if secret in text or secret in name]


def same(value: Any, was: Any) -> bool:
    """Compare what two programs wrote: the last of 17 digits may differ."""
    is_number = isinstance(was, float) and isinstance(value, (int, float))
    return bool(value == (pytest.approx(was, rel=1e-14) if is_number else was))


def private(**marks: Any) -> PrivateCells:
    """Mark an empty workbook: what is not given is as a new workbook says it."""
    usual = {key: SINGLE_INPUTS[key].default for key in copying.MARKS}
    return private_cells({**usual, **marks})


def private_cells(marks: Mapping[str, Any]) -> PrivateCells:
    return PrivateCells(empty_book(), marks, formulas=formulas_of_empty_book())


@cache
def formulas_of_empty_book() -> Formulas:
    return Formulas(empty_book())
