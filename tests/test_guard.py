"""Commands in a process apart: whatever happens there ends as one sentence."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import pytest
from packages import packed, small_workbook
from small_farm import BATCH_ROWS, few_batches

from workbook_template import cli
from workbook_template.build import build
from workbook_template.errors import CannotCompute
from workbook_template.safety import guard
from workbook_template.writing import engine
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

PROJECT = Path(__file__).resolve().parent.parent
_PROGRAM = "import sys; from workbook_template.cli import main; sys.exit(main())"
_HARMED = """
import sys
from unittest import mock
from workbook_template.safety import guard, opening
{harm}
guard.SECONDS, guard.MEGABYTES = 1, 50
with mock.patch.object(opening, "examine", harm):
    guard.work()
"""
"""The process apart, with something else in the place of what looks through a file."""
_HARMS = {
    "loop": ("def harm(*_):\n    while True: pass", "takes longer than any farm"),
    "compiled-loop": (
        "import re\ndef harm(*_):\n    re.fullmatch('(a|a)*b', 'a' * 60)",
        "takes longer than any farm",
    ),
    "memory": (
        "def harm(*_):\n    kept = []\n    while True: kept.append(bytearray(1 << 20))",
        "takes more memory than there is",
    ),
    "memory-and-what-python-ignores": (
        "class Left:\n    def __del__(self): raise MemoryError\n"
        "def harm(*_):\n    left = Left()\n    del left\n    raise MemoryError",
        "takes more memory than there is",
    ),
    "crash": ("import os\ndef harm(*_):\n    os.abort()", "the work broke off"),
    "killed": (
        "import os, signal\ndef harm(*_):\n    os.kill(os.getpid(), signal.SIGKILL)",
        "too little memory",
    ),
    "library-that-writes": (
        "import os\ndef harm(*_):\n    os.write(2, b'memory allocation failed')\n    os.abort()",
        "the work broke off",
    ),
    "odd-error": ("def harm(*_):\n    {}['a']", "the work stumbled over it (KeyError in <string>"),
    "left": ("import os\ndef harm(*_):\n    os._exit(1)", "the work broke off"),
}
needs_limits = pytest.mark.skipif(guard.resource is None, reason="a system without limits")


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    path = tmp_path / "farm.xlsx"
    path.write_bytes(small_workbook())
    return path


def run(*arguments: object, program: str = _PROGRAM, before: Callable[[], None] | None = None) -> (
    subprocess.CompletedProcess[str]
):  # fmt: skip
    """Run the command as a program."""
    return subprocess.run(
        [sys.executable, "-c", program, *map(str, arguments)],
        capture_output=True,
        text=True,
        cwd=PROJECT,
        preexec_fn=before,
        check=False,
    )


@needs_limits
@pytest.mark.parametrize("harm", _HARMS)
def test_whatever_a_file_does_to_the_reader_ends_as_one_sentence(
    farm: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], harm: str
) -> None:
    """The limits are those of a process that really runs, only lower."""
    code, words = _HARMS[harm]
    start = guard._START.partition("from ")[0]
    monkeypatch.setattr(guard, "_START", start + _HARMED.format(harm=code))
    assert guard.run_apart(["check", str(farm)], "farm.xlsx") == 2
    out, error = capfd.readouterr()
    assert out == ""
    assert words in error
    assert error.startswith("cultivar-fx: farm.xlsx")
    assert error.count("\n") == 1
    assert error[:-1].isprintable()
    assert farm.read_bytes() == small_workbook()


@needs_limits
def test_the_limits_are_for_opening_and_then_wider(monkeypatch: pytest.MonkeyPatch) -> None:
    limits: list[tuple[int, int]] = []
    monkeypatch.setattr(guard, "_is_apart", True)
    monkeypatch.setattr(guard, "_limit", lambda *amounts: limits.append(amounts))
    with guard.opening(large=False):
        assert limits == [(guard.SECONDS, guard.MEGABYTES)]
    assert limits[1][0] > guard.SECONDS
    with guard.opening(large=True):
        assert limits[2] == (0, 0)


def test_a_system_that_counts_no_processor_time_goes_by_the_clock(farm: Path) -> None:
    harm = "import time\ndef harm(*_):\n    time.sleep(60)\n"
    harm += "guard.resource, guard._BY_THE_CLOCK = None, 1"
    start = time.monotonic()
    program = guard._START.partition("from ")[0] + _HARMED.format(harm=harm)
    arguments = [json.dumps(sys.path), "farm.xlsx", "check", str(farm)]
    command = [sys.executable, "-c", program, *arguments]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE) as apart:
        assert apart.wait() == 1
        assert apart.stderr is not None
        assert apart.stderr.read() == b""
    assert time.monotonic() - start < 50


def test_a_command_says_and_ends_as_it_does_without(
    farm: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    for arguments in (["check", str(farm)], ["check", "none.xlsx"], ["check", str(farm), "--json"]):
        status = cli.main(arguments)
        alone = capfd.readouterr()
        done = run(*arguments)
        assert (done.returncode, done.stdout, done.stderr) == (status, alone.out, alone.err)


_UNITS = ("'", '"', "$", "'a'", "''", "[", "[a]", "a[]", "#REF!", "(", "-", "+1", "A1:", "f(1,",
          "'a'!$A:$B,", "$A$1,", "{1;", "1", "%", "a!")  # fmt: skip


def test_formulas_without_end_in_a_log_hold_up_no_command(tmp_path: Path) -> None:
    """In cells to type in and in computed ones of the Batches table, one in each of its cells."""
    path = tmp_path / "farm.xlsx"
    build(path, Settings("us", batch_rows=BATCH_ROWS, typed_functions=False), few_batches())
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    sheet = next(name for name in parts if b"<t>Batches</t></is></c></row><row" in parts[name])
    texts = [escape(unit * (30_000 // len(unit))) for unit in _UNITS]
    texts += [escape("1" * 29_000 + unit) for unit in _UNITS]

    def harmed(cell: re.Match[str]) -> str:
        return f"{cell[1]}><f>{texts.pop()}</f><v>1</v></c>" if texts else cell[0]

    changed = re.sub(
        r'(<c r="(?:A|C|D|K|P)(?:7|8|9|1\d)"(?: s="\d+")?)[^>]*>.*?</c>',
        harmed,
        parts[sheet].decode(),
    )
    assert texts == []
    parts[sheet] = changed.encode()
    path.write_bytes(packed(parts))
    for command in (
        ["check"], ["carry-over", tmp_path / "new.xlsx"],
        ["partner-copy", tmp_path / "copy.xlsx"], ["export", tmp_path / "tables"],
    ):  # fmt: skip
        done = run(command[0], path, *command[1:])
        assert done.returncode == (1 if command == ["check"] else 0), done.stderr
        assert done.stderr == ""


def test_files_that_a_command_writes_are_there(farm: Path) -> None:
    done = run("export", farm, farm.parent / "tables")
    assert (done.returncode, done.stderr) == (0, "")
    assert (farm.parent / "tables" / "ingredients.csv").exists()


@needs_limits
def test_whoever_stops_the_command_stops_the_process_apart(tmp_path: Path) -> None:
    pid = tmp_path / "pid"
    harm = f"import os, time, pathlib\ndef harm(*_):\n    pathlib.Path({str(pid)!r}).write_text("
    harm += "str(os.getpid()))\n    time.sleep(300)"
    start = guard._START.partition("from ")[0] + _HARMED.format(harm=harm)
    outside = (
        f"from workbook_template.safety import guard; guard._START = {start!r}; "
        f"guard.run_apart(['check', {str(tmp_path / 'a.xlsx')!r}], 'a.xlsx')"
    )
    (tmp_path / "a.xlsx").write_bytes(b"PK")
    with subprocess.Popen([sys.executable, "-c", outside], cwd=PROJECT) as process:
        _wait_for(lambda: pid.exists() and pid.read_text() != "")
        process.kill()
    number = int(pid.read_text())
    _wait_for(lambda: _has_ended(number))


def _has_ended(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return True
    status = Path(f"/proc/{number}/stat")
    return status.exists() and status.read_text().rpartition(")")[2].split()[0] == "Z"


def _wait_for(condition: Callable[[], bool]) -> None:
    end = time.monotonic() + 60
    while not condition():
        assert time.monotonic() < end
        time.sleep(0.05)


@needs_limits
@pytest.mark.parametrize("command", ["carry-over", "partner-copy", "export"])
def test_a_file_that_stops_the_reader_leaves_nothing_beside_the_target(
    farm: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    start = guard._START.partition("from ")[0]
    monkeypatch.setattr(guard, "_START", start + _HARMED.format(harm=_HARMS["killed"][0]))
    target = farm.parent / "new.xlsx"
    assert guard.run_apart([command, str(farm), str(target)], "farm.xlsx") == 2
    assert [one.name for one in farm.parent.iterdir()] == ["farm.xlsx"]


@needs_limits
@pytest.mark.parametrize("megabytes", [60, 120, 200])
def test_too_little_memory_is_one_sentence_and_the_old_file_stays(
    farm: Path, megabytes: int
) -> None:
    def little() -> None:
        size = megabytes << 20
        guard.resource.setrlimit(guard.resource.RLIMIT_DATA, (size, size))

    for arguments in (
        ("carry-over", farm, farm.parent / "new.xlsx"),
        ("workbook", farm, "--force"),
    ):
        done = run(*arguments, before=little)
        if done.returncode:
            assert done.returncode == 2
            assert done.stderr.count("\n") == 1
            assert done.stderr.startswith("cultivar-fx: ")
            assert done.stdout == ""
            assert farm.read_bytes() == small_workbook()


@pytest.mark.skipif(not hasattr(signal, "SIGABRT"), reason="a system without signals")
def test_an_engine_that_breaks_off_is_one_sentence_and_the_old_file_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken, path = tmp_path / "engine.py", tmp_path / "farm.xlsx"
    broken.write_text("import os, sys; sys.stderr.write('memory allocation failed'); os.abort()")
    monkeypatch.setattr(engine, "__file__", str(broken))
    path.write_bytes(b"old")
    with pytest.raises(CannotCompute, match=r"could not be computed .*there may be too little"):
        build(path, Settings(batch_rows=2), few_batches())
    assert path.read_bytes() == b"old"
    assert [one.name for one in tmp_path.iterdir() if one.name.startswith(".")] == []
