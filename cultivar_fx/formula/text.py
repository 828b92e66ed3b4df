"""Writes a tree as the text of a formula, with no more brackets than it takes."""

from __future__ import annotations

from typing import Iterable

from cultivar_fx.formula.tree import (
    Array,
    Call,
    Error,
    Node,
    Number,
    Operation,
    Percent,
    Place,
    Reference,
    Sign,
    Text,
    number,
)

_BINDING = {
    **dict.fromkeys(("=", "<", ">", "<=", ">=", "<>"), 1),
    "&": 2,
    **dict.fromkeys("+-", 3),
    **dict.fromkeys("*/", 4),
    "^": 5,
    ":": 8,
}
_PERCENT, _SIGN, _SINGLE = 6, 7, 9


def plain(node: Node) -> str:
    """Return the text of a formula, without an equals sign before it.

    Examples
    --------
    >>> plain(parse("(1+2)*(3)"))
    '(1+2)*3'
    """
    if isinstance(node, (Number, Reference)):
        return node.text
    if isinstance(node, Text):
        return '"' + node.value.replace('"', '""') + '"'
    if isinstance(node, Error):
        return node.code
    if isinstance(node, Place):
        return "{" + node.mark + node.key + "}"
    if isinstance(node, Call):
        return f"{node.name}({_listed(node.arguments)})"
    if isinstance(node, Sign):
        return node.sign + _within(node.operand, _SIGN)
    if isinstance(node, Percent):
        return _within(node.operand, _PERCENT) + "%"
    if isinstance(node, Operation):
        binding = _BINDING[node.operator]
        # What stands to the right was put together first where it binds no more; and 1-(-3) reads
        # better than 1--3.
        is_signed = isinstance(node.right, Sign)
        left = _within(node.left, binding)
        right = _within(node.right, _SINGLE if is_signed else binding + 1)
        return left + node.operator + right
    if isinstance(node, Array):
        return "{" + ";".join(_listed(row) for row in node.rows) + "}"
    return ""


def number_text(value: float) -> str:
    """Return a number as a formula writes it."""
    return plain(number(value))


def _listed(nodes: Iterable[Node]) -> str:
    return ",".join(map(plain, nodes))


def _within(node: Node, binding: int) -> str:
    """Return a part of an operation, in brackets where it binds less than the operation."""
    text = plain(node)
    return text if _binding(node) >= binding else f"({text})"


def _binding(node: Node) -> int:
    if isinstance(node, Operation):
        return _BINDING[node.operator]
    if isinstance(node, Percent):
        return _PERCENT
    return _SIGN if isinstance(node, Sign) else _SINGLE
