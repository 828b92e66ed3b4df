"""Works with a workbook as growers do, at random, and keeps account of everything entered."""

from __future__ import annotations

import random
import re
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from openpyxl.cell.cell import MergedCell
from openpyxl.comments import Comment
from openpyxl.utils import get_column_letter, range_boundaries
from openpyxl.utils.datetime import to_excel
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.cell_range import MultiCellRange
from openpyxl.worksheet.filters import AutoFilter
from openpyxl.worksheet.table import TableColumn
from shared import shared
from workbooks import loaded

from cultivar_fx.errors import CellError
from workbook_template.build import build
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import Computed, Field
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import input_name, table_name

if TYPE_CHECKING:
    from pathlib import Path

    from openpyxl.worksheet.worksheet import Worksheet

TEXTS = (
    "Lentil straw", "Größe Ä", "香菇 №5", "🍄🍄", "فطر المحار", "e\u0301te\u0301", "=1+1", "=A1",
    "+49 170", "-", "@SUM(A1)", "=cmd|' /C calc'!A0", "'quoted", "''", " led", "ends ", " ",
    "line\nbreak", "<&>\"'", "TRUE", "123", "1e5", "#N/A", "62 %", "10 lb", "0", "null", "N" * 3000,
)  # fmt: skip
"""Texts as people paste them: of many scripts, like formulas, like numbers, like markup."""
NUMBERS = (0, 1, -3, 62, 0.62, 1e-9, 1e15, 12345.678901234, 2.5, 7, 99.99, 1 / 3, 0.1, -40)
DATES = (date(2024, 2, 29), date(1999, 12, 31), datetime(2026, 3, 14, 6, 30), date(2100, 1, 1))
ODD = (CellError("#N/A", ""), CellError("#DIV/0!", ""), time(6, 30))
DELETED = {"Functions": 0.9, "Sources": 0.9, "Week plan": 0.8, "Costing": 0.5, "Results": 0.3}
"""How often a grower does without a sheet; a file is read in half the time without them."""
BATCH_ROWS = 4


@dataclass
class Account:
    """Everything that was entered into a workbook.

    ``besides`` counts what is outside of the cells to type in: sheet, cell and what stands there.
    """

    units: str
    singles: dict[str, Any] = field(default_factory=dict)
    tables: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    besides: Counter[tuple[str, str, str]] = field(default_factory=Counter)

    def note(self, sheet: str, cell: str, value: object) -> None:
        """Take down something besides."""
        self.besides[sheet, cell, plain(value)] += 1

    @property
    def entered(self) -> int:
        """How many cells were entered."""
        singles = sum(value is not None for value in self.singles.values())
        rows = sum(len(row) for rows in self.tables.values() for row in rows)
        return singles + rows + self.besides.total()


def serial(value: Any) -> Any:
    """Return a date or a time of day as the number that stands in its cell."""
    return to_excel(value) if isinstance(value, date | time) else value


def plain(value: object) -> str:
    """Return a value in one spelling; a date is its number, to the second."""
    if isinstance(value, date | time):
        return f"number {serial(value):.5f}"
    if isinstance(value, int | float):
        return f"number {value:.5f}" if abs(value) < 1e6 else f"number {value:.12g}"
    return f"{type(value).__name__} {value!r}"


def blank(units: str) -> Path:
    """Build a small workbook."""
    settings = Settings(units=units, currency="€", batch_rows=BATCH_ROWS, typed_functions=False)
    return shared(f"blank-{units}.xlsx", lambda path: build(path, settings))


def enter(cell: Any, value: Any) -> None:
    """Type into a cell."""
    if isinstance(value, CellError):
        cell.value, cell.data_type = value.code, "e"
    else:
        cell.value = value
        if isinstance(value, str):
            cell.data_type = "s"


