"""Core of a block: how fast its middle heats up and cools down, and how warm a colony keeps it.

A block is taken as a brick, and the heat in it as conducted. What is left of the distance to the
surface temperature is then the product of three slabs, one for each edge.
"""

from __future__ import annotations

from math import cos, erfc, exp, log, pi, sin, sqrt

from cultivar_fx.catalog.definition import formula_part, worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.incubation import respiration_heat

NOT_YET = 0.0018
"""Fourier number (diffusivity * time / thickness^2) up to which the middle feels nothing."""
LATE = 0.05
"""Fourier number from which the series for long times is used."""
LEAST_RISE = 1e-6
"""Share of the way to the steam below which no time can be told."""
LEAST_CLIMBS = 1.5
"""Climbs of the steamer that have to pass before a probe tells the diffusivity."""


@formula_part()
def fourier(diffusivity: float, hours: float, thickness: float) -> float:
    """Return the Fourier number of a slab: diffusivity [mm²/s], hours [h], thickness [cm]."""
    return 36 * diffusivity * hours / thickness**2


@formula_part(
    native=f"IF({{fourier}}<{LATE},IF({{fourier}}<{NOT_YET},1,"
    "1-4*(NORMSDIST(-1/SQRT(8*{fourier}))-NORMSDIST(-3/SQRT(8*{fourier}))"
    "+NORMSDIST(-5/SQRT(8*{fourier})))),"
    "4/PI()*(EXP(0-PI()^2*{fourier})-EXP(0-9*PI()^2*{fourier})/3"
    "+EXP(0-25*PI()^2*{fourier})/5-EXP(0-49*PI()^2*{fourier})/7))"
)
def slab(fourier: float) -> float:
    """Return how far the middle of a slab still is from the surface temperature, 1 to 0.

    The series for short and for long times; each is exact to the last digit where it is used.
    """
    if fourier < NOT_YET:
        return 1
    if fourier < LATE:
        x = 1 / (4 * sqrt(fourier))
        return 1 - 2 * (erfc(x) - erfc(3 * x) + erfc(5 * x))
    first, third, fifth, seventh = (exp(-((k * pi) ** 2) * fourier) for k in (1, 3, 5, 7))
    return 4 / pi * (first - third / 3 + fifth / 5 - seventh / 7)


@worksheet_function()
def core_temperature(
    hours: float,
    thickness: float,
    width: float,
    length: float,
    start_temperature: float,
    steam_temperature: float,
    diffusivity: float = 0.15,
) -> float:
    """Temperature in the middle of a block after some hours in condensing steam.

    Parameters
    ----------
    hours : float
        Time in the steam [h; 0 to 1000].
    thickness : float
        One edge of the block, which is taken as a brick [cm; 0.5 to 500].
    width : float
        Another edge [cm; 0.5 to 500].
    length : float
        The third edge [cm; 0.5 to 500].
    start_temperature : float
        Temperature of the block before, the same throughout [°C; 0 to 150].
    steam_temperature : float
        Temperature of the steam at all sides of the block [°C; 0 to 150].
    diffusivity : float
        Thermal diffusivity of the block [mm²/s; 0.01 to 10]. Assumption: measure yours, see
        DIFFUSIVITY_FROM_PROBE.

    Returns
    -------
    float
        Temperature in the middle [°C].

    Raises
    ------
    NotPossible
        If the steam is not hotter than the block.

    Notes
    -----
    An estimate: blocks that touch, and a vessel that heats up slowly, take longer.

    References
    ----------
    Conduction in a brick with constant surface temperature: product of three slab solutions,
    Incropera, Fundamentals of Heat and Mass Transfer (from memory).

    Examples
    --------
    >>> core_temperature(6, 12, 16, 22, 20, 98)
    95.416
    """
    _need_hotter_steam(start_temperature, steam_temperature)
    left = (
        slab(fourier(diffusivity, hours, thickness))
        * slab(fourier(diffusivity, hours, width))
        * slab(fourier(diffusivity, hours, length))
    )
    return steam_temperature - (steam_temperature - start_temperature) * left


