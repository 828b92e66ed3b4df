"""Ends a command that is told to stop as one that fails: whatever it began is taken back."""

from __future__ import annotations

import signal
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

_NUMBERS = [
    number
    for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
    if (number := getattr(signal, name, None)) is not None
]
"""Ctrl+C, the end of the session or of the terminal, Ctrl+Break on Windows."""
_STATUS = 128
"""What shells add to the number of a signal."""


class Stopped(BaseException):
    """A command was told to stop.

    Parameters
    ----------
    number : int
        The signal.
    """

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number
        self.status = _STATUS + number


@contextmanager
def stoppable() -> Iterator[None]:
    """Raise ``Stopped`` where the process is told to stop; what it ignores it still ignores."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {one: signal.getsignal(one) for one in _NUMBERS}
    heard = [one for one, handler in before.items() if handler not in (signal.SIG_IGN, None)]

    def stop(number: int, _frame: FrameType | None) -> None:
        for one in heard:  # nothing interrupts the tidying
            signal.signal(one, signal.SIG_IGN)
        raise Stopped(number)

    try:
        for one in heard:
            signal.signal(one, stop)
        yield
    finally:
        for one in heard:
            signal.signal(one, before[one])
