"""Storage: what picked mushrooms give off as heat, the cold room they need, and what they lose."""

from __future__ import annotations

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.errors import NotPossible

# Bohling & Hansen 1989, Acta Hort. 258:573: picked oyster mushrooms [J/(kg·h)] at two
# temperatures [°C].
_HEAT_WHEN_COOL, _COOL = 750, 3.5
_HEAT_WHEN_WARM, _WARM = 2500, 15
SECONDS_PER_HOUR = 3600


@worksheet_function()
def harvest_heat(mass: float, temperature: float) -> float:
    """Heat that picked oyster mushrooms give off by breathing.

    Parameters
    ----------
    mass : float
        Picked mushrooms in the room [kg; 0 or more].
    temperature : float
        Temperature of the mushrooms [°C; 0 to 25].

    Returns
    -------
    float
        Heat, to be used as respiration_heat of COLD_ROOM_POWER; oysters only, other species
        differ [W].

    Notes
    -----
    Published at 3.5 and at 15 °C. Between them, and beyond them up to the limits, the heat grows
    by the same factor with each degree (2.85 times in 10 °C).

    References
    ----------
    Bohling & Hansen 1989, Acta Hort. 258:573, Pleurotus ostreatus: 750 J/(kg·h) at 3.5 °C and 2500
    at 15 °C. Below, between and above, a constant factor for each degree is an assumption.

    Examples
    --------
    >>> harvest_heat("50 kg", "15 degC")
    34.7222
    """
    steps = (temperature - _COOL) / (_WARM - _COOL)
    heat: float = _HEAT_WHEN_COOL * (_HEAT_WHEN_WARM / _HEAT_WHEN_COOL) ** steps
    return mass * heat / SECONDS_PER_HOUR


@worksheet_function()
def cold_room_power(
    mass: float,
    start_temperature: float,
    end_temperature: float,
    hours: float,
    moisture: float,
    respiration_heat: float = 0.0,
    wall_heat_gain: float = 0.0,
    margin: float = 0.0,
) -> float:
    """Cooling power that a cold room needs for picked mushrooms, without freezing them.

    Parameters
    ----------
    mass : float
        Mushrooms put in at one time [kg; 0 or more].
    start_temperature : float
        Temperature that they come in with [°C; 0 to 45].
    end_temperature : float
        Temperature to cool them to [°C; 0 to 20].
    hours : float
        Time to cool them in [h; above 0 to 240].
    moisture : float
        Moisture of the fresh mushrooms, wet basis [fraction; 0 to 1].
    respiration_heat : float
        The answer of HARVEST_HEAT, for all mushrooms in the room [W; 0 or more].
    wall_heat_gain : float
        Heat that comes in through walls and door, and from fans and lights [W; 0 or more].
    margin : float
        Share to add for safety, door openings and defrosting [fraction; 0 to 2].

    Returns
    -------
    float
        Cooling power, the heat to take out, not the electricity for it [kW].

    Raises
    ------
    NotPossible
        If the mushrooms are colder than the room already.

    References
    ----------
    Heat balance. Specific heat of fresh food above freezing: Siebel 1892, Ice and Refrigeration
    2:256, 0.837 + 3.349 times the share of water, in kJ/(kg·K).

    Examples
    --------
    >>> cold_room_power("50 kg", 18, 2, "6 h", "92%", "30 W", "400 W", "20%")
    0.6901
    """
    if end_temperature > start_temperature:
        raise NotPossible(
            f"end_temperature: got {end_temperature:g} °C, needs to be at most start_temperature "
            f"({start_temperature:g} °C)."
        )
    specific_heat = 0.837 + 3.349 * moisture
    cooling = mass * specific_heat * (start_temperature - end_temperature)
    gains = (respiration_heat + wall_heat_gain) / 1000
    return (cooling / (hours * SECONDS_PER_HOUR) + gains) * (1 + margin)


@worksheet_function()
def storage_loss(mass: float, days: float, daily_loss: float) -> float:
    """Mass that stored mushrooms lose, mostly as water.

    Parameters
    ----------
    mass : float
        Mushrooms put into storage [kg; 0 or more].
    days : float
        How long they are stored [d; 0 to 365].
    daily_loss : float
        Share of the remaining mass that is lost each day [fraction; 0 to 0.5].

    Returns
    -------
    float
        Mass lost by then; the rest is left to sell [kg].

    References
    ----------
    Compound loss, day by day. Oysters lost 1.25 % a day at 2 °C and 100 % humidity, 9.3 % at 18 °C
    and 86 %: Azevedo et al. 2017, J. Food Eng. 212:108 (author from memory).

    Examples
    --------
    >>> storage_loss("50 kg", "5 d", "1.25%")
    3.0478
    """
    left: float = (1 - daily_loss) ** days
    return mass * (1 - left)
