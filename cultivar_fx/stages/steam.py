"""Steam: what a batch takes to heat up, and what the heat does.

Steam at atmospheric pressure is no sterilization in the sense of F0: 15 minutes at 121.1 °C are
more than 32 hours at 100 °C. Keep the vessel vented, and follow its maker's instructions and
local codes.
"""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.vapor import air_pressure, if97_backward_theta, if97_temperature

if TYPE_CHECKING:
    from collections.abc import Sequence

WATER_HEAT = 4.19
"""Specific heat of water [kJ/(kg·K)]."""
LATENT_HEAT = 2256.5
"""Heat of evaporation at 100 °C, IAPWS-IF97 [kJ/kg]."""


@worksheet_function()
def boiling_point(altitude: float) -> float:
    """Temperature of steam at atmospheric pressure.

    Parameters
    ----------
    altitude : float
        Altitude [m; -500 to 11000].

    Returns
    -------
    float
        Boiling point of water in the standard atmosphere [°C].

    References
    ----------
    ASHRAE Fundamentals 2017, ch. 1, equation 3; IAPWS R7-97(2012), equation 31.

    Examples
    --------
    >>> boiling_point("1000 ft")
    98.96
    """
    return if97_temperature(if97_backward_theta((air_pressure(altitude) / 1000) ** 0.25))


@worksheet_function()
def specific_heat(moisture: float, temperature: float = 60.0) -> float:
    """Specific heat of wet substrate.

    Parameters
    ----------
    moisture : float
        Moisture, wet basis [fraction; 0 to 1].
    temperature : float
        Mean temperature of the heating [°C; 0 to 150].

    Returns
    -------
    float
        Specific heat of dry wood and water by mass [kJ/(kg·K)].

    References
    ----------
    Glass & Zelinka, Wood Handbook 2010, ch. 4, oven-dry wood; water 4.19 kJ/(kg·K).

    Examples
    --------
    >>> specific_heat("62%")
    3.127
    """
    wood = 0.1031 + 0.003867 * (temperature + 273.15)
    return (1 - moisture) * wood + moisture * WATER_HEAT


@worksheet_function()
def heat_up_energy(
    mass: float, moisture: float, start_temperature: float, end_temperature: float
) -> float:
    """Energy that heats a batch of substrate, without losses and without the vessel.

    Parameters
    ----------
    mass : float
        Mass of wet substrate [kg; 0 or more].
    moisture : float
        Moisture, wet basis [fraction; 0 to 1].
    start_temperature : float
        Temperature before; frozen substrate takes more than this says [°C; 0 to 150].
    end_temperature : float
        Temperature after [°C; 0 to 150].

    Returns
    -------
    float
        Heat taken up [kWh].

    Raises
    ------
    NotPossible
        If the end is colder than the start.

    References
    ----------
    Glass & Zelinka, Wood Handbook 2010, ch. 4, oven-dry wood; water 4.19 kJ/(kg·K).

    Examples
    --------
    >>> heat_up_energy(2.75, "62%", 20, 100)
    0.1911
    """
    if end_temperature < start_temperature:
        raise NotPossible(
            f"end_temperature: got {end_temperature:g} °C, needs to be at least the start "
            f"({start_temperature:g} °C)."
        )
    heat = specific_heat(moisture, (start_temperature + end_temperature) / 2)
    return mass * heat * (end_temperature - start_temperature) / 3600


@worksheet_function()
def heat_up_hours(energy: float, power: float, efficiency: float = 1.0) -> float:
    """Hours that a boiler or heater takes to deliver an energy.

    Parameters
    ----------
    energy : float
        Energy to deliver, such as the answer of HEAT_UP_ENERGY [kWh; 0 to 100000].
    power : float
        Power of the boiler or heater [kW; above 0 to 2000].
    efficiency : float
        Share of the power that reaches the load; 1 is without losses
        [fraction; 0.05 to 1]. Assumption: measure yours.

    Returns
    -------
    float
        Hours of heating up [h].

    References
    ----------
    Energy over power.

    Examples
    --------
    >>> heat_up_hours(36, 15)
    2.4
    """
    return energy / (power * efficiency)


