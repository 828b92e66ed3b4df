"""Does one work on a workbook, and prints the seconds and the most megabytes that it took."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from resource import RUSAGE_SELF, getrusage
from time import perf_counter

import openpyxl

from workbook_template.keeping.carry_over import carry_over
from workbook_template.keeping.checking import check

KILOBYTES = 1000


def read(path: Path) -> None:
    """Read every cell of a workbook."""
    for sheet in openpyxl.load_workbook(path, read_only=True):
        for _ in sheet.iter_rows(values_only=True):
            pass


def main() -> None:
    """Do what the command line names."""
    work, path, folder = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    start = perf_counter()
    if work == "carry":
        carry_over(path, folder / "carried.xlsx", replace=True, large=True)
    elif work == "check":
        check(path, large=True)
    else:
        read(path)
    took = perf_counter() - start
    print(json.dumps([took, getrusage(RUSAGE_SELF).ru_maxrss / KILOBYTES]))


if __name__ == "__main__":
    main()
