"""What a benchmark is: one figure, held against a floor that is measured in the same run.

Other work on the machine slows both alike, so that a ratio holds where seconds do not. Floor
and measured take turns; the median of the turns counts.
"""

from __future__ import annotations

import os
from contextlib import contextmanager
from dataclasses import dataclass
from statistics import median
from time import perf_counter, process_time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

TURNS = 7


@dataclass(frozen=True)
class Figure:
    """What came out: the figure that the goal is for, and the seconds behind it."""

    value: float
    measured: float
    floor: float


@dataclass(frozen=True)
class Benchmark:
    """One line of the table."""

    name: str
    what: str
    floor: str
    goal: float
    unit: str
    run: Callable[[], Figure]


BENCHMARKS: dict[str, Benchmark] = {}


def benchmark(
    name: str, what: str, floor: str, goal: float, unit: str = "×"
) -> Callable[[Callable[[], Figure]], Callable[[], Figure]]:
    """Enter a function into the table; it gives the figure that the goal is for."""

    def enter(run: Callable[[], Figure]) -> Callable[[], Figure]:
        BENCHMARKS[name] = Benchmark(name, what, floor, goal, unit, run)
        return run

    return enter


@contextmanager
def on_one_processor() -> Iterator[None]:
    """Keep this process, and those that it starts, on one processor where the system can."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    allowed = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(allowed)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, allowed)


def seconds(act: Callable[[], Any]) -> float:
    """Return how long something takes once."""
    start = perf_counter()
    act()
    return perf_counter() - start


def taking_turns(
    measured: Callable[[], float], floor: Callable[[], float], turns: int = TURNS
) -> tuple[float, float]:
    """Return the median seconds of both, which take turns; each gives its own seconds."""
    pairs = [(floor(), measured()) for _ in range(turns)]
    return median(pair[1] for pair in pairs), median(pair[0] for pair in pairs)


def ratio(measured: Callable[[], Any], floor: Callable[[], Any], turns: int = TURNS) -> Figure:
    """Return how many times as long as its floor something takes."""
    return ratio_of(lambda: seconds(measured), lambda: seconds(floor), turns)


def ratio_of(
    measured: Callable[[], float], floor: Callable[[], float], turns: int = TURNS
) -> Figure:
    """Return the ratio of two that measure themselves."""
    took, least = taking_turns(measured, floor, turns)
    return Figure(took / least, took, least)


def more_microseconds(
    measured: Callable[[], Any], floor: Callable[[], Any], calls: int = 2000, turns: int = 25
) -> Figure:
    """Return how many microseconds of the processor more than its floor one call takes."""

    def many(act: Callable[[], Any]) -> Callable[[], float]:
        def run() -> float:
            repeated = range(calls)
            start = process_time()  # other work on the machine does not count
            for _ in repeated:
                act()
            return (process_time() - start) / calls

        return run

    took, least = taking_turns(many(measured), many(floor), turns)
    return Figure((took - least) * 1e6, took, least)
