"""The formulas of a file beside those that its release wrote there."""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from typing import TYPE_CHECKING, Any

from cultivar_fx.errors import CellError
from workbook_template.reading.alignment import Cells, Formula
from workbook_template.reading.contents import formula_of, value_of
from workbook_template.reading.meaning import (
    OWN_ROW,
    Meanings,
    OurMeanings,
    from_own_row,
    is_broken,
    is_lost,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from workbook_template.reading.entries import Reading
    from workbook_template.reading.places import Places
    from workbook_template.reading.tables import TableFound

TYPED_OVER = "computed cell, typed over"
OTHER_FORMULA = "computed cell, with another formula"
EXTRA_COLUMN = "column of your own"
BROKEN = "computed cell, refers to what was deleted"
LOST = "computed cell, lost by a program"
"""What may stand where we compute something. Nobody entered the last two: they are faults, and
nothing of them is carried over."""

_Place = tuple[int, int]
_Key = tuple[str, str]


class OwnFormulas:
    """Compares the formulas of a file with those of its release.

    Parameters
    ----------
    reading : Reading
        The file.
    places : Places
        Where the cells that its release wrote are; renamed columns are added.
    theirs : dict
        The cells of the file's sheets, but for inputs and tables.
    """

    def __init__(self, reading: Reading, places: Places, theirs: Mapping[str, Cells]) -> None:
        self._rows = reading.contents.rows
        self._layout, self._places, self._cells = places.layout, places, theirs
        self._theirs = Meanings(reading.contents)
        self._ours = OurMeanings(reading.contents, places.layout, places)
        self._in_columns: dict[tuple[_Key, str], str] = {}
        # One column that is found lets others be read that refer to it.
        while any(self._find_renamed(found) for found in reading.tables.values()):
            self._ours = OurMeanings(reading.contents, places.layout, places)
            self._in_columns.clear()
        self.is_compared = reading.release is not None
        """Whether the formulas can be compared: not where the release is not known."""

    # Outside of tables

    def kind(self, name: str, place: _Place, value: object) -> str:
        """Return what a cell is where a formula of ours was; an empty text where it still is."""
        ours = self._layout.cells[name][place]
        assert isinstance(ours, Formula)
        if not isinstance(value, Formula):
            # Nobody types an error: a program kept the value of what it could not read.
            return LOST if isinstance(value, CellError) else TYPED_OVER
        # Most files are done without reading a formula.
        if not self.is_compared or (value == ours and self._is_unmoved):
            return ""
        row = self._places.of(name)[place][0]
        meaning = self._theirs.of(value.text, self._places.homes[name], row)
        return _difference(meaning, self._ours.of(ours.text, name, place[0]))

    @cached_property
    def _is_unmoved(self) -> bool:
        """Whether every cell and column is where we wrote it: the same text is the same then."""
        sheets = self._places.homes
        return (
            all(name == home for name, home in sheets.items())
            and all(self._places.is_unmoved(name) for name in sheets)
            and all(
                self._theirs.column(table, one.heading) == self._places.column(table, key)
                for (table, key), one in self._layout.columns.items()
                if one.heading
            )
        )

    def _meanings(self, name: str, places: Iterable[_Place]) -> Iterator[str]:
        """Yield what each formula of ours computes, in the file."""
        for place in places:
            value = self._layout.cells[name][place]
            if isinstance(value, Formula):
                yield self._ours.of(value.text, name, place[0])

    def deleted(self) -> Iterator[tuple[str, _Place]]:
        """Find the formulas of ours that stand nowhere on their sheet any more.

        Yields
        ------
        tuple
            The name that we give the sheet, and the cell there.
        """
        for name, home in self._places.homes.items() if self.is_compared else ():
            left, ours = self._cells[home], self._layout.cells[name]
            blank = [
                place
                for place, there in self._places.of(name).items()
                if there[0] and there not in left and isinstance(ours[place], Formula)
            ]
            if blank:
                wanted = Counter(self._meanings(name, ours))
                kept = Counter(
                    self._theirs.of(value.text, home, row)
                    for (row, _), value in left.items()
                    if isinstance(value, Formula)
                )
                for place, meaning in zip(blank, self._meanings(name, blank), strict=True):
                    if kept[meaning] < wanted[meaning]:
                        yield name, place

    def unmoved(self, name: str, left: Cells, lost: list[_Place]) -> list[_Place]:
        """Return the cells that hold nothing that we write elsewhere on the sheet."""
        ours, home = self._layout.cells[name], self._places.homes[name]
        moved = Counter(self._meanings(name, lost))
        moved += Counter(word for place in lost if isinstance(word := ours[place], str))
        rest = []
        for place, value in sorted(left.items(), key=lambda one: one[0]):
            is_formula = isinstance(value, Formula)
            key = self._theirs.of(value.text, home, place[0]) if is_formula else value
            if isinstance(key, str) and moved[key] > 0:
                moved[key] -= 1
            else:
                rest.append(place)
        return rest

    # In tables

    def kind_in_table(self, column: _Key | None, cell: Any, sheet: str) -> str:
        """Return what a cell of a table is, if it is neither to type in nor as we write it."""
        if column is None:
            return EXTRA_COLUMN
        if not self._layout.formula(*column):
            return ""
        if not formula_of(cell):
            return LOST if isinstance(value_of(cell), CellError) else TYPED_OVER
        return self._difference_in(column, cell, sheet) if self.is_compared else ""

    def _difference_in(self, column: _Key, cell: Any, sheet: str) -> str:
        text = formula_of(cell)
        known = self._in_columns.get((column, text))  # mostly it is the same text in every row
        if known is None:
            text = from_own_row(text, sheet, cell.row)
            known = self._in_columns.get((column, text))
        if known is None:
            ours, name = self._layout.formula(*column), self._layout.columns[column].sheet
            known = _difference(
                self._theirs.of(text, sheet, OWN_ROW), self._ours.of(ours, name, OWN_ROW)
            )
            self._in_columns[column, text] = known
        return known

    def _find_renamed(self, found: TableFound) -> bool:
        """Find computed columns whose heading was changed, by their formulas."""
        area, columns = found.area, self._places.columns
        missing = [
            (table, key)
            for table, key in self._layout.columns
            if table == found.key
            and (table, key) not in columns
            and self._layout.formula(table, key)
        ]
        first = self._rows[area.sheet].get(area.top + 1, {}) if missing else {}
        known = {number for (table, _), number in columns.items() if table == found.key}
        free = [one for one in first if area.left <= one <= area.right and one not in known]
        for column in missing:
            alike = [one for one in free if not self._difference_in(column, first[one], area.sheet)]
            if alike:
                columns[column] = alike[0]
                free.remove(alike[0])
        return any(column in columns for column in missing)


def _difference(meaning: str, ours: str) -> str:
    """Return what is wrong with a formula; an empty text where it computes what ours does."""
    if meaning == ours:
        return ""
    if is_broken(meaning, ours):
        return BROKEN
    return LOST if is_lost(meaning) else OTHER_FORMULA
