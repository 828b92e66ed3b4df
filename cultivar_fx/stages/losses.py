"""Losses and trials: how sure a loss rate is, and how many blocks to start for it.

A confidence of 0.95 means that the interval misses the true rate in one case out of twenty.
"""

from __future__ import annotations

from math import exp, fsum, lgamma, log, log1p, sqrt
from typing import TYPE_CHECKING

from cultivar_fx.catalog.definition import formula_part, worksheet_function
from cultivar_fx.errors import NotPossible
from cultivar_fx.stages.rounding import NOISE, whole_up

if TYPE_CHECKING:
    from collections.abc import Sequence

_ACCURACY = 1e-15

# Blocks lost, from two terms of the Cornish-Fisher expansion of the negative binomial
# distribution: within the limits at most 3 from the right number, so the search begins 2 below.
_FEWEST_LOST = (
    "MAX(0,INT(({good_blocks}*{loss_rate}"
    "+CFX.NORMAL_QUANTILE({confidence})*SQRT({good_blocks}*{loss_rate})"
    "+(1+{loss_rate})*(CFX.NORMAL_QUANTILE({confidence})^2-1)/6)/(1-{loss_rate}))-2)"
)
_TOO_FEW = (
    f"+(BINOMDIST({{good_blocks}}-1,{{good_blocks}}+{_FEWEST_LOST}+%d,1-{{loss_rate}},TRUE)"
    f">1-{{confidence}}+{NOISE:G})"
)

# Blocks to look at in a lot, by a closed form: the geometric mean of the chances to miss a faulty
# block is taken as that of a lot without half of the others. It is never too low and at most 3
# too high (tried for every lot of up to 200 blocks and many larger ones), so the search begins 3
# below. The chance itself is a quotient of factorials: HYPGEOMDIST of LibreOffice fills the
# memory where a number is huge.
_FAULTY = "CFX.FAULTY_BLOCKS({share},{lot_size})"
_STEPS_BACK = 3
_FIRST_LOOK = (
    f"MAX(1,CFX.WHOLE_UP((1-(1-{{confidence}})^(1/{_FAULTY}))*({{lot_size}}-({_FAULTY}-1)/2))"
    f"-{_STEPS_BACK})"
)
_TIE = 1e-8
"""Relative difference of chances that are the same: what large factorials leave of a digit."""
_STILL_UNSEEN = (
    f"+IF({_FIRST_LOOK}+%d>{{lot_size}}-{_FAULTY},0,"
    f"(GAMMALN({{lot_size}}-{_FAULTY}+1)+GAMMALN({{lot_size}}-{_FIRST_LOOK}-%d+1)"
    f"-GAMMALN({{lot_size}}-{_FAULTY}-{_FIRST_LOOK}-%d+1)-GAMMALN({{lot_size}}+1)"
    f">LN((1-{{confidence}})*(1+{_TIE:G})))*1)"
)


@formula_part(native="NORMSINV({share})")
def normal_quantile(share: float) -> float:
    """Return what a standard normal number stays below with a probability."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(share)


@formula_part()
def two_sided(confidence: float) -> float:
    """Return the standard deviations, to either side, holding a share of a normal distribution."""
    return -normal_quantile((1 - confidence) / 2)


@formula_part()
def reach(confidence: float, dispersion: float) -> float:
    """Return the standard deviations to either side when losses come in batches.

    In Wilson's interval this is the same as both counts divided by the dispersion.
    """
    return two_sided(confidence) * sqrt(dispersion)


@formula_part()
def wilson_sum(lost: float, total: float, confidence: float, dispersion: float) -> float:
    """Return the numerator of Wilson's upper bound; both bounds follow from it."""
    z = reach(confidence, dispersion)
    return lost + z**2 / 2 + z * sqrt(lost * (total - lost) / total + z**2 / 4)


