"""The functions for Excel on Windows, through xlwings: one ``CFX_…`` function for each.

xlwings hands over every argument as rows of cells, error values as their text. An error value
cannot go back through it, so an answer's errors are marked by their text; the macros that
``excel_vba`` writes turn the marks into real error values.
"""

from __future__ import annotations

import re
from inspect import Parameter, Signature
from typing import TYPE_CHECKING, Any

from xlwings import arg, func

from cultivar_fx.calls.call import cell_value
from cultivar_fx.calls.cells import as_grid, flat
from cultivar_fx.catalog.registry import definition
from cultivar_fx.errors import CellError, FunctionError
from cultivar_fx.hosts.excel_functions import CATEGORY, ExcelFunction, excel_functions
from cultivar_fx.summary import harvest_summary, why_no_summary

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_SUMMARY = harvest_summary.__name__.upper()
_ABOUT_SUMMARY = re.compile(rf"\s*(?:CFX[._])?{_SUMMARY}\s*", re.IGNORECASE)


def _answer(wanted: ExcelFunction, values: Sequence[Any]) -> Any:
    """Answer a call; errors are ``CellError``."""
    if wanted.name == _SUMMARY:
        try:
            return harvest_summary(*values)
        except FunctionError as error:
            return CellError(error.code, str(error))
    if wanted.takes_any_number:
        asked = flat(as_grid(values[0]))[0]
        if isinstance(asked, str) and _ABOUT_SUMMARY.fullmatch(asked):
            return why_no_summary(*values[1:])
        return cell_value(wanted.name, values)
    takes_units = definition(wanted.name).takes_units
    units = values[-1] if takes_units else None
    return cell_value(wanted.name, values[:-1] if takes_units else values, units)


def _marked(answer: Any) -> Any:
    """Mark error values by their text."""
    if isinstance(answer, list):
        return [_marked(one) if type(one) in (list, CellError) else one for one in answer]
    return answer.code if isinstance(answer, CellError) else answer


def _made(wanted: ExcelFunction) -> Callable[..., Any]:
    """Make the function that xlwings registers."""

    def excel_function(*values: Any) -> Any:
        return _marked(_answer(wanted, values))

    excel_function.__name__ = excel_function.__qualname__ = wanted.excel_name
    excel_function.__doc__ = wanted.summary
    excel_function.__annotations__ = {}  # xlwings would convert by them
    excel_function.__signature__ = Signature(  # type: ignore[attr-defined]
        [
            Parameter(
                one.name,
                Parameter.VAR_POSITIONAL if one.takes_rest else Parameter.POSITIONAL_OR_KEYWORD,
                default=None if one.optional else Parameter.empty,
            )
            for one in wanted.parameters
        ]
    )
    described: Callable[..., Any] = excel_function
    for one in wanted.parameters:
        described = arg(one.name, doc=one.help, ndim=2, err_to_str=True)(described)
    registered: Callable[..., Any] = func(category=CATEGORY)(described)  # last: arg forgets it
    return registered


globals().update({wanted.excel_name: _made(wanted) for wanted in excel_functions()})
