"""Computes a workbook in a process of its own, so that an engine that breaks off takes none along.

Where memory runs out, the compiled engine ends its process without a word. This file is run by
itself, and imports nothing of the package: to begin takes it a tenth of a second.
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_ANY_SIZE = dict.fromkeys(("max_input_bytes", "max_expanded_bytes", "max_part_bytes"), 2**40)


class EngineError(RuntimeError):
    """The engine broke off."""


def values_of(
    package: bytes, cells: Mapping[str, Sequence[tuple[int, int]]]
) -> dict[str, list[Any]]:
    """Return the values of some cells of a workbook file that the engine can read.

    Parameters
    ----------
    package : bytes
        The file.
    cells : mapping of str to sequence
        Row and column of each cell, by the title of its sheet.

    Returns
    -------
    dict
        The values in the order of the cells; an error value is a mapping with its ``kind``.

    Raises
    ------
    EngineError
        If the engine cannot compute the file, or there is too little memory for that.
    """
    wanted = json.dumps(cells).encode()
    done = subprocess.run(
        [sys.executable, "-P", __file__],
        input=wanted + b"\n" + package,
        capture_output=True,
        check=False,
    )
    if done.returncode:
        last = done.stderr.decode(errors="replace").strip().rpartition("\n")[2]
        raise EngineError(last or f"ended with {done.returncode}")
    values: dict[str, list[Any]] = json.loads(done.stdout)
    return values


def _compute() -> None:
    """Read what is wanted, and write its values."""
    import formualizer

    _forget_limits()
    cells = json.loads(sys.stdin.buffer.readline())
    engine: Any = formualizer.load_workbook_bytes(sys.stdin.buffer.read(), load_limits=_ANY_SIZE)
    engine.set_temporal_egress("serial")
    engine.evaluate_all()
    values = {
        title: [engine.get_value(title, row, column) for row, column in places]
        for title, places in cells.items()
    }
    sys.stdout.write(json.dumps(values))


def _forget_limits() -> None:
    """Lift the limits of a process that reads a stranger's workbook: this file is our own.

    The engine may put formulas aside in a temporary file.
    """
    try:
        import resource
    except ImportError:  # on Windows
        return
    for limit in (resource.RLIMIT_CPU, resource.RLIMIT_DATA, resource.RLIMIT_FSIZE):
        most = resource.getrlimit(limit)[1]
        resource.setrlimit(limit, (most, most))


if __name__ == "__main__":
    _compute()
