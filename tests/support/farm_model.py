"""Costing and week plan of a farm, from their definitions alone, to hold the workbook against.

It takes what is typed, in kilograms, liters, days and money, and nothing that a sheet computes.
"""

from __future__ import annotations

from collections import defaultdict
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil, floor, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from iapws.iapws97 import _TSat_P

if TYPE_CHECKING:
    from seasons import Batch

DAY = timedelta(days=1)
WEEK = timedelta(days=7)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
NOISE = 1e-9
"""A whole number that float arithmetic missed by less is still that number."""


@dataclass
class Farm:
    """What is typed: single inputs by key, tables as rows."""

    one: dict[str, Any]
    rows: dict[str, list[dict[str, Any]]]
    soak: float
    """Hours of soaking on the Steam sheet, which has its own tests against the heat equation."""
    spread: float
    """How much more losses vary from batch to batch than by luck."""
    batches: list[Batch] = field(default_factory=list)
    """What was logged of each."""
    plan: Plan | None = None
    """What its usual week has, also after a figure was changed to try something."""

    def row(self, table: str, key: str, name: str) -> dict[str, Any]:
        return next(row for row in self.rows[table] if row[key] == name)

    def strain(self, product: dict[str, Any]) -> dict[str, Any]:
        return self.row("strains", "strain", product["strain"])

    def recipe(self, product: dict[str, Any]) -> dict[str, Any]:
        return self.row("recipes", "recipe", product["recipe"])

    def work(self, minutes: float) -> float:
        return minutes / 60 * self.one["hourly_wage"] * (1 + self.one["burden"])


# Substrate


def mix(farm: Farm, recipe: dict[str, Any]) -> list[tuple[dict[str, Any], float]]:
    """Ingredients of a recipe with their share of the mass as weighed."""
    lines = [row for row in farm.rows["recipe_lines"] if row["recipe"] == recipe["recipe"]]
    total = sum(line["share"] for line in lines)
    return [
        (farm.row("ingredients", "ingredient", line["ingredient"]), line["share"] / total)
        for line in lines
    ]


def as_it_lies(farm: Farm, recipe: dict[str, Any], wet: float) -> float:
    """Mass of ingredients that holds the dry mass of a wet substrate."""
    dry_share = sum(share * (1 - item["moisture"]) for item, share in mix(farm, recipe))
    return wet * (1 - recipe["target_moisture"]) / dry_share


def full_mixer(farm: Farm, recipe: dict[str, Any]) -> float:
    return farm.one["mixer_volume"] * recipe["bulk_density"] * farm.one["working_fill"]


def load_energy(farm: Farm, recipe: dict[str, Any]) -> float:
    """Heat of the wet blocks up to boiling over the efficiency, and the hold [kWh].

    Standard atmosphere and IAPWS-IF97; oven-dry wood by Glass & Zelinka, Wood Handbook 2010,
    ch. 4; water 4.19 kJ/(kg·K).
    """
    pressure = 101.325 * (1 - 2.25577e-5 * farm.one["altitude"]) ** 5.2559
    boiling = _TSat_P(pressure / 1000) - 273.15
    start = farm.one["start_temperature"]
    moisture = recipe["target_moisture"]
    wood = 0.1031 + 0.003867 * ((start + boiling) / 2 + 273.15)
    heat = (1 - moisture) * wood + moisture * 4.19
    mass = farm.one["block_mass"] * farm.one["blocks_per_load"]
    heating = mass * heat * (boiling - start) / 3600 / farm.one["steamer_efficiency"]
    return heating + hold_energy(farm)


def hold_energy(farm: Farm) -> float:
    """Energy of a load, full or not, while it soaks and holds [kWh]."""
    return (farm.soak + farm.one["hold_hours"]) * farm.one["hold_power"]


# A block


@dataclass
class Plan:
    """What a usual week has, by recipe."""

    blocks: dict[str, float]
    batches: dict[str, float]
    mixer_loads: dict[str, float]
    steam_loads: float


