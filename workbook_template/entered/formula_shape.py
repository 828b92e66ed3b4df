"""What a formula computes, without where: the same for every row and program that saved it."""

from __future__ import annotations

import re
from functools import lru_cache

_REFERENCE = "@"
_NUMBER_DIGITS = 12
# A quote that nothing closes reaches to the end: looked for again from each one, that end would
# make a text of nothing but quotes take long.
_TOKEN = re.compile(
    r"""(?P<text>"(?:[^"]|"")*+(?:"|\Z))
    |(?P<sheet>'(?:[^']|'')*+(?:'|\Z)!?|[^\W\d][\w.]*+!|\#REF!(?=\$?[A-Za-z]))
    |(?P<table>[^\W\d]\w*+\[(?:[^\[\]]|\[[^\[\]]*+\])*+\])
    |(?P<cell>\$?[A-Za-z]{1,3}\$?\d+(?![\w(.])|\#REF!)
    |(?P<number>\d+\.?\d*(?:[eE][-+]?\d+)?)
    |(?P<word>(?:_xlfn\.)?(?P<name>[^\W\d][\w.]*))
    |(?P<space>\s+)""",
    re.VERBOSE,
)
_RANGE = re.compile(f"{_REFERENCE}(?::{_REFERENCE})+")
_EMPTY_CALL = re.compile(r"\b(TRUE|FALSE)\(\)")


@lru_cache(maxsize=1 << 15)
def shape(formula: str) -> str:
    """Give a formula with every reference made the same, and every number in one spelling.

    Parameters
    ----------
    formula : str
        As a file holds it. LibreOffice spells 1E-09 as 0.000000001 and TRUE as TRUE(); moved
        rows, renamed sheets and deleted ones change references.

    Returns
    -------
    str
        What is left when all that is taken out.

    Examples
    --------
    >>> shape("=IF('Spawn'!$B$7>1E-09,Batches[[Made]],TRUE())")
    '=IF(@>1e-09,@,TRUE)'
    """
    plain = _TOKEN.sub(_spelled, formula)
    return _EMPTY_CALL.sub(r"\1", _RANGE.sub(_REFERENCE, plain))


def _spelled(token: re.Match[str]) -> str:
    kind = token.lastgroup
    if kind in ("cell", "table"):
        return _REFERENCE
    if kind == "number":
        return f"{float(token[0]):.{_NUMBER_DIGITS}g}"
    if kind in ("sheet", "space"):
        return ""
    return token["text"] or token["name"].upper()
