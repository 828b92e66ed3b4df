"""Searches the parts of a copy for private values, before anybody gets it."""

from __future__ import annotations

import re
import zipfile
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

from workbook_template.texts import file_text

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

_TELLING_DIGITS = 5
"""A number of fewer stands anywhere by chance."""
_TELLING_WHOLE = 100_000
"""A smaller whole number may be a row, a width or a date."""
_TELLING_LETTERS = 4
_PLACES = range(2, 10)
_TOKEN = re.compile(r"(?<![\w.,#])-?\d[\d,]*(?:\.\d+)?(?:[eE][-+]?\d+)?")


class Leak(NamedTuple):
    """A private value that stands in a part of a copy."""

    value: Any
    part: str


def leaks(package: bytes, private: Collection[Any], given: Collection[Any]) -> Iterator[Leak]:
    """Find private values in the parts of a package.

    Parameters
    ----------
    package : bytes
        The copy.
    private : collection
        Values that must not be in it, as they stand in cells.
    given : collection
        Values that may, since they also stand in cells that are shown, and the template's words.

    Yields
    ------
    Leak
        Each value that is telling enough to be known, and a part where it stands, as it is or
        formatted.
    """
    numbers, texts = set(filter(_is_telling, private)), set(filter(_is_text, private))
    shown = "\n".join(one for one in given if isinstance(one, str))
    spelled = {text: one for one in numbers - set(given) for text in _spellings(one)}
    for one in given:
        if _is_telling(one):
            for text in _spellings(one):
                spelled.pop(text, None)
    texts = {one for one in texts if one not in shown}
    with zipfile.ZipFile(BytesIO(package)) as archive:
        for name in archive.namelist():
            content = archive.read(name).decode("utf-8", "replace")
            for token in spelled.keys() & set(_TOKEN.findall(content)):
                yield Leak(spelled[token], name)
            for one in texts:
                if file_text(one) in content:
                    yield Leak(one, name)


def quoting(texts: Iterable[tuple[str, Any]], private: Collection[Any]) -> list[str]:
    """Return the cells whose text holds a private text as a part, such as a product's name.

    Parameters
    ----------
    texts : iterable of tuple
        Places and what stands there.
    private : collection
        Values that are left out elsewhere.

    Returns
    -------
    list of str
        The places.
    """
    words = set(filter(_is_text, private))
    numbers = {text for one in filter(_is_telling, private) for text in _spellings(one)}
    return [
        place
        for place, text in texts
        if isinstance(text, str)
        and (any(one in text for one in words) or not numbers.isdisjoint(_TOKEN.findall(text)))
    ]


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and sum(map(str.isalpha, value)) >= _TELLING_LETTERS


def _is_telling(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    is_whole = value == int(value)
    # Of a number that is a round one but for the noise of its computation, few digits count.
    return len(_digits(f"{value:.8g}")) >= _TELLING_DIGITS and (
        not is_whole or abs(value) >= _TELLING_WHOLE
    )


def _digits(text: str) -> str:
    return text.partition("e")[0].replace(".", "").strip("-0")


def _spellings(value: float) -> Iterator[str]:
    """Yield a number as a file, a cell or a percent cell may show it, with enough of its digits."""
    for number in (value, value * 100):
        if abs(number) < _TELLING_WHOLE and round(number, _PLACES.stop) == int(number):
            continue
        yield repr(number)
        yield repr(float(number))
        for digits in (15, 12, 10, 8):
            yield f"{number:.{digits}g}"
        for places in _PLACES:
            rounded = f"{number:.{places}f}"
            if len(_digits(rounded)) > _TELLING_DIGITS:
                yield rounded
                yield f"{number:,.{places}f}"
