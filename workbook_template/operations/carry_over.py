"""Makes a workbook anew with everything that was entered into an earlier one.

What was typed goes into its own place. What a batch was made with, and nobody typed, is kept as
the earlier file shows it: a later version may count anew, but not what is past. Everything else
that somebody entered goes to the sheet Carried over, with where it stood. The earlier file is only
read.
"""

from __future__ import annotations

import gc
from math import inf, nextafter
from typing import TYPE_CHECKING

from openpyxl.utils import range_boundaries
from openpyxl.utils.cell import coordinate_to_tuple

from cultivar_fx.errors import CellError
from workbook_template.build import build, table_rows
from workbook_template.errors import CannotWrite, existing_folder, shown
from workbook_template.metadata import remembered
from workbook_template.operations.carry_report import Report
from workbook_template.operations.conversion import convert
from workbook_template.operations.entered import missing
from workbook_template.operations.made_with import keep_figures
from workbook_template.operations.misplaced import misplaced
from workbook_template.progress import long_work, tell
from workbook_template.reading.appearance import appearance
from workbook_template.reading.blank_layout import layout_of
from workbook_template.reading.entries import fields_of, read, words_of
from workbook_template.reading.unmatched import EXTRA_CELL, EXTRA_SHEET, NOTE, Search
from workbook_template.releases import RELEASE
from workbook_template.safety.scan import Limits, too_large
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.sheets.forecast_flushes import rows_ready
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries
from workbook_template.writing.stored_values import NONE_STORED

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping
    from pathlib import Path

    from workbook_template.files import Backup
    from workbook_template.reading.contents import Found
    from workbook_template.reading.entries import Reading
    from workbook_template.reading.tables import TableFound
    from workbook_template.reading.unmatched import Leftover
    from workbook_template.schema.fields import Field
    from workbook_template.writing.layout import Value

_IN_RUNS = (EXTRA_CELL, EXTRA_SHEET)
"""Kinds whose neighbors in a row share one line."""
_MOST_LINES = 500
"""A sheet of the grower's own with more of them is carried as a sheet."""
_LISTED = ("rooms", "products", "strains", "recipes", "recipe_lines", "ingredients")
"""Tables whose things other sheets list, in as many lines as the table has in a new workbook."""


@long_work()
def carry_over(
    old: Path,
    new: Path,
    units: str | None = None,
    replace: bool = False,
    large: bool = False,
    batch_rows: int | None = None,
    backup: Backup | None = None,
) -> Report:
    """Make a workbook anew on this version with everything that was entered.

    Parameters
    ----------
    old : Path
        The earlier workbook; it is only read.
    new : Path
        Where to write.
    units : str, optional
        The unit system of the new one; that of the old one where it is not given.
    replace : bool
        Whether a file at the new place is replaced.
    large : bool
        Whether more is read than of a file from somebody else.
    batch_rows : int, optional
        Rows ready for batches; as many as before where it is not given.
    backup : Backup, optional
        Keeps the file at the new place.

    Returns
    -------
    Report
        What was read, carried, and left, and whether all of it is in the file that was written.

    Raises
    ------
    Refusal
        A ``ValueError`` with one sentence.
    """
    if new.exists() and old.exists() and new.samefile(old):
        raise CannotWrite(f"{shown(str(new))} is the workbook to read: give another name.")
    existing_folder(new)
    reading = read(old, large)
    search = Search(reading)
    entries, settings, report = carried(reading, units, batch_rows, search)
    looks = appearance(reading, search.places)
    entries.looks, entries.widths = looks.looks, looks.widths
    report.looks, report.widths, report.others = len(looks.looks), len(looks.widths), looks.others
    report.kept = keep_figures(reading, entries, settings.units)
    check_size(settings, entries, old, large)
    del reading, search
    gc.collect()  # it takes as much memory as the new workbook will
    if not build(new, settings, entries, replace, old, backup):
        report.remarks.append(NONE_STORED)
    gc.collect()
    tell("Reading what was written")
    report.missing = missing(new, entries, large)
    return report


