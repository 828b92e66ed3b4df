"""Works with mutated workbooks by ``check`` and ``carry-over``, in a process of its own.

Run as a script it writes a line of JSON for each workbook. One that hangs ends the process: then
its line is missing. Every ``REAL``-th is worked with as it is for a grower; for the others the
filling-in of stored values is stood in for, and the two commands share one reading.
"""

from __future__ import annotations

import json
import re
import signal
import sys
import time
import zipfile
from contextlib import contextmanager, nullcontext, redirect_stderr, redirect_stdout
from functools import lru_cache
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, NamedTuple
from unittest import mock

import cell_mutations
import mutations
from packages import small_workbook
from small_farm import BATCH_ROWS, few_batches

from cultivar_fx.catalog.dimensions import SYSTEMS
from workbook_template import build as building
from workbook_template.cli import main
from workbook_template.operations import carry_over as carrying
from workbook_template.operations import check as checking
from workbook_template.reading.entries import read
from workbook_template.reading.unmatched import Search
from workbook_template.safety.opening import open_workbook
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

REAL = 25
LONGEST_LINE = 500
_HANG = 120
"""Seconds by the clock after which a workbook is given up, on a machine however busy."""
_DROPPED = {"Functions", "Sources", "Labels", "Week plan", "Forecast", "Results", "Rooms", "Start"}
"""Sheets of the whole workbook that would only make each reading longer."""
_EARLIER = ["old.xlsx", "Farm", "H30", "beside our cells", None, "=1+1", "=1+1"]
"""A line carried over at an earlier time."""
_COMPUTING = re.compile(
    r"<(?:f|formula|formula1|formula2|definedName)\b[^>]*>([^<]*)</|<hyperlink [^>]*>"
)
_NOT_COMPARED = re.compile(r"\[\[[^\]]*\]\]|\d+")
"""Headings hold the currency; rows move."""


class Worked(NamedTuple):
    """How it went: both exit statuses, what was refused, and what is wrong with that."""

    name: str
    checked: int
    carried: int
    words: list[str]
    wrong: list[str]
    seconds: float


def farm_bytes(folder: Path) -> bytes:
    """Build a workbook with all that is typed into, and few sheets besides."""
    entries = few_batches()
    entries.carried = [_EARLIER]
    path = folder / "farm.xlsx"
    building.build(path, Settings("us", batch_rows=BATCH_ROWS, typed_functions=False), entries)
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    book = parts[cell_mutations.BOOK].decode()
    dropped = rf'<sheet name="(?:{"|".join(_DROPPED)})"[^>]*/>'
    parts[cell_mutations.BOOK] = re.sub(dropped, "", book).encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path.read_bytes()


def _computing(path: Path) -> set[str]:
    """Return every text in a file that a program would compute, without what may differ."""
    with zipfile.ZipFile(path) as archive:
        sheets = [archive.read(name).decode() for name in archive.namelist() if ".xml" in name]
    return {
        _NOT_COMPARED.sub("", found[1] or found[0])
        for sheet in sheets
        for found in _COMPUTING.finditer(sheet)
    }


class _Work:
    """Works with one workbook after the other."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._new = folder / "new.xlsx"
        self.bases = (small_workbook(), farm_bytes(folder))
        self._known: set[str] = set()
        for base in self.bases:
            (folder / "farm.xlsx").write_bytes(base)
            for units in SYSTEMS:
                with _hurried():
                    carrying.carry_over(folder / "farm.xlsx", self._new, units, replace=True)
                self._known |= _computing(self._new)
                _read_once.cache_clear()

    def worked(self, seed: int) -> Worked:
        """Work with the workbook of a seed."""
        path = self._folder / f"seed-{seed}.xlsx"
        change = (mutations.mutated, cell_mutations.mutated)[seed % 2]
        original = change(self.bases[seed % 2], seed)
        path.write_bytes(original)
        self._new.unlink(missing_ok=True)
        is_real = seed // 2 % REAL == 0
        start = time.process_time()
        signal.alarm(_HANG)
        with nullcontext() if is_real else _hurried():
            checked = _command("check", path)
            carried = _command("carry-over", path, self._new)
        signal.alarm(0)
        seconds = time.process_time() - start
        wrong = [*_wrong(checked, (0, 1)), *_wrong(carried, (0,))]
        if path.read_bytes() != original:
            wrong.append("the workbook was written")
        if self._new.exists() != (carried[0] == 0):
            wrong.append("the new workbook is there although it was refused, or is not there")
        if self._new.exists():
            wrong += [f"computes {one}" for one in _computing(self._new) - self._known]
            if is_real:
                open_workbook(self._new)
        path.unlink()
        words = [checked[2], carried[2]]
        return Worked(path.name, checked[0], carried[0], words, wrong, seconds)


@lru_cache(maxsize=1)
def _read_once(path: Path, large: bool) -> Any:
    reading = read(path, large)
    reading.search = Search(reading)
    return reading


def _search_once(reading: Any) -> Search:
    return reading.search


@contextmanager
def _hurried() -> Iterator[None]:
    """Stand in for what takes long."""
    quick = {"with_stored_values": lambda package: package, "small": lambda package: package}
    with (
        mock.patch.multiple(building, **quick),
        mock.patch.multiple(carrying, read=_read_once, Search=_search_once),
        mock.patch.multiple(
            checking, read=_read_once, Search=_search_once, can_be_computed=lambda *_: False
        ),
    ):
        yield


def _command(*arguments: object) -> tuple[int, str, str]:
    out, error = StringIO(), StringIO()
    with redirect_stdout(out), redirect_stderr(error):
        try:
            status = main([str(one) for one in arguments])
        except Exception as raised:  # what a grower would see as a traceback
            return -1, out.getvalue(), f"{type(raised).__name__}: {raised}"
    return status, out.getvalue(), error.getvalue()


def _wrong(done: tuple[int, str, str], sound: Sequence[int]) -> Iterator[str]:
    """Return what is not as it has to be: a refusal of one line, or a result."""
    status, out, error = done
    if status == 2:
        is_line = error.count("\n") == 1 and len(error) <= LONGEST_LINE
        if out or not is_line or not error[:-1].isprintable():
            yield f"refused with {out + error!r}"
    elif status not in sound or error:
        yield f"ended with {status}: {error}"
    if not all(line.isprintable() for line in out.splitlines()):
        yield f"said {out!r}"


if __name__ == "__main__":
    first, count = map(int, sys.argv[1:])
    with TemporaryDirectory() as place:
        work = _Work(Path(place))
        for number in range(first, first + count):
            print(json.dumps(work.worked(number)._asdict()), flush=True)  # noqa: T201
