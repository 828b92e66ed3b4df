"""Bags and mixer: how many bags a batch fills, and how many mixer loads it takes.

The bulk density is that of the hydrated substrate as received in the mixer or in the bag.
"""

from __future__ import annotations

from cultivar_fx.catalog.definition import formula_part, worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.rounding import NOISE, whole_down, whole_up


@worksheet_function()
def bag_count(batch_mass: float, bag_mass: float, lost_mass: float = 0.0) -> float:
    """Whole bags that a batch fills.

    Parameters
    ----------
    batch_mass : float
        Mass of the hydrated batch [kg; 0 or more].
    bag_mass : float
        Substrate in one bag [kg; 0.01 to 200].
    lost_mass : float
        Mixer residue, spills and samples [kg; 0 or more].

    Returns
    -------
    float
        Number of full bags [count].

    Raises
    ------
    NotPossible
        If more is lost than the batch holds.

    References
    ----------
    Mass balance of the batch, rounded down.

    Examples
    --------
    >>> bag_count("242.1053 kg", "2.75 kg")
    88
    """
    if lost_mass > batch_mass:
        raise NotPossible("lost_mass: is more than batch_mass, needs to be at most as much.")
    return whole_down((batch_mass - lost_mass) / bag_mass)


@formula_part()
def part_of_bag(mass: float, bag_mass: float) -> float:
    """Return a mass, or nothing where it is no more than a rounding error of a full bag."""
    return 0.0 if mass < bag_mass * NOISE else mass


@worksheet_function()
def left_over(batch_mass: float, bag_mass: float, lost_mass: float = 0.0) -> float:
    """Substrate that is left once the last full bag is filled.

    Parameters
    ----------
    batch_mass : float
        Mass of the hydrated batch [kg; 0 or more].
    bag_mass : float
        Substrate in one bag [kg; 0.01 to 200].
    lost_mass : float
        Mixer residue, spills and samples [kg; 0 or more].

    Returns
    -------
    float
        Mass too small for another full bag [kg].

    Raises
    ------
    NotPossible
        If more is lost than the batch holds.

    References
    ----------
    Mass balance of the batch.

    Examples
    --------
    >>> left_over("242.1053 kg", "2.75 kg")
    0.1053
    """
    bags = bag_count(batch_mass, bag_mass, lost_mass)
    return part_of_bag(batch_mass - lost_mass - bags * bag_mass, bag_mass)


@worksheet_function()
def batch_mass(bags: float, bag_mass: float, lost_mass: float = 0.0) -> float:
    """Batch to mix so that a number of bags can be filled.

    Parameters
    ----------
    bags : float
        Number of bags wanted [count; 0 or more, whole].
    bag_mass : float
        Substrate in one bag [kg; 0.01 to 200].
    lost_mass : float
        Mixer residue, spills and samples [kg; 0 or more].

    Returns
    -------
    float
        Mass of the hydrated batch [kg].

    References
    ----------
    Mass balance of the batch.

    Examples
    --------
    >>> batch_mass(88, "2.75 kg", "1 kg")
    243
    """
    return bags * bag_mass + lost_mass


@worksheet_function()
def bulk_density(mass: float, volume: float) -> float:
    """Bulk density of a material from a container filled with it.

    Parameters
    ----------
    mass : float
        Mass of the content, without its container [kg; 0 or more].
    volume : float
        Volume that it fills [L; above 0].

    Returns
    -------
    float
        Mass of a volume, with the air between the pieces [kg/L].

    References
    ----------
    Definition.
    Example: loose soybean hulls, Alabama Extension, By-product feeds quick reference guide,
    Table 2.

    Examples
    --------
    >>> bulk_density("28 lb", "1 ft³")
    0.44852
    """
    return mass / volume


@worksheet_function()
def fill_volume(bag_mass: float, bulk_density: float) -> float:
    """Volume of loose substrate that fills a bag to its mass.

    Parameters
    ----------
    bag_mass : float
        Substrate in one bag [kg; 0.01 to 200].
    bulk_density : float
        Bulk density of the hydrated substrate as it is filled [kg/L; 0.02 to 2].

    Returns
    -------
    float
        Volume of a tube or scoop that holds just one bag's substrate [L].

    References
    ----------
    Definition of bulk density.

    Examples
    --------
    >>> fill_volume("2.75 kg", "0.55 kg/L")
    5
    """
    return bag_mass / bulk_density


@worksheet_function()
def block_length(bag_mass: float, bulk_density: float, thickness: float, width: float) -> float:
    """Third edge of a block, from its mass, its bulk density and the other two edges.

    Parameters
    ----------
    bag_mass : float
        Substrate in one bag [kg; 0 or more].
    bulk_density : float
        Bulk density of the substrate as it stands in the bag [kg/L; 0.02 to 3].
    thickness : float
        One edge of the block, which is taken as a brick [cm; above 0].
    width : float
        Another edge [cm; above 0].

    Returns
    -------
    float
        The third edge [cm].

    References
    ----------
    Volume of a brick: mass over bulk density.

    Examples
    --------
    >>> block_length(2.75, 0.6, 13, 14)
    25.183
    """
    return bag_mass / bulk_density * 1000 / (thickness * width)


@worksheet_function()
def largest_batch(mixer_volume: float, bulk_density: float, working_fill: float) -> float:
    """Largest batch that a mixer takes in one load.

    Parameters
    ----------
    mixer_volume : float
        Volume of the drum or trough, filled to the brim [L; 1 to 100000].
    bulk_density : float
        Bulk density of the hydrated substrate in the mixer [kg/L; 0.02 to 2].
    working_fill : float
        Share of the volume that still mixes well [fraction; above 0 to 1].

    Returns
    -------
    float
        Mass of hydrated substrate in one load [kg].

    References
    ----------
    Definition of bulk density.

    Examples
    --------
    >>> largest_batch("500 L", "0.6 kg/L", "70%")
    210
    """
    return mixer_volume * bulk_density * working_fill


@worksheet_function()
def mixer_loads(
    batch_mass: float, mixer_volume: float, bulk_density: float, working_fill: float
) -> float:
    """Loads that a mixer needs for a batch.

    Parameters
    ----------
    batch_mass : float
        Mass of the hydrated batch [kg; 0 or more].
    mixer_volume : float
        Volume of the drum or trough, filled to the brim [L; 1 to 100000].
    bulk_density : float
        Bulk density of the hydrated substrate in the mixer [kg/L; 0.02 to 2].
    working_fill : float
        Share of the volume that still mixes well [fraction; above 0 to 1].

    Returns
    -------
    float
        Number of loads [count].

    References
    ----------
    Batch over largest batch, rounded up.

    Examples
    --------
    >>> mixer_loads("242.1053 kg", "500 L", "0.6 kg/L", "70%")
    2
    """
    return whole_up(batch_mass / largest_batch(mixer_volume, bulk_density, working_fill))
