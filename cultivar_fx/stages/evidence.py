"""Evidence from batches: how far their losses differ, and how much own records count.

Losses come in batches: one bad lot of spawn or one cold spot in the steamer takes many blocks at
once, so a hundred blocks of two batches say less than a hundred blocks each on its own.
"""

from __future__ import annotations

from math import fsum
from typing import TYPE_CHECKING

from cultivar_fx.catalog.definition import formula_part, worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.rounding import NOISE

if TYPE_CHECKING:
    from collections.abc import Sequence

_NO_MORE_LOST = "SUMPRODUCT(--({lost}>{totals}))=0"
_TWO_BATCHES = "CFX.BATCHES_STARTED({totals})>1"


@formula_part(native="SUMPRODUCT(--({totals}>0))")
def batches_started(totals: Sequence[float]) -> float:
    """Return how many batches have any blocks."""
    return sum(total > 0 for total in totals)


@worksheet_function(requires=f"{_NO_MORE_LOST},{_TWO_BATCHES}")
def dispersion(lost: Sequence[float], totals: Sequence[float]) -> float:
    """How much more the losses of batches vary than luck alone would make them vary.

    Parameters
    ----------
    lost : sequence of float
        Blocks lost in each batch [count; 0 or more].
    totals : sequence of float
        Blocks started in each batch, the lost ones included; a batch of 0 is
        skipped [count; 0 or more].

    Returns
    -------
    float
        1 if batches differ by luck alone, and never less; the dispersion for LOSS_LOW,
        LOSS_HIGH and the like [number].

    Raises
    ------
    NotPossible
        If more blocks of a batch were lost than started, or there are fewer than two batches.

    Notes
    -----
    Small batches count as much as large ones; DESIGN_EFFECT gives large ones more weight. For
    batches of one size both are the same. If no block was lost, or every block, it is 1.

    Use batches of one strain and recipe: a difference between strains would count as variation.
    For the whole farm, take the mean over the strains, each weighted by its batches less one.

    With few batches it is uncertain itself. An interval allows for that if it is given the
    dispersion times (t/z)²: t from Student's distribution, with as many degrees of freedom as
    batches less one, and z from the normal distribution.

    References
    ----------
    Pearson's chi-square of the batches around their common loss rate, over batches less one:
    McCullagh & Nelder, Generalized Linear Models, section 4.5 (from memory).

    Examples
    --------
    >>> dispersion([0, 4, 1, 1], [20, 20, 20, 40])
    3.0437
    """
    _need_batches(lost, totals)
    all_lost, total = fsum(lost), fsum(totals)
    good = total - all_lost
    if all_lost == 0 or good == 0:
        return 1.0
    rate = all_lost / total
    # A batch without blocks is 0 over 1.
    spread = fsum(
        (one - each * rate) ** 2 / (each + (each == 0)) for one, each in zip(lost, totals)
    )
    return max(1, spread / rate / (good / total) / (batches_started(totals) - 1))


@worksheet_function(requires=f"{_NO_MORE_LOST},{_TWO_BATCHES}")
def design_effect(lost: Sequence[float], totals: Sequence[float]) -> float:
    """Blocks in these batches that say as much about losses as one block on its own.

    Parameters
    ----------
    lost : sequence of float
        Blocks lost in each batch [count; 0 or more].
    totals : sequence of float
        Blocks started in each batch, the lost ones included; a batch of 0 is
        skipped [count; 0 or more].

    Returns
    -------
    float
        1 if batches differ by luck alone, and never less; the dispersion for LOSS_LOW,
        LOSS_HIGH and the like [number].

    Raises
    ------
    NotPossible
        If more blocks of a batch were lost than started, or there are fewer than two batches.

    Notes
    -----
    Large batches have more weight than in DISPERSION. The published estimator goes below 1 for
    batches more alike than luck would make them; here it stops at 1, because that is luck too
    and no reason to be surer. If no block was lost, or every block, it is 1.

    References
    ----------
    Variance of a ratio of totals over that of independent blocks: Rao & Scott 1992, Biometrics
    48:577.

    Examples
    --------
    >>> design_effect([0, 4, 1, 1], [20, 20, 20, 40])
    2.6667
    """
    _need_batches(lost, totals)
    all_lost, total = fsum(lost), fsum(totals)
    good = total - all_lost
    if all_lost == 0 or good == 0:
        return 1.0
    rate, batches = all_lost / total, batches_started(totals)
    spread = fsum((one - each * rate) ** 2 for one, each in zip(lost, totals))
    return max(1, spread / all_lost / (good / total) * batches / (batches - 1))


