"""Climate: humidity of a room, and the heat and water that its fresh air takes.

Humidity ratios, heat and volumes are per kilogram of dry air, as in the ASHRAE handbook. Air is
taken as a mix of ideal gases, which reads humidity ratios some 0.5 % low. Below 0 °C relative
humidity refers to saturation over ice.
"""

from __future__ import annotations

from cultivar_fx.catalog.definition import formula_part, worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.vapor import (
    AIR_GAS_CONSTANT,
    DRIEST,
    FREEZING,
    FREEZING_PRESSURE,
    MASS_RATIO,
    air_pressure,
    dew_point_over_water,
    frost_point,
    pressure_over_ice,
    pressure_over_water,
)


@worksheet_function()
def saturation_pressure(temperature: float) -> float:
    """Pressure of water vapor in saturated air, over ice below 0 °C.

    Parameters
    ----------
    temperature : float
        Temperature [°C; -50 to 150].

    Returns
    -------
    float
        Vapor pressure [kPa].

    References
    ----------
    IAPWS R7-97(2012), equation 30, over water; IAPWS R14-08(2011), equation 6, over ice.

    Examples
    --------
    >>> saturation_pressure(25)
    3.169747
    """
    if temperature >= 0:
        return pressure_over_water(temperature)
    return pressure_over_ice(temperature)


@worksheet_function()
def humidity_ratio(temperature: float, relative_humidity: float, altitude: float = 0.0) -> float:
    """Mass of water vapor carried by each mass of dry air.

    Parameters
    ----------
    temperature : float
        Air temperature [°C; -50 to 90].
    relative_humidity : float
        Relative humidity [fraction; 0 to 1].
    altitude : float
        Altitude, for the air pressure [m; -500 to 11000].

    Returns
    -------
    float
        Kilograms of vapor to a kilogram of dry air [number].

    Raises
    ------
    NotPossible
        If water boils at that temperature and altitude.

    References
    ----------
    ASHRAE Fundamentals 2017, ch. 1, equations 3 and 20.

    Examples
    --------
    >>> humidity_ratio(25, "100%")
    0.020085
    """
    _need_air_beside_vapor("temperature", temperature, relative_humidity, altitude)
    pressure = air_pressure(altitude)
    saturation = saturation_pressure(temperature)
    return MASS_RATIO * relative_humidity / (pressure / saturation - relative_humidity)


@worksheet_function()
def dew_point(temperature: float, relative_humidity: float) -> float:
    """Temperature at which air begins to drip, or to frost.

    Parameters
    ----------
    temperature : float
        Air temperature [°C; -50 to 90].
    relative_humidity : float
        Relative humidity [fraction; above 0 to 1].

    Returns
    -------
    float
        Dew point; below 0 °C the frost point [°C].

    Raises
    ------
    NotPossible
        If the air is so dry that it frosts below -80 °C only.

    Notes
    -----
    Inverts SATURATION_PRESSURE within 0.001 K, by a fit of the form a / (b - ln p)^n + c made for
    this package.

    References
    ----------
    IAPWS R7-97(2012) over water and R14-08(2011) over ice, fitted.

    Examples
    --------
    >>> dew_point(20, "90%")
    18.31
    """
    vapor_pressure = relative_humidity * saturation_pressure(temperature)
    if vapor_pressure < DRIEST:
        raise NotPossible(
            f"relative_humidity: got {relative_humidity:g} at {temperature:g} °C, needs air "
            "with a frost point of -80 °C or more."
        )
    if vapor_pressure >= FREEZING_PRESSURE:
        return min(temperature, max(0, dew_point_over_water(vapor_pressure)))
    return min(temperature, 0, frost_point(vapor_pressure))


