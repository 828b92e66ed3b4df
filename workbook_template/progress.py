"""Says on a terminal what long work is at; stays silent in a pipe, and in short work."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

PATIENCE = 1.0
"""Seconds without a word."""


@contextmanager
def telling() -> Iterator[Callable[[str], None]]:
    """Give what tells the step that work is at, in one line that goes away at the end."""
    terminal = sys.stderr
    start = monotonic()
    width = 0

    def tell(step: str) -> None:
        nonlocal width
        if terminal is not None and terminal.isatty() and monotonic() - start >= PATIENCE:
            terminal.write(f"\r{step:<{width}}")
            terminal.flush()
            width = len(step)

    try:
        yield tell
    finally:
        if width:
            terminal.write(f"\r{'':<{width}}\r")
            terminal.flush()