def plan_of(farm: Farm) -> Plan:
    """Add a usual week up; made once, and kept by copies of the farm."""
    if farm.plan is None:
        names = [row["recipe"] for row in farm.rows["recipes"]]
        begun = usual_starts(farm)
        plan = farm.plan = Plan(*(dict.fromkeys(names, 0.0) for _ in range(3)), 0.0)
        mixes: dict[tuple[str, int, int], float] = defaultdict(float)
        steamed: dict[tuple[int, int], int] = defaultdict(int)
        for each in begun:
            plan.blocks[each.crop[1]] += each.blocks / each.every
            if each.blocks:
                plan.batches[each.crop[1]] += 1 / each.every
                mass = each.blocks * farm.one["block_mass"] + farm.one["lost_mass"]
                mixes[each.crop[1], each.weekday, each.every] += mass
            steamed[each.weekday, each.every] += each.blocks
        for (name, _, every), mass in mixes.items():
            full = full_mixer(farm, farm.row("recipes", "recipe", name))
            plan.mixer_loads[name] += ceil(mass / full - NOISE) / every
        plan.steam_loads = sum(
            ceil(blocks / farm.one["blocks_per_load"]) / every
            for (_, every), blocks in steamed.items()
        )
    return farm.plan


def to_try(farm: Farm) -> Farm:
    """Copy a farm to change a figure of it, everything else as it is: its plan, too."""
    plan_of(farm)
    return deepcopy(farm)


def full_mixer_blocks(farm: Farm, recipe: dict[str, Any]) -> int:
    one = farm.one
    filled = (full_mixer(farm, recipe) - one["lost_mass"]) / one["block_mass"]
    return max(1, floor(filled + NOISE))


def mixed_for_a_block(farm: Farm, recipe: dict[str, Any]) -> float:
    """Wet mass of a block with its part of what stays in the mixer after each batch."""
    plan, name = plan_of(farm), recipe["recipe"]
    batches = (
        plan.batches[name] / plan.blocks[name]
        if plan.blocks[name]
        else 1 / full_mixer_blocks(farm, recipe)
    )
    return farm.one["block_mass"] + farm.one["lost_mass"] * batches


def more_mixer_loads(farm: Farm, recipe: dict[str, Any]) -> float:
    """Mixer loads that a block takes in the plan, beyond its part of a full one."""
    plan, name = plan_of(farm), recipe["recipe"]
    if not plan.blocks[name]:
        return 0.0
    return plan.mixer_loads[name] / plan.blocks[name] - 1 / full_mixer_blocks(farm, recipe)


def more_steam_loads(farm: Farm) -> float:
    plan = plan_of(farm)
    blocks = sum(plan.blocks.values())
    return plan.steam_loads / blocks - 1 / farm.one["blocks_per_load"] if blocks else 0.0


def price_of(ingredient: dict[str, Any]) -> float:
    """Price of a unit of mass: of a bag where it has its price and mass, else in bulk."""
    if ingredient["bag_price"] is not None and ingredient["bag_mass"] is not None:
        return ingredient["bag_price"] / ingredient["bag_mass"]
    return ingredient["price"]