@worksheet_function()
def loss_low(lost: float, total: float, confidence: float = 0.95, dispersion: float = 1.0) -> float:
    """Lowest loss rate that still fits what was counted: lower end of the Wilson interval.

    Parameters
    ----------
    lost : float
        Blocks lost [count; 0 or more, whole].
    total : float
        Blocks started, the lost ones included [count; 1 or more, whole].
    confidence : float
        Share of such intervals that hold the true rate [fraction; 0.5 to below 1].
    dispersion : float
        How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if
        every block is lost or good on its own [number; 1 or more].

    Returns
    -------
    float
        Loss rate [fraction].

    Raises
    ------
    NotPossible
        If more blocks were lost than started.

    Notes
    -----
    Written as the product of both bounds over the upper one, which loses no digits when few
    blocks are lost.

    References
    ----------
    Wilson score interval: Newcombe 1998, Stat. Med. 17:857, method 3.
    Counts divided by the dispersion: Rao & Scott 1992, Biometrics 48:577.

    Examples
    --------
    >>> loss_low(81, 263)
    0.2553
    """
    _need_no_more_lost("lost", lost, "total", total)
    return lost**2 / total / wilson_sum(lost, total, confidence, dispersion)


@worksheet_function()
def loss_high(
    lost: float, total: float, confidence: float = 0.95, dispersion: float = 1.0
) -> float:
    """Highest loss rate that still fits what was counted: upper end of the Wilson interval.

    Parameters
    ----------
    lost : float
        Blocks lost [count; 0 or more, whole].
    total : float
        Blocks started, the lost ones included [count; 1 or more, whole].
    confidence : float
        Share of such intervals that hold the true rate [fraction; 0.5 to below 1].
    dispersion : float
        How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if
        every block is lost or good on its own [number; 1 or more].

    Returns
    -------
    float
        Loss rate [fraction].

    Raises
    ------
    NotPossible
        If more blocks were lost than started.

    References
    ----------
    Wilson score interval: Newcombe 1998, Stat. Med. 17:857, method 3.
    Counts divided by the dispersion: Rao & Scott 1992, Biometrics 48:577.

    Examples
    --------
    >>> loss_high(0, 20)
    0.1611
    """
    _need_no_more_lost("lost", lost, "total", total)
    z = reach(confidence, dispersion)
    # The square in two halves and as a product, as in the sum: a total loss gives exactly 1.
    return wilson_sum(lost, total, confidence, dispersion) / (total + z**2 / 2 + z**2 / 2)


@worksheet_function()
def loss_difference_low(
    lost_a: float,
    total_a: float,
    lost_b: float,
    total_b: float,
    confidence: float = 0.95,
    dispersion: float = 1.0,
) -> float:
    """Lowest difference of two loss rates, a minus b, that still fits what was counted.

    Parameters
    ----------
    lost_a : float
        Blocks lost with a [count; 0 or more, whole].
    total_a : float
        Blocks started with a [count; 1 or more, whole].
    lost_b : float
        Blocks lost with b [count; 0 or more, whole].
    total_b : float
        Blocks started with b [count; 1 or more, whole].
    confidence : float
        Share of such intervals that hold the true difference [fraction; 0.5 to below 1].
    dispersion : float
        How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if
        every block is lost or good on its own [number; 1 or more].

    Returns
    -------
    float
        Loss rate of a minus that of b; when it is above 0, b loses less [fraction].

    Raises
    ------
    NotPossible
        If more blocks were lost than started.

    References
    ----------
    Hybrid score interval: Newcombe 1998, Stat. Med. 17:873, method 10.
    Counts divided by the dispersion: Rao & Scott 1992, Biometrics 48:577.

    Examples
    --------
    >>> loss_difference_low(56, 70, 48, 80)
    0.0524
    """
    _need_no_more_lost("lost_a", lost_a, "total_a", total_a)
    _need_no_more_lost("lost_b", lost_b, "total_b", total_b)
    rate_a, rate_b = lost_a / total_a, lost_b / total_b
    below_a = rate_a - loss_low(lost_a, total_a, confidence, dispersion)
    above_b = loss_high(lost_b, total_b, confidence, dispersion) - rate_b
    return rate_a - rate_b - sqrt(below_a**2 + above_b**2)


