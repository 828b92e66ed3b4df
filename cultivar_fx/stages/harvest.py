"""Harvest: yield on dry and on wet substrate, drying, what a growing area gives, what is left.

Biological efficiency is fresh mass over dry substrate, and may be more than 100 %.
"""

from __future__ import annotations

from cultivar_fx.catalog.definition import worksheet_function
from cultivar_fx.errors import NotPossible

DRY_MATTER_LOSS = 0.3
"""Share of the dry substrate that the colony breathes away: an assumption."""


@worksheet_function()
def biological_efficiency(fresh_mass: float, dry_substrate_mass: float) -> float:
    """Biological efficiency: fresh mushrooms from a mass of dry substrate.

    Parameters
    ----------
    fresh_mass : float
        Fresh mushrooms picked, all flushes [kg; 0 or more].
    dry_substrate_mass : float
        Dry mass of the substrate that they grew on [kg; above 0].

    Returns
    -------
    float
        Fresh mass over dry substrate, may be more than 100 % [fraction].

    References
    ----------
    Definition: Pettipher 1988, J. Sci. Food Agric. 42:215.
    Example: Horticulturae 2025, 11(10):1220.

    Examples
    --------
    >>> biological_efficiency("250 g", "275 g")
    0.9091
    """
    return fresh_mass / dry_substrate_mass


@worksheet_function()
def expected_harvest(dry_substrate_mass: float, biological_efficiency: float) -> float:
    """Fresh mushrooms to expect from a mass of dry substrate.

    Parameters
    ----------
    dry_substrate_mass : float
        Dry mass of the substrate [kg; 0 or more].
    biological_efficiency : float
        Fresh mass over dry substrate, may be more than 100 % [fraction; 0 to 5].

    Returns
    -------
    float
        Fresh mass [kg].

    References
    ----------
    Definition: Pettipher 1988, J. Sci. Food Agric. 42:215.
    Example: PMC7407021, Table 2.

    Examples
    --------
    >>> expected_harvest("866.8 g", "105%")
    0.9101
    """
    return dry_substrate_mass * biological_efficiency


@worksheet_function()
def yield_rate(fresh_mass: float, wet_substrate_mass: float) -> float:
    """Fresh mushrooms from a mass of hydrated substrate.

    Parameters
    ----------
    fresh_mass : float
        Fresh mushrooms picked, all flushes [kg; 0 or more].
    wet_substrate_mass : float
        Mass of the hydrated substrate that they grew on [kg; above 0].

    Returns
    -------
    float
        Fresh mass over wet substrate [fraction].

    References
    ----------
    Definition. Example: proximate study of H. erinaceus on oak.

    Examples
    --------
    >>> yield_rate("115.8 g", "1 kg")
    0.1158
    """
    return fresh_mass / wet_substrate_mass


@worksheet_function()
def efficiency_from_yield(yield_rate: float, moisture: float) -> float:
    """Biological efficiency from the yield on hydrated substrate.

    Parameters
    ----------
    yield_rate : float
        Fresh mass over wet substrate [fraction; 0 to 2].
    moisture : float
        Moisture of the substrate, wet basis [fraction; 0 to below 1].

    Returns
    -------
    float
        Fresh mass over dry substrate, may be more than 100 % [fraction].

    References
    ----------
    Mass balance on dry matter. Example: proximate study of H. erinaceus on oak.

    Examples
    --------
    >>> efficiency_from_yield("11.58%", "68.95%")
    0.3729
    """
    return yield_rate / (1 - moisture)


@worksheet_function()
def drying_ratio(fresh_moisture: float, dried_moisture: float) -> float:
    """Fresh mushrooms for one part of dried ones.

    Parameters
    ----------
    fresh_moisture : float
        Moisture of the fresh mushrooms, wet basis [fraction; 0 to below 1].
    dried_moisture : float
        Moisture left in the dried ones, wet basis [fraction; 0 to below 1].

    Returns
    -------
    float
        Parts of fresh mass to one part of dried mass [number].

    Raises
    ------
    NotPossible
        If the dried mushrooms are wetter than the fresh ones.

    References
    ----------
    Mass balance on dry matter. Example: raw shiitake, USDA nutrient database. Fresh oysters hold
    92 % water (Mattila et al. 2002), dried mushrooms at most 12 % (Codex Standard 39-1981, from
    memory).

    Examples
    --------
    >>> drying_ratio("89.74%", "9.5%")
    8.821
    """
    _need_drier(fresh_moisture, dried_moisture)
    return (1 - dried_moisture) / (1 - fresh_moisture)


