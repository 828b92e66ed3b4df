"""Looks through a workbook file before anything is built from it.

An .xlsx file is a zip package of XML parts. A stranger's file may unpack to gigabytes, name one
part twice, or carry what runs: all that is found here, part by part, within fixed memory and
time. What comes back says which parts hold what was typed; no other part is ever read.
"""

from __future__ import annotations

import zipfile
import zlib
from io import BytesIO
from typing import NamedTuple

from workbook_template.errors import Damaged, Encrypted, NotAWorkbook, TooLarge, Unsafe, shown
from workbook_template.safety.parts import CONTENT_TYPES, find_parts
from workbook_template.safety.scan import Limits, Tally, too_large

_END = b"PK\x05\x06"
_END_SIZE = 22
_ZIP64 = b"PK\x06\x07"
_ZIP64_SIZE = 20
_COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1")
_DIRECTORY_BYTES = 1 << 18
_MOST_PARTS = 1000
_TIGHTEST = 250
"""Times that a part may unpack to; a log of ten thousand equal rows stays below."""
_ALWAYS_ALLOWED = 1 << 20
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_PASSWORD_FLAG = 1

_OTHER_PACKAGES = (
    ("mimetype", "is an OpenDocument file: open it in LibreOffice, save it as Excel 2007-365 "
     "(.xlsx), and give that file"),
    ("xl/workbook.bin", "is a binary workbook (.xlsb): save it as .xlsx, and give that file"),
    ("word/document.xml", "is a text document, no workbook"),
    ("ppt/presentation.xml", "is a presentation, no workbook"),
    ("Index/Document.iwa", "is a Numbers file: export it as Excel (.xlsx), and give that file"),
)  # fmt: skip


class Package(NamedTuple):
    """A package that was looked through: its name, its bytes, and what may be read of it."""

    name: str
    data: bytes
    parts: frozenset[str]
    limits: Limits


def examine(data: bytes, name: str, macros: bool = False, limits: Limits | None = None) -> Package:
    """Look through the bytes of a workbook file.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        Its name, for the sentences.
    macros : bool
        Whether the file says by its name that it holds macros (.xlsm). They are skipped,
        never read; in a file that does not say so they are refused.
    limits : Limits, optional
        How much it may hold.

    Returns
    -------
    Package
        Name, bytes, and which parts may be read.

    Raises
    ------
    NotAWorkbook, Encrypted, Damaged, TooLarge, Unsafe
        For what is no sound workbook; the text is one sentence that says what to do.
    """
    tally = Tally(name, limits or Limits())
    if len(data) > tally.limits.file_bytes:
        raise too_large(name)
    _check_kind(data, name)
    _check_directory(data, name)
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            infos = archive.infolist()
            _check_entries(infos, tally)
            _check_names([info.filename for info in infos], name)
            return Package(name, data, find_parts(archive, tally, macros), tally.limits)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as error:
        raise Damaged(f"{name} is damaged or cut off: take an earlier copy of it.") from error


def _check_kind(data: bytes, name: str) -> None:
    if not data:
        raise NotAWorkbook(f"{name} is empty.")
    if data.startswith(_COMPOUND):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise Encrypted(
                f"{name} is encrypted: open it with its password, save it without one, try again."
            )
        raise NotAWorkbook(f"{name} is in an old format (.xls): save it as .xlsx, try again.")
    if not data.startswith(b"PK"):
        raise NotAWorkbook(f"{name} is no workbook: give the .xlsx file that cultivar-fx wrote.")


def _check_directory(data: bytes, name: str) -> None:
    """Check the table at the end of the file, before anything is made of its entries."""
    end = len(data) - _END_SIZE
    record = data[max(end, 0) :]
    if end < 0 or not record.startswith(_END) or not record.endswith(b"\0\0"):
        raise Damaged(f"{name} is cut off, or something was added to its end.")
    size = int.from_bytes(record[12:16], "little")
    start = int.from_bytes(record[16:20], "little")
    zip64 = data[max(end - _ZIP64_SIZE, 0) : end].startswith(_ZIP64)
    if size > _DIRECTORY_BYTES or zip64:
        raise TooLarge(f"{name} has more parts than a workbook: it is not read.")
    if start + size != end:
        raise Damaged(f"{name} is damaged: its table of parts is not where it should be.")


def _check_entries(infos: list[zipfile.ZipInfo], tally: Tally) -> None:
    name = tally.name
    if len(infos) > _MOST_PARTS:
        raise TooLarge(f"{name} has more parts than a workbook: it is not read.")
    if sum(info.file_size for info in infos) > tally.limits.unpacked_bytes:
        raise too_large(name)
    for info in infos:
        if info.flag_bits & _PASSWORD_FLAG:
            raise Encrypted(f"{name} is packed with a password: pack it anew without one.")
        if info.compress_type not in _METHODS:
            raise Damaged(f"{name} is packed in a way that no spreadsheet program uses.")
        tight = info.file_size > _TIGHTEST * max(info.compress_size, 1)
        if tight and info.file_size > _ALWAYS_ALLOWED:
            raise TooLarge(
                f"{name} is not read: its part {shown(info.filename)} unpacks to more than "
                f"{_TIGHTEST} times its size."
            )
        if info.orig_filename != info.filename or not _is_plain(info.filename):
            raise Unsafe(f"{name} is not read: a part is named {shown(info.orig_filename)!r}.")


def _is_plain(part: str) -> bool:
    """Return whether a name leads to a place inside the package."""
    steps = part.rstrip("/").split("/")
    return (
        part.isprintable()
        and not any(step in ("", ".", "..") for step in steps)
        and not any(letter in part for letter in "\\:")
    )


def _check_names(names: list[str], name: str) -> None:
    if len({part.casefold() for part in names}) < len(names):
        raise Damaged(f"{name} is damaged: it has two parts of the same name.")
    for part, words in _OTHER_PACKAGES:
        if part in names:
            raise NotAWorkbook(f"{name} {words}.")
    if CONTENT_TYPES not in names:
        raise NotAWorkbook(f"{name} is a zip file, no workbook.")