@worksheet_function()
def loss_difference_high(
    lost_a: float,
    total_a: float,
    lost_b: float,
    total_b: float,
    confidence: float = 0.95,
    dispersion: float = 1.0,
) -> float:
    """Highest difference of two loss rates, a minus b, that still fits what was counted.

    Parameters
    ----------
    lost_a : float
        Blocks lost with a [count; 0 or more, whole].
    total_a : float
        Blocks started with a [count; 1 or more, whole].
    lost_b : float
        Blocks lost with b [count; 0 or more, whole].
    total_b : float
        Blocks started with b [count; 1 or more, whole].
    confidence : float
        Share of such intervals that hold the true difference [fraction; 0.5 to below 1].
    dispersion : float
        How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if
        every block is lost or good on its own [number; 1 or more].

    Returns
    -------
    float
        Loss rate of a minus that of b; when it is below 0, a loses less [fraction].

    Raises
    ------
    NotPossible
        If more blocks were lost than started.

    References
    ----------
    Hybrid score interval: Newcombe 1998, Stat. Med. 17:873, method 10.
    Counts divided by the dispersion: Rao & Scott 1992, Biometrics 48:577.

    Examples
    --------
    >>> loss_difference_high(56, 70, 48, 80)
    0.3339
    """
    _need_no_more_lost("lost_a", lost_a, "total_a", total_a)
    _need_no_more_lost("lost_b", lost_b, "total_b", total_b)
    return -loss_difference_low(lost_b, total_b, lost_a, total_a, confidence, dispersion)


@worksheet_function()
def blocks_to_start(
    good_blocks: float, loss_rate: float, chance: float = 0.5, dispersion: float = 1.0
) -> float:
    """Blocks to start so that as many as wanted are good: on average, or as sure as you like.

    Parameters
    ----------
    good_blocks : float
        Good blocks wanted [count; 0 or more, whole].
    loss_rate : float
        Share of blocks lost so far [fraction; 0 to below 1].
    chance : float
        Chance wanted of having enough good blocks; 50 % is the average [fraction; 0.5 to 0.999].
    dispersion : float
        How much more the losses of batches vary than luck makes them vary, from DISPERSION;
        1 for luck alone [number; 1 or more].

    Returns
    -------
    float
        Whole blocks; at 50 %, fewer are good than wanted in about half of all weeks [count].

    Notes
    -----
    With more than 50 % and losses by luck alone it is at most a few blocks off the exact number
    of BLOCKS_FOR_CONFIDENCE, which knows no batches.

    References
    ----------
    At 50 %, arithmetic of shares. Beyond, the normal approximation of the good blocks, their
    variance times the dispersion; checked against the beta-binomial distribution.

    Examples
    --------
    >>> blocks_to_start(95, "5%")
    100
    """
    good = 1 - loss_rate
    more = normal_quantile(chance) * sqrt(dispersion * loss_rate * good)
    root = (more + sqrt(more**2 + 4 * good * good_blocks)) / (2 * good)
    return (good_blocks > 0) * whole_up(root**2)


