"""The rules for what is typed into single cells and rows, each broken one in a sentence."""

from __future__ import annotations

from collections import Counter
from datetime import date, datetime, time
from typing import TYPE_CHECKING, NamedTuple

from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import to_excel

from cultivar_fx.dimensions import US
from cultivar_fx.errors import CellError
from workbook_template.entered.reading import fields_of
from workbook_template.refusals import shown
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.writing.accepted import LONGEST_TYPED, needed, percent, typing
from workbook_template.writing.book import tuple_key

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cultivar_fx.definition import Limits
    from workbook_template.entered.contents import Found
    from workbook_template.entered.reading import Reading
    from workbook_template.entered.tables_found import Row, TableFound
    from workbook_template.schema.fields import Field
    from workbook_template.writing.book import Value

_ROUNDED = 1e-9
"""What a limit may be off in other units, of its size."""


class Fault(NamedTuple):
    """One broken rule.

    Attributes
    ----------
    sheet, cell : str
        Where; the cell is an empty text where there is none.
    value : Value
        What stands there.
    sentence : str
        What is wrong and what is needed.
    """

    sheet: str
    cell: str
    value: Value
    sentence: str


def typed_faults(reading: Reading) -> Iterator[Fault]:
    """Find what breaks a rule of the cells to type in.

    Parameters
    ----------
    reading : Reading
        A workbook that was read.

    Yields
    ------
    Fault
        One for each broken rule.
    """
    rules = _Rules(reading)
    for key, found in reading.singles.items():
        yield from rules.of_cell(SINGLE_INPUTS[key], found)
    for key, table in reading.tables.items():
        fields = fields_of(key)
        for row in table.rows:
            for column, found in row.cells.items():
                yield from rules.of_cell(fields[column], found)
            if key in TABLES and row.cells:
                yield from rules.of_row(table, row)
        if key in TABLES and TABLES[key].unique:
            yield from rules.of_names(table)


class _Rules:
    """The rules of one workbook: in its units, with its lists."""

    def __init__(self, reading: Reading) -> None:
        self._units = reading.settings.units
        self._currency = reading.settings.currency
        self._tables = reading.tables
        self._lists: dict[str, set[str]] = {}

    # One cell

    def of_cell(self, one: Field, found: Found) -> Iterator[Fault]:
        """Find what is wrong with what was typed into a cell."""
        value = found.value
        if value is None:
            if found.formula:
                yield _at(found, f"{one.label}: the file holds no value for its formula.")
            return
        if isinstance(value, CellError):
            wrong = f"holds the error {value.code}"
        elif one.is_number:
            wrong = self._number(one, value)
        else:
            wrong = self._text(one, value)
        if wrong:
            yield _at(found, f"{one.label}: {wrong}.")

    def _number(self, one: Field, value: Value) -> str:
        """Say what is wrong with a number or a date."""
        needs = f"needs {self._needed(one)}"
        if one.unit == "fraction":
            needs += f": {typing(_meant(one, value))}"
        if isinstance(value, str):
            typed = shown(value)
            return f"{typed!r} is text, and no program counts it; {needs}"
        if isinstance(value, bool):
            return f"got {str(value).upper()}, {needs}"
        if isinstance(value, date | datetime | time):
            if one.unit != "date":
                return f"got the date {value}, {needs}"
            if isinstance(value, time):
                return f"got the time {value}, {needs}"
            value = to_excel(value)  # type: ignore[no-untyped-call]
        number = float(value) if isinstance(value, int | float) else 0.0
        if self._holds(one, number):
            return ""
        got = f"{percent(number)} %" if one.unit == "fraction" else f"{number:g}"
        return f"got {got}, {needs}"

    def _holds(self, one: Field, number: float) -> bool:
        """Return whether a number makes sense, but for rounding of units."""
        metric = one.dimension.to_metric(number) if self._units == US else number
        return any(
            limits.hold(_on_the_limit(metric, limits) if one.dimension.differs else metric)
            for limits in one.ranges
        )

    def _needed(self, one: Field) -> str:
        return needed(one, self._units, self._currency)

    def _text(self, one: Field, value: Value) -> str:
        """Say what is wrong with a text or a choice."""
        typed = shown(str(value))
        if one.choices and "." not in one.choices:
            known = one.choices.split("|")
            is_known = _name(value) in map(_name, known)
            return "" if is_known else f"{typed!r} is no choice, needs {', '.join(known)}"
        if one.choices:
            if _name(value) in self._listed(one.choices):
                return ""
            table, _ = tuple_key(one.choices)
            return f"{typed!r} is not on the list {TABLES[table].title}"
        if len(str(value)) > LONGEST_TYPED:
            return f"has {len(str(value))} characters, needs at most {LONGEST_TYPED}"
        return ""

    def _listed(self, choices: str) -> set[str]:
        """Give the names in the column that a choice is made from."""
        if choices not in self._lists:
            table, column = tuple_key(choices)
            found = self._tables.get(table)
            rows = found.rows if found else []
            cells = [row.cells[column] for row in rows if column in row.cells]
            self._lists[choices] = {_name(cell.value) for cell in cells}
        return self._lists[choices]

    # One row, one table

    def of_row(self, table: TableFound, row: Row) -> Iterator[Fault]:
        """Find what a row is without."""
        schema = TABLES[table.key]
        first = row.cells.get(schema.first.key)
        if first is None and schema.first.required:
            words = f"The row has no {schema.first.label.lower()}, so nothing counts it."
            yield _blank(table, row, schema.first.key, words)
            return
        for one in schema.fields[1:]:
            if one.required and one.key not in row.cells and one.key in table.columns:
                words = f"{one.label}: is blank, and the row needs it ({self._needs_text(one)})."
                yield _blank(table, row, one.key, words)

    def _needs_text(self, one: Field) -> str:
        return self._needed(one) if one.is_number else "a text"

    def of_names(self, table: TableFound) -> Iterator[Fault]:
        """Find names that stand twice in a table."""
        key = TABLES[table.key].first.key
        cells = [row.cells[key] for row in table.rows if key in row.cells]
        times = Counter(_name(cell.value) for cell in cells)
        for cell in cells:
            if times[_name(cell.value)] > 1:
                label = TABLES[table.key].first.label
                yield _at(cell, f"{label}: this name stands {times[_name(cell.value)]} times here.")


def _on_the_limit(number: float, limits: Limits) -> float:
    """Return a number, or the limit from which nothing but rounding parts it."""
    for limit, is_open in ((limits.low, limits.above), (limits.high, limits.below)):
        if limit is not None and not is_open and abs(number - limit) <= _ROUNDED * abs(limit):
            return limit
    return number


def _meant(one: Field, value: Value) -> float:
    """Return the share that was likely meant by one that is wrong a hundredfold."""
    if isinstance(value, int | float):
        for share in (value / 100, value * 100.0):
            if share and any(limits.hold(share) for limits in one.ranges):
                return share
    return one.example


def _name(value: Value) -> str:
    """Write a name as the programs compare it: they make no difference between a and A."""
    return str(value).casefold()


def _at(found: Found, sentence: str) -> Fault:
    return Fault(found.sheet, found.cell, found.value, sentence)


def _blank(table: TableFound, row: Row, key: str, sentence: str) -> Fault:
    column = table.columns.get(key, table.area.left)
    return Fault(table.area.sheet, f"{get_column_letter(column)}{row.row}", None, sentence)
