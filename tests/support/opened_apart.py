"""Opens workbooks in a process of its own with little memory and time, and tells how it went.

Run as a script it opens every file of a folder, or mutated workbooks, and writes a line of JSON
for each. A file that hangs ends the process: then its line is missing.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

SECONDS = 5
MEGABYTES = 300
_PROJECT = Path(__file__).resolve().parents[2]
_HANG = 60
"""Seconds by the clock after which a file is given up, on a machine however busy."""


class Outcome(NamedTuple):
    """How it went: the error if any, processor seconds, peak memory, and the cells by kind."""

    name: str
    error: str
    kinds: list[str]
    words: str
    seconds: float
    megabytes: float
    formulas: dict[str, str]
    texts: dict[str, str]


def outcomes(*arguments: str) -> list[Outcome]:
    """Run the script apart, and give what it says."""
    return [Outcome(*json.loads(line)) for line in lines_of(Path(__file__), *arguments)]


def lines_of(script: Path, *arguments: str) -> list[str]:
    """Run a script in a process of its own, and give its lines."""
    done = subprocess.run(
        [sys.executable, str(script), *arguments],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(_PROJECT)},
    )
    lines = done.stdout.splitlines()
    if done.returncode:
        last = lines[-1][:200] if lines else "nothing"
        raise AssertionError(f"ended after {last}: {done.returncode} {done.stderr[-2000:]}")
    return lines


def _opened(path: Path) -> Outcome:
    from workbook_template.safety.opening import filled_cells, open_workbook

    formulas, texts = {}, {}
    kinds, words = [], ""
    _forget_peak()
    signal.alarm(_HANG)
    start = time.process_time()
    try:
        workbook = open_workbook(path).formulas
        for sheet in workbook.worksheets:
            for cell in filled_cells(sheet):
                if cell.data_type == "f":
                    formulas[f"{sheet.title}!{cell.coordinate}"] = str(cell.value)[:99]
                elif isinstance(cell.value, str) and cell.value.startswith(("=", "+", "-", "@")):
                    texts[f"{sheet.title}!{cell.coordinate}"] = cell.value[:99]
    except Exception as error:
        kinds, words = [kind.__name__ for kind in type(error).__mro__], str(error)
    seconds = time.process_time() - start
    signal.alarm(0)
    peak = _peak_megabytes()
    error = kinds[0] if kinds else ""
    return Outcome(path.name, error, kinds, words, seconds, peak, formulas, texts)


def _forget_peak() -> None:
    """Let Linux count the peak memory of this process anew."""
    Path("/proc/self/clear_refs").write_text("5")


def _peak_megabytes() -> float:
    status = Path("/proc/self/status").read_text()
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024


def _files(folder: Path) -> Iterator[Path]:
    yield from sorted(folder.iterdir())


def _mutated(base: Path, first: int, count: int) -> Iterator[Path]:
    from mutations import mutated

    original = base.read_bytes()
    with TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            path = Path(folder) / f"seed-{seed}.xlsx"
            path.write_bytes(mutated(original, seed))
            yield path
            path.unlink()


if __name__ == "__main__":
    source = Path(sys.argv[1])
    chosen = _files(source) if len(sys.argv) == 2 else _mutated(source, *map(int, sys.argv[2:]))
    for file in chosen:
        print(json.dumps(_opened(file)), flush=True)  # noqa: T201
