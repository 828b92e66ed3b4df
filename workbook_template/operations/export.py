"""Writes the logs and tables of a workbook as CSV files, one each, for other programs."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from cultivar_fx.errors import CellError
from workbook_template.files import whole_folder
from workbook_template.progress import long_work
from workbook_template.reading.earlier_places import words_now
from workbook_template.reading.earlier_units import in_present_unit
from workbook_template.reading.entries import read
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import unit_label
from workbook_template.texts import safe_text

if TYPE_CHECKING:
    from pathlib import Path

    from pandas import DataFrame

    from workbook_template.files import Backup
    from workbook_template.reading.contents import Found
    from workbook_template.reading.entries import Reading
    from workbook_template.reading.tables import TableFound
    from workbook_template.schema.fields import Column
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.layout import Value

INPUTS = "inputs"
"""The file of the single inputs."""
ENCODING = "utf-8-sig"
"""With the mark by which spreadsheet programs know the signs of units."""


@long_work()
def export(
    source: Path,
    folder: Path,
    force: bool = False,
    large: bool = False,
    backup: Backup | None = None,
) -> dict[str, int]:
    """Write every table of a workbook, and its single inputs, into a folder.

    Headings carry their units, dates are written as 2026-03-01, numbers with all their digits.
    What a spreadsheet program would take for a formula, whatever it takes for the sign between
    cells, gets an apostrophe in front; see ``texts.original_text``.

    Parameters
    ----------
    source : Path
        The workbook; it is never written.
    folder : Path
        Where to write the files.
    force : bool
        Whether files of the same name are replaced.
    large : bool
        Whether more is read than of a file from somebody else.
    backup : Backup, optional
        Keeps the files that are replaced.

    Returns
    -------
    dict of str to int
        The rows of each file, by its name.

    Raises
    ------
    Refusal
        A ``ValueError`` with one sentence: why nothing was written, and what to do.
    """
    reading = read(source, large)  # first: where that breaks off, nothing is beside the target
    with whole_folder(folder, force, source, backup) as unfinished:
        frames = {INPUTS: _inputs(reading)}
        for key in TABLES:
            if key in reading.tables:
                frames[key] = _table(reading, reading.tables[key])
            elif key in reading.moved_rows:
                frames[key] = _moved_table(reading, key)
        for name, frame in frames.items():
            frame.to_csv(
                unfinished / f"{name}.csv", index=False, encoding=ENCODING, lineterminator="\n"
            )
    return {f"{name}.csv": len(frame) for name, frame in frames.items()}


def _frame(rows: list[list[Any]], headings: list[str]) -> DataFrame:
    """Make a frame whose cells stay as they are: whole numbers whole, dates dates."""
    from pandas import DataFrame

    return DataFrame(rows, columns=headings, dtype=object)


def _inputs(reading: Reading) -> DataFrame:
    settings = reading.settings
    rows = [
        [
            key,
            one.label,
            _shown(reading.singles[key].value if key in reading.singles else None),
            _unit(one, settings),
        ]
        for key, one in SINGLE_INPUTS.items()
    ]
    return _frame(rows, ["key", "input", "value", "unit"])


def _table(reading: Reading, found: TableFound) -> DataFrame:
    """Return the filled rows of a table: what was typed, then what is computed from it."""
    settings = reading.settings
    columns = [one for one in TABLES[found.key].columns if one.key in found.columns]
    rows = [
        [_shown(_cell(reading, found, row.row, one.key).value) for one in columns]
        for row in found.rows
    ]
    return _frame(rows, [_heading(one, settings) for one in columns])


def _moved_table(reading: Reading, key: str) -> DataFrame:
    """Return what an earlier version had as single inputs as the rows of the table of now."""
    columns, rows = TABLES[key].fields, reading.moved_rows[key]
    values = [
        [_shown(row[one.key].value if one.key in row else None) for one in columns] for row in rows
    ]
    return _frame(values, [_heading(one, reading.settings) for one in columns])


def _cell(reading: Reading, found: TableFound, row: int, key: str) -> Found:
    cell = reading.contents.found(found.area.sheet, row, found.columns[key])
    kind, units = TABLES[found.key].column(key).dimension, reading.settings.units
    named = f"{found.key}.{key}"
    return in_present_unit(words_now(cell, named), named, kind, reading.version, units)


def _unit(column: Column, settings: Settings) -> str:
    """Return a unit; the number of a share stands for itself, not for percent."""
    if column.dimension.is_share:
        return column.dimension.metric
    return safe_text(unit_label(column.dimension, settings.units, settings.currency))


def _heading(column: Column, settings: Settings) -> str:
    unit = _unit(column, settings)
    return safe_text(f"{column.label}, {unit}" if unit else column.label)


def _shown(value: Value) -> Any:
    if isinstance(value, CellError):
        return value.code
    return value.isoformat() if isinstance(value, date) else safe_text(value)
