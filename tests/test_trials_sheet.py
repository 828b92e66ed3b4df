"""The Trials sheet against statsmodels and scipy: trials of all sorts, typed into LibreOffice."""

from __future__ import annotations

from math import ceil, floor, sqrt
from random import Random
from statistics import mean, stdev
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from reading import computed, place, red_where
from scipy import stats
from statsmodels.stats.power import NormalIndPower
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from workbooks import made

from cultivar_fx.errors import CellError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from office import Document, Office

ROWS = 60
NAMES = ("Usual", "New")


class Trial(NamedTuple):
    """Blocks started, blocks lost, yields, each for A and B; None stays blank."""

    blocks: tuple[int | None, int | None]
    lost: tuple[int | None, int | None]
    yields: tuple[list[float], list[float]]


@pytest.fixture
def document(office: Office) -> Iterator[Document]:
    with office.kept(made("metric", "demo").path) as opened:
        yield opened


def drawn(seed: int) -> Trial:
    random = Random(seed)
    blocks = (random.randint(10, 60), random.randint(10, 60))
    lost = tuple(round(count * random.choice((0, 0.05, 0.1, 0.4))) for count in blocks)
    counts = [random.randint(2, count - gone) for count, gone in zip(blocks, lost)]
    better = random.choice((0, 0, 0.1, 0.5))
    yields = ([random.gauss(2, 0.4) for _ in range(counts[0])],)
    yields += ([random.gauss(2 + better, 0.6) for _ in range(counts[1])],)
    return Trial(blocks, lost, yields)


def shown(document: Document, trial: Trial) -> dict[str, dict[str, Any]]:
    demo = made("metric", "demo")
    inputs = {f"trial_{side}": name for side, name in zip("ab", NAMES)}
    inputs |= {f"trial_blocks_{side}": count for side, count in zip("ab", trial.blocks)}
    inputs |= {f"trial_lost_{side}": count for side, count in zip("ab", trial.lost)}
    for key, value in inputs.items():
        at = place(demo.values, key)
        document.write(*at, [[value]])
    for side, values in zip("ab", trial.yields):
        at = place(demo.values, f"trial_yields.yield_{side}")
        padded = [[value] for value in values] + [[None]] * (ROWS - len(values))
        document.write(*at, padded)
    return computed(document, demo.values["Trials"])


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("trial_lost_a", 41, "no more blocks lost than started"),
        ("trial_blocks_b", 37, "no more blocks weighed than were good"),
        ("trial_blocks_b", 40.5, "The trial: cells to fix"),
        ("trial_yields.yield_b", "much", "rows to fix. With B: needs a number, 0 or more."),
        ("trial_yields.yield_a", -1, "rows to fix. With A: needs a number, 0 or more."),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert any(words in check for check in red), red


@pytest.mark.parametrize("seed", range(12))
def test_losses_and_yields_are_what_statistics_says(seed: int, document: Document) -> None:
    trial = drawn(seed)
    found = shown(document, trial)
    _compare_losses(trial, found["Losses"])
    _compare_yields(trial, found["Yields"])


def _compare_losses(trial: Trial, found: dict[str, Any]) -> None:
    rates = [lost / blocks for lost, blocks in zip(trial.lost, trial.blocks)]
    for side, lost, blocks in zip("AB", trial.lost, trial.blocks):
        low, high = proportion_confint(lost, blocks, method="wilson")
        assert found[f"Loss with {side}, lowest"] == pytest.approx(low, abs=1e-9)
        assert found[f"Loss with {side}, highest"] == pytest.approx(high, abs=1e-9)
    counts = (trial.lost[0], trial.blocks[0], trial.lost[1], trial.blocks[1])
    low, high = confint_proportions_2indep(*counts, compare="diff", method="newcomb")
    assert found["A minus B, lowest"] == pytest.approx(low, abs=1e-9)
    assert found["A minus B, highest"] == pytest.approx(high, abs=1e-9)
    words = "can't be told from luck"
    if low > 0 or high < 0:
        words = f"{NAMES[int(low > 0)]} loses fewer blocks"
    assert found["Verdict"] == words
    needed = found["Blocks per treatment to settle it"]
    assert needed == (None if rates[0] == rates[1] else fleiss(*rates))


