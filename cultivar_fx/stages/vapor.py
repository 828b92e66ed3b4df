"""Water vapor and the air that carries it: the physics that steam and climate share.

Temperatures are in °C, pressures in kPa, altitudes in m.

IAPWS-IF97 ties saturation temperature and saturation pressure together by one equation,
quadratic in ``theta``, a temperature, and in ``beta``, the fourth root of a pressure in MPa. Its
coefficients A to G are quadratics themselves. They are written around their vertex, as
factor * (x + shift)^2 + rest, so that a spreadsheet formula names x only once in each.
"""

from __future__ import annotations

from math import exp, log, sqrt
from typing import NamedTuple

from cultivar_fx.catalog.definition import formula_part

FREEZING = 273.15
"""0 °C [K]."""
SEA_LEVEL = 101.325
"""Standard air pressure at sea level [kPa]."""
MASS_RATIO = 0.621945
"""Molar mass of water over that of dry air, ASHRAE Fundamentals 2017, ch. 1."""
AIR_GAS_CONSTANT = 0.287042
"""Gas constant of dry air, ASHRAE Fundamentals 2017, ch. 1 [kJ/(kg·K)]."""


@formula_part()
def air_pressure(altitude: float) -> float:
    """Return the pressure of the standard atmosphere: ASHRAE Fundamentals 2017, ch. 1, eq. 3."""
    pressure: float = SEA_LEVEL * (1 - 2.25577e-5 * altitude) ** 5.2559
    return pressure


class _Quadratic(NamedTuple):
    factor: float
    shift: float
    rest: float

    @classmethod
    def of(cls, square: float, linear: float, constant: float) -> _Quadratic:
        """Bring square * x^2 + linear * x + constant into the form around its vertex."""
        shift = linear / (2 * square)
        return cls(square, shift, constant - square * shift * shift)

    def at(self, x: float) -> float:
        return self.factor * (x + self.shift) ** 2 + self.rest


# IAPWS R7-97(2012), Table 34.
_N1, _N2, _N3 = 1167.0521452767, -724213.16703206, -17.073846940092
_N4, _N5, _N6 = 12020.82470247, -3232555.0322333, 14.91510861353
_N7, _N8, _N9, _N10 = -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798

_A = _Quadratic.of(1, _N1, _N2)
_B = _Quadratic.of(_N3, _N4, _N5)
_C = _Quadratic.of(_N6, _N7, _N8)

_E = _Quadratic.of(1, _N3, _N6)
_F = _Quadratic.of(_N1, _N4, _N7)
_G = _Quadratic.of(_N2, _N5, _N8)


@formula_part()
def if97_theta(temperature: float) -> float:
    """Return the transformed temperature [K], equation 29b."""
    return temperature + FREEZING + _N9 / (temperature + FREEZING - _N10)


@formula_part()
def if97_beta(temperature: float) -> float:
    """Return the fourth root of the saturation pressure [MPa] over water, equation 30."""
    theta = if97_theta(temperature)
    a, b, c = _A.at(theta), _B.at(theta), _C.at(theta)
    return 2 * c / (sqrt(b**2 - 4 * a * c) - b)


@formula_part()
def if97_backward_theta(beta: float) -> float:
    """Return the transformed temperature of a saturation pressure over water, equation 31."""
    e, f, g = _E.at(beta), _F.at(beta), _G.at(beta)
    return 0 - 2 * g / (sqrt(f**2 - 4 * e * g) + f)


@formula_part()
def if97_temperature(theta: float) -> float:
    """Return the temperature of a transformed one, equation 31."""
    return (_N10 + theta - sqrt((_N10 - theta) ** 2 - 4 * _N9)) / 2 - FREEZING


@formula_part()
def pressure_over_water(temperature: float) -> float:
    """Return the saturation pressure over water, from 0 °C: IAPWS R7-97(2012)."""
    return 1000 * if97_beta(temperature) ** 4


@formula_part()
def pressure_over_ice(temperature: float) -> float:
    """Return the saturation pressure over ice, to 0 °C: IAPWS R14-08(2011), equation 6."""
    x = (temperature + FREEZING) / 273.16
    return 0.611657 * exp(
        27.3203819 * x**0.20666667 - 21.2144006 * x**-0.99666666667 - 6.1059813 * x**0.70333333
    )


# The vapor pressures [kPa] between which dew point and frost point are fitted.
FREEZING_PRESSURE = 0.6112127
"""Vapor pressure of a dew point of 0 °C, IAPWS R7-97(2012) [kPa]."""
DRIEST = 5.48e-5
"""Vapor pressure of a frost point of -80 °C, IAPWS R14-08(2011) [kPa]."""


@formula_part()
def dew_point_over_water(vapor_pressure: float) -> float:
    """Return the temperature of saturation over water, from 0 to 90 °C.

    Fitted for this package to ``pressure_over_water``, which it inverts within 0.001 K.
    """
    temperature: float = 1898.822 / (14.36 - log(vapor_pressure)) ** 0.687 - 297.483
    return temperature


@formula_part()
def frost_point(vapor_pressure: float) -> float:
    """Return the temperature of saturation over ice, from -80 to 0 °C.

    Fitted for this package to ``pressure_over_ice``, which it inverts within 0.001 K.
    """
    temperature: float = 4375.642 / (20.65 - log(vapor_pressure)) ** 0.892 - 287.743
    return temperature