@worksheet_function()
def steam_rate(power: float, efficiency: float = 1.0, feed_temperature: float = 15.0) -> float:
    """Steam that a boiler makes at atmospheric pressure, which is the feed water it takes.

    Parameters
    ----------
    power : float
        Power of the boiler [kW; 0 to 2000].
    efficiency : float
        Share of the power that ends up in steam; 1 is without losses
        [fraction; 0.05 to 1]. Assumption: measure yours.
    feed_temperature : float
        Temperature of the feed water [°C; 0 to 100]. Assumption: measure yours.

    Returns
    -------
    float
        Steam in an hour [kg/h].

    References
    ----------
    IAPWS-IF97, heat of evaporation at 100 °C; water 4.19 kJ/(kg·K).

    Examples
    --------
    >>> steam_rate("15 kW")
    20.67
    """
    return power * efficiency * 3600 / (LATENT_HEAT + WATER_HEAT * (100 - feed_temperature))


@worksheet_function()
def lethal_rate(
    temperature: float, reference_temperature: float = 121.1, z_value: float = 10.0
) -> float:
    """Minutes at the reference temperature that one minute at a temperature is worth.

    Parameters
    ----------
    temperature : float
        Temperature in the middle of the block [°C; 0 to 200].
    reference_temperature : float
        Temperature that it is compared with [°C; 0 to 200].
    z_value : float
        Temperature difference that makes ten times the rate [K; 1 to 50].

    Returns
    -------
    float
        Lethal rate [number].

    Notes
    -----
    Atmospheric steam is no sterilization by this measure: an hour at 100 °C is worth less than
    half a minute at 121.1 °C.

    References
    ----------
    Definition of the lethal rate in thermal processing, 10^((T - Tref) / z).

    Examples
    --------
    >>> lethal_rate(100)
    0.007762
    """
    rate: float = 10.0 ** ((temperature - reference_temperature) / z_value)
    return rate


# The numbers of a row or column without the first, and without the last.
def _later(cells: str) -> str:
    return f"INDEX(INDEX({{{cells}}},2):INDEX({{{cells}}},COUNT({{hours}})),0,0)"


def _earlier(cells: str) -> str:
    return f"INDEX(INDEX({{{cells}}},1):INDEX({{{cells}}},COUNT({{hours}})-1),0,0)"


@worksheet_function(
    native=f"SUMPRODUCT(({_later('hours')}-{_earlier('hours')})"
    f"*(CFX.LETHAL_RATE({_earlier('temperatures')},{{reference_temperature}},{{z_value}})"
    f"+CFX.LETHAL_RATE({_later('temperatures')},{{reference_temperature}},{{z_value}})))*30",
    requires="IF(COUNT({hours})<2,FALSE,"
    f"SUMPRODUCT(--({_later('hours')}<{_earlier('hours')}))=0)",
    unbroken=True,
    unit_free=True,
)
def lethality(
    hours: Sequence[float],
    temperatures: Sequence[float],
    reference_temperature: float = 121.1,
    z_value: float = 10.0,
) -> float:
    """Minutes at the reference temperature that a logged run is worth.

    Parameters
    ----------
    hours : sequence of float
        Time of each reading, in order and without blank lines between them [h; 0 to 1000].
    temperatures : sequence of float
        Temperature in the middle of the block at each of these times [°C; 0 to 200].
    reference_temperature : float
        Temperature that it is compared with [°C; 0 to 200].
    z_value : float
        Temperature difference that makes ten times the rate [K; 1 to 50].

    Returns
    -------
    float
        Equivalent time at the reference temperature [min].

    Raises
    ------
    NotPossible
        If there are fewer than two readings, or their times are not in order.

    Notes
    -----
    Atmospheric steam is no sterilization by this measure: twelve hours at 100 °C are worth less
    than six minutes at 121.1 °C.

    References
    ----------
    General method of thermal processing: trapezoids under the lethal rate.

    Examples
    --------
    >>> lethality([0, 12], [100, 100])
    5.589
    """
    if len(hours) < 2:
        raise NotPossible(f"hours: got {len(hours)} reading, needs at least two.")
    rates = [lethal_rate(each, reference_temperature, z_value) for each in temperatures]
    minutes = []
    for start, end, rate, next_rate in zip(hours, hours[1:], rates, rates[1:]):
        if end < start:
            raise NotPossible(f"hours: got {end:g} after {start:g}, needs times in order.")
        minutes.append((end - start) * (rate + next_rate) * 30)
    return fsum(minutes)
