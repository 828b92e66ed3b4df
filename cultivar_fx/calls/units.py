"""Text quantities such as ``"200 lb"``: one number, one unit, nothing else.

Units are pint's. Pint is imported with the first text quantity, and each unit is looked up
once, so a worksheet of plain numbers never pays for it.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from cultivar_fx.errors import UnknownUnit, WrongType

if TYPE_CHECKING:
    from collections.abc import Callable

    import pint

    from cultivar_fx.catalog.dimensions import Dimension

# Ideal gas at 20 °C and 101.325 kPa: 44.0095 g/mol over 8.314462618 J/(mol·K).
CARBON_DIOXIDE_DENSITY = 44.0095 * 101.325 / (8.314462618 * 293.15)
"""Density of carbon dioxide at room temperature [g/L]."""

_SPAN = 1024.0  # a power of two: dividing by it loses nothing
_LONGEST_TEXT = 100
_LONGEST_UNIT = 40

_QUANTITY = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*([^\d\s+.,-].*)?")

# What growers write in any case, and pint reads otherwise or not at all ("cfm" as centifermi).
_SPELLINGS = {
    **dict.fromkeys(("gal", "gals", "us gal", "us gals", "us gallon", "us gallons"), "gallon"),
    **dict.fromkeys(("fl oz", "fluid ounce", "fluid ounces"), "fluid_ounce"),
    **dict.fromkeys(("lb", "lbs"), "pound"),
    **dict.fromkeys(("kg", "kgs"), "kilogram"),
    **dict.fromkeys(("wk", "wks"), "week"),
    **dict.fromkeys(("hr", "hrs"), "hour"),
    "g": "gram",
    "oz": "ounce",
    "ft": "foot",
    "in": "inch",
    "%": "percent",
    "cfm": "foot**3/minute",
    "kw": "kilowatt",
    "kwh": "kilowatt_hour",
}
_UNCLEAR = ("ML", "Ml")  # milliliters typed in capitals, or millions of liters

_SIGNS = str.maketrans(
    {"º": "°", "˚": "°", "℃": "°C", "℉": "°F", "μ": "µ", "·": "*", "⋅": "*", "×": "*", "^": "**"}
)
_TEMPERATURE = re.compile(r"(deg(?:rees?)?|°|)[ _]?(?:([cf])|(celsius|fahrenheit))", re.IGNORECASE)
_REWRITTEN = (
    (re.compile(r"\bU\.S\."), "US"),
    (re.compile(r"\.(?=\s|$)"), ""),
    (re.compile(r"\b(?:sq|square)[ _]+(\w+)"), r"\1**2"),
    (re.compile(r"\b(?:cu|cubic)[ _]+(\w+)"), r"\1**3"),
    (re.compile(r"\b(ft|in|yd|m|cm|mm)([23])\b"), r"\1**\2"),
    (re.compile(r"²"), "**2"),
    (re.compile(r"³"), "**3"),
    (re.compile(r"°([CF])\b"), r"delta_deg\1"),
    (re.compile(r"\b(?:Btu|BTU)\b"), "international_british_thermal_unit"),
)
# Names with small powers, multiplied or divided: nothing that could be computed with.
_FACTOR = r"\(*[^\W\d]+(?:\*\*[1-3])?\)*"
_NAME = re.compile(r"[^\W\d]+")
# Units that decimal prefixes go with; pint would read "Min" as a million inches.
_PREFIXED = frozenset(
    [
        "bar",
        "calorie",
        "gram",
        "joule",
        "kelvin",
        "liter",
        "meter",
        "meter_Hg",
        "pascal",
        "second",
        "watt",
        "watt_hour",
    ]
)
_PRODUCT = re.compile(rf"{_FACTOR}(?:(?: ?[*/] ?| ){_FACTOR})*")


@lru_cache(maxsize=1)
def registry() -> Any:
    """Return pint's registry, made at the first use.

    Where pint is missing, its units come from a table that stands in for it.

    Raises
    ------
    UnknownUnit
        If there is no such table either.
    """
    try:
        import pint
    except ImportError:
        from cultivar_fx.calls.plain_units import plain_registry

        return plain_registry()
    units: pint.UnitRegistry[float]
    try:  # reading the definitions takes longer than all else, so they are kept for the next time
        units = pint.UnitRegistry(cache_folder=":auto:")
    except Exception:  # no room to keep them, no right to, or what was kept is broken
        units = pint.UnitRegistry(cache_folder=None)
    return units


def parse_number_and_unit(text: str) -> tuple[float, str] | None:
    """Split a text into its number and its unit, or give None where it is neither."""
    match = _QUANTITY.fullmatch(text.strip()) if len(text) <= _LONGEST_TEXT else None
    return (float(match[1]), match[2] or "") if match else None


def has_unit(text: str) -> bool:
    """Return whether a text quantity names its unit."""
    parsed = parse_number_and_unit(text)
    return parsed is not None and bool(parsed[1])


def quantity_in(text: str, dimension: Dimension) -> float:
    """Read a text quantity as a plain number in the dimension's metric unit.

    Raises
    ------
    WrongType
        If the text is not one number and one unit, or the unit measures something else.
    UnknownUnit
        If nobody knows the unit.
    """
    parsed = parse_number_and_unit(text)
    if parsed is None or not parsed[1]:
        raise WrongType("is not one number and one unit")
    return converter(parsed[1], dimension)(parsed[0])


def convert(text: str, unit: str) -> float:
    """Read a text quantity as a plain number in another unit.

    Raises
    ------
    WrongType
        If the text is not one number and one unit, or the units measure different things.
    UnknownUnit
        If nobody knows one of the units.
    """
    parsed = parse_number_and_unit(text)
    if parsed is None or not parsed[1]:
        raise WrongType("is not one number and one unit")
    return _unit_converter(parsed[1], unit.strip())(parsed[0])


def as_typed(text: str, dimension: Dimension) -> Dimension | None:
    """Return a dimension with the unit of a text in place of its us unit, or None without one."""
    parsed = parse_number_and_unit(text)
    if parsed is None or not parsed[1] or not dimension.has_unit:
        return None
    unit = parsed[1].strip()
    try:
        to_metric = converter(unit, dimension)
    except (WrongType, UnknownUnit):
        return None
    start = to_metric(0.0)
    factor = (to_metric(_SPAN) - start) / _SPAN
    return dimension._replace(us=unit, factor=factor, divisor=1.0, zero=-start / factor)


@lru_cache(maxsize=1024)
def converter(unit: str, dimension: Dimension) -> Callable[[float], float]:
    """Return the conversion of plain numbers of a unit to the dimension's metric unit.

    Raises
    ------
    WrongType
        If the unit measures something else.
    UnknownUnit
        If nobody knows the unit.
    """
    if dimension.is_share:
        if unit == "%":
            return lambda number: number / 100
        return _between(_pint_unit(unit), "dimensionless", unit, "a share")
    if dimension.pint_unit is None:
        raise WrongType("has a unit where a plain number belongs")
    own = _own_converter(unit, dimension)
    if own is not None:
        return own
    source = _pint_unit(unit, dimension.name)
    if dimension.name == "carbon dioxide rate" and _kind(source) == _kind("liter/hour"):
        litres = _between(source, "liter/hour", unit, dimension.name)
        return lambda number: litres(number) * CARBON_DIOXIDE_DENSITY
    return _between(source, dimension.pint_unit, unit, dimension.name)


def _own_converter(unit: str, dimension: Dimension) -> Callable[[float], float] | None:
    """Return the conversion of a unit of the two systems: most texts have one of these.

    They are defined here, so no library is asked, whose start takes longer than all else.
    """
    spelled = _spelled(unit, dimension.name)
    if spelled == _spelled(dimension.metric, dimension.name):
        return float
    if spelled == _spelled(dimension.us, dimension.name):
        return dimension.to_metric
    return None


@lru_cache(maxsize=1024)
def _unit_converter(unit: str, wanted: str) -> Callable[[float], float]:
    """Return the conversion between two units as typed; F beside a temperature is no farad."""
    try:
        return _between(_pint_unit(unit), _pint_unit(wanted), unit, f"the same as {wanted}")
    except (WrongType, UnknownUnit):
        source, target = _pint_unit(unit, "temperature"), _pint_unit(wanted, "temperature")
        return _between(source, target, unit, f"the same as {wanted}")


def _pint_unit(unit: str, dimension_name: str = "") -> str:
    """Spell a unit as pint does; refuse whatever is not a plain product of units."""
    unknown = UnknownUnit(f"has the unknown unit {unit[:_LONGEST_UNIT]!r}")
    if len(unit) > _LONGEST_UNIT or unit in _UNCLEAR:
        raise unknown
    spelled = _spelled(unit, dimension_name)
    if not _PRODUCT.fullmatch(spelled):
        raise unknown
    units = registry()
    try:
        _kind(spelled)
        names = [units.parse_unit_name(name)[0] for name in _NAME.findall(spelled)]
    except Exception as error:  # pint raises many kinds, tokenizer errors among them
        raise unknown from error
    allowed = [units.parse_units(name) for name in _PREFIXED]
    if any(prefix and units.parse_units(base) not in allowed for prefix, base, _ in names):
        raise unknown
    return spelled


def _spelled(unit: str, dimension_name: str) -> str:
    typed = " ".join(unit.translate(_SIGNS).split())
    degree = _TEMPERATURE.fullmatch(typed)
    if degree and (degree[1] or degree[3] or dimension_name.startswith("temperature")):
        difference = "delta_" if dimension_name == "temperature difference" else ""
        return f"{difference}deg{(degree[2] or degree[3])[0].upper()}"
    for pattern, replacement in _REWRITTEN:
        typed = pattern.sub(replacement, typed)
    return _SPELLINGS.get(typed.lower(), typed)


def _between(source: str, target: str, unit: str, what: str) -> Callable[[float], float]:
    """Return the conversion between two pint units, as a product or a linear function."""
    units = registry()
    from_unit, to_unit = units.parse_units(source), units.parse_units(target)
    if _kind(source) != _kind(target):
        raise WrongType(f"has the unit {unit!r}, which does not measure {what}")
    try:
        zero = units.Quantity(0.0, from_unit).to(to_unit).magnitude
        span = units.Quantity(_SPAN, from_unit).to(to_unit).magnitude - zero
    except TypeError as error:  # pint's, between a scale and differences on it
        raise WrongType(f"has the unit {unit!r}, which does not measure {what}") from error
    factor = span / _SPAN
    if zero == 0:
        return lambda number: number * factor
    return lambda number: round(zero + number * factor, 10)


def _kind(unit: str) -> str:
    """Return what a pint unit comes down to; an angle is no share, though both are pure numbers."""
    units = registry()
    return str(units.get_root_units(units.parse_units(unit))[1])
