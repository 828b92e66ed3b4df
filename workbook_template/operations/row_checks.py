"""The workbook's own checks, row by row: which rows of a table make a check count.

Most checks count the rows of a table that meet a condition: ``COUNTIF({batches.good},"<0")``.
Read as it stands, the same text says which rows these are. A check that counts nothing of the
kind, such as a balance, holds or does not hold as a whole.
"""

from __future__ import annotations

import operator
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cultivar_fx.formula.parse import parse
from cultivar_fx.formula.text import plain
from cultivar_fx.formula.tree import Call, Node, Number, Operation, Place, Sign, Text, walk
from workbook_template.schema import TABLES
from workbook_template.writing.formulas import keys_of
from workbook_template.writing.layout import tuple_key

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from workbook_template.writing.blocks import Check

_CRITERION = re.compile(r"([<>]=?|)([^<>]*)")
_COMPARE: dict[str, Callable[[float, float], bool]] = {
    "<": operator.lt,
    ">": operator.gt,
    "<=": operator.le,
    ">=": operator.ge,
}
_COMBINE: dict[str, Callable[[float, float], float]] = {"+": operator.add, "-": operator.sub}


@dataclass(frozen=True)
class Condition:
    """What a cell of a row has to be, so that a check counts the row."""

    column: str
    sign: str
    operand: str
    """A text, or for a comparison the template of a sum of numbers and keys."""

    def holds(self, value: object, singles: Mapping[str, float]) -> bool:
        """Return whether a value meets it."""
        if not self.sign:
            return (value in (None, "")) if not self.operand else value == self.operand
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return False
        return _COMPARE[self.sign](value, _sum(parse(self.operand), singles))


Counted = tuple[Condition, ...]
"""Conditions that a row has to meet all at once."""


def rows_counted(check: Check) -> Sequence[Counted]:
    """Read which rows of a table a check counts.

    Parameters
    ----------
    check : Check
        A check of a sheet.

    Returns
    -------
    sequence of tuple of Condition
        A row that meets all conditions of one of them is counted. Empty where the check counts
        no rows of a table that is typed into.

    Examples
    --------
    >>> rows_counted(Check("Too many lost", 'COUNTIF({batches.good},"<0")'))
    [(Condition(column='batches.good', sign='<', operand='0'),)]
    """
    counted = [_counted(term) for term in _terms(parse(check.found))]
    return counted if all(counted) else []


def _terms(node: Node) -> list[Node]:
    """Return what a node adds up."""
    if isinstance(node, Operation) and node.operator == "+":
        return [*_terms(node.left), *_terms(node.right)]
    return [node]


def _counted(node: Node) -> Counted:
    """Return the conditions of the rows that a call counts; none where it counts no rows."""
    if not isinstance(node, Call) or node.name not in ("COUNTIF", "COUNTIFS", "SUM"):
        return ()
    arguments = (*node.arguments, Text(">0")) if node.name == "SUM" else node.arguments
    pairs = zip(arguments[::2], arguments[1::2], strict=True)
    conditions = [_condition(cells, criterion) for cells, criterion in pairs]
    return tuple(one for one in conditions if one) if all(conditions) else ()


def _condition(cells: Node, criterion: Node) -> Condition | None:
    begins, ends = criterion, ""
    if isinstance(criterion, Operation) and criterion.operator == "&":
        begins, ends = criterion.left, plain(criterion.right)
    if not isinstance(cells, Place) or tuple_key(cells.key)[0] not in TABLES:
        return None
    match = _CRITERION.fullmatch(begins.value) if isinstance(begins, Text) else None
    if match is None:
        return None
    sign, operand = match[1], match[2] or ends
    is_known = not sign or all(map(_is_summed, walk(parse(operand))))
    return Condition(cells.key, sign, operand) if is_known else None


def _is_summed(node: Node) -> bool:
    """Return whether a node may be part of a sum of numbers and keys."""
    if isinstance(node, Operation):
        return node.operator in _COMBINE
    return isinstance(node, (Number, Sign)) or (isinstance(node, Place) and not node.is_column)


def _sum(node: Node, singles: Mapping[str, float]) -> float:
    if isinstance(node, Operation):
        return _COMBINE[node.operator](_sum(node.left, singles), _sum(node.right, singles))
    if isinstance(node, Sign):
        return _COMBINE[node.sign](0.0, _sum(node.operand, singles))
    return singles[node.key] if isinstance(node, Place) else float(plain(node))


def keys_needed(counted: Sequence[Counted]) -> set[str]:
    """Return the keys of the single cells that conditions compare with."""
    operands = (one.operand for conditions in counted for one in conditions if one.sign)
    return {key for operand in operands for key in keys_of(operand)}


def where_typed(column: str) -> list[str]:
    """Return the inputs of a row on which a column of its table depends, the nearest first.

    Parameters
    ----------
    column : str
        As ``table.column``; an input stands for itself.

    Returns
    -------
    list of str
        Keys of inputs in the same row, then the one that names the row.
    """
    table, key = tuple_key(column)
    inputs = [one.key for one in TABLES[table].fields]
    one = TABLES[table].column(key)
    template = getattr(one, "formula", "")
    named = [k for k in keys_of(template) if k in inputs] if template else [key]
    return [*named, TABLES[table].first.key]
