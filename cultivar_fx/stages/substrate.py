"""Substrate: moisture, water, nitrogen and carbon of what goes into the bag.

Moisture is on wet basis, water over total mass, unless a name says otherwise. A liter of water
is taken as a kilogram.
"""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.errors import NotPossible

if TYPE_CHECKING:
    from collections.abc import Sequence


@worksheet_function()
def dry_mass(mass: float, moisture: float) -> float:
    """Dry mass in a material of known moisture.

    Parameters
    ----------
    mass : float
        Mass as received [kg; 0 or more].
    moisture : float
        Moisture, wet basis [fraction; 0 to 1].

    Returns
    -------
    float
        Mass without its water [kg].

    References
    ----------
    Definition of wet-basis moisture, as in ISO 18134.

    Examples
    --------
    >>> dry_mass(200, "6%")
    188
    """
    return mass * (1 - moisture)


@worksheet_function()
def mass_at_moisture(dry_mass: float, moisture: float) -> float:
    """Total mass of a dry mass once it has a given moisture.

    Parameters
    ----------
    dry_mass : float
        Mass without water [kg; 0 or more].
    moisture : float
        Moisture, wet basis [fraction; 0 to below 1].

    Returns
    -------
    float
        Mass with its water [kg].

    References
    ----------
    Definition of wet-basis moisture, as in ISO 18134.

    Examples
    --------
    >>> mass_at_moisture(92, "62%")
    242.1053
    """
    return dry_mass / (1 - moisture)


@worksheet_function()
def moisture_from_sample(
    wet_mass: float, oven_dry_mass: float, container_mass: float = 0.0
) -> float:
    """Moisture of a sample weighed before and after drying in an oven.

    Parameters
    ----------
    wet_mass : float
        Mass before drying, with its container [kg; above 0].
    oven_dry_mass : float
        Mass after drying to constant weight, with its container [kg; 0 or more].
    container_mass : float
        Mass of the empty container [kg; 0 or more].

    Returns
    -------
    float
        Moisture, wet basis [fraction].

    Raises
    ------
    NotPossible
        If the sample gained mass in the oven, or weighs less than its container.

    References
    ----------
    Richard & Trautmann, Cornell Composting, moisture content; oven method as in ISO 18134.

    Examples
    --------
    >>> moisture_from_sample("10 g", "2.3 g")
    0.77
    """
    if oven_dry_mass > wet_mass:
        raise NotPossible("oven_dry_mass: is more than wet_mass, needs to be at most as much.")
    if container_mass > oven_dry_mass or container_mass == wet_mass:
        raise NotPossible("container_mass: is as much as the filled one, needs to be less.")
    return (wet_mass - oven_dry_mass) / (wet_mass - container_mass)


@worksheet_function()
def wet_basis(dry_basis_moisture: float) -> float:
    """Moisture on wet basis from moisture on dry basis.

    Parameters
    ----------
    dry_basis_moisture : float
        Water over dry mass, may be more than 100 % [fraction; 0 to 20].

    Returns
    -------
    float
        Water over total mass [fraction].

    References
    ----------
    Definitions: ISO 18134 states wet basis, ASTM D4442 dry basis (from memory).

    Examples
    --------
    >>> wet_basis("150%")
    0.6
    """
    return dry_basis_moisture / (1 + dry_basis_moisture)


@worksheet_function()
def dry_basis(wet_basis_moisture: float) -> float:
    """Moisture on dry basis from moisture on wet basis.

    Parameters
    ----------
    wet_basis_moisture : float
        Water over total mass [fraction; 0 to below 1].

    Returns
    -------
    float
        Water over dry mass [fraction].

    References
    ----------
    Definitions: ISO 18134 states wet basis, ASTM D4442 dry basis (from memory).

    Examples
    --------
    >>> dry_basis("60%")
    1.5
    """
    return wet_basis_moisture / (1 - wet_basis_moisture)


