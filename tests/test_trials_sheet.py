"""The Trials sheet against statsmodels and scipy: trials of all sorts, typed into LibreOffice."""

from __future__ import annotations

from math import ceil
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from logged_batches import STRAINS
from reading import computed, place, red_checks, red_where
from scipy import stats
from trial_statistics import (
    ASSUMED,
    TOO_FEW,
    Counts,
    Verdict,
    answer,
    difference_interval,
    loss_interval,
    loss_verdict,
    newest_change,
    spread,
    yield_interval,
    yield_verdict,
)
from workbooks import made

from cultivar_fx.errors import CellError
from workbook_template.demo.data import demo_entries

if TYPE_CHECKING:
    from collections.abc import Iterator

    from office import Document, Office

ROWS, WEIGHED = 12, 60
"""Of the lists of batches and of yields of blocks."""
NAMES = ("Usual", "New")
TITLE, PARTS, DIFFERENCE = "Better, or luck?", "The answer in parts", "How B differs from A"


class Trial(NamedTuple):
    """Of A and B: blocks and blocks lost of each batch, and the yields of their good blocks."""

    sides: tuple[Counts, Counts]
    yields: tuple[list[float], list[float]]


@pytest.fixture
def document(office: Office) -> Iterator[Document]:
    with office.kept(made("metric", "demo").path) as opened:
        yield opened


def drawn(seed: int) -> Trial:
    random = Random(seed)
    sides: list[Counts] = []
    yields = []
    for better in (0, random.choice((0, 0, 0.1, 0.5))):
        count = random.randint(1, ROWS // 2)
        sides.append(
            [
                (blocks, round(blocks * random.choice((0, 0.03, 0.1, 0.3))))
                for blocks in (random.randint(10, 90) for _ in range(count))
            ]
        )
        yields.append([random.gauss(2 + better, 0.3) for _ in range(count)])
    return Trial((sides[0], sides[1]), (yields[0], yields[1]))


def typed(document: Document, inputs: dict[str, Any]) -> None:
    for key, value in inputs.items():
        document.write(*place(made("metric", "demo").values, key), [[value]])


def shown(document: Document, trial: Trial) -> dict[str, dict[str, Any]]:
    """Type a trial by batch, and return what the sheet shows; the sides as ``A`` and ``B``."""
    typed(document, {"trial_source": "typed here", "trial_a": NAMES[0], "trial_b": NAMES[1]})
    lines: list[list[Any]] = []
    for side, batches, yields in zip("AB", trial.sides, trial.yields, strict=True):
        lines += [
            [side, None, blocks, lost, each * (blocks - lost)]
            for (blocks, lost), each in zip(batches, yields, strict=True)
        ]
    lines += [[None] * 5] * (ROWS - len(lines))
    document.write(*place(made("metric", "demo").values, "trial_batches.side"), lines)
    weigh(document, [], [])
    return read(document)


def weigh(document: Document, *sides: list[float]) -> None:
    """Type the yields of blocks of A and of B."""
    for side, values in zip("ab", sides, strict=True):
        at = place(made("metric", "demo").values, f"trial_yields.yield_{side}")
        padded = [[value] for value in values] + [[None]] * (WEIGHED - len(values))
        document.write(*at, padded)


def read(document: Document) -> dict[str, Any]:
    sheet = made("metric", "demo").values["Trials"]
    found: dict[str, Any] = computed(document, sheet)
    found |= computed(document, made("metric", "demo").values["Trials workings"])
    rows = document.read("Trials", 0, 0, sheet.max_row, 9)
    titles = [row[0] for row in rows]
    found["Answer"] = rows[titles.index(TITLE) + 1][0]
    start = titles.index("Treatment")
    for side, row in zip("AB", rows[start + 1 : start + 3], strict=True):
        found[side] = dict(zip(rows[start], row, strict=True))
    return found


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("trial_lost_a", 41, "no more blocks lost than started"),
        ("trial_blocks_b", 40.5, "Totals, where you have no figures by batch: cells to fix"),
        ("trial_looks", 6, "What would settle it: cells to fix"),
        ("trial_yields.yield_b", "much", "rows to fix. With B: needs a number, 0 or more."),
        ("trial_yields.yield_a", -1, "rows to fix. With A: needs a number, 0 or more."),
    ],
)
def test_a_fault_turns_its_check_red(key: str, value: Any, words: str, office: Office) -> None:
    red = red_where(office, "metric", key, value)
    assert any(words in check for check in red), red


