"""What every batch in progress will still give, when, and how sure that is: a plain model.

From what is typed and the definitions alone; days that are cut off at today are scipy's truncnorm.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from math import sqrt
from typing import TYPE_CHECKING, Any, NamedTuple

from own_figures import spread_of_farm
from scipy import stats
from seasons import Batch, Season, day

if TYPE_CHECKING:
    from collections.abc import Sequence

Row = dict[str, Any]
FLUSHES = range(1, 5)
WEEK = timedelta(7)


def worth(of: Season, strain: str) -> float:
    """Return how many batches the days used of a strain are worth, the plan included."""
    moved = [b for b in of.batches if b.strain == strain and b.moved]
    known = sum(b.moved <= of.today.toordinal() for b in moved)
    return known * _is_own(of) + of.typed["days_weight"]


def be_worth(of: Season, strain: str) -> float:
    """Return how many batches the BE used of a strain is worth, the plan included."""
    interval = of.used(strain)["flush_interval_days"] or 0
    known = len(_kept(_ended(of, strain), 1, interval))
    return known * _is_own(of) + of.typed["be_weight"]


def _is_own(of: Season) -> bool:
    return of.typed["figures_used"] == "plan and own"


def _ended(of: Season, strain: str) -> list[Batch]:
    return [batch for batch in of.batches if batch.strain == strain and batch.is_ended]


def _dated(batches: list[Batch]) -> list[Batch]:
    return [b for b in batches if b.row["moved"] and b.picked_on(1) is not None]


def move_days(batch: Batch) -> float:
    return (batch.row["moved"] - batch.row["made"]).days


def first_days(batch: Batch) -> float:
    return batch.picked_on(1) - batch.row["moved"].toordinal()


def _kept(ended: list[Batch], flush: int, interval: float) -> list[Batch]:
    return [b for b in ended if b.kept_for(interval) >= flush and b.dry_good > 0]


def _gave(batch: Batch, flush: int) -> float:
    return sum(fresh for number, _, fresh in batch.picked if number == flush)


class Squares(NamedTuple):
    """Squared deviations of batches from what was expected of them."""

    total: float
    count: float

    @property
    def freedom(self) -> float:
        return max(0, self.count - 1)


def _off(days: list[float], expected: float) -> Squares:
    return Squares(sum((one - expected) ** 2 for one in days), len(days))


def _squares(of: Season, strain: str) -> dict[str, Squares]:
    expect, ended = of.used(strain), _ended(of, strain)
    interval = expect["flush_interval_days"] or 0
    off, weight = 0.0, 0.0
    for flush, be in ((flush, expect[f"be_{flush}"]) for flush in FLUSHES):
        for batch in _kept(ended, flush, interval) if be else []:
            off += (_gave(batch, flush) / batch.dry_good - be) ** 2
            weight += be**2
    count = len(_kept(ended, 1, interval)) if expect["be_1"] else 0
    steps = [
        (b.last_flush - 1, b.picked_on(b.last_flush) - b.picked_on(1))
        for b in ended
        if b.last_flush > 1 and b.picked_on(1) is not None
    ]
    dated = _dated(ended)
    return {
        "be": Squares(off / weight * count if weight else 0, count),
        "move": Squares(
            sum((move_days(b) - expect["incubation_days"]) ** 2 for b in dated), len(dated)
        ),
        "first": Squares(
            sum((first_days(b) - expect["first_flush_days"]) ** 2 for b in dated), len(dated)
        ),
        "next": Squares(
            sum((days - count * interval) ** 2 / count for count, days in steps),
            sum(count for count, _ in steps),
        ),
    }


def spreads(of: Season) -> dict[str, dict[str, float]]:
    """Return the standard deviations of each strain: of a flush as a share, of three waits."""
    strains = [row["strain"] for row in of.tables["strains"]]
    squares = {strain: _squares(of, strain) for strain in strains}
    few = of.typed["enough_for_spread"]
    found: dict[str, dict[str, float]] = {strain: {} for strain in strains}
    for kind in ("be", "move", "first", "next"):
        assumed = of.typed["assumed_flush_spread" if kind == "be" else "assumed_day_spread"]
        own = [squares[strain][kind] for strain in strains]
        farm = few * assumed**2 + sum(one.total for one in own)
        farm /= few + sum(one.freedom for one in own)
        for strain, one in zip(strains, own, strict=True):
            variance = (few * farm + one.total) / (few + one.freedom)
            if kind != "be":
                variance *= 1 + 1 / worth(of, strain)
            found[strain][kind] = sqrt(variance)
    return found


@dataclass
class Coming:
    """A flush to come: its mass, and the distribution of its day."""

    mass: float
    day: Any

    def within(self, first: float, last: float) -> float:
        """Return the share that comes before midnight of the last day, and not before the first.

        What has come by the end of a week is told to a millionth.
        """
        return round(float(self.day.cdf(last)), 6) - round(float(self.day.cdf(first)), 6)


def to_come(
    batch: Batch, expect: Row, spread: dict[str, float], today: int
) -> tuple[list[Coming], float]:
    """Return each flush that a batch in progress will still bring, and the good share of it."""
    interval = expect["flush_interval_days"] or 0
    moved, last, share = day(batch.row["moved"]), batch.last_flush, batch.good / batch.row["bags"]
    if moved is None:
        share = min(share, 1 - expect["loss_rate"])
    if last:
        wait, due = spread["next"], batch.picked_on(last) + interval
    elif moved:
        wait, due = spread["first"], moved.toordinal() + expect["first_flush_days"]
    else:
        wait, due = spread["move"], batch.row["made"].toordinal() + expect["incubation_days"]
    start = today - 0.5
    due = max(start - wait, due)
    event = stats.truncnorm((start - due) / wait, float("inf"), due, wait)
    mean, variance = event.mean(), event.var()
    if moved is None and not last:
        mean, variance = mean + expect["first_flush_days"], variance + spread["first"] ** 2
    coming = []
    for flush in FLUSHES:
        if last < flush <= expect["flushes"]:
            steps = flush - last - 1
            is_event = steps == 0 and (moved is not None or last > 0)
            middle = mean + steps * interval
            wide = sqrt(variance + steps * spread["next"] ** 2)
            when = event if is_event else stats.norm(middle, wide)
            coming.append(Coming(batch.dry * share * (expect[f"be_{flush}"] or 0), when))
    return coming, share


@dataclass
class Forecast:
    """What comes, and its variance, by number of the week and strain."""

    expected: dict[tuple[int, str], float]
    variance: dict[tuple[int, str], float]
    later: float


def forecast(of: Season, weeks: int) -> Forecast:
    """Add up the flushes to come."""
    expected: dict[tuple[int, str], float] = defaultdict(float)
    variance: dict[tuple[int, str], float] = defaultdict(float)
    later, spread_of = 0.0, spreads(of)
    today = of.today.toordinal()
    monday = today - of.today.weekday()
    used = [of.used(strain) for strain in spread_of]
    luck = spread_of_farm(of.typed, used, of.batches)
    for batch in of.batches:
        if batch.is_ended:
            continue
        expect, spread = of.used(batch.strain), spread_of[batch.strain]
        coming, share = to_come(batch, expect, spread, today)
        bags = batch.row["bags"]
        further = (
            max(0, expect["loss_rate"] - batch.lost / bags) if batch.row["moved"] is None else 0
        )
        losses = luck * further * (1 - further) / bags / share**2
        for week in range(weeks):
            first = monday + 7 * week - 0.5 if week else float("-inf")
            in_week = _in_week(coming, first, monday + 7 * week + 6.5, spread["be"], losses)
            expected[week, batch.strain] += in_week[0]
            variance[week, batch.strain] += in_week[1]
        later += sum(one.mass * one.day.sf(monday + 7 * weeks - 0.5) for one in coming)
    for (week, strain), mass in expected.items():
        variance[week, strain] += (mass * spread_of[strain]["be"]) ** 2 / be_worth(of, strain)
    return Forecast(expected, variance, later)


def _in_week(
    coming: Sequence[Coming], first: float, last: float, spread: float, losses: float
) -> tuple[float, float]:
    """Return mean and variance of what a batch gives in a week, in which at most one flush is."""
    shares = [(one.mass, one.within(first, last)) for one in coming]
    mean = sum(mass * share for mass, share in shares)
    square = sum(mass**2 * share for mass, share in shares)
    vary = (1 + spread**2) * (1 + losses)
    return mean, max((vary - 1) * square, vary * square - mean**2)