@worksheet_function(
    native=f"{{good_blocks}}+{_FEWEST_LOST}" + "".join(_TOO_FEW % more for more in range(4))
)
def blocks_for_confidence(good_blocks: float, loss_rate: float, confidence: float) -> float:
    """Blocks to start so that enough are good with a given confidence.

    Parameters
    ----------
    good_blocks : float
        Good blocks wanted [count; 1 to 1000, whole].
    loss_rate : float
        Chance of each block, on its own, to be lost [fraction; 0 to 0.5].
    confidence : float
        Chance wanted of having enough good blocks [fraction; 0.5 to 0.999].

    Returns
    -------
    float
        Fewest blocks that do, whole [count].

    Notes
    -----
    Losses that come together, such as a steamer run gone wrong, make it less sure than that.

    References
    ----------
    Negative binomial distribution: chance of each number of lost blocks before the last good one.

    Examples
    --------
    >>> blocks_for_confidence(100, "10%", "95%")
    117
    """
    lost = 0
    chance = sure = (1 - loss_rate) ** good_blocks
    while sure < confidence - NOISE:
        lost += 1
        chance *= loss_rate * (good_blocks + lost - 1) / lost
        sure += chance
    return good_blocks + lost


@worksheet_function()
def trial_blocks(
    loss_a: float,
    loss_b: float,
    confidence: float = 0.95,
    power: float = 0.8,
    dispersion: float = 1.0,
) -> float:
    """Blocks that each side of a trial needs to tell two loss rates apart.

    Parameters
    ----------
    loss_a : float
        Loss rate expected with a [fraction; 0 to 1].
    loss_b : float
        Loss rate expected with b [fraction; 0 to 1].
    confidence : float
        Chance of finding no difference where there is none [fraction; 0.5 to below 1].
    power : float
        Chance of finding the difference where there is one [fraction; 0.5 to below 1].
    dispersion : float
        How much more batches vary than luck alone, from DISPERSION or DESIGN_EFFECT; 1 if
        every block is lost or good on its own [number; 1 or more].

    Returns
    -------
    float
        Whole blocks a side [count].

    Raises
    ------
    NotPossible
        If both loss rates are the same.

    References
    ----------
    Two proportions, pooled variance, two-sided, no continuity correction: Fleiss, Statistical
    Methods for Rates and Proportions (from memory). Times the design effect: Donner & Klar,
    Design and Analysis of Cluster Randomization Trials.

    Examples
    --------
    >>> trial_blocks("5%", "10%")
    435
    """
    if loss_a == loss_b:
        raise NotPossible(f"loss_b: got {loss_b:g}, needs to differ from loss_a.")
    pooled = (loss_a + loss_b) * (1 - (loss_a + loss_b) / 2)
    apart = loss_a * (1 - loss_a) + loss_b * (1 - loss_b)
    deviations = two_sided(confidence) * sqrt(pooled) + normal_quantile(power) * sqrt(apart)
    alone = max(1, whole_up(deviations**2 / (loss_a - loss_b) ** 2))
    return whole_up(dispersion * alone)


@worksheet_function(native="TTEST({values_a},{values_b},2,3)", paired=False)
def welch_p_value(values_a: Sequence[float], values_b: Sequence[float]) -> float:
    """Chance that two means lie this far apart by luck alone: p-value of Welch's t-test.

    Parameters
    ----------
    values_a : sequence of float
        A value of each block or batch with a, two or more [number].
    values_b : sequence of float
        A value of each block or batch with b, two or more [number].

    Returns
    -------
    float
        Two-sided p-value; below 0.05 is commonly called a difference [fraction].

    Raises
    ------
    NotPossible
        If a side has fewer than two values, or no value differs from the others of its side.

    References
    ----------
    Welch's t-test with the Welch-Satterthwaite degrees of freedom, NIST/SEMATECH e-Handbook
    1.3.5.3.

    Examples
    --------
    >>> welch_p_value([0.91, 0.88, 0.95, 0.86], [1.02, 0.97, 1.05, 0.94])
    0.02501
    """
    for side, values in (("values_a", values_a), ("values_b", values_b)):
        if len(values) < 2:
            raise NotPossible(f"{side}: got {len(values)} value, needs two or more.")
    if min(values_a) == max(values_a) and min(values_b) == max(values_b):
        raise NotPossible("values_a: are all alike, and so are values_b; needs some spread.")
    mean_a, error_a = _mean_and_squared_error(values_a)
    mean_b, error_b = _mean_and_squared_error(values_b)
    squared_t = (mean_a - mean_b) ** 2 / (error_a + error_b)
    share = error_a / (error_a + error_b)
    degrees = 1 / (share**2 / (len(values_a) - 1) + (1 - share) ** 2 / (len(values_b) - 1))
    return student_two_sided(squared_t, degrees)


