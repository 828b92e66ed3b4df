"""What a farm has on its shelf and in its spawn cooler, day by day, from what was typed.

Masses are in kilograms. It lives through the days one by one, and knows nothing of the sums that
the Stock sheet makes. The rules are those that the sheet says in words.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    Row = Mapping[str, Any]

DAY = timedelta(days=1)
NOISE = 1e-6
"""A mass that is nothing: the workbook's own rounding is 1e-6 of a kilogram or a pound."""


class Start(NamedTuple):
    """What a start of the plan still takes, on its day or today."""

    day: date
    taken: Mapping[str, float]
    strain: str
    spawn: float


class Outlook(NamedTuple):
    """When something runs out, and what lacks in the weeks from then on."""

    runs_out: date | None
    order: float | None


@dataclass
class Shelf:
    """The tables of a farm, and the masses that its settings name."""

    tables: Mapping[str, Sequence[Row]]
    block_mass: float
    residue: float
    first_day: date = field(init=False)

    def __post_init__(self) -> None:
        """Begin on the first day of anything."""
        logs = (("deliveries", "date"), ("counts", "date"), ("batches", "made"))
        self.first_day = min(row[key] for log, key in logs for row in self.tables[log])

    def taken(self, recipe: str, dry: float) -> dict[str, float]:
        """Return what a dry mass of substrate takes of each ingredient, as weighed."""
        moisture = {row["ingredient"]: row["moisture"] for row in self.tables["ingredients"]}
        lines = [row for row in self.tables["recipe_lines"] if row["recipe"] == recipe]
        whole = sum(row["share"] for row in lines)
        solid = sum(row["share"] / whole * (1 - moisture[row["ingredient"]]) for row in lines)
        taken: dict[str, float] = {}
        for row in lines:
            name = row["ingredient"]
            taken[name] = taken.get(name, 0.0) + dry * row["share"] / whole / solid
        return taken

    def taken_by(self, batch: Row) -> dict[str, float]:
        """Return what a batch took of each ingredient."""
        (recipe,) = (r for r in self.tables["recipes"] if r["recipe"] == batch["recipe"])
        moisture = batch["moisture"]
        if moisture is None:
            moisture = recipe["target_moisture"]
        wet = batch["bags"] * (batch["block_mass"] or self.block_mass) + self.residue
        return self.taken(batch["recipe"], wet * (1 - moisture))

    def used(self, item: str, day: date) -> float:
        """Return what the batches of a day took of an item."""
        return sum(
            self.taken_by(batch).get(item, 0.0)
            for batch in self.tables["batches"]
            if batch["made"] == day
        )

    def at_the_end_of(self, day: date, item: str) -> float | None:
        """Return what the shelf holds in the evening; nothing where the item was never logged."""
        return self._lived(item, day)[-1]

    def _lived(self, item: str, last: date) -> list[float | None]:
        """Live through the days from the evening before the first to that of the last."""
        held, known = 0.0, False
        evenings: list[float | None] = [None]
        for day in _days(self.first_day, last):
            for row in self._of(item, "deliveries", day):
                held, known = held + row["amount"], True
            held -= self.used(item, day)
            for row in self._of(item, "counts", day):
                held, known = row["amount"], True
            evenings.append(held if known else None)
        return evenings

    def _of(self, item: str, log: str, day: date) -> list[Row]:
        return [row for row in self.tables[log] if row["item"] == item and row["date"] == day]

    def days_of_lot(self, number: int, today: date) -> tuple[date | None, date | None]:
        """Return the first and the last day on which batches took from a delivery.

        What stood on the shelf when it came goes first.
        """
        lot = self.tables["deliveries"][number]
        item = lot["item"]
        before = self._held_before(item, lot["date"])
        earlier = self.tables["deliveries"][:number]
        before += sum(
            row["amount"] for row in earlier if (row["item"], row["date"]) == (item, lot["date"])
        )
        first = last = None
        for day in _days(lot["date"], today):
            used = self.used(item, day)
            if not used:
                continue
            from_lot = min(used - min(before, used), lot["amount"])
            before = max(0.0, before - used)
            if from_lot > NOISE and lot["amount"] > 0:
                first, last = first or day, day
                lot = {**lot, "amount": lot["amount"] - from_lot}
            if lot["amount"] <= NOISE:
                break
        return first, last

    def _held_before(self, item: str, day: date) -> float:
        """Return what the shelf held the evening before, by the books, and nothing if less."""
        if day <= self.first_day:
            return 0.0
        books = self._by_the_books(item, day - DAY)
        return max(0.0, books)

    def _by_the_books(self, item: str, day: date) -> float:
        lived = self._lived(item, day)[-1]
        if lived is not None:
            return lived
        return -sum(self.used(item, one) for one in _days(self.first_day, day))


def _days(first: date, last: date) -> Iterator[date]:
    while first <= last:
        yield first
        first += DAY


def shelf_outlook(held: float, starts: Sequence[Start], item: str, weeks: float) -> Outlook:
    """Return when an item runs out that nobody orders, and what lacks from then on."""
    held = max(0.0, held)
    runs_out, lacks = None, 0.0
    for day in sorted({start.day for start in starts}):
        if runs_out and day >= runs_out + 7 * weeks * DAY:
            break
        held -= sum(start.taken.get(item, 0.0) for start in starts if start.day == day)
        if held < -NOISE:
            runs_out = runs_out or day
            lacks -= held
            held = 0.0
    return Outlook(runs_out, lacks if runs_out else None)


def spawn_outlook(
    lots: Sequence[tuple[date, float]], starts: Sequence[Start], strain: str, weeks: float
) -> Outlook:
    """Return when spawn runs out, the lots first that expire first; each is its use-by and mass."""
    left = [list(lot) for lot in sorted(lots)]
    runs_out, lacks = None, 0.0
    for day in sorted({start.day for start in starts}):
        if runs_out and day >= runs_out + 7 * weeks * DAY:
            break
        needed = sum(start.spawn for start in starts if (start.day, start.strain) == (day, strain))
        for lot in left:
            if lot[0] >= day:
                taken = min(needed, lot[1])
                lot[1] -= taken
                needed -= taken
        if needed > NOISE:
            runs_out = runs_out or day
            lacks += needed
    return Outlook(runs_out, lacks if runs_out else None)
