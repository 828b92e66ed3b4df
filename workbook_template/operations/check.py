"""Checks a workbook: what is typed into it, the formulas in it, and whether all adds up.

Nothing that stands in the file is believed: what was typed is put into a new workbook, which is
computed anew, and its own checks are asked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from openpyxl.utils import get_column_letter

from workbook_template.build import can_be_computed, lay_out
from workbook_template.operations.carry_over import carried, check_size
from workbook_template.operations.entered import count_entered
from workbook_template.operations.input_rules import Fault, typed_faults
from workbook_template.operations.made_with import has_columns, keep_figures
from workbook_template.operations.misplaced import misplaced
from workbook_template.progress import long_work, tell
from workbook_template.reading.entries import read, words_of
from workbook_template.reading.own_formulas import BROKEN, LOST, OTHER_FORMULA, TYPED_OVER
from workbook_template.reading.unmatched import DELETED, Search
from workbook_template.rules.to_fix import WARNING, labels, sentences
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import TO_FIX, Computed
from workbook_template.sheets import all_sheets
from workbook_template.sheets.checks import AN_ERROR, FAILS
from workbook_template.writing.layout import input_name, name_in
from workbook_template.writing.saving import workbook_bytes
from workbook_template.writing.stored_values import computed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from workbook_template.reading.entries import Reading
    from workbook_template.reading.tables import TableFound
    from workbook_template.schema.fields import Table
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.layout import Entries

_WORDS, _SHEET, _FOUND, _ALLOWED, _STATE = range(1, 6)
_CURE = "carry-over makes a workbook with the formula again"
_WRONG = {
    TYPED_OVER: "This cell was typed over, so it no longer computes",
    OTHER_FORMULA: "This cell has another formula than the workbook's",
    DELETED: "The formula of this cell was deleted",
    BROKEN: "This cell refers to cells, columns or sheets that were deleted",
    LOST: "A program lost the formula of this cell, since it or a format such as .xls knows no "
    "columns of tables",
}


@dataclass
class Checked:
    """What a check of a workbook came to.

    Attributes
    ----------
    faults : list of Fault
        Every broken rule, in the order of the sheets.
    warnings : list of Fault
        What may well be right, and is worth a look.
    is_computed : bool
        Whether the workbook could be computed anew; one that is very large cannot, and then only
        what was typed is checked.
    is_compared : bool
        Whether the formulas could be compared with those of the release that wrote the file.
    entered : int
        How many of the cells to type in are filled.
    """

    faults: list[Fault]
    warnings: list[Fault]
    is_computed: bool
    is_compared: bool
    entered: int


@long_work()
def check(path: Path, large: bool = False) -> Checked:
    """Find every broken rule in a workbook.

    Parameters
    ----------
    path : Path
        The workbook; it is never written.
    large : bool
        Whether more is read than of a file from somebody else.

    Returns
    -------
    Checked
        The broken rules.

    Raises
    ------
    Refusal
        A ``ValueError`` with one sentence: why the file cannot be read, and what to do.
    """
    reading = read(path, large)
    search = Search(reading)
    entries, settings, _ = carried(reading, search=search)
    if not has_columns(reading):  # an earlier release: nobody could keep the figures
        keep_figures(reading, entries, settings.units)
    check_size(settings, entries, path, large)
    faults = [*_absent(reading, search), *_misplaced(reading)]
    faults += [*typed_faults(reading), *_formulas(reading, search)]
    entries.carried, entries.sheets = [], {}
    anew = _computed(settings, entries)
    if anew is not None:
        known = {(one.sheet, one.cell) for one in faults}
        faults += [
            one
            for one in list(anew.faults(reading))
            # A cell that was blamed says no more, nor does what its faults keep from an answer.
            if (one.sheet, one.cell) not in known and not (faults and one.value == AN_ERROR)
        ]
    order = {name: at for at, name in enumerate(reading.contents.sheets)}
    faults.sort(key=lambda one: order.get(one.sheet, -1))
    return Checked(
        [one for one in faults if not one.is_warning],
        [one for one in faults if one.is_warning],
        anew is not None,
        search.is_compared,
        count_entered(reading),
    )


def _absent(reading: Reading, search: Search) -> Iterator[Fault]:
    """Find inputs, tables and columns that its release wrote and the file has no more."""
    cure = "carry-over makes a workbook with it again"
    for key in filter(search.was_written, reading.absent):
        table, _, column = key.partition(".")
        if key in SINGLE_INPUTS:
            name = name_in(reading.version, input_name(key))
            words = f"The input {words_of(key)} is not found: its name {name} is gone"
        elif table in TABLES and column:
            title = TABLES[table].column(column).label
            words = f"The table {TABLES[table].title} has no column {title}"
        else:
            words = f"The table {words_of(key)} is not found"
        place = reading.tables[table].area.sheet if column and table in reading.tables else ""
        yield Fault(place, "", None, f"{words}; {cure}.")


def _misplaced(reading: Reading) -> Iterator[Fault]:
    """Find names and headings that do not belong to the cells where they are."""
    for one in misplaced(reading):
        cure = (
            "carry-over puts what is in doubt on a sheet of its own"
            if one.is_name
            else "put the headings back over their columns"
        )
        yield Fault(one.found.sheet, one.found.cell, one.found.value, f"{one.sentence}; {cure}.")


def _formulas(reading: Reading, search: Search) -> Iterator[Fault]:
    """Find computed cells that do not compute what they should."""
    for one in [*search.leftovers, *search.destroyed]:
        if one.kind in _WRONG:
            value = one.found.formula or one.found.value
            about = f"{one.about}: " if one.about else ""
            sentence = f"{about}{_WRONG[one.kind]}; {_CURE}."
            yield Fault(one.found.sheet, one.found.cell, value, sentence)
    for key, table in reading.tables.items():
        if key in TABLES:
            yield from _blank_formulas(reading, table)


def _blank_formulas(reading: Reading, table: TableFound) -> Iterator[Fault]:
    """Find filled rows without their formulas: deleted, or typed below the table."""
    computed = [
        (table.columns[one.key], one.label)
        for one in TABLES[table.key].columns
        if isinstance(one, Computed) and one.key in table.columns
    ]
    for row in table.rows:
        filled = reading.contents.rows[table.area.sheet][row.row]
        blank = [(number, label) for number, label in computed if number not in filled]
        if row.cells and blank:
            where = "below the table" if row.row > table.area.bottom else "in the table"
            number, label = blank[0]
            others = f" and {len(blank) - 1} more" if len(blank) > 1 else ""
            yield Fault(
                table.area.sheet,
                f"{get_column_letter(number)}{row.row}",
                None,
                f"This row {where} lacks the formula of {label}{others}; {_CURE}.",
            )


def _computed(settings: Settings, entries: Entries) -> _Computed | None:
    """Compute a new workbook with the same entries; nothing where it is too large for that."""
    return _Computed(settings, entries) if can_be_computed(settings, entries) else None


class _Computed:
    """A new workbook with the same entries, computed."""

    def __init__(self, settings: Settings, entries: Entries) -> None:
        book = self._book = lay_out(replace(settings, typed_functions=False), entries)
        tell("Computing every formula anew")
        self._values = computed(workbook_bytes(book.workbook, book.filled))

    def _value(self, sheet: str, row: int, column: int) -> Any:
        """Return the value of a cell, a date as its number, as conditions compare it."""
        value = self._values[sheet].get((row, column))
        return AN_ERROR if isinstance(value, dict) else value

    def faults(self, reading: Reading) -> Iterator[Fault]:
        """Find what the workbook itself says is wrong: in rows of its tables, and as a whole."""
        for key, table in TABLES.items():
            if key in reading.tables:
                yield from self._of_rows(table, reading.tables[key])
        states = self._states()
        for sheet in all_sheets(self._book.settings):
            for one in sheet.checks:
                if (sheet.name, one.words) in states:
                    cell, found, allowed = states[sheet.name, one.words]
                    words = one.words.removeprefix(f"{sheet.name}: ")
                    yield Fault(
                        sheet.name,
                        "",
                        found,
                        f"{words}: this does not hold, see the Checks sheet, cell {cell} "
                        f"(found {_shown(found)}, allowed {_shown(allowed)}).",
                    )

    def _states(self) -> dict[tuple[str, str], tuple[str, Any, Any]]:
        """Return the checks that fail, by sheet and words: their cell, found, allowed."""
        place = self._book.columns["checks", "state"]
        lines = {
            row: [self._value(place.sheet, row, column) for column in range(1, _STATE + 1)]
            for row in range(place.first, place.last + 1)
        }
        return {
            (line[_SHEET - 1], line[_WORDS - 1]): (
                f"{get_column_letter(_STATE)}{row}",
                line[_FOUND - 1],
                line[_ALLOWED - 1],
            )
            for row, line in lines.items()
            if line[_STATE - 1] == FAILS
        }

    def _of_rows(self, table: Table, found: TableFound) -> Iterator[Fault]:
        """Find what the rows of a table say of themselves."""
        keys = {label: key for key, label in labels(table).items()}
        texts = self._book.columns[table.key, TO_FIX]
        for offset, row in enumerate(found.rows):
            text = self._value(texts.sheet, texts.first + offset, texts.column)
            for sentence in sentences(str(text or "")):
                key = keys[sentence.label]
                cell = row.cells.get(key)
                column = get_column_letter(found.columns.get(key, found.area.left))
                yield Fault(
                    found.area.sheet,
                    cell.cell if cell else f"{column}{row.row}",
                    cell.value if cell else None,
                    str(sentence),
                    is_warning=sentence.mark == WARNING,
                )


def _shown(value: Any) -> str:
    return f"{value:g}" if isinstance(value, int | float) else str(value)
