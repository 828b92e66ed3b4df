"""What the invented farm bought for its batches, and what it counted on its shelf.

An item is bought again, in lots of its usual size, whenever less of it is left than the farm
wants to have; what it paid, and what it counted, is drawn from a seed of its own. Quantities are
texts in the units that they are said in, as in the CSV files.
"""

from __future__ import annotations

from datetime import date, timedelta
from random import Random
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    Row = Mapping[str, str]
    Rows = list[dict[str, str]]

_SEED = "what the farm bought"
_RESIDUE = 4.0  # lb, as on the Farm sheet
_COUNTED_ON = (date(2026, 5, 31), date(2026, 8, 30))
_SPILLED = (0.97, 1.0)
"""What a count finds of what the books say, from and to."""


class _Buying(NamedTuple):
    """How the farm buys an item: pounds at a time and at least on the shelf, dollars a pound."""

    lot: float
    least: float
    price: float
    mark: str
    measured: bool = False


_BUYING = {
    "Beech pellets": _Buying(2000, 450, 0.14, "BP"),
    "Maple sawdust": _Buying(1200, 200, 0.02, "MS", measured=True),
    "Wheat bran": _Buying(500, 110, 0.27, "WB"),
    "Alfalfa meal": _Buying(200, 40, 0.26, "AM"),
    "Cottonseed hulls": _Buying(200, 30, 0.19, "CH"),
    "Gypsum": _Buying(50, 8, 0.3, "GY"),
}


def purchases(
    batches: Sequence[Row], ingredients: Sequence[Row], recipes: Sequence[Row], lines: Sequence[Row]
) -> dict[str, Rows]:
    """Make the deliveries and the counts of the shelf that go with a season's batches.

    Parameters
    ----------
    batches, ingredients, recipes, lines : sequence of mapping
        Rows of the tables of these names, in the order of their dates.

    Returns
    -------
    dict of list
        The rows of ``deliveries`` and ``counts``.
    """
    moisture = {row["ingredient"]: _share(row["moisture"]) for row in ingredients}
    target = {row["recipe"]: _share(row["target_moisture"]) for row in recipes}
    chance = Random(_SEED)
    shelf = dict.fromkeys(_BUYING, 0.0)
    deliveries: Rows = []
    counts: Rows = []
    counted_on = list(_COUNTED_ON)
    for batch in batches:
        made = date.fromisoformat(batch["made"])
        while counted_on and counted_on[0] < made:
            counts += _count(shelf, counted_on.pop(0), chance)
        wet = int(batch["bags"]) * float(batch["block_mass"].removesuffix(" lb")) + _RESIDUE
        dry = wet * (1 - _share(batch.get("moisture") or f"{target[batch['recipe']]:%}"))
        shares = {
            line["ingredient"]: _share(line["share"])
            for line in lines
            if line["recipe"] == batch["recipe"]
        }
        dry_share = sum(share * (1 - moisture[item]) for item, share in shares.items())
        for item, share in shares.items():
            taken = dry * share / dry_share
            if shelf[item] - taken < _BUYING[item].least * (made < _LAST_ORDER):
                deliveries.append(_delivery(item, made - timedelta(2), len(deliveries), chance))
                shelf[item] += _BUYING[item].lot
            shelf[item] -= taken
    deliveries.sort(key=lambda row: row["date"])
    return {"deliveries": deliveries, "counts": counts}


_LAST_ORDER = date(2026, 8, 31)
"""The farm has not bought since: something is to be ordered."""


def _share(text: str) -> float:
    return float(text.rstrip("%")) / 100


def _delivery(item: str, day: date, number: int, chance: Random) -> dict[str, str]:
    buying = _BUYING[item]
    row = {
        "date": day.isoformat(),
        "item": item,
        "lot": f"{buying.mark}-{number + 401}",
        "amount": f"{buying.lot:g} lb",
        "price": f"{buying.lot * buying.price * chance.uniform(0.97, 1.06):.2f}",
    }
    if buying.measured:
        row["moisture"] = f"{chance.gauss(0.42, 0.015):.1%}"
    return row


def _count(shelf: dict[str, float], day: date, chance: Random) -> Rows:
    """Count the shelf, and go on from what was found."""
    for item in shelf:
        shelf[item] = round(shelf[item] * chance.uniform(*_SPILLED))
    return [
        {"date": day.isoformat(), "item": item, "amount": f"{mass:g} lb"}
        for item, mass in shelf.items()
    ]
