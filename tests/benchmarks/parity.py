"""Holds native formulas in LibreOffice against Python for as many random inputs as wanted.

``python3 tests/benchmarks/parity.py 1000000 --seed 5`` is for the night; the tests of every day
compare some ten thousand. Ends with 1 if any answer differs.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from random import Random
from time import perf_counter

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parent / "support"), str(HERE.parents[1])]

from inputs import number_cases
from office import Office
from test_parity import NATIVE, argument_places, recalculation, report

from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.catalog.native import formula

DRAWS_A_DOCUMENT = 5


def compared(office: Office, name: str, system: str, seed: str) -> tuple[int, list[str]]:
    """Compare some hundred calls of a function; give their number, and what differs."""
    wanted = NATIVE[name]
    random = Random(f"{seed} {name} {system}")
    cases = [case for _ in range(DRAWS_A_DOCUMENT) for case in number_cases(wanted, system, random)]
    places = argument_places(wanted, system)
    formulas = {
        "guarded": formula(name, places, system, guarded=True),
        "plain": formula(name, places, system),
    }
    found = recalculation(office, wanted, system, cases, formulas)
    differing = found.differences("guarded") + found.differences("plain", only_numbers=True)
    return len(cases), [report(differing, formulas["guarded"])] if differing else []


def main() -> int:
    """Compare until there are enough inputs."""
    parser = argparse.ArgumentParser(description="Compare native formulas with Python.")
    parser.add_argument("inputs", type=int, nargs="?", default=1_000_000, help="default: 1000000")
    parser.add_argument("--seed", default="0", help="draw others")
    options = parser.parse_args()
    count, turn, differences = 0, 0, []
    start = perf_counter()
    with Office() as office:
        while count < options.inputs:
            for name in NATIVE:
                for system in SYSTEMS:
                    more, differing = compared(office, name, system, f"{options.seed} {turn}")
                    count += more
                    differences += differing
                if sys.stderr.isatty():
                    print(f"\r{count} of {options.inputs}", end="", file=sys.stderr, flush=True)
                if count >= options.inputs:
                    break
            turn += 1
    took = perf_counter() - start
    print("\n".join(differences))
    print(
        f"{count} inputs in {took:.0f} s, {count / took:.0f} a second; "
        f"{len(differences)} documents of some hundred inputs differ."
    )
    return bool(differences)


if __name__ == "__main__":
    sys.exit(main())
