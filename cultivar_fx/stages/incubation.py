"""Incubation: what heats the room, and what it loses."""

from __future__ import annotations

from cultivar_fx.catalog.definition import worksheet_function

HEAT_PER_CARBON_DIOXIDE = 61
"""Heat of respiration [kcal/(t·day)] per carbon dioxide [mg/(kg·h)]; so also kcal/day per g/h."""


@worksheet_function()
def respiration_heat(carbon_dioxide_rate: float) -> float:
    """Heat that a colony gives off along with its carbon dioxide.

    Parameters
    ----------
    carbon_dioxide_rate : float
        Carbon dioxide that the colony gives off [g/h; 0 or more].

    Returns
    -------
    float
        Heat, to be used as colony_heat of HEATER_POWER [W].

    References
    ----------
    Suslow & Cantwell, UC Davis postharvest sheet: 61 kcal a day and metric ton for each
    mg/(kg·h) of carbon dioxide. 1 kcal = 4184 J.

    Examples
    --------
    >>> respiration_heat(100)
    295.398
    """
    return carbon_dioxide_rate * HEAT_PER_CARBON_DIOXIDE * 4184 / 86400


@worksheet_function()
def wall_heat_loss(
    area: float, r_value: float, inside_temperature: float, outside_temperature: float
) -> float:
    """Heat that leaves a room through walls, ceiling or floor; negative where it comes in.

    Parameters
    ----------
    area : float
        Area between the room and outside [m²; 0 or more].
    r_value : float
        Thermal resistance of that area, with the air on both sides [m²·K/W; 0.02 to 50].
    inside_temperature : float
        Temperature of the room [°C; -50 to 90].
    outside_temperature : float
        Temperature on the other side [°C; -50 to 90].

    Returns
    -------
    float
        Heat lost, to be used as wall_heat_loss of HEATER_POWER [W].

    References
    ----------
    Steady conduction: area times temperature difference over thermal resistance.

    Examples
    --------
    >>> wall_heat_loss(120, 2.5, 22, -8)
    1440
    """
    return area * (inside_temperature - outside_temperature) / r_value


@worksheet_function()
def heater_power(
    wall_heat_loss: float, air_heat: float, colony_heat: float, margin: float = 0.0
) -> float:
    """Heater that a room needs: walls and fresh air, less what the colony heats; 0 or more.

    Parameters
    ----------
    wall_heat_loss : float
        The answer of WALL_HEAT_LOSS, summed over all walls [W].
    air_heat : float
        The answer of AIR_HEAT [kW].
    colony_heat : float
        The answer of RESPIRATION_HEAT; 0 for a room just filled [W; 0 or more].
    margin : float
        Share to add for safety and warming up [fraction; 0 to 10].

    Returns
    -------
    float
        Heating power [kW].

    References
    ----------
    Heat balance of the room.

    Examples
    --------
    >>> heater_power("1440 W", "1.2 kW", "300 W", "20%")
    2.808
    """
    return max(0, wall_heat_loss / 1000 + air_heat - colony_heat / 1000) * (1 + margin)


@worksheet_function()
def cooling_power(
    wall_heat_gain: float,
    air_heat: float,
    colony_heat: float,
    equipment_heat: float = 0.0,
    margin: float = 0.0,
) -> float:
    """Cooling that a room needs: walls, fresh air, colony and equipment together; 0 or more.

    Parameters
    ----------
    wall_heat_gain : float
        Heat that comes in: the answer of WALL_HEAT_LOSS on the hottest day, summed over all
        walls, with its sign changed [W].
    air_heat : float
        The answer of AIR_HEAT on the hottest day, as it is: below 0 where the air has to be
        cooled [kW].
    colony_heat : float
        The answer of RESPIRATION_HEAT for a full room [W; 0 or more].
    equipment_heat : float
        Lights, fans, pumps and foggers: what they draw [W; 0 or more]. Assumption: measure yours.
    margin : float
        Share to add for safety and cooling down [fraction; 0 to 10].

    Returns
    -------
    float
        Cooling power [kW].

    Notes
    -----
    For sizing only: have a licensed technician choose and install the equipment.

    References
    ----------
    Heat balance of the room.

    Examples
    --------
    >>> cooling_power("500 W", -1.6, "300 W", "150 W", "20%")
    3.06
    """
    heat = wall_heat_gain / 1000 - air_heat + colony_heat / 1000 + equipment_heat / 1000
    return max(0, heat) * (1 + margin)