def fleiss(rate_a: float, rate_b: float) -> int:
    """Blocks a side: two proportions, pooled variance, two-sided 5 %, power 80 %."""
    z, power = stats.norm.ppf(0.975), stats.norm.ppf(0.8)
    pooled = (rate_a + rate_b) / 2
    apart = rate_a * (1 - rate_a) + rate_b * (1 - rate_b)
    return ceil(
        (z * sqrt(2 * pooled * (1 - pooled)) + power * sqrt(apart)) ** 2 / (rate_a - rate_b) ** 2
    )


def _compare_yields(trial: Trial, found: dict[str, Any]) -> None:
    means, spreads = [[f(side) for side in trial.yields] for f in (mean, stdev)]
    difference = means[0] - means[1]
    welch = stats.ttest_ind(*trial.yields, equal_var=False)
    error = difference / welch.statistic
    reach = stats.t.ppf(0.975, floor(welch.df)) * error
    assert found["A minus B"] == pytest.approx(difference)
    assert found["Chance by luck alone"] == pytest.approx(welch.pvalue, rel=1e-9)
    assert found["A minus B, lowest"] == pytest.approx(difference - reach, abs=1e-9)
    assert found["A minus B, highest"] == pytest.approx(difference + reach, abs=1e-9)
    words = "can't be told from luck"
    if welch.pvalue <= 0.05:
        better = int(difference < 0)
        less = abs(difference) / means[better]
        words = f"{NAMES[1 - better]} yields {less:.0%} less than {NAMES[better]}"
    assert found["Verdict"] == words
    effect = abs(difference) / sqrt((spreads[0] ** 2 + spreads[1] ** 2) / 2)
    needed = NormalIndPower().solve_power(effect, alpha=0.05, power=0.8, ratio=1)
    assert found["Blocks per treatment to settle it"] == pytest.approx(needed, abs=1.1)


@pytest.mark.parametrize(
    ("share", "confidence", "lot"),
    [(0.05, 0.95, None), (0.01, 0.95, None), (0.05, 0.95, 100), (0.02, 0.9, 400), (0.3, 0.99, 12)],
)
def test_blocks_to_inspect_are_what_a_distribution_says(
    share: float, confidence: float, lot: int | None, document: Document
) -> None:
    typed = {"inspect_share": share, "inspect_confidence": confidence, "inspect_lot": lot}
    for key, value in typed.items():
        document.write(*place(made("metric", "demo").values, key), [[value]])
    shown = computed(document, made("metric", "demo").values["Trials"])["Blocks to inspect"]
    faulty = ceil((lot or 0) * share - 1e-9)
    unseen = (
        (lambda taken: stats.hypergeom.pmf(0, lot, faulty, taken))
        if lot
        else (lambda taken: stats.binom.pmf(0, taken, share))
    )
    enough = next(taken for taken in range(1, 1000) if unseen(taken) <= 1 - confidence + 1e-9)
    assert shown["Blocks to inspect"] == enough


@pytest.mark.parametrize(
    "trial",
    [
        Trial((None, None), (None, None), ([], [])),
        Trial((10, None), (None, 2), ([1.0], [])),
        Trial((10, 12), (0, 0), ([2.0, 2.0], [2.0, 2.0])),
        Trial((10, 12), (10, 0), ([], [1.0, 1.5, 2.0])),
        Trial((10, 12), (1, 1), ([0.0, 0.0], [0.0, 0.0, 0.1])),
        Trial((0, 3), (0, 5), ([], [])),
    ],
    ids=["blank", "half", "all alike", "all lost", "nothing grew", "impossible"],
)
def test_a_trial_without_enough_figures_shows_no_error(trial: Trial, document: Document) -> None:
    found = shown(document, trial)
    values = [value for part in found.values() for value in part.values()]
    assert not any(isinstance(value, CellError) for value in values)