class Edits:
    """One workbook that is worked with; the seed decides how."""

    def __init__(self, seed: int, path: Path) -> None:
        self.random = random.Random(seed)
        self.account = Account(self.random.choice(("us", "metric")))
        self.workbook = loaded(blank(self.account.units))
        self.renamed: dict[str, str] = {}
        for name, share in DELETED.items():
            if self.chance(share):
                self.workbook.remove(self.workbook[name])
        self._rename_sheets()
        self._fill_inputs()
        self._fill_grid()
        for sheet in self.workbook.worksheets:
            for excel in list(sheet.tables.values()):
                _TableEdits(self, sheet, excel)
        self._type_over()
        self._rewrite_formulas()
        self._besides()
        self.workbook.save(path)

    def chance(self, share: float) -> bool:
        return self.random.random() < share

    def value(self, one: Field) -> Any:
        """Return something to type: mostly what belongs there, at times what does not."""
        usual = TEXTS if not one.is_number else DATES if one.unit == "date" else NUMBERS
        pool = usual if self.chance(0.85) else self.random.choice((TEXTS, NUMBERS, DATES, ODD))
        chosen = self.random.choice(pool)
        if pool is NUMBERS and self.chance(0.5):
            chosen = round(self.random.uniform(-50, 5000), self.random.randint(0, 9))
        return chosen

    def _rename_sheets(self) -> None:
        for sheet in self.workbook.worksheets:
            if self.chance(0.15):
                old, sheet.title = (
                    sheet.title,
                    self.random.choice(("Mine ", "Blatt 'ü' ")) + str(self.workbook.index(sheet)),
                )
                for name in self.workbook.defined_names.values():
                    place, _, cells = name.attr_text.rpartition("!")
                    if place.strip("'") == old:
                        quoted = sheet.title.replace("'", "''")
                        name.attr_text = f"'{quoted}'!{cells}"
                for written in (f"'{old}'!", f"{old}!"):
                    self.renamed[written] = "'" + sheet.title.replace("'", "''") + "'!"

    def _rewrite_formulas(self) -> None:
        """Let formulas say the new names of sheets and columns, as a program does: not texts."""
        for sheet in self.workbook.worksheets:
            for cell in sheet._cells.values():
                if cell.data_type == "f":
                    parts = cell.value.split('"')
                    for old, new in self.renamed.items():
                        parts[::2] = [part.replace(old, new) for part in parts[::2]]
                    cell.value = '"'.join(parts)

    def named(self, name: str) -> tuple[Worksheet, str] | None:
        """Find the cells of a key, unless their sheet was deleted."""
        place, _, cells = self.workbook.defined_names[input_name(name)].attr_text.rpartition("!")
        title = place.strip("'").replace("''", "'")
        is_there = title in self.workbook.sheetnames
        return (self.workbook[title], cells.replace("$", "")) if is_there else None

    def _fill_inputs(self) -> None:
        for key, one in SINGLE_INPUTS.items():
            if (place := self.named(key)) is None:
                continue
            sheet, cell = place
            value = None if self.chance(0.2) else self.value(one)
            enter(sheet[cell], value)
            self.account.singles[key] = value

    def _fill_grid(self) -> None:
        place = self.named("weigh_measured")
        assert place is not None
        sheet, cells = place
        rows = []
        for (cell,) in sheet[cells]:
            value = self.random.choice((None, 0.1, 0.62, "wet", 62))
            enter(cell, value)
            rows.append({} if value is None else {"measured": value})
        self.account.tables["weigh"] = rows

    def _type_over(self) -> None:
        """Type numbers over computed cells of forms."""
        for sheet in self.workbook.worksheets:
            tables = [range_boundaries(one.ref) for one in sheet.tables.values()]
            computed = [
                cell
                for cell in sheet._cells.values()
                if cell.data_type == "f"
                and cell.row > 4
                and not any(top <= cell.row <= bottom for _, top, _, bottom in tables)
            ]
            for cell in self.random.sample(computed, min(len(computed), self.random.randint(0, 2))):
                cell.value = self.random.choice(NUMBERS)
                self.account.note(sheet.title, cell.coordinate, cell.value)

    def _besides(self) -> None:
        """Enter what is nobody's business: notes, cells, a sheet, a name."""
        sheets = list(self.workbook.worksheets)
        for sheet in self.random.sample(sheets, 4):
            for row in self.random.sample(range(1, 30), 3):
                cell = sheet.cell(row, sheet.max_column + 2)
                enter(cell, self.random.choice((*TEXTS, *NUMBERS)))
                self.account.note(sheet.title, cell.coordinate, cell.value)
        for sheet in self.random.sample(sheets, 3):
            cell = sheet.cell(self.random.randint(5, 20), 2)
            if cell.comment is None and not isinstance(cell, MergedCell):
                words = self.random.choice(TEXTS[:5])
                cell.comment = Comment(words, "Ana")
                self.account.note(sheet.title, cell.coordinate, words)
        if self.chance(0.5):
            extra = self.workbook.create_sheet("Plan für Mai")
            for row in range(2, self.random.randint(3, 8)):
                for column in range(1, self.random.randint(2, 6)):
                    enter(extra.cell(row, column), self.random.choice((*TEXTS, *NUMBERS, *DATES)))
                    cell = extra.cell(row, column)
                    self.account.note(extra.title, cell.coordinate, cell.value)
        if self.chance(0.3):
            self.workbook.defined_names["my_price"] = DefinedName("my_price", attr_text="Farm!$B$8")
            self.account.note("", "", "my_price")


_OWN_ROW = re.compile(r"(?<![!:\w])\$([A-Z]{1,3})([0-9]+)")
"""Column and row of a cell that a formula addresses in its own row."""


