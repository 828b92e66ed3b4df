"""Costing and week plan of a farm, from their definitions alone, to hold the workbook against.

It takes what is typed, in kilograms, liters, days and money, and nothing that a sheet computes.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor, sqrt
from statistics import NormalDist
from typing import Any

from iapws.iapws97 import _TSat_P

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
    plan: Plan | None = None
    """What its weeks ahead have, also after a figure was changed to try something."""

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
    """What all weeks of the plan have together, by recipe."""

    blocks: dict[str, int]
    batches: dict[str, int]
    mixer_loads: dict[str, int]
    steam_loads: int


def plan_of(farm: Farm) -> Plan:
    """Add the weeks of the plan up; made once, and kept by copies of the farm."""
    if farm.plan is None:
        begun = starts(farm)
        plan = farm.plan = Plan(
            *({row["recipe"]: 0 for row in farm.rows["recipes"]} for _ in range(3)), 0
        )
        for each in begun:
            recipe = each.crop[1]
            plan.blocks[recipe] += each.blocks
            plan.batches[recipe] += each.blocks > 0
            plan.mixer_loads[recipe] += mixer_loads(farm, each)
        for week in weeks(farm):
            blocks = sum(each.blocks for each in begun if each.week == week)
            plan.steam_loads += ceil(blocks / farm.one["blocks_per_load"])
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


def block_contribution(farm: Farm, product: dict[str, Any]) -> float:
    """What a good block brings beyond all that is spent because of it."""
    free = to_try(farm)
    for key in ("incubation_energy", "fruiting_energy", "rent", "insurance", "vehicle"):
        free.one[key] = 0.0
    free.one["other_overhead"] = 0.0
    free.rows["equipment"] = []
    packs = product["sold_share"] / blocks_in_pack(farm, product)
    return packs * (net_price(product) - pack_cost(free, product))


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


# The week plan


def packs_wanted(farm: Farm, product: dict[str, Any], monday: date) -> float:
    rows = [
        row["packs"]
        for row in farm.rows["unusual_weeks"]
        if row["product"] == product["product"] and row["week"] == monday
    ]
    return sum(rows) if rows else product["packs_per_week"]


def packs_made(farm: Farm, product: dict[str, Any], monday: date) -> float:
    return packs_wanted(farm, product, monday) / product["sold_share"]


def crops(farm: Farm) -> list[tuple[str, str, bool]]:
    """Strain, recipe and whether it goes into fruiting, in the order of the product lines."""
    return list(dict.fromkeys(crop_of(product) for product in farm.rows["products"]))


def crop_of(product: dict[str, Any]) -> tuple[str, str, bool]:
    return product["strain"], product["recipe"], fruited(product)


@dataclass
class Start:
    """The blocks of a crop that are started in a week."""

    crop: tuple[str, str, bool]
    week: date
    day: date
    market: date
    good: float
    blocks: int


def start(farm: Farm, crop: tuple[str, str, bool], week: date) -> Start:
    """Look for the day of the week from which the crop is ready just in time for a market."""
    strain = farm.row("strains", "strain", crop[0])
    days = farm.one["days_before_market"] + strain["incubation_days"]
    days = ceil(days + (strain["first_flush_days"] if crop[2] else 0) - 1e-6)
    at = WEEKDAYS.index(farm.one["market_day"])
    day = next(week + n * DAY for n in range(7) if (week + (n + days) * DAY).weekday() == at)
    market = day + days * DAY
    monday = market - at * DAY
    good = sum(
        packs_made(farm, product, monday) * blocks_in_pack(farm, product)
        for product in farm.rows["products"]
        if crop_of(product) == crop
    )
    return Start(crop, week, day, market, good, blocks_for(farm, good, strain["loss_rate"]))


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


def starts(farm: Farm) -> list[Start]:
    return [start(farm, crop, week) for week in weeks(farm) for crop in crops(farm)]


def mixed(farm: Farm, one: Start) -> float:
    return one.blocks * farm.one["block_mass"] + farm.one["lost_mass"] if one.blocks else 0.0


def mixer_loads(farm: Farm, one: Start) -> int:
    recipe = farm.row("recipes", "recipe", one.crop[1])
    return ceil(mixed(farm, one) / full_mixer(farm, recipe) - NOISE)


def block_minutes(farm: Farm, week: date) -> float:
    """Minutes of work on the blocks that are started in a week."""
    one = farm.one
    begun = [start(farm, crop, week) for crop in crops(farm)]
    blocks = sum(each.blocks for each in begun)
    mixer = sum(mixer_loads(farm, each) for each in begun)
    of_block = one["filling_minutes"] + one["inoculating_minutes"] + one["moving_minutes"]
    steamer = ceil(blocks / one["blocks_per_load"])
    return mixer * one["mixing_minutes"] + steamer * one["steaming_minutes"] + blocks * of_block


def places(farm: Farm, stage: str) -> int:
    """Shelf spaces of all rooms of a stage."""
    return sum(room["spaces"] for room in farm.rows["rooms"] if room["stage"] == stage)


def in_rooms(farm: Farm, week: date) -> dict[str, float]:
    """How full each stage would be if all weeks were like one."""
    incubation = fruiting = 0.0
    for crop in crops(farm):
        each = start(farm, crop, week)
        strain = farm.row("strains", "strain", each.crop[0])
        incubation += each.blocks * strain["incubation_days"] / 7
        if each.crop[2]:
            good = each.blocks * (1 - strain["loss_rate"])
            fruiting += good * fruiting_days(farm, strain) / 7
    return {
        "Incubation": incubation / places(farm, "incubation"),
        "Fruiting": fruiting / places(farm, "fruiting"),
    }


def loads(farm: Farm, week: date) -> dict[str, float]:
    """What each station has to do in a week, but for the rooms."""
    one = farm.one
    begun = [start(farm, crop, week) for crop in crops(farm)]
    blocks = sum(each.blocks for each in begun)
    mixer = sum(mixer_loads(farm, each) for each in begun)
    steamer = ceil(blocks / one["blocks_per_load"])
    minutes = block_minutes(farm, week)
    for product in farm.rows["products"]:
        minutes += packs_made(farm, product, week) * pack_minutes(farm, product)
    return {
        "Mixer": mixer / one["mixer_loads_per_week"],
        "Steamer": steamer / one["steam_loads_per_week"],
        "Bench": blocks * one["inoculating_minutes"] / 60 / one["bench_hours_per_week"],
        "Labor": minutes / 60 / one["labor_hours_per_week"],
    }


def fresh_of_strain(farm: Farm, strain: str, monday: date) -> float:
    return sum(
        packs_made(farm, product, monday) * fresh_in_pack(farm, product)
        for product in farm.rows["products"]
        if product["strain"] == strain
    )


def purchases(farm: Farm, week: date) -> dict[str, float]:
    """Mass of each ingredient for the batches of a week."""
    bought = {item["ingredient"]: 0.0 for item in farm.rows["ingredients"]}
    for crop in crops(farm):
        recipe = farm.row("recipes", "recipe", crop[1])
        mass = as_it_lies(farm, recipe, mixed(farm, start(farm, crop, week)))
        for item, share in mix(farm, recipe):
            bought[item["ingredient"]] += share * mass
    return bought


def spawn_of_strain(farm: Farm, strain: str, week: date) -> float:
    rate = farm.row("strains", "strain", strain)["spawn_rate"]
    blocks = sum(start(farm, crop, week).blocks for crop in crops(farm) if crop[0] == strain)
    return blocks * farm.one["block_mass"] * rate


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


# A year of weeks like those of the plan

DAYS = 365


def a_year(farm: Farm, of_all_weeks: float) -> float:
    return of_all_weeks / len(weeks(farm)) / 7 * DAYS


def carried_by_blocks(farm: Farm) -> float:
    """Money a year: every block of the plan at what a block started of its crop costs."""
    sold = {crop_of(product): product for product in farm.rows["products"]}
    return a_year(
        farm,
        sum(
            each.blocks * sum(block_steps(farm, sold[each.crop]).values()) for each in starts(farm)
        ),
    )


def spent_on_blocks(farm: Farm) -> dict[str, float]:
    """Money a year by what it is spent on, from the plan alone: no cost of a block is in it."""
    one, plan = farm.one, plan_of(farm)
    blocks = sum(plan.blocks.values())
    bought = spawn = minutes = 0.0
    for week in weeks(farm):
        bought += sum(
            mass * price_of(farm.row("ingredients", "ingredient", name))
            for name, mass in purchases(farm, week).items()
        )
        spawn += sum(spawn_of_strain(farm, row["strain"], week) for row in farm.rows["strains"])
        minutes += block_minutes(farm, week)
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
            farm, bought + blocks * one["bag_price"] + spawn * one["spawn_price"]
        ),
        "Labor on blocks": a_year(farm, farm.work(minutes)),
        "Steam energy": a_year(farm, (heat + plan.steam_loads * hold) * energy),
        "Room energy": (one["incubation_energy"] + one["fruiting_energy"]) * DAYS * energy,
        "Equipment and overhead": yearly + overhead,
    }


def idle(farm: Farm) -> dict[str, float]:
    """Money a year for what stands idle: blocks not made, and places where none stands."""
    one = farm.one
    planned = a_year(farm, sum(plan_of(farm).blocks.values()))
    standing = spent_on_blocks(farm)["Equipment and overhead"] / one["blocks_per_year"]
    filled = [in_rooms(farm, week) for week in weeks(farm)]
    empty = {
        room: 1 - sum(one_week[room] for one_week in filled) / len(filled)
        for room in ("Incubation", "Fruiting")
    }
    return {"Idle: equipment and overhead": (one["blocks_per_year"] - planned) * standing} | {
        f"Idle: {room.lower()} energy": share
        * DAYS
        * one[f"{room.lower()}_energy"]
        * one["electricity_price"]
        for room, share in empty.items()
    }
