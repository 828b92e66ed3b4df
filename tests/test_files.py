"""Whole files: the old one or the new one, whatever happens, and nothing left behind."""

from __future__ import annotations

import errno
import itertools
import os
import random
import resource
import signal
import socket
import stat
import subprocess
import sys
import time
from contextlib import chdir
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from workbook_template.errors import CannotWrite
from workbook_template.files import Backup, whole_file, whole_folder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

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


def limited(most: int) -> None:
    """Let a process write no file of more than 40 kB, as on a disk that runs full.

    ``most`` is what the engine's process may set the limit to, for its own temporary files.
    """
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, most))


@pytest.mark.parametrize(
    ("most", "words"),
    [
        (resource.RLIM_INFINITY, "the disk takes no file of this size. Nothing was changed."),
        (40_000, "too little space on the disk. Free some, and try again. Nothing was changed."),
    ],
)
def test_a_disk_that_runs_full_leaves_the_old_workbook(
    most: int, words: str, tmp_path: Path
) -> None:
    target = tmp_path / "farm.xlsx"
    target.write_text("old")
    done = subprocess.run(
        # -B: what it compiled would be cut short, and kept for the others
        [sys.executable, "-B", "-m", "workbook_template.cli", "workbook", str(target), "--force"],
        preexec_fn=partial(limited, most),
        capture_output=True,
        text=True,
        cwd=PROJECT,
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert words in done.stderr
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


# What is no regular file


@pytest.fixture
def socket_file(tmp_path: Path) -> Iterator[Path]:
    path = tmp_path / "socket.xlsx"
    with socket.socket(socket.AF_UNIX) as server, chdir(tmp_path):
        server.bind(path.name)  # whose whole path may be too long for one
        yield path


def test_a_pipe_stays_a_pipe(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    os.mkfifo(path)
    with pytest.raises(CannotWrite, match="is a device or a pipe, not a file"), whole_file(path):
        pass
    assert path.is_fifo()
    assert list(tmp_path.iterdir()) == [path]


def test_a_socket_stays_a_socket(socket_file: Path) -> None:
    with pytest.raises(CannotWrite, match="not a file"), whole_file(socket_file):
        pass
    assert socket_file.is_socket()


def test_a_device_stays_a_device(tmp_path: Path) -> None:
    link = tmp_path / "farm.xlsx"
    link.symlink_to("/dev/null")
    with pytest.raises(CannotWrite, match="not a file"), whole_file(link, replace=False):
        pass
    assert Path("/dev/null").is_char_device()


# Stale hidden files


def hidden_in(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir() if path.name.startswith(".")}


def a_minute_old(path: Path) -> None:
    before = time.time() - 60
    os.utime(path, (before, before))


def test_what_a_killed_writer_left_is_swept_up_by_the_next(tmp_path: Path) -> None:
    killed = os.fork()
    if not killed:
        with whole_file(tmp_path / "farm.xlsx"), whole_folder(tmp_path / "logs") as folder:
            (folder / "a.csv").write_text("half")
            os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(killed, 0)
    assert len(hidden_in(tmp_path)) == 2
    for name in hidden_in(tmp_path):
        a_minute_old(tmp_path / name)
    with whole_file(tmp_path / "farm.xlsx") as unfinished:
        assert hidden_in(tmp_path) == {unfinished.name}
    assert hidden_in(tmp_path) == set()


def test_what_another_is_writing_is_not_swept_up(tmp_path: Path) -> None:
    with whole_file(tmp_path / "one.txt") as one, whole_folder(tmp_path / "logs") as folder:
        one.write_text("one")
        (folder / "a.csv").write_text("a")
        a_minute_old(one)
        a_minute_old(folder)
        with whole_file(tmp_path / "two.txt") as two:
            two.write_text("two")
    assert (tmp_path / "one.txt").read_text() == "one"
    assert (tmp_path / "logs" / "a.csv").read_text() == "a"


@pytest.mark.parametrize(
    "name", [".cultivar-fx-link.xlsx", ".hidden.xlsx", ".cultivar-fx-new.xlsx"]
)
def test_what_is_not_stale_is_not_swept_up(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    mine = tmp_path / "mine.txt"
    mine.write_text("mine")
    if "link" in name:
        path.symlink_to(mine)
    else:
        path.touch()
    with whole_file(tmp_path / "farm.txt"):
        pass
    assert path.exists()
    assert mine.read_text() == "mine"


# Permissions


@pytest.fixture
def umask() -> Iterator[Callable[[int], object]]:
    before = os.umask(0o022)
    yield os.umask
    os.umask(before)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.parametrize(
    ("mask", "of_source", "of_old", "of_file", "of_folder"),
    [
        (0o022, 0o644, None, 0o644, 0o755),
        (0o077, 0o644, None, 0o600, 0o700),
        (0o022, 0o600, None, 0o600, 0o700),
        (0o022, 0o640, None, 0o640, 0o750),
        (0o022, 0o400, None, 0o600, 0o700),
        (0o022, 0o644, 0o600, 0o600, 0o755),
        (0o077, 0o600, 0o644, 0o600, 0o700),
    ],
)
def test_a_file_is_open_to_nobody_whom_umask_source_or_old_file_keep_out(
    mask: int,
    of_source: int,
    of_old: int | None,
    of_file: int,
    of_folder: int,
    umask: Callable[[int], object],
    tmp_path: Path,
) -> None:
    source, file, folder = (tmp_path / name for name in ("source", "farm.txt", "logs"))
    source.touch()
    source.chmod(of_source)
    if of_old is not None:
        file.touch()
        file.chmod(of_old)
    umask(mask)
    with whole_file(file, of_old is not None, source) as unfinished:
        assert mode(unfinished) == of_file  # before there is anything in it
        unfinished.write_text("new")
    with whole_folder(folder, source=source) as unfinished:
        (unfinished / "a.csv").write_text("new")
    assert mode(file) == of_file
    assert mode(folder) == of_folder
    assert mode(folder / "a.csv") == of_folder & 0o666


def test_another_group_gets_no_more_than_all_others(tmp_path: Path) -> None:
    source = tmp_path / "source"
    source.touch()
    source.chmod(0o640)
    try:
        os.chown(source, -1, os.getgid() + 4321)
    except PermissionError:
        pytest.skip("needs root")
    with whole_file(tmp_path / "farm.txt", source=source):
        pass
    assert mode(tmp_path / "farm.txt") == 0o600


# Backups


def keeping(is_needed: bool = True) -> Backup:
    return Backup(lambda _: is_needed)


def test_a_replaced_file_is_kept_under_a_name_with_the_date(target: Path) -> None:
    contents = ["old", "one", "two"]
    for content, kept in zip(contents[1:], ("", "-2"), strict=True):
        backup = keeping()
        with whole_file(target, backup=backup) as unfinished:
            unfinished.write_text(content)
        today = date.today().isoformat()
        assert backup.paths == [target.with_name(f"farm-before-{today}{kept}.txt")]
        assert backup.paths[0].read_text() == contents[contents.index(content) - 1]
    assert target.read_text() == "two"
    assert len(list(target.parent.iterdir())) == 3


@pytest.mark.usefixtures("without_links")
def test_a_replaced_file_is_kept_on_a_disk_without_links(target: Path) -> None:
    backup = keeping()
    with whole_file(target, backup=backup) as unfinished:
        unfinished.write_text("new")
    assert [one.read_text() for one in backup.paths] == ["old"]
    assert target.read_text() == "new"


def test_what_needs_no_backup_gets_none(target: Path, tmp_path: Path) -> None:
    for path, backup in ((target, keeping(is_needed=False)), (tmp_path / "new.txt", keeping())):
        with whole_file(path, backup=backup) as unfinished:
            unfinished.write_text("new")
        assert backup.paths == []
    assert len(list(tmp_path.iterdir())) == 2


def test_a_file_that_is_written_as_it_was_gets_no_backup(target: Path) -> None:
    backup = keeping()
    with whole_file(target, backup=backup) as unfinished:
        unfinished.write_text("old")
    assert backup.paths == []
    assert list(target.parent.iterdir()) == [target]


def test_a_failed_replacement_leaves_no_backup(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise fail_with(errno.EACCES)

    monkeypatch.setattr(Path, "replace", fail)
    backup = keeping()
    refused = pytest.raises(CannotWrite, match="Nothing was changed")
    with refused, whole_file(target, backup=backup) as unfinished:
        unfinished.write_text("new")
    assert backup.paths == []
    assert list(target.parent.iterdir()) == [target]
    assert target.read_text() == "old"


def test_a_file_that_was_opened_meanwhile_is_not_replaced(target: Path) -> None:
    with pytest.raises(CannotWrite, match="is open in LibreOffice"), whole_file(target):
        (target.parent / ".~lock.farm.txt#").touch()
    assert target.read_text() == "old"


# Folders


@pytest.fixture
def logs(tmp_path: Path) -> Path:
    """Return a folder with files of an earlier time."""
    folder = tmp_path / "logs"
    folder.mkdir()
    for name in ("a.csv", "c.csv", "mine.txt"):
        (folder / name).write_text("old")
    return folder


def contents(folder: Path) -> dict[str, str]:
    return {one.name: one.read_text() for one in sorted(folder.iterdir()) if one.is_file()}


def fill(folder: Path) -> None:
    for name in ("a.csv", "b.csv", "c.csv"):
        (folder / name).write_text("new")


@pytest.mark.parametrize("make", [Path.mkdir, os.mkfifo])
def test_a_folder_where_one_name_is_taken_by_no_file_is_left_alone(
    make: Callable[[Path], None], logs: Path
) -> None:
    make(logs / "b.csv")
    before = contents(logs)
    with pytest.raises(CannotWrite, match=r"b\.csv is a "), whole_folder(logs, True) as unfinished:
        fill(unfinished)
    assert contents(logs) == before
    assert hidden_in(logs.parent) == set()


@pytest.mark.parametrize("at", range(3))
@pytest.mark.parametrize("failure", [fail_with(errno.EIO), KeyboardInterrupt()])
@pytest.mark.parametrize("has_links", [True, False])
def test_a_folder_is_as_it_was_when_one_file_cannot_be_replaced(
    at: int,
    failure: BaseException,
    has_links: bool,
    logs: Path,
    monkeypatch: pytest.MonkeyPatch,
    request: pytest.FixtureRequest,
) -> None:
    replace, calls = Path.replace, itertools.count()
    before = contents(logs)

    def fail_once(file: Path, to: Path) -> Path:
        if next(calls) == at:
            raise failure
        return replace(file, to)

    monkeypatch.setattr(Path, "replace", fail_once)
    if not has_links:
        request.getfixturevalue("without_links")
    backup = keeping()
    with (
        pytest.raises((CannotWrite, KeyboardInterrupt)),
        whole_folder(logs, replace=True, backup=backup) as unfinished,
    ):
        fill(unfinished)
    assert backup.paths == []
    assert contents(logs) == before
    assert hidden_in(logs.parent) == set()


def test_a_table_that_is_open_in_a_program_is_not_replaced(logs: Path) -> None:
    (logs / ".~lock.c.csv#").touch()
    with (
        pytest.raises(CannotWrite, match="is open in LibreOffice"),
        whole_folder(logs, True) as new,
    ):
        fill(new)
    assert contents(logs)["a.csv"] == "old"


@pytest.mark.parametrize("has_links", [True, False])
def test_files_replaced_in_a_folder_are_kept_where_they_differ(
    has_links: bool, logs: Path, request: pytest.FixtureRequest
) -> None:
    if not has_links:
        request.getfixturevalue("without_links")
    (logs / "c.csv").write_text("new")
    backup = keeping()
    with whole_folder(logs, replace=True, backup=backup) as unfinished:
        fill(unfinished)
    kept = f"a-before-{date.today().isoformat()}.csv"
    assert backup.paths == [logs / kept]
    new = dict.fromkeys(("a.csv", "b.csv", "c.csv"), "new")
    assert contents(logs) == {**new, kept: "old", "mine.txt": "old"}
    assert hidden_in(logs.parent) == set()