@worksheet_function()
def credibility(batches: float, weight: float) -> float:
    """How much your own records count beside the plan: 0 without batches, near 1 with many.

    Parameters
    ----------
    batches : float
        Batches behind the own figure [count; 0 or more].
    weight : float
        How many batches the plan is worth: with as many of your own, each counts
        half [count; above 0].

    Returns
    -------
    float
        Share of the own figure; the rest is the plan's [fraction].

    References
    ----------
    Credibility by Bühlmann and Straub; Hachemeister 1975.

    Examples
    --------
    >>> credibility(12, 8)
    0.6
    """
    return batches / (batches + weight)


@worksheet_function(
    native="CFX.CREDIBILITY({batches},{weight})*N({own})"
    "+(1-CFX.CREDIBILITY({batches},{weight}))*{plan}",
    blank_at_zero={"own": "batches"},
)
def blended(own: float, plan: float, batches: float, weight: float) -> float:
    """Figure to expect: your own and the planned one, weighted by how many batches you have.

    Parameters
    ----------
    own : float
        Figure from your own batches; may be blank while there are 0 batches [number].
    plan : float
        Planned figure, in the same unit [number].
    batches : float
        Batches behind the own figure [count; 0 or more].
    weight : float
        How many batches the plan is worth: with as many of your own, each counts
        half [count; above 0].

    Returns
    -------
    float
        The plan without batches, near the own figure with many [number].

    References
    ----------
    Credibility by Bühlmann and Straub; Hachemeister 1975.

    Examples
    --------
    >>> blended(0.92, 0.8, 12, 8)
    0.872
    """
    share = credibility(batches, weight)
    return share * own + (1 - share) * plan


@formula_part()
def share_of_risk(looks: float) -> float:
    """Return the risk taken at each look over that of all looks together, at 5 % together."""
    return (
        (looks == 1)
        + (looks == 2) * 0.588
        + (looks == 3) * 0.442
        + (looks == 4) * 0.364
        + (looks == 5) * 0.316
    )


@worksheet_function()
def look_confidence(confidence: float, looks: float) -> float:
    """Confidence to ask for at each look at a trial that is looked at several times.

    Parameters
    ----------
    confidence : float
        Chance of finding no difference at any look, where there is none [fraction; 0.5 to
        below 1].
    looks : float
        Looks planned before the trial begins, spread evenly over it [count; 1 to 5, whole].

    Returns
    -------
    float
        Confidence of each look; more than that of all of them together [fraction].

    Notes
    -----
    The published levels are those for 95 %. Below 95 % they are taken in the same proportion, and
    above it the risk is shared equally among the looks: a little on the safe side both times.

    References
    ----------
    Repeated significance tests: Pocock 1977, Biometrika 64:191 (from memory), each look at 0.0294,
    0.0221, 0.0182 or 0.0158 for 5 % together. Above 95 %: Bonferroni.

    Examples
    --------
    >>> look_confidence("95%", 3)
    0.9779
    """
    share = 1 / looks if confidence > 0.95 + NOISE else share_of_risk(looks)
    return 1 - (1 - confidence) * share


def _need_batches(lost: Sequence[float], totals: Sequence[float]) -> None:
    for place, (one, each) in enumerate(zip(lost, totals), 1):
        if one > each:
            raise NotPossible(
                f"lost, value {place}: got {one:g}, needs to be at most its total ({each:g})."
            )
    if batches_started(totals) < 2:
        raise NotPossible("totals: got fewer than two batches with blocks, needs two or more.")