def block_steps(farm: Farm, product: dict[str, Any]) -> dict[str, float]:
    """Cost of a block started, step by step."""
    one, recipe, strain = farm.one, farm.recipe(product), farm.strain(product)
    price = sum(share * price_of(item) for item, share in mix(farm, recipe))
    more_steam = more_steam_loads(farm)
    energy = one["incubation_energy"] * strain["incubation_days"] / places(farm, "incubation")
    if fruited(product):
        stay = one["fruiting_energy"] * fruiting_days(farm, strain) / places(farm, "fruiting")
        energy += stay * (1 - strain["loss_rate"])
    yearly = sum(
        (item["price"] - (item["salvage"] or 0)) / item["life"] for item in farm.rows["equipment"]
    )
    overhead = one["rent"] + one["insurance"] + one["vehicle"] + one["other_overhead"]
    return {
        "Ingredients": price * as_it_lies(farm, recipe, mixed_for_a_block(farm, recipe)),
        "Bag": one["bag_price"],
        "Spawn": one["block_mass"] * strain["spawn_rate"] * one["spawn_price"],
        "Steam energy": load_energy(farm, recipe)
        * one["electricity_price"]
        / one["blocks_per_load"],
        "Labor: mixing": farm.work(one["mixing_minutes"]) / full_mixer_blocks(farm, recipe),
        "Labor: filling": farm.work(one["filling_minutes"]),
        "Labor: steaming": farm.work(one["steaming_minutes"]) / one["blocks_per_load"],
        "Labor: inoculating": farm.work(one["inoculating_minutes"]),
        "Labor: moving and cleaning": farm.work(one["moving_minutes"]),
        "Half-empty mixer loads: labor": farm.work(one["mixing_minutes"])
        * more_mixer_loads(farm, recipe),
        "Half-empty steam loads: labor": farm.work(one["steaming_minutes"]) * more_steam,
        "Half-empty steam loads: energy": hold_energy(farm) * one["electricity_price"] * more_steam,
        "Room energy": energy * one["electricity_price"],
        "Equipment": yearly / one["blocks_per_year"],
        "Overhead": overhead / one["blocks_per_year"],
    }


STANDING = ("Room energy", "Equipment", "Overhead")
"""There whether or not the block is: a contribution has to cover them."""


def fruited(product: dict[str, Any]) -> bool:
    return product["form"] != "block"


def fruiting_days(farm: Farm, strain: dict[str, Any]) -> float:
    later = (strain["flushes"] - 1) * (strain["flush_interval_days"] or 0)
    return strain["first_flush_days"] + later + farm.one["turnover_days"]


def block_harvest(farm: Farm, product: dict[str, Any]) -> float:
    """Fresh mass of a good block, of the flushes kept."""
    strain = farm.strain(product)
    dry = farm.one["block_mass"] * (1 - farm.recipe(product)["target_moisture"])
    return dry * sum(strain[f"be_{n}"] or 0 for n in range(1, int(strain["flushes"]) + 1))


def good_block(farm: Farm, product: dict[str, Any]) -> float:
    return sum(block_steps(farm, product).values()) / (1 - farm.strain(product)["loss_rate"])


# A pack


def fresh_in_pack(farm: Farm, product: dict[str, Any]) -> float:
    if product["form"] == "dried":
        dry = product["pack_mass"] * (1 - farm.one["dried_moisture"])
        return dry / (1 - farm.one["fresh_moisture"])
    return product["pack_mass"] if fruited(product) else 0.0


def blocks_in_pack(farm: Farm, product: dict[str, Any]) -> float:
    if not fruited(product):
        return 1.0
    return fresh_in_pack(farm, product) / block_harvest(farm, product)


def pack_minutes(farm: Farm, product: dict[str, Any]) -> float:
    """Picking, drying and packing of a pack made."""
    of_mass = farm.strain(product)["picking_minutes"]
    if product["form"] == "dried":
        of_mass += farm.one["drying_minutes"]
    return fresh_in_pack(farm, product) * of_mass + product["packing_minutes"]


def pack_cost(farm: Farm, product: dict[str, Any]) -> float:
    """Cost of a pack sold."""
    made = good_block(farm, product) * blocks_in_pack(farm, product)
    made += farm.work(pack_minutes(farm, product)) + product["pack_cost"]
    if product["form"] == "dried":
        drying = farm.one["drying_energy"] * farm.one["electricity_price"]
        made += fresh_in_pack(farm, product) * drying
    return made / product["sold_share"] + product["delivery"]


def net_price(product: dict[str, Any]) -> float:
    return product["price"] * (1 - product["fees"])


def without_fixed_cost(farm: Farm) -> Farm:
    """Return the same farm with nothing to pay that stays the same with or without a block."""
    free = to_try(farm)
    for key in ("incubation_energy", "fruiting_energy", "rent", "insurance", "vehicle"):
        free.one[key] = 0.0
    free.one["other_overhead"] = 0.0
    free.rows["equipment"] = []
    return free


