"""Functions: every worksheet function with its arguments, to try out on the spot."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from cultivar_fx.catalog.native import formula
from cultivar_fx.catalog.registry import STAGES, functions
from workbook_template.writing.blocks import FIRST_ROW, Custom, Sheet
from workbook_template.writing.examples import example_values, typed_example
from workbook_template.writing.layout import address

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Argument, Definition
    from workbook_template.writing.writer import Writer

NAME = "Functions"
VALUE_COLUMNS = range(2, 7)
"""A range takes all of these, a single value the first."""

UNIT_COLUMN, HELP_COLUMN = 7, 8
_INPUT_FORMATS = {"fraction": "0.0##%", "date": "yyyy-mm-dd"}
_ANSWER_FORMATS = _INPUT_FORMATS | {"count": "#,##0", "number": "General"}


def listed() -> list[Definition]:
    """Return the functions that plain formulas can express, in the order of the work."""
    return [wanted for wanted in functions().values() if wanted.native]


def _first_rows() -> dict[str, int]:
    """Return the row in which each function can be tried out."""
    rows, row = {}, FIRST_ROW + _index_rows() + 1
    for stage in filter(_rows, STAGES):
        here = row + 1
        for one in _of_stage(stage):
            rows[one.name] = here
            here += _height(one)
        row += _rows(stage) + 1 + 1
    return rows


def _index_rows() -> int:
    return len(listed()) + 2


def _write_index(writer: Writer, row: int) -> None:
    """List every function in a line, which leads to where it can be tried out."""
    writer.section(row, "All functions")
    headings = ((1, "Function"), (2, "Typed"), (HELP_COLUMN, "What it does"))
    for column in range(1, HELP_COLUMN + 1):
        writer.text(row + 1, column, dict(headings).get(column, " "), "farm heading")
    first = _first_rows()
    for offset, one in enumerate(listed(), 2):
        here = row + offset
        writer.link(here, 1, NAME, one.worksheet_name, f"A{first[one.name]}")
        values = example_values(one, writer.units)
        writer.text(here, 2, typed_example(one, values, writer.units), "farm label")
        writer.text(here, HELP_COLUMN, one.summary, "farm text")


def _of_stage(stage: str) -> list[Definition]:
    return [one for one in listed() if one.stage == stage]


def _height(one: Definition) -> int:
    return len(one.arguments) + 3


def _rows(stage: str) -> int:
    return sum(map(_height, _of_stage(stage)))


def _write_stage(stage: str, writer: Writer, row: int) -> None:
    writer.section(row, STAGES[stage])
    here = row + 1
    for wanted in _of_stage(stage):
        _write_function(writer, here, wanted)
        here += _height(wanted)


def _write_function(writer: Writer, row: int, wanted: Definition) -> None:
    writer.text(row, 1, wanted.worksheet_name, "farm function")
    writer.text(row, 2, wanted.summary, "farm label")
    places = {}
    values = example_values(wanted, writer.units)
    for offset, (argument, value) in enumerate(zip(wanted.arguments, values, strict=True), 1):
        places[argument.name] = _write_argument(writer, row + offset, argument, value)
    here = row + 1 + len(wanted.arguments)
    writer.text(here, 1, "Answer", "farm label")
    cell = writer.worksheet.cell(
        here, 2, "=" + formula(wanted.name, places, writer.units, guarded=True)
    )
    cell.style = "farm key result"
    cell.number_format = _ANSWER_FORMATS.get(wanted.result.name, "#,##0.0###")
    writer.text(here, UNIT_COLUMN, writer.unit(wanted.result), "farm unit")
    writer.text(
        here, HELP_COLUMN, f"Typed: {typed_example(wanted, values, writer.units)}", "farm note"
    )


def _write_argument(writer: Writer, row: int, argument: Argument, value: Any) -> str:
    label = argument.name if argument.required else f"[{argument.name}]"
    writer.text(row, 1, label, "farm argument")
    columns = VALUE_COLUMNS if argument.is_range else VALUE_COLUMNS[:1]
    given = value if isinstance(value, list) else [value]
    for position, column in enumerate(columns):
        cell = writer.worksheet.cell(
            row, column, given[position] if position < len(given) else None
        )
        cell.style = "farm input"
        cell.number_format = _INPUT_FORMATS.get(argument.dimension.name, "General")
    writer.text(row, UNIT_COLUMN, writer.unit(argument.dimension), "farm unit")
    limits = argument.limits.text(argument.dimension, writer.units, is_prompt=True)
    writer.text(row, HELP_COLUMN, f"{argument.help} {limits}".strip(), "farm note")
    first = address(row, columns[0])
    return f"{first}:{address(row, columns[-1])}" if argument.is_range else first


def sheet() -> Sheet:
    """Lay the sheet out."""
    stages = [
        Custom(_rows(stage) + 1, partial(_write_stage, stage)) for stage in filter(_rows, STAGES)
    ]
    return Sheet(
        name=NAME,
        purpose="Every function in a line; its name leads to where you can try it out.",
        blocks=[Custom(_index_rows(), _write_index), *stages],
        printed_blocks=1,
        widths=(34, 12, 10, 10, 10, 10, 14, 96),
        pages_high=1,
    )
