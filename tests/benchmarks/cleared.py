"""Lets three engines compute every workbook with something missing; for the night.

``python3 tests/benchmarks/cleared.py`` clears each input of the demo in turn, in both systems, and
each table's last row, and fills a new workbook sheet by sheet; some 500 workbooks in half an hour.
``--every-row`` clears every filled cell of every table. Ends with 1 if any engine computes a cell
differently, or shows an error.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent / "support"), str(HERE.parents[1])]

from missing_inputs import first_rows, opened, report, wrong
from office import Office

from cultivar_fx.catalog.dimensions import SYSTEMS
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Iterator

    from missing_inputs import Case, Opened


def cases(office: Office, every_row: bool) -> Iterator[tuple[str, Opened, Case]]:
    """Return every case, with the system and the workbook that it belongs to."""
    for units in SYSTEMS:
        with opened(office, Settings(units, invented=True), demo_entries(units)) as demo:
            for case in (*demo.inputs(every_row), *demo.last_rows()):
                yield units, demo, case
        with opened(office, Settings(units), first_rows(units)) as begun:
            for case in begun.steps():
                yield units, begun, case


def main() -> int:
    """Try every case, and report those that are not right."""
    parser = argparse.ArgumentParser(description="Compare three engines where inputs are missing.")
    parser.add_argument("--every-row", action="store_true", help="clear every filled cell")
    parser.add_argument("-k", default="", metavar="WORDS", help="only cases that are called so")
    options = parser.parse_args()
    count, bad = 0, 0
    start = perf_counter()
    with Office() as office:
        for units, workbook, case in cases(office, options.every_row):
            if options.k not in case.words:
                continue
            found = wrong(workbook, [case])
            count, bad = count + 1, bad + len(found)
            if found:
                print(f"{units}, {report(found)}", flush=True)
            if sys.stderr.isatty():
                print(f"\r{units} {count}, {bad} bad", end="", file=sys.stderr, flush=True)
    took = perf_counter() - start
    print(f"{count} workbooks in {took:.0f} s, {took / max(count, 1):.1f} s each; {bad} not right.")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
