"""What we write ourselves, so that what somebody entered can be told from it."""

from __future__ import annotations

from collections import Counter
from datetime import date
from functools import lru_cache
from math import isclose
from typing import TYPE_CHECKING, Any

from openpyxl.utils.datetime import to_excel

from workbook_template.build import lay_out
from workbook_template.entered.alignment import Cells, Formula
from workbook_template.entered.contents import formula_of, value_of
from workbook_template.entered.formula_shape import shape
from workbook_template.schema import TABLES
from workbook_template.writing.book import Entries
from workbook_template.writing.page import Settings

if TYPE_CHECKING:
    from workbook_template.writing.book import Book

_SAME_NUMBER = 1e-14
"""LibreOffice keeps 15 digits."""


@lru_cache(maxsize=4)
def blank(
    units: str, currency: str, invented: bool, batch_rows: int, carried: bool
) -> tuple[Book, dict[str, Cells]]:
    """Lay out a blank workbook of a kind, and give the cells that we write in it.

    Its logs are short: what stands in a table is told by the schema.
    """
    settings = Settings(units, currency, invented, batch_rows, typed_functions=False)
    rows = {key: table.rows for key, table in TABLES.items()}
    book = lay_out(settings, Entries(carried=[[None]] if carried else []), rows)
    return book, _written(book)


def _written(book: Book) -> dict[str, Cells]:
    """Give the cells that we write, but for inputs and tables."""
    typed = {(one.sheet, one.row, one.column) for one in book.cells.values() if one.is_input}
    for (table, key), place in book.columns.items():
        if place.heading or (table, key) in book.fields:
            first = place.first - bool(place.heading)
            typed.update((place.sheet, row, place.column) for row in range(first, place.last + 1))
    return {
        sheet.title: {
            place: held(cell)
            for place, cell in sheet._cells.items()
            if cell.value is not None and (sheet.title, *place) not in typed
        }
        for sheet in book.workbook.worksheets
    }


def held(cell: Any) -> object:
    """Give what a cell holds, a formula as a ``Formula``."""
    formula = formula_of(cell)
    return Formula(formula) if formula else value_of(cell)


def same(ours: object, theirs: object) -> bool:
    """Tell whether a cell is as we write it, whatever program saved it."""
    if isinstance(ours, Formula) and isinstance(theirs, Formula):
        return ours == theirs or shape(ours.text) == shape(theirs.text)
    if isinstance(theirs, date):  # the number that we write, in the format of a date
        theirs = to_excel(theirs)  # type: ignore[no-untyped-call]
    if isinstance(ours, int | float) and isinstance(theirs, int | float):
        return isclose(ours, theirs, rel_tol=_SAME_NUMBER)
    return type(ours) is type(theirs) and ours == theirs


def unmoved(left: Cells, lost: list[object]) -> list[tuple[int, int]]:
    """Give the cells that hold nothing that we wrote elsewhere on the sheet."""
    moved = Counter(_kind_and_text(one) for one in lost if isinstance(one, Formula | str))
    rest = []
    for place, value in sorted(left.items(), key=lambda one: one[0]):
        key = _kind_and_text(value) if isinstance(value, Formula | str) else None
        if key and moved[key] > 0:
            moved[key] -= 1
        else:
            rest.append(place)
    return rest


def _kind_and_text(value: Formula | str) -> tuple[bool, str]:
    return (True, shape(value.text)) if isinstance(value, Formula) else (False, value)


def shapes(cells: Cells) -> Counter[str]:
    """Count the formulas of each shape."""
    return Counter(shape(one.text) for one in cells.values() if isinstance(one, Formula))
