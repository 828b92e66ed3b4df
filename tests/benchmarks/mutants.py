"""Makes slips in the functions and the rules of a call, and counts those that a test notices.

``python3 tests/benchmarks/mutants.py 250`` is for the night: each slip (a number, an operator, a
comparison, a name for another) is made in a copy of the project, and the tests of that module are
run. It prints the slips that nothing noticed: look whether they change anything.
"""

from __future__ import annotations

import argparse
import ast
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

PROJECT = Path(__file__).resolve().parents[2]
MODULES = ("cultivar_fx/stages", "cultivar_fx/calls", "cultivar_fx/formula/from_python.py")
EACH = ("tests/test_catalog.py", "tests/test_impossible.py")
"""Tests of every function."""
TESTS = {
    "vapor": ["test_climate", "test_steam"],
    "rounding": ["test_bags", "test_spawn", "test_planning"],
    "everywhere": ["test_conversion", "test_call"],
    "from_python": ["test_formula_from_python", "test_native", "test_formula_tree"],
    "arguments": ["test_call"],
    "cells": ["test_call"],
    "plain_units": ["test_plain_units"],
}
"""The tests of a module, where they are not called after it."""
_OPERATORS = {
    "+": "-", "-": "+", "*": "/", "/": "*", "**": "*", "<": "<=", "<=": "<", ">": ">=",
    ">=": ">", "==": "!=", "!=": "==",
}  # fmt: skip
_LONGEST = 300


class Slip(NamedTuple):
    """One token exchanged for another: in a file, from a place to a place."""

    path: str
    line: int
    start: int
    end: int
    instead: str


def slips(path: Path) -> list[Slip]:
    """Return every slip that can be made in the code of a module."""
    name = str(path.relative_to(PROJECT))
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            wrong = repr(
                node.value + 1 if isinstance(node.value, int) else node.value * 1.01 or 0.01
            )
            found.append(Slip(name, node.lineno, node.col_offset, node.end_col_offset or 0, wrong))
        pairs = []
        if isinstance(node, ast.BinOp):
            pairs = [(node.left, node.right)]
        elif isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            pairs = list(zip(sides, sides[1:], strict=False))
        for left, right in pairs:
            if left.end_lineno != right.lineno:
                continue
            between = lines[right.lineno - 1].encode()[left.end_col_offset : right.col_offset]
            sign = between.decode().strip("() ")
            if sign in _OPERATORS:
                start = (left.end_col_offset or 0) + between.decode().index(sign)
                end = start + len(sign)
                found.append(Slip(name, right.lineno, start, end, _OPERATORS[sign]))
    return found


def tests_of(slip: Slip) -> list[str]:
    """Return the test files that have to notice a slip."""
    stem = Path(slip.path).stem
    own = [f"tests/{name}.py" for name in TESTS.get(stem, [f"test_{stem}"])]
    return [*own, *EACH]


def is_noticed(slip: Slip, copy: Path) -> bool:
    """Make a slip in a copy of the project, run its tests, and take the slip back."""
    path = copy / slip.path
    before = path.read_bytes()
    lines = before.splitlines(keepends=True)
    line = lines[slip.line - 1]
    lines[slip.line - 1] = line[: slip.start] + slip.instead.encode() + line[slip.end :]
    path.write_bytes(b"".join(lines))
    command = [sys.executable, "-m", "pytest", "-x", "-p", "no:xdist", *tests_of(slip)]
    try:
        done = subprocess.run(command, cwd=copy, capture_output=True, timeout=_LONGEST)
        return done.returncode != 0
    except subprocess.TimeoutExpired:
        return True
    finally:
        path.write_bytes(before)


def main() -> int:
    """Make as many slips as wanted, and print what was not noticed."""
    parser = argparse.ArgumentParser(description="Make slips, and count those that are noticed.")
    parser.add_argument("count", type=int, nargs="?", default=250, help="default: 250")
    parser.add_argument("--seed", default="0", help="draw others")
    options = parser.parse_args()
    files = [path for name in MODULES for path in [PROJECT / name]]
    modules = [one for path in files for one in (sorted(path.glob("*.py")) or [path])]
    possible = [slip for module in modules for slip in slips(module)]
    drawn = random.Random(options.seed).sample(possible, min(options.count, len(possible)))
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "project"
        shutil.copytree(PROJECT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "build"))
        missed = [slip for slip in drawn if not is_noticed(slip, copy)]
    for slip in missed:
        line = (PROJECT / slip.path).read_text(encoding="utf-8").splitlines()[slip.line - 1]
        print(f"{slip.path}:{slip.line}: {slip.instead} at column {slip.start} of {line.strip()}")
    print(f"{len(drawn) - len(missed)} of {len(drawn)} slips noticed, of {len(possible)} possible")
    return 0


if __name__ == "__main__":
    sys.exit(main())
