"""Functions: every worksheet function with its arguments, to try out on the spot."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from cultivar_fx.catalog.native import formula
from cultivar_fx.catalog.registry import STAGES, functions
from workbook_template.writing.blocks import Custom, Sheet
from workbook_template.writing.examples import example_values, typed_example
from workbook_template.writing.layout import address

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Argument, Definition
    from workbook_template.writing.writer import Writer

VALUE_COLUMNS = range(2, 7)
"""A range takes all of these, a single value the first."""

UNIT_COLUMN, HELP_COLUMN = 7, 8
_INPUT_FORMATS = {"fraction": "0.0##%", "date": "yyyy-mm-dd"}
_ANSWER_FORMATS = _INPUT_FORMATS | {"count": "#,##0", "number": "General"}


def listed() -> list[Definition]:
    """Return the functions that plain formulas can express, in the order of the work."""
    return [wanted for wanted in functions().values() if wanted.native]


def _rows(stage: str) -> int:
    return sum(len(wanted.arguments) + 3 for wanted in listed() if wanted.stage == stage)


def _write_stage(stage: str, writer: Writer, row: int) -> None:
    writer.section(row, STAGES[stage])
    here = row + 1
    for wanted in (one for one in listed() if one.stage == stage):
        _write_function(writer, here, wanted)
        here += len(wanted.arguments) + 3


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
    limits = argument.limits.text(argument.dimension, writer.units)
    writer.text(row, HELP_COLUMN, f"{argument.help} {limits}".strip(), "farm note")
    first = address(row, columns[0])
    return f"{first}:{address(row, columns[-1])}" if argument.is_range else first


def sheet() -> Sheet:
    """Lay the sheet out."""
    blocks = [
        Custom(_rows(stage) + 1, partial(_write_stage, stage)) for stage in STAGES if _rows(stage)
    ]
    return Sheet(
        name="Functions",
        purpose="Every function to try out: change the pale cells, read the answer.",
        blocks=blocks,
        widths=(34, 12, 10, 10, 10, 10, 14, 96),
        landscape=True,
    )
