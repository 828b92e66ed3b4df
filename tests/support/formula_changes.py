"""Changes one token of a formula at random, as a slip of the hand does.

The tokens are those of openpyxl, not of the reader that is tested.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import column_index_from_string, get_column_letter

if TYPE_CHECKING:
    import random
    from collections.abc import Sequence

KINDS = ("reference", "operator", "constant", "function", "range end")
_OPERATORS = ("+", "-", "*", "/", "^", "&", "=", "<", ">", "<=", ">=", "<>")
_FUNCTIONS = ("SUM", "MAX", "MIN", "COUNT", "AVERAGE", "ABS", "IFERROR", "ROUND")
_ADDRESS = re.compile(r"(\$?)([A-Z]{1,3})(\$?)(\d+)$")


def changed(
    formula: str, kind: str, names: Sequence[str], headings: Sequence[str], chance: random.Random
) -> str:
    """Return a formula with one token of a kind changed; an empty text where it has none.

    ``names`` are those of inputs, and ``headings`` those of the tables, to take others from.
    """
    tokens = Tokenizer(formula).items
    places = [at for at, token in enumerate(tokens) if _is(token, kind)]
    chance.shuffle(places)
    for at in places:
        token = tokens[at]
        new = _other(token.value, kind, names, headings, chance)
        if new and new != token.value:
            values = [one.value for one in tokens]
            values[at] = new
            return "=" + "".join(values)
    return ""


def _is(token: Token, kind: str) -> bool:
    if kind in ("reference", "range end"):
        is_range = token.type == Token.OPERAND and token.subtype == Token.RANGE
        is_truth = token.value in ("TRUE", "FALSE")
        return is_range and not is_truth and (kind == "reference" or ":" in token.value)
    if kind == "operator":
        return token.type in (Token.OP_IN, Token.OP_PRE)
    if kind == "constant":
        return token.type == Token.OPERAND and token.subtype in (Token.NUMBER, Token.TEXT)
    return token.type == Token.FUNC and token.subtype == Token.OPEN


def _other(
    value: str, kind: str, names: Sequence[str], headings: Sequence[str], chance: random.Random
) -> str:
    if kind == "operator":
        return chance.choice([one for one in _OPERATORS if one != value])
    if kind == "function":
        return chance.choice([one for one in _FUNCTIONS if one + "(" != value]) + "("
    if kind == "constant":
        if value.startswith('"'):
            return '"' + value[1:-1] + 'x"'
        return (
            repr(float(value) + 1) if chance.random() < 0.5 else repr(float(value) * 1.001 + 1e-9)
        )
    if "[" in value:
        table, _, rest = value.partition("[")
        if "#This Row" in value and chance.random() < 0.3:
            return value.replace("[#This Row],", "")
        head = re.findall(r"\[([^\[\]]*)\]", "[" + rest)[-1]
        same_table = [one for one in headings if one.startswith(table + "[")]
        other = chance.choice([one for one in same_table if one != f"{table}[{head}]"])
        return value.replace(f"[{head}]", other.removeprefix(table))
    if _ADDRESS.search(value) is None:
        return chance.choice([one for one in names if one != value])
    if kind == "reference" and "!" in value and chance.random() < 0.2:
        return value.rpartition("!")[2]
    ends = value.split(":")
    at = len(ends) - 1 if kind == "range end" else chance.randrange(len(ends))
    ends[at] = _ADDRESS.sub(lambda address: _moved(address, chance), ends[at])
    return ":".join(ends)


def _moved(address: re.Match[str], chance: random.Random) -> str:
    absolute, letters, fixed, row = address.groups()
    if chance.random() < 0.5:
        return f"{absolute}{letters}{fixed}{int(row) + chance.choice((1, 2, 7))}"
    column = get_column_letter(column_index_from_string(letters) + 1)
    return f"{absolute}{column}{fixed}{row}"