def pack_made(farm: Farm, product: dict[str, Any]) -> float:
    """What a pack made costs, sold or not, fixed cost and delivery left out."""
    sold = pack_cost(without_fixed_cost(farm), product) - product["delivery"]
    return sold * product["sold_share"]


def block_contribution(farm: Farm, product: dict[str, Any]) -> float:
    """What a good block brings beyond all that is spent because of it."""
    packs = product["sold_share"] / blocks_in_pack(farm, product)
    return packs * (net_price(product) - pack_cost(without_fixed_cost(farm), product))


def fixed_share(farm: Farm, product: dict[str, Any]) -> float:
    """What of the cost of a pack sold is spent with or without it."""
    return pack_cost(farm, product) - net_price(product) + pack_contribution(farm, product)


def pack_contribution(farm: Farm, product: dict[str, Any]) -> float:
    packs = product["sold_share"] / blocks_in_pack(farm, product)
    return block_contribution(farm, product) / packs


def stations_of_pack(farm: Farm, product: dict[str, Any]) -> dict[str, float]:
    """What a pack sold takes of each station: loads, hours, shelf spaces of a week."""
    one, strain = farm.one, farm.strain(product)
    good = blocks_in_pack(farm, product) / product["sold_share"]
    started = good / (1 - strain["loss_rate"])
    mixer = started / full_mixer_blocks(farm, farm.recipe(product))
    steamer = started / one["blocks_per_load"]
    a_block = one["filling_minutes"] + one["inoculating_minutes"] + one["moving_minutes"]
    minutes = pack_minutes(farm, product) / product["sold_share"] + started * a_block
    minutes += mixer * one["mixing_minutes"] + steamer * one["steaming_minutes"]
    in_fruiting = fruiting_days(farm, strain) / 7 if fruited(product) else 0.0
    return {
        "mixer": mixer,
        "steamer": steamer,
        "bench": started * one["inoculating_minutes"] / 60,
        "incubation": started * strain["incubation_days"] / 7,
        "fruiting": good * in_fruiting,
        "labor": minutes / 60,
    }


def with_driver(farm: Farm, product: dict[str, Any], driver: str, change: float) -> Farm:
    """Return the same farm with one driver changed where it is typed."""
    changed = to_try(farm)
    factor = 1 + change
    singles = {
        "Spawn price": ["spawn_price"],
        "Labor": ["hourly_wage"],
        "Energy": ["electricity_price"],
        "Overhead": ["rent", "insurance", "vehicle", "other_overhead"],
    }
    columns = {"BE": [f"be_{n}" for n in range(1, 5)], "Losses": ["loss_rate"]}
    columns["Spawn rate"] = ["spawn_rate"]
    for key in singles.get(driver, []):
        changed.one[key] *= factor
    for key in columns.get(driver, []):
        strain = changed.strain(product)
        strain[key] = None if strain[key] is None else strain[key] * factor
    if driver == "Ingredient prices":
        for item in changed.rows["ingredients"]:
            for key in ("bag_price", "price"):
                item[key] = None if item[key] is None else item[key] * factor
    return changed


@dataclass
class Month:
    """What came of the ended batches of a strain that were made in a month."""

    blocks: float = 0
    lost: float = 0
    fresh: float = 0
    """Of the batches that were moved into fruiting or picked."""
    dry: float = 0
    """Dry substrate of the good blocks of these."""


def own_months(farm: Farm, strain: str) -> tuple[int, list[Month]]:
    """Count the ended batches of a strain; add them up by month, the last twelve."""
    today, months, count = farm.one["as_of"], {}, 0
    for row in farm.rows["batches"]:
        lost = sum(r["blocks"] for r in farm.rows["losses"] if r["batch"] == row["batch"])
        good = row["bags"] - lost
        is_ended = good <= 0 or (row["ended"] is not None and row["ended"] <= today)
        back = (today.year - row["made"].year) * 12 + today.month - row["made"].month
        if row["strain"] != strain or not is_ended:
            continue
        count += 1
        if back >= 12:
            continue
        month = months.setdefault(back, Month())
        month.blocks += row["bags"]
        month.lost += lost
        picked = [r["fresh"] for r in farm.rows["harvests"] if r["batch"] == row["batch"]]
        if picked or row["moved"]:
            moisture = (
                row["moisture"] or farm.row("recipes", "recipe", row["recipe"])["target_moisture"]
            )
            month.fresh += sum(picked)
            month.dry += good * (row["block_mass"] or farm.one["block_mass"]) * (1 - moisture)
    return count, list(months.values())


