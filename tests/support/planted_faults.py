"""A fault of each kind in each cell that can have it, none masking another."""

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


def in_tables(units: str, truth_values: bool) -> tuple[dict[str, Rows], set[Cell]]:
    """Plant every fault of tables, each in a row of its own behind those of the demo.

    Returns
    -------
    tables : dict
        The rows by the keys of tables and grids.
    faults : set
        Where the faults are.
    """
    tables = demo_entries(units).tables
    faults: set[Cell] = set()
    for key, table in TABLES.items():
        rows = tables[key]
        if table.unique:  # and still the number 12 is not on the list: no program finds it there
            rows.append({**rows[0], table.first.key: "12"})
        for row, column in [*_broken_rows(table, rows[0], units), *_named_twice(table, rows)]:
            if truth_values or True not in row.values():
                faults.add((key, len(rows), column))
                rows.append(row)
    for key, fields in input_grids().items():
        for one in fields.values():
            values = [
                value for value in wrong_values(one, units) if truth_values or value is not True
            ]
            tables[key] = [{one.key: value} for value in values]
            faults |= {(key, row, one.key) for row in range(len(values))}
    return tables, faults


def _broken_rows(
    table: Table, sound: Mapping[str, Any], units: str
) -> Iterator[tuple[dict[str, Any], str]]:
    """Yield rows of a table with one fault each, and the column where it is."""
    first = table.first
    others = [one for one in table.fields if one is not first]
    filled = [(one, value) for one in table.fields for value in wrong_values(one, units)]
    for number, (one, value) in enumerate(filled):
        name = {first.key: f"{table.key} {number}"} if table.unique else {}
        yield {**sound, **name, one.key: value}, one.key
    for one in (one for one in others if one.required):
        name = {first.key: f"{table.key} {one.key}"} if table.unique else {}
        row = {**sound, **name}
        row.pop(one.key)
        yield row, one.key
    for one in (one for one in others if first.required):
        yield {one.key: sound.get(one.key) or _sound_value(one)}, first.key


def _named_twice(table: Table, rows: Rows) -> Iterator[tuple[dict[str, Any], str]]:
    for name in ("Named twice", "NAMED TWICE") if table.unique else ():
        yield {**rows[0], table.first.key: name}, table.first.key


def _sound_value(one: Field) -> Value:
    """Return what a cell that the demo leaves blank may hold."""
    if not one.is_number:
        return one.choices.partition("|")[0] or "Sound"
    return one.usual or max(1.0, (one.bounds.low or 0.0) * 2)
