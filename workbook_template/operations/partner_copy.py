"""A copy for a partner: values only, without what is private.

Nothing is taken out of the farm's workbook. An empty workbook is written with the same settings,
and what is not private is put into it, cell by cell; so no part of the new file ever held
anything else.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any

from openpyxl.formatting.formatting import ConditionalFormattingList
from openpyxl.packaging.custom import CustomPropertyList
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple
from openpyxl.worksheet.datavalidation import DataValidationList

from workbook_template.build import lay_out
from workbook_template.errors import CannotWrite, Refusal, shown
from workbook_template.files import whole_file
from workbook_template.operations.copy_search import leaks, quoting
from workbook_template.operations.entered import count_entered
from workbook_template.operations.misplaced import misplaced
from workbook_template.operations.private import NEVER_COPIED, PrivateCells, Typed
from workbook_template.operations.references import (
    References,
    UnknownReference,
    chart_areas,
    refers_to_nothing,
)
from workbook_template.progress import long_work
from workbook_template.reading.contents import Area
from workbook_template.reading.entries import read
from workbook_template.reading.meaning import Meanings
from workbook_template.safety.scan import Limits, too_large
from workbook_template.schema import SCHEMA_VERSION, TABLES
from workbook_template.schema.partner import (
    MONEY_MARK,
    SHEET_ONLY,
    SHEETS_TO_MARK,
    SHOWN,
    mark_of,
    may_go_alone,
)
from workbook_template.texts import write_text
from workbook_template.writing.blocks import FIRST_ROW
from workbook_template.writing.layout import Entries
from workbook_template.writing.saving import small, workbook_bytes
from workbook_template.writing.writer import enter

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from openpyxl.worksheet.worksheet import Worksheet

    from workbook_template.files import Backup
    from workbook_template.reading.contents import Found
    from workbook_template.reading.entries import Reading
    from workbook_template.writing.layout import Book, Value

LEFT_OUT = "left out"
_STATE_ROW = 3
_ENOUGH = 0.5
"""Share of formulas by which a workbook has this version's layout."""
MARKS = (MONEY_MARK, *map(mark_of, SHEETS_TO_MARK))
_Place = tuple[str, int, int]
_PUT_BACK = "put it back where it belongs, or make a whole workbook of it with carry-over"
_CURE = "make a whole workbook of it with carry-over, and copy that"


class CannotCopy(Refusal):
    """A workbook whose values cannot be told apart."""


@dataclass
class Copied:
    """What became of a workbook.

    Attributes
    ----------
    sheets, left_out, other_sheets : list of str
        The sheets in the copy; those of ours that are not; and the grower's own, which are not.
    followed : list of str
        The sheets left out that might be so alone, yet took along what is computed from them.
    shows_money : bool
        Whether prices, wages and costs are in the copy.
    changed : list of str
        Cells left out because their formula was typed over or changed, as ``sheet!cell``.
    entered : int
        How many of the cells to type in are filled in the workbook.
    quoting : list of str
        Cells in the copy whose text the grower typed, with private words in it.
    """

    sheets: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    followed: list[str] = field(default_factory=list)
    other_sheets: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    quoting: list[str] = field(default_factory=list)
    shows_money: bool = False
    entered: int = 0


@long_work()
def partner_copy(
    source: Path,
    target: Path,
    force: bool = False,
    large: bool = False,
    backup: Backup | None = None,
) -> Copied:
    """Write a copy that shows nothing private.

    Parameters
    ----------
    source : Path
        The farm's workbook; it is never written.
    target : Path
        The copy.
    force : bool
        Whether an older file there is replaced.
    large : bool
        Whether more is read than of a file from somebody else.
    backup : Backup, optional
        Keeps the older file.

    Returns
    -------
    Copied
        What was left out.

    Raises
    ------
    Refusal
        A ``ValueError`` with one sentence: why there is no copy, and what to do.
    """
    if target.exists() and source.exists() and target.samefile(source):
        raise CannotWrite(f"{shown(str(target))} is the workbook to copy: give another name.")
    reading = read(source, large)  # first: where that breaks off, nothing is beside the target
    with whole_file(target, force, source, backup) as unfinished:
        copy = _Copy(reading, large)
        copy.fill()
        copy.strip()
        package = small(workbook_bytes(copy.book.workbook))
        copy.search(package)
        unfinished.write_bytes(package)
    return copy.copied


def _book_like(reading: Reading, large: bool) -> Book:
    """Write an empty workbook with the settings and the rows of one that was read."""
    rows = {key: table.last_row - table.area.top for key, table in reading.tables.items()}
    cells = sum(rows[key] * len(TABLES[key].columns) for key in rows.keys() & TABLES.keys())
    if cells > Limits.of_file(large).work:
        raise too_large(shown(reading.path.name))
    empty = Entries(tables={key: [] for key in TABLES})
    return lay_out(replace(reading.settings, typed_functions=False), empty, rows)


