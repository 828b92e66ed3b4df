"""The library of units written out as a table, for a Python that is too old for it.

Where pint does not run, as inside many a LibreOffice, ``PlainRegistry`` stands in for its registry,
as far as ``units`` asks it. ``hosts.calc_units`` writes the table.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from cultivar_fx.errors import UnknownUnit

if TYPE_CHECKING:
    from collections.abc import Iterator

TABLE_FILE = "unit_table.json"

_TOKEN = re.compile(r"\s*(\*\*\d|[*/()]|[^\W\d]\w*|$)")
_BEHIND_PRODUCT = ("", ")")
DIFFERENCES = ("delta_", "Δ")
"""What the names of differences of temperature begin with."""


class PlainUnit(NamedTuple):
    """A unit: ``number * factor + zero`` is the number of its root units.

    The differences on a scale that has a zero of its own have none.
    """

    factor: float
    zero: float | None
    powers: dict[str, float]

    def root(self) -> str:
        """Name the root units with their powers."""
        return " ".join(f"{name}**{power:g}" for name, power in sorted(self.powers.items()))

    def times(self, other: PlainUnit, power: int = 1) -> PlainUnit:
        """Multiply by a power of another unit; of temperatures only their differences count."""
        powers = dict(self.powers)
        for name, own in other.powers.items():
            powers[name] = powers.get(name, 0) + power * own
        left = {name: own for name, own in powers.items() if own}
        return PlainUnit(self.factor * other.factor**power, 0.0, left)


_NO_UNIT = PlainUnit(1.0, 0.0, {})


class PlainQuantity(NamedTuple):
    """A number of a unit."""

    magnitude: float
    unit: PlainUnit

    def to(self, wanted: PlainUnit) -> PlainQuantity:
        """Return the same in another unit of its kind.

        Raises
        ------
        TypeError
            If one is a scale with a zero of its own, and one a difference.
        """
        start, end = self.unit.zero, wanted.zero
        if (start is None and end) or (end is None and start):
            raise TypeError("a difference is no point of a scale")
        root = self.magnitude * self.unit.factor + (start or 0.0)
        return PlainQuantity((root - (end or 0.0)) / wanted.factor, wanted)


class PlainRegistry:
    """All units of a table."""

    Quantity = PlainQuantity

    def __init__(self, table: dict[str, Any]) -> None:
        self._units = {name: PlainUnit(*unit) for name, unit in table["units"].items()}
        self._prefixes: dict[str, float] = table["prefixes"]

    def parse_units(self, text: str) -> PlainUnit:
        """Read a product of units.

        Raises
        ------
        ValueError
            If it is none, or one of them is not known.
        """
        if text.isidentifier() or text in self._units:
            return self._unit(text)
        tokens = _tokens(text)
        unit, end = self._product(tokens, next(tokens))
        if end:
            raise ValueError(f"{end!r} is out of place")
        return unit

    def get_root_units(self, unit: PlainUnit) -> tuple[float, str]:
        """Return what a unit comes down to."""
        return unit.factor, unit.root()

    def parse_unit_name(self, name: str) -> tuple[tuple[str, str, str]]:
        """Split a name into a prefix, a unit, and an s behind it.

        Raises
        ------
        ValueError
            If the unit is not known.
        """
        if name in self._units:
            return (("", name, ""),)
        for ending in ("", "s"):
            for prefix in self._prefixes:
                if name.startswith(prefix) and name.endswith(ending):
                    bare = name[len(prefix) : len(name) - len(ending)]
                    if bare in self._units and (not ending or len(bare) > 1):
                        return ((prefix, bare, ending),)
        raise ValueError(f"there is no unit {name!r}")

    def _product(self, tokens: Iterator[str], token: str) -> tuple[PlainUnit, str]:
        """Read factors up to a closing bracket or the end, and give the token that ends them."""
        product, sign = _NO_UNIT, 1
        while True:
            factor, token = self._factor(tokens, token)
            product = product.times(factor, sign)
            if token in _BEHIND_PRODUCT:
                return product, token
            sign = -1 if token == "/" else 1
            if token in ("*", "/"):
                token = next(tokens)

    def _factor(self, tokens: Iterator[str], token: str) -> tuple[PlainUnit, str]:
        """Read a unit, or a product in brackets, with its power."""
        if token == "(":
            unit, token = self._product(tokens, next(tokens))
            if token != ")":
                raise ValueError("a bracket is not closed")
        else:
            unit = self._unit(token)
        token = next(tokens)
        if token.startswith("**"):
            unit, token = _NO_UNIT.times(unit, int(token[2:])), next(tokens)
        return unit, token

    def _unit(self, name: str) -> PlainUnit:
        """Find a unit by its name, with a prefix before it or an s behind it."""
        prefix, bare, _ = self.parse_unit_name(name)[0]
        unit = self._units[bare]
        if not prefix:
            return unit
        factor = self._prefixes[prefix]
        if unit.zero and factor != 1:
            raise ValueError("a prefix before a scale with a zero of its own")
        return unit._replace(factor=unit.factor * factor)


def plain_registry() -> PlainRegistry:
    """Read the table that stands beside this module.

    Raises
    ------
    UnknownUnit
        If there is none.
    """
    try:
        table = json.loads(Path(__file__).with_name(TABLE_FILE).read_text(encoding="utf-8"))
    except OSError as error:
        raise UnknownUnit("has a unit, but the library that knows units is missing") from error
    return PlainRegistry(table)


def _tokens(text: str) -> Iterator[str]:
    place = 0
    while True:
        match = _TOKEN.match(text, place)
        if match is None:
            raise ValueError(f"{text[place:]!r} is no unit")
        place = match.end()
        yield match[1]
