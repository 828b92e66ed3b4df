"""How long a call takes: starting up, one cell, a range of cells."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from measuring import Figure, benchmark, more_microseconds, ratio

import cultivar_fx
from cultivar_fx.stages import substrate

if TYPE_CHECKING:
    from collections.abc import Callable

PROJECT = Path(__file__).resolve().parents[2]
MASS, MOISTURE, TARGET = 90.7, 0.06, 0.62
CALC = ("-m", "workbook_template.cli", "calc", "WATER_TO_ADD", "200 lb", "6%", "62%")


def python(*arguments: str) -> Callable[[], object]:
    """Return the running of a fresh interpreter that finds the project."""
    environment = os.environ | {"PYTHONPATH": str(PROJECT)}
    command = [sys.executable, *arguments]
    return lambda: subprocess.run(
        command, env=environment, check=True, capture_output=True, cwd=PROJECT
    )


@benchmark("import", "import cultivar_fx in a fresh process", "bare interpreter start", 1.8)
def importing() -> Figure:
    """Import the package in a fresh process."""
    return ratio(python("-c", "import cultivar_fx"), python("-c", "pass"), turns=21)


@benchmark("calc", "cultivar-fx calc with a text quantity", "bare interpreter importing pint", 1.3)
def calculating() -> Figure:
    """Answer one call on the command line."""
    return ratio(python(*CALC), python("-c", "import pint"), turns=11)


@benchmark("scalar", "one worksheet call, numbers only", "the plain function", 8, "µs more")
def one_cell() -> Figure:
    """Answer one cell from numbers."""
    return more_microseconds(
        lambda: cultivar_fx.water_to_add(MASS, MOISTURE, TARGET),
        lambda: substrate.water_to_add(MASS, MOISTURE, TARGET),
    )


@benchmark("text", "one call with a text quantity, warm", "the same with a number", 10, "µs more")
def text_quantity() -> Figure:
    """Answer one cell from a text quantity whose unit was met before."""
    cultivar_fx.water_to_add("200 lb", MOISTURE, TARGET)
    return more_microseconds(
        lambda: cultivar_fx.water_to_add("200 lb", MOISTURE, TARGET),
        lambda: cultivar_fx.water_to_add(MASS, MOISTURE, TARGET),
    )


def _through_xlwings(function: str) -> Figure:
    """Let a process with stand-ins for Windows call a function and an echo by xlwings' own path."""
    script = Path(__file__).with_name("xlwings_calls.py")
    done = subprocess.run(
        [sys.executable, str(script), function],
        env=os.environ | {"PYTHONPATH": f"{PROJECT}{os.pathsep}{PROJECT / 'tests' / 'support'}"},
        check=True,
        capture_output=True,
    )
    took, least = json.loads(done.stdout)
    return Figure(took / least, took, least)


@benchmark(
    "spill", "10 000 cells in, 10 000 answers, by xlwings' path", "an echo of the cells", 2.5
)
def spilled_range() -> Figure:
    """Answer a range cell by cell."""
    return _through_xlwings("CFX_WATER_TO_ADD")


@benchmark("range", "10 000 cells in, one answer, by xlwings' path", "an echo of their sum", 2.5)
def whole_range() -> Figure:
    """Answer a range as a whole."""
    return _through_xlwings("CFX_LETHALITY")
