"""Whole files: the old one or the new one, whatever happens, and nothing left behind."""

from __future__ import annotations

import errno
import itertools
import os
import random
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from workbook_template.errors import CannotWrite
from workbook_template.files import whole_file, whole_folder

PROJECT = Path(__file__).resolve().parent.parent
KILLS = 60
LINES = 20_000


def write_for_ever(target: Path, kind: str, started: int) -> None:
    for number in itertools.count():
        content = f"{number:08}\n" * LINES
        if kind == "file":
            with whole_file(target) as unfinished:
                unfinished.write_text(content)
        else:
            with whole_folder(target, replace=True) as unfinished:
                (unfinished / "a.csv").write_text(content)
                (unfinished / "b.csv").write_text(content)
        os.write(started, b".")


def kill_a_writer(target: Path, kind: str, seconds: float) -> None:
    """Let a process write all the time, and kill it a moment after its first file."""
    reader, started = os.pipe()
    writer = os.fork()
    if not writer:
        try:
            write_for_ever(target, kind, started)
        finally:
            os._exit(1)
    os.close(started)
    assert os.read(reader, 1) == b"."
    time.sleep(seconds)
    os.kill(writer, signal.SIGKILL)
    assert os.waitpid(writer, 0)[1] == signal.SIGKILL
    os.close(reader)


def is_whole(file: Path) -> bool:
    lines = file.read_text().splitlines()
    return len(lines) == LINES and len(set(lines)) == 1


def test_a_writer_killed_at_any_moment_leaves_a_whole_file(tmp_path: Path) -> None:
    draw = random.Random(5)
    target = tmp_path / "farm.txt"
    for _ in range(KILLS):
        kill_a_writer(target, "file", draw.uniform(0, 0.01))
        assert is_whole(target)
    hidden = [path for path in tmp_path.iterdir() if path.name.startswith(".")]
    assert hidden, "no kill came while a file was half written"


def test_a_writer_killed_at_any_moment_leaves_whole_files_in_a_folder(tmp_path: Path) -> None:
    draw = random.Random(6)
    for number in range(10):
        target = tmp_path / f"logs-{number}"
        kill_a_writer(target, "folder", draw.uniform(0, 0.01))
        assert sorted(path.name for path in target.iterdir()) == ["a.csv", "b.csv"]
        assert all(is_whole(path) for path in target.iterdir())


@pytest.fixture
def target(tmp_path: Path) -> Path:
    """Return a file that is there already."""
    path = tmp_path / "farm.txt"
    path.write_text("old")
    return path


def fail_with(number: int) -> OSError:
    return OSError(number, os.strerror(number))


