"""The worked examples of the functions, as numbers of a workbook and as typed calls."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cultivar_fx.call import read_number
from cultivar_fx.dimensions import US
from cultivar_fx.native import number_text
from cultivar_fx.units import has_unit

if TYPE_CHECKING:
    from cultivar_fx.definition import Argument, Definition


def example_values(wanted: Definition, units: str) -> list[Any]:
    """Give the example's arguments as plain numbers of a unit system; lists for ranges."""
    given = [*wanted.example.arguments, *[None] * len(wanted.arguments)]
    return [
        [_number(argument, one, units) for one in value]
        if argument.is_range
        else _number(argument, argument.default if value is None else value, units)
        for argument, value in zip(wanted.arguments, given, strict=False)
    ]


def _number(argument: Argument, value: float | str, units: str) -> float:
    metric = read_number(argument, value)
    if units == US and argument.dimension.differs:
        return float(f"{argument.dimension.from_metric(metric):.12g}")
    return metric


def typed_example(wanted: Definition, units: str) -> str:
    """Give the example as it is typed into a cell."""
    typed = [_typed(value) for value in wanted.example.arguments]
    if units == US and wanted.takes_units:
        typed += [""] * (len(wanted.arguments) - len(typed)) + ['"us"']
    return f"={wanted.worksheet_name}({','.join(typed)})"


def _typed(value: object) -> str:
    if isinstance(value, (list, tuple)):
        return "{" + ";".join(_typed(one) for one in value) + "}"
    if isinstance(value, str):
        return value if value.endswith("%") and not has_unit(value[:-1]) else f'"{value}"'
    return number_text(float(value)) if isinstance(value, (int, float)) else str(value)
