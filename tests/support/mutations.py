"""Mutated workbooks: bytes of the zip file turned over, and words of its XML parts exchanged."""

from __future__ import annotations

import io
import random
import re
import zipfile
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

ODD_VALUES = (
    b"", b"0", b"-1", b"1e999", b"nan", b"99999999999999999999", b"=1+1", b"A1:XFD1048576", b"A0",
    b"XFD1048576", b"rId1", b"rId999", b"../../x", b"true", b"s", b"shared", b"inlineStr", b"d",
    b"&amp;", "\u202e".encode(), b"x" * 40000, b"External", b"[1]x!A1", b"#REF!", b"1.5", b"\x00",
)  # fmt: skip
_TAG = re.compile(rb"<[^<>]*>")
_VALUE = re.compile(rb'(?<==")[^"]*(?=")|(?<=>)[^<>]+(?=<)')


def mutated(original: bytes, seed: int) -> bytes:
    """Change a workbook at one to four places, in a way that a seed fixes."""
    draw = random.Random(seed)
    if draw.random() < 0.3:
        return _bytes_changed(original, draw)
    with zipfile.ZipFile(io.BytesIO(original)) as archive:
        parts = [(name, archive.read(name)) for name in archive.namelist()]
    for _ in range(draw.randint(1, 4)):
        draw.choice(_CHANGES)(parts, draw)
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts:
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return written.getvalue()


Parts = list[tuple[str, bytes]]


def _bytes_changed(original: bytes, draw: random.Random) -> bytes:
    changed = bytearray(original)
    for _ in range(draw.randint(1, 8)):
        place = draw.randrange(len(changed))
        if draw.random() < 0.5:  # the table of parts at the end decides the most
            place = len(changed) - 1 - draw.randrange(min(1500, len(changed)))
        changed[place] = draw.randrange(256)
    if draw.random() < 0.2:
        del changed[draw.randrange(len(changed)) :]
    return bytes(changed)


def _in_part(change: Callable[[bytes, random.Random], bytes]) -> Callable[..., None]:
    def change_one(parts: Parts, draw: random.Random) -> None:
        place = draw.randrange(len(parts))
        name, content = parts[place]
        parts[place] = name, change(content, draw)

    return change_one


def _exchange(pattern: re.Pattern[bytes], content: bytes, draw: random.Random, by: bytes) -> bytes:
    found = list(pattern.finditer(content))
    if not found:
        return content
    one = draw.choice(found)
    return content[: one.start()] + by + content[one.end() :]


@_in_part
def _odd_value(content: bytes, draw: random.Random) -> bytes:
    return _exchange(_VALUE, content, draw, draw.choice(ODD_VALUES))


@_in_part
def _tag_gone(content: bytes, draw: random.Random) -> bytes:
    return _exchange(_TAG, content, draw, b"")


@_in_part
def _tag_elsewhere(content: bytes, draw: random.Random) -> bytes:
    found = list(_TAG.finditer(content))
    return _exchange(_TAG, content, draw, draw.choice(found)[0]) if found else content


@_in_part
def _span_repeated(content: bytes, draw: random.Random) -> bytes:
    found = list(_TAG.finditer(content)) or [None]
    first, last = draw.choice(found), draw.choice(found)
    if not first or not last:
        return content
    start, end = sorted((first.start(), last.end()))
    return content[:end] + content[start:end] * draw.randint(1, 3) + content[end:]


@_in_part
def _byte_changed(content: bytes, draw: random.Random) -> bytes:
    place = draw.randrange(len(content) + 1)
    return content[:place] + bytes([draw.randrange(256)]) + content[place + 1 :]


@_in_part
def _cut(content: bytes, draw: random.Random) -> bytes:
    return content[: draw.randrange(len(content) + 1)]


def _part_gone(parts: Parts, draw: random.Random) -> None:
    if len(parts) > 1:
        del parts[draw.randrange(len(parts))]


def _parts_exchanged(parts: Parts, draw: random.Random) -> None:
    one, other = draw.randrange(len(parts)), draw.randrange(len(parts))
    (name, content), (other_name, other_content) = parts[one], parts[other]
    parts[one], parts[other] = (name, other_content), (other_name, content)


def _part_renamed(parts: Parts, draw: random.Random) -> None:
    place = draw.randrange(len(parts))
    new = draw.choice(["../x.xml", "xl/new.xml", draw.choice(parts)[0], "/abs.xml", ""])
    parts[place] = new, parts[place][1]


_CHANGES = (
    _odd_value, _odd_value, _odd_value, _odd_value, _tag_gone, _tag_elsewhere, _span_repeated,
    _byte_changed, _cut, _part_gone, _parts_exchanged, _part_renamed,
)  # fmt: skip