@formula_part()
def way_left(target: float, start: float, surroundings: float) -> float:
    """Return the logarithm of how much nearer to the surroundings the middle has to come."""
    return log((surroundings - start) / (surroundings - target))


@formula_part()
def thinnest_edge(thickness: float, width: float, length: float) -> float:
    """Return the shortest edge of a brick."""
    return min(thickness, width, length)


@formula_part()
def nearness(way: float, edges: float) -> float:
    """Return how far the way is beyond what all edges need to begin with, 0 to 1."""
    return way / (way + 0.32812 * edges)


@formula_part()
def edge_share(edge: float, thinnest: float, nearness: float) -> float:
    """Return what an edge adds to the way, beside the thinnest one."""
    share: float = nearness ** (0.88011 * ((edge / thinnest) ** 2 - 1)) / (edge / thinnest) ** 2
    return share


@formula_part()
def way_of_thinnest(way: float, thickness: float, width: float, length: float) -> float:
    """Return the part of the way that the thinnest edge of a brick has to do.

    All of it in a sheet, a third in a cube. Fitted for this package to the product of three
    slabs: the time of a brick comes out within 1 %.
    """
    thinnest = thinnest_edge(thickness, width, length)
    near = nearness(way, edges_beside(thickness, width, length))
    return way / (
        edge_share(thickness, thinnest, near)
        + edge_share(width, thinnest, near)
        + edge_share(length, thinnest, near)
    )


@formula_part()
def edges_beside(thickness: float, width: float, length: float) -> float:
    """Return what all edges of a brick count beside the thinnest one: 1 in a sheet, 3 in a cube."""
    thinnest = thinnest_edge(thickness, width, length)
    return thinnest**2 * (1 / thickness**2 + 1 / width**2 + 1 / length**2)


@formula_part()
def decay_of_brick(thickness: float, width: float, length: float) -> float:
    """Return the decay of the slowest mode of a brick [cm], over the diffusivity [1/(h·mm²/s)]."""
    return 36 * pi**2 * (1 / thickness**2 + 1 / width**2 + 1 / length**2)


@formula_part()
def slab_fourier(way: float) -> float:
    """Return the Fourier number at which one slab has come a way.

    One curve through the series for short and for long times, fitted along with
    ``way_of_thinnest``.
    """
    fourier: float = 0.067348 / log(1 + (0.66314 / way) ** 1.1227) ** 0.89243 - 0.0010622
    return fourier


@formula_part()
def brick_time(way: float, thickness: float, width: float, length: float) -> float:
    """Return hours times diffusivity [h·mm²/s] until a brick [cm] has come a way."""
    part = way_of_thinnest(way, thickness, width, length)
    return slab_fourier(part) * thinnest_edge(thickness, width, length) ** 2 / 36


@formula_part()
def time_constants(hours: float, diffusivity: float, decay: float) -> float:
    """Return hours as time constants of the slowest mode."""
    return hours * diffusivity * decay


@formula_part()
def way_while_climbing(way: float, climb: float) -> float:
    """Return by how many time constants the middle lags behind steam that still climbs."""
    late = climb * (1 - exp(0 - way))
    return late + 1 - exp(0 - sqrt(2 * late) - late / 3) - way


@formula_part()
def climb_lag(way: float, climb: float) -> float:
    """Return by how many time constants a steady climb of the steam delays the middle.

    ``climb`` is the time of the climb in time constants. The middle is taken to follow the steam
    with one time constant, after a dead time: with x = climb / 2 it comes x + ln(sinh(x) / x)
    late, here x + sqrt(9 + x^2) - 3. That is right for short climbs, and 4 % of a time constant
    off for climbs of up to five of them. Before the climb has passed it is nearer to the steam.
    """
    rest = sqrt(36 + climb**2) - 6
    if 2 * way >= climb - rest:
        return (climb + rest) / 2
    return way_while_climbing(way, climb)