@worksheet_function()
def moisture_of_mix(masses: Sequence[float], moistures: Sequence[float]) -> float:
    """Moisture of several materials mixed together.

    Parameters
    ----------
    masses : sequence of float
        Mass of each material as received [kg; 0 or more].
    moistures : sequence of float
        Moisture of each, wet basis [fraction; 0 to 1].

    Returns
    -------
    float
        Moisture of the mix, wet basis [fraction].

    Raises
    ------
    NotPossible
        If the masses are all zero.

    References
    ----------
    Mass balance of water; Cornell Composting, moisture of a mix.

    Examples
    --------
    >>> moisture_of_mix([10, 6.8], ["77%", "35%"])
    0.6
    """
    _need_mass(masses)
    return fsum(map(_product, masses, moistures)) / fsum(masses)


@worksheet_function()
def water_to_add(mass: float, moisture: float, target: float) -> float:
    """Water that brings a material to its target moisture.

    Parameters
    ----------
    mass : float
        Mass as received [kg; 0 or more].
    moisture : float
        Moisture now, wet basis [fraction; 0 to below 1].
    target : float
        Moisture wanted, wet basis [fraction; 0 to below 1].

    Returns
    -------
    float
        Volume of water [L].

    Raises
    ------
    NotPossible
        If the material is wetter than the target already.

    References
    ----------
    Mass balance on dry matter.

    Examples
    --------
    >>> water_to_add("200 lb", "6%", "62%")
    133.6904
    """
    if target < moisture:
        raise NotPossible(
            f"target: got {target:g}, but the material is wetter already ({moisture:g}); "
            "DRY_MATERIAL_TO_ADD says how much dry material brings it there."
        )
    return mass * (target - moisture) / (1 - target)


@worksheet_function()
def dry_material_to_add(
    mass: float, moisture: float, target: float, added_moisture: float
) -> float:
    """Drier material to add to one that is too wet, for its target moisture.

    Parameters
    ----------
    mass : float
        Mass of the material that is too wet [kg; 0 or more].
    moisture : float
        Its moisture, wet basis [fraction; 0 to 1].
    target : float
        Moisture wanted, wet basis [fraction; 0 to below 1].
    added_moisture : float
        Moisture of what is added, wet basis [fraction; 0 to below 1].

    Returns
    -------
    float
        Mass of drier material, as received [kg].

    Raises
    ------
    NotPossible
        If the material is drier than the target, or what is added is not drier than it.

    References
    ----------
    Richard & Trautmann, Cornell Composting, moisture content.

    Examples
    --------
    >>> dry_material_to_add(10, "77%", "60%", "35%")
    6.8
    """
    if moisture < target:
        raise NotPossible(
            f"target: got {target:g}, but the material is drier already ({moisture:g}); "
            "WATER_TO_ADD says how much water brings it there."
        )
    if added_moisture >= target:
        raise NotPossible(
            f"added_moisture: got {added_moisture:g}, needs to be below the target ({target:g})."
        )
    return mass * (moisture - target) / (target - added_moisture)


@worksheet_function()
def nitrogen_of_mix(
    masses: Sequence[float], moistures: Sequence[float], nitrogens: Sequence[float]
) -> float:
    """Nitrogen in the dry mass of several materials mixed together.

    Parameters
    ----------
    masses : sequence of float
        Mass of each material as received [kg; 0 or more].
    moistures : sequence of float
        Moisture of each, wet basis [fraction; 0 to 1].
    nitrogens : sequence of float
        Nitrogen in the dry mass of each [fraction; 0 to 0.5].

    Returns
    -------
    float
        Nitrogen in the dry mass of the mix [fraction].

    Raises
    ------
    NotPossible
        If there is no dry mass.

    References
    ----------
    Mass balance on dry matter; Cornell Composting, C/N ratio of a mix.

    Examples
    --------
    >>> nitrogen_of_mix([80, 20], ["7%", "12%"], ["0.15%", "2.6%"])
    0.006187
    """
    dry = [mass * (1 - moisture) for mass, moisture in zip(masses, moistures)]
    _need_mass(dry)
    return fsum(map(_product, dry, nitrogens)) / fsum(dry)


