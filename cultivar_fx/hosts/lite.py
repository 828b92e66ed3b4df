"""The functions for the free Excel add-in that runs xlwings custom functions without Python.

``from cultivar_fx.hosts.lite import *`` in the add-in's main.py registers them all. What xlwings
there documents, and this module relies on: a blank cell comes as ``None``, an error as its text
where ``err_to_str`` asks for it, a date as its number; the text of an error value goes back as
the error itself; and what ``func`` decorates is found by its name in main.py.
"""

from __future__ import annotations

import inspect
from typing import TYPE_CHECKING, Any

from xlwings import arg, func

from cultivar_fx.calls.call import call
from cultivar_fx.catalog.definition import PREFIX
from cultivar_fx.catalog.reference import parameter_help
from cultivar_fx.catalog.registry import functions
from cultivar_fx.errors import CellError, FunctionError

if TYPE_CHECKING:
    from collections.abc import Callable

    from cultivar_fx.catalog.definition import Definition

_CELLS = {"ndim": 2, "err_to_str": True}
"""How arguments are wanted: rows of cells, errors as their text."""
_ONE, _REST = inspect.Parameter.POSITIONAL_OR_KEYWORD, inspect.Parameter.VAR_POSITIONAL


def _custom_function(wanted: Definition) -> Any:
    """Make the custom function of a definition."""

    def custom_function(*values: Any) -> Any:
        try:
            return _shown(call(wanted.name, *values))
        except FunctionError as error:
            return error.code

    signature = _signature(wanted)
    registered: Callable[..., Any] = custom_function
    custom_function.__name__ = custom_function.__qualname__ = wanted.python_name
    custom_function.__doc__ = wanted.summary
    custom_function.__annotations__ = {}  # they would choose converters
    custom_function.__signature__ = signature  # type: ignore[attr-defined]
    for name in signature.parameters:
        registered = arg(name, **_help(wanted, name), **_CELLS)(registered)
    return func(namespace=PREFIX.rstrip("."))(registered)


def _signature(wanted: Definition) -> inspect.Signature:
    """Return the parameters as they are typed; what may be left out comes as a blank."""
    return inspect.Signature(
        [
            inspect.Parameter(
                each.name,
                _REST if each.takes_rest else _ONE,
                default=None if each.optional else inspect.Parameter.empty,
            )
            for each in wanted.parameters
        ]
    )


def _help(wanted: Definition, name: str) -> dict[str, str]:
    """Return what Excel shows beside an argument."""
    texts = {each.name: parameter_help(each) for each in wanted.parameters if not each.takes_rest}
    return {"doc": texts[name]} if name in texts else {}


def _shown(answer: Any) -> Any:
    """Return an answer as xlwings takes it: error values as their text."""
    if isinstance(answer, list):
        return [_shown(one) for one in answer]
    return answer.code if isinstance(answer, CellError) else answer


_made = {wanted.python_name: _custom_function(wanted) for wanted in functions().values()}
globals().update(_made)
__all__ = list(_made)
