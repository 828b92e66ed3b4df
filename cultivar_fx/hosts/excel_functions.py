"""The functions as Excel's macros know them: names without dots, parameters, help."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from cultivar_fx.catalog.definition import entries, sections
from cultivar_fx.catalog.reference import parameter_help
from cultivar_fx.catalog.registry import functions
from cultivar_fx.summary import harvest_summary

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Definition

PREFIX = "CFX_"
CATEGORY = "Cultivar FX"
LONGEST_HELP = 255
"""Characters that Excel shows of a description; it cuts what is longer."""

_RESERVED = frozenset(
    re.findall(
        r"\w+",
        """
    and as boolean byref byte byval call case const date declare dim do double each else end
    enum error event exit false for friend function get global if in input integer is let
    like long loop me mod new next not nothing null object of on option optional or
    paramarray private property public redim rem resume return select set single static step
    stop string sub then to true type until variant wend while with xor
        """,
    )
)


class Parameter(NamedTuple):
    """One parameter of a macro function."""

    name: str
    help: str
    optional: bool = False
    takes_rest: bool = False


class ExcelFunction(NamedTuple):
    """One macro function; ``name`` leads back to the catalog, but for the harvest summary."""

    name: str
    summary: str
    parameters: tuple[Parameter, ...]

    @property
    def excel_name(self) -> str:
        """The name as typed in Excel, such as ``CFX_WATER_TO_ADD``."""
        return PREFIX + self.name

    @property
    def takes_any_number(self) -> bool:
        """Return whether the last parameter takes all arguments that are left."""
        return self.parameters[-1].takes_rest


def excel_functions() -> list[ExcelFunction]:
    """Return all functions: those of the catalog, and the harvest summary behind them."""
    return [*map(_from_catalog, functions().values()), _summary()]


def _from_catalog(wanted: Definition) -> ExcelFunction:
    parameters = [
        Parameter(_parameter_name(each.name), parameter_help(each), each.optional, each.takes_rest)
        for each in wanted.parameters
    ]
    return ExcelFunction(wanted.name, wanted.summary, tuple(parameters))


def _summary() -> ExcelFunction:
    parts = sections(harvest_summary)
    parameters = [
        Parameter(name, text, kind.endswith("optional"))
        for name, (kind, text) in entries(parts["Parameters"])
    ]
    summary = parts[""].split("\n")[0]
    return ExcelFunction(harvest_summary.__name__.upper(), summary, tuple(parameters))


def _parameter_name(name: str) -> str:
    """Keep clear of the words that macros reserve."""
    return f"{name}_name" if name in _RESERVED else name
