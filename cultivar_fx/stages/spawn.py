"""Spawn: how much a batch needs, how far a bag goes, and how much to start from.

A spawn rate is wet spawn on wet substrate unless a name says otherwise.
"""

from __future__ import annotations

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.stages.rounding import whole_down, whole_up


@worksheet_function()
def spawn_needed(substrate_mass: float, rate: float) -> float:
    """Spawn that a mass of substrate needs.

    Parameters
    ----------
    substrate_mass : float
        Mass of hydrated substrate [kg; 0 or more].
    rate : float
        Spawn rate, wet spawn on wet substrate [fraction; 0 to 1].

    Returns
    -------
    float
        Mass of spawn as it comes [kg].

    References
    ----------
    Definition of the spawn rate on wet mass, as in Royse 2002, Appl. Microbiol. Biotechnol. 58:527,
    who found most yield at 3.75 to 5 %.

    Examples
    --------
    >>> spawn_needed("242.1053 kg", "4%")
    9.6842
    """
    return substrate_mass * rate


@worksheet_function()
def spawn_rate(spawn_mass: float, substrate_mass: float) -> float:
    """Spawn rate on wet mass.

    Parameters
    ----------
    spawn_mass : float
        Mass of spawn as it comes [kg; 0 or more].
    substrate_mass : float
        Mass of hydrated substrate, without the spawn [kg; above 0].

    Returns
    -------
    float
        Wet spawn on wet substrate [fraction].

    References
    ----------
    Definition of the spawn rate on wet mass, as in Royse 2002, Appl. Microbiol. Biotechnol. 58:527.

    Examples
    --------
    >>> spawn_rate("3.75 kg", "100 kg")
    0.0375
    """
    return spawn_mass / substrate_mass


@worksheet_function()
def spawn_rate_dry(
    spawn_mass: float, spawn_moisture: float, substrate_mass: float, substrate_moisture: float
) -> float:
    """Spawn rate on dry mass, to compare spawns and substrates of unlike moisture.

    Parameters
    ----------
    spawn_mass : float
        Mass of spawn as it comes [kg; 0 or more].
    spawn_moisture : float
        Moisture of the spawn, wet basis [fraction; 0 to 1].
    substrate_mass : float
        Mass of hydrated substrate, without the spawn [kg; above 0].
    substrate_moisture : float
        Moisture of the substrate, wet basis [fraction; 0 to below 1].

    Returns
    -------
    float
        Dry matter of the spawn on dry matter of the substrate [fraction].

    References
    ----------
    Mass balance on dry matter.

    Examples
    --------
    >>> spawn_rate_dry("9.6842 kg", "45%", "242.1053 kg", "62%")
    0.057895
    """
    return spawn_mass * (1 - spawn_moisture) / (substrate_mass * (1 - substrate_moisture))


@worksheet_function()
def spawn_bags(spawn_mass: float, spawn_bag_mass: float) -> float:
    """Bags of spawn to open for a mass of spawn.

    Parameters
    ----------
    spawn_mass : float
        Mass of spawn needed [kg; 0 or more].
    spawn_bag_mass : float
        Spawn in one bag [kg; 0.01 to 200].

    Returns
    -------
    float
        Number of bags, the last one perhaps in part [count].

    References
    ----------
    Mass needed over mass in a bag, rounded up.

    Examples
    --------
    >>> spawn_bags("9.6842 kg", "2 kg")
    5
    """
    return whole_up(spawn_mass / spawn_bag_mass)


@worksheet_function()
def blocks_per_spawn_bag(spawn_bag_mass: float, block_mass: float, rate: float) -> float:
    """Blocks that one bag of spawn is enough for.

    Parameters
    ----------
    spawn_bag_mass : float
        Spawn in one bag [kg; 0.01 to 200].
    block_mass : float
        Hydrated substrate in one block, without the spawn [kg; 0.01 to 200].
    rate : float
        Spawn rate, wet spawn on wet substrate [fraction; above 0 to 1].

    Returns
    -------
    float
        Number of whole blocks [count].

    References
    ----------
    Definition of the spawn rate, rounded down.

    Examples
    --------
    >>> blocks_per_spawn_bag("2.2 kg", "2.75 kg", "4%")
    20
    """
    return whole_down(spawn_bag_mass / (block_mass * rate))


@worksheet_function()
def spawn_to_start(
    spawn_mass: float, expansion: float, generations: float, loss_rate: float = 0.0
) -> float:
    """Spawn to start from, so that some generations of expansion end in the mass wanted.

    Parameters
    ----------
    spawn_mass : float
        Mass of spawn wanted in the end [kg; 0 or more].
    expansion : float
        How many times its own mass a bag of spawn makes in a generation [number; above 1 to 1000].
    generations : float
        How often the spawn is expanded [count; 0 to 20, whole].
    loss_rate : float
        Share of the bags thrown out in each generation [fraction; 0 to below 1].

    Returns
    -------
    float
        Mass of spawn at the start [kg].

    References
    ----------
    Geometric growth; the losses take their share of each generation.

    Examples
    --------
    >>> spawn_to_start("100 kg", 10, 2, "10%")
    1.234568
    """
    growth: float = (expansion * (1 - loss_rate)) ** generations
    return spawn_mass / growth
