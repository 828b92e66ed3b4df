"""The normal distribution, as several stages need it."""

from __future__ import annotations

from cultivar_fx.catalog.definition import formula_part


@formula_part(native="NORMSINV({share})")
def normal_quantile(share: float) -> float:
    """Return what a standard normal number stays below with a probability."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(share)
