"""Text quantities such as ``"200 lb"``: one number, one unit, nothing else.

Units are pint's. Pint is imported with the first text quantity, and each unit is looked up
once, so a worksheet of plain numbers never pays for it.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING

from cultivar_fx.dimensions import INTERNATIONAL_BTU, Dimension
from cultivar_fx.errors import UnknownUnit, WrongType

if TYPE_CHECKING:
    from collections.abc import Callable

    import pint

# Ideal gas at 20 °C and 101.325 kPa: 44.0095 g/mol over 8.314462618 J/(mol·K).
CARBON_DIOXIDE_DENSITY = 44.0095 * 101.325 / (8.314462618 * 293.15)
"""Density of carbon dioxide at room temperature [g/L]."""

_SPAN = 1024.0  # a power of two: dividing by it loses nothing

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_QUANTITY = re.compile(rf"\s*({NUMBER})\s*([^\d\s+.,-].*?)?\s*", re.DOTALL)
_UNIT_TEXT = re.compile(r"[A-Za-zµ°%_²³·*/()^ 1-3]{1,40}")

# What growers write, in the spelling that pint reads. Pint reads "cfm" as centifermi.
_SPELLINGS = {
    "%": "percent",
    "°C": "degC",
    "°F": "degF",
    "cfm": "foot**3/minute",
    "CFM": "foot**3/minute",
    "US gal": "gallon",
    "us gal": "gallon",
    "gals": "gallon",
    "lbs": "lb",
    "LB": "lb",
    "Lb": "lb",
    "KG": "kg",
    "Kg": "kg",
    "kgs": "kg",
    "kwh": "kWh",
    "KWh": "kWh",
    "KWH": "kWh",
    "kw": "kW",
    "KW": "kW",
    "fl oz": "fluid_ounce",
    "Btu": "international_btu",
    "BTU": "international_btu",
}
_TEMPERATURE_SPELLINGS = {"C": "degC", "F": "degF", "deg C": "degC", "deg F": "degF"}
_POWERS = (
    (re.compile(r"\b(?:sq|square)[ _.]+(\w+)"), r"\1**2"),
    (re.compile(r"\b(?:cu|cubic)[ _.]+(\w+)"), r"\1**3"),
    (re.compile(r"\b(ft|in|yd|m|cm|mm)([23])\b"), r"\1**\2"),
    (re.compile(r"²"), "**2"),
    (re.compile(r"³"), "**3"),
    (re.compile(r"·"), "*"),
    (re.compile(r"\^"), "**"),
    (re.compile(r"°F"), "delta_degF"),
    (re.compile(r"\bBtu\b|\bBTU\b"), "international_btu"),
)


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[float]:
    """Give pint's registry, made at the first use, with the trade's own units added."""
    import pint

    units: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    units.define(f"international_btu = {INTERNATIONAL_BTU} joule")
    return units


def parse_number_and_unit(text: str) -> tuple[float, str] | None:
    """Split a text into its number and its unit, or give None where it is neither."""
    match = _QUANTITY.fullmatch(text)
    return (float(match[1]), match[2] or "") if match else None


def quantity_in(text: str, dimension: Dimension) -> float:
    """Read a text quantity as a plain number in the dimension's metric unit.

    A text that is a plain number without a unit gives that number; the caller decides in which
    unit system to take it, see ``has_unit``.

    Raises
    ------
    WrongType
        If the text is not one number and one unit, or the unit measures something else.
    UnknownUnit
        If nobody knows the unit.
    """
    parsed = parse_number_and_unit(text)
    if parsed is None:
        raise WrongType("is text that is not one number and one unit")
    number, unit = parsed
    if not unit:
        return number
    return _converter(unit, dimension)(number)


def has_unit(text: str) -> bool:
    """Tell whether a text quantity names its unit."""
    parsed = parse_number_and_unit(text)
    return parsed is not None and bool(parsed[1])


def convert(text: str, unit: str) -> float:
    """Read a text quantity as a plain number in another unit."""
    parsed = parse_number_and_unit(text)
    if parsed is None or not parsed[1]:
        raise WrongType("is not one number and one unit")
    return _unit_converter(parsed[1], unit.strip())(parsed[0])


@lru_cache(maxsize=1024)
def _converter(unit: str, dimension: Dimension) -> Callable[[float], float]:
    if dimension.name == "fraction":
        return _between(_pint_unit(unit, ""), "dimensionless", unit, "a share")
    if dimension.pint_unit is None:
        raise WrongType("has a unit where a plain number belongs")
    source = _pint_unit(unit, dimension.name)
    if dimension.name == "carbon dioxide rate" and registry()(source).check("[volume]/[time]"):
        litres = _between(source, "liter/hour", unit, dimension.name)
        return lambda number: litres(number) * CARBON_DIOXIDE_DENSITY
    return _between(source, dimension.pint_unit, unit, dimension.name)


@lru_cache(maxsize=1024)
def _unit_converter(unit: str, wanted: str) -> Callable[[float], float]:
    temperature = "temperature" if wanted in _TEMPERATURE_SPELLINGS else ""
    if unit in _TEMPERATURE_SPELLINGS and _is_temperature(wanted):
        temperature = "temperature"
    return _between(_pint_unit(unit, temperature), _pint_unit(wanted, temperature), unit, wanted)


def _is_temperature(unit: str) -> bool:
    return bool(registry()(_pint_unit(unit, "temperature")).check("[temperature]"))


def _pint_unit(unit: str, dimension_name: str) -> str:
    """Spell a unit as pint does; refuse whatever is not a plain product of units."""
    if not _UNIT_TEXT.fullmatch(unit):
        raise UnknownUnit(f"has the unit {unit[:40]!r}, which is not known")
    if dimension_name == "temperature" and unit in _TEMPERATURE_SPELLINGS:
        return _TEMPERATURE_SPELLINGS[unit]
    spelled = _SPELLINGS.get(unit)
    if spelled is None:
        spelled = unit
        for pattern, replacement in _POWERS:
            spelled = pattern.sub(replacement, spelled)
    try:
        registry().parse_units(spelled)
    except Exception as error:  # pint raises many kinds, tokenizer errors among them
        raise UnknownUnit(f"has the unit {unit!r}, which is not known") from error
    return spelled


def _between(source: str, target: str, unit: str, what: str) -> Callable[[float], float]:
    """Give the conversion between two pint units, as a product or a linear function."""
    units = registry()
    from_unit, to_unit = units.parse_units(source), units.parse_units(target)
    if from_unit.dimensionality != to_unit.dimensionality:
        raise WrongType(f"has the unit {unit!r}, which does not measure {what}")
    try:
        zero = units.Quantity(0.0, from_unit).to(to_unit).magnitude
        span = units.Quantity(_SPAN, from_unit).to(to_unit).magnitude - zero
    except _conversion_errors() as error:
        raise WrongType(f"has the unit {unit!r}, which does not measure {what}") from error
    factor = span / _SPAN
    if zero == 0:
        return lambda number: number * factor
    return lambda number: round(zero + number * factor, 10)


def _conversion_errors() -> tuple[type[Exception], ...]:
    import pint

    return (pint.DimensionalityError, pint.OffsetUnitCalculusError)
