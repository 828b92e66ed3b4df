"""Measures how long things take against their floors, prints a table and saves it.

``python3 tests/benchmarks/run.py`` measures all, ``run.py import build`` those two; ``--list``
names them. The table is saved as ``benchmarks.json``, and plots beside it, in ``--output``.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent / "support"), str(HERE.parents[1])]

import addin  # noqa: F401
import books
import calls  # noqa: F401
import growth
import keeping  # noqa: F401
from measuring import BENCHMARKS, Benchmark, Figure

OUTPUT = HERE.parents[1] / "build" / "benchmarks"


def shown(one: Benchmark, figure: Figure) -> str:
    """Return one line of the table."""
    met = "met" if figure.value <= one.goal else "NOT MET"
    return (
        f"{one.name:<12} {figure.value:9.2f} {one.unit:<8} goal {one.goal:g}  {met:<8} "
        f"{one.what}, against {one.floor}"
    )


def measured(one: Benchmark) -> dict[str, Any]:
    """Measure one, and give what is saved of it."""
    figure = one.run()
    print(shown(one, figure), flush=True)
    about = {key: value for key, value in vars(one).items() if key != "run"}
    return about | asdict(figure) | {"met": figure.value <= one.goal}


def main() -> int:
    """Measure what is named, or all; give how many goals are not met."""
    parser = argparse.ArgumentParser(description="Measure times against their floors.")
    parser.add_argument("names", nargs="*", metavar="NAME", help="what to measure; all by default")
    parser.add_argument("--list", action="store_true", help="name what can be measured")
    parser.add_argument("--output", type=Path, default=OUTPUT, help=f"folder; default: {OUTPUT}")
    options = parser.parse_args()
    unknown = set(options.names) - set(BENCHMARKS)
    if options.list or unknown:
        print("\n".join(f"{one.name:<12} {one.what}" for one in BENCHMARKS.values()))
        return 2 if unknown else 0
    options.output.mkdir(parents=True, exist_ok=True)
    try:
        results = [measured(BENCHMARKS[name]) for name in options.names or BENCHMARKS]
    finally:
        books.forget()
    saved = options.output / "benchmarks.json"
    saved.write_text(json.dumps(results, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    print(f"Saved as {saved}.")
    if growth.TIMES:
        picture = options.output / "growth.png"
        drawn = growth.plot(picture)
        print(f"Drawn as {picture}." if drawn else "For the plot: pip install matplotlib")
    return sum(not one["met"] for one in results)


if __name__ == "__main__":
    sys.exit(main())
