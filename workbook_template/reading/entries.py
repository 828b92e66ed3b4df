"""Reads everything that was entered into a workbook of ours, whatever program saved it since.

Single inputs are found by their names, tables by theirs or by their headings, columns by the keys
that the file holds for them (``marks``). What stands elsewhere is found by ``leftovers``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

from cultivar_fx.catalog.dimensions import SYSTEMS
from workbook_template.errors import Damaged, shown
from workbook_template.metadata import CURRENCY_LINE, UNITS_LINE, is_currency, marks
from workbook_template.reading.blank_layout import headings_of
from workbook_template.reading.contents import Contents
from workbook_template.reading.earlier_places import (
    earlier_areas,
    field_now,
    rows_of,
    words_now,
)
from workbook_template.reading.earlier_units import in_present_unit
from workbook_template.reading.labels import Claim, claim_of, judged, plain
from workbook_template.reading.tables import (
    Headings,
    TableFound,
    find_grid,
    find_table,
    misheaded,
)
from workbook_template.releases import RELEASE, is_known
from workbook_template.safety.opening import open_workbook
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.earlier_places import EARLIER_PLACES
from workbook_template.schema.fields import Field, heading
from workbook_template.sheets import all_sheets
from workbook_template.sheets.start import INVENTED
from workbook_template.writing.blocks import Grid, Settings, TableBlock
from workbook_template.writing.layout import grid_name, input_name

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from workbook_template.reading.contents import Area, Found
    from workbook_template.safety.opening import OpenedWorkbook


_FIRST = 1
"""The release that says no number, and is the only one of its version of the schema."""


@dataclass
class Reading:
    """What was entered into a workbook.

    Attributes
    ----------
    path : Path
        The file.
    version : int
        The version of the schema that it follows.
    release : int or None
        The release that wrote it; None where that is not known here.
    settings : Settings
        What it was made for: units, currency, rows for batches, whether it is the invented farm.
    contents : Contents
        All its cells.
    singles : dict
        The cell of each single input that was found, blank or not, by its key.
    tables : dict
        The tables and grids that were found, by their keys.
    moved : dict
        The cell of each single input of an earlier version that stands in a table now, blank or
        not, by the key that it had.
    doubts : dict
        Inputs and grids whose name points beside other words than theirs, by key: where, and the
        words. They are not among those found.
    renamed : set of str
        Single inputs found whose words were exchanged for some that are not ours.
    misheaded : dict
        Columns, as ``table.column``, whose heading stands over cells that were another's.
    absent : list of str
        What the schema knows and the file has not: inputs by key, tables by key, columns as
        ``table.column``.
    """

    path: Path
    version: int
    release: int | None
    settings: Settings
    contents: Contents
    singles: dict[str, Found] = field(default_factory=dict)
    tables: dict[str, TableFound] = field(default_factory=dict)
    moved: dict[str, Found] = field(default_factory=dict)
    doubts: dict[str, tuple[Area, str]] = field(default_factory=dict)
    renamed: set[str] = field(default_factory=set)
    misheaded: dict[str, str] = field(default_factory=dict)
    absent: list[str] = field(default_factory=list)

    @property
    def single_cells(self) -> dict[str, Found]:
        """The cells of all single inputs, those of an earlier version included, by key."""
        return self.singles | self.moved

    @property
    def moved_rows(self) -> dict[str, list[dict[str, Found]]]:
        """The rows of tables that single inputs of an earlier version come to, by table."""
        return rows_of(self.moved, self.settings.units)


def read(path: Path, large: bool = False) -> Reading:
    """Read a workbook.

    Parameters
    ----------
    path : Path
        The file; it is never written.
    large : bool
        Whether more is read than of a file from somebody else.

    Returns
    -------
    Reading
        What was entered, each thing with its place.

    Raises
    ------
    Refusal
        A ``ValueError`` with one sentence: why the file is not read, and what to do.
    """
    return read_opened(path, open_workbook(path, large))


def read_opened(path: Path, opened: OpenedWorkbook) -> Reading:
    """Read a workbook that was opened already; else as ``read``."""
    name = shown(path.name)
    contents = Contents(opened, name)
    units, currency, invented = _made_for(contents, name)
    labels = {key: str(text) for key, text in marks(contents.workbook).items()}
    release = _release(contents)
    headings = Headings(currency, labels, headings_of(release, currency))
    settings = Settings(units=units, currency=currency, invented=invented)
    reading = Reading(path, contents.version, release, settings, contents)
    verdict = judged(contents, _claims(contents, currency), _titles())
    reading.doubts, reading.renamed = verdict.doubts, verdict.renamed
    for key in SINGLE_INPUTS:
        area = contents.named(input_name(key))
        if area and key not in reading.doubts:
            found = contents.found(area.sheet, area.top, area.left)
            reading.singles[key] = in_present_unit(
                words_now(found, key), key, SINGLE_INPUTS[key].dimension, contents.version, units
            )
    for key, table in TABLES.items():
        table_found = find_table(contents, table, headings, _titles())
        if table_found:
            _bring_up(table_found, contents.version, units)
            reading.tables[key] = table_found
            reading.misheaded |= misheaded(contents, table, headings, table_found)
    reading.moved = {
        key: contents.found(area.sheet, area.top, area.left)
        for key, area in earlier_areas(contents).items()
        if key not in reading.doubts and EARLIER_PLACES[key].table not in reading.tables
    }
    for key, grid in input_grids().items():
        if key in reading.doubts:
            continue
        names = {one: grid_name(key, one) for one in grid}
        table_found = find_grid(contents, key, names)
        if table_found:
            reading.tables[key] = table_found
    reading.absent = _absent(reading)
    reading.settings = Settings(
        units=units,
        currency=currency,
        invented=invented,
        batch_rows=_rows_ready(reading),
        typed_functions=any(one.startswith("CFX.") for one in contents.workbook.defined_names),
    )
    return reading


def _bring_up(table: TableFound, version: int, units: str) -> None:
    """Bring the figures of a table to the units that this version has there."""
    kinds = {one.key: one.dimension for one in TABLES[table.key].fields}
    for row in table.rows:
        for key, found in row.cells.items():
            named = f"{table.key}.{key}"
            row.cells[key] = in_present_unit(
                words_now(found, named), named, kinds[key], version, units
            )


def _claims(contents: Contents, currency: str) -> Iterator[Claim]:
    """Yield what the names of single inputs and grids claim to be."""
    for key in SINGLE_INPUTS:
        area = contents.named(input_name(key))
        if area:
            yield claim_of(contents, key, area, SINGLE_INPUTS[key].label)
    for key, area in earlier_areas(contents).items():
        yield claim_of(contents, key, area)
    for key, grid in input_grids().items():
        for column, one in grid.items():
            area = contents.named(grid_name(key, column))
            if area:
                heads = {plain(heading(one, units, currency)) for units in SYSTEMS}
                yield Claim(key, area, (area.sheet, area.top - 1, area.left), heads)


@cache
def input_grids() -> dict[str, dict[str, Field]]:
    """Return the inputs that stand in grids, by grid and column."""
    grids = {
        block.key: {one.key: one for one in block.columns if isinstance(one, Field)}
        for sheet in all_sheets(Settings())
        for block in sheet.blocks
        if isinstance(block, Grid)
    }
    return {key: fields for key, fields in grids.items() if fields}


def fields_of(key: str) -> dict[str, Field]:
    """Return the inputs of a table or a grid by their keys."""
    return {one.key: one for one in TABLES[key].fields} if key in TABLES else input_grids()[key]


def words_of(key: str) -> str:
    """Return the words for a key of the schema: an input, a table or grid, or a column."""
    table, _, column = key.partition(".")
    if column:
        return f"{TABLES[table].title}, {TABLES[table].column(column).label}"
    if key in SINGLE_INPUTS:
        return SINGLE_INPUTS[key].label
    if key in EARLIER_PLACES:
        return f"{TABLES[EARLIER_PLACES[key].table].title}, {field_now(key).label}"
    if key in TABLES:
        return TABLES[key].title
    return ", ".join(one.label for one in fields_of(key).values())


@cache
def _titles() -> frozenset[str]:
    blocks = [block for sheet in all_sheets(Settings()) for block in sheet.parts]
    titles = [block.table.title for block in blocks if isinstance(block, TableBlock)]
    return frozenset([*titles, *(title for one in blocks if (title := getattr(one, "title", "")))])


def _made_for(contents: Contents, name: str) -> tuple[str, str, bool]:
    """Return units, currency, and whether the farm is invented.

    The file's properties say it; where a program dropped them, the Start sheet does.
    """
    said = marks(contents.workbook)
    lines = _version_lines(contents)
    units = str(said.get("units") or lines.get(UNITS_LINE) or "").strip()
    if units not in SYSTEMS:
        units = _units_of_headings(contents)
    if units not in SYSTEMS:
        raise Damaged(f"{name} does not say any more whether its units are us or metric.")
    said_currency = str(said.get("currency") or lines.get(CURRENCY_LINE))
    currency = said_currency if is_currency(said_currency) else Settings().currency
    invented = said.get("invented")
    return units, currency, bool(lines.get(INVENTED) if invented is None else invented)


def _release(contents: Contents) -> int | None:
    """Return which release wrote a file; without its properties it is taken for this one."""
    said = marks(contents.workbook)
    number = said.get("release")
    if isinstance(number, int | float):
        return next((one for one in range(1, RELEASE + 1) if one == number and is_known(one)), None)
    if contents.version == _FIRST:
        return _FIRST
    return None if said else RELEASE


def _version_lines(contents: Contents) -> dict[str, str]:
    """Return the lines of the Start sheet that say what a workbook was made for."""
    lines = {}
    for rows in contents.rows.values():
        for cells in rows.values():
            label, value = cells.get(1), cells.get(2)
            if label and label.value == INVENTED:
                lines[INVENTED] = "yes"
            elif label and value and label.value in (UNITS_LINE, CURRENCY_LINE):
                lines.setdefault(str(label.value), str(value.value))
    return lines


def _units_of_headings(contents: Contents) -> str:
    """Return the units by the headings that are different in the two systems."""
    texts = {
        cell.value
        for rows in contents.rows.values()
        for cells in rows.values()
        for cell in cells.values()
        if isinstance(cell.value, str)
    }
    columns = [one for table in TABLES.values() for one in table.fields if one.dimension.differs]
    counts = {
        units: sum(heading(one, units, Settings().currency) in texts for one in columns)
        for units in SYSTEMS
    }
    best = max(counts, key=lambda units: counts[units])
    return best if len(set(counts.values())) > 1 else ""


def _absent(reading: Reading) -> list[str]:
    known = reading.singles.keys() | reading.doubts.keys()
    absent = [key for key in SINGLE_INPUTS if key not in known]
    for key, table in TABLES.items():
        if key not in reading.tables:
            absent += [key] * (key not in reading.moved_rows)
            continue
        columns = reading.tables[key].columns
        absent += [f"{key}.{one.key}" for one in table.fields if one.key not in columns]
    known = reading.tables.keys() | reading.doubts.keys()
    return absent + [key for key in input_grids() if key not in known]


def _rows_ready(reading: Reading) -> int:
    """Count the rows that the log of batches has ready, by the cells that are really there."""
    batches = reading.tables.get("batches")
    if batches is None:
        return Settings().batch_rows
    rows = reading.contents.rows[batches.area.sheet]
    count = sum(batches.area.top < row <= batches.area.bottom for row in rows)
    return max(count, TABLES["batches"].rows)
