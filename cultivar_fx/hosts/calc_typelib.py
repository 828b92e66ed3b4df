"""The type library of the Calc add-in, written without LibreOffice's development kit.

Calc asks a type library which arguments a function takes. Its format, UNOIDL, is a tree of
modules in little-endian binary: the names with the positions of what they stand for, and for
an interface the list of its methods.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

_MAGIC = b"UNOIDL\xff\0"
_MODULE, _INTERFACE, _IN = 0, 5, 0
_ROOT_INTERFACE = "com.sun.star.uno.XInterface"


class Method(NamedTuple):
    """One method: its name, the type of its answer, name and type of each argument."""

    name: str
    answer: str
    arguments: Sequence[tuple[str, str]]


def type_library(name: str, methods: Sequence[Method]) -> bytes:
    """Write a type library that holds one interface.

    Parameters
    ----------
    name : str
        Name of the interface with its modules, such as ``org.example.XFunctions``.
    methods : sequence of Method
        Its methods. Types are those of UNOIDL, ``[]`` before a type makes it a sequence.
    """
    library = bytearray(_MAGIC + bytes(8))

    def put(part: bytes) -> int:
        library.extend(part)
        return len(library) - len(part)

    *modules, own_name = name.split(".")
    content = put(_interface(methods))
    label = put(_label(own_name))
    for module in reversed(modules):
        content = put(bytes([_MODULE]) + _number(1) + _number(label) + _number(content))
        label = put(_label(module))
    root = put(_number(label) + _number(content))
    struct.pack_into("<II", library, len(_MAGIC), root, 1)
    return bytes(library)


def _interface(methods: Sequence[Method]) -> bytes:
    no_optional_bases = no_attributes = no_exceptions = _number(0)
    parts = [bytes([_INTERFACE]), _number(1), _text(_ROOT_INTERFACE)]
    parts += [no_optional_bases, no_attributes, _number(len(methods))]
    for method in methods:
        parts += [_text(method.name), _text(method.answer), _number(len(method.arguments))]
        for argument, kind in method.arguments:
            parts += [bytes([_IN]), _text(argument), _text(kind)]
        parts.append(no_exceptions)
    return b"".join(parts)


def _number(number: int) -> bytes:
    return struct.pack("<I", number)


def _text(text: str) -> bytes:
    return _number(len(text)) + text.encode("ascii")


def _label(name: str) -> bytes:
    return name.encode("ascii") + b"\0"
