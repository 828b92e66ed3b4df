"""Finds everything in a workbook that stands outside of the cells to type in.

The file is laid beside a blank workbook of the same kind: what we wrote ourselves is set aside,
and every cell that remains was typed, or typed over, by somebody.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple

from cultivar_fx.catalog.registry import functions
from workbook_template.metadata import VERSION_LINES, marks
from workbook_template.progress import tell
from workbook_template.reading.alignment import Cells, Formula, match_sheets, same_value
from workbook_template.reading.blank_layout import held, layout_of
from workbook_template.reading.contents import Found, formula_of
from workbook_template.reading.entries import input_grids, words_of
from workbook_template.reading.extras import extras
from workbook_template.reading.own_formulas import BROKEN, EXTRA_COLUMN, LOST, OwnFormulas
from workbook_template.reading.places import Places
from workbook_template.releases import RELEASE, earlier_labels, is_known
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.sheets.start import START
from workbook_template.writing.blocks import FIRST_ROW
from workbook_template.writing.layout import table_name
from workbook_template.writing.validation import TITLE_LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook_template.reading.blank_layout import Layout
    from workbook_template.reading.entries import Reading
    from workbook_template.reading.tables import TableFound

DELETED = "computed cell, deleted"
TYPED_FORMULA = "formula in an input cell"
EXTRA_SHEET = "sheet of your own"
EXTRA_CELL = "beside our cells"
CHANGED_WORDS = "template label changed"
NOTE = "note"
NAME = "name of your own"
"""The kinds of what is left over, in the words of the report."""

_NAMES_OF_PROGRAMS = ("_xl", "Sheet_Title", "Print_Area", "Print_Titles", "HTML_")
"""Names that Excel and Gnumeric keep for themselves, on each sheet."""
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
        is_carried = any(self._contents.lines_from(sheet) for sheet in self._contents.sheets)
        kind = settings.units, settings.currency, settings.invented, is_carried
        release = reading.release or self._likely_release(*kind)
        layout = layout_of(release, *kind)
        self._tables: dict[str, list[TableFound]] = {}
        for key, found in reading.tables.items():
            if key in TABLES:
                self._tables.setdefault(found.area.sheet, []).append(found)
        self._left = {name: self._outside(name) for name in self._contents.sheets}
        homes = match_sheets(layout.cells, self._left, self._known_sheets(layout))
        self._places = Places(layout, homes, self._left, reading)
        self.layout = self._places.layout
        self._own = OwnFormulas(reading, self._places, self._left)
        self.is_compared = self._own.is_compared

    def _likely_release(self, *kind: Any) -> int:
        """Return the release most of whose words stand in a file that does not say its own."""
        there = {
            cell.value
            for rows in self._contents.rows.values()
            for line in rows.values()
            for cell in line.values()
            if isinstance(cell.value, str)
        }
        missing = {
            one: sum(
                isinstance(word, str) and word not in there
                for cells in layout_of(one, *kind).cells.values()
                for word in cells.values()
            )
            for one in range(RELEASE, 0, -1)
            if is_known(one)
        }
        return min(missing, key=lambda one: missing[one])

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
        found = [one for one in self._all if one.kind in (BROKEN, LOST)]
        for name, place in self._own.deleted():
            cell = self._contents.found(self._places.homes[name], *self._places.of(name)[place])
            if not cell.is_filled:
                found.append(Leftover(DELETED, cell, self._label(name, place)))
        return found

    @cached_property
    def _all(self) -> list[Leftover]:
        cells = list(self._by_sheets())
        own = {(one.found.sheet, one.found.cell) for one in cells if one.kind == EXTRA_CELL}
        return [*cells, *self._names(), *self._extras(own)]

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
        # Gnumeric makes names of tables.
        ours = {*self.layout.names, *map(table_name, TABLES)}
        typed = self._typed_functions
        for name, defined in self._contents.workbook.defined_names.items():
            text = defined.attr_text
            is_typed = name.upper().replace("CFX_", "CFX.", 1) in typed
            is_ours = name in ours or name.startswith(_NAMES_OF_PROGRAMS) or is_typed
            if not is_ours and text not in (None, "#NAME?"):
                yield Leftover(NAME, Found("", "", name, f"={text}"))
        for sheet, worksheet in self._contents.sheets.items():
            for name, defined in worksheet.defined_names.items():
                text = defined.attr_text
                if not name.startswith(_NAMES_OF_PROGRAMS) and text not in (None, "#NAME?"):
                    yield Leftover(NAME, Found(sheet, "", name, f"={text}"))

    @property
    def places(self) -> Places:
        """Where what we wrote is in the file."""
        return self._places

    def _extras(self, own: set[tuple[str, str]]) -> Iterator[Leftover]:
        """Find what the grower put in besides cells; some cells are own ones."""
        labels = {one.label for one in SINGLE_INPUTS.values()}
        labels.update(*earlier_labels().values())
        labels.update(map(str, marks(self._contents.workbook).values()))
        for table in TABLES.values():
            labels.update(one.label for one in table.columns)
        for one in input_grids().values():
            labels.update(field.label for field in one.values())
        labels.update(self._headings_of_grids())
        ours = set(self._places.homes.values())
        ours.update(name for name in self._contents.sheets if self._contents.lines_from(name))
        cut = {label[:TITLE_LIMIT] for label in labels}
        own |= self._typed_in
        names = {*self.layout.cells, *ours}  # those that somebody deleted, too

        def is_our_link(sheet: str, cell: str, location: str) -> bool:
            """Return whether a link leads from our words to our sheets, or down their own sheet."""
            target, _, place = location.lstrip("#").replace("$", "").rpartition("!")
            target = target.strip("'").replace("''", "'")
            leads_to_ours = target in names and (place == "A1" or target == sheet)
            return sheet in ours and leads_to_ours and (sheet, cell) not in own

        for extra in extras(self._contents, cut, is_our_link):
            yield Leftover(extra.kind, Found(extra.sheet, extra.cell, extra.text), extra.about)

    def _headings_of_grids(self) -> Iterator[str]:
        """Yield the words above each column of a grid in the file's release, without the unit."""
        for column in self.layout.columns.values():
            if not column.heading:
                above = self.layout.cells[column.sheet].get((column.first - 1, column.number))
                if isinstance(above, str):
                    yield above.rpartition(", ")[0] or above

    @property
    def _typed_in(self) -> set[tuple[str, str]]:
        """The cells to type in, by sheet and address."""
        cells = [(one.sheet, one.cell) for one in self._reading.single_cells.values()]
        for table in self._reading.tables.values():
            cells += [
                (table.area.sheet, f"{get_column_letter(column)}{row}")
                for row in range(table.area.top, table.last_row + 1)
                for column in table.columns.values()
            ]
        return set(cells)

    @property
    def _typed_functions(self) -> set[str]:
        """The functions that have a name: those of now, and of the file's release."""
        now = {f"CFX.{name.upper()}" for name in functions()}
        texts = (one for cells in self.layout.cells.values() for one in cells.values())
        return now | {one for one in texts if isinstance(one, str) and one.startswith("CFX.")}

    def _known_sheets(self, layout: Layout) -> dict[str, str]:
        """Return which sheet is which by the inputs and tables that stand there."""
        votes: dict[str, Counter[str]] = {}
        for key, found in self._reading.single_cells.items():
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
        """Return the cells of a sheet that are neither inputs nor in a table."""
        inputs = {
            coordinate_to_tuple(found.cell)
            for found in self._reading.single_cells.values()
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
                kind = self._own.kind(name, place, left.pop(there))
                if kind:
                    found = self._contents.found(sheet, *there)
                    yield Leftover(kind, found, self._label(name, place))
            elif same_value(value, left[there]) or self._is_version(name, place):
                del left[there]
            else:
                lost.append(place)
        words = set(places.values())
        for place in self._own.unmoved(name, left, lost):
            kind = CHANGED_WORDS if place in words else EXTRA_CELL
            if self.is_compared or not isinstance(left[place], Formula):
                found = self._contents.found(sheet, *place)
                yield Leftover(kind, found, self._row_of(sheet, *place))

    def _value(self, sheet: str, row: int, column: int) -> object:
        return self._contents.found(sheet, row, column).value

    def _row_of(self, sheet: str, row: int, column: int) -> str:
        """Return the words that a row begins with, for a cell further right."""
        label = self._value(sheet, row, _LABEL)
        is_label = isinstance(label, str) and column != _LABEL and row >= FIRST_ROW
        return str(label) if is_label else ""

    def _is_version(self, name: str, place: tuple[int, int]) -> bool:
        """Return whether a cell is one of the lines that say which version wrote the file."""
        row, column = place
        return name == START and self.layout.cells[name].get((row, column - 1)) in VERSION_LINES

    def _label(self, name: str, place: tuple[int, int]) -> str:
        """Describe what a computed cell is: the words beside it, or the heading above it."""
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
                    kind = self._own.kind_in_table(columns.get(number), cell, area.sheet)
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

    def _heading(self, column: tuple[str, str] | None, cell: Any) -> tuple[str, str]:
        """Return what a heading is, if it is none of ours, and how it should read."""
        if column is None:
            return EXTRA_COLUMN, ""
        place = self.layout.columns.get(column)
        wanted = place.heading if place else str(cell.value)
        return ("" if cell.value == wanted else CHANGED_WORDS), wanted

    # Everywhere

    def _formulas(self, sheet: str) -> Iterator[Leftover]:
        """Find the formulas that stand where something is to be typed."""
        for key, found in self._reading.single_cells.items():
            if found.sheet == sheet and found.formula:
                yield Leftover(TYPED_FORMULA, found, words_of(key))
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