@worksheet_function()
def vapor_pressure_deficit(temperature: float, relative_humidity: float) -> float:
    """Vapor pressure that air lacks to saturation, which is how hard it dries.

    Parameters
    ----------
    temperature : float
        Air temperature [°C; -50 to 90].
    relative_humidity : float
        Relative humidity [fraction; 0 to 1].

    Returns
    -------
    float
        Vapor pressure deficit of the air [kPa].

    References
    ----------
    Definition; saturation pressure as in SATURATION_PRESSURE.

    Examples
    --------
    >>> vapor_pressure_deficit(25, "50%")
    1.584873
    """
    return saturation_pressure(temperature) * (1 - relative_humidity)


@formula_part()
def humidity_ratio_of_wet_bulb(dry_bulb: float, wet_bulb: float, altitude: float) -> float:
    """Return the humidity ratio: ASHRAE Fundamentals 2017, ch. 1, equations 33 and 35."""
    saturated = MASS_RATIO / (air_pressure(altitude) / saturation_pressure(wet_bulb) - 1)
    latent = 2501 - 2.326 * wet_bulb if wet_bulb >= 0 else 2830 - 0.24 * wet_bulb
    at_wet_bulb = 2501 - 4.186 * wet_bulb if wet_bulb >= 0 else 2830 - 2.1 * wet_bulb
    return (latent * saturated - 1.006 * (dry_bulb - wet_bulb)) / (at_wet_bulb + 1.86 * dry_bulb)


@worksheet_function()
def relative_humidity(dry_bulb: float, wet_bulb: float, altitude: float = 0.0) -> float:
    """Relative humidity from a dry and a wet thermometer: the check of a drifting sensor.

    Parameters
    ----------
    dry_bulb : float
        Air temperature [°C; -50 to 90].
    wet_bulb : float
        Temperature of a thermometer with a wet wick in moving air; frozen below 0 °C
        [°C; -50 to 90].
    altitude : float
        Altitude, for the air pressure [m; -500 to 11000].

    Returns
    -------
    float
        Relative humidity [fraction].

    Raises
    ------
    NotPossible
        If the wet bulb is above the dry bulb, boils, or is colder than dry air makes it.

    References
    ----------
    ASHRAE Fundamentals 2017, ch. 1, equations 33 and 35.

    Examples
    --------
    >>> relative_humidity(40, 20)
    0.13983
    """
    if wet_bulb > dry_bulb:
        raise NotPossible(
            f"wet_bulb: got {wet_bulb:g} °C, needs to be at most the dry bulb ({dry_bulb:g} °C)."
        )
    pressure = air_pressure(altitude)
    if saturation_pressure(wet_bulb) >= pressure:
        raise NotPossible(
            f"wet_bulb: got {wet_bulb:g} °C, needs to be below the boiling point at an air "
            f"pressure of {pressure:.4g} kPa."
        )
    ratio = humidity_ratio_of_wet_bulb(dry_bulb, wet_bulb, altitude)
    if ratio <= 0:
        raise NotPossible(
            f"wet_bulb: got {wet_bulb:g} °C, needs to be warmer: even dry air of {dry_bulb:g} °C "
            "would not cool it so far."
        )
    return min(1, pressure / saturation_pressure(dry_bulb) / (MASS_RATIO / ratio + 1))


@formula_part()
def dry_air_flow(
    air_flow: float, temperature: float, relative_humidity: float, altitude: float
) -> float:
    """Return the dry air [kg/h] in a flow of moist air [m³/h], from its partial pressure."""
    dry_pressure = air_pressure(altitude) - relative_humidity * saturation_pressure(temperature)
    return air_flow * dry_pressure / (AIR_GAS_CONSTANT * (temperature + FREEZING))


