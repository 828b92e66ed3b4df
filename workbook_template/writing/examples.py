"""The worked examples of the functions, as numbers of a workbook and as typed calls."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cultivar_fx.calls.arguments import read_number
from cultivar_fx.calls.cells import date_of
from cultivar_fx.catalog.dimensions import US
from cultivar_fx.catalog.reference import typed_call
from cultivar_fx.catalog.reference import typed_example as example_as_documented

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Argument, Definition

_DIGITS = 5
"""Digits of an example that was said in other units, in a us workbook."""


def example_values(wanted: Definition, units: str) -> list[Any]:
    """Return the example's arguments as plain numbers of a unit system; lists for ranges."""
    given = [*wanted.example.arguments, *[None] * len(wanted.arguments)]
    return [
        [_number(argument, one, units) for one in value]
        if argument.is_range
        else _number(argument, argument.default if value is None else value, units)
        for argument, value in zip(wanted.arguments, given, strict=False)
    ]


def _number(argument: Argument, value: object, units: str) -> float:
    metric = read_number(argument, value)
    if units != US or argument.dimension.is_date:
        return metric
    number = argument.dimension.from_metric(metric) if argument.dimension.differs else metric
    return float(f"{number:.{_DIGITS}g}")


def typed_example(wanted: Definition, values: list[Any], units: str) -> str:
    """Return the call, as typed into a cell, that answers what the workbook's formula does."""
    if units != US or not wanted.takes_units:
        return example_as_documented(wanted)
    typed = map(_as_typed, wanted.arguments, values)
    return typed_call(wanted, [*typed, US])


def _as_typed(argument: Argument, value: Any) -> object:
    if isinstance(value, list):
        return [_as_typed(argument, one) for one in value]
    if argument.dimension.is_date:
        return date_of(value).isoformat()
    return f"{value * 100:g}%" if argument.dimension.is_share else value
