"""Losses and trials, against published intervals, statsmodels and scipy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.power import NormalIndPower
from statsmodels.stats.proportion import (
    confint_proportions_2indep,
    proportion_confint,
    proportion_effectsize,
    samplesize_proportions_2indep_onetail,
)

import cultivar_fx
from cultivar_fx.errors import NotPossible, OutOfRange
from cultivar_fx.stages import losses

if TYPE_CHECKING:
    from collections.abc import Callable

RUNS = settings(max_examples=200, deadline=None)
CONFIDENCES = st.floats(0.01, 0.9999)
COUNTS = st.integers(1, 100_000).flatmap(
    lambda total: st.tuples(st.integers(0, total), st.just(total))
)
VALUES = st.lists(st.integers(-500, 500).map(lambda tenths: tenths / 10), min_size=2, max_size=30)


@pytest.mark.parametrize(
    ("lost", "total", "low", "high"),
    [
        # Newcombe 1998, Stat. Med. 17:857, Table I, method 3; printed to 4 decimals
        (81, 263, 0.2553, 0.3662),
        (0, 20, 0, 0.1611),
        # statsmodels; 4 decimals
        (3, 100, 0.0103, 0.0845),
        (0, 50, 0, 0.0713),
    ],
)
def test_wilson_interval_as_published(lost: int, total: int, low: float, high: float) -> None:
    assert cultivar_fx.loss_low(lost, total) == pytest.approx(low, abs=5e-5)
    assert cultivar_fx.loss_high(lost, total) == pytest.approx(high, abs=5e-5)


@RUNS
@given(COUNTS, CONFIDENCES)
def test_wilson_interval_as_statsmodels(counts: tuple[int, int], confidence: float) -> None:
    low, high = proportion_confint(*counts, alpha=1 - confidence, method="wilson")
    assert losses.loss_low(*counts, confidence) == pytest.approx(low, rel=1e-8, abs=1e-12)
    assert losses.loss_high(*counts, confidence) == pytest.approx(high, rel=1e-9)


@RUNS
@given(COUNTS, CONFIDENCES)
def test_wilson_interval_holds_the_rate_and_stays_between_0_and_1(
    counts: tuple[int, int], confidence: float
) -> None:
    lost, total = counts
    low, high = losses.loss_low(*counts, confidence), losses.loss_high(*counts, confidence)
    assert 0 <= low <= lost / total * (1 + 1e-12)
    assert lost / total * (1 - 1e-12) <= high <= 1


@RUNS
@given(COUNTS, CONFIDENCES)
def test_wilson_interval_of_the_good_blocks_mirrors_that_of_the_lost(
    counts: tuple[int, int], confidence: float
) -> None:
    lost, total = counts
    mirrored = 1 - losses.loss_low(total - lost, total, confidence)
    assert losses.loss_high(lost, total, confidence) == pytest.approx(mirrored, abs=1e-12)


@RUNS
@given(COUNTS, st.integers(2, 50))
def test_wilson_interval_shrinks_with_more_blocks_at_the_same_rate(
    counts: tuple[int, int], times: int
) -> None:
    lost, total = counts
    few = losses.loss_high(lost, total) - losses.loss_low(lost, total)
    many = losses.loss_high(lost * times, total * times) - losses.loss_low(
        lost * times, total * times
    )
    assert many < few


@RUNS
@given(COUNTS, st.floats(0.01, 0.99), st.floats(0.001, 0.009))
def test_wilson_interval_grows_with_confidence(
    counts: tuple[int, int], confidence: float, more: float
) -> None:
    def width(level: float) -> float:
        return losses.loss_high(*counts, level) - losses.loss_low(*counts, level)

    assert width(confidence + more) > width(confidence)


@RUNS
@given(st.integers(1, 10**6), CONFIDENCES)
def test_no_loss_and_total_loss_reach_the_ends(total: int, confidence: float) -> None:
    assert losses.loss_low(0, total, confidence) == 0
    assert losses.loss_high(total, total, confidence) == 1


# 1 − .05^(1/n), exact one-sided 95 %: a two-sided score interval reaches further up
@pytest.mark.parametrize(("total", "exact"), [(20, 0.1391), (100, 0.0295)])
def test_upper_end_without_losses_lies_above_the_one_sided_bound(total: int, exact: float) -> None:
    assert exact < cultivar_fx.loss_high(0, total) < 1.3 * exact


def test_difference_interval_as_published() -> None:
    # Newcombe 1998, Stat. Med. 17:873, Table II, method 10: 56/70 against 48/80; 4 decimals
    assert cultivar_fx.loss_difference_low(56, 70, 48, 80) == pytest.approx(0.0524, abs=5e-5)
    assert cultivar_fx.loss_difference_high(56, 70, 48, 80) == pytest.approx(0.3339, abs=5e-5)


@RUNS
@given(COUNTS, COUNTS, CONFIDENCES)
def test_difference_interval_as_statsmodels(
    a: tuple[int, int], b: tuple[int, int], confidence: float
) -> None:
    low, high = confint_proportions_2indep(
        *a, *b, method="newcomb", compare="diff", alpha=1 - confidence
    )
    assert losses.loss_difference_low(*a, *b, confidence) == pytest.approx(low, abs=1e-9)
    assert losses.loss_difference_high(*a, *b, confidence) == pytest.approx(high, abs=1e-9)


@RUNS
@given(COUNTS, COUNTS, CONFIDENCES)
def test_difference_interval_turns_over_with_the_sides(
    a: tuple[int, int], b: tuple[int, int], confidence: float
) -> None:
    low = losses.loss_difference_low(*a, *b, confidence)
    assert low == -losses.loss_difference_high(*b, *a, confidence)
    assert -1 <= low <= a[0] / a[1] - b[0] / b[1]


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: cultivar_fx.loss_low(3, 2), "lost: got 3, needs to be at most total (2)."),
        (lambda: cultivar_fx.loss_high(3, 2), "lost: got 3, needs to be at most total (2)."),
        (
            lambda: cultivar_fx.loss_difference_low(3, 2, 0, 2),
            "lost_a: got 3, needs to be at most total_a (2).",
        ),
        (
            lambda: cultivar_fx.loss_difference_high(0, 2, 3, 2),
            "lost_b: got 3, needs to be at most total_b (2).",
        ),
    ],
)
def test_more_lost_than_started_is_not_possible(call: Callable[[], float], named: str) -> None:
    with pytest.raises(NotPossible) as caught:
        call()
    assert str(caught.value) == named


@pytest.mark.parametrize(
    ("lost", "total", "confidence"), [(0.5, 2, 0.95), (1, 2.5, 0.95), (0, 0, 0.95), (1, 2, 1)]
)
def test_counts_are_whole_and_confidence_a_fraction(
    lost: int, total: int, confidence: float
) -> None:
    with pytest.raises(OutOfRange):
        cultivar_fx.loss_low(lost, total, confidence)


# arithmetic: 5 of 100 lost leave 95; 1 of 3 lost leaves 2
@pytest.mark.parametrize(
    ("good", "rate", "blocks"),
    [(95, 0.05, 100), (2, 1 / 3, 3), (96, 0.05, 102), (0, 0.5, 0), (7, 0, 7), (63, 0.3, 90)],
)
def test_blocks_to_start(good: int, rate: float, blocks: int) -> None:
    assert cultivar_fx.blocks_to_start(good, rate) == blocks


@RUNS
@given(st.integers(0, 100_000), st.integers(0, 99))
def test_blocks_to_start_is_the_smallest_that_leaves_enough(good: int, percent: int) -> None:
    blocks = losses.blocks_to_start(good, percent / 100)
    assert blocks * (100 - percent) >= good * 100
    assert blocks == 0 or (blocks - 1) * (100 - percent) < good * 100


@RUNS
@given(
    st.integers(10, 500), st.floats(0.02, 0.3), st.floats(0.5, 0.97), st.sampled_from([1.0, 2.5, 4])
)
def test_blocks_to_start_are_as_sure_as_wanted_by_the_beta_binomial_distribution(
    good: int, loss_rate: float, confidence: float, dispersion: float
) -> None:
    """With an intra-batch correlation that gives a batch of that size the dispersion."""
    blocks = losses.blocks_to_start(good, loss_rate, confidence, dispersion)
    lost = stats.binom(blocks, loss_rate)
    if dispersion > 1:
        scale = (blocks - dispersion) / (dispersion - 1)
        lost = stats.betabinom(blocks, loss_rate * scale, (1 - loss_rate) * scale)
    assert lost.cdf(blocks - good) >= confidence - 0.015
    assert lost.ppf(min(0.999, confidence + 0.01)) >= blocks - good - 2


@RUNS
@given(st.integers(1, 1000), st.floats(0, 0.5), st.floats(0.5, 0.999))
def test_blocks_for_confidence_is_the_smallest_number_that_is_sure_enough(
    good: int, loss_rate: float, confidence: float
) -> None:
    def sure(number: float) -> float:
        return float(stats.binom.sf(good - 1, number, 1 - loss_rate))  # scipy

    blocks = cultivar_fx.blocks_for_confidence(good, loss_rate, confidence)
    assert sure(blocks) >= confidence - 2e-9
    assert blocks == good or sure(blocks - 1) < confidence


@RUNS
@given(st.integers(1, 1000), st.floats(0.5, 0.999))
def test_without_losses_the_good_blocks_are_enough(good: int, confidence: float) -> None:
    assert cultivar_fx.blocks_for_confidence(good, 0, confidence) == good


# exact: chances that come out even, so that float noise alone would decide
@pytest.mark.parametrize(
    ("good", "loss_rate", "confidence", "blocks"),
    [
        (1, 0.5, 0.5, 1),  # 1/2
        (1, 0.5, 0.75, 2),  # 1 - 1/4
        (1, 0.1, 0.99, 2),  # 1 - 1/100
        (1, 0.1, 0.999, 3),  # 1 - 1/1000
        (2, 0.1, 0.81, 2),  # 0.9²
        (500, 0.5, 0.5, 999),  # half of an odd number or more, by symmetry
    ],
)
def test_blocks_for_confidence_that_comes_out_even(
    good: int, loss_rate: float, confidence: float, blocks: int
) -> None:
    assert cultivar_fx.blocks_for_confidence(good, loss_rate, confidence) == blocks


# zero failures, 1 − .05^(1/n): no loss among 20 has a chance of 5 % at 13.91 %, among 100 at 2.95 %
@pytest.mark.parametrize(("good", "rate"), [(20, 0.1391), (100, 0.0295)])
def test_chance_of_no_loss_at_all(good: int, rate: float) -> None:
    assert losses.blocks_for_confidence(good, rate, 0.05) == good
    assert losses.blocks_for_confidence(good, rate + 1e-4, 0.05) == good + 1


def test_trial_blocks_as_the_standard_formula() -> None:
    # 5 % against 10 %, two-sided .05, power .8: 435 with the pooled variance
    assert cultivar_fx.trial_blocks("5%", "10%") == 435
    # 424 by the arcsine, 432 unpooled: near, but not the formula used
    arcsine = NormalIndPower().solve_power(proportion_effectsize(0.05, 0.10), alpha=0.05, power=0.8)
    assert arcsine == pytest.approx(424, abs=1)


@RUNS
@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.5, 0.999), st.floats(0.5, 0.99))
def test_trial_blocks_as_statsmodels(
    loss_a: float, loss_b: float, confidence: float, power: float
) -> None:
    assume(abs(loss_a - loss_b) > 1e-3)
    blocks = losses.trial_blocks(loss_a, loss_b, confidence, power)
    expected = samplesize_proportions_2indep_onetail(
        loss_a - loss_b, loss_b, power, alpha=1 - confidence, alternative="two-sided"
    )
    assert expected - 1e-6 <= blocks
    assert blocks == 1 or blocks < expected + 1 + 1e-6


@RUNS
@given(st.floats(0, 1), st.floats(0, 1))
def test_trial_blocks_do_not_depend_on_which_side_is_a(loss_a: float, loss_b: float) -> None:
    assume(abs(loss_a - loss_b) > 1e-3)
    assert losses.trial_blocks(loss_a, loss_b) == losses.trial_blocks(loss_b, loss_a)


def test_trial_of_equal_losses_is_not_possible() -> None:
    with pytest.raises(NotPossible, match=r"loss_b: got 0\.1, needs to differ from loss_a"):
        cultivar_fx.trial_blocks(0.1, 0.1)


def _with_mean_and_deviation(count: int, mean: float, deviation: float) -> list[float]:
    """Return an odd count of values with exactly this mean and standard deviation."""
    half = count // 2
    return [mean - deviation] * half + [mean] + [mean + deviation] * half


AUTO83B = (
    _with_mean_and_deviation(249, 20.14458, 6.41470),
    _with_mean_and_deviation(79, 30.48101, 6.10771),
)


def test_welch_p_value_as_nist() -> None:
    # NIST/SEMATECH e-Handbook data AUTO83B: t −12.94627, df 136.875, as printed to 5 and 3 decimals
    expected = 2 * stats.t.sf(12.94627, 136.875)
    assert cultivar_fx.welch_p_value(*AUTO83B) == pytest.approx(expected, rel=1e-4)
    # the same from the printed means and deviations, scipy
    exact = stats.ttest_ind_from_stats(
        20.14458, 6.41470, 249, 30.48101, 6.10771, 79, equal_var=False
    ).pvalue
    assert cultivar_fx.welch_p_value(*AUTO83B) == pytest.approx(exact, rel=1e-9)


def test_welch_p_value_does_not_pool_the_variances() -> None:
    # NIST/SEMATECH e-Handbook 1.3.5.3, same data, pooled: T −12.62059, df 326
    pooled = 2 * stats.t.sf(12.62059, 326)
    assert cultivar_fx.welch_p_value(*AUTO83B) > 10 * pooled


def test_welch_p_value_as_in_students_paper() -> None:
    # Student 1908, sleep data; Welch p 0.07939 as many textbooks print it, from memory
    first = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
    second = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
    assert cultivar_fx.welch_p_value(first, second) == pytest.approx(0.07939, abs=5e-6)


@RUNS
@given(VALUES, VALUES)
def test_welch_p_value_as_scipy(a: list[float], b: list[float]) -> None:
    assume(len(set(a)) > 1 and len(set(b)) > 1)
    expected = stats.ttest_ind(a, b, equal_var=False).pvalue
    assert losses.welch_p_value(a, b) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("apart", [1, 10, 100, 1e4, 1e6])
@pytest.mark.parametrize("count", [2, 5, 40, 2000])
def test_welch_p_value_holds_for_small_chances(apart: float, count: int) -> None:
    a = [float(number % 7) for number in range(count)]
    b = [apart + number % 5 for number in range(count + 1)]
    expected = stats.ttest_ind(a, b, equal_var=False).pvalue  # scipy
    assert losses.welch_p_value(a, b) == pytest.approx(expected, rel=1e-9)


@RUNS
@given(VALUES, VALUES)
def test_welch_p_value_is_the_same_either_way(a: list[float], b: list[float]) -> None:
    assume(len(set(a)) > 1 or len(set(b)) > 1)
    assert losses.welch_p_value(a, b) == pytest.approx(losses.welch_p_value(b, a), rel=1e-12)
    assert 0 <= losses.welch_p_value(a, b) <= 1


def test_means_of_the_same_values_do_not_differ() -> None:
    assert cultivar_fx.welch_p_value([1, 2, 3], [3, 1, 2]) == 1


def test_welch_p_value_takes_ranges_of_different_lengths_with_blanks() -> None:
    assert cultivar_fx.welch_p_value([1, None, 2, 4], [[5, ""], [7, 9]]) == pytest.approx(
        stats.ttest_ind([1, 2, 4], [5, 7, 9], equal_var=False).pvalue, rel=1e-9
    )


@pytest.mark.parametrize(
    ("a", "b", "named"),
    [
        ([1], [2, 3], "values_a: got 1 value, needs two or more."),
        ([1, 2], [3], "values_b: got 1 value, needs two or more."),
        (
            [0.1] * 3,
            [0.3] * 3,
            "values_a: are all alike, and so are values_b; needs some spread.",
        ),
    ],
)
def test_means_without_spread_or_company_cannot_be_compared(
    a: list[float], b: list[float], named: str
) -> None:
    with pytest.raises(NotPossible) as caught:
        cultivar_fx.welch_p_value(a, b)
    assert str(caught.value) == named


@pytest.mark.parametrize(("share", "blocks"), [(0.05, 59), (0.01, 299)])
def test_blocks_to_inspect_of_very_many(share: float, blocks: int) -> None:
    # ln(0.05) / ln(1 - p), rounded up: 95 % sure to see a fault in 5 % or 1 % of many blocks.
    assert cultivar_fx.blocks_to_inspect(share, 0.95) == blocks
    assert cultivar_fx.blocks_to_inspect(share, "95%", 0) == blocks


def test_blocks_to_inspect_of_a_lot() -> None:
    # Hypergeometric distribution (scipy): 5 faulty of 100.
    assert cultivar_fx.blocks_to_inspect("5%", "95%", 100) == 45


@RUNS
@given(st.integers(1, 2000), st.floats(0.0001, 0.9999), st.floats(0.5, 0.999))
def test_blocks_to_inspect_as_scipy(lot: int, share: float, confidence: float) -> None:
    faulty = next(count for count in range(1, lot + 1) if count >= share * lot - 1e-9)
    found = int(losses.blocks_to_inspect(share, confidence, lot))
    unseen = stats.hypergeom(lot, faulty, found).pmf(0)
    assert unseen <= (1 - confidence) * (1 + 1e-8)
    if found > 1:
        assert stats.hypergeom(lot, faulty, found - 1).pmf(0) > (1 - confidence) * (1 - 1e-8)


@pytest.mark.parametrize(
    ("lot", "share", "confidence", "blocks"),
    [
        # One faulty of 20: 19 of 20 are exactly 95 %; of 10 at 90 %, 9; of 4 at 50 %, 2.
        (20, 0.05, 0.95, 19),
        (10, 0.1, 0.9, 9),
        (4, 0.25, 0.5, 2),
        # All of them faulty: the first one shows it.
        (5, 0.9999, 0.999, 1),
        (1, 0.0001, 0.999, 1),
    ],
)
def test_blocks_to_inspect_where_the_chance_is_exact(
    lot: int, share: float, confidence: float, blocks: int
) -> None:
    assert cultivar_fx.blocks_to_inspect(share, confidence, lot) == blocks


@RUNS
@given(st.integers(1, 3000), st.floats(0.001, 0.9), st.floats(0.5, 0.99))
def test_blocks_to_inspect_need_no_more_than_a_larger_lot(
    lot: int, share: float, confidence: float
) -> None:
    blocks = losses.blocks_to_inspect(share, confidence, lot)
    assert 1 <= blocks <= lot
    assert blocks <= losses.blocks_to_inspect(share, confidence)
    assert losses.blocks_to_inspect(share, confidence + 0.009, lot) >= blocks
    assert losses.blocks_to_inspect(share + 0.09, confidence, lot) <= blocks
