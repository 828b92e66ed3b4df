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

from cultivar_fx.native import split_call
from workbook_template.schema import TABLES
from workbook_template.writing.book import tuple_key
from workbook_template.writing.formulas import keys_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from workbook_template.writing.page import Check

_COUNT = re.compile(r"\+?(COUNTIFS?|SUM)\(")
_COLUMN = re.compile(r"\{(\w+\.\w+)\}")
_CONDITION = re.compile(r'"([<>]=?|)([^"<>]*)"(?:&(.+))?')
_KEY = re.compile(r"\{(\w+)\}")
_SUM = re.compile(r"[-+\d.e]+")
_TERM = re.compile(r"[+-]?[\d.]+(?:e[+-]?\d+)?")
_COMPARE: dict[str, Callable[[float, float], bool]] = {
    "<": operator.lt,
    ">": operator.gt,
    "<=": operator.le,
    ">=": operator.ge,
}


@dataclass(frozen=True)
class Condition:
    """What a cell of a row has to be, so that a check counts the row."""

    column: str
    sign: str
    operand: str
    """A text, or for a comparison a sum of numbers and keys."""

    def holds(self, value: object, singles: Mapping[str, float]) -> bool:
        """Tell whether a value meets it."""
        if not self.sign:
            return (value in (None, "")) if not self.operand else value == self.operand
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            return False
        return _COMPARE[self.sign](value, _sum(self.operand, singles))


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
    counted = []
    rest = check.found
    while rest:
        call = _COUNT.match(rest)
        if call is None:
            return []
        arguments, end = split_call(rest, call.end() - 1)
        if call[1] == "SUM":
            arguments = [*arguments, '">0"']
        pairs = list(zip(arguments[::2], arguments[1::2], strict=True))
        conditions = tuple(one for one in (_condition(*pair) for pair in pairs) if one)
        if len(conditions) < len(pairs):
            return []
        counted.append(conditions)
        rest = rest[end + 1 :]
    return counted


def _condition(cells: str, criterion: str) -> Condition | None:
    column, wanted = _COLUMN.fullmatch(cells), _CONDITION.fullmatch(criterion)
    if column is None or wanted is None or tuple_key(column[1])[0] not in TABLES:
        return None
    operand = wanted[2] or wanted[3] or ""
    is_known = not wanted[1] or _SUM.fullmatch(_plain(_KEY.sub("0", operand)))
    return Condition(column[1], wanted[1], operand) if is_known else None


def _sum(operand: str, singles: Mapping[str, float]) -> float:
    text = _plain(_KEY.sub(lambda key: repr(singles[key[1]]), operand))
    return sum(float(term) for term in _TERM.findall(text))


def _plain(text: str) -> str:
    """Take brackets away, and write each number with one sign."""
    return re.sub(r"[()]", "", text).replace("--", "+").replace("+-", "-")


def keys_needed(counted: Sequence[Counted]) -> set[str]:
    """Give the keys of the single cells that conditions compare with."""
    return {key for one in counted for condition in one for key in _KEY.findall(condition.operand)}


def where_typed(column: str) -> list[str]:
    """Give the inputs of a row on which a column of its table depends, the nearest first.

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
