"""What statistics says of two treatments, batch by batch: from scipy and statsmodels alone."""

from __future__ import annotations

from math import ceil, floor, sqrt
from statistics import mean, variance
from typing import TYPE_CHECKING, NamedTuple

from scipy import stats
from statsmodels.stats.power import TTestIndPower
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

if TYPE_CHECKING:
    from collections.abc import Sequence

Counts = list[tuple[int, int]]
"""Blocks started and blocks lost of each batch."""
LUCK = "can't be told from luck"
ENOUGH, ASSUMED = 6, 2.5
"""What a new workbook starts with: batches that show a spread, and the assumed one."""


class Spread(NamedTuple):
    """Of the losses of batches: over luck alone, and with what makes an interval one by Student."""

    alone: float
    reach: float


def spread(sides: Sequence[Counts], confidence: float = 0.95) -> Spread:
    """Return scipy's chi-square of batches by lost and good, over its degrees of freedom."""
    square = freedom = 0.0
    for batches in sides:
        table = [(lost, blocks - lost) for blocks, lost in batches]
        lost, good = (sum(column) for column in zip(*table, strict=True))
        if lost and good and len(batches) > 1:
            found = stats.chi2_contingency(table, correction=False)
            square, freedom = square + found.statistic, freedom + found.dof
    if freedom < ENOUGH:
        return Spread(ASSUMED, ASSUMED)
    alone = max(1.0, square / freedom)
    upper = (1 + confidence) / 2
    return Spread(alone, alone * (stats.t.ppf(upper, freedom) / stats.norm.ppf(upper)) ** 2)


def loss_interval(batches: Counts, divided_by: float, confidence: float) -> tuple[float, float]:
    """Return Wilson's interval on counts divided by the spread."""
    blocks, lost = (sum(column) / divided_by for column in zip(*batches, strict=True))
    low, high = proportion_confint(lost, blocks, 1 - confidence, method="wilson")
    return float(low), float(high)


def difference_interval(
    sides: Sequence[Counts], divided_by: float, confidence: float = 0.95
) -> tuple[float, float]:
    """Return Newcombe's interval of a minus b on counts divided by the spread."""
    counts = []
    for batches in sides:
        blocks, lost = (sum(column) / divided_by for column in zip(*batches, strict=True))
        counts += [lost, blocks]
    low, high = confint_proportions_2indep(
        *counts, compare="diff", method="newcomb", alpha=1 - confidence
    )
    return float(low), float(high)


def yield_interval(
    sides: Sequence[Sequence[float]], confidence: float = 0.95
) -> tuple[float, float, float]:
    """Return Welch's difference as a share of the mean of a, and the ends of its interval."""
    a, b = sides
    welch = stats.ttest_ind(a, b, equal_var=False)
    difference = mean(a) - mean(b)
    reach = stats.t.ppf((1 + confidence) / 2, floor(welch.df)) * difference / welch.statistic
    middle, wide = difference / mean(a), reach / mean(a)
    return middle, middle - wide, middle + wide


def loss_verdict(low: float, high: float, names: Sequence[str], worth: float = 0.05) -> str:
    """Return what an interval of a loss difference says."""
    if low > 0 or high < 0:
        return f"{names[int(low > 0)]} loses fewer blocks"
    return "no difference worth having" if -worth < low and high < worth else LUCK


def yield_verdict(
    sides: Sequence[Sequence[float]], names: Sequence[str], confidence: float = 0.95
) -> str:
    """Return what an interval of a yield difference says; 10 % are worth having."""
    _, low, high = yield_interval(sides, confidence)
    if low > 0 or high < 0:
        better = int(high < 0)
        less = abs(mean(sides[0]) - mean(sides[1])) / mean(sides[better])
        return f"{names[1 - better]} yields {less:.0%} less than {names[better]}"
    return "no difference worth having" if low > -0.1 and high < 0.1 else LUCK


def loss_batches(
    usual: float, worth: float, blocks: float, times: float, confidence: float = 0.95
) -> int:
    """Return batches a side: Fleiss, times the design effect, and z^2/4 (Guenther 1981)."""
    low = max(0.0, min(1 - worth, usual - worth / 2))
    high = low + worth
    z, power = stats.norm.ppf((1 + confidence) / 2), stats.norm.ppf(0.8)
    middle = (low + high) / 2
    apart = low * (1 - low) + high * (1 - high)
    alone = ceil((z * sqrt(2 * middle * (1 - middle)) + power * sqrt(apart)) ** 2 / worth**2)
    return ceil(ceil(alone * times) / blocks + z**2 / 4)


def yield_batches(sides: Sequence[Sequence[float]], worth: float, confidence: float) -> float:
    """Return batches a side by Student's t, as statsmodels solves it."""
    a, b = sides
    pooled = ((len(a) - 1) * variance(a) + (len(b) - 1) * variance(b)) / (len(a) + len(b) - 2)
    effect = worth * mean(a) / sqrt(pooled)
    return float(TTestIndPower().solve_power(effect, alpha=1 - confidence, power=0.8, ratio=1))
