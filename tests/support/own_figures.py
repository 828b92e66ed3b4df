"""What is used of plan and own figures, worked out from what is typed in.

Used is Z * own + (1 - Z) * plan with Z = batches / (batches + weight): Bühlmann and Straub, as in
Hachemeister 1975.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from scipy.stats import chi2_contingency

if TYPE_CHECKING:
    from collections.abc import Iterable

    from seasons import Batch

Row = dict[str, Any]
FLUSHES = range(1, 5)
DAYS = ("incubation_days", "first_flush_days", "flush_interval_days")


@dataclass
class Own:
    """A figure of one's own, and how many batches it is from."""

    value: float = 0.0
    batches: int = 0


def used_strains(
    typed: Row, strains: list[Row], harvests: list[Row], batches: list[Batch]
) -> list[Row]:
    """Return the rows of the Strains sheet with what is used in place of the plan."""
    used = []
    for row in strains:
        own = [each for each in batches if each.strain == row["strain"]]
        names = {each.row["batch"] for each in own}
        used.append(_used(typed, row, [one for one in harvests if one["batch"] in names], own))
    return used


def _used(typed: Row, plan: Row, harvests: list[Row], batches: list[Batch]) -> Row:
    def blended(key: str, own: Own, weight: str) -> float | None:
        known = own.batches if typed["figures_used"] == "plan and own" else 0
        planned = plan[key]
        if key == "picking_minutes" and planned is None:
            planned = typed["harvesting_minutes"]
        if planned is None:
            return own.value if known else None
        share = known / (known + typed[weight])
        return share * own.value + (1 - share) * planned

    rates = [each.row["spawn_rate"] for each in batches if each.row["spawn_rate"]]
    used = plan | {"spawn_rate": blended("spawn_rate", _mean(rates), "days_weight")}
    for key, own in zip(DAYS, own_days(batches), strict=True):
        used[key] = blended(key, own, "days_weight")
    interval = used["flush_interval_days"] or 0
    for flush in FLUSHES:
        own = own_be(batches, flush, interval)
        used[f"be_{flush}"] = blended(f"be_{flush}", own, "be_weight")
    own = own_loss(old_enough(batches, used, typed))
    used["loss_rate"] = blended("loss_rate", own, "losses_weight")
    used["picking_minutes"] = blended("picking_minutes", own_picking(harvests), "picking_weight")
    return used


def own_picking(harvests: list[Row]) -> Own:
    """Return the minutes for a kilogram, of the harvests that have minutes."""
    timed = [row for row in harvests if row["minutes"] and row["fresh"]]
    if not timed:
        return Own()
    fresh = sum(row["fresh"] for row in timed)
    return Own(sum(row["minutes"] for row in timed) / fresh, len(timed))


def _mean(values: Iterable[float]) -> Own:
    every = list(values)
    return Own(sum(every) / len(every), len(every)) if every else Own()


def own_days(batches: list[Batch]) -> tuple[Own, Own, Own]:
    """Return the days to the move, to the first flush, and from flush to flush."""
    moved = [each for each in batches if each.moved and each.moved <= each.today.toordinal()]
    picked = [each for each in moved if each.picked_on(1) is not None]
    again = [each for each in batches if each.picked_on(1) is not None and each.last_flush > 1]
    between = sum(each.last_flush - 1 for each in again)
    days = sum(each.picked_on(each.last_flush) - each.picked_on(1) for each in again)
    return (
        _mean(each.moved - each.made for each in moved),
        _mean(each.picked_on(1) - each.moved for each in picked),
        Own(days / between, len(again)) if again else Own(),
    )


def own_be(batches: list[Batch], flush: int, interval: float) -> Own:
    """Return what the ended batches gave that were kept for a flush."""
    kept = [each for each in batches if each.is_ended and each.kept_for(interval) >= flush]
    kept = [each for each in kept if each.dry_good > 0]
    if not kept:
        return Own()
    fresh = sum(fresh for each in kept for number, _, fresh in each.picked if number == flush)
    return Own(fresh / sum(each.dry_good for each in kept), len(kept))


def old_enough(batches: list[Batch], used: Row, typed: Row) -> list[Batch]:
    """Return the batches of a strain that should have been cleared out by now, ended or not."""
    later = (used["flushes"] - 1) * (used["flush_interval_days"] or 0)
    stay = used["first_flush_days"] + later + typed["turnover_days"]
    days = used["incubation_days"] + stay
    return [each for each in batches if each.made + days <= each.today.toordinal()]


def own_loss(batches: list[Batch]) -> Own:
    """Return the share of their blocks that was lost."""
    if not batches:
        return Own()
    lost = sum(each.lost for each in batches)
    return Own(lost / sum(each.row["bags"] for each in batches), len(batches))


def spread_of_farm(typed: Row, strains: list[Row], batches: list[Batch]) -> float:
    """Return how much more losses vary from batch to batch than by luck.

    Pearson's chi-square around the rate of each strain, over batches less strains (McCullagh &
    Nelder, Generalized Linear Models, section 4.5, from memory), as scipy computes it.
    """
    square = freedom = 0.0
    for row in strains:
        own = [each for each in batches if each.strain == row["strain"]]
        table = [(each.lost, each.good) for each in old_enough(own, row, typed)]
        if all(map(sum, zip(*table))) and len(table) > 1:
            found = chi2_contingency(table, correction=False)
            square += found.statistic
            freedom += found.dof
    if freedom < typed["enough_for_spread"]:
        return typed["assumed_spread"]
    return max(1.0, square / freedom)
