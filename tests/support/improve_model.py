"""A usual week in plain Python, with whatever is changed, filled by scipy's linear programs.

A pack is built up anew from what is typed and from the figures used of its strain: the good blocks
that fill it, what growing them costs, what is sold of it, and what it takes of each station. What a
block of a recipe costs in ingredients and steam, and what half-empty loads add, are figures of the
Costing sheet, which has tests of its own.

Source of the optimum: Dantzig, Linear Programming and Extensions, 1963; solved by scipy's HiGHS.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import floor
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from scipy.optimize import linprog

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from logged_batches import LoggedBatches

CAPACITIES = (
    *("mixer_loads_per_week", "steam_loads_per_week", "bench_hours_per_week"),
    *("incubation_places", "fruiting_places", "fruiting_air", "labor_hours_per_week"),
)
ASKED = (
    *("improve*", "improve*.*", "helps*", "helps*.*", "packs.*", "used.*", "by_strain.be*"),
    *("recipe_costs.*", "strain_costs.*", "recipe_yields.*", "cost_half*", "cost_more_steam"),
    *("results_*", "own_counts.*"),
)


@dataclass(frozen=True)
class Changed:
    """What is otherwise than today; strains, recipes and products by their row."""

    loss: Mapping[int, float] = field(default_factory=dict)
    more_lost: float = 0.0
    be: Mapping[int, float] = field(default_factory=dict)
    days: Mapping[int, float] = field(default_factory=dict)
    recipe: Mapping[int, int] = field(default_factory=dict)
    """By product."""
    be_of_product: Mapping[int, float] = field(default_factory=dict)
    """Times that of today."""
    minutes: Mapping[str, float] = field(default_factory=dict)
    """Of a step, times those of today."""
    spawn: float = 1.0
    sold: Mapping[int, float] = field(default_factory=dict)
    """Share sold, by product."""
    price: float = 1.0
    hold: float = 0.0
    """Hours less."""
    half_empty: float = 1.0
    demand: float = 1.0
    more: Mapping[int, float] = field(default_factory=dict)
    """Packs more, by product."""
    without: Sequence[int] = ()
    capacity: float = 0.0
    """Units more of the fullest station."""


TODAY = Changed()


class Pack(NamedTuple):
    """What a pack sold contributes, and what it takes of each station."""

    contribution: float
    uses: list[float]


class UsualWeek:
    """The week of a workbook as it is typed now."""

    def __init__(self, farm: LoggedBatches) -> None:
        self.farm = farm
        self.products = [row for row in range(12) if farm.value("products.product", row)]
        self.strains = [row for row in range(8) if farm.value("strains.strain", row)]
        self._wage = farm.value("hourly_wage") * (1 + farm.value("burden")) / 60
        self.capacity = [farm.value(key) for key in CAPACITIES]

    def of(self, key: str, product: int) -> Any:
        return self.farm.value(f"products.{key}", product)

    def used(self, key: str, strain: int) -> float:
        return self.farm.value(f"used.{key}", strain) or 0.0

    def _row(self, column: str, name: Any) -> int:
        return next(row for row in range(12) if self.farm.value(column, row) == name)

    def strain_of(self, product: int) -> int:
        return self._row("strains.strain", self.of("strain", product))

    def recipe_of(self, product: int) -> int:
        return self._row("recipes.recipe", self.of("recipe", product))

    def is_block(self, product: int) -> bool:
        return bool(self.of("form", product) == "block")

    def loss(self, strain: int, changed: Changed = TODAY) -> float:
        return changed.loss.get(strain, self.used("loss_rate", strain)) + changed.more_lost

    def pack(self, product: int, changed: Changed = TODAY) -> Pack:
        """Build a pack up from the block to the sale."""
        value = self.farm.value
        strain = self.strain_of(product)
        recipe = changed.recipe.get(product, self.recipe_of(product))
        sold = changed.sold.get(product, self.of("sold_share", product))
        is_dried = self.of("form", product) == "dried"
        fresh = 0.0 if self.is_block(product) else self.of("pack_mass", product)
        if is_dried:
            fresh *= (1 - value("dried_moisture")) / (1 - value("fresh_moisture"))
        mass = value("block_mass")
        be = changed.be.get(strain, self.used("biological_efficiency", strain))
        be *= changed.be_of_product.get(product, 1.0)
        dry = mass * (1 - value("recipes.target_moisture", recipe))
        good = (1.0 if self.is_block(product) else fresh / (dry * be)) / sold
        started = good / (1 - self.loss(strain, changed))

        room = value("mixer_volume") * value("recipes.bulk_density", recipe)
        full = floor((room * value("working_fill") - value("lost_mass")) / mass)
        times = changed.minutes

        def minutes(step: str) -> float:
            return value(f"{step}_minutes") * times.get(step, 1.0)

        mixing = minutes("mixing") / full
        steaming = value("steaming_minutes") / value("blocks_per_load")
        a_block = minutes("filling") + minutes("inoculating") + value("moving_minutes")
        picking = fresh * self.used("picking_minutes", strain) * times.get("picking", 1.0)
        drying = fresh * is_dried * value("drying_minutes")
        packing = self.of("packing_minutes", product) * times.get("packing", 1.0)

        loads = 1 / value("blocks_per_load") + value("cost_more_steam")
        mixed_half = value("recipe_costs.half_empty", recipe) * times.get("mixing", 1.0)
        steamed_half = value("cost_half_steamer") + value("cost_half_energy")
        block = (
            value("recipe_costs.ingredients", recipe)
            + value("recipe_costs.steam", recipe)
            + value("bag_price")
            + value("strain_costs.spawn", strain) * changed.spawn
            + self._wage * (mixing + steaming + a_block)
            + (mixed_half + steamed_half) * changed.half_empty
            - changed.hold * value("hold_power") * value("electricity_price") * loads
        )
        made = (
            self._wage * (picking + drying + packing)
            + fresh * is_dried * value("drying_energy") * value("electricity_price")
            + self.of("pack_cost", product)
        )
        price = self.of("price", product) * changed.price * (1 - self.of("fees", product))
        contribution = price - self.of("delivery", product) - block * started - made / sold
        days = changed.days.get(strain, self.used("fruiting_days", strain))
        standing = 0.0 if self.is_block(product) else good * days / 7
        return Pack(
            contribution,
            [
                started / full,
                started / value("blocks_per_load"),
                started * minutes("inoculating") / 60,
                started * self.used("incubation_days", strain) / 7,
                standing,  # a shelf space each
                standing,  # and air for a block
                ((picking + drying + packing) / sold + started * (mixing + steaming + a_block))
                / 60,
            ],
        )

    def demand(self, changed: Changed = TODAY) -> list[float]:
        """Return the packs of each product line that can be sold."""
        return [
            0.0
            if product in changed.without
            else self.of("packs_per_week", product) * changed.demand
            + changed.more.get(product, 0.0)
            for product in self.products
        ]

    def fullest(self) -> int:
        """Return the station that all packs worth making take the largest share of."""
        loads = np.zeros(len(CAPACITIES))
        for product, packs in zip(self.products, self.demand(), strict=True):
            one = self.pack(product)
            loads += np.array(one.uses) * packs * (one.contribution >= 0)
        return int(np.argmax(loads / self.capacity))

    def fill(self, changed: Changed = TODAY) -> tuple[float, list[float]]:
        """Return the most that a week can contribute, and the packs made, by product line."""
        packs = [self.pack(product, changed) for product in self.products]
        station = self.fullest()
        found = linprog(
            [-one.contribution for one in packs],
            A_ub=[[one.uses[station] for one in packs]],
            b_ub=[self.capacity[station] + changed.capacity],
            bounds=[(0, most) for most in self.demand(changed)],
            method="highs",
        )
        assert found.status == 0
        return -found.fun, list(found.x)

    def gain(self, changed: Changed) -> float:
        """Return what a week brings more with a change."""
        return self.fill(changed)[0] - self.fill()[0]
