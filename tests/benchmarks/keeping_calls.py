"""Does one work on a workbook, and prints the seconds and the most megabytes that it took."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from time import perf_counter

import openpyxl
from seasons_drawn import entries_of

from workbook_template.build import build
from workbook_template.operations.carry_over import carry_over
from workbook_template.operations.check import check
from workbook_template.writing.blocks import Settings

KILOBYTES = 1000
STATUS = Path("/proc/self/status")


def read(path: Path) -> None:
    """Read every cell of a workbook."""
    for sheet in openpyxl.load_workbook(path, read_only=True):
        for _ in sheet.iter_rows(values_only=True):
            pass


def most_memory() -> float:
    """Return the most megabytes so far; what ``resource`` gives begins with those of the parent."""
    line = next(line for line in STATUS.read_text().splitlines() if line.startswith("VmHWM"))
    return float(line.split()[1]) / KILOBYTES


def main() -> None:
    """Do what the command line names."""
    work, path, folder = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    start = perf_counter()
    if work == "carry":
        carry_over(path, folder / "carried.xlsx", replace=True, large=True)
    elif work == "build":
        batches = int(path.stem)
        build(folder / "built.xlsx", Settings(batch_rows=batches), entries_of(batches))
    elif work == "check":
        check(path, large=True)
    else:
        read(path)
    took = perf_counter() - start
    print(json.dumps([took, most_memory()]))


if __name__ == "__main__":
    main()
