"""Formula templates of the workbook: cell names and worksheet functions become native text.

A template reads like what a grower types: ``CFX.WATER_TO_ADD({mix_mass},{moisture},{target})``.
``CFX.NAME.HOLDS(...)`` is the condition under which the function has an answer at all. An argument
that is a cell is brought to the function's unit; ``UNIT(value,"kg/pack","kg")`` brings any value
from the unit of one dimension to that of another.

A formula waits, and looks empty, until everything that it rests on is known: the keys that it
names, and what it looks up in tables. ``{?key}`` is named without waiting for it, and ``N({key})``
takes an optional input that is blank for nothing. ``{$key}`` is a single cell where a column of
the same row has that key too.
"""

from __future__ import annotations

from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple, TypeGuard

from cultivar_fx.catalog.definition import PREFIX
from cultivar_fx.catalog.dimensions import US
from cultivar_fx.catalog.native import requirement, written_out
from cultivar_fx.catalog.registry import definition
from cultivar_fx.formula.parse import parse
from cultivar_fx.formula.text import plain
from cultivar_fx.formula.tree import (
    BLANK,
    Call,
    Node,
    Number,
    Omitted,
    Operation,
    Place,
    Reference,
    Text,
    changed,
    parts,
    walk,
)
from workbook_template.schema.fields import dimension_of
from workbook_template.writing.unit_change import in_us_unit, same_quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from cultivar_fx.catalog.dimensions import Dimension

_LOOK_UPS = ("INDEX", "MATCH")
_UNIT = "UNIT"
_BLANK_IS_FINE = frozenset(
    ("N", "T", "COUNT", "COUNTA", "COUNTBLANK", "COUNTIF", "COUNTIFS", "SUMIFS", "AVERAGEIFS")
) | {"ISNUMBER", "ISTEXT", "ISERROR", "IFERROR", "ROW", "ROWS", "COLUMN", "COLUMNS"}
"""Functions that tell a blank cell from 0 themselves, or do not mind."""
_COMPARISONS = frozenset(("=", "<>", "<", ">", "<=", ">="))


class Use(Enum):
    """How a formula uses a cell."""

    RESTS_ON = 1
    """Without it there is no result."""
    NAMES = 2
    """Used where a blank is fine."""
    LOOKS_UP_BY = 3
    """Only to find what is looked up: where it is blank, nothing is found."""


class Used(NamedTuple):
    """A cell that a formula uses: a key, or what is looked up in a column."""

    node: Node
    use: Use
    unless: tuple[Node, ...] = ()
    """Conditions under which the formula takes another branch, and does without the cell."""


def keys_of(template: str) -> list[str]:
    """Return the keys that a template waits for, each once, in order."""
    nodes = walk(parse(template))
    return list(
        dict.fromkeys(one.key for one in nodes if isinstance(one, Place) and one.mark in ("", "$"))
    )


@lru_cache(maxsize=8192)
def used(template: str) -> tuple[Used, ...]:
    """Return every cell that a template uses, in order; whole columns are none."""
    return tuple(dict.fromkeys(_used(parse(template), Use.RESTS_ON, ())))


def _used(node: Node, use: Use, unless: tuple[Node, ...]) -> Iterator[Used]:
    if isinstance(node, Place):
        if node.mark != "?" and not node.is_column:
            yield Used(node, use, unless)
    elif is_look_up(node) and use is not Use.LOOKS_UP_BY:
        yield Used(node, use, unless)
        below = Use.LOOKS_UP_BY if use is Use.RESTS_ON else use
        for part in parts(node):
            yield from _used(part, below, unless)
    elif use is Use.RESTS_ON and (choice := _choice(node)):
        condition, otherwise, then = choice
        asked = set(walk(condition))
        yield from _used(condition, use, unless)
        for branch, other in ((otherwise, condition), (then, Call("NOT", (condition,)))):
            for one in _used(branch, use, (*unless, other)):
                yield one._replace(use=Use.NAMES) if one.node in asked else one
    else:
        for number, part in enumerate(parts(node)):
            yield from _used(part, _use_of_part(node, number, use), unless)


def _choice(node: Node) -> tuple[Node, Node, Node] | None:
    """Return condition and branches of ``CHOOSE(1+condition,otherwise,then)``."""
    if isinstance(node, Call) and node.name == "CHOOSE" and len(node.arguments) == 3:
        which, otherwise, then = node.arguments
        if isinstance(which, Operation) and (which.operator, which.left) == ("+", Number("1")):
            return which.right, otherwise, then
    return None


def _use_of_part(node: Node, number: int, use: Use) -> Use:
    """Return how a formula uses a part of something that it uses."""
    if use is not Use.RESTS_ON:
        return use
    if isinstance(node, Call):
        if node.name in _BLANK_IS_FINE or (node.name == "CHOOSE" and number):
            return Use.NAMES
    elif isinstance(node, Operation):
        is_test = node.operator in ("=", "<>") and BLANK in (node.left, node.right)
        if is_test or node.operator in ("&", ":"):
            return Use.NAMES
    return use


def is_look_up(node: Node) -> bool:
    """Return whether a node finds one cell, or its row, in a whole column."""
    return (
        isinstance(node, Call)
        and node.name in _LOOK_UPS
        and any(isinstance(one, Place) and one.is_column for one in node.arguments[:2])
    )


def column_looked_up(node: Node) -> str:
    """Return the column from which a look-up takes a cell, as ``table.key``; empty for a row."""
    if isinstance(node, Call) and node.name == "INDEX":
        column = node.arguments[0]
        return column.key if isinstance(column, Place) and column.is_column else ""
    return ""


