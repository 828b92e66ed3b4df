"""Fresh air: carbon dioxide of a room, the air that carries it off, and both measured.

Levels are by volume. The same carbon dioxide takes up more room in thin air, so altitude counts.
"""

from __future__ import annotations

from math import exp, log

from cultivar_fx.calls.units import CARBON_DIOXIDE_DENSITY
from cultivar_fx.catalog.definition import formula_part, worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.decay import mean_decay
from cultivar_fx.stages.vapor import SEA_LEVEL, air_pressure

_ALL_PPM = 1000000.001
"""All of the air, and a trace for rounding errors [ppm]."""


@formula_part()
def parts_per_million(carbon_dioxide_rate: float, altitude: float) -> float:
    """Return carbon dioxide [g/h] as what it adds to a flow of 1 m³/h of air [ppm]."""
    thin_air = SEA_LEVEL / air_pressure(altitude)
    return carbon_dioxide_rate / CARBON_DIOXIDE_DENSITY * thin_air * 1000


@worksheet_function()
def fresh_air(
    carbon_dioxide_rate: float, room_ppm: float, outdoor_ppm: float, altitude: float = 0.0
) -> float:
    """Air flow that holds a room at a carbon dioxide level.

    Parameters
    ----------
    carbon_dioxide_rate : float
        What the crop, and people, give off [g/h; 0 or more].
    room_ppm : float
        Level to hold [ppm; 100 to 1000000].
    outdoor_ppm : float
        Level of the air that comes in [ppm; 100 to 100000].
    altitude : float
        Altitude, for the air pressure; by volume the same gas is more in thin air
        [m; -500 to 11000].

    Returns
    -------
    float
        Flow of outdoor air [m³/h].

    Raises
    ------
    NotPossible
        If the level to hold is not above the outdoor level.

    Notes
    -----
    A text such as "8.267 L/h" is taken as carbon dioxide at 20 °C and 101.325 kPa. Levels are by
    volume.

    References
    ----------
    Steady dilution in a well mixed room, as in ASHRAE Technical FAQ 35.

    Examples
    --------
    >>> fresh_air("8.267 L/h", 1000, 420)
    14.2534
    """
    if room_ppm <= outdoor_ppm:
        raise NotPossible(
            f"room_ppm: got {room_ppm:g}, needs to be above outdoor_ppm ({outdoor_ppm:g})."
        )
    return parts_per_million(carbon_dioxide_rate, altitude) / (room_ppm - outdoor_ppm)


@worksheet_function()
def room_carbon_dioxide(
    carbon_dioxide_rate: float, air_flow: float, outdoor_ppm: float, altitude: float = 0.0
) -> float:
    """Carbon dioxide level that a room settles at.

    Parameters
    ----------
    carbon_dioxide_rate : float
        What the crop, and people, give off [g/h; 0 or more].
    air_flow : float
        Flow of outdoor air [m³/h; above 0].
    outdoor_ppm : float
        Level of the air that comes in [ppm; 100 to 100000].
    altitude : float
        Altitude, for the air pressure; by volume the same gas is more in thin air
        [m; -500 to 11000].

    Returns
    -------
    float
        Level in the room after a long time [ppm].

    Raises
    ------
    NotPossible
        If there would be more carbon dioxide than air.

    References
    ----------
    Steady dilution in a well mixed room, as in ASHRAE Technical FAQ 35.

    Examples
    --------
    >>> room_carbon_dioxide("0.315 L/min", "7.5 L/s", 300)
    1000
    """
    settled = outdoor_ppm + parts_per_million(carbon_dioxide_rate, altitude) / air_flow
    return _possible_level(settled)


@worksheet_function()
def carbon_dioxide_after(
    hours: float,
    start_ppm: float,
    air_flow: float,
    room_volume: float,
    outdoor_ppm: float,
    carbon_dioxide_rate: float = 0.0,
    altitude: float = 0.0,
) -> float:
    """Carbon dioxide level in a room after some time, with or without a source in it.

    Parameters
    ----------
    hours : float
        Time from the start [h; 0 or more].
    start_ppm : float
        Level at the start [ppm; 100 to 1000000].
    air_flow : float
        Flow of outdoor air; 0 in a closed room [m³/h; 0 or more].
    room_volume : float
        Volume of air in the room [m³; above 0].
    outdoor_ppm : float
        Level of the air that comes in [ppm; 100 to 100000].
    carbon_dioxide_rate : float
        What the crop, and people, give off [g/h; 0 or more].
    altitude : float
        Altitude, for the air pressure; by volume the same gas is more in thin air
        [m; -500 to 11000].

    Returns
    -------
    float
        Level in the room after that time [ppm].

    Raises
    ------
    NotPossible
        If there would be more carbon dioxide than air.

    References
    ----------
    Exponential dilution in a well mixed room.

    Examples
    --------
    >>> carbon_dioxide_after(1, 3000, 30, 60, 420)
    1984.85
    """
    changes = air_flow * hours / room_volume
    left = (start_ppm - outdoor_ppm) * exp(0 - changes)
    added = parts_per_million(carbon_dioxide_rate, altitude) * hours / room_volume
    return _possible_level(outdoor_ppm + left + added * mean_decay(changes))


