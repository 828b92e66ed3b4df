"""The worked examples of the functions, as numbers of a workbook and as typed calls."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cultivar_fx.call import read_number
from cultivar_fx.dimensions import US

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


def _number(argument: Argument, value: object, units: str) -> float:
    metric = read_number(argument, value)
    if units == US and argument.dimension.differs:
        return float(f"{argument.dimension.from_metric(metric):.12g}")
    return metric