def bare_results(template: str, known: Iterable[Node]) -> list[Node]:
    """Return the cells that a template may give back as they are though they are not known.

    Where such a cell is empty, some programs show nothing and others 0.
    """
    bare = _bare_results(template)
    are_known = set(known) if bare else set()
    return [one for one in bare if one not in are_known]


@lru_cache(maxsize=8192)
def _bare_results(template: str) -> tuple[Node, ...]:
    return tuple(_bare(parse(template), frozenset()))


def _bare(node: Node, known: frozenset[Node]) -> Iterator[Node]:
    if isinstance(node, Call) and node.name in ("CHOOSE", "IFERROR"):
        asked = set(walk(node.arguments[0])) if node.name == "CHOOSE" else set()
        for branch in node.arguments[bool(asked) :]:
            yield from _bare(branch, known | asked)
    elif (isinstance(node, Place) or column_looked_up(node)) and node not in known:
        yield node


def never_fails(condition: Node) -> bool:
    """Return whether a condition has an answer whatever its cells hold, but for errors."""
    if any(map(is_look_up, walk(condition))):
        return False
    if isinstance(condition, Call):
        return condition.name in _BLANK_IS_FINE - {"IFERROR", "ROW"} or (
            condition.name in ("NOT", "MIN", "MAX") and all(map(never_fails, condition.arguments))
        )
    if isinstance(condition, Operation):
        if condition.operator in _COMPARISONS:
            return all(map(_is_given, parts(condition)))
        return condition.operator in "+-*" and all(map(never_fails, parts(condition)))
    return isinstance(condition, Number)


def _is_given(node: Node) -> bool:
    """Return whether a node is a cell or a constant, which a comparison takes as it is."""
    return isinstance(node, (Place, Number, Text)) or never_fails(node)


def render(
    template: str | Node,
    resolve: Callable[[str], str],
    units: str,
    kind: Callable[[Node], Dimension | None] = lambda _: None,
) -> str:
    """Write a template out as spreadsheet text, without the equals sign.

    Parameters
    ----------
    template : str or Node
        The template, or a part of one.
    resolve : callable
        Returns the reference for the key of a place, with its mark.
    units : str
        The system of the workbook.
    kind : callable
        Returns the dimension of a cell, or of what is looked up, where it is known.
    """

    def argument_in_unit(node: Node, wanted: Dimension) -> Node:
        given = kind(node) if units == US else None
        written = changed(node, write)
        return in_us_unit(written, given, wanted) if _differs(given, wanted) else written

    def write(node: Node) -> Node | None:
        if isinstance(node, Place):
            return Reference(resolve(node.mark.strip("?") + node.key))
        if isinstance(node, Call) and node.name == _UNIT:
            value, *pair = node.arguments
            given, wanted = (dimension_of(one.value) for one in pair if isinstance(one, Text))
            written = changed(value, write)
            return in_us_unit(written, given, wanted) if units == US else written
        if not isinstance(node, Call) or not node.name.startswith(PREFIX):
            return None
        name, _, holds = node.name[len(PREFIX) :].partition(".")
        function = definition(name)
        arguments = {
            argument.name: argument_in_unit(value, argument.dimension)
            for argument, value in zip(function.arguments, node.arguments, strict=False)
            if not isinstance(value, Omitted)
        }
        return (requirement if holds else written_out)(function, arguments, units)

    pieces = _pieces(template)
    if pieces is None:
        return plain(changed(_tree(template), write))
    return "".join([resolve(one) if number % 2 else one for number, one in enumerate(pieces)])


@lru_cache(maxsize=8192)
def _pieces(template: str | Node) -> tuple[str, ...] | None:
    """Return the text of a template with every second piece a place, by its mark and key.

    None where functions are written out, which takes the tree.
    """
    text = template if isinstance(template, str) else plain(template)
    if PREFIX in text or _UNIT in text:
        return None

    def marked(node: Node) -> Node | None:
        if isinstance(node, Place):
            return Reference(f"\0{node.mark.strip('?')}{node.key}\0")
        return None

    return tuple(plain(changed(_tree(template), marked)).split("\0"))


def _tree(template: str | Node) -> Node:
    return parse(template) if isinstance(template, str) else template


def _differs(given: Dimension | None, wanted: Dimension) -> TypeGuard[Dimension]:
    return given is not None and given != wanted and same_quantity(given, wanted)


class Needed(NamedTuple):
    """What has to be known before a formula gives anything, as spreadsheet text."""

    numbers: list[str]
    """Cells that hold a number."""
    spans: list[tuple[str, int]]
    """Cells below each other that hold one each, and how many there are."""
    conditions: list[str]
    """What has to hold besides."""


def when_known(text: str, needed: Needed) -> str:
    """Let a formula wait, and look empty, until what it rests on is known."""
    conditions = []
    if len(needed.numbers) == 1 and not needed.spans:
        conditions.append(f"ISNUMBER({needed.numbers[0]})")
    elif needed.numbers or needed.spans:
        cells = ",".join([*needed.numbers, *(cells for cells, _ in needed.spans)])
        count = len(needed.numbers) + sum(cells for _, cells in needed.spans)
        conditions.append(f"COUNT({cells})={count}")
    conditions += needed.conditions
    if not conditions:
        return text
    condition = conditions[0] if len(conditions) == 1 else f"AND({','.join(conditions)})"
    return f'IF({condition},{text},"")'
