"""Runs a command in a process of its own, with a limit of time and memory.

A workbook of anybody's is read there. Whatever it does to the reader, an endless loop, all of the
memory, a crash of a compiled library, the process that waits outside ends with one sentence. It
takes nothing back but the exit status: what the command says it writes itself to the terminal.
"""

from __future__ import annotations

import faulthandler
import gc
import json
import os
import signal
import subprocess
import sys
import threading
import time
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from workbook_template.errors import shown
from workbook_template.signals import Stopped

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

try:
    import resource
except ImportError:  # on Windows
    resource = None  # type: ignore[assignment]

SECONDS = 20
"""Of the processor, to open a workbook; the largest that is read takes a quarter of it."""
MEGABYTES = 500
"""To open a workbook, besides what the program takes."""
_WHOLE = 30
"""Times as much for all that a command does with it."""
_BY_THE_CLOCK = 3
"""Times as long, where a system counts no processor time."""
_WRONG_USE = 2
_SECONDS_TO_TIDY = 5
_ENDED = 64
"""What is added to the exit status of a command that ended by itself."""
_TOO_LITTLE_MEMORY = (
    "there is too little memory. Close other programs, and try again. No file was changed."
)
_PROGRAM = "workbook_template.cli"
"""Imported only in the process apart, where it may take more memory than there is."""
_START = (
    "import json, sys; sys.path[:] = json.loads(sys.argv.pop(1)); "
    "from workbook_template.safety.guard import work; work()"
)

_is_apart = False
"""Whether this process is the one that is watched."""
_given: dict[int, int] = {}
"""The limits that were set for it from outside."""


def run_apart(arguments: Sequence[str], name: str, is_read: bool = True) -> int:
    """Run a command in a process of its own.

    Parameters
    ----------
    arguments : sequence of str
        The command and what follows it.
    name : str
        The workbook it is about, for the sentence.
    is_read : bool
        Whether that is read, and not only written.

    Returns
    -------
    int
        The exit status of the command; 2 after a sentence, where it was stopped or broke off.
    """
    command = [sys.executable, "-P", "-c", _START, json.dumps(sys.path), shown(name), *arguments]
    # The process ends where the pipe does: whoever stops this one stops both.
    with subprocess.Popen(command, stdin=subprocess.PIPE) as process:
        try:
            status = process.wait()
        except Stopped as end:
            process.send_signal(end.number)
            process.wait()  # it takes back what it began, and says so
            return end.status
    if status >= _ENDED:
        return status - _ENDED
    _say(name, _why(status, is_read))
    return _WRONG_USE


def _why(status: int, is_read: bool) -> str:
    """Return why a process ended that did not end by itself."""
    if resource is None:
        is_late = status == 1  # with which Python's own watch ends it
    else:
        is_late = status == -signal.SIGXCPU
        if status == -signal.SIGKILL:  # what Linux does where there is no memory left
            return _TOO_LITTLE_MEMORY
    if not is_read:
        return _TOO_LITTLE_MEMORY
    if is_late:
        return "it takes longer than any farm's workbook. If it is your own, add --large."
    return (
        "the work broke off: there is too little memory, or the file is damaged. Close other "
        "programs, or open the file in your spreadsheet program and save it anew; then try again. "
        "No file was changed."
    )


def _say(name: str, why: str) -> None:
    sys.stderr.write(f"cultivar-fx: {shown(name)}: {why}\n")


# In the process apart


def work() -> None:
    """Do what the arguments of this process say, and end it."""
    global _is_apart
    _is_apart = True
    name = sys.argv.pop(1)
    # Where memory is short, Python would begin a line with what it ignores, and fail to end it.
    # What it calls instead takes no memory, and says nothing.
    sys.unraisablehook = callable
    threading.Thread(target=_end_with_the_other, daemon=True).start()
    _silence_libraries()
    gc.disable()  # a command is one piece of work, and no garbage is looked for at its end either
    _limit(_WHOLE * SECONDS, 0)
    status = _WRONG_USE
    try:
        status = import_module(_PROGRAM).main(sys.argv[1:])
        if sys.stdout is not None:
            sys.stdout.flush()
    except SystemExit as end:  # what argparse raises
        status = end.code if isinstance(end.code, int) else status
    except BrokenPipeError:  # the reader of a pipe has seen enough
        status = 0
    except MemoryError:
        _say(name, _TOO_LITTLE_MEMORY)
    except Exception as error:
        _say(name, _stumbled(error))
    sys.stderr.flush()
    os._exit(_ENDED + status)  # nothing is left to do, and much to take down


def _end_with_the_other() -> None:
    """Wait for the end of the process outside, and end this one: first as anybody would."""
    os.read(0, 1)
    os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(_SECONDS_TO_TIDY)
    os._exit(_WRONG_USE)


def _silence_libraries() -> None:
    """Keep compiled libraries from writing to the terminal, where Python still does."""
    terminal = os.dup(2)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    encoding, errors = sys.stderr.encoding, sys.stderr.errors
    sys.stderr = os.fdopen(terminal, "w", 1, encoding=encoding, errors=errors)


def _stumbled(error: Exception) -> str:
    """Return what nobody thought of, with where it happened."""
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    where = Path(trace.tb_frame.f_code.co_filename).name if trace else ""
    line = trace.tb_lineno if trace else 0
    return (
        f"the work stumbled over it ({type(error).__name__} in {where}, line {line}). Open the "
        "file in your spreadsheet program, save it anew, and try again. No file was changed."
    )


@contextmanager
def opening(large: bool) -> Iterator[None]:
    """Open a workbook within the limits, in a process apart; in any other there are none.

    Parameters
    ----------
    large : bool
        Whether it is the grower's own, and may take what it takes.
    """
    if not _is_apart or large:
        if _is_apart:
            _limit(0, 0)
        yield
        return
    _limit(SECONDS, MEGABYTES)
    stop = _watch(SECONDS * _BY_THE_CLOCK)
    try:
        yield
    finally:
        stop()
        _limit(_WHOLE * SECONDS, _WHOLE * MEGABYTES)


def _limit(seconds: int, megabytes: int) -> None:
    """Let this process take so much more; 0 stands for no limit."""
    if resource is None:
        return
    used = int(time.process_time()) + 1
    _set_limit(resource.RLIMIT_CPU, used + seconds if seconds else 0)
    status = Path("/proc/self/status")
    if status.exists():  # other systems do not keep to such a limit
        data = int(status.read_text().partition("VmData:")[2].split()[0]) << 10
        _set_limit(resource.RLIMIT_DATA, data + (megabytes << 20) if megabytes else 0)


def _set_limit(what: int, amount: int) -> None:
    assert resource is not None
    now, most = resource.getrlimit(what)
    given = _given.setdefault(what, now)
    is_bounded = given != resource.RLIM_INFINITY
    if not amount or (is_bounded and amount > given):
        amount = given
    resource.setrlimit(what, (amount, most))


def _watch(seconds: int) -> Callable[[], None]:
    """End this process after some time by the clock, where nothing counts that of the processor."""
    if resource is not None:
        return lambda: None
    faulthandler.dump_traceback_later(seconds, exit=True, file=2)  # where nobody sees it
    return faulthandler.cancel_dump_traceback_later
