"""The units that text quantities may have in a LAMBDA name, as lists in spreadsheet text.

What a unit measures, and its factor, is asked of ``units``; here are only the common spellings.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from cultivar_fx.calls.units import convert, converter
from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.errors import FunctionError
from cultivar_fx.formula.text import number_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from cultivar_fx.catalog.dimensions import Dimension

_KINDS = (
    "kg|g|mg|t|lb|lbs|oz|kgs|kilogram|kilograms|gram|grams|pound|pounds|ounce|ounces",
    "L|l|mL|ml|gal|gals|US gal|fl oz|qt|m³|m3|ft³|ft3|cu ft|liter|liters|gallon|gallons"
    "|US gallon|US gallons|quart|quarts",
    "°C|°F|degC|degF|C|F|K",
    "m|cm|mm|km|ft|in|yd|foot|feet|inch|inches",
    "m²|m2|ft²|ft2|sq m|sq ft",
    "m³/h|m3/h|cfm|ft³/min|ft3/min|L/h|L/min|L/s",
    "kg/L|g/L|g/mL|kg/m³|kg/m3|lb/gal|lb/ft³|lb/ft3",
    "kg/h|kg/hr|lb/h|lb/hr|g/h|g/hr",
    "mm²/s|mm2/s|m²/s|m2/s",
    "kWh|Wh|MJ|kJ|Btu|BTU",
    "kW|W|hp|Btu/h|BTU/h",
    "kPa|Pa|hPa|bar|mbar|psi|inHg",
    "h|hr|hrs|min|s|d|wk|hour|hours|minute|minutes|day|days|week|weeks|yr|year|years|a",
    "%|percent|ppm",
)
"""Units that measure the same, in the spellings that people type."""

_SPAN = 2.0**40  # dividing by a power of two loses nothing; beside it a rounded zero counts none
_DIGITS = 15  # all that Excel keeps of a number in a formula


class UnitTable(NamedTuple):
    """Units as three lists: ``metric = (number - zero) * factor`` for each of the names."""

    names: str
    factors: str
    zeros: str


class ConversionTable(NamedTuple):
    """Units of every kind, each with the number of its kind."""

    units: UnitTable
    kinds: str


@cache
def unit_table(dimension: Dimension) -> UnitTable:
    """Return the common units that a dimension takes; none for plain numbers."""

    def to_metric(unit: str) -> Callable[[float], float]:
        return converter(unit, dimension)

    spellings = [dimension.unit(system) for system in SYSTEMS]
    spellings += [one for kind in _KINDS if _takes(to_metric, kind) for one in kind.split("|")]
    return _table(_known(spellings, to_metric))


@cache
def conversion_table() -> ConversionTable:
    """Return the common units of every kind, relative to the first one of its kind."""
    known: dict[str, tuple[float, float]] = {}
    kinds: list[int] = []
    for number, kind in enumerate(_KINDS, 1):
        spellings = kind.split("|")

        def to_first(unit: str, first: str = spellings[0]) -> Callable[[float], float]:
            return lambda amount: convert(f"{amount} {unit}", first)

        known.update(_known(spellings, to_first))
        kinds += [number] * (len(known) - len(kinds))
    return ConversionTable(_table(known), _listed(map(str, kinds)))


def _takes(to_metric: Callable[[str], Callable[[float], float]], kind: str) -> bool:
    try:
        to_metric(kind.split("|")[0])
    except FunctionError:
        return False
    return True


def _known(
    spellings: Iterable[str], converted: Callable[[str], Callable[[float], float]]
) -> dict[str, tuple[float, float]]:
    """Return factor and zero of each unit, and of it in capitals where that is the same unit."""
    known: dict[str, tuple[float, float]] = {}
    for spelling in spellings:
        for typed in (spelling, spelling.upper()):
            try:
                found = _factor_and_zero(converted(typed))
            except FunctionError:
                continue
            if typed == spelling or found == known.get(spelling):
                known.setdefault(typed, found)
    return known


def _factor_and_zero(converted: Callable[[float], float]) -> tuple[float, float]:
    start = converted(0.0)
    factor = (converted(_SPAN) - start) / _SPAN
    return factor, round(-start / factor, 9)


def _table(known: dict[str, tuple[float, float]]) -> UnitTable:
    if not known:
        return UnitTable('""', "1", "0")
    zeros = [_number(zero) for _, zero in known.values()]
    return UnitTable(
        _listed(f'"{name}"' for name in known),
        _listed(_number(factor) for factor, _ in known.values()),
        _listed(zeros) if any(zero != "0" for zero in zeros) else "0",
    )


def _number(number: float) -> str:
    return number_text(float(f"{number:.{_DIGITS}g}")).upper()


def _listed(texts: Iterable[str]) -> str:
    return "{" + ",".join(texts) + "}"