@worksheet_function()
def core_hours(
    target_temperature: float,
    thickness: float,
    width: float,
    length: float,
    start_temperature: float,
    steam_temperature: float,
    diffusivity: float = 0.15,
    ramp_hours: float = 0.0,
) -> float:
    """Hours in condensing steam until the middle of a block reaches a temperature.

    Parameters
    ----------
    target_temperature : float
        Temperature wanted in the middle [°C; 0 to 150].
    thickness : float
        One edge of the block, which is taken as a brick [cm; 0.5 to 500].
    width : float
        Another edge [cm; 0.5 to 500].
    length : float
        The third edge [cm; 0.5 to 500].
    start_temperature : float
        Temperature of the block before, the same throughout [°C; 0 to 150].
    steam_temperature : float
        Temperature of the steam at all sides of the block [°C; 0 to 150].
    diffusivity : float
        Thermal diffusivity of the block [mm²/s; 0.01 to 10]. Assumption: measure yours, see
        DIFFUSIVITY_FROM_PROBE.
    ramp_hours : float
        Hours in which the steamer climbs steadily from the start to steam temperature; they
        count in the answer [h; 0 to 100].

    Returns
    -------
    float
        Time since the steam was turned on [h].

    Raises
    ------
    NotPossible
        If the target is not between start and steam.

    Notes
    -----
    Within 1 % of the series in CORE_TEMPERATURE where there is no climb. With one it is an
    estimate: within 3 % for targets more than a third of the way up.

    References
    ----------
    Conduction in a brick, product of three slab solutions: Incropera, Fundamentals of Heat and
    Mass Transfer (from memory); solved for time by a fit of our own.

    Examples
    --------
    >>> core_hours(95, 12, 16, 22, 20, 98)
    5.8163
    """
    _need_between("target_temperature", target_temperature, start_temperature, steam_temperature)
    way = way_left(target_temperature, start_temperature, steam_temperature)
    decay = decay_of_brick(thickness, width, length)
    lag = climb_lag(way, time_constants(ramp_hours, diffusivity, decay)) / decay
    return (brick_time(way, thickness, width, length) + lag) / diffusivity


@formula_part()
def after_climb(way: float, hours_after: float, climb: float) -> float:
    """Return the decay [1/h] that makes a probe right, for a climb that delays it.

    ``way`` is in time constants, ``hours_after`` since the middle of the climb: solved for the
    decay that makes both meet, with the delay of ``climb_lag``.
    """
    rest = 6 - 2 * way
    return (sqrt((rest**2 - 36) * climb**2 + 144 * hours_after**2) - 2 * hours_after * rest) / (
        4 * hours_after**2 - climb**2
    )


@worksheet_function()
def diffusivity_from_probe(
    hours: float,
    core_temperature: float,
    thickness: float,
    width: float,
    length: float,
    start_temperature: float,
    steam_temperature: float,
    ramp_hours: float = 0.0,
) -> float:
    """Thermal diffusivity of your own blocks, from a probe in the middle of one of them.

    Parameters
    ----------
    hours : float
        Time since the steam was turned on [h; above 0].
    core_temperature : float
        What the probe in the middle showed then [°C; 0 to 150].
    thickness : float
        One edge of the block, which is taken as a brick [cm; 0.5 to 500].
    width : float
        Another edge [cm; 0.5 to 500].
    length : float
        The third edge [cm; 0.5 to 500].
    start_temperature : float
        Temperature of the block before, the same throughout [°C; 0 to 150].
    steam_temperature : float
        Temperature of the steam at all sides of the block [°C; 0 to 150].
    ramp_hours : float
        Hours in which the steamer climbed steadily from the start to steam temperature, counted
        from the same moment as hours [h; 0 to 100].

    Returns
    -------
    float
        Thermal diffusivity, to be used in CORE_TEMPERATURE and CORE_HOURS [mm²/s].

    Raises
    ------
    NotPossible
        If the core is not between start and steam, or was read before one and a half climbs had
        passed.

    Notes
    -----
    Read the probe when the core is more than half way up: early readings say little.

    References
    ----------
    Conduction in a brick, product of three slab solutions: Incropera, Fundamentals of Heat and
    Mass Transfer (from memory); solved for the diffusivity by a fit of our own.

    Examples
    --------
    >>> diffusivity_from_probe(6, 95, 12, 16, 22, 20, 98)
    0.14541
    """
    _need_between("core_temperature", core_temperature, start_temperature, steam_temperature)
    if hours < LEAST_CLIMBS * ramp_hours:
        raise NotPossible(
            f"hours: got {hours:g} h with a climb of {ramp_hours:g} h, needs a reading after at "
            f"least {LEAST_CLIMBS * ramp_hours:g} h."
        )
    decay = decay_of_brick(thickness, width, length)
    way = way_left(core_temperature, start_temperature, steam_temperature)
    constants = decay * brick_time(way, thickness, width, length)
    return after_climb(constants, hours - ramp_hours / 2, ramp_hours) / decay