class _Copy:
    """A copy in the making."""

    def __init__(self, reading: Reading, large: bool) -> None:
        self._reading = reading
        self._name = shown(reading.path.name)
        if reading.version < SCHEMA_VERSION:
            raise CannotCopy(
                f"{self._name} was made by an earlier version of cultivar_fx: {_CURE}."
            )
        self.book = _book_like(reading, large)
        self._refuse_misplaced()
        self._sources = self._table_cells()
        self._alike = self._compared()
        if reading.contents.sheets.keys() >= {*self.book.workbook.sheetnames}:
            # Before anything is followed: through formulas of which most differ, it takes long.
            alike = sum(is_alike for _, is_alike in self._alike.values())
            others = sum(bool(found.formula) for found, _ in self._alike.values()) - alike
            self._check_layout(alike, others)
        marks = {
            key: None if found.formula or key in reading.renamed else found.value
            for key, found in reading.singles.items()
        }
        places = (self.book.cells[key] for key in reading.renamed)
        unknown = [Area(one.sheet, one.column, one.row, one.column, one.row) for one in places]
        self._private = PrivateCells(self.book, marks, list(self._typed()), unknown)
        self._given: list[tuple[str, Value]] = []
        self._words = [
            cell.value
            for worksheet in self.book.workbook.worksheets
            for cell in worksheet._cells.values()
            if cell.data_type == "s"
        ]
        self.copied = Copied(
            shows_money=not self._private.is_money_private, entered=count_entered(reading)
        )
        names = self.book.workbook.sheetnames
        for name in names:
            is_private = name in self._private.sheets
            (self.copied.left_out if is_private else self.copied.sheets).append(name)
        self.copied.followed = [
            one
            for one in filter(may_go_alone, names)
            if marks.get(mark_of(one)) not in (SHEET_ONLY, SHOWN)
        ]
        self.copied.other_sheets = [one for one in reading.contents.sheets if one not in names]
        # A sheet that is missing may leave so much unknown that it seems private as a whole.
        wanted = {one for one in SHEETS_TO_MARK if marks.get(mark_of(one)) == SHOWN}
        missing = [
            one
            for one in names
            if (one in wanted or one in self.copied.sheets) and one not in reading.contents.sheets
        ]
        if missing:
            raise CannotCopy(
                f"{self._name} has no sheet {missing[0]} any more, it was renamed or deleted: "
                f"{_CURE}."
            )

    def _refuse_misplaced(self) -> None:
        """Refuse a workbook whose names, labels or headings do not belong together any more."""
        contents = self._reading.contents
        wrong = misplaced(self._reading)
        if wrong:
            found, sentence, _ = wrong[0]
            raise CannotCopy(
                f"{self._name}, {shown(found.sheet)}, {found.cell}: {sentence}: {_PUT_BACK}."
            )
        if not any(key in self._reading.singles for key in MARKS):
            raise CannotCopy(
                f"{self._name} does not say any more what is private, since the names of its "
                f"cells were lost: {_CURE}."
            )
        ours = {name.casefold() for name in self.book.workbook.defined_names}
        for sheet, worksheet in contents.sheets.items():
            for name in worksheet.defined_names:
                if name.casefold() in ours:
                    raise CannotCopy(
                        f"{self._name} has a second name {shown(name)}, for the "
                        f"{shown(sheet)} sheet alone: delete it, and try again."
                    )

    # What the farm's workbook computes in another way

    def _compared(self) -> dict[_Place, tuple[Found, bool]]:
        """Return what stands in each computed cell, and whether it is computed as we do it."""
        contents, meanings = self._reading.contents, Meanings(self._reading.contents)
        compared = {}
        for name in self.book.workbook.sheetnames:
            if name in NEVER_COPIED:
                continue
            for cell in self._formulas(self.book.workbook[name]):
                here = (name, cell.row, cell.column)
                source = self._sources.get(here, here)
                if source[0] not in contents.sheets:
                    continue
                found = contents.found(*source)
                theirs, ours = (found.formula, *source[:2]), (cell.value, *here[:2])
                is_alike = theirs == ours or (
                    bool(found.formula) and meanings.of(*theirs) == meanings.of(*ours)
                )
                compared[here] = found, is_alike
        return compared

    def _typed(self) -> Iterator[Typed]:
        """Yield every formula that is not ours: what is computed from it may be private too."""
        references = References(self._reading.contents.workbook)
        others = [
            (here, found)
            for here, (found, is_alike) in self._alike.items()
            if found.formula and not is_alike
        ]
        for (sheet, row, column), found in (*others, *self._inputs()):
            if found.formula and not refers_to_nothing(found.formula):
                areas = self._areas(references, found) if self._is_unmoved else None
                yield Typed(Area(sheet, column, row, column, row), areas)

    @cached_property
    def _is_unmoved(self) -> bool:
        """Whether each input stands where a new workbook has it."""
        return all(
            (found.sheet, found.cell) == (sheet, f"{get_column_letter(column)}{row}")
            for (sheet, row, column), found in self._inputs()
        )

    def _inputs(self) -> Iterator[tuple[_Place, Found]]:
        """Yield what was typed, with its place in the copy."""
        for key, found in self._reading.singles.items():
            place = self.book.cells[key]
            yield (place.sheet, place.row, place.column), found
        for table, table_found in self._reading.tables.items():
            for line in table_found.rows:
                for one, found in line.cells.items():
                    column = self.book.columns[table, one]
                    first = table_found.area.top + bool(column.heading)
                    yield (column.sheet, column.first + line.row - first, column.column), found

    def _areas(self, references: References, found: Found) -> set[Area] | None:
        """Return what a typed formula refers to; None where that is not certain."""
        row = coordinate_to_tuple(found.cell)[0]
        try:
            areas = references.areas(found.formula, found.sheet, row)
        except UnknownReference:
            return None
        clipped = set()
        for area in areas:
            if area.sheet not in self.book.workbook.sheetnames:
                return None
            worksheet = self.book.workbook[area.sheet]
            rows = self._reading.contents.rows[area.sheet]
            for at in rows:
                if area.top <= at <= area.bottom and any(
                    area.left <= column <= area.right and (at, column) not in worksheet._cells
                    for column in rows[at]
                ):
                    return None  # a cell of the grower's own, which may hold anything
            right = min(area.right, worksheet.max_column)
            clipped.add(area._replace(right=right, bottom=min(area.bottom, worksheet.max_row)))
        return clipped

    # Putting in what is not private

    def fill(self) -> None:
        """Fill the empty workbook with the values that are not private."""
        self._fill_computed()
        self._fill_inputs()
        for name in self.copied.sheets:
            self._note_private(self.book.workbook[name])

    def _fill_computed(self) -> None:
        alike = values = 0
        for name in self.copied.sheets:
            for cell in self._formulas(self.book.workbook[name]):
                cell.value = None
                here = (name, cell.row, cell.column)
                if here not in self._alike:
                    continue
                found, is_alike = self._alike[here]
                alike += is_alike
                values += is_alike and found.value is not None
                if self._private.holds(*here):
                    if found.formula and not is_alike:
                        self.copied.changed.append(f"{name}!{found.cell}")
                elif is_alike:
                    self._give(cell, found.value)
                elif found.is_filled:
                    self.copied.changed.append(f"{name}!{found.cell}")
        self._check_layout(alike, len(self.copied.changed))
        if not values:
            raise CannotCopy(
                f"{self._name} holds no computed values, since a program that does not compute "
                "saved it: open it in your spreadsheet program, save it, and try again."
            )

    def _give(self, cell: Any, value: Value) -> None:
        """Put a value in that is not private."""
        enter(cell, value)
        self._given.append((f"{cell.parent.title}!{cell.coordinate}", value))

    def _formulas(self, worksheet: Any) -> Iterator[Any]:
        return (
            cell
            for _, cell in sorted(worksheet._cells.items())
            if cell.data_type == "f" and cell.row >= FIRST_ROW
        )

    def _table_cells(self) -> dict[tuple[str, int, int], tuple[str, int, int]]:
        """Return the cells of the tables, as they are written, with where they were found."""
        found = {}
        for (table, key), place in self.book.columns.items():
            table_found = self._reading.tables.get(table)
            if table_found is None or key not in table_found.columns:
                continue
            area = table_found.area
            first = area.top + bool(place.heading)
            for offset in range(place.last - place.first + 1):
                here = (place.sheet, place.first + offset, place.column)
                found[here] = (area.sheet, first + offset, table_found.columns[key])
        return found

    def _check_layout(self, alike: int, others: int) -> None:
        if alike < _ENOUGH * (alike + others):
            raise CannotCopy(
                f"{self._name} was made by another version of cultivar_fx, or its rows were moved: "
                f"{_CURE}."
            )

    def _fill_inputs(self) -> None:
        for place in self.book.cells.values():
            if place.is_input:
                self._cell(place.sheet, place.row, place.column).value = None
        for key in self.book.fields:
            column = self.book.columns[key]
            for row in range(column.first, column.last + 1):
                self._cell(column.sheet, row, column.column).value = None
        for here, found in self._inputs():
            self._put_input(self._cell(*here), found)

    def _cell(self, sheet: str, row: int, column: int) -> Any:
        return self.book.workbook[sheet].cell(row, column)

    def _put_input(self, cell: Any, found: Found) -> None:
        """Put in what was typed; a formula's value only where it refers to nothing."""
        sheet = cell.parent.title
        if sheet in self._private.sheets:
            return
        is_private = self._private.holds(sheet, cell.row, cell.column)
        if is_private and not found.formula:
            return
        if found.formula and (is_private or not refers_to_nothing(found.formula)):
            self.copied.changed.append(f"{sheet}!{found.cell}")
            return
        self._give(cell, found.value)

    def _note_private(self, worksheet: Worksheet) -> None:
        """Write that something is left out, in the first of the cells below each other."""
        alone = {
            (place.row, place.column)
            for place in self.book.cells.values()
            if place.sheet == worksheet.title
        }
        for row, column in sorted(worksheet._cells):
            cell: Any = worksheet._cells[row, column]
            is_private = self._private.holds(worksheet.title, row, column)
            is_first = not self._private.holds(worksheet.title, row - 1, column)
            if is_private and row >= FIRST_ROW and (is_first or (row, column) in alone):
                write_text(cell, LEFT_OUT)

    # Leaving nothing but values

    def strip(self) -> None:
        """Take out the rest of what makes a workbook compute, and the private sheets."""
        workbook: Any = self.book.workbook
        for name in self.copied.left_out:
            workbook.remove(workbook[name])
        workbook.defined_names.clear()
        workbook.custom_doc_props = CustomPropertyList()
        workbook.properties.title = "A partner's copy, values only"
        workbook.calculation.fullCalcOnLoad = False
        workbook.active = 0
        until = self._reading.contents.stored(*self._today())
        since = f" of {until.isoformat()}" if isinstance(until, date) else ""
        for worksheet in workbook.worksheets:
            worksheet.conditional_formatting = ConditionalFormattingList()
            worksheet.data_validations = DataValidationList()
            worksheet.tables.clear()
            worksheet.protection.sheet = False
            worksheet._charts = [one for one in worksheet._charts if self._shows_nothing(one)]
            self._strip_links(worksheet)
            for (row, _), cell in worksheet._cells.items():
                if row < FIRST_ROW and cell.data_type == "f":
                    cell.value = None
            state = worksheet.cell(_STATE_ROW, 1)
            state.hyperlink = None
            write_text(state, f"A partner's copy: the values{since}. Nothing in it computes.")

    # Looking at what was made

    def search(self, package: bytes) -> None:
        """Refuse to hand out a copy in which a private value stands anywhere."""
        private = list(self._kept_back())
        given = [value for _, value in self._given]
        for value, part in leaks(package, private, [*given, *self._words]):
            raise CannotCopy(
                f"The copy of {self._name} would hold what is private, {shown(repr(value))}, in "
                f"its part {shown(part)}: nothing was written."
            )
        others = set(private) - set(given)
        typed = {f"{sheet}!{get_column_letter(at)}{row}" for (sheet, row, at), _ in self._inputs()}
        self.copied.quoting = quoting((one for one in self._given if one[0] in typed), others)

    def _kept_back(self) -> Iterator[Value]:
        """Yield every private value of the farm's workbook; a text only where it was typed.

        Texts that are computed are made of those, and of words that stand anywhere.
        """
        computed = ((here, found) for here, (found, _) in self._alike.items())
        whole = self._private.sheets - self._private.left_out_alone
        numbers = ((here, found) for here, found in computed if not isinstance(found.value, str))
        for (sheet, row, column), found in (*numbers, *self._inputs()):
            is_private = sheet in whole or self._private.holds(sheet, row, column)
            if is_private and isinstance(found.value, str | int | float):
                yield found.value

    def _today(self) -> tuple[str, int, int]:
        place = self.book.cells["today"]
        return place.sheet, place.row, place.column

    def _shows_nothing(self, chart: Any) -> bool:
        return not any(self._private.touches(area) for area in chart_areas(chart))

    def _strip_links(self, worksheet: Any) -> None:
        """Take out links to sheets that are not there, and lines that are about such a sheet."""
        for (row, column), cell in worksheet._cells.items():
            if cell.hyperlink is None:
                continue
            sheet = cell.hyperlink.location.rpartition("!")[0].strip("'")
            if sheet in self.copied.left_out:
                cell.hyperlink = None
                if cell.value == sheet:
                    cell.value = worksheet.cell(row, column + 1).value = None
