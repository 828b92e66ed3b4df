"""Finds the tables of a workbook and their columns, also where headings were changed or moved."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

from cultivar_fx.catalog.dimensions import SYSTEMS
from workbook_template.reading.contents import Area, Found, area_of, formula_of
from workbook_template.schema.fields import heading
from workbook_template.writing.layout import table_name
from workbook_template.writing.validation import TITLE_LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from workbook_template.reading.contents import Contents
    from workbook_template.schema.fields import Column, Table

_HEADINGS_ENOUGH = 0.6
"""Share of its headings by which a table is known that is no table any more."""
_MOST_GRID_ROWS = 1000
_MOST_COLUMNS = 200


class Row(NamedTuple):
    """One row of a table: its number on the sheet, and what was entered, by column."""

    row: int
    cells: dict[str, Found]


@dataclass
class TableFound:
    """A table as it was found; for a grid, the cells of it that are typed into.

    Attributes
    ----------
    key : str
        Of the schema.
    area : Area
        Its cells, the headings included.
    columns : dict
        The number of each column that was found, inputs and computed ones, by its key.
    rows : list of Row
        The rows where something was entered, in their order.
    """

    key: str
    area: Area
    columns: dict[str, int]
    rows: list[Row] = field(default_factory=list)

    @property
    def last_row(self) -> int:
        """The last of its rows, those that were typed below it included."""
        return max([self.area.bottom, *(row.row for row in self.rows)])


@dataclass(frozen=True)
class Headings:
    """How the headings of a workbook are read: what each column was called when it was written."""

    currency: str
    labels: Mapping[str, str]
    """By ``table.column``, as the workbook's properties say."""
    written: Mapping[str, Sequence[str]]
    """Whole headings by ``table.column``, as the workbook's release wrote them."""

    def spellings(self, table: str, column: Column) -> list[str]:
        """Return the headings that a column may have, the likeliest first."""
        label = self.label(table, column)
        with_units = [heading(column, units, self.currency) for units in SYSTEMS]
        present = [one.replace(column.label, label) for one in (*with_units, column.label)]
        earlier = self.written.get(f"{table}.{column.key}", ())
        return [_plain(one) for one in (*present, *earlier)]

    def label(self, table: str, column: Column) -> str:
        """Return the label that a column was written with."""
        return str(self.labels.get(f"{table}.{column.key}") or column.label)


def find_table(
    contents: Contents, table: Table, headings: Headings, titles: frozenset[str]
) -> TableFound | None:
    """Find a table by its name, or where that is lost, by its headings.

    Parameters
    ----------
    contents : Contents
        The workbook.
    table : Table
        Of the schema.
    headings : Headings
        How its headings are read.
    titles : frozenset of str
        The titles of sections, which end what is typed below a table.

    Returns
    -------
    TableFound or None
        Its columns and rows; None where there is no such table.
    """
    area = _named_table(contents, table_name(table.key))
    if area is None or not _is_headed(contents, table, headings, area):
        # Rows that a script put in above move the headings, and not what says where the table is.
        area = _headed(contents, table, headings, area) or area
    if area is None:
        return None
    columns = _columns(contents, table, headings, area)
    found = TableFound(table.key, area, columns)
    inputs = {one.key: columns[one.key] for one in table.fields if one.key in columns}
    for row in _row_numbers(contents, area, set(inputs.values()), titles):
        cells = {key: contents.found(area.sheet, row, number) for key, number in inputs.items()}
        filled = {key: one for key, one in cells.items() if one.is_filled}
        if filled:
            found.rows.append(Row(row, filled))
    return found


def find_grid(contents: Contents, key: str, names: Mapping[str, str]) -> TableFound | None:
    """Find the cells of a grid that are typed into, each column by its name."""
    areas = {column: area for column, name in names.items() if (area := contents.named(name))}
    if not areas:
        return None
    first = next(iter(areas.values()))
    found = TableFound(key, first, {column: area.left for column, area in areas.items()})
    for offset in range(min(first.bottom - first.top + 1, _MOST_GRID_ROWS)):
        cells = {
            column: contents.found(area.sheet, area.top + offset, area.left)
            for column, area in areas.items()
        }
        filled = {column: one for column, one in cells.items() if one.is_filled}
        found.rows.append(Row(first.top + offset, filled))
    return found


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _named_table(contents: Contents, name: str) -> Area | None:
    for sheet, worksheet in contents.sheets.items():
        for one in worksheet.tables.values():
            if one.displayName.casefold() == name.casefold():
                return area_of(sheet, one.ref, one.totalsRowCount or 0)
    return None


def _tables(contents: Contents, sheet: str) -> list[Area]:
    """Return the areas of all tables of a sheet, their total rows included."""
    tables = contents.sheets[sheet].tables.values()
    return [area for one in tables if (area := area_of(sheet, one.ref))]


def _matched(contents: Contents, known: Sequence[set[str]], sheet: str, row: int) -> int:
    """Count the columns whose heading stands in a row."""
    cells = contents.rows[sheet].get(row, {}).values()
    texts = {_plain(one.value) for one in cells if isinstance(one.value, str)}
    return sum(not spellings.isdisjoint(texts) for spellings in known)