@pytest.mark.parametrize(
    ("failure", "words"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EDQUOT, "the disk is full"),
        (errno.EACCES, "it is open in another program, or you have no permission"),
        (errno.EROFS, "the disk is read-only"),
        (errno.EIO, "input/output error"),
    ],
)
@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_failure_of_the_system_is_one_sentence_and_leaves_the_old_file(
    target: Path, failure: int, words: str, call: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise fail_with(failure)

    monkeypatch.setattr(*((os, call) if call == "fsync" else (Path, call)), fail)
    with pytest.raises(CannotWrite, match=words) as refusal, whole_file(target) as unfinished:
        unfinished.write_text("new")
    assert "\n" not in str(refusal.value)
    assert target.read_text() == "old"
    assert list(target.parent.iterdir()) == [target]


def fail_after_writing(unfinished: Path, failure: BaseException) -> None:
    unfinished.write_text("half")
    raise failure


def limited() -> None:
    """Let a process write no file of more than 40 kB, as on a disk that runs full."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, 40_000))


def test_a_disk_that_runs_full_leaves_the_old_workbook(tmp_path: Path) -> None:
    target = tmp_path / "farm.xlsx"
    target.write_text("old")
    done = subprocess.run(
        # -B: what it compiled would be cut short, and kept for the others
        [sys.executable, "-B", "-m", "workbook_template.cli", "workbook", str(target), "--force"],
        preexec_fn=limited,
        capture_output=True,
        text=True,
        cwd=PROJECT,
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "the disk takes no file of this size. Nothing was changed." in done.stderr
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_an_interruption_leaves_the_old_file_and_nothing_else(target: Path) -> None:
    with pytest.raises(KeyboardInterrupt), whole_file(target) as unfinished:
        fail_after_writing(unfinished, KeyboardInterrupt())
    assert target.read_text() == "old"
    assert list(target.parent.iterdir()) == [target]


def test_a_file_that_is_there_is_not_replaced_unasked(target: Path) -> None:
    with pytest.raises(CannotWrite, match="--force replaces it"), whole_file(target, replace=False):
        pass
    assert target.read_text() == "old"


def test_a_file_that_comes_up_meanwhile_is_not_replaced_either(tmp_path: Path) -> None:
    target = tmp_path / "farm.txt"
    with pytest.raises(CannotWrite, match="exists already"), whole_file(target, replace=False):
        target.write_text("somebody else's")
    assert target.read_text() == "somebody else's"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize(
    ("lock", "program"), [(".~lock.farm.txt#", "LibreOffice"), ("~$farm.txt", "Excel")]
)
def test_a_file_that_is_open_in_a_program_is_not_replaced(
    target: Path, lock: str, program: str
) -> None:
    (target.parent / lock).touch()
    with pytest.raises(CannotWrite, match=f"is open in {program}"), whole_file(target):
        pass
    assert target.read_text() == "old"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        (".", "is a folder"),
        ("no/such/farm.txt", "There is no folder"),
        ("farm.txt/farm.txt", "There is no folder"),
        ("x" * 300, "its name is too long"),
        ("two\nlines/farm.txt", "There is no folder"),
    ],
)
def test_a_place_that_cannot_be_written_is_one_sentence(
    target: Path, name: str, words: str
) -> None:
    with (
        pytest.raises(CannotWrite, match=words) as refusal,
        whole_file(target.parent / name) as new,
    ):
        new.write_text("new")
    assert str(refusal.value).isprintable()
    assert target.read_text() == "old"


def test_a_file_keeps_its_permissions_and_its_links(target: Path) -> None:
    target.chmod(0o600)
    link = target.with_name("link.txt")
    link.symlink_to(target)
    with whole_file(link) as unfinished:
        unfinished.write_text("new")
    assert link.is_symlink()
    assert target.read_text() == "new"
    assert target.stat().st_mode & 0o777 == 0o600


def test_a_folder_appears_whole(tmp_path: Path) -> None:
    with whole_folder(tmp_path / "logs") as unfinished:
        (unfinished / "a.csv").write_text("new")
        assert not (tmp_path / "logs").exists()
    assert (tmp_path / "logs" / "a.csv").read_text() == "new"
    assert list(tmp_path.iterdir()) == [tmp_path / "logs"]


def test_a_folder_that_fails_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="disk is full"), whole_folder(tmp_path / "logs") as new:
        fail_after_writing(new / "a.csv", fail_with(errno.ENOSPC))
    assert list(tmp_path.iterdir()) == []


def test_other_files_of_a_folder_stay(target: Path) -> None:
    with pytest.raises(CannotWrite, match="holds files already"), whole_folder(target.parent):
        pass
    with whole_folder(target.parent, replace=True) as unfinished:
        (unfinished / "a.csv").write_text("new")
    assert sorted(path.name for path in target.parent.iterdir()) == ["a.csv", "farm.txt"]
    assert target.read_text() == "old"


@pytest.fixture
def without_links(monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that has no links, such as a memory stick."""

    def fail(*_: object) -> None:
        raise fail_with(errno.EPERM)

    monkeypatch.setattr(Path, "hardlink_to", fail)


@pytest.mark.usefixtures("without_links")
def test_new_file_is_written_to_a_disk_without_links(tmp_path: Path) -> None:
    with whole_file(tmp_path / "new.txt", replace=False) as unfinished:
        unfinished.write_text("new")
    assert [path.read_text() for path in tmp_path.iterdir()] == ["new"]


@pytest.mark.usefixtures("without_links")
def test_file_that_came_up_meanwhile_is_kept_on_a_disk_without_links(tmp_path: Path) -> None:
    path = tmp_path / "new.txt"
    with pytest.raises(CannotWrite, match="exists already"), whole_file(path, replace=False):
        path.write_text("another's")
    assert path.read_text() == "another's"


def test_folder_cannot_take_the_place_of_a_file(target: Path) -> None:
    refused = pytest.raises(CannotWrite, match="is a file: give the name of a folder")
    with refused, whole_folder(target):
        pass