def carried(
    reading: Reading,
    units: str | None = None,
    batch_rows: int | None = None,
    search: Search | None = None,
) -> tuple[Entries, Settings, Report]:
    """Turn what was read into what is typed into a new workbook.

    Parameters
    ----------
    reading : Reading
        The earlier workbook.
    units : str, optional
        The unit system of the new one.
    batch_rows : int, optional
        Rows ready for batches.
    search : Search, optional
        The search for what stands besides, where it was made already.

    Returns
    -------
    tuple
        What is typed, what the new workbook is made for, and the report.
    """
    before = reading.settings
    settings = Settings(
        units=units or before.units,
        currency=before.currency,
        invented=before.invented,
        batch_rows=before.batch_rows if batch_rows is None else batch_rows,
        typed_functions=before.typed_functions,
    )
    name = shown(reading.path.name)
    leftovers = (search or Search(reading)).leftovers
    report = Report(name, before.units, settings.units, leftovers)
    return _Carrying(reading, settings, report).entries(), settings, report


def check_size(settings: Settings, entries: Entries, old: Path, large: bool) -> None:
    """Refuse to make a workbook that could not be read again."""
    growing = sum(len(table.columns) * rows for table, rows in table_rows(settings, entries)) + sum(
        map(len, [*entries.carried, *entries.sheets.values()])
    )
    limit = Limits.of_file(large).work
    if growing > limit or growing + _cells_outside(settings, entries) > limit:
        raise too_large(shown(old.name))


def _cells_outside(settings: Settings, entries: Entries) -> int:
    """Count the cells that a workbook has outside of its tables, with the grid that grows."""
    carried = bool(entries.carried)  # as the earlier file, whose layout is at hand then
    layout = layout_of(RELEASE, settings.units, settings.currency, settings.invented, carried)
    rows = rows_ready(settings.batch_rows, entries.tables.get("batches", ()))
    return sum(map(len, layout.cells.values())) + len(layout.growing) * rows