@worksheet_function()
def carbon_nitrogen_ratio(
    masses: Sequence[float],
    moistures: Sequence[float],
    carbons: Sequence[float],
    nitrogens: Sequence[float],
) -> float:
    """Carbon to nitrogen ratio of several materials mixed together.

    Parameters
    ----------
    masses : sequence of float
        Mass of each material as received [kg; 0 or more].
    moistures : sequence of float
        Moisture of each, wet basis [fraction; 0 to 1].
    carbons : sequence of float
        Carbon in the dry mass of each [fraction; 0 to 1].
    nitrogens : sequence of float
        Nitrogen in the dry mass of each [fraction; 0 to 0.5].

    Returns
    -------
    float
        Parts of carbon to one part of nitrogen [number].

    Raises
    ------
    NotPossible
        If there is no nitrogen at all.

    References
    ----------
    Cornell Composting, C/N ratio; On-Farm Composting Handbook NRAES-54 (from memory).

    Examples
    --------
    >>> carbon_nitrogen_ratio([50, 10, 2], [0, 0, 0], ["40%", "10%", "25%"], ["1%", "1%", "1%"])
    34.68
    """
    dry = [mass * (1 - moisture) for mass, moisture in zip(masses, moistures)]
    nitrogen = fsum(map(_product, dry, nitrogens))
    if nitrogen <= 0:
        raise NotPossible("nitrogens: there is no nitrogen in the mix, needs some.")
    return fsum(map(_product, dry, carbons)) / nitrogen


@worksheet_function()
def supplement_share(
    base_nitrogen: float, supplement_nitrogen: float, target_nitrogen: float
) -> float:
    """Share of supplement to mix into a base material for a nitrogen content.

    Parameters
    ----------
    base_nitrogen : float
        Nitrogen in the dry mass of the base [fraction; 0 to 0.5].
    supplement_nitrogen : float
        Nitrogen in the dry mass of the supplement [fraction; 0 to 0.5].
    target_nitrogen : float
        Nitrogen wanted in the dry mass of the mix [fraction; 0 to 0.5].

    Returns
    -------
    float
        Share of the supplement in the dry mass of the mix [fraction].

    Raises
    ------
    NotPossible
        If the target does not lie between base and supplement.

    References
    ----------
    Mass balance of nitrogen (alligation).

    Examples
    --------
    >>> supplement_share("0.15%", "2.6%", "0.64%")
    0.2
    """
    if supplement_nitrogen <= base_nitrogen:
        raise NotPossible("supplement_nitrogen: needs to be more than base_nitrogen.")
    if not base_nitrogen <= target_nitrogen <= supplement_nitrogen:
        raise NotPossible(
            f"target_nitrogen: got {target_nitrogen:g}, needs to lie between the base "
            f"({base_nitrogen:g}) and the supplement ({supplement_nitrogen:g})."
        )
    return (target_nitrogen - base_nitrogen) / (supplement_nitrogen - base_nitrogen)


@worksheet_function()
def meter_setting(volume: float, meter_reading: float, measured_volume: float) -> float:
    """What to dial on a water meter that reads off, to get the volume wanted.

    Parameters
    ----------
    volume : float
        Volume wanted [L; 0 or more].
    meter_reading : float
        Meter reading in a test with a bucket [L; above 0].
    measured_volume : float
        Measured volume in the bucket after that test [L; above 0].

    Returns
    -------
    float
        Volume to dial [L].

    References
    ----------
    Proportion of a one-point calibration.

    Examples
    --------
    >>> meter_setting(100, 20, 19)
    105.2632
    """
    return volume * meter_reading / measured_volume


def _product(one: float, other: float) -> float:
    return one * other


def _need_mass(masses: Sequence[float]) -> None:
    if fsum(masses) <= 0:
        raise NotPossible("masses: are zero together, need some mass.")
