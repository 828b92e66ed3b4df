"""What statistics says of two treatments, batch by batch: from scipy and statsmodels alone.

And which two a trial compares where nobody names them: the newest change of a log.
"""

from __future__ import annotations

from math import ceil, floor, sqrt
from statistics import mean, variance
from typing import TYPE_CHECKING, NamedTuple

from scipy import stats
from statsmodels.stats.power import TTestIndPower
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

Counts = list[tuple[int, int]]
"""Blocks started and blocks lost of each batch."""
REAL, LUCK = ", more than luck explains", ", which may be luck"
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
    """Return Newcombe's interval of b minus a on counts divided by the spread."""
    counts = []
    for batches in reversed(sides):
        blocks, lost = (sum(column) / divided_by for column in zip(*batches, strict=True))
        counts += [lost, blocks]
    low, high = confint_proportions_2indep(
        *counts, compare="diff", method="newcomb", alpha=1 - confidence
    )
    return float(low), float(high)


def yield_interval(
    sides: Sequence[Sequence[float]], confidence: float = 0.95
) -> tuple[float, float, float]:
    """Return Welch's b less a as a share of the mean of a, and the ends of its interval."""
    a, b = sides
    welch = stats.ttest_ind(b, a, equal_var=False)
    difference = mean(b) - mean(a)
    reach = stats.t.ppf((1 + confidence) / 2, floor(welch.df)) * difference / welch.statistic
    middle, wide = difference / mean(a), reach / mean(a)
    return middle, middle - wide, middle + wide


class Verdict(NamedTuple):
    """What an interval says: in words, and whether b is really better, 1, or worse, -1."""

    words: str
    sign: int = 0
    is_alike: bool = False


TOO_FEW = Verdict("too few batches to compare losses"), Verdict("too few batches to compare yields")


def loss_verdict(sides: Sequence[Counts], low: float, high: float, worth: float = 0.05) -> Verdict:
    """Return what an interval of a loss difference says."""
    a, b = (
        sum(lost for _, lost in batches) / sum(blocks for blocks, _ in batches) for batches in sides
    )
    shares = f"({_tenths(b)}% against {_tenths(a)}%)"
    lost = f"lost {'more' if b > a else 'fewer'} blocks {shares}"
    if low > 0 or high < 0:
        return Verdict(f"{lost}{REAL}", -1 if low > 0 else 1)
    if -worth < low and high < worth:
        return Verdict(f"lost about as many blocks {shares}", is_alike=True)
    return Verdict(f"{lost}{LUCK}")


def _tenths(share: float) -> str:
    return f"{floor(share * 1000 + 0.5) / 10:.1f}"


def yield_verdict(sides: Sequence[Sequence[float]], confidence: float = 0.95) -> Verdict:
    """Return what an interval of a yield difference says; 10 % are worth having."""
    middle, low, high = yield_interval(sides, confidence)
    percent = floor(abs(middle) * 100 + 0.5)
    picked = f"yielded {percent}% {'more' if middle > 0 else 'less'}"
    if low > 0 or high < 0:
        return Verdict(f"{picked}{REAL}", 1 if low > 0 else -1)
    if low > -0.1 and high < 0.1:
        return Verdict("yielded about as much", is_alike=True)
    return Verdict(f"{picked}{LUCK}")


def answer(name: str, losses: Verdict, yields: Verdict) -> str:
    """Return what both say of the new way, b."""
    if (losses, yields) == TOO_FEW:
        return "Nothing to judge yet."
    signs = {losses.sign, yields.sign}
    lead = "Not settled"
    if signs == {1, -1}:
        lead = "Better in one, worse in the other"
    elif 1 in signs:
        lead = "Better"
    elif -1 in signs:
        lead = "Worse"
    elif losses.is_alike and yields.is_alike:
        lead = "No difference worth having"
    return f"{lead}: {name} {losses.words}; {yields.words}."


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


class Newest(NamedTuple):
    """The newest change of a log: the strain, what it had before, what is new, and since when."""

    strain: str
    before: str
    new: str
    since: date


def newest_change(rows: Sequence[tuple[date, str, str]], strain: str | None) -> Newest | None:
    """Live through the days of a log of day, strain and treatment; the last change stays."""
    had: dict[str, list[str]] = {}
    found = None
    for day, of, treatment in sorted(rows, key=lambda row: row[0]):
        so_far = had.setdefault(of, [])
        if so_far and treatment not in so_far and strain in (None, of):
            found = Newest(of, so_far[-1], treatment, day)
        so_far.append(treatment)
    return found
