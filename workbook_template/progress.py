"""Work on a whole workbook: says on a terminal what it is at, and is left alone by the collector.

In a pipe, and where it is soon over, it stays silent.
"""

from __future__ import annotations

import gc
import sys
from contextlib import contextmanager
from contextvars import ContextVar
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

PATIENCE = 1.0
"""Seconds without a word."""

_teller: ContextVar[Callable[[str], None] | None] = ContextVar("teller", default=None)


def tell(step: str) -> None:
    """Write what the work is at, if there is anybody to read it."""
    teller = _teller.get()
    if teller is not None:
        teller(step)


@contextmanager
def long_work() -> Iterator[None]:
    """Do work that may take long, or a part of such work."""
    if _teller.get() is not None:
        yield
        return
    with _telling(), _all_stays():
        yield


@contextmanager
def _telling() -> Iterator[None]:
    """Show each step in one line, which goes away at the end."""
    terminal = sys.stderr
    start = monotonic()
    width = 0

    def show(step: str) -> None:
        nonlocal width
        if terminal is not None and terminal.isatty() and monotonic() - start >= PATIENCE:
            terminal.write(f"\r{step:<{width}}")
            terminal.flush()
            width = len(step)

    token = _teller.set(show)
    try:
        yield
    finally:
        _teller.reset(token)
        if width:
            terminal.write(f"\r{'':<{width}}\r")
            terminal.flush()


@contextmanager
def _all_stays() -> Iterator[None]:
    """Keep Python from searching the cells for garbage again and again: there is none."""
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()