class _Carrying:
    """Turns what was read into what is typed into the new workbook."""

    def __init__(self, reading: Reading, settings: Settings, report: Report) -> None:
        self.reading = reading
        self.settings = settings
        self.report = report
        self._remembered = remembered(reading.contents.workbook)
        is_same = reading.settings.units == settings.units
        self._originals = dict(self._remembered) if is_same else {}

    def entries(self) -> Entries:
        """Return all entries, and count them."""
        entries = Entries()
        for key, found in self.reading.singles.items():
            entries.singles[key] = self._value(found, SINGLE_INPUTS[key])
            self.report.inputs += found.is_filled
        for key, table in self.reading.tables.items():
            entries.tables[key] = self._rows(key, table)
        for key, rows in self.reading.moved_rows.items():
            entries.tables[key] = [self._values(key, cells) for cells in rows]
        self.report.inputs += sum(one.is_filled for one in self.reading.moved.values())
        entries.originals = self._originals
        entries.sheets = self._sheets()
        entries.carried = self._lines(entries.sheets)
        self._remark()
        return entries

    def _rows(self, key: str, table: TableFound) -> list[dict[str, Value]]:
        self.report.rows += sum(bool(row.cells) for row in table.rows)
        self.report.cells += sum(len(row.cells) for row in table.rows)
        return [self._values(key, row.cells) for row in table.rows]

    def _values(self, key: str, cells: Mapping[str, Found]) -> dict[str, Value]:
        fields = fields_of(key)
        return {column: self._value(found, fields[column]) for column, found in cells.items()}

    def _value(self, found: Found, one: Field) -> Value:
        """Return what goes into the cell: of a formula its value, unless that is an error."""
        value = found.value
        where = f"{shown(found.sheet)}, {found.cell}, {one.label}"
        if found.formula and (value is None or isinstance(value, CellError)):
            self.report.left += 1
            self.report.remarks.append(
                f"{where}: blank now, since the file holds no value for its formula."
            )
            return None
        before, now = self.reading.settings.units, self.settings.units
        if before == now or not one.is_number or not one.dimension.differs:
            return value
        if isinstance(value, int | float):
            self.report.converted += 1
            return self._converted(float(value), one)
        self.report.remarks.append(f"{where}: {shown(str(value))} is no number, so not converted.")
        return value

    def _converted(self, value: float, one: Field) -> float:
        """Convert a number so that it comes back bit for bit, unless it is typed anew by then."""
        before, now = self.reading.settings.units, self.settings.units
        known = self._remembered.get((now, one.key, value))
        if known is not None:
            return known
        converted = float(convert(value, one.dimension, before, now))  # type: ignore[arg-type]
        if convert(converted, one.dimension, now, before) != value:
            # Two numbers next to each other may come to the same one.
            while self._originals.get((before, one.key, converted), value) != value:
                converted = nextafter(converted, inf)
            self._originals[before, one.key, converted] = value
        return converted

    def _sheets(self) -> dict[str, dict[tuple[int, int], Value]]:
        """Return the grower's own sheets that are too long for lines; of formulas their values."""
        cells: dict[str, dict[tuple[int, int], Value]] = {}
        for one in self.report.leftovers:
            if one.kind == EXTRA_SHEET:
                place = coordinate_to_tuple(one.found.cell)
                cells.setdefault(one.found.sheet, {})[place] = one.found.value
        long = {
            name: found for name, found in cells.items() if len({*_rows_of(found)}) > _MOST_LINES
        }
        self.report.sheets = {name: len(found) for name, found in long.items()}
        return long

    def _lines(self, sheets: Collection[str]) -> list[list[Value]]:
        """Return the lines of the Carried over sheet: those of earlier times come first."""
        earlier = [
            line
            for sheet in self.reading.contents.sheets
            for line in self.reading.contents.carried(sheet)
        ]
        self.report.earlier = len(earlier)
        file = shown(self.reading.path.name)
        left = [
            one
            for one in self.report.leftovers
            if one.kind != EXTRA_SHEET or one.found.sheet not in sheets or one.found.formula
        ]
        return earlier + [_line(file, run) for run in _runs(left)]

    def _remark(self) -> None:
        for key in self.reading.absent:
            self.report.remarks.append(
                f"{words_of(key)}: not found in the file, so it is as in a new workbook."
            )
        for one in misplaced(self.reading):
            place = f"{shown(one.found.sheet)}, {one.found.cell}"
            self.report.doubted += one.found.is_filled and one.is_name
            end = "it is on the Carried over sheet" if one.is_name else "compare the two columns"
            self.report.remarks.append(f"{place}: {one.sentence}; {end}.")
        for key in _LISTED:
            table = self.reading.tables.get(key)
            if table and len(table.rows) > TABLES[key].rows:
                self.report.remarks.append(
                    f"{TABLES[key].title}: {len(table.rows)} rows, but other sheets list the "
                    f"first {TABLES[key].rows} of them only."
                )


def _rows_of(cells: Iterable[tuple[int, int]]) -> Iterator[int]:
    return (row for row, _ in cells)


def _runs(leftovers: list[Leftover]) -> list[list[Leftover]]:
    """Put neighbors in a row of a sheet together."""
    runs: list[list[Leftover]] = []
    for one in leftovers:
        if runs and _continues(runs[-1][-1], one):
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _continues(before: Leftover, one: Leftover) -> bool:
    alike = before.kind == one.kind in _IN_RUNS and before.found.sheet == one.found.sheet
    if not alike or before.found.formula or one.found.formula:
        return False
    left, right = range_boundaries(before.found.cell), range_boundaries(one.found.cell)
    return left[1] == right[1] and (left[0] or 0) + 1 == right[0]


def _line(file: str, run: list[Leftover]) -> list[Value]:
    first, last = run[0].found, run[-1].found
    cells = first.cell if len(run) == 1 else f"{first.cell}:{last.cell}"
    is_note = run[0].kind == NOTE
    values = [first.note] if is_note else [one.found.value for one in run]
    formula = "" if is_note else first.formula
    texts = (file, first.sheet, cells, run[0].kind, shown(run[0].about), formula)
    line = [*(text or None for text in texts), *values]
    return line if line[-1] is not None else line[:-1]
