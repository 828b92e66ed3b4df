"""Reads a generated workbook as a person would: inputs by key, results by section and label."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils import range_boundaries
from workbooks import made

from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import heading
from workbook_template.sheets.checks import FAILS, OK, WAITS, WARNS
from workbook_template.writing.layout import input_name, table_name

if TYPE_CHECKING:
    from office import Document, Office
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet


class Place(NamedTuple):
    """Where a cell is; row and column count from 0, as LibreOffice does."""

    sheet: str
    row: int
    column: int


class Part(NamedTuple):
    """What stands under one section heading: values by label, or rows by heading."""

    values: dict[str, Any]
    units: dict[str, str]
    rows: list[dict[str, Any]]
    lines: dict[str, int]
    """The row of each label, from 0."""


def place(workbook: Workbook, key: str) -> Place:
    """Find an input, or the first row of a column named ``table.column``."""
    name, _, column = key.partition(".")
    if not column:
        sheet, _, cell = workbook.defined_names[input_name(key)].attr_text.rpartition("!")
        found = workbook[sheet.strip("'")][cell.replace("$", "")]
        return Place(found.parent.title, found.row - 1, found.column - 1)
    sheet, area = _table_area(workbook, name)
    number = [one.key for one in TABLES[name].columns].index(column)
    left, top, _, _ = range_boundaries(area)
    return Place(sheet.title, top, left - 1 + number)


def _table_area(workbook: Workbook, key: str) -> tuple[Worksheet, str]:
    return next(
        (sheet, sheet.tables[table_name(key)].ref)
        for sheet in workbook
        if table_name(key) in sheet.tables
    )


def singles(workbook: Workbook) -> dict[str, Any]:
    """Return every single input by its key."""
    places = {key: place(workbook, key) for key in SINGLE_INPUTS}
    return {
        key: workbook[at.sheet].cell(at.row + 1, at.column + 1).value for key, at in places.items()
    }


def table(workbook: Workbook, key: str, units: str) -> list[dict[str, Any]]:
    """Return the filled rows of a table, typed and computed, by the columns' keys."""
    sheet, area = _table_area(workbook, key)
    left, top, right, bottom = range_boundaries(area)
    lines = list(sheet.iter_rows(top, bottom, left, right, values_only=True))
    keys = {heading(column, units, "$"): column.key for column in TABLES[key].columns}
    typed = {field.key for field in TABLES[key].fields}
    rows = [dict(zip((keys[words] for words in lines[0]), line, strict=True)) for line in lines[1:]]
    return [row for row in rows if any(row[name] is not None for name in typed)]


def parts(sheet: Worksheet) -> dict[str, Part]:
    """Return what stands on a sheet, by the titles of its sections."""
    found: dict[str, Part] = {}
    part, heads = Part({}, {}, [], {}), []
    for line in sheet.iter_rows(min_row=5):
        first = line[0]
        if first.style == "farm section" and first.value:
            part, heads = Part({}, {}, [], {}), []
            found[first.value] = part
        elif first.style == "farm heading":
            heads = [cell.value for cell in line]
        elif heads and any(cell.value not in (None, "") for cell in line):
            part.rows.append({name: cell.value for name, cell in zip(heads, line) if name})
        elif first.style in ("farm label", "farm link"):
            part.values[first.value] = line[1].value
            part.units[first.value] = line[2].value
            part.lines[first.value] = first.row - 1
    return found


def computed(document: Document, sheet: Worksheet) -> dict[str, dict[str, Any]]:
    """Return what a sheet of an open document shows now, by section and label."""
    values = document.read(sheet.title, 0, 1, sheet.max_row)
    return {
        title: {label: values[line][0] for label, line in part.lines.items()}
        for title, part in parts(sheet).items()
    }


def check_states(document: Document, checks: Worksheet) -> list[tuple[str, str]]:
    """Return the checks that are not OK in an open document, each with its state.

    Behind the words of a check that looks at cells comes what is wrong in the first of them.
    """
    rows = document.read(checks.title, 0, 0, checks.max_row, 5)
    states = [row[4] for row in rows if row[4] in (OK, FAILS, WARNS, WAITS)]
    below = 2 * checks.max_row  # the rows of the sheet itself come first
    workings = document.read(f"{checks.title} workings", 0, 0, below, 3)
    first = next(number for number, row in enumerate(workings) if row[0] == "Check") + 1
    lines = workings[first : first + len(states)]
    return [
        (f"{line[0]}. {line[2]}" if line[2] else line[0], state)
        for line, state in zip(lines, states, strict=True)
        if state != OK
    ]


def red_checks(document: Document, checks: Worksheet) -> list[str]:
    """Return the checks that fail or warn in an open document."""
    return [words for words, state in check_states(document, checks) if state != WAITS]


def states_where(
    office: Office, units: str, where: str | Place, value: Any
) -> list[tuple[str, str]]:
    """Return the checks that are no longer OK where something is typed into the demo."""
    demo = made(units, "demo")
    at = place(demo.values, where) if isinstance(where, str) else where
    with office.kept(demo.path) as document:
        assert check_states(document, demo.values["Checks"]) == []
        document.write(*at, [[value]])
        return check_states(document, demo.values["Checks"])


def red_where(office: Office, units: str, where: str | Place, value: Any) -> list[str]:
    """Return the checks that turn red where something is typed into the demo."""
    return [words for words, state in states_where(office, units, where, value) if state != WAITS]
