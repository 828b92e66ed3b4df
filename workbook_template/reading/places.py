"""Where the cells that we write have come to in a file that somebody worked with."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from workbook_template.reading.alignment import Alignment, Cells, Formula
from workbook_template.reading.meaning import OWN_ROW, Cell

if TYPE_CHECKING:
    from collections.abc import Mapping

    from workbook_template.reading.blank_layout import Layout
    from workbook_template.reading.entries import Reading

_GONE = -1
"""The row of a cell that is in the file no more."""


class Places:
    """Return where the cells of a layout are in a file.

    Parameters
    ----------
    layout : Layout
        What we write.
    homes : dict
        The name of the file's sheet by ours.
    theirs : dict
        The cells of the file's sheets, but for inputs and tables.
    reading : Reading
        The file.

    Attributes
    ----------
    layout : Layout
        What we write into a file of that length.
    columns : dict
        The number of each column of a table that was found, by the keys of both.
    """

    def __init__(
        self,
        layout: Layout,
        homes: Mapping[str, str],
        theirs: Mapping[str, Cells],
        reading: Reading,
    ) -> None:
        self.homes = homes
        self._alignments = {
            name: Alignment(layout.cells[name], theirs[home]) for name, home in homes.items()
        }
        self._tables = reading.tables
        self.columns = {
            (table, key): number
            for table, found in reading.tables.items()
            for key, number in found.columns.items()
        }
        for (table, key), column in layout.columns.items():
            area = reading.tables[table].area if table in reading.tables else None
            if area and column.heading and (table, key) not in self.columns:
                for number, cell in reading.contents.rows[area.sheet].get(area.top, {}).items():
                    if area.left <= number <= area.right and cell.value == column.heading:
                        self.columns[table, key] = number
        self._sheet, self._first, self._last = layout.growing[0][:3]
        home = homes.get(self._sheet)
        rows = self._rows(layout, theirs[home]) if home else self._last - self._first + 1
        self.layout = layout.with_rows(rows)
        self._last_now = self._first + rows - 1
        self._known: dict[str, dict[tuple[int, int], tuple[int, int]]] = {}

    def _rows(self, layout: Layout, theirs: Cells) -> int:
        """Count the rows of the grid that grows: as long as formulas stand there."""
        numbers = [one.number for one in layout.growing]
        places = [self._alignments[self._sheet].place(self._first, one) for one in numbers]
        row = first = places[0][0]
        while any(isinstance(theirs.get((row, column)), Formula) for _, column in places):
            row += 1
        return max(row - first, 1)

    def of(self, sheet: str) -> dict[tuple[int, int], tuple[int, int]]:
        """Return where each cell of a sheet of ours is; row 0 where it is gone."""
        if sheet not in self._known:
            alignment = self._alignments[sheet]
            self._known[sheet] = {
                place: alignment.place(*place) for place in self.layout.cells[sheet]
            }
        return self._known[sheet]

    def number(self, sheet: str, column: int) -> int:
        """Return the number that a column of a sheet of ours has in the file."""
        for key in self._keys.get((sheet, column), ()):
            if key in self.columns:
                return self.columns[key]
        return self._alignments[sheet].place(1, column)[1]

    @cached_property
    def _keys(self) -> dict[tuple[str, int], list[tuple[str, str]]]:
        """Return the columns of tables that stand at a sheet's column: their keys."""
        keys: dict[tuple[str, int], list[tuple[str, str]]] = {}
        for key, one in self.layout.columns.items():
            if one.heading:
                keys.setdefault((one.sheet, one.number), []).append(key)
        return keys

    def is_unmoved(self, sheet: str) -> bool:
        """Return whether each cell of a sheet of ours is where it was."""
        return all(place == there for place, there in self.of(sheet).items())

    def cell(self, cell: Cell) -> Cell:
        """Return where a cell is that a formula of ours refers to."""
        home = self.homes.get(cell.sheet)
        if home is None:
            return cell
        row = cell.row
        if cell.sheet == self._sheet and row == self._last:
            row = self._last_now
        place = self._alignments[cell.sheet].place(max(row, 1), cell.column)
        return Cell(home, place[1], OWN_ROW if row == OWN_ROW else place[0] or _GONE)

    def column(self, table: str, key: str) -> tuple[str, int, int, int] | None:
        """Return the sheet, number, first and last row of a column, if it is there."""
        if (table, key) not in self.columns:
            return None
        area = self._tables[table].area
        return area.sheet, self.columns[table, key], area.top + 1, area.bottom