@worksheet_function()
def dried_mass(fresh_mass: float, fresh_moisture: float, dried_moisture: float) -> float:
    """Dried mushrooms that a fresh mass gives.

    Parameters
    ----------
    fresh_mass : float
        Mass of fresh mushrooms [kg; 0 or more].
    fresh_moisture : float
        Moisture of the fresh mushrooms, wet basis [fraction; 0 to below 1].
    dried_moisture : float
        Moisture left in the dried ones, wet basis [fraction; 0 to below 1].

    Returns
    -------
    float
        Mass of dried mushrooms [kg].

    Raises
    ------
    NotPossible
        If the dried mushrooms are wetter than the fresh ones.

    References
    ----------
    Mass balance on dry matter.

    Examples
    --------
    >>> dried_mass("9 kg", "90%", "10%")
    1
    """
    _need_drier(fresh_moisture, dried_moisture)
    return fresh_mass * (1 - fresh_moisture) / (1 - dried_moisture)


@worksheet_function()
def harvest_per_area(fresh_mass: float, area: float, days: float) -> float:
    """Fresh mushrooms that a growing area gives in a day.

    Parameters
    ----------
    fresh_mass : float
        Fresh mushrooms picked [kg; 0 or more].
    area : float
        Floor or shelf area that was occupied [m²; above 0].
    days : float
        How long it was occupied [d; above 0 to 3650].

    Returns
    -------
    float
        Fresh mass of an area in a day [kg/(m²·d)].

    References
    ----------
    Definition.

    Examples
    --------
    >>> harvest_per_area("50 kg", "10 m²", "20 d")
    0.25
    """
    return fresh_mass / area / days


@worksheet_function()
def spent_substrate(
    dry_substrate_mass: float,
    fresh_mass: float,
    fresh_moisture: float,
    dry_matter_loss: float = DRY_MATTER_LOSS,
) -> float:
    """Dry mass of the spent substrate that is left once the mushrooms are picked.

    Parameters
    ----------
    dry_substrate_mass : float
        Dry mass of the substrate before spawning [kg; 0 or more].
    fresh_mass : float
        Fresh mushrooms picked from it, all flushes [kg; 0 or more].
    fresh_moisture : float
        Moisture of the fresh mushrooms, wet basis [fraction; 0 to 1].
    dry_matter_loss : float
        Share of the dry substrate that the colony breathes away as carbon dioxide and water
        [fraction; 0 to below 1]. Assumption: measure yours.

    Returns
    -------
    float
        Dry mass left; MASS_AT_MOISTURE turns it into what the scale shows [kg].

    Raises
    ------
    NotPossible
        If more dry matter was picked than the substrate has left.

    References
    ----------
    Mass balance on dry matter: dry substrate, less what is breathed away, less the dry matter of
    the mushrooms. The share breathed away is an assumption.

    Examples
    --------
    >>> spent_substrate("100 kg", "75 kg", "92%", "30%")
    64
    """
    kept = dry_substrate_mass * (1 - dry_matter_loss)
    picked = fresh_mass * (1 - fresh_moisture)
    if picked > kept:
        raise NotPossible(
            f"fresh_mass: holds {picked:g} kg of dry matter, needs to hold at most the "
            f"{kept:g} kg that the substrate has left."
        )
    return kept - picked


def _need_drier(fresh_moisture: float, dried_moisture: float) -> None:
    if dried_moisture > fresh_moisture:
        raise NotPossible(
            f"dried_moisture: got {dried_moisture:g}, needs to be at most "
            f"fresh_moisture ({fresh_moisture:g})."
        )
