"""Carrying over and checking a large workbook, against openpyxl reading it: time and memory."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from functools import cache
from pathlib import Path
from statistics import median

from books import FOLDER, LARGE, large
from measuring import Figure, benchmark

HERE = Path(__file__).resolve().parent
KEPT = 2000
"""Batches; of twice as many, more is to be read than the command takes even when told to."""
WORKS = ("read", "carry", "check")
TURNS = 3
FLOOR = "openpyxl reading it, read-only"


@cache
def spent(path: Path) -> dict[str, tuple[float, float]]:
    """Return the median seconds and megabytes that each work on a workbook takes, in turns."""
    turns = [{work: once(work, path) for work in WORKS} for _ in range(TURNS)]
    return {
        work: (median(turn[work][0] for turn in turns), median(turn[work][1] for turn in turns))
        for work in WORKS
    }


def once(work: str, path: Path) -> tuple[float, float]:
    """Work in a process of its own."""
    done = subprocess.run(
        [sys.executable, str(HERE / "keeping_calls.py"), work, str(path), str(FOLDER)],
        env=os.environ | {"PYTHONPATH": str(HERE.parents[1])},
        check=True,
        capture_output=True,
    )
    took, peak = json.loads(done.stdout)
    return took, peak


@benchmark(
    "large-memory",
    f"the most memory while building {LARGE} batches",
    "nothing: megabytes",
    2000,
    "MB",
)
def memory_of_building() -> Figure:
    """Measure the memory of building a workbook of many years, with its values."""
    _, megabytes = once("build", Path(f"{LARGE}.xlsx"))
    return Figure(megabytes, megabytes, 1.0)


def _against_reading(work: str, which: int) -> Figure:
    both = spent(large(KEPT))
    took, least = both[work][which], both["read"][which]
    return Figure(took / least, took, least)


@benchmark("carry", f"carrying over {KEPT} batches", FLOOR, 3)
def carrying_over() -> Figure:
    """Make a large workbook anew."""
    return _against_reading("carry", 0)


@benchmark("carry-memory", "the most memory while carrying over", FLOOR, 2)
def memory_of_carrying_over() -> Figure:
    """Measure the memory of it."""
    return _against_reading("carry", 1)


@benchmark("check", f"checking {KEPT} batches", FLOOR, 3)
def checking() -> Figure:
    """Check a large workbook."""
    return _against_reading("check", 0)


@benchmark("check-memory", "the most memory while checking", FLOOR, 2)
def memory_of_checking() -> Figure:
    """Measure the memory of it."""
    return _against_reading("check", 1)
