"""Writing whole files: whatever happens, the old one is there or the new one, never half.

A file is written beside its target under a hidden name, forced onto the disk, and renamed.
"""

from __future__ import annotations

import os
import shutil
import stat
import tempfile
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from workbook_template.errors import CannotWrite, cause_of, existing_folder, shown

if TYPE_CHECKING:
    from collections.abc import Iterator

_READABLE_BY_ALL = 0o644
_FOLDER_OPEN_TO_ALL = 0o755
_LOCKS = (("LibreOffice", ".~lock.{name}#"), ("Excel", "~${name}"))
"""The files that the programs put beside a workbook while it is open."""


@contextmanager
def whole_file(path: Path, replace: bool = True) -> Iterator[Path]:
    """Write one file whole or not at all.

    Parameters
    ----------
    path : Path
        The target.
    replace : bool
        Whether an older file there is replaced.

    Yields
    ------
    Path
        The hidden file beside the target that is to be filled; it has the target's ending.

    Raises
    ------
    CannotWrite
        If there is a file already and it is not to be replaced, it is open in another program,
        the disk is full, or the folder cannot be written to. The old file is as it was.

    Examples
    --------
    >>> with whole_file(Path("notes.txt")) as unfinished:  # doctest: +SKIP
    ...     unfinished.write_text("all of it")
    """
    existing_folder(path)
    with _plain_refusals(path):
        target = Path(os.path.realpath(path))
        _check_target(target, replace)
        unfinished = _hidden_file(target)
        try:
            yield unfinished
            _force_to_disk(unfinished)
            _put_in_place(unfinished, target, replace)
        finally:
            unfinished.unlink(missing_ok=True)
        _force_folder_to_disk(target.parent)


@contextmanager
def whole_folder(path: Path, replace: bool = False) -> Iterator[Path]:
    """Write a folder of files whole or not at all.

    A new folder appears at once with all its files. In a folder that is there already, each file
    is replaced whole, after all of them were written; other files in it stay.

    Parameters
    ----------
    path : Path
        The folder.
    replace : bool
        Whether files in a folder that is not empty may be replaced.

    Yields
    ------
    Path
        The hidden folder that is to be filled with files.

    Raises
    ------
    CannotWrite
        If the folder holds something and nothing is to be replaced, a file has its name, the
        disk is full, or it cannot be written to.
    """
    existing_folder(path)
    with _plain_refusals(path):
        target = Path(os.path.realpath(path))
        is_there = _check_folder(target, replace)
        unfinished = Path(tempfile.mkdtemp(prefix=f".{target.name[:40]}-", dir=target.parent))
        try:
            yield unfinished
            files = sorted(unfinished.iterdir())
            for file in files:
                _force_to_disk(file)
                file.chmod(_READABLE_BY_ALL)
            if is_there:
                for file in files:
                    file.replace(target / file.name)
                _force_folder_to_disk(target)
            else:
                unfinished.chmod(_FOLDER_OPEN_TO_ALL)
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
    for program, pattern in _LOCKS:
        lock = path.parent / pattern.format(name=path.name)
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


def _check_target(target: Path, replace: bool) -> None:
    if target.is_dir():
        raise CannotWrite(f"{shown(str(target))} is a folder: give the name of a file.")
    if target.exists() and not replace:
        raise _exists(target)
    program = open_in(target)
    if program:
        raise CannotWrite(f"{shown(str(target))} is open in {program}: close it there first.")


def _exists(target: Path) -> CannotWrite:
    return CannotWrite(f"{shown(str(target))} exists already; --force replaces it.")


def _check_folder(target: Path, replace: bool) -> bool:
    """Return whether the folder is there already."""
    if not target.exists():
        return False
    if not target.is_dir():
        raise CannotWrite(f"{shown(str(target))} is a file: give the name of a folder.")
    if any(target.iterdir()) and not replace:
        raise CannotWrite(
            f"{shown(str(target))} holds files already; --force replaces those of the same name."
        )
    return True


def _hidden_file(target: Path) -> Path:
    handle, name = tempfile.mkstemp(
        prefix=f".{target.stem[:40]}-", suffix=target.suffix, dir=target.parent
    )
    os.close(handle)
    return Path(name)


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


def _put_in_place(unfinished: Path, target: Path, replace: bool) -> None:
    if replace:
        unfinished.chmod(_mode_of(target))
        unfinished.replace(target)
        return
    unfinished.chmod(_READABLE_BY_ALL)
    try:
        target.hardlink_to(unfinished)  # fails where a file came up in the meantime
    except FileExistsError:
        raise _exists(target) from None
    except OSError:  # a disk without links
        if target.exists():
            raise _exists(target) from None
        unfinished.rename(target)


def _mode_of(target: Path) -> int:
    try:
        return stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        return _READABLE_BY_ALL
