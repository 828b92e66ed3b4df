"""What a formula is made of, whoever wrote it: a cell of a workbook or a template of ours."""

from __future__ import annotations

import operator
from dataclasses import dataclass, replace
from typing import Any, Callable, Iterator, Optional, Tuple, Union


@dataclass(frozen=True)
class Number:
    """A number as it is written, such as ``0.25``."""

    text: str


@dataclass(frozen=True)
class Text:
    """A text between quotes, without them."""

    value: str


@dataclass(frozen=True)
class Error:
    """An error value, such as ``#N/A``."""

    code: str


@dataclass(frozen=True)
class Reference:
    """A cell, a name, or a column of a table, as it is written."""

    text: str


@dataclass(frozen=True)
class Place:
    """A place of a template that a key fills: ``{key}``, ``{table.column}``, ``{first:last}``.

    ``mark`` is what stands before the key: ``?`` where nothing waits for it, ``$`` where a single
    cell is meant although a column of the row has the same key.
    """

    key: str
    mark: str = ""

    @property
    def is_column(self) -> bool:
        """Whether it is a whole column of a table or grid."""
        return "." in self.key

    @property
    def is_span(self) -> bool:
        """Whether it is a run of form cells below each other."""
        return ":" in self.key


@dataclass(frozen=True)
class Omitted:
    """An argument that is left out between two commas."""


@dataclass(frozen=True)
class Call:
    """A function with its arguments."""

    name: str
    arguments: Tuple[Node, ...]


@dataclass(frozen=True)
class Sign:
    """A plus or minus before a value."""

    sign: str
    operand: Node


@dataclass(frozen=True)
class Percent:
    """A value with a percent sign behind it."""

    operand: Node


@dataclass(frozen=True)
class Operation:
    """Two values with an operator between them; ``:`` makes a range of two references."""

    operator: str
    left: Node
    right: Node


@dataclass(frozen=True)
class Array:
    """A constant list in braces, by rows."""

    rows: Tuple[Tuple[Node, ...], ...]


Node = Union[Number, Text, Error, Reference, Place, Omitted, Call, Sign, Percent, Operation, Array]

BLANK = Text("")
"""What a formula gives that shows nothing."""


def parts(node: Node) -> Tuple[Node, ...]:
    """Return the nodes directly below a node, from left to right."""
    if isinstance(node, Call):
        return node.arguments
    if isinstance(node, (Sign, Percent)):
        return (node.operand,)
    if isinstance(node, Operation):
        return (node.left, node.right)
    if isinstance(node, Array):
        return tuple(one for row in node.rows for one in row)
    return ()


def walk(node: Node) -> Iterator[Node]:
    """Yield a node and everything below it, from left to right."""
    left = [node]
    while left:  # a sum of thousands is as deep as it is long
        one = left.pop()
        yield one
        left.extend(reversed(parts(one)))


_NODES = (Number, Text, Error, Reference, Place, Omitted, Call, Sign, Percent, Operation, Array)


def is_node(value: Any) -> bool:
    """Return whether a value is a node."""
    return isinstance(value, _NODES)


def number(value: float) -> Node:
    """Return a number as it is written; what is below zero has its sign before it."""
    if value < 0:
        return Sign("-", number(-value))
    return Number(str(int(value)) if value == int(value) else repr(float(value)).upper())


def changed(node: Node, change: Callable[[Node], Optional[Node]]) -> Node:
    """Return a tree with some nodes changed, from the top down.

    Parameters
    ----------
    node : Node
        The tree, which stays as it is.
    change : callable
        What to put for a node; nothing where only what is below it may change.
    """
    instead = change(node)
    if instead is not None:
        return instead
    if isinstance(node, Call):
        arguments = tuple([changed(part, change) for part in node.arguments])
        is_same = all(map(operator.is_, arguments, node.arguments))
        return node if is_same else Call(node.name, arguments)
    if isinstance(node, (Sign, Percent)):
        return replace(node, operand=changed(node.operand, change))
    if isinstance(node, Operation):
        left, right = changed(node.left, change), changed(node.right, change)
        is_same = left is node.left and right is node.right
        return node if is_same else Operation(node.operator, left, right)
    if isinstance(node, Array):
        return Array(tuple(tuple(changed(part, change) for part in row) for row in node.rows))
    return node