DRIVER_KEYS = {"Spawn price": "spawn_price", "Ingredient prices": "ingredients"}


def driver_range(farm: Farm, product: dict[str, Any], driver: str) -> tuple[str, float, float]:
    """Return where the range of a driver is from, and both ends as shares of today's figure."""
    strain = farm.strain(product)
    count, months = own_months(farm, product["strain"])
    if farm.one["driver_records"] == "own months" and count >= farm.one["enough_batches"]:
        be = [month.fresh / month.dry for month in months if month.fresh and month.dry]
        if driver == "BE" and len(be) > 1:
            planned = sum(strain[f"be_{n}"] or 0 for n in range(1, int(strain["flushes"]) + 1))
            return "own months", min(be) / planned, max(be) / planned
        loss = [month.lost / month.blocks for month in months if month.blocks > month.lost]
        if driver == "Losses" and len(loss) > 1:
            return "own months", *(end(loss) / strain["loss_rate"] for end in (min, max))
    key = DRIVER_KEYS.get(driver, driver.lower().replace(" ", "_"))
    return "as typed", farm.one[f"{key}_low"], farm.one[f"{key}_high"]


def with_flushes(farm: Farm, product: dict[str, Any], flushes: int) -> Farm:
    """Return the same farm where the strain is kept for another number of flushes."""
    changed = to_try(farm)
    changed.strain(product)["flushes"] = flushes
    return changed


# What is wanted


def market_of(farm: Farm, day: date) -> date:
    """Return the market day on or before a day."""
    return day - (day.weekday() - WEEKDAYS.index(farm.one["market_day"])) % 7 * DAY


def deliveries(farm: Farm, order: dict[str, Any]) -> list[date]:
    """Return the days on which an order is delivered."""
    days = [order["date"]]
    while order["until"] and days[-1] + WEEK <= order["until"]:
        days.append(days[-1] + WEEK)
    return days


def packs_wanted(farm: Farm, product: dict[str, Any], monday: date) -> float:
    """Return the packs to have ready for the market of a week: what is said of it, and orders."""
    rows = [
        row["packs"]
        for row in farm.rows["unusual_weeks"]
        if row["product"] == product["product"] and row["week"] == monday
    ]
    ordered = sum(
        order["packs"]
        for order in farm.rows["orders"]
        if order["product"] == product["product"]
        for delivery in deliveries(farm, order)
        if monday <= market_of(farm, delivery) < monday + WEEK
    )
    return (sum(rows) if rows else product["packs_per_week"]) + ordered


def packs_made(farm: Farm, product: dict[str, Any], monday: date) -> float:
    return packs_wanted(farm, product, monday) / product["sold_share"]


def crops(farm: Farm) -> list[tuple[str, str, bool]]:
    """Strain, recipe and whether it goes into fruiting, in the order of the product lines."""
    return list(dict.fromkeys(crop_of(product) for product in farm.rows["products"]))


def crop_of(product: dict[str, Any]) -> tuple[str, str, bool]:
    return product["strain"], product["recipe"], fruited(product)


def blocks_for(farm: Farm, good: float, loss: float) -> int:
    """Return the fewest blocks of which enough are good with the chance that the farm wants.

    Good blocks are taken as normal, their variance that of a binomial number times the spread.
    """
    blocks = ceil(good / (1 - loss) - NOISE)
    sure = NormalDist().inv_cdf(farm.one["start_confidence"])
    while good and blocks * (1 - loss) - sure * sqrt(farm.spread * blocks * loss * (1 - loss)) < (
        good - NOISE
    ):
        blocks += 1
    return blocks


