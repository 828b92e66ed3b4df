"""What of a workbook is private: one definition, followed through every formula.

Private is what the grower marks on the Farm sheet: amounts of money and what tells about them,
and whole sheets. Private, too, is every choice from a private list, every row named by one, and
whatever is computed from something private, however many steps away and whatever its unit. A
setting that was lost, or says anything but its other words, means private.

Of a sheet that is marked "sheet only" no cell is in the copy, but private are its amounts of money
alone, whatever is marked for those, and what may name a customer: its packs may count elsewhere.
That a price is typed is not private, only which.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from workbook_template.operations.references import References, UnknownReference
from workbook_template.reading.contents import Area
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import Computed
from workbook_template.schema.partner import (
    MONEY_MARK,
    SHEET_ONLY,
    SHEETS_TO_MARK,
    SHOWN,
    mark_of,
    may_go_alone,
)
from workbook_template.writing.blocks import FIRST_ROW
from workbook_template.writing.layout import tuple_key
from workbook_template.writing.workings import workings_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence, Set

    from workbook_template.schema.fields import Field
    from workbook_template.writing.layout import Book, CellPlace, ColumnPlace

NEVER_COPIED = ("Functions", "Checks")
"""Sheets that only compute: without formulas they say nothing."""
_FIRST = "Start"
_MOSTLY = 0.5
_NO_ROWS: frozenset[int] = frozenset()


class Typed(NamedTuple):
    """A cell of the book where the farm's workbook holds a formula that is not ours.

    Attributes
    ----------
    here : Area
        The cell.
    areas : set of Area or None
        What the formula refers to, as cells of the book; None where that is not certain.
    """

    here: Area
    areas: set[Area] | None


class Formulas:
    """The formulas of a book, and what each refers to.

    Parameters
    ----------
    book : Book
        A workbook that was just written.

    Attributes
    ----------
    computed : list
        Every formula's cell with what it refers to; of a table, the first row for all.
    everything : frozenset of Area
        All cells: what cannot be followed for certain may come from any.
    """

    def __init__(self, book: Book) -> None:
        worksheets: list[Any] = book.workbook.worksheets
        self._references = References(book.workbook)
        self._named = {place: f"={named}" for place, named in book.named.items()}
        self._bodies: dict[str, list[Area]] = {}
        for body in self._references.bodies:
            self._bodies.setdefault(body.sheet, []).append(body)
        self.everything = frozenset(
            Area(sheet.title, 1, 1, sheet.max_column, sheet.max_row) for sheet in worksheets
        )
        self.computed = [one for worksheet in worksheets for one in self._of_sheet(worksheet)]

    def _of_sheet(self, worksheet: Any) -> Iterator[tuple[Area, Set[Area]]]:
        for (row, column), cell in worksheet._cells.items():
            if cell.data_type != "f":
                continue
            here = Area(worksheet.title, column, row, column, row)
            body = self.body_of(here)
            if body is None or row == body.top:
                formula = str(cell.value)
                if body:
                    here = here._replace(bottom=body.bottom)
                    formula = self._named.get((worksheet.title, column), formula)
                yield here, self._refers_to(formula, worksheet.title, row)

    def _refers_to(self, formula: str, sheet: str, row: int) -> Set[Area]:
        try:
            return self._references.areas(formula, sheet, row)
        except UnknownReference:
            return self.everything

    def body_of(self, cell: Area) -> Area | None:
        """Return the rows of the table that a cell is in."""
        return next(
            (
                body
                for body in self._bodies.get(cell.sheet, ())
                if body.top <= cell.top <= body.bottom and body.left <= cell.left <= body.right
            ),
            None,
        )


class PrivateCells:
    """Return which cells of a book are private.

    Parameters
    ----------
    book : Book
        A workbook that was just written: only its formulas are looked at.
    marks : mapping of str to object
        What stands in the inputs that mark, by their keys; whatever is not exactly one of the
        other words, or missing, means private.
    typed : sequence of Typed
        The cells of the book that hold another formula in the farm's workbook.
    unknown : sequence of Area
        Cells of which nobody can tell what was typed there.
    formulas : Formulas, optional
        Those of the book, where they are known.

    Attributes
    ----------
    is_money_private : bool
        Whether prices, wages and costs are, on every sheet.
    sheets : frozenset of str
        Those that are not in the copy.
    left_out_alone : frozenset of str
        Those of them of which only some cells are private.
    """

    def __init__(
        self,
        book: Book,
        marks: Mapping[str, object],
        typed: Sequence[Typed] = (),
        unknown: Sequence[Area] = (),
        formulas: Formulas | None = None,
    ) -> None:
        self._book = book
        self._rows: dict[tuple[str, int], set[int]] = {}
        self.is_money_private = _is_private(MONEY_MARK, marks)
        alone = [
            name
            for name in SHEETS_TO_MARK
            if may_go_alone(name) and marks.get(mark_of(name)) == SHEET_ONLY
        ]
        marked = [
            name
            for name in SHEETS_TO_MARK
            if name not in alone and _is_private(mark_of(name), marks)
        ]
        marked += [workings_name(name) for name in marked]
        self.left_out_alone = frozenset([*alone, *map(workings_name, alone)])
        for area in (*self._starting(frozenset(marked)), *unknown):
            self._add(area)
        self._formulas = formulas or Formulas(book)
        self._follow(typed)
        self.sheets = frozenset([*marked, *NEVER_COPIED, *self._emptied()]) | self.left_out_alone

    def holds(self, sheet: str, row: int, column: int) -> bool:
        """Return whether a cell is private."""
        return row in self._rows.get((sheet, column), ())

    def touches(self, area: Area) -> bool:
        """Return whether a cell of an area is private, or its sheet is."""
        return area.sheet in self.sheets or self._is_any_private(area)

    def _add(self, area: Area) -> None:
        for column in range(area.left, area.right + 1):
            rows = self._rows.setdefault((area.sheet, column), set())
            rows.update(range(area.top, area.bottom + 1))

    # What is private of itself

    def _starting(self, sheets: frozenset[str]) -> Iterator[Area]:
        for worksheet in self._book.workbook.worksheets:
            if worksheet.title in sheets:
                yield Area(worksheet.title, 1, 1, worksheet.max_column, worksheet.max_row)
        for key, one in SINGLE_INPUTS.items():
            place = self._book.cells[key]
            if self._is_private_input(one, place.sheet, sheets):
                yield _cell(place)
        for (table, key), one in self._book.fields.items():
            first = TABLES[table].first if table in TABLES else one
            column = self._book.columns[table, key]
            is_private = self._is_private_input(one, column.sheet, sheets)
            if is_private or self._is_private_choice(first, sheets):
                yield _area(column)

    def _is_private_input(self, one: Field, sheet: str, sheets: Set[str]) -> bool:
        is_alone = sheet in self.left_out_alone
        return (
            (one.is_money and (is_alone or self.is_money_private))
            or (one.of_customers and is_alone)
            or self._is_private_choice(one, sheets)
        )

    def _is_private_choice(self, one: Field, sheets: Set[str]) -> bool:
        """Return whether what is chosen from is private: its sheet, or the list itself."""
        if "." not in one.choices:
            return False
        key = tuple_key(one.choices)
        place = self._book.columns[key]
        listed = self._book.fields.get(key)
        return place.sheet in sheets or bool(
            listed and self._is_private_input(listed, place.sheet, sheets)
        )

    # What is private because of what it is computed from

    def _of_typed(self, typed: Typed) -> tuple[Area, Set[Area]]:
        """Return the cells whose readers a typed formula makes private: all of a table's column."""
        here, areas = typed
        body = self._formulas.body_of(here)
        if body:
            here = here._replace(top=body.top, bottom=body.bottom)
        return here, self._formulas.everything if areas is None else areas

    def _follow(self, typed: Sequence[Typed]) -> None:
        """Add what refers to something private, until nothing more does."""
        tell_nothing = [
            _area(self._book.columns[table.key, one.key])
            for table in TABLES.values()
            for one in table.columns
            if isinstance(one, Computed) and one.is_presence
        ]
        whole = {*self._rows}
        cells: dict[tuple[str, int], set[int]] = {}
        left: list[tuple[Area, Set[Area], Area | None]] = [
            (*one, None) for one in self._formulas.computed if one[0] not in tell_nothing
        ]
        left += [(*self._of_typed(one), one.here) for one in typed]
        while True:
            known: dict[Area, bool] = {}
            still = []
            for here, areas, cell in left:
                for area in areas:
                    if area not in known:
                        known[area] = self._is_any_private(area)
                if not any(known[area] for area in areas):
                    still.append((here, areas, cell))
                    continue
                self._add(here)
                column = here.sheet, here.left
                if cell:
                    cells.setdefault(column, set()).add(cell.top)
                else:
                    whole.add(column)
            if len(still) == len(left):
                break
            left = still
        # Of a column in which some rows only were typed over, the others are as we compute them.
        self._rows |= {column: rows for column, rows in cells.items() if column not in whole}

    def _is_any_private(self, area: Area) -> bool:
        wanted = range(area.top, area.bottom + 1)
        return not all(
            self._rows.get((area.sheet, column), _NO_ROWS).isdisjoint(wanted)
            for column in range(area.left, area.right + 1)
        )

    # What is left

    def _emptied(self) -> list[str]:
        """Return the sheets of whose figures most are private: what is left says nothing."""
        figures: dict[str, list[Area]] = {}
        inputs = [_cell(place) for place in self._book.cells.values() if place.is_input]
        inputs += [_area(self._book.columns[key]) for key in self._book.fields]
        computed = (area for area, _ in self._formulas.computed if area.top >= FIRST_ROW)
        for area in (*inputs, *computed):
            figures.setdefault(area.sheet, []).append(area)
        emptied = []
        for worksheet in self._book.workbook.worksheets:
            there = figures.get(worksheet.title, [])
            private = sum(map(self._is_any_private, there))
            if worksheet.title != _FIRST and private > _MOSTLY * len(there):
                emptied.append(worksheet.title)
        return emptied


def _is_private(key: str, marks: Mapping[str, object]) -> bool:
    return marks.get(key) != SHOWN


def _cell(place: CellPlace) -> Area:
    return Area(place.sheet, place.column, place.row, place.column, place.row)


def _area(place: ColumnPlace) -> Area:
    return Area(place.sheet, place.column, place.first, place.column, place.last)