def _is_headed(contents: Contents, table: Table, headings: Headings, area: Area) -> bool:
    """Return whether any of a table's headings stands where its headings should."""
    known = [set(headings.spellings(table.key, one)) for one in table.columns]
    return _matched(contents, known, area.sheet, area.top) > 0


def _headed(
    contents: Contents, table: Table, headings: Headings, stale: Area | None = None
) -> Area | None:
    """Find the row that holds most of a table's headings, and what is filled in below it."""
    known = [set(headings.spellings(table.key, one)) for one in table.columns]
    best: tuple[int, str, int] = (0, "", 0)
    for sheet, rows in contents.rows.items():
        others = [area for area in _tables(contents, sheet) if area != stale]
        for row in rows:
            if any(area.top <= row <= area.bottom for area in others):
                continue
            matched = _matched(contents, known, sheet, row)
            best = max(best, (matched, sheet, row), key=lambda one: one[0])
    matched, sheet, top = best
    if matched < 2 or matched < _HEADINGS_ENOUGH * len(known):
        return None
    cells = contents.rows[sheet]
    numbers = sorted(cells[top])
    bottom = top
    while bottom + 1 in cells and not cells[bottom + 1].keys().isdisjoint(numbers):
        bottom += 1
    area = Area(sheet, numbers[0], top, numbers[-1], bottom)
    ready = [part.max_row for part, _ in _validated(contents, area) if part.min_row == top + 1]
    return area._replace(bottom=max([bottom, *ready]))


def _columns(contents: Contents, table: Table, headings: Headings, area: Area) -> dict[str, int]:
    """Find each column by its heading; one that was renamed by the title of its validation."""
    heads = contents.rows[area.sheet].get(area.top, {})
    texts = {
        number: _plain(str(heads[number].value or "")) if number in heads else ""
        for number in range(area.left, min(area.right, area.left + _MOST_COLUMNS) + 1)
    }
    found: dict[str, int] = {}
    spellings = {one.key: headings.spellings(table.key, one) for one in table.columns}
    for attempt in range(max(map(len, spellings.values()))):
        for column in table.columns:
            likely = spellings[column.key][attempt : attempt + 1]
            number = next((at for at, text in texts.items() if text in likely), None)
            if column.key not in found and number is not None:
                found[column.key] = number
                del texts[number]
    missing = [one for one in table.fields if one.key not in found]
    titles = _validation_titles(contents, area) if missing else {}
    for one in missing:
        title = headings.label(table.key, one)[:TITLE_LIMIT]
        number = next((at for at in sorted(texts) if title in titles.get(at, ())), None)
        if number is not None:
            found[one.key] = number
            del texts[number]
    return found


def misheaded(
    contents: Contents, table: Table, headings: Headings, found: TableFound
) -> dict[str, str]:
    """Find headings that stand over cells made for another column of the same table.

    Parameters
    ----------
    contents : Contents
        The workbook.
    table : Table
        Of the schema.
    headings : Headings
        How its headings are read.
    found : TableFound
        As it was found.

    Returns
    -------
    dict
        By ``table.column`` of the heading, the label of the column that the cells were made for.
    """
    labels = {one.key: headings.label(table.key, one)[:TITLE_LIMIT] for one in table.fields}
    titles = _validation_titles(contents, found.area)
    wrong = {}
    for key, label in labels.items():
        there = titles.get(found.columns.get(key, 0), set())
        if there and label not in there:
            other = next((one for one in labels.values() if one in there), "")
            if other:
                wrong[f"{table.key}.{key}"] = other
    return wrong


def _validation_titles(contents: Contents, area: Area) -> dict[int, set[str]]:
    """Return the titles of the validations of each column of a table."""
    titles: dict[int, set[str]] = {}
    for part, title in _validated(contents, area):
        if title and part.min_row <= area.bottom:
            titles.setdefault(part.min_col, set()).add(title)
    return titles


def _validated(contents: Contents, area: Area) -> Iterator[tuple[Any, str]]:
    """Yield the cells in columns of a table that have a validation, and its title."""
    validations: Sequence[Any] = contents.sheets[area.sheet].data_validations.dataValidation
    for validation in validations:
        for part in validation.sqref.ranges:
            is_column = area.left <= part.min_col == part.max_col <= area.right
            if is_column and part.max_row > area.top:
                yield part, validation.promptTitle


def _row_numbers(
    contents: Contents, area: Area, inputs: set[int], titles: frozenset[str]
) -> list[int]:
    """Return the rows of a table, and those that were typed right below it.

    A row below with a formula of a range adds up what is above: it is none of the table.
    """
    rows = contents.rows[area.sheet]
    numbers = [row for row in rows if area.top < row <= area.bottom]
    others = _tables(contents, area.sheet)
    taken = {row for one in others for row in (one.top, one.bottom) if row > area.bottom}
    row = area.bottom + 1
    while row in rows and row not in taken:
        typed = [cell for number, cell in rows[row].items() if number in inputs]
        is_ours = any(cell.value in titles for cell in rows[row].values())
        if not typed or is_ours or any(_adds_up(formula_of(cell)) for cell in typed):
            break
        numbers.append(row)
        row += 1
    return numbers


def _adds_up(formula: str) -> bool:
    return ":" in formula or "[" in formula
