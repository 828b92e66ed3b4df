"""Sources: where every function and every default comes from, and what is an assumption."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cultivar_fx.catalog.dimensions import METRIC
from cultivar_fx.catalog.registry import functions
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import ENTERED
from workbook_template.writing import styles
from workbook_template.writing.blocks import Custom, Sheet
from workbook_template.writing.layout import start_key

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cultivar_fx.catalog.definition import Argument
    from workbook_template.schema.fields import Field
    from workbook_template.writing.writer import Writer


def _defaults(writer: Writer, row: int) -> None:
    writer.section(row, "What a new workbook starts with")
    for column, words in enumerate(("Input", "Starts with", "Unit", "Source"), 1):
        writer.text(row + 1, column, words, "farm heading")
    inputs = [
        (one.label, one, one.start_value(writer.units), one.source) for one in _with_default()
    ]
    for offset, (label, one, value, source) in enumerate([*inputs, *_rows(writer.units)], 2):
        writer.text(row + offset, 1, label, "farm text")
        cell = writer.worksheet.cell(row + offset, 2, value)
        cell.style = "farm result"
        cell.number_format = styles.number_format(one.dimension)
        writer.text(row + offset, 3, writer.unit(one.dimension), "farm unit")
        writer.wide_text(row + offset, source, "farm text", first=4)


def _place_defaults(writer: Writer, row: int) -> None:
    for offset, one in enumerate(_with_default(), 2):
        key = start_key(one.key)
        writer.place_cell(key, row + offset, 2, is_input=False, is_text=not one.is_number)


def _with_default() -> list[Field]:
    return [
        one for one in SINGLE_INPUTS.values() if one.default is not None and one.source != ENTERED
    ]


def _rows(units: str) -> Iterator[tuple[str, Field, float | str | None, str]]:
    """Yield what the rows of tables start with that somebody may ask the source of."""
    for table in TABLES.values():
        for start, values in zip(table.starts, table.start_rows(units), strict=True):
            for key, one in start.items():
                if one.source != ENTERED:
                    field, name = table.field(key), start[table.first.key].value
                    yield f"{name}: {field.label}", field, values[key], one.source


def _function_sources(writer: Writer, row: int) -> None:
    writer.section(row, "Where the functions come from")
    writer.text(row + 1, 1, "Function", "farm heading")
    writer.text(row + 1, 2, "Source", "farm heading")
    for offset, wanted in enumerate(functions().values(), 2):
        writer.text(row + offset, 1, wanted.worksheet_name, "farm text")
        writer.wide_text(row + offset, wanted.source, "farm text", first=2)


def _assumptions(writer: Writer, row: int) -> None:
    writer.section(row, "What the functions assume where you give no number of your own")
    for column, words in enumerate(("Function and argument", "Assumed", "Unit", "About it"), 1):
        writer.text(row + 1, column, words, "farm heading")
    for offset, (name, argument) in enumerate(_optional(), 2):
        writer.text(row + offset, 1, f"{name} {argument.name}", "farm text")
        shown = argument.default or 0.0
        if writer.units != "metric":
            shown = argument.dimension.from_metric(shown)
        cell = writer.worksheet.cell(row + offset, 2, float(f"{shown:.6g}"))
        cell.style = "farm result"
        is_share = argument.dimension.is_share
        cell.number_format = "0.0%" if is_share else "General"
        writer.text(row + offset, 3, writer.unit(argument.dimension), "farm unit")
        writer.wide_text(row + offset, argument.help, "farm text", first=4)


def _optional() -> list[tuple[str, Argument]]:
    return [
        (wanted.worksheet_name, argument)
        for wanted in functions().values()
        for argument in wanted.arguments
        if not argument.required
    ]


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Sources",
        purpose="Where the numbers come from. Measure whatever says assumption.",
        blocks=[
            Custom(len(_with_default()) + len([*_rows(METRIC)]) + 2, _defaults, _place_defaults),
            Custom(len(_optional()) + 2, _assumptions),
            Custom(len(functions()) + 2, _function_sources),
        ],
        widths=(44, 14, 14, 80),
        printed_blocks=2,
        pages_high=2,
    )