def test_no_more_blocks_are_weighed_than_were_good(document: Document) -> None:
    checks = made("metric", "demo").values["Checks"]
    weigh(document, [1.0] * 4, [1.0] * 4)
    typed(document, {"trial_blocks_a": 5, "trial_lost_a": 1})
    assert red_checks(document, checks) == []
    typed(document, {"trial_lost_a": 2})
    assert red_checks(document, checks) == ["Trial: no more blocks weighed than were good"]


@pytest.mark.parametrize("seed", range(12))
def test_losses_and_yields_are_what_statistics_says(seed: int, document: Document) -> None:
    typed(document, {"enough_for_spread": 6})
    trial = drawn(seed)
    found = shown(document, trial)
    farm = found[DIFFERENCE]["Unevenness of batches"]
    between = spread(trial.sides)
    if between.reach == ASSUMED:  # few batches: the farm's spread, by the many of its log
        between = between._replace(alone=farm, reach=farm * student_over_normal(document))
    assert farm == pytest.approx(between.alone, rel=1e-9)
    losses = _compare_losses(trial, found, between.reach)
    yields = _compare_yields(trial, found)
    assert found["Answer"] == answer(NAMES[1], losses, yields)


def student_over_normal(document: Document) -> float:
    """Return (t/z)^2 for the ended batches of the demo less the strains that lost some."""
    workings = document.read("Results workings", 0, 0, 200, 2)
    freedom = next(row[1] for row in workings if row[0] == "Batches counted less strains")
    return float((stats.t.ppf(0.975, freedom) / stats.norm.ppf(0.975)) ** 2)


def _compare_losses(trial: Trial, found: dict[str, Any], reach: float) -> Verdict:
    for side, batches in zip("AB", trial.sides, strict=True):
        low, high = loss_interval(batches, reach, 0.95)
        assert found[side]["Batches"] == len(batches)
        assert found[side]["Loss, at least, %"] == pytest.approx(low, abs=1e-9)
        assert found[side]["Loss, at most, %"] == pytest.approx(high, abs=1e-9)
    low, high = difference_interval(trial.sides, reach)
    numbers = found[DIFFERENCE]
    assert numbers["Loss, B less A, at least"] == pytest.approx(low, abs=1e-9)
    assert numbers["Loss, B less A, at most"] == pytest.approx(high, abs=1e-9)
    verdict = loss_verdict(trial.sides, low, high)
    assert found[PARTS]["Losses"] == verdict.words
    return verdict


def _compare_yields(trial: Trial, found: dict[str, Any]) -> Verdict:
    numbers = found[DIFFERENCE]
    if min(map(len, trial.yields)) < 2:
        assert numbers["Yield, B more than A, at least"] is None
        assert found[PARTS]["Yields"] == TOO_FEW[1].words
        return TOO_FEW[1]
    middle, low, high = yield_interval(trial.yields)
    assert numbers["Yield, B more than A"] == pytest.approx(middle)
    assert numbers["Yield, B more than A, at least"] == pytest.approx(low, abs=1e-9)
    assert numbers["Yield, B more than A, at most"] == pytest.approx(high, abs=1e-9)
    verdict = yield_verdict(trial.yields)
    assert found[PARTS]["Yields"] == verdict.words
    return verdict


