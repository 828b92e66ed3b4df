"""How times grow with the rows of the logs: five sizes, a fitted exponent, a plot."""

from __future__ import annotations

from math import log
from statistics import linear_regression
from typing import TYPE_CHECKING

from books import FOLDER, computed
from keeping import once
from measuring import Figure, benchmark, seconds
from office import Office
from seasons_drawn import entries_of

from workbook_template.build import build
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SIZES = (100, 200, 400, 800, 1600)
"""Batches; the logs hold four harvests for each."""
TIMES: dict[str, list[float]] = {}


def _exponent(name: str, timed: Callable[[int], float]) -> Figure:
    """Fit the power of the size that the time grows with."""
    times = TIMES[name] = [timed(size) for size in SIZES]
    return Figure(_slope(times), times[-1], times[0])


def _slope(times: list[float]) -> float:
    return linear_regression(list(map(log, SIZES)), list(map(log, times))).slope


def _book(size: int) -> Path:
    return FOLDER / f"growing-{size}.xlsx"


def _built(size: int) -> float:
    entries = entries_of(size)
    settings = Settings(batch_rows=size)
    return seconds(lambda: build(_book(size), settings, entries))


@benchmark("build-growth", "building with 100 to 1600 batches", "rows", 1.15, "power")
def building() -> Figure:
    """Build workbooks of growing size."""
    return _exponent("building", _built)


@benchmark("recalculate-growth", "LibreOffice computing them anew", "rows", 1.3, "power")
def recalculating() -> Figure:
    """Compute workbooks of growing size."""
    with Office() as office:

        def recalculated(size: int) -> float:
            if not _book(size).exists():
                _built(size)
            with office.document(_book(size)) as document:
                return computed(document)

        return _exponent("recalculation", recalculated)


@benchmark("carry-growth", "carrying them over", "rows", 1.15, "power")
def carrying_over() -> Figure:
    """Carry workbooks of growing size over."""

    def carried(size: int) -> float:
        if not _book(size).exists():
            _built(size)
        return once("carry", _book(size))[0]

    return _exponent("carrying over", carried)


def plot(target: Path) -> bool:
    """Draw the times on scales of powers; tell whether there was a library to draw with."""
    try:
        from matplotlib.figure import Figure as Drawing
    except ImportError:
        return False
    drawing = Drawing(figsize=(7, 5), layout="constrained")
    axes = drawing.subplots()
    for name, times in TIMES.items():
        axes.loglog(SIZES, times, marker="o", label=f"{name}: rows to the {_slope(times):.2f}")
    axes.set(xlabel="batches, with four harvests each", ylabel="seconds")
    axes.set_title("Time against rows")
    axes.legend()
    axes.grid(visible=True, which="both", alpha=0.3)
    drawing.savefig(target)
    return True