@formula_part()
def cooling_root(biot: float) -> float:
    """Return the first root of x * tan(x) = Biot number, within 0.4 %.

    Yovanovich, One-term Heisler cooling charts.
    """
    root: float = pi / 2 / (1 + (pi / 2 / sqrt(biot)) ** 2.139) ** (1 / 2.139)
    return root


@formula_part()
def cooling_start(root: float) -> float:
    """Return the factor that one term of the series begins with, in the middle of a slab."""
    return 2 * sin(root) / (root + sin(root) * cos(root))


@worksheet_function()
def cooling_hours(
    target_temperature: float,
    thickness: float,
    width: float,
    length: float,
    start_temperature: float,
    air_temperature: float,
    film_coefficient: float = 8.0,
    conductivity: float = 0.3,
    diffusivity: float = 0.15,
) -> float:
    """Hours in air until the middle of a hot block is cool enough to spawn.

    Parameters
    ----------
    target_temperature : float
        Temperature at which you spawn [°C; -20 to 150].
    thickness : float
        One edge of the block, which is taken as a brick [cm; 0.5 to 500].
    width : float
        Another edge [cm; 0.5 to 500].
    length : float
        The third edge [cm; 0.5 to 500].
    start_temperature : float
        Temperature of the block when it comes out, the same throughout [°C; -20 to 150].
    air_temperature : float
        Temperature of the air at all sides of the block [°C; -20 to 150].
    film_coefficient : float
        Heat that the air takes from the surface: 5 to 10 in still air, 15 to 25 before a fan
        [W/(m²·K); 0.5 to 500]. Assumption: measure yours.
    conductivity : float
        Thermal conductivity of the block: diffusivity times bulk density times specific heat
        [W/(m·K); 0.02 to 5]. Assumption: measure yours.
    diffusivity : float
        Thermal diffusivity of the block [mm²/s; 0.01 to 10]. Assumption: measure yours, see
        DIFFUSIVITY_FROM_PROBE.

    Returns
    -------
    float
        Time in the air [h].

    Raises
    ------
    NotPossible
        If the target is not between the air and the start.

    Notes
    -----
    An estimate: blocks that touch, and closed racks, cool much more slowly; condensate that
    evaporates cools faster. A little long for targets near the start. Cool in clean air: a block
    draws in air as it cools.

    References
    ----------
    One-term solution for a brick cooled at its surfaces: Incropera, Fundamentals of Heat and
    Mass Transfer (from memory); its roots by Yovanovich, One-term Heisler cooling charts.

    Examples
    --------
    >>> cooling_hours(27, 12, 16, 22, 98, 18)
    8.522
    """
    if not air_temperature < target_temperature < start_temperature:
        raise NotPossible(
            f"target_temperature: got {target_temperature:g} °C, needs to lie between the air "
            f"({air_temperature:g} °C) and the start ({start_temperature:g} °C)."
        )
    thick, wide, long = (
        cooling_root(film_coefficient * thickness / (200 * conductivity)),
        cooling_root(film_coefficient * width / (200 * conductivity)),
        cooling_root(film_coefficient * length / (200 * conductivity)),
    )
    start = cooling_start(thick) * cooling_start(wide) * cooling_start(long)
    way = way_left(target_temperature, start_temperature, air_temperature)
    decay = 144 * ((thick / thickness) ** 2 + (wide / width) ** 2 + (long / length) ** 2)
    return (way + log(start)) / (decay * diffusivity)


@formula_part()
def sech(x: float) -> float:
    """Return the hyperbolic secant, for 0 or more."""
    return 2 * exp(0 - x) / (1 + exp(0 - 2 * x))


