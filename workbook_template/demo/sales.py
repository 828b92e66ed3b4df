"""What the invented farm sold of its harvests, from the day on which it began to log that.

A day takes along what is usual there, as far as the cold room has it; how much of it is sold is
drawn from a seed of its own. No more comes home than the Harvests log calls unsold.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from random import Random
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    Row = Mapping[str, str]
    Rows = list[dict[str, str]]

_SEED = "what the farm sold"
_FIRST = date(2026, 5, 30)
_KEPT = timedelta(4)
"""What was picked so long before the first sale was still there."""
_DRYING = (1 - 0.11) / (1 - 0.92)
"""Fresh mass over dried, by the moistures on the Products sheet."""

_OYSTER, _KITCHEN = "Oyster, half-pound box", "Oyster, 5 lb for kitchens"
_MANE, _DRIED = "Lion's mane, half-pound box", "Lion's mane, dried, 2 oz"
_CHESTNUT, _KING = "Chestnut, half-pound box", "King oyster, 1 lb box"
_BLOCK = "Oyster block to grow at home"
_PACKS = {
    _OYSTER: ("Blue oyster B3", 0.5),
    _KITCHEN: ("Blue oyster B3", 5.0),
    _MANE: ("Lion's mane H1", 0.5),
    _DRIED: ("Lion's mane H1", _DRYING / 8),
    _CHESTNUT: ("Chestnut C2", 0.5),
    _KING: ("King oyster K5", 1.0),
    _BLOCK: ("", 0.0),
}
"""The strain in a pack and its fresh mass in pounds; a block holds none."""


class _Place(NamedTuple):
    """Where the farm sells: on which day of the week, what it usually takes along.

    ``mean`` and ``spread`` are of the share of that which finds a buyer; to order, all of it does.
    ``prices`` are those that are not the usual ones.
    """

    name: str
    weekday: int
    packs: Mapping[str, int]
    mean: float = 1.0
    spread: float = 0.0
    prices: Mapping[str, str] = {}
    since: date = _FIRST


_PLACES = (
    _Place("Larch Corner Store", 0, {_OYSTER: 18, _MANE: 12}, since=date(2026, 8, 31)),
    _Place("Wednesday evening market", 2, {_OYSTER: 30, _MANE: 22}, 0.86, 0.24),
    _Place("Juniper Kitchen", 3, {_KITCHEN: 7, _KING: 5}),
    _Place("Mill Street Hotel", 4, {_KITCHEN: 8, _MANE: 30}, prices={_MANE: "7.5"}),
    _Place(
        "Saturday market in town",
        5,
        {_OYSTER: 80, _MANE: 56, _DRIED: 8, _CHESTNUT: 50, _KING: 12, _BLOCK: 9},
        0.95,
        0.1,
    ),
)
_LAST_OUTDOORS = {"2026-07-29": "thunderstorm, packed up early"}


def sales(harvests: Sequence[Row], batches: Sequence[Row], until: date) -> Rows:
    """Make the log of sales that goes with a season's harvests.

    Parameters
    ----------
    harvests, batches : sequence of mapping
        Rows of the tables of these names.
    until : date
        The last day that is logged.

    Returns
    -------
    list of dict
        The rows, in the order of their days.
    """
    chance = Random(_SEED)
    strains = {row["batch"]: row["strain"] for row in batches}
    fresh: dict[str, float] = defaultdict(float)
    spoiled: dict[str, float] = defaultdict(float)
    log: Rows = []
    day = _FIRST - _KEPT
    while day <= until:
        for row in harvests:
            if row["date"] == day.isoformat():
                unsold = _pounds(row["unsold"])
                fresh[strains[row["batch"]]] += _pounds(row["fresh"]) - unsold
                spoiled[strains[row["batch"]]] += unsold
        for place in _PLACES:
            if day >= place.since and day.weekday() == place.weekday:
                log += _sold_there(chance, place, day, fresh, spoiled)
        day += timedelta(1)
    return log


def _pounds(text: str) -> float:
    return float(text.removesuffix(" lb") or 0)


def _sold_there(
    chance: Random, place: _Place, day: date, fresh: dict[str, float], spoiled: dict[str, float]
) -> Iterator[dict[str, str]]:
    """Sell at one place on one day, and yield its rows; what was sold leaves the cold room."""
    note = _LAST_OUTDOORS.get(day.isoformat(), "")
    luck = 0.35 if note else chance.gauss(place.mean, place.spread)
    for product, usual in place.packs.items():
        strain, mass = _PACKS[product]
        there = int(fresh[strain] / mass) if mass else usual
        along = min(there, round(usual * chance.uniform(0.9, 1.1)) if place.spread else usual)
        sold = min(along, max(0, round(along * luck * chance.gauss(1, place.spread / 3))))
        home = along - sold
        if mass:
            home = min(home, int(spoiled[strain] / mass))
            fresh[strain] -= sold * mass
            spoiled[strain] -= home * mass
        if sold + home:
            yield {
                "date": day.isoformat(),
                "market": place.name,
                "product": product,
                "taken": str(sold + home),
                "sold": str(sold),
                "price": place.prices.get(product, ""),
                "note": note,
            }
            note = ""
