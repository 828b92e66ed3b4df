"""The kinds of quantity that arguments and results have, and their units in both systems.

The metric unit is the one that the functions compute in. ``FOOT`` and the other factors are
exact by definition (international yard and pound, 1959; US gallon of 231 cubic inches).
"""

from __future__ import annotations

from typing import NamedTuple

METRIC = "metric"
US = "us"
SYSTEMS = (METRIC, US)

FOOT = 0.3048
INCH = 2.54
POUND = 0.45359237
OUNCE = 0.028349523125
US_GALLON = 3.785411784
INTERNATIONAL_BTU = 1055.05585262


class Dimension(NamedTuple):
    """A kind of quantity.

    A plain number of the us system becomes the metric one by
    ``metric = (us - zero) * factor / divisor``. ``pint_unit`` is what a text quantity has to
    convert to; without one the argument takes plain numbers only. ``is_text`` marks words.
    """

    name: str
    metric: str
    us: str
    factor: float = 1.0
    divisor: float = 1.0
    zero: float = 0.0
    pint_unit: str | None = None
    is_text: bool = False

    def unit(self, system: str) -> str:
        """Return the unit's label in one of the two systems."""
        return self.us if system == US else self.metric

    @property
    def differs(self) -> bool:
        """Return whether a plain number means another quantity in the other system."""
        return self.metric != self.us

    @property
    def is_share(self) -> bool:
        """Whether it is a part of a whole, written in percent."""
        return self.metric == "fraction"

    @property
    def is_date(self) -> bool:
        """Whether it is a day."""
        return self.name == "date"

    @property
    def has_unit(self) -> bool:
        """Return whether the quantity has a unit at all, so that ``units`` belongs to it."""
        return self.pint_unit is not None

    def to_metric(self, number: float) -> float:
        """Turn a number of the us system into the metric one."""
        return (number - self.zero) * self.factor / self.divisor

    def from_metric(self, number: float) -> float:
        """Turn a metric number into one of the us system."""
        return number * self.divisor / self.factor + self.zero


def _same(name: str, label: str, pint_unit: str | None = None) -> Dimension:
    return Dimension(name, label, label, pint_unit=pint_unit)


DIMENSIONS = {
    dimension.metric: dimension
    for dimension in (
        Dimension("mass", "kg", "lb", POUND, pint_unit="kg"),
        Dimension("volume", "L", "US gal", US_GALLON, pint_unit="L"),
        Dimension("temperature", "°C", "°F", 5.0, 9.0, 32.0, pint_unit="degC"),
        Dimension("temperature difference", "K", "°F", 5.0, 9.0, pint_unit="delta_degC"),
        Dimension("length", "m", "ft", FOOT, pint_unit="m"),
        Dimension("block or bag length", "cm", "in", INCH, pint_unit="cm"),
        Dimension("area", "m²", "ft²", FOOT**2, pint_unit="m**2"),
        Dimension("room volume", "m³", "ft³", FOOT**3, pint_unit="m**3"),
        Dimension("air flow", "m³/h", "cfm", FOOT**3 * 60, pint_unit="m**3/hour"),
        Dimension("density", "kg/L", "lb/gal", POUND / US_GALLON, pint_unit="kg/L"),
        Dimension("mass rate", "kg/h", "lb/h", POUND, pint_unit="kg/hour"),
        Dimension(
            "harvest per area", "kg/(m²·d)", "lb/(ft²·d)", POUND / FOOT**2, pint_unit="kg/m**2/day"
        ),
        Dimension(
            "thermal resistance",
            "m²·K/W",
            "ft²·°F·h/Btu",
            FOOT**2 * 5 / 9 * 3600 / INTERNATIONAL_BTU,
            pint_unit="m**2*K/W",
        ),
        Dimension(
            "heat transfer coefficient",
            "W/(m²·K)",
            "Btu/(h·ft²·°F)",
            INTERNATIONAL_BTU / 3600 / (FOOT**2 * 5 / 9),
            pint_unit="W/m**2/K",
        ),
        Dimension(
            "thermal conductivity",
            "W/(m·K)",
            "Btu/(h·ft·°F)",
            INTERNATIONAL_BTU / 3600 / (FOOT * 5 / 9),
            pint_unit="W/m/K",
        ),
        Dimension(
            "carbon dioxide of a mass",
            "g/(h·kg)",
            "g/(h·lb)",
            1.0,
            POUND,
            pint_unit="g/hour/kg",
        ),
        _same("specific heat", "kJ/(kg·K)", "kJ/kg/K"),
        _same("thermal diffusivity", "mm²/s", "mm**2/s"),
        _same("energy", "kWh", "kWh"),
        _same("power", "kW", "kW"),
        _same("small power", "W", "W"),
        _same("pressure", "kPa", "kPa"),
        _same("carbon dioxide rate", "g/h", "g/hour"),
        _same("carbon dioxide level", "ppm", "ppm"),
        _same("time", "h", "hour"),
        _same("days", "d", "day"),
        _same("minutes", "min", "minute"),
        _same("years", "a", "year"),
        _same("fraction", "fraction"),
        _same("count", "count"),
        _same("number", "number"),
        _same("money", "money"),
        _same("date", "date"),
        Dimension("text", "text", "text", is_text=True),
        # The unit is part of the function's name, so the system does not choose it.
        _same("pounds", "lb", "lb"),
        _same("kilograms", "kg only", "kg"),
        _same("money per pound", "money/lb"),
        _same("money per kilogram", "money/kg"),
    )
}