@formula_part()
def faulty_blocks(share: float, lot_size: float) -> float:
    """Return the fewest blocks that are at least a share of a lot."""
    return max(1, whole_up(share * lot_size))


@worksheet_function(
    native="IF({lot_size}=0,CFX.WHOLE_UP(LN(1-{confidence})/LN(1-{share})),"
    + _FIRST_LOOK
    + "".join(_STILL_UNSEEN % (more, more, more) for more in range(_STEPS_BACK))
    + ")"
)
def blocks_to_inspect(share: float, confidence: float, lot_size: float = 0.0) -> float:
    """Blocks to inspect, to find at least one faulty block if a share of them is faulty.

    Parameters
    ----------
    share : float
        Share of faulty blocks that must not go unseen [fraction; 0.0001 to below 1].
    confidence : float
        Chance wanted of seeing at least one of them [fraction; 0.5 to 0.999].
    lot_size : float
        Blocks in the lot; 0 for very many [count; 0 to 10000, whole].

    Returns
    -------
    float
        Fewest blocks that do, taken at random, whole [count].

    Notes
    -----
    Of a lot, as many blocks count as faulty as are at least the share of it, and one at least.

    References
    ----------
    Very many: geometric distribution, ln(1 - confidence) over ln(1 - share). A lot:
    hypergeometric distribution, none faulty among the blocks taken.

    Examples
    --------
    >>> blocks_to_inspect("5%", "95%", 100)
    45
    """
    if lot_size == 0:
        return whole_up(log(1 - confidence) / log(1 - share))
    faulty = faulty_blocks(share, lot_size)
    inspected, missed = 0, 1.0
    while missed > (1 - confidence) * (1 + _TIE):
        missed *= (lot_size - faulty - inspected) / (lot_size - inspected)
        inspected += 1
    return inspected


def _mean_and_squared_error(values: Sequence[float]) -> tuple[float, float]:
    count = len(values)
    mean = fsum(values) / count
    return mean, fsum((value - mean) ** 2 for value in values) / (count - 1) / count


def student_two_sided(squared_t: float, degrees: float) -> float:
    """Return the chance of a Student t at least this far from zero: an incomplete beta function."""
    if squared_t == 0:
        return 1.0
    a, b = degrees / 2, 0.5
    x, y = degrees / (degrees + squared_t), squared_t / (degrees + squared_t)
    scale = lgamma(a + b) - lgamma(a) - lgamma(b) - a * log1p(squared_t / degrees) + b * log(y)
    if x < (a + 1) / (a + b + 2):
        return exp(scale) / a / _beta_fraction(a, b, x)
    return 1 - exp(scale) / b / _beta_fraction(b, a, y)


def _beta_fraction(a: float, b: float, x: float) -> float:
    """Return the continued fraction below an incomplete beta function, by Lentz's method."""
    fraction = above = 1.0
    below = change = 0.0
    step = 0
    while abs(change - 1) > _ACCURACY:
        step += 1
        half = step // 2
        part = -(a + half) * (a + b + half) if step % 2 else half * (b - half)
        part *= x / ((a + step - 1) * (a + step))
        below = 1 / (1 + part * below)
        above = 1 + part / above
        change = above * below
        fraction *= change
    return fraction


def _need_no_more_lost(lost_name: str, lost: float, total_name: str, total: float) -> None:
    if lost > total:
        raise NotPossible(
            f"{lost_name}: got {lost:g}, needs to be at most {total_name} ({total:g})."
        )
