"""Stands in for xlwings as the Excel add-in provides it, and for what the add-in does with it.

The add-in itself is not to be had outside Excel. What is written here follows its documentation
of custom functions (lite.xlwings.org, server.xlwings.org) and Office.js's of what an argument and
an answer may be. It imports nothing of the project.
"""

from __future__ import annotations

import datetime as dt
import inspect
from typing import TYPE_CHECKING, Any, get_type_hints

if TYPE_CHECKING:
    from collections.abc import Callable
    from types import ModuleType

ERRORS = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!")
DAY_ZERO = dt.datetime(1899, 12, 30)


class Registration:
    """What the decorators say of a function."""

    def __init__(self, function: Callable[..., Any]) -> None:
        hints = get_type_hints(function)
        if hints:
            raise TypeError(f"{function.__name__}: type hints choose converters: {hints}")
        self.name = function.__name__
        self.namespace = ""
        self.arguments: dict[str, dict[str, Any]] = {
            name: {} for name in inspect.signature(function).parameters
        }


def func(*, namespace: str) -> Callable[[Any], Any]:
    """Register a function under its name in capitals, behind the namespace."""

    def decorate(function: Any) -> Any:
        _registration(function).namespace = namespace
        return function

    return decorate


def arg(name: str, **options: Any) -> Callable[[Any], Any]:
    """Describe how an argument is wanted: ``doc``, ``ndim``, ``err_to_str``."""

    def decorate(function: Any) -> Any:
        known = _registration(function).arguments
        if name not in known:
            raise ValueError(f"{function.__name__} has no argument {name!r}")
        known[name].update(options)
        return function

    return decorate


def custom_functions(main: ModuleType) -> dict[str, dict[str, Any]]:
    """Return what Excel is told of the custom functions that a module holds."""
    told = {}
    for name, function in inspect.getmembers(main, inspect.isfunction):
        if hasattr(function, "registration"):
            registration = function.registration
            if registration.name != name:
                raise ValueError(f"{registration.name} is not found by its name")
            told[f"{registration.namespace}.{name}".upper()] = {
                "id": name,
                "description": function.__doc__,
                "parameters": [
                    {
                        "name": one.name,
                        "description": registration.arguments[one.name].get("doc"),
                        "optional": one.default is not one.empty,
                        "repeating": one.kind is one.VAR_POSITIONAL,
                    }
                    for one in inspect.signature(function).parameters.values()
                ],
            }
    return told


def call(function: Any, given: list[Any]) -> list[list[Any]]:
    """Call a custom function with what Excel hands over, and give what it gets back.

    Each argument is a matrix of cells, or None where it is left out; a repeating one is a list
    of those. The answer is a matrix.
    """
    values: list[Any] = []
    parameters = inspect.signature(function).parameters.values()
    for one, cells in zip(parameters, given, strict=True):
        options = function.registration.arguments[one.name]
        if one.kind is one.VAR_POSITIONAL:
            values += [_read(each, options) for each in cells]
        elif cells is None:
            values.append(None if one.default is one.empty else one.default)
        else:
            values.append(_read(cells, options))
    return _written(function(*values))


def _registration(function: Any) -> Registration:
    if not hasattr(function, "registration"):
        function.registration = Registration(function)
    registration: Registration = function.registration
    return registration


def _read(cells: list[list[Any]], options: dict[str, Any]) -> Any:
    rows = [[_read_cell(cell, options) for cell in row] for row in cells]
    if options.get("ndim") == 2:
        return rows
    if len(rows) == 1:
        return rows[0][0] if len(rows[0]) == 1 else rows[0]
    return [row[0] for row in rows] if len(rows[0]) == 1 else rows


def _read_cell(cell: Any, options: dict[str, Any]) -> Any:
    if isinstance(cell, dict):
        return cell["basicValue"] if options.get("err_to_str") else None
    return None if cell == "" else cell


def _written(answer: Any) -> list[list[Any]]:
    rows = answer if isinstance(answer, list) else [[answer]]
    rows = rows if isinstance(rows[0], list) else [rows]
    if len({len(row) for row in rows}) != 1:
        raise ValueError("rows of different length")
    return [[_written_cell(value) for value in row] for row in rows]


def _written_cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, str) and value in ERRORS:
        return {"type": "Error", "basicValue": value}
    if isinstance(value, dt.date):
        moment = dt.datetime(value.year, value.month, value.day)
        return {"type": "FormattedNumber", "basicValue": float((moment - DAY_ZERO).days)}
    if type(value) in (bool, int, float, str):
        return value
    raise TypeError(f"Excel takes no {type(value).__name__}: {value!r}")
