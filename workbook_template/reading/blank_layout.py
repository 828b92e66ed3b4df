"""What a release writes itself into a workbook, so that what somebody entered can be told from it.

Of an earlier release one layout is kept for each unit system: it has the sentences of the
invented farm, the Carried over sheet and as few rows as there can be. What a file lacks of that is
not missed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils import column_index_from_string

from workbook_template.build import lay_out
from workbook_template.reading.alignment import Cells, Formula
from workbook_template.reading.contents import formula_of, value_of
from workbook_template.reading.meaning import from_own_row
from workbook_template.releases import RELEASE, kept, stored
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.sheets.forecast_flushes import FLUSHES
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries

if TYPE_CHECKING:
    from workbook_template.writing.layout import Book

ANY_CURRENCY = "¤"
"""The sign for money of no particular country, which stands for any other in a stored layout."""
_FIRST_CHARTS = {"Steam": 1, "Costing": 2, "Week plan": 1, "Forecast": 1, "Results": 2}
_FIRST_CONDITIONS = ('@<>"OK"', "AND(ISNUMBER(@),@>1)")
"""What releases 1 to 3, which kept neither, had of charts and conditional formats."""
_ANY_ROW = "\0"
_ADDRESS = re.compile(r"(?:'(?:[^']|'')+'!|\w+!)?\$?[A-Za-z]{1,3}\$?\d+")


class Column(NamedTuple):
    """A column of a table or grid; a table's has a heading, a computed one a formula."""

    sheet: str
    first: int
    last: int
    number: int
    heading: str = ""
    formula: str = ""


@dataclass
class Layout:
    """What a release writes.

    Attributes
    ----------
    cells : dict
        The cells of each sheet but for those to type in and for tables.
    sheets : dict
        The sheet of each single input, by its key.
    columns : dict
        The columns of tables and grids, by table and key.
    names : list of str
        The names of cells.
    labels : dict
        The words beside each single input and above each column of a grid to type in, by key;
        empty for releases that kept none.
    widths : dict
        The widths of the columns of each sheet, by number; empty for releases that kept none.
    charts : dict
        How many charts each sheet has that has some.
    conditions : set of str
        The forms of our conditional formats.
    """

    cells: dict[str, Cells]
    sheets: dict[str, str]
    columns: dict[tuple[str, str], Column]
    names: list[str] = field(default_factory=list)
    labels: dict[str, str] = field(default_factory=dict)
    widths: dict[str, dict[int, float]] = field(default_factory=dict)
    charts: dict[str, int] = field(default_factory=dict)
    conditions: set[str] = field(default_factory=set)

    def formula(self, table: str, key: str) -> str:
        """Return what a computed column of a table computes; an empty text for any other."""
        column = self.columns.get((table, key))
        return column.formula if column else ""

    @property
    def growing(self) -> list[Column]:
        """The columns of the one grid that has as many rows as the log of batches asks for."""
        return [one for (table, _), one in self.columns.items() if table == FLUSHES]

    def with_rows(self, count: int) -> Layout:
        """Return the layout with so many rows in the grid that grows; nothing stands below it."""
        sheet, first = self.growing[0][:2]
        cells = {place: value for place, value in self.cells[sheet].items() if place[0] < first}
        for one in self.growing:
            model = self.cells[sheet][first, one.number]
            text = model.text if isinstance(model, Formula) else ""
            filled = from_own_row(text, sheet, first, _ANY_ROW)
            for row in range(first, first + count):
                formula = Formula(filled.replace(_ANY_ROW, str(row)))
                cells[row, one.number] = formula if text else row - first + 1
        return replace(self, cells={**self.cells, sheet: cells})


@lru_cache(maxsize=8)
def layout_of(release: int, units: str, currency: str, invented: bool, carried: bool) -> Layout:
    """Return what a release that is known writes into a workbook of a kind."""
    if release == RELEASE:
        return written_now(units, currency, invented, carried)
    return from_stored(stored(release, units), currency)


def written_now(
    units: str, currency: str = ANY_CURRENCY, invented: bool = True, carried: bool = True
) -> Layout:
    """Return what the present release writes into a workbook of a kind."""
    settings = Settings(units, currency, invented, batch_rows=1, typed_functions=False)
    rows = {key: table.rows for key, table in TABLES.items()}
    return _written(lay_out(settings, Entries(carried=[[None]] if carried else []), rows))