@formula_part()
def middle_edge(thickness: float, width: float, length: float) -> float:
    """Return the edge of a brick that is neither the shortest nor the longest."""
    edges = thickness + width + length
    return edges - min(thickness, width, length) - max(thickness, width, length)


@formula_part()
def longest_edge(thickness: float, width: float, length: float) -> float:
    """Return the longest edge of a brick."""
    return max(thickness, width, length)


@formula_part()
def end_faces(across: float, along: float, longest: float) -> float:
    """Return what a mode loses through the two end faces; its waves [1/cm] across and along."""
    squared = across**2 + along**2
    return 16 / (pi**4 * across * along * squared) * sech(pi * longest / 2 * sqrt(squared))


@formula_part()
def middle_of_brick(thinnest: float, middle: float, longest: float) -> float:
    """Return how far heat made inside raises the middle, per heat over conductivity [cm²].

    A sheet of the thinnest edge, less what the two other pairs of faces carry off: the leading
    terms of the series, within 0.01 %.
    """
    sides = sech(pi * middle / (2 * thinnest)) - sech(3 * pi * middle / (2 * thinnest)) / 27
    ends = (
        end_faces(1 / thinnest, 1 / middle, longest)
        - end_faces(3 / thinnest, 1 / middle, longest)
        - end_faces(1 / thinnest, 3 / middle, longest)
    )
    return thinnest**2 * (1 / 8 - 4 / pi**3 * sides) - ends / (thinnest * middle)


@worksheet_function()
def colony_core_rise(
    carbon_dioxide_per_mass: float,
    bulk_density: float,
    thickness: float,
    width: float,
    length: float,
    conductivity: float = 0.3,
) -> float:
    """How much warmer the middle of a colonizing block, or of a tight stack, is than its surface.

    Parameters
    ----------
    carbon_dioxide_per_mass : float
        Carbon dioxide that the substrate gives off, for its wet mass [g/(h·kg); 0 to 20].
        Assumption: measure yours.
    bulk_density : float
        Mass over volume of the block, or of the stack with its gaps [kg/L; 0.02 to 3].
    thickness : float
        One edge of the block or stack, which is taken as a brick [cm; 0.5 to 1000].
    width : float
        Another edge [cm; 0.5 to 1000].
    length : float
        The third edge [cm; 0.5 to 1000].
    conductivity : float
        Thermal conductivity of the block: diffusivity times bulk density times specific heat
        [W/(m·K); 0.02 to 5]. Assumption: measure yours.

    Returns
    -------
    float
        Temperature of the middle over that of the surface [K].

    Notes
    -----
    Once the heat has settled, with every face at the same temperature. The heat of colonizing
    blocks was published for some substrates (Koncsag & Kirwan 2010), and differs by substrate:
    put a probe into the middle of a block of yours.

    References
    ----------
    Conduction in a brick with heat made throughout: Incropera, Fundamentals of Heat and Mass
    Transfer, plane wall with generation (from memory), and its series for three pairs of faces.
    Heat of respiration as in RESPIRATION_HEAT.

    Examples
    --------
    >>> colony_core_rise(0.15, 0.6, 12, 16, 22)
    1.1229
    """
    thinnest = thinnest_edge(thickness, width, length)
    middle = middle_edge(thickness, width, length)
    longest = longest_edge(thickness, width, length)
    heat = respiration_heat(carbon_dioxide_per_mass) * bulk_density * 1000
    return heat / conductivity * middle_of_brick(thinnest, middle, longest) / 10000


def _need_hotter_steam(start_temperature: float, steam_temperature: float) -> None:
    if steam_temperature <= start_temperature:
        raise NotPossible(
            f"steam_temperature: got {steam_temperature:g} °C, needs to be above the start "
            f"({start_temperature:g} °C)."
        )


def _need_between(name: str, target: float, start: float, steam: float) -> None:
    if not start < target < steam or target - start < LEAST_RISE * (steam - start):
        raise NotPossible(
            f"{name}: got {target:g} °C, needs to lie between the start ({start:g} °C) and the "
            f"steam ({steam:g} °C)."
        )
