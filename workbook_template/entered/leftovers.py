"""Finds everything in a workbook that stands outside of the cells to type in.

The file is laid beside a blank workbook of the same kind: what we wrote ourselves is set aside,
and every cell that remains was typed, or typed over, by somebody.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils.cell import coordinate_to_tuple

from workbook_template.entered.alignment import Cells, Formula, match_sheets, same_value
from workbook_template.entered.comparing import (
    Meanings,
    OurMeanings,
    from_own_row,
    is_broken,
    is_lost,
)
from workbook_template.entered.contents import Found, formula_of
from workbook_template.entered.layout import held, layout_of
from workbook_template.entered.places import Places
from workbook_template.long_work import tell
from workbook_template.marks import VERSION_LINES
from workbook_template.releases import RELEASE
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.sheets.start import START
from workbook_template.writing.page import FIRST_ROW

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from workbook_template.entered.layout import Layout
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
BROKEN = "computed cell, refers to what was deleted"
LOST = "computed cell, lost by a program"
"""Kinds that nobody entered: they are faults, and nothing of them is carried over."""

_NAMES_OF_PROGRAMS = ("CFX.", "CFX_", "_xl")
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
        layout = layout_of(
            reading.release or RELEASE,
            settings.units,
            settings.currency,
            settings.invented,
            any(self._contents.lines_from(sheet) for sheet in self._contents.sheets),
        )
        self._tables: dict[str, list[TableFound]] = {}
        for key, found in reading.tables.items():
            if key in TABLES:
                self._tables.setdefault(found.area.sheet, []).append(found)
        self._left = {name: self._outside(name) for name in self._contents.sheets}
        homes = match_sheets(layout.cells, self._left, self._known_sheets(layout))
        self._places = Places(layout, homes, self._left, reading)
        self.layout = self._places.layout
        self._theirs = Meanings(self._contents)
        self._ours = OurMeanings(self._contents, self.layout, self._places)
        self._in_columns: dict[tuple[tuple[str, str], str], str] = {}
        for sheet in self._tables:
            for found in self._tables[sheet]:
                self._find_renamed(found)

    @property
    def is_compared(self) -> bool:
        """Whether the formulas could be compared: not where the release is not known."""
        return self._reading.release is not None

    def was_written(self, key: str) -> bool:
        """Return whether the file's release wrote an input, a table, or a ``table.column``."""
        table, _, column = key.partition(".")
        columns = self.layout.columns
        is_there = (table, column) in columns if column else any(key == one for one, _ in columns)
        return self.is_compared and (key in self.layout.sheets or is_there)

    @property
    def leftovers(self) -> list[Leftover]:
        """What stands outside of the cells to type in, and formulas and notes within them."""
        return [one for one in self._all if one.kind not in (BROKEN, LOST)]

    @property
    def destroyed(self) -> list[Leftover]:
        """The formulas that are not what they were, though nobody entered anything."""
        return [*(one for one in self._all if one.kind in (BROKEN, LOST)), *self._deleted()]

    @cached_property
    def _is_unmoved(self) -> bool:
        """Whether every cell and column is where we wrote it: the same text is the same then."""
        sheets, columns = self._places.homes, self.layout.columns
        return (
            all(name == home for name, home in sheets.items())
            and all(self._places.is_unmoved(name) for name in sheets)
            and all(
                self._theirs.column(table, one.heading) == self._places.column(table, key)
                for (table, key), one in columns.items()
                if one.heading
            )
        )

    @cached_property
    def _all(self) -> list[Leftover]:
        return [*self._by_sheets(), *self._names()]

    def _deleted(self) -> Iterator[Leftover]:
        """Find the computed cells outside of tables that are blank now."""
        for name, home in self._places.homes.items() if self.is_compared else ():
            blank = [
                (place, there)
                for place, there in self._places.of(name).items()
                if there[0]
                and isinstance(self.layout.cells[name][place], Formula)
                and there not in self._left[home]
            ]
            if not blank:
                continue
            ours = Counter(self._our_meanings(name, self.layout.cells[name]))
            kept = Counter(
                self._theirs.of(value.text, home, row)
                for (row, _), value in self._left[home].items()
                if isinstance(value, Formula)
            )
            for place, there in blank:
                meaning = next(self._our_meanings(name, [place]))
                found = self._contents.found(home, *there)
                if kept[meaning] < ours[meaning] and not found.is_filled:
                    yield Leftover(DELETED, found, self._label(name, place))

    def _our_meanings(self, name: str, places: Iterable[tuple[int, int]]) -> Iterator[str]:
        """Yield what each formula of ours computes, in the file."""
        for place in places:
            value = self.layout.cells[name][place]
            if isinstance(value, Formula):
                yield self._ours.of(value.text, name, place[0])

    def _by_sheets(self) -> Iterator[Leftover]:
        names = {theirs: ours for ours, theirs in self._places.homes.items()}
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
        ours = set(self.layout.names)
        for name, defined in self._contents.workbook.defined_names.items():
            is_ours = name in ours or name.startswith(_NAMES_OF_PROGRAMS)
            if not is_ours and defined.attr_text not in (None, "#NAME?"):
                yield Leftover(NAME, Found("", "", name, f"={defined.attr_text}"))

    def _known_sheets(self, layout: Layout) -> dict[str, str]:
        """Tell which sheet is which by the inputs and tables that stand there."""
        votes: dict[str, Counter[str]] = {}
        for key, found in self._reading.singles.items():
            if key in layout.sheets:
                votes.setdefault(layout.sheets[key], Counter())[found.sheet] += 1
        for (key, _), column in layout.columns.items():
            if key in self._reading.tables:
                area = self._reading.tables[key].area
                votes.setdefault(column.sheet, Counter())[area.sheet] += 1
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
        ours, places = self.layout.cells[name], self._places.of(name)
        lost: list[tuple[int, int]] = []
        for place, value in ours.items():
            there = places[place]
            if there not in left:
                lost.append(place)
            elif isinstance(value, Formula):
                kind = self._kind(name, place, left.pop(there), there)
                if kind:
                    found = self._contents.found(sheet, *there)
                    yield Leftover(kind, found, self._label(name, place))
            elif same_value(value, left[there]) or self._is_version(name, place):
                del left[there]
            else:
                lost.append(place)
        words = set(places.values())
        for place in self._unmoved(sheet, left, name, lost):
            kind = CHANGED_WORDS if place in words else EXTRA_CELL
            if self.is_compared or not isinstance(left[place], Formula):
                found = self._contents.found(sheet, *place)
                yield Leftover(kind, found, self._row_of(sheet, *place))

    def _kind(
        self, name: str, place: tuple[int, int], value: object, there: tuple[int, int]
    ) -> str:
        """Return what a cell is where a formula of ours was; an empty text where it still is."""
        ours = self.layout.cells[name][place]
        assert isinstance(ours, Formula)
        if not isinstance(value, Formula):
            return TYPED_OVER
        if not self.is_compared:
            return ""
        if value == ours and self._is_unmoved:  # so most files are done without reading a formula
            return ""
        meaning = self._theirs.of(value.text, self._places.homes[name], there[0])
        return _difference(meaning, self._ours.of(ours.text, name, place[0]))

    def _unmoved(
        self, sheet: str, left: Cells, name: str, lost: list[tuple[int, int]]
    ) -> list[tuple[int, int]]:
        """Return the cells that hold nothing that we write elsewhere on the sheet."""
        ours = self.layout.cells[name]
        moved = Counter(self._our_meanings(name, lost))
        moved += Counter(word for place in lost if isinstance(word := ours[place], str))
        rest = []
        for place, value in sorted(left.items(), key=lambda one: one[0]):
            key = (
                self._theirs.of(value.text, sheet, place[0])
                if isinstance(value, Formula)
                else value
            )
            if isinstance(key, str) and moved[key] > 0:
                moved[key] -= 1
            else:
                rest.append(place)
        return rest

    def _value(self, sheet: str, row: int, column: int) -> object:
        return self._contents.found(sheet, row, column).value

    def _row_of(self, sheet: str, row: int, column: int) -> str:
        """Give the words that a row begins with, for a cell further right."""
        label = self._value(sheet, row, _LABEL)
        is_label = isinstance(label, str) and column != _LABEL and row >= FIRST_ROW
        return str(label) if is_label else ""

    def _is_version(self, name: str, place: tuple[int, int]) -> bool:
        """Tell whether a cell is one of the lines that say which version wrote the file."""
        row, column = place
        return name == START and self.layout.cells[name].get((row, column - 1)) in VERSION_LINES

    def _label(self, name: str, place: tuple[int, int]) -> str:
        """Say what a computed cell is: the words beside it, or the heading above it."""
        ours = self.layout.cells[name]
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
        columns = self._columns(found)
        names = found.columns.get(table.first.key, area.left)
        rows, last = self._contents.rows[area.sheet], found.last_row
        for row in [one for one in rows if area.top <= one <= last]:
            for number, cell in rows[row].items():
                if not area.left <= number <= area.right or cell.value is None:
                    continue
                if row == area.top:
                    kind, about = self._heading(columns.get(number), cell)
                else:
                    kind = self._in_table(columns.get(number), cell, area.sheet)
                    title = self._value(area.sheet, area.top, number) if kind else ""
                    about = f"{title}: {self._value(area.sheet, row, names)}" if kind else ""
                if kind:
                    yield Leftover(kind, self._contents.found(area.sheet, row, number), about)

    def _columns(self, found: TableFound) -> dict[int, tuple[str, str]]:
        """Return which column of ours each number is; an input only where it was read as one."""
        return {
            number: (table, key)
            for (table, key), number in self._places.columns.items()
            if table == found.key and (key in found.columns or self.layout.formula(table, key))
        }

    def _find_renamed(self, found: TableFound) -> None:
        """Find computed columns whose heading was changed, by their formulas."""
        area, columns = found.area, self._places.columns
        missing = [
            (table, key)
            for table, key in self.layout.columns
            if table == found.key
            and (table, key) not in columns
            and self.layout.formula(table, key)
        ]
        first = self._contents.rows[area.sheet].get(area.top + 1, {}) if missing else {}
        known = {number for (table, _), number in columns.items() if table == found.key}
        free = [one for one in first if area.left <= one <= area.right and one not in known]
        # One that is found lets others be read that refer to it.
        for _ in missing:
            for column in missing:
                for number in free:
                    cell = first[number]
                    if column not in columns and not self._difference_in(column, cell, area.sheet):
                        columns[column] = number

    def _heading(self, column: tuple[str, str] | None, cell: Any) -> tuple[str, str]:
        """Tell what a heading is, if it is none of ours, and how it should read."""
        if column is None:
            return EXTRA_COLUMN, ""
        place = self.layout.columns.get(column)
        wanted = place.heading if place else str(cell.value)
        return ("" if cell.value == wanted else CHANGED_WORDS), wanted

    def _in_table(self, column: tuple[str, str] | None, cell: Any, sheet: str) -> str:
        """Tell what a cell of a table is, if it is neither to type in nor as we write it."""
        if column is None:
            return EXTRA_COLUMN
        if not self.layout.formula(*column):
            return ""
        if not formula_of(cell):
            return TYPED_OVER
        return self._difference_in(column, cell, sheet) if self.is_compared else ""

    def _difference_in(self, column: tuple[str, str], cell: Any, sheet: str) -> str:
        """Return what is wrong with the formula of a column in a cell; mostly nothing."""
        text = formula_of(cell)
        known = self._in_columns.get((column, text))
        if known is None:
            known = _difference(
                self._theirs.of(text, sheet, cell.row),
                self._ours.of(self.layout.formula(*column), self.layout.columns[column].sheet, 0),
            )
            if text == from_own_row(text, sheet, cell.row):
                self._in_columns[column, text] = known
        return known

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


def _difference(meaning: str, ours: str) -> str:
    """Return what is wrong with a formula; an empty text where it computes what ours does."""
    if meaning == ours:
        return ""
    if is_broken(meaning, ours):
        return BROKEN
    return LOST if is_lost(meaning) else OTHER_FORMULA
