"""Why a file is not read or not written: each one sentence that says what to do.

All are kinds of ``ValueError``, so that a command shows the sentence and no traceback.
"""

from __future__ import annotations

import errno
import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

_LONGEST_NAME = 120


class Refusal(ValueError):
    """A file that is not read or not written."""


class CannotRead(Refusal):
    """There is no such file, or no way to it."""


class NotAWorkbook(Refusal):
    """A file of another kind."""


class Encrypted(Refusal):
    """A workbook with a password."""


class Damaged(Refusal):
    """A workbook that is cut off, or whose parts do not fit together."""


class TooLarge(Refusal):
    """A workbook that would take more memory or time than any farm's workbook does."""


class Unsafe(Refusal):
    """A workbook with parts that run, embed or fetch something."""


class ForeignWorkbook(Refusal):
    """A workbook that cultivar_fx did not make."""


class NewerWorkbook(Refusal):
    """A workbook of a later version of cultivar_fx."""


class CannotWrite(Refusal):
    """The target cannot be written; what was there is as it was."""


class CannotCompute(Refusal):
    """A workbook of ours whose formulas could not be computed, for want of memory."""


def shown(name: str) -> str:
    """Return a name on one line, whatever it holds.

    Parameters
    ----------
    name : str
        Name of a file, a sheet or a part; it may come from a stranger.

    Returns
    -------
    str
        The name without control characters, cut where it is very long.
    """
    printable = "".join(letter if letter.isprintable() else "?" for letter in name)
    cut = printable[: _LONGEST_NAME - 1] + "…"
    return printable if len(printable) <= _LONGEST_NAME else cut


_CAUSES = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk is full",
    errno.EFBIG: "the disk takes no file of this size",
    errno.EACCES: "it is open in another program, or you have no permission",
    errno.EPERM: "it is open in another program, or you have no permission",
    errno.EBUSY: "it is open in another program",
    errno.EROFS: "the disk is read-only",
    errno.ENAMETOOLONG: "its name is too long",
    errno.ELOOP: "its links lead in a circle",
}


def cause_of(error: OSError) -> str:
    """Describe in words of the trade why the system refused.

    Parameters
    ----------
    error : OSError
        What the system raised.

    Returns
    -------
    str
        The cause, without the name of the file.
    """
    code = error.errno
    if code in _CAUSES:
        return _CAUSES[code]
    return shown(os.strerror(code).lower() if code else str(error))


def existing_folder(path: Path) -> None:
    """Refuse a target whose folder does not exist.

    Parameters
    ----------
    path : Path
        What is to be written.

    Raises
    ------
    CannotWrite
        If its folder is not there, or is no folder.
    """
    if not path.parent.is_dir():
        raise CannotWrite(f"There is no folder {shown(str(path.parent))}: make it first.")