@worksheet_function()
def air_changes(air_flow: float, room_volume: float) -> float:
    """Times in an hour that the air of a room is replaced.

    Parameters
    ----------
    air_flow : float
        Flow of outdoor air [m³/h; 0 or more].
    room_volume : float
        Volume of air in the room [m³; above 0].

    Returns
    -------
    float
        Air changes in an hour [number].

    References
    ----------
    Definition.

    Examples
    --------
    >>> air_changes("200 cfm", "4000 ft3")
    3
    """
    return air_flow / room_volume


@worksheet_function()
def air_changes_from_decay(
    hours: float, start_ppm: float, end_ppm: float, outdoor_ppm: float
) -> float:
    """Times in an hour that the air of an empty room is replaced, from a falling level.

    Parameters
    ----------
    hours : float
        Time between the two readings [h; above 0].
    start_ppm : float
        Level at the first reading [ppm; 100 to 1000000].
    end_ppm : float
        Level at the second reading [ppm; 100 to 1000000].
    outdoor_ppm : float
        Level of the air that comes in [ppm; 100 to 100000].

    Returns
    -------
    float
        Air changes in an hour [number].

    Raises
    ------
    NotPossible
        If the level does not fall, or not towards the outdoor level.

    Notes
    -----
    With nothing in the room that gives off carbon dioxide: no crop, nobody inside. Fans on, so
    that the air mixes.

    References
    ----------
    ASTM E741, concentration decay of a tracer gas (principle).

    Examples
    --------
    >>> air_changes_from_decay(0.5, 1800, 900, 420)
    2.112
    """
    if end_ppm <= outdoor_ppm:
        raise NotPossible(
            f"end_ppm: got {end_ppm:g}, needs to be above outdoor_ppm ({outdoor_ppm:g})."
        )
    if end_ppm > start_ppm:
        raise NotPossible(
            f"end_ppm: got {end_ppm:g}, needs to be no more than start_ppm ({start_ppm:g})."
        )
    return log((start_ppm - outdoor_ppm) / (end_ppm - outdoor_ppm)) / hours


@worksheet_function()
def carbon_dioxide_from_rise(
    hours: float, start_ppm: float, end_ppm: float, room_volume: float, altitude: float = 0.0
) -> float:
    """Carbon dioxide that a crop gives off, from the rise in a room with its vents closed.

    Parameters
    ----------
    hours : float
        Time between the two readings; keep it short [h; above 0].
    start_ppm : float
        Level at the first reading [ppm; 100 to 1000000].
    end_ppm : float
        Level at the second reading [ppm; 100 to 1000000].
    room_volume : float
        Volume of air in the room [m³; above 0].
    altitude : float
        Altitude, for the air pressure [m; -500 to 11000].

    Returns
    -------
    float
        Carbon dioxide given off [g/h].

    Raises
    ------
    NotPossible
        If the level falls.

    Notes
    -----
    A room that leaks gives off more than this says. Stay outside while it rises: people breathe
    out some 30 g in an hour, and 5000 ppm is the limit for them over 8 hours (OSHA PEL).

    References
    ----------
    Mass balance of a closed room, at 20 °C.

    Examples
    --------
    >>> carbon_dioxide_from_rise("10 min", 800, 920, 60)
    79.04
    """
    if end_ppm < start_ppm:
        raise NotPossible(
            f"end_ppm: got {end_ppm:g}, needs to be no less than start_ppm ({start_ppm:g})."
        )
    return (end_ppm - start_ppm) * room_volume / hours / parts_per_million(1, altitude)


def _possible_level(ppm: float) -> float:
    if ppm > _ALL_PPM:
        raise NotPossible(
            f"carbon_dioxide_rate: would bring the room to {ppm:.4g} ppm, needs to stay within "
            "1000000 ppm."
        )
    return ppm