def test_totals_and_yields_of_blocks_count_as_one_batch(document: Document) -> None:
    """As typed into earlier releases. By hand: 40 and 50 blocks, means 2 and 3 kg a block."""
    shown(document, Trial(([], []), ([], [])))
    totals = {"trial_blocks_a": 40, "trial_lost_a": 2, "trial_blocks_b": 50, "trial_lost_b": 10}
    typed(document, totals)
    weigh(document, [1.5, 2.5], [2.0, 3.0, 4.0])
    found = read(document)
    assert [found[side]["Batches"] for side in "AB"] == [1, 1]
    assert [found[side]["Loss, %"] for side in "AB"] == [0.05, 0.2]
    assert [found[side]["Harvest, good block, kg/block"] for side in "AB"] == [2, 3]
    reach = found[DIFFERENCE]["Unevenness of batches"] * student_over_normal(document)
    low, high = difference_interval(([(40, 2)], [(50, 10)]), reach)
    assert found[DIFFERENCE]["Loss, B less A, at least"] == pytest.approx(low)
    assert found[DIFFERENCE]["Loss, B less A, at most"] == pytest.approx(high)
    assert found[DIFFERENCE]["Yield, B more than A"] == pytest.approx(0.5)
    assert found[PARTS]["Yields"] == TOO_FEW[1].words
    line = ["A", None, 80, 4, 150]
    document.write(*place(made("metric", "demo").values, "trial_batches.side"), [line])
    again = read(document)
    assert [again[side]["Blocks"] for side in "AB"] == [80, 50]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_newest_change_of_the_demo_is_compared_while_nothing_is_typed(
    units: str, office: Office
) -> None:
    book = made(units, "demo").values
    rows: list[Any] = demo_entries(units).tables["batches"]
    for strain in (None, STRAINS[0], STRAINS[3]):
        found = newest_change([(row["made"], row["strain"], row["recipe"]) for row in rows], strain)
        with office.kept(made(units, "demo").path) as opened:
            for key, value in {"trial_strain": strain, "trial_a": None, "trial_b": None}.items():
                opened.write(*place(book, key), [[value]])
            said = computed(opened, book["Trials"])["The trial"]["Newest in the logs"]
            column = [row[0] for row in opened.read("Trials", 0, 0, 10, 1)]
        assert found is not None
        assert said == (
            f"{found.strain}: recipe {found.new}, first used {found.since}; before it "
            f"{found.before}.{' Clear Strain for the newest of all.' if strain else ''}"
        )
        compared = f"{found.strain}, {found.before} against {found.new}: "
        assert column[column.index(TITLE) + 2].startswith(compared)


@pytest.mark.parametrize(
    ("share", "confidence", "lot"),
    [(0.05, 0.95, None), (0.01, 0.95, None), (0.05, 0.95, 100), (0.02, 0.9, 400), (0.3, 0.99, 12)],
)
def test_blocks_to_inspect_are_what_a_distribution_says(
    share: float, confidence: float, lot: int | None, document: Document
) -> None:
    typed(
        document,
        {"inspect_share": share, "inspect_confidence": confidence, "inspect_lot": lot},
    )
    shown = computed(document, made("metric", "demo").values["Trials"])["Blocks to inspect"]
    faulty = ceil((lot or 0) * share - 1e-9)
    unseen = (
        (lambda taken: stats.hypergeom.pmf(0, lot, faulty, taken))
        if lot
        else (lambda taken: stats.binom.pmf(0, taken, share))
    )
    enough = next(taken for taken in range(1, 1000) if unseen(taken) <= 1 - confidence + 1e-9)
    assert shown["Blocks to inspect"] == enough


def _alike(blocks: tuple[int, int], lost: tuple[int, int], *yields: list[float]) -> Trial:
    a, b = ([(each, gone)] * len(of) for each, gone, of in zip(blocks, lost, yields, strict=True))
    return Trial((a, b), (yields[0], yields[1]))


@pytest.mark.parametrize(
    "trial",
    [
        _alike((10, 10), (0, 0), [], []),
        _alike((10, 10), (0, 0), [1.0], []),
        _alike((10, 12), (0, 0), [2.0, 2.0], [2.0, 2.0]),
        _alike((10, 12), (10, 0), [1.0, 1.0], [1.0, 1.5, 2.0]),
        _alike((10, 12), (1, 1), [0.0, 0.0], [0.0, 0.0, 0.1]),
        _alike((3, 3), (5, 0), [1.0, 1.0], [1.0]),
    ],
    ids=["blank", "half", "all alike", "all lost", "nothing grew", "impossible"],
)
def test_a_trial_without_enough_figures_shows_no_error(trial: Trial, document: Document) -> None:
    found = shown(document, trial)
    parts = [part.values() if isinstance(part, dict) else part for part in found.values()]
    assert not any(isinstance(value, CellError) for part in parts for value in part)