@worksheet_function()
def humidifying_water(
    air_flow: float,
    outside_temperature: float,
    outside_humidity: float,
    room_temperature: float,
    room_humidity: float,
    altitude: float = 0.0,
) -> float:
    """Water that a humidifier must add to the fresh air; 0 where outside air holds enough.

    Parameters
    ----------
    air_flow : float
        Flow of outdoor air, measured as it comes in [m³/h; 0 or more].
    outside_temperature : float
        Temperature of the outdoor air [°C; -50 to 90].
    outside_humidity : float
        Relative humidity of the outdoor air [fraction; 0 to 1].
    room_temperature : float
        Temperature of the room [°C; -50 to 90].
    room_humidity : float
        Relative humidity wanted in the room [fraction; 0 to 1].
    altitude : float
        Altitude, for the air pressure [m; -500 to 11000].

    Returns
    -------
    float
        Water in an hour [kg/h].

    Raises
    ------
    NotPossible
        If water boils at one of the temperatures and the altitude.

    References
    ----------
    Mass balance of water; ASHRAE Fundamentals 2017, ch. 1.

    Examples
    --------
    >>> humidifying_water(100, 5, "60%", 18, "90%")
    1.0591
    """
    _need_air_beside_vapor("outside_temperature", outside_temperature, outside_humidity, altitude)
    _need_air_beside_vapor("room_temperature", room_temperature, room_humidity, altitude)
    room = humidity_ratio(room_temperature, room_humidity, altitude)
    outside = humidity_ratio(outside_temperature, outside_humidity, altitude)
    dry_air = dry_air_flow(air_flow, outside_temperature, outside_humidity, altitude)
    return dry_air * max(0, room - outside)


@formula_part()
def enthalpy(temperature: float, relative_humidity: float, altitude: float) -> float:
    """Return the heat in moist air [kJ/kg of dry air]: ASHRAE Fundamentals 2017, ch. 1, eq. 30."""
    ratio = humidity_ratio(temperature, relative_humidity, altitude)
    return 1.006 * temperature + ratio * (2501 + 1.86 * temperature)


@worksheet_function()
def air_heat(
    air_flow: float,
    outside_temperature: float,
    outside_humidity: float,
    room_temperature: float,
    room_humidity: float,
    altitude: float = 0.0,
) -> float:
    """Heat that brings the fresh air to room temperature and humidity; negative is cooling.

    Parameters
    ----------
    air_flow : float
        Flow of outdoor air, measured as it comes in [m³/h; 0 or more].
    outside_temperature : float
        Temperature of the outdoor air [°C; -50 to 90].
    outside_humidity : float
        Relative humidity of the outdoor air [fraction; 0 to 1].
    room_temperature : float
        Temperature of the room [°C; -50 to 90].
    room_humidity : float
        Relative humidity in the room [fraction; 0 to 1].
    altitude : float
        Altitude, for the air pressure [m; -500 to 11000].

    Returns
    -------
    float
        Heating power, with the heat that evaporates the humidifying water [kW].

    Raises
    ------
    NotPossible
        If water boils at one of the temperatures and the altitude.

    References
    ----------
    Heat balance of moist air; ASHRAE Fundamentals 2017, ch. 1, equation 30.

    Examples
    --------
    >>> air_heat(100, 5, "60%", 18, "90%")
    1.207
    """
    _need_air_beside_vapor("outside_temperature", outside_temperature, outside_humidity, altitude)
    _need_air_beside_vapor("room_temperature", room_temperature, room_humidity, altitude)
    room = enthalpy(room_temperature, room_humidity, altitude)
    outside = enthalpy(outside_temperature, outside_humidity, altitude)
    dry_air = dry_air_flow(air_flow, outside_temperature, outside_humidity, altitude)
    return dry_air * (room - outside) / 3600


def _need_air_beside_vapor(
    name: str, temperature: float, relative_humidity: float, altitude: float
) -> None:
    pressure = air_pressure(altitude)
    if relative_humidity * saturation_pressure(temperature) >= pressure:
        raise NotPossible(
            f"{name}: got {temperature:g} °C with a relative humidity of "
            f"{relative_humidity:g}, needs vapor below the air pressure of {pressure:.4g} kPa."
        )
