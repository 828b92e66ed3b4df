"""Writing whole files: whatever happens, the old one is there or the new one, never half.

A file is written beside its target under a hidden name of ours, forced onto the disk, and renamed.
Whoever writes holds a lock on the hidden file: one without was left behind by a writer that was
killed, and the next writer in the folder takes it away.
"""

from __future__ import annotations

import filecmp
import os
import shutil
import stat
import sys
import time
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from secrets import token_hex
from typing import TYPE_CHECKING

from workbook_template.errors import CannotWrite, cause_of, existing_folder, shown

if sys.platform != "win32":
    import fcntl

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

_HIDDEN = ".cultivar-fx-"
_MOMENT, _DAY = 10.0, 86_400.0
"""Seconds: until a new hidden file is surely locked, and until one that knows no locks is stale."""
_LONGEST_STEM, _LONGEST_SUFFIX = 100, 10
_LOCKS = (("LibreOffice", ".~lock.{name}#"), ("Excel", "~${name}"))
"""The files that the programs put beside a workbook while it is open."""


def _holds_something(file: Path) -> bool:
    return file.stat().st_size > 0


@dataclass
class Backup:
    """Keeps each file that is replaced by another one, under a name with the date beside it.

    Attributes
    ----------
    is_needed : callable
        Whether a file that is about to be replaced holds something to keep.
    paths : list of Path
        Where they are kept, once they were replaced.
    """

    is_needed: Callable[[Path], bool] = _holds_something
    paths: list[Path] = field(default_factory=list)

    def keeps(self, target: Path, new: Path) -> bool:
        """Return whether there is a file that the new one differs from, and it is worth keeping."""
        return (
            _is_there(target)
            and not filecmp.cmp(target, new, shallow=False)
            and self.is_needed(target)
        )


@contextmanager
def whole_file(
    path: Path,
    replace: bool = True,
    source: Path | None = None,
    backup: Backup | None = None,
) -> Iterator[Path]:
    """Write one file whole or not at all.

    Parameters
    ----------
    path : Path
        The target.
    replace : bool
        Whether an older file there is replaced.
    source : Path, optional
        The file that it is made of: nobody may do more with the new one.
    backup : Backup, optional
        Keeps the older file.

    Yields
    ------
    Path
        The hidden file beside the target that is to be filled; it has the target's ending.

    Raises
    ------
    CannotWrite
        If there is a file already and it is not to be replaced, it is no regular file, it is open
        in another program, the disk is full, or the folder cannot be written to. The old file is
        as it was.

    Examples
    --------
    >>> with whole_file(Path("notes.txt")) as unfinished:  # doctest: +SKIP
    ...     unfinished.write_text("all of it")
    """
    existing_folder(path)
    with _plain_refusals(path):
        target = Path(os.path.realpath(path))
        _check_target(target, replace)
        _sweep(target.parent)
        unfinished = _hidden_beside(target)
        try:
            unfinished.touch(exist_ok=False)
            with _claimed(unfinished):
                _narrow(unfinished, source, target)
                yield unfinished
                _force_to_disk(unfinished)
                _put_in_place(unfinished, target, replace, backup)
        finally:
            unfinished.unlink(missing_ok=True)
        _force_folder_to_disk(target.parent)


@contextmanager
def whole_folder(
    path: Path,
    replace: bool = False,
    source: Path | None = None,
    backup: Backup | None = None,
) -> Iterator[Path]:
    """Write a folder of files whole or not at all.

    A new folder appears at once with all its files. In a folder that is there already, each file
    is replaced whole, after all of them were written, or all are put back; other files in it stay.

    Parameters
    ----------
    path : Path
        The folder.
    replace : bool
        Whether files in a folder that is not empty may be replaced.
    source : Path, optional
        The file that it is made of: nobody may do more with the new files.
    backup : Backup, optional
        Keeps the older files.

    Yields
    ------
    Path
        The hidden folder that is to be filled with files.

    Raises
    ------
    CannotWrite
        If the folder holds something and nothing is to be replaced, something that is no regular
        file has its name or that of one of its files, a file is open in another program, the disk
        is full, or it cannot be written to.
    """
    existing_folder(path)
    with _plain_refusals(path):
        target = Path(os.path.realpath(path))
        is_there = _check_folder(target, replace)
        _sweep(target.parent)
        unfinished = _hidden_beside(target)
        try:
            unfinished.mkdir()
            with _claimed(unfinished):
                _narrow(unfinished, source)
                yield unfinished
                files = sorted(unfinished.iterdir())
                for file in files:
                    _narrow(file, source, target / file.name)
                    _force_to_disk(file)
                if is_there:
                    _replace_all(files, target, unfinished / "old", backup)
                else:
                    unfinished.rename(target)
        finally:
            shutil.rmtree(unfinished, ignore_errors=True)
        _force_folder_to_disk(target.parent)