class _TableEdits:
    """The work on one table."""

    def __init__(self, edits: Edits, sheet: Worksheet, excel: Any) -> None:
        self.edits = edits
        self.random = edits.random
        self.table = next(one for key, one in TABLES.items() if table_name(key) == excel.name)
        self.sheet = sheet
        self.excel = excel
        self.left, self.top, self.right, self.bottom = range_boundaries(self.excel.ref)
        self.columns = [column.key for column in self.table.columns]
        if edits.chance(0.3):
            self._swap()
        if edits.chance(0.2):
            self._rename_heading()
        self._fill()
        if edits.chance(0.3):
            self._add_column()
        self._type_over()
        if edits.chance(0.3):
            self._filter()

    def _cell(self, row: int, key: str) -> Any:
        return self.sheet.cell(row, self.left + self.columns.index(key))

    def _swap(self) -> None:
        """Move a column to another place, with its validation."""
        one, other = self.random.sample(range(len(self.columns)), 2)
        for row in range(self.top, self.bottom + 1):
            here, there = (self.sheet.cell(row, self.left + at) for at in (one, other))
            here.value, there.value = there.value, here.value
            here._style, there._style = there._style, here._style
        moved = {self.left + one: self.left + other, self.left + other: self.left + one}
        for validation in self.sheet.data_validations.dataValidation:
            column, top, _, bottom = range_boundaries(str(validation.sqref))
            if column in moved and self.top < top <= self.bottom:
                letter = get_column_letter(moved[column])
                validation.sqref = MultiCellRange(f"{letter}{top}:{letter}{bottom}")
        letters = {
            get_column_letter(here): get_column_letter(there) for here, there in moved.items()
        }

        def moved_along(own: re.Match[str]) -> str:
            is_inside = self.top < int(own[2]) <= self.bottom
            return "$" + (letters.get(own[1], own[1]) if is_inside else own[1]) + own[2]

        for cell in self.sheet._cells.values():  # programs let addresses go with the cells
            if cell.data_type == "f":
                parts = cell.value.split('"')
                parts[::2] = [_OWN_ROW.sub(moved_along, part) for part in parts[::2]]
                cell.value = '"'.join(parts)
        columns = self.excel.tableColumns
        columns[one].name, columns[other].name = columns[other].name, columns[one].name
        keys = self.columns
        keys[one], keys[other] = keys[other], keys[one]

    def _rename_heading(self) -> None:
        key = self.random.choice([column.key for column in self.table.fields])
        cell = self._cell(self.top, key)
        old, cell.value = cell.value, f"Mein {self.random.randint(1, 99)}"
        for start in ("[[", "[[#This Row],["):
            before = table_name(self.table.key) + start
            self.edits.renamed[f"{before}{old}]]"] = f"{before}{cell.value}]]"
        self.excel.tableColumns[self.columns.index(key)].name = cell.value
        self.edits.account.note(self.sheet.title, cell.coordinate, cell.value)

    def _fill(self) -> None:
        """Type rows, at times with blank ones between, and at times below the last."""
        ready = self.bottom - self.top
        is_last = self.sheet.max_row == self.bottom
        count = self.random.choice((0, 1, 3, ready, ready + 4 * is_last))
        begun = len(self.table.starts)  # of a new workbook, which stay where nothing is typed over
        rows = []
        for row in range(self.top + 1, self.top + 1 + max(count, begun)):
            inside = row <= self.bottom
            typed = {
                one.key: self._cell(row, one.key).value
                for one in self.table.fields
                if inside and self._cell(row, one.key).value is not None
            }
            for one in self.table.fields if row <= self.top + count else ():
                share = 0.9 if one is self.table.first else 0.6
                if (inside and self.edits.chance(0.1)) or not self.edits.chance(share):
                    continue
                typed[one.key] = self.edits.value(one)
            if not inside:
                typed.setdefault(self.table.first.key, "typed below")
            for key, value in typed.items():
                enter(self._cell(row, key), value)
            if typed:
                rows.append(typed)
        if count > ready and self.edits.chance(0.5):
            self.bottom = self.top + count
            self._resize()
        self.edits.account.tables[self.table.key] = rows

    def _resize(self) -> None:
        letters = get_column_letter(self.left), get_column_letter(self.right)
        self.excel.ref = f"{letters[0]}{self.top}:{letters[1]}{self.bottom}"

    def _add_column(self) -> None:
        """Put a column of the grower's own at the end of the table."""
        self.right += 1
        self._resize()
        title = f"Weather {self.right}"
        self.excel.tableColumns.append(TableColumn(id=self.right - self.left + 1, name=title))
        typed = {self.top: title}
        for row in self.random.sample(range(self.top + 1, self.bottom + 1), 3):
            typed[row] = self.random.choice((*TEXTS, *NUMBERS))
        for row, value in typed.items():
            cell = self.sheet.cell(row, self.right)
            enter(cell, value)
            self.edits.account.note(self.sheet.title, cell.coordinate, value)

    def _type_over(self) -> None:
        computed = [one.key for one in self.table.columns if isinstance(one, Computed)]
        for key in self.random.sample(computed, min(len(computed), self.random.randint(0, 2))):
            cell = self._cell(self.random.randint(self.top + 1, self.bottom), key)
            enter(cell, self.random.choice((*NUMBERS, "typed over")))
            self.edits.account.note(self.sheet.title, cell.coordinate, cell.value)

    def _filter(self) -> None:
        """Hide rows, as a filter does."""
        self.excel.autoFilter = AutoFilter(ref=self.excel.ref)
        for row in self.random.sample(range(self.top + 1, self.bottom + 1), 2):
            self.sheet.row_dimensions[row].hidden = True
