"""What was entered into a workbook: how many cells, whether any, and whether all came through."""

from __future__ import annotations

from datetime import date, time, timedelta
from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from openpyxl.utils.datetime import to_excel

from cultivar_fx.errors import CellError
from workbook_template.errors import Refusal, shown
from workbook_template.reading.appearance import appearance
from workbook_template.reading.entries import fields_of, read, words_of
from workbook_template.reading.unmatched import Search
from workbook_template.schema import SINGLE_INPUTS, TABLES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from workbook_template.reading.entries import Reading
    from workbook_template.writing.layout import Entries, Value

_WHEN = (date, time, timedelta)
_MILLISECOND = 2e-8
"""In days; finer than that no date is kept."""


def count_entered(reading: Reading) -> int:
    """Return how many of the cells to type in are filled."""
    singles = sum(found.is_filled for found in reading.single_cells.values())
    return singles + sum(len(row.cells) for table in reading.tables.values() for row in table.rows)


def holds_entries(path: Path) -> bool:
    """Return whether a file holds anything that somebody entered.

    Parameters
    ----------
    path : Path
        Any file.

    Returns
    -------
    bool
        Not where it is empty, or a workbook of ours as it was written. What cannot be read may
        hold anything.
    """
    if not path.stat().st_size:
        return False
    try:
        reading = read(path)
    except Refusal:
        return True
    if any(_typed(reading)):
        return True
    search = Search(reading)
    looks = appearance(reading, search.places)
    return bool(search.leftovers or looks.looks or looks.widths or looks.others)


def _typed(reading: Reading) -> Iterator[bool]:
    """Yield for each filled cell to type in whether it is not as a new workbook has it."""
    units = reading.settings.units
    for key, found in reading.singles.items():
        yield not _is_same(found.value, SINGLE_INPUTS[key].start_value(units))
    for key, table in reading.tables.items():
        starts = TABLES[key].start_rows(units) if key in TABLES else []
        nothing: dict[str, Any] = {}
        rows = [one.cells for one in table.rows]
        for row, start in zip_longest(rows, starts, fillvalue=nothing):
            for column in {**row, **start}:
                first = start.get(column, fields_of(key)[column].start_value(units))
                yield not _is_same(row[column].value if column in row else None, first)
    yield from (found.is_filled for found in reading.moved.values())


def missing(path: Path, entries: Entries, large: bool = False) -> list[str]:
    """Read a workbook that was written, and name what was entered and is not in it.

    Parameters
    ----------
    path : Path
        The workbook.
    entries : Entries
        What was typed into it.
    large : bool
        Whether more is read than of a file from somebody else.

    Returns
    -------
    list of str
        The place and the value of each cell, or line carried over, that does not hold it.
    """
    reading = read(path, large)
    return [*_missing_inputs(reading, entries), *_missing_lines(reading, entries)]


def _missing_inputs(reading: Reading, entries: Entries) -> Iterator[str]:
    for key, value in entries.singles.items():
        found = reading.singles.get(key)
        if value is not None and not (found and _is_same(found.value, value)):
            yield f"{words_of(key)}: {shown(str(value))}"
    for key, typed in entries.tables.items():
        table = reading.tables.get(key)
        rows = [row.cells for row in table.rows if row.cells] if table else []
        filled = [row for row in map(_filled, typed) if row]
        for number, row in enumerate(filled):
            for column, value in row.items():
                cell = rows[number].get(column) if number < len(rows) else None
                if not (cell and _is_same(cell.value, value)):
                    label = fields_of(key)[column].label
                    yield f"{words_of(key)}, row {number + 1}, {label}: {shown(str(value))}"


def _filled(row: Mapping[str, Value]) -> dict[str, Value]:
    return {column: value for column, value in row.items() if value is not None}


def _missing_lines(reading: Reading, entries: Entries) -> Iterator[str]:
    contents = reading.contents
    lines = [line for sheet in contents.sheets for line in contents.carried(sheet)]
    for number, typed in enumerate(entries.carried):
        values = [value for value in typed if value is not None]
        found = lines[number] if number < len(lines) else []
        there = [value for value in found if value is not None]
        if len(values) != len(there) or not all(map(_is_same, there, values)):
            yield f"a line carried over: {shown(' '.join(map(str, values)))}"


def _is_same(found: Value, typed: Value) -> bool:
    """Return whether a cell holds what was typed; a date may be found as its number."""
    if isinstance(typed, bool) or isinstance(found, bool):
        return found is typed
    if isinstance(typed, CellError):  # one that no program knows is written as text
        return typed.code == (found.code if isinstance(found, CellError) else found)
    if isinstance(typed, _WHEN) or isinstance(found, _WHEN):
        one, other = _number(found), _number(typed)
        return one is not None and other is not None and abs(one - other) <= _MILLISECOND
    return found == typed


def _number(value: Value) -> float | None:
    """Return the number by which a program knows a number, a date or a time."""
    if isinstance(value, _WHEN):
        return float(to_excel(value))  # type: ignore[no-untyped-call]
    return value if isinstance(value, int | float) else None
