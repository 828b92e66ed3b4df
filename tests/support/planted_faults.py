"""A fault of each kind in each cell that can have it, none masking another.

With each goes the line of the Checks sheet that has to count it, in the words of the sheet.
"""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from cultivar_fx.errors import CellError
from workbook_template.demo.data import demo_entries
from workbook_template.reading.entries import input_grids
from workbook_template.schema import SINGLE_INPUTS, TABLES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from workbook_template.schema.fields import Field, Table
    from workbook_template.writing.layout import Value

    Cell = tuple[str, int, str]
    """A table or grid by its key, the row from 0, the column by its key."""
    Rows = list[dict[str, Any]]

ERROR = CellError("#N/A", "entered")
TOO_LONG = "x" * 201
NO_CHOICE = "On no list"
GRIDS = {"weigh": "Weigh out"}


def line_of(one: Field, in_form: bool = False) -> str:
    """Return the words of the line that counts what a filled cell must not hold."""
    if one.choices:
        return "choices not on their list"
    if not one.is_number:
        return "texts of more than 200 characters, or errors"
    words = "inputs outside their limits, or text for a number"
    return words if in_form else "figures outside their limits, or text"


def wrong_values(one: Field, units: str) -> Iterator[Value]:
    """Yield a value of each kind that a filled cell of a field must not hold."""
    yield ERROR
    if one.choices:
        yield from (NO_CHOICE, 12.0)
    elif not one.is_number:
        yield TOO_LONG
    else:
        yield "soon"
        yield from _outside(one, units)
        if one.bounds.whole:
            yield (one.bounds.low or 0) + 0.5
        yield True


def _outside(one: Field, units: str) -> Iterator[Value]:
    """Yield a number beyond each limit, or on it where it is not allowed itself."""
    bounds = one.bounds
    ends = ((bounds.low, -1.0, bounds.above), (bounds.high, 1.0, bounds.below))
    for limit, direction, is_open in ends:
        if limit is not None:
            beyond = 0.0 if is_open else direction * max(0.01, abs(limit) / 50)
            yield one.in_units(limit + beyond, units)
    if bounds.high is None:
        yield 1e13  # more than anybody has of anything, in any money
    if one.lowest is not None:
        yield one.lowest / 2


def in_forms(units: str) -> Iterator[dict[str, Value]]:
    """Yield faults of the inputs of forms, by their keys: a kind after the other."""
    for values in zip_longest(*(wrong_values(one, units) for one in SINGLE_INPUTS.values())):
        typed = dict(zip(SINGLE_INPUTS, values, strict=True))
        yield {key: value for key, value in typed.items() if value is not None}


def in_tables(units: str, truth_values: bool) -> tuple[dict[str, Rows], dict[Cell, str]]:
    """Plant every fault of tables, each in a row of its own behind those of the demo.

    Returns
    -------
    tables : dict
        The rows by the keys of tables and grids.
    faults : dict
        Where the faults are, and the line that counts each.
    """
    tables = demo_entries(units).tables
    faults: dict[Cell, str] = {}
    for key, table in TABLES.items():
        rows = tables[key]
        if table.unique:  # and still the number 12 is not on the list: no program finds it there
            rows.append({**rows[0], table.first.key: "12"})
        for row, column, words in [
            *_broken_rows(table, rows[0], units),
            *_named_twice(table, rows),
        ]:
            if truth_values or True not in row.values():
                faults[key, len(rows), column] = f"{table.title}: {words}"
                rows.append(row)
    for key, fields in input_grids().items():
        for one in fields.values():
            values = [
                value for value in wrong_values(one, units) if truth_values or value is not True
            ]
            tables[key] = [{one.key: value} for value in values]
            words = f"{GRIDS[key]}: {line_of(one)}"
            faults |= {(key, row, one.key): words for row in range(len(values))}
    return tables, faults


def _broken_rows(
    table: Table, sound: Mapping[str, Any], units: str
) -> Iterator[tuple[dict[str, Any], str, str]]:
    """Yield rows of a table with one fault each, the column where it is, and its line."""
    first = table.first
    others = [one for one in table.fields if one is not first]
    filled = [(one, value) for one in table.fields for value in wrong_values(one, units)]
    for number, (one, value) in enumerate(filled):
        name = {first.key: f"{table.key} {number}"} if table.unique else {}
        yield {**sound, **name, one.key: value}, one.key, line_of(one)
    for one in (one for one in others if one.required):
        name = {first.key: f"{table.key} {one.key}"} if table.unique else {}
        row = {**sound, **name}
        row.pop(one.key)
        yield row, one.key, "rows with a required cell left blank"
    for one in (one for one in others if first.required):
        row = {one.key: sound.get(one.key) or _sound_value(one)}
        yield row, first.key, f"rows without {first.label.lower()}"


def _named_twice(table: Table, rows: Rows) -> Iterator[tuple[dict[str, Any], str, str]]:
    for name in ("Named twice", "NAMED TWICE") if table.unique else ():
        yield {**rows[0], table.first.key: name}, table.first.key, "duplicate names"


def _sound_value(one: Field) -> Value:
    """Return what a cell that the demo leaves blank may hold."""
    if not one.is_number:
        return one.choices.partition("|")[0] or "Sound"
    return one.usual or max(1.0, (one.bounds.low or 0.0) * 2)