def open_in(path: Path) -> str:
    """Return which program has a file open, by the file that it puts beside it.

    Parameters
    ----------
    path : Path
        A workbook.

    Returns
    -------
    str
        The program and the sign of it, or an empty text. A program that crashed leaves its sign.
    """
    for file in dict.fromkeys((path, Path(os.path.realpath(path)))):
        for program, pattern in _LOCKS:
            lock = file.parent / pattern.format(name=file.name)
            if lock.exists():
                return f"{program} (if it is not, delete {shown(str(lock))})"
    return ""


@contextmanager
def _plain_refusals(path: Path) -> Iterator[None]:
    """Turn what the system says into a sentence; an error without a number is not the system's."""
    try:
        yield
    except OSError as error:
        if error.errno is None:
            raise
        raise CannotWrite(
            f"Cannot write {shown(str(path))}: {cause_of(error)}. Nothing was changed."
        ) from error


# What is at the place already


def _check_target(target: Path, replace: bool) -> None:
    if not _is_there(target):
        return
    _check_regular(target)
    if not replace:
        raise _exists(target)
    program = open_in(target)
    if program:
        raise CannotWrite(f"{shown(str(target))} is open in {program}: close it there first.")


def _is_there(target: Path) -> bool:
    """Return whether anything has this name; a path that the system cannot follow is an error."""
    try:
        target.stat()
    except FileNotFoundError:
        return False
    return True


def _check_regular(target: Path) -> None:
    mode = target.stat().st_mode
    if stat.S_ISDIR(mode):
        raise CannotWrite(f"{shown(str(target))} is a folder: give the name of a file.")
    if not stat.S_ISREG(mode):
        raise CannotWrite(
            f"{shown(str(target))} is a device or a pipe, not a file: give another name."
        )


def _exists(target: Path) -> CannotWrite:
    return CannotWrite(f"{shown(str(target))} exists already; --force replaces it.")


def _check_folder(target: Path, replace: bool) -> bool:
    """Return whether the folder is there already."""
    if not _is_there(target):
        return False
    if not target.is_dir():
        raise CannotWrite(f"{shown(str(target))} is a file: give the name of a folder.")
    if any(target.iterdir()) and not replace:
        raise CannotWrite(
            f"{shown(str(target))} holds files already; --force replaces those of the same name."
        )
    return True


# Hidden files


def _hidden_beside(target: Path) -> Path:
    """Return a name for what is unfinished: it is known before there is anything to take away."""
    return target.parent / f"{_HIDDEN}{token_hex(6)}{target.suffix[:_LONGEST_SUFFIX]}"


@contextmanager
def _claimed(unfinished: Path) -> Iterator[None]:
    """Hold the lock by which other writers know that a hidden file is still being written."""
    if sys.platform == "win32":
        yield
        return
    handle = os.open(unfinished, os.O_RDONLY)
    try:
        with suppress(OSError):  # a disk that knows no locks
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(handle)


def _sweep(folder: Path) -> None:
    """Take away what killed writers left behind."""
    for hidden in folder.glob(f"{_HIDDEN}*"):
        with suppress(OSError):
            if not hidden.is_symlink() and _is_left(hidden):
                if hidden.is_dir():
                    shutil.rmtree(hidden)
                else:
                    hidden.unlink()


def _is_left(hidden: Path) -> bool:
    """Return whether nobody is writing a hidden file any more."""
    seconds = time.time() - hidden.stat().st_mtime
    if sys.platform == "win32" or seconds < _MOMENT:
        return seconds > _DAY
    handle = os.open(hidden, os.O_RDONLY | os.O_NONBLOCK)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return seconds > _DAY
    finally:
        os.close(handle)
    return True