def weeks(farm: Farm) -> list[date]:
    today = farm.one["as_of"]
    return [today - today.weekday() * DAY + n * WEEK for n in range(12)]


# How a crop is started


def places(farm: Farm, stage: str) -> int:
    """Shelf spaces of all rooms of a stage."""
    return sum(room["spaces"] for room in farm.rows["rooms"] if room["stage"] == stage)


@dataclass
class Rhythm:
    """How often a crop is started, from which Monday, and in which numbers of blocks."""

    every: int
    monday: date
    smallest: int
    step: int


def rhythm(farm: Farm, crop: tuple[str, str, bool]) -> Rhythm:
    typed = next(
        (row for row in farm.rows["rhythms"] if (row["strain"], row["recipe"]) == crop[:2]), {}
    )
    begun = typed.get("week") or weeks(farm)[0]
    step = {
        "mixer": full_mixer_blocks(farm, farm.row("recipes", "recipe", crop[1])),
        "steamer": farm.one["blocks_per_load"],
    }
    return Rhythm(
        every=int(typed.get("every") or 1),
        monday=begun - begun.weekday() * DAY,
        smallest=int(typed.get("smallest") or 1),
        step=int(step.get(typed.get("whole"), 1)),
    )


def in_steps(of: Rhythm, blocks: int) -> int:
    return ceil(max(blocks, of.smallest) / of.step) * of.step if blocks else 0


def least_days(farm: Farm, crop: tuple[str, str, bool]) -> int:
    """Return the days that a crop needs from its start to the market."""
    strain = farm.row("strains", "strain", crop[0])
    days = farm.one["days_before_market"] + strain["incubation_days"]
    return ceil(days + (strain["first_flush_days"] if crop[2] else 0) - 1e-6)


def lead_days(farm: Farm, crop: tuple[str, str, bool]) -> int:
    """Return the days from a start to its market, where it is begun on the mixing day."""
    days = least_days(farm, crop)
    if farm.one["mixing_day"] in WEEKDAYS:
        market, mixing = (WEEKDAYS.index(farm.one[f"{key}_day"]) for key in ("market", "mixing"))
        while (market - days) % 7 != mixing:
            days += 1
    return days


@dataclass
class UsualStart:
    """A start of a crop where every week is a usual one."""

    crop: tuple[str, str, bool]
    blocks: int
    every: int
    weekday: int


def usual_starts(farm: Farm) -> list[UsualStart]:
    found = []
    for crop in crops(farm):
        packs = [(p, p["packs_per_week"]) for p in farm.rows["products"] if crop_of(p) == crop]
        good = sum(n / p["sold_share"] * blocks_in_pack(farm, p) for p, n in packs)
        loss, of = farm.row("strains", "strain", crop[0])["loss_rate"], rhythm(farm, crop)
        blocks = in_steps(of, blocks_for(farm, good * of.every, loss))
        weekday = (WEEKDAYS.index(farm.one["market_day"]) - lead_days(farm, crop)) % 7
        found.append(UsualStart(crop, blocks, of.every, weekday))
    return found


def usual_minutes(farm: Farm) -> float:
    """Minutes of work on the blocks of a usual week."""
    one, plan = farm.one, plan_of(farm)
    of_block = one["filling_minutes"] + one["inoculating_minutes"] + one["moving_minutes"]
    return (
        sum(plan.mixer_loads.values()) * one["mixing_minutes"]
        + plan.steam_loads * one["steaming_minutes"]
        + sum(plan.blocks.values()) * of_block
    )


def fresh_of_strain(farm: Farm, strain: str, monday: date) -> float:
    return sum(
        packs_made(farm, product, monday) * fresh_in_pack(farm, product)
        for product in farm.rows["products"]
        if product["strain"] == strain
    )


