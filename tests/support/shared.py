"""Files that take a while to make, made once a run for all the processes that it goes on in."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from workbook_template import build as building

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

STEPS = {name: getattr(building, name) for name in ("with_stored_values", "small")}
"""Of writing a workbook: what is shared has its values."""

VARIABLE = "TESTS_SHARED"
"""Names the folder of the run to all its processes."""
LONGEST_WAIT = 600
"""Seconds for another process to make a file."""


def shared(name: str, write: Callable[[Path], object]) -> Path:
    """Return a file to be read only; where it is not there yet, it is written."""
    path = Path(os.environ[VARIABLE], name)
    path.parent.mkdir(parents=True, exist_ok=True)
    lock = sqlite3.connect(f"{path}.lock", timeout=LONGEST_WAIT, isolation_level=None)
    with closing(lock):
        lock.execute("BEGIN EXCLUSIVE")  # until it is closed, or its process ends
        if not path.exists():
            unfinished = path.with_name(f"unfinished {path.name}")
            with pytest.MonkeyPatch.context() as whole:
                for step, as_it_is in STEPS.items():  # whatever a test has put in their place
                    whole.setattr(building, step, as_it_is)
                write(unfinished)
            unfinished.replace(path)
    return path


@contextmanager
def without_values() -> Iterator[None]:
    """Let workbooks be written without the values of their formulas, and large."""
    with pytest.MonkeyPatch.context() as patch:
        for step in STEPS:
            patch.setattr(building, step, lambda package: package)
        yield
