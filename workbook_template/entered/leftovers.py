"""Finds everything in a workbook that stands outside of the cells to type in.

The file is laid beside a blank workbook of the same kind: what we wrote ourselves is set aside,
and every cell that remains was typed, or typed over, by somebody.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils.cell import coordinate_to_tuple

from workbook_template.entered.alignment import Alignment, Cells, Formula, match_sheets
from workbook_template.entered.contents import Found, formula_of
from workbook_template.entered.formula_shape import shape
from workbook_template.entered.own_cells import blank, held, same, shapes, unmoved
from workbook_template.long_work import tell
from workbook_template.marks import VERSION_LINES
from workbook_template.schema import SCHEMA_VERSION, SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import Computed, Field, heading
from workbook_template.sheets.start import START
from workbook_template.writing.book import name_in
from workbook_template.writing.page import FIRST_ROW

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook_template.entered.reading import Reading
    from workbook_template.entered.tables_found import TableFound

TYPED_OVER = "computed cell, typed over"
OTHER_FORMULA = "computed cell, with another formula"
DELETED = "computed cell, deleted"
TYPED_FORMULA = "formula in a cell to type in"
EXTRA_COLUMN = "column of your own"
EXTRA_SHEET = "sheet of your own"
EXTRA_CELL = "beside our cells"
CHANGED_WORDS = "words of ours, changed"
NOTE = "note"
NAME = "name of your own"
"""The kinds of what is left over, in the words of the report."""

_LABEL, _UNIT = 1, 3


class Leftover(NamedTuple):
    """One thing outside of the cells to type in: what it is, its cell, and what it belongs to."""

    kind: str
    found: Found
    about: str = ""


class Search:
    """Searches one workbook for what stands outside of the cells to type in.

    Parameters
    ----------
    reading : Reading
        A workbook that was read.
    """

    def __init__(self, reading: Reading) -> None:
        tell("Looking for what stands besides")
        self._reading = reading
        self._contents = reading.contents
        settings = reading.settings
        self._book, self._ours = blank(
            settings.units,
            settings.currency,
            settings.invented,
            settings.batch_rows,
            any(self._contents.lines_from(sheet) for sheet in self._contents.sheets),
        )
        self._tables: dict[str, list[TableFound]] = {}
        for key, found in reading.tables.items():
            if key in TABLES:
                self._tables.setdefault(found.area.sheet, []).append(found)
        self._left = {name: self._outside(name) for name in self._contents.sheets}
        self._homes = match_sheets(self._ours, self._left, self._known_sheets())
        self._aligned: dict[str, dict[tuple[int, int], tuple[int, int]]] = {}
        self._shapes: dict[tuple[str, str], str] = {}

    @cached_property
    def leftovers(self) -> list[Leftover]:
        """What stands outside of the cells to type in, and formulas and notes within them."""
        return [*self._by_sheets(), *self._names()]

    def deleted(self) -> Iterator[Leftover]:
        """Find the computed cells outside of tables that are blank now.

        Yields
        ------
        Leftover
            Each with its place, and the words beside it.
        """
        for name, sheet in ({} if self._is_older else self._homes).items():
            ours, kept = shapes(self._ours[name]), shapes(self._left[sheet])
            places = self._places(name)
            for place, value in self._ours[name].items():
                if isinstance(value, Formula) and kept[shape(value.text)] < ours[shape(value.text)]:
                    found = self._contents.found(sheet, *places[place])
                    if places[place][0] and not found.is_filled:
                        yield Leftover(DELETED, found, self._label(name, place))

    def _by_sheets(self) -> Iterator[Leftover]:
        names = {theirs: ours for ours, theirs in self._homes.items()}
        for sheet in self._contents.sheets:
            if sheet in names:
                found = [*self._of_sheet(sheet, names[sheet]), *self._of_tables(sheet)]
            else:
                found = [
                    Leftover(EXTRA_SHEET, self._contents.found(sheet, *place))
                    for place in self._left[sheet]
                ]
            found += [*self._formulas(sheet), *self._of_lines(sheet), *self._notes(sheet)]
            yield from sorted(found, key=lambda one: coordinate_to_tuple(one.found.cell))

    def _names(self) -> Iterator[Leftover]:
        """Find the names that the grower gave."""
        version = self._reading.version
        ours = {name_in(version, name) for name in self._book.workbook.defined_names}
        for name, defined in self._contents.workbook.defined_names.items():
            if name not in ours and not name.startswith(("CFX.", "_xlnm.")):
                yield Leftover(NAME, Found("", "", name, f"={defined.attr_text}"))

    def _places(self, name: str) -> dict[tuple[int, int], tuple[int, int]]:
        """Tell where each cell of a sheet as we write it is in the file; row 0 where it is gone."""
        if name not in self._aligned:
            alignment = Alignment(self._ours[name], self._left[self._homes[name]])
            self._aligned[name] = {place: alignment.place(*place) for place in self._ours[name]}
        return self._aligned[name]

    def _known_sheets(self) -> dict[str, str]:
        """Tell which sheet is which by the inputs and tables that stand there."""
        votes: dict[str, Counter[str]] = {}
        for key, found in self._reading.singles.items():
            votes.setdefault(self._book.cells[key].sheet, Counter())[found.sheet] += 1
        for key, table in self._reading.tables.items():
            place = next(place for (name, _), place in self._book.columns.items() if name == key)
            votes.setdefault(place.sheet, Counter())[table.area.sheet] += 1
        known: dict[str, str] = {}
        for ours, counts in votes.items():
            theirs = counts.most_common(1)[0][0]
            if theirs not in known.values():
                known[ours] = theirs
        return known

    def _outside(self, sheet: str) -> Cells:
        """Give the cells of a sheet that are neither inputs nor in a table."""
        inputs = {
            coordinate_to_tuple(found.cell)
            for found in self._reading.singles.values()
            if found.sheet == sheet
        }
        for key, grid in self._reading.tables.items():
            if key not in TABLES and grid.area.sheet == sheet:
                columns = grid.columns.values()
                inputs.update((row.row, column) for row in grid.rows for column in columns)
        lines = self._contents.lines_from(sheet)
        zones = [(found.area, found.last_row) for found in self._tables.get(sheet, ())]
        cells: dict[tuple[int, int], object] = {}
        for row, line in self._contents.rows[sheet].items():
            if 0 < lines <= row:
                continue
            across = [area for area, last in zones if area.top <= row <= last]
            for column, cell in line.items():
                in_table = any(area.left <= column <= area.right for area in across)
                if not in_table and (row, column) not in inputs:
                    value = held(cell)
                    if value is not None:
                        cells[row, column] = value
        return cells

    # A sheet of ours

    def _of_sheet(self, sheet: str, name: str) -> Iterator[Leftover]:
        left = dict(self._left[sheet])
        places = self._places(name)
        lost: list[object] = []
        for place, value in self._ours[name].items():
            there = places[place]
            if same(value, left.get(there)) or self._is_version(name, place, left, there):
                del left[there]
            elif isinstance(value, Formula) and there in left:
                is_formula = isinstance(left.pop(there), Formula)
                if is_formula and self._is_older:
                    continue
                kind = OTHER_FORMULA if is_formula else TYPED_OVER
                found = self._contents.found(sheet, *there)
                yield Leftover(kind, found, self._label(name, place))
            else:
                lost.append(value)
        words = set(places.values())
        for place in unmoved(left, lost):
            kind = CHANGED_WORDS if place in words else EXTRA_CELL
            if isinstance(left[place], Formula) and self._is_older:
                continue
            yield Leftover(kind, self._contents.found(sheet, *place), self._row_of(sheet, *place))

    @property
    def _is_older(self) -> bool:
        """Tell whether another formula than the present one may be that version's own."""
        return self._reading.version < SCHEMA_VERSION

    def _value(self, sheet: str, row: int, column: int) -> object:
        return self._contents.found(sheet, row, column).value

    def _row_of(self, sheet: str, row: int, column: int) -> str:
        """Give the words that a row begins with, for a cell further right."""
        label = self._value(sheet, row, _LABEL)
        is_label = isinstance(label, str) and column != _LABEL and row >= FIRST_ROW
        return str(label) if is_label else ""

    def _is_version(
        self, name: str, place: tuple[int, int], left: Cells, there: tuple[int, int]
    ) -> bool:
        """Tell whether a cell is one of the lines that say which version wrote the file."""
        row, column = place
        label = self._ours[name].get((row, column - 1))
        return name == START and there in left and label in VERSION_LINES

    def _label(self, name: str, place: tuple[int, int]) -> str:
        """Say what a computed cell is: the words beside it, or the heading above it."""
        ours = self._ours[name]
        row, column = place
        beside, unit = ours.get((row, _LABEL)), ours.get((row, _UNIT))
        if isinstance(beside, str):
            return f"{beside}, {unit}" if isinstance(unit, str) else beside
        above = (ours.get((up, column)) for up in range(row - 1, 0, -1))
        return next((one for one in above if isinstance(one, str)), "")

    # Tables

    def _of_tables(self, sheet: str) -> Iterator[Leftover]:
        for found in self._tables.get(sheet, ()):
            yield from self._of_table(found)

    def _of_table(self, found: TableFound) -> Iterator[Leftover]:
        table, area = TABLES[found.key], found.area
        columns = {number: table.column(key) for key, number in found.columns.items()}
        columns |= self._renamed(found)
        names = found.columns.get(table.first.key, area.left)
        rows, last = self._contents.rows[area.sheet], found.last_row
        for row in [one for one in rows if area.top <= one <= last]:
            for number, cell in rows[row].items():
                if not area.left <= number <= area.right or cell.value is None:
                    continue
                if row == area.top:
                    kind, about = self._heading(columns.get(number), cell)
                else:
                    kind = self._in_table(found.key, columns.get(number), cell)
                    title = self._value(area.sheet, area.top, number) if kind else ""
                    about = f"{title}: {self._value(area.sheet, row, names)}" if kind else ""
                if kind:
                    yield Leftover(kind, self._contents.found(area.sheet, row, number), about)

    def _renamed(self, found: TableFound) -> dict[int, Field | Computed]:
        """Find computed columns whose heading was changed, by their formulas."""
        table, area = TABLES[found.key], found.area
        missing = {
            self._formula(table.key, one.key): one
            for one in table.columns
            if one.key not in found.columns and isinstance(one, Computed)
        }
        first = self._contents.rows[area.sheet].get(area.top + 1, {}) if missing else {}
        return {
            number: missing[shape(formula_of(cell))]
            for number, cell in first.items()
            if area.left <= number <= area.right
            and number not in found.columns.values()
            and shape(formula_of(cell)) in missing
        }

    def _heading(self, column: Field | Computed | None, cell: Any) -> tuple[str, str]:
        """Tell what a heading is, if it is none of ours, and how it should read."""
        if column is None:
            return EXTRA_COLUMN, ""
        settings = self._reading.settings
        wanted = heading(column, settings.units, settings.currency)
        return ("" if cell.value == wanted else CHANGED_WORDS), wanted

    def _in_table(self, table: str, column: Field | Computed | None, cell: Any) -> str:
        """Tell what a cell of a table is, if it is neither to type in nor as we write it."""
        if column is None:
            return EXTRA_COLUMN
        if isinstance(column, Field):
            return ""
        formula = formula_of(cell)
        if not formula:
            return TYPED_OVER
        is_ours = self._is_older or shape(formula) == self._formula(table, column.key)
        return "" if is_ours else OTHER_FORMULA

    def _formula(self, table: str, key: str) -> str:
        """Give the shape of the formula that a column computes."""
        if (table, key) not in self._shapes:
            place = self._book.columns[table, key]
            cell = self._book.workbook[place.sheet].cell(place.first, place.column)
            self._shapes[table, key] = shape(str(cell.value))
        return self._shapes[table, key]

    # Everywhere

    def _formulas(self, sheet: str) -> Iterator[Leftover]:
        """Find the formulas that stand where something is to be typed."""
        for key, found in self._reading.singles.items():
            if found.sheet == sheet and found.formula:
                yield Leftover(TYPED_FORMULA, found, SINGLE_INPUTS[key].label)
        for table in self._reading.tables.values():
            for row in table.rows if table.area.sheet == sheet else ():
                for key, found in row.cells.items():
                    if found.formula:
                        title = self._value(sheet, table.area.top, table.columns[key])
                        yield Leftover(
                            TYPED_FORMULA, found, str(title) if table.key in TABLES else key
                        )

    def _of_lines(self, sheet: str) -> Iterator[Leftover]:
        """Find formulas among lines that were carried over earlier; their values are carried."""
        first = self._contents.lines_from(sheet)
        for row, line in self._contents.rows[sheet].items():
            for column, cell in line.items():
                if 0 < first <= row and formula_of(cell):
                    yield Leftover(EXTRA_CELL, self._contents.found(sheet, row, column))

    def _notes(self, sheet: str) -> Iterator[Leftover]:
        for row, line in self._contents.rows[sheet].items():
            for column, cell in line.items():
                if cell.comment:
                    about = self._row_of(sheet, row, column)
                    yield Leftover(NOTE, self._contents.found(sheet, row, column), about)