def spent_of_a_usual_week(farm: Farm) -> dict[str, float]:
    """Dry matter of a usual week's blocks to fruit: what went in, was picked, breathed, is left."""
    started = picked = 0.0
    for product in farm.rows["products"]:
        if not fruited(product):
            continue
        packs = product["packs_per_week"] / product["sold_share"]
        good = packs * blocks_in_pack(farm, product)
        dry = farm.one["block_mass"] * (1 - farm.recipe(product)["target_moisture"])
        started += good / (1 - farm.strain(product)["loss_rate"]) * dry
        picked += packs * fresh_in_pack(farm, product)
    in_mushrooms = picked * (1 - farm.one["fresh_moisture"])
    left = started - started * farm.one["dry_matter_loss"] - in_mushrooms
    return {
        "started": started,
        "picked": picked,
        "left": left,
        "hauled": left / (1 - farm.one["spent_moisture"]),
    }


# A year of usual weeks

DAYS = 365


def a_year(of_a_week: float) -> float:
    return of_a_week / 7 * DAYS


def carried_by_blocks(farm: Farm) -> float:
    """Money a year: every block of a usual week at what a block started of its crop costs."""
    sold = {crop_of(product): product for product in farm.rows["products"]}
    return a_year(
        sum(
            each.blocks / each.every * sum(block_steps(farm, sold[each.crop]).values())
            for each in usual_starts(farm)
        )
    )


def spent_on_blocks(farm: Farm) -> dict[str, float]:
    """Money a year by what it is spent on, from the plan alone: no cost of a block is in it."""
    one, plan = farm.one, plan_of(farm)
    blocks = sum(plan.blocks.values())
    spawn = sum(
        each.blocks / each.every * farm.row("strains", "strain", each.crop[0])["spawn_rate"]
        for each in usual_starts(farm)
    )
    bought = 0.0
    for recipe in farm.rows["recipes"]:
        name = recipe["recipe"]
        wet = plan.blocks[name] * one["block_mass"] + plan.batches[name] * one["lost_mass"]
        for item, share in mix(farm, recipe):
            bought += share * as_it_lies(farm, recipe, wet) * price_of(item)
    hold = hold_energy(farm)
    heat = sum(
        plan.blocks[recipe["recipe"]] * (load_energy(farm, recipe) - hold) / one["blocks_per_load"]
        for recipe in farm.rows["recipes"]
    )
    yearly = sum(
        (item["price"] - (item["salvage"] or 0)) / item["life"] for item in farm.rows["equipment"]
    )
    overhead = one["rent"] + one["insurance"] + one["vehicle"] + one["other_overhead"]
    energy = one["electricity_price"]
    return {
        "Ingredients, bags, spawn": a_year(
            bought + blocks * one["bag_price"] + spawn * one["block_mass"] * one["spawn_price"]
        ),
        "Labor on blocks": a_year(farm.work(usual_minutes(farm))),
        "Steam energy": a_year((heat + plan.steam_loads * hold) * energy),
        "Room energy": (one["incubation_energy"] + one["fruiting_energy"]) * DAYS * energy,
        "Equipment and overhead": yearly + overhead,
    }


def usual_spaces(farm: Farm) -> dict[str, float]:
    """Return the shelf spaces that blocks take where every week is a usual one, by room."""
    taken = {"incubation": 0.0, "fruiting": 0.0}
    for each in usual_starts(farm):
        strain = farm.row("strains", "strain", each.crop[0])
        blocks = each.blocks / each.every
        taken["incubation"] += blocks * strain["incubation_days"] / 7
        if each.crop[2]:
            good = blocks * (1 - strain["loss_rate"])
            taken["fruiting"] += good * fruiting_days(farm, strain) / 7
    return taken


def idle(farm: Farm) -> dict[str, float]:
    """Money a year for what stands idle: blocks not made, and places where none stands."""
    one = farm.one
    planned = a_year(sum(plan_of(farm).blocks.values()))
    standing = spent_on_blocks(farm)["Equipment and overhead"] / one["blocks_per_year"]
    empty = {room: 1 - taken / places(farm, room) for room, taken in usual_spaces(farm).items()}
    return {"Idle: equipment and overhead": (one["blocks_per_year"] - planned) * standing} | {
        f"Idle: {room} energy": share * DAYS * one[f"{room}_energy"] * one["electricity_price"]
        for room, share in empty.items()
    }