def _written(book: Book) -> Layout:
    typed = {(one.sheet, one.row, one.column) for one in book.cells.values() if one.is_input}
    columns: dict[tuple[str, str], Column] = {}
    for (table, key), place in book.columns.items():
        is_input = (table, key) in book.fields
        formula = ""
        if place.heading or is_input:
            first = place.first - bool(place.heading)
            typed.update((place.sheet, row, place.column) for row in range(first, place.last + 1))
        if place.heading and not is_input:
            cell = book.workbook[place.sheet].cell(place.first, place.column)
            named = book.named.get((place.sheet, place.column))
            formula = f"={named}" if named else str(cell.value)
        columns[table, key] = Column(
            place.sheet, place.first, place.last, place.column, place.heading, formula
        )
    cells = {
        sheet.title: {
            place: held(cell)
            for place, cell in sheet._cells.items()
            if cell.value is not None and (sheet.title, *place) not in typed
        }
        for sheet in book.workbook.worksheets
    }
    sheets = {key: one.sheet for key, one in book.cells.items() if one.is_input}
    labels = {key: SINGLE_INPUTS[key].label for key in sheets}
    labels |= {
        f"{grid}.{key}": one.label for (grid, key), one in book.fields.items() if grid not in TABLES
    }
    worksheets: list[Any] = book.workbook.worksheets
    return Layout(
        cells,
        sheets,
        columns,
        list(book.workbook.defined_names),
        labels,
        widths={sheet.title: _widths(sheet) for sheet in worksheets},
        charts={sheet.title: len(sheet._charts) for sheet in worksheets if sheet._charts},
        conditions={
            condition_form(formula)
            for sheet in worksheets
            for cells_formatted in sheet.conditional_formatting
            for rule in cells_formatted.rules
            for formula in rule.formula
        },
    )


def _widths(sheet: Any) -> dict[int, float]:
    dimensions = sheet.column_dimensions
    return {column_index_from_string(letter): dimensions[letter].width for letter in dimensions}


def condition_form(formula: str) -> str:
    """Return the condition of a format with a sign for each cell, wherever it has come to."""
    return _ADDRESS.sub("@", formula.replace(" ", "")).upper()


def held(cell: Any) -> object:
    """Return what a cell holds, a formula as a ``Formula``."""
    formula = formula_of(cell)
    return Formula(formula) if formula else value_of(cell)


@lru_cache(maxsize=8)
def headings_of(release: int | None, currency: str) -> dict[str, list[str]]:
    """Return the headings that an earlier release wrote, by ``table.column``."""
    headings: dict[str, list[str]] = {}
    if release not in (None, RELEASE):
        for layout in kept(release).values():
            for (table, key), column in _columns(layout, currency).items():
                headings.setdefault(f"{table}.{key}", []).append(column.heading)
    return headings


def as_stored(layout: Layout) -> dict[str, Any]:
    """Return a layout in the form in which a release is kept.

    Formulas and other contents stand in lists of their own: a text may begin with an equals sign.
    """
    kinds: dict[str, dict[str, list[Any]]] = {"formulas": {}, "others": {}}
    for sheet, cells in layout.cells.items():
        for (row, column), value in cells.items():
            is_formula = isinstance(value, Formula)
            kind = kinds["formulas" if is_formula else "others"]
            kind.setdefault(sheet, []).append(
                [row, column, value.text if isinstance(value, Formula) else value]
            )
    return {
        **kinds,
        "tabs": list(layout.cells),
        "sheets": layout.sheets,
        "columns": [[*key, *column] for key, column in layout.columns.items()],
        "names": layout.names,
        "labels": layout.labels,
        "widths": {sheet: list(widths.items()) for sheet, widths in layout.widths.items()},
        "charts": layout.charts,
        "conditions": sorted(layout.conditions),
    }


def from_stored(content: dict[str, Any], currency: str) -> Layout:
    """Return a layout that was kept, with a currency."""
    cells: dict[str, Cells] = {sheet: {} for sheet in content["tabs"]}
    for sheet, others in content["others"].items():
        for row, column, value in others:
            is_text = isinstance(value, str)
            cells[sheet][row, column] = value.replace(ANY_CURRENCY, currency) if is_text else value
    for sheet, formulas in content["formulas"].items():
        for row, column, text in formulas:
            cells[sheet][row, column] = Formula(text.replace(ANY_CURRENCY, currency))
    columns = _columns(content, currency)
    labels = content.get("labels", {})
    looks = (
        {sheet: dict(pairs) for sheet, pairs in content.get("widths", {}).items()},
        content.get("charts", _FIRST_CHARTS),
        set(content.get("conditions", _FIRST_CONDITIONS)),
    )
    return Layout(cells, content["sheets"], columns, content["names"], labels, *looks)


def _columns(content: dict[str, Any], currency: str) -> dict[tuple[str, str], Column]:
    return {
        (table, key): Column(*place, *(text.replace(ANY_CURRENCY, currency) for text in texts))
        for table, key, *place, texts in ((*line[:6], line[6:]) for line in content["columns"])
    }
