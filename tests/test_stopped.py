"""A command that is told to stop says so in one line, and leaves nothing behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from workbook_template.files import whole_file
from workbook_template.signals import Stopped, stoppable

PROJECT = Path(__file__).resolve().parent.parent
PATIENCE = 120
SIGNALS = [signal.SIGINT, signal.SIGTERM, signal.SIGHUP]


def stopped_by(number: int, command: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    """Start a command, and stop it as soon as it has begun a file in a folder."""
    before = set(folder.iterdir())
    running = subprocess.Popen(
        [sys.executable, "-m", "workbook_template.cli", *command],
        cwd=PROJECT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    end = time.monotonic() + PATIENCE
    while set(folder.iterdir()) == before and time.monotonic() < end:
        time.sleep(0.005)
    running.send_signal(number)
    out, error = running.communicate(timeout=PATIENCE)
    return subprocess.CompletedProcess(command, running.returncode, out, error)


@pytest.mark.parametrize("number", SIGNALS)
def test_a_stopped_command_leaves_the_old_file_and_nothing_else(
    number: int, tmp_path: Path
) -> None:
    target = tmp_path / "farm.xlsx"
    target.write_text("old")
    done = stopped_by(number, ["workbook", str(target), "--force"], tmp_path)
    # What shells give for a command that a signal ended: 128 and its number, 130 for Ctrl+C.
    assert done.returncode == 128 + number
    assert done.stderr == "cultivar-fx: stopped; no file was left half written.\n"
    assert done.stdout == ""
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("number", SIGNALS)
def test_what_a_signal_did_before_it_does_again(number: int) -> None:
    before = signal.getsignal(number)
    with pytest.raises(Stopped) as end, stoppable():
        os.kill(os.getpid(), number)
    assert end.value.status == 128 + number
    assert signal.getsignal(number) == before


def test_a_second_signal_does_not_interrupt_the_tidying(tmp_path: Path) -> None:
    tidied = []

    def work() -> None:
        try:
            os.kill(os.getpid(), signal.SIGINT)
        finally:
            os.kill(os.getpid(), signal.SIGINT)
            os.kill(os.getpid(), signal.SIGTERM)
            tidied.append(True)

    with pytest.raises(Stopped), stoppable(), whole_file(tmp_path / "farm.txt"):
        work()
    assert tidied == [True]
    assert list(tmp_path.iterdir()) == []


def test_a_command_that_shall_outlive_its_terminal_does(tmp_path: Path) -> None:
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)  # as nohup does
    try:
        with stoppable():
            os.kill(os.getpid(), signal.SIGHUP)
    finally:
        signal.signal(signal.SIGHUP, before)


def test_a_thread_runs_commands_too() -> None:
    done = []

    def work() -> None:
        with stoppable():
            done.append(True)

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert done == [True]