def _narrow(unfinished: Path, source: Path | None, replaced: Path | None = None) -> None:
    """Let nobody do more with a new file than the umask, its source and the old file allow."""
    made = unfinished.stat()
    allowed = made.st_mode
    for other in filter(None, (source, replaced)):
        with suppress(FileNotFoundError):
            allowed &= _allowed_by(other.stat(), made)
    owner = stat.S_IRWXU if stat.S_ISDIR(made.st_mode) else stat.S_IRUSR | stat.S_IWUSR
    unfinished.chmod(stat.S_IMODE(allowed) | owner)


def _allowed_by(other: os.stat_result, made: os.stat_result) -> int:
    """Return the permissions that another file leaves for a new file or folder."""
    mode = other.st_mode
    if other.st_gid != made.st_gid:  # its group are other people
        mode = (mode & ~stat.S_IRWXG) | (mode & stat.S_IRWXO) << 3
    if stat.S_ISDIR(made.st_mode):  # whoever may read a file may enter its folder
        mode |= (mode & 0o444) >> 2
    return mode


# Putting in place


def _force_to_disk(file: Path) -> None:
    with file.open("rb+") as handle:
        os.fsync(handle.fileno())


def _force_folder_to_disk(folder: Path) -> None:
    """Make a rename last; some systems cannot, and then it lasts a moment later."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _put_in_place(unfinished: Path, target: Path, replace: bool, backup: Backup | None) -> None:
    if replace:
        _check_target(target, replace)  # it may have been opened meanwhile
        if backup is not None and backup.keeps(target, unfinished):
            _replace_and_keep(unfinished, target, backup)
        else:
            unfinished.replace(target)
        return
    try:
        target.hardlink_to(unfinished)  # fails where a file came up in the meantime
    except FileExistsError:
        raise _exists(target) from None
    except OSError:  # a disk without links
        if target.exists():
            raise _exists(target) from None
        unfinished.rename(target)


def _replace_and_keep(unfinished: Path, target: Path, backup: Backup) -> None:
    """Replace a file that keeps a second name, or a copy; without either nothing is replaced."""
    old = target.stat().st_ino
    kept = _kept_beside(target)
    try:
        unfinished.replace(target)
    except BaseException:
        if target.exists() and target.stat().st_ino == old:
            kept.unlink()
        raise
    backup.paths.append(kept)


def _kept_beside(target: Path) -> Path:
    """Keep a file under a name with the date that nothing has yet."""
    dated = f"{target.stem[:_LONGEST_STEM]}-before-{date.today().isoformat()}"
    number = 1
    while True:
        kept = target.with_name(f"{dated}{f'-{number}' if number > 1 else ''}{target.suffix}")
        try:
            _second(target, kept)
        except FileExistsError:
            number += 1
        else:
            return kept


def _second(file: Path, name: Path) -> None:
    """Link a file under a second name; where the disk has no links, copy it."""
    try:
        name.hardlink_to(file)
    except FileExistsError:
        raise
    except OSError:
        with name.open("xb"):
            pass
        try:
            shutil.copy2(file, name)
            _force_to_disk(name)
        except BaseException:
            name.unlink()
            raise


def _replace_all(files: Sequence[Path], folder: Path, aside: Path, backup: Backup | None) -> None:
    """Put files into a folder, all or none, and keep those that they replace."""
    kept: list[Path] = []
    for file in files:
        _check_target(folder / file.name, replace=True)
    aside.mkdir()
    for file in files:
        with suppress(FileNotFoundError):
            _second(folder / file.name, aside / file.name)
    try:
        for file in files:
            target = folder / file.name
            if backup is not None and backup.keeps(target, file):
                # One by one: those made so far go again where the next cannot be made.
                kept.append(_kept_beside(target))
        for file in files:
            file.replace(folder / file.name)
    except BaseException:
        _put_back(files, folder, aside)
        for one in kept:
            one.unlink()
        raise
    if backup is not None:
        backup.paths += kept
    _force_folder_to_disk(folder)


def _put_back(files: Sequence[Path], folder: Path, aside: Path) -> None:
    """Undo what was replaced: a file that is not where it was written is in the folder."""
    for file in files:
        if not file.exists():
            if (aside / file.name).exists():
                (aside / file.name).replace(folder / file.name)
            else:
                (folder / file.name).unlink()
