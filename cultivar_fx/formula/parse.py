"""Reads the text of a formula, in the comma syntax of files, as a tree."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import List, Optional, Tuple

from cultivar_fx.formula.tree import (
    Array,
    Call,
    Error,
    Node,
    Number,
    Omitted,
    Operation,
    Percent,
    Place,
    Reference,
    Sign,
    Text,
)

_TOKEN = re.compile(
    r"\s*(?:"
    r'(?P<text>"(?:[^"]|"")*")'
    r"|(?P<error>\#(?:[A-Z/0]+[!?]?|[A-Z]+/[A-Z]))"
    r"|\{(?P<mark>[?$]?)(?P<place>[a-z]\w*(?:[.:][a-z]\w*)?)\}"
    r"|(?P<number>(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?(?![\w.]))"
    r"|(?P<word>(?:(?:'(?:[^']|'')*'|[\w.]+)!)?[$\w.\\]+"
    r"(?:\[(?:[^\[\]]|\[[^\[\]]*\])*\])?)"
    r"|(?P<sign><=|>=|<>|[-+*/^&=<>%:(),;{}])"
    r")"
)
_LEVELS = (("=", "<", ">", "<=", ">=", "<>"), ("&",), ("+", "-"), ("*", "/"), ("^",))
"""The operators between two values, those that bind least first."""
_BINDS = {operator: level for level, operators in enumerate(_LEVELS) for operator in operators}


class FormulaSyntaxError(ValueError):
    """A text that is no formula."""


@lru_cache(maxsize=8192)
def parse(text: str) -> Node:
    """Return the tree of a formula of ours, which is kept: many cells share it.

    Parameters
    ----------
    text : str
        The formula, without an equals sign before it.

    Raises
    ------
    FormulaSyntaxError
        If the text is no formula.

    Examples
    --------
    >>> parse("1+A1")
    Operation(operator='+', left=Number(text='1'), right=Reference(text='A1'))
    """
    return parse_once(text)


def parse_once(text: str) -> Node:
    """Return the tree of a formula of anybody's, whose trees together may be large.

    Parameters
    ----------
    text : str
        The formula, without an equals sign before it.

    Raises
    ------
    FormulaSyntaxError
        If the text is no formula.
    """
    reader = _Reader(text)
    try:
        node = reader.node(0)
    except RecursionError:  # brackets within brackets, hundreds of times
        raise reader.fault() from None
    if reader.kind:
        raise reader.fault()
    return node


class _Reader:
    """Goes through the tokens of one formula."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.kind = ""
        self.token = ""
        self.match: Optional[re.Match[str]] = None
        self.next()

    def next(self) -> None:
        """Read the next token; at the end its kind is empty."""
        self.match = _TOKEN.match(self.text, self.at)
        if self.match is None:
            if self.text[self.at :].strip():
                raise self.fault()
            self.kind = self.token = ""
            return
        self.at = self.match.end()
        self.kind = self.match.lastgroup or ""
        self.token = self.match[self.kind]

    def fault(self) -> FormulaSyntaxError:
        """Return the error that says where the text stops being a formula."""
        return FormulaSyntaxError(f"{self.text!r} is not a formula: see character {self.at}")

    def is_sign(self, *signs: str) -> bool:
        """Return whether the token is one of some signs; no other token reads as one does."""
        return self.token in signs

    def take(self, sign: str) -> None:
        """Go past a sign that has to be there."""
        if not self.is_sign(sign):
            raise self.fault()
        self.next()

    def node(self, level: int) -> Node:
        """Read what operators of a level, and those that bind more, hold together."""
        left = self.percent()
        while self.kind == "sign" and _BINDS.get(self.token, -1) >= level:
            operator = self.token
            self.next()
            left = Operation(operator, left, self.node(_BINDS[operator] + 1))
        return left

    def percent(self) -> Node:
        """Read a value and the percent signs behind it."""
        node = self.signed()
        while self.token == "%":
            self.next()
            node = Percent(node)
        return node

    def signed(self) -> Node:
        """Read a value and the signs before it: spreadsheets bind them more than a power."""
        if self.token in ("-", "+"):
            sign = self.token
            self.next()
            return Sign(sign, self.signed())
        left = self.single()
        while self.token == ":":
            self.next()
            left = Operation(":", left, self.single())
        return left

    def single(self) -> Node:
        """Read one value, call, list or bracket."""
        kind, token = self.kind, self.token
        if token == "(":
            self.next()
            node = self.node(0)
            self.take(")")
            return node
        if token == "{":
            self.next()
            return Array(self.rows())
        if kind == "place":
            assert self.match is not None
            mark = self.match["mark"]
            self.next()
            return Place(token, mark)
        if kind not in ("text", "error", "number", "word"):
            raise self.fault()
        self.next()
        if kind == "word" and self.token == "(":
            self.next()
            return Call(token, self.arguments())
        if kind == "text":
            return Text(token[1:-1].replace('""', '"'))
        if kind == "error":
            return Error(token)
        return Number(token) if kind == "number" else Reference(token)

    def arguments(self) -> Tuple[Node, ...]:
        """Read the arguments of a call up to its closing bracket."""
        if self.is_sign(")"):
            self.next()
            return ()
        found: List[Node] = []
        while True:
            found.append(Omitted() if self.is_sign(",", ")") else self.node(0))
            if self.is_sign(")"):
                self.next()
                return tuple(found)
            self.take(",")

    def rows(self) -> Tuple[Tuple[Node, ...], ...]:
        """Read a list in braces up to the closing one."""
        rows: List[List[Node]] = [[]]
        while True:
            rows[-1].append(self.node(0))
            if self.is_sign("}"):
                self.next()
                return tuple(map(tuple, rows))
            if self.is_sign(";"):
                rows.append([])
                self.next()
            else:
                self.take(",")
