"""The week plan of a farm from its definitions alone: dates and masses, added up by market.

For each crop it goes through the weeks: what the next market that can be started for lacks is
started, and what that will give, flush by flush, is noted for the markets to come.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING

from farm_model import (
    DAY,
    NOISE,
    WEEK,
    WEEKDAYS,
    Farm,
    as_it_lies,
    blocks_for,
    crop_of,
    crops,
    deliveries,
    fresh_in_pack,
    full_mixer,
    in_steps,
    lead_days,
    least_days,
    market_of,
    mix,
    pack_minutes,
    packs_made,
    rhythm,
    weeks,
)
from seasons import day

if TYPE_CHECKING:
    from datetime import date

    from seasons import Batch

Crop = tuple[str, str, bool]
ROUNDED = 1e-6
"""What a start is for is rounded to a millionth of a block."""
HORIZON = 80  # weeks


@dataclass
class Start:
    """The blocks of a crop that are started in a week."""

    crop: Crop
    week: date
    day: date
    market: date
    good: float
    blocks: int


@dataclass
class Short:
    """What a crop lacks where it is too late to start."""

    amount: float
    first: date
    earliest: date


@dataclass
class Plan:
    """All starts, all that is too late, and the first market that each crop can be started for.

    ``missing`` is what lacks at each market that it is too late for, or 0.
    """

    starts: list[Start]
    short: dict[Crop, Short]
    earliest: dict[Crop, date]
    missing: dict[tuple[Crop, date], float]


@dataclass
class Taken:
    """What an order takes: of the next of its deliveries, and of the first that is in time.

    ``more`` is what the plan starts less what it starts without the order; ``start`` is None where
    it is too late for all deliveries, ``coming`` where it is not too late for the next or nobody
    knows: what that market gets, and what is wanted there.
    """

    crop: Crop
    next_market: date
    since: date | None = None
    coming: tuple[float, float] | None = None
    ready: date | None = None
    start: date | None = None
    more: int = 0
    is_planned: bool = False


def market_in(farm: Farm, monday: date) -> date:
    return monday + WEEKDAYS.index(farm.one["market_day"]) * DAY


def market_for(farm: Farm, ready: float) -> date:
    """Return the market that is in time for something ready on a day, from 0001-01-01."""
    at = ready + farm.one["days_before_market"] - ROUNDED
    market = market_in(farm, weeks(farm)[0])
    while market.toordinal() < at:
        market += WEEK
    while (market - WEEK).toordinal() >= at:
        market -= WEEK
    return market


def flushes_of_block(farm: Farm, crop: Crop) -> list[tuple[float, float]]:
    """Return for each flush of a good block its day after the start, and what it gives."""
    strain = farm.row("strains", "strain", crop[0])
    if not crop[2]:
        return [(strain["incubation_days"], 1.0)]
    dry = farm.one["block_mass"] * (1 - farm.row("recipes", "recipe", crop[1])["target_moisture"])
    first = strain["incubation_days"] + strain["first_flush_days"]
    interval = strain["flush_interval_days"] or 0
    return [
        (first + number * interval, dry * (strain[f"be_{number + 1}"] or 0))
        for number in range(int(strain["flushes"]))
    ]


def picked_of_starts(farm: Farm, begun: list[Start], monday: date) -> float:
    """Return the fresh mass that starts are expected to give in a week."""
    return sum(
        start.blocks * (1 - farm.row("strains", "strain", start.crop[0])["loss_rate"]) * gives
        for start in begun
        if start.crop[2]
        for day, gives in flushes_of_block(farm, start.crop)
        if 0 <= start.day.toordinal() + day - monday.toordinal() < 7
    )


def wanted(farm: Farm, crop: Crop, market: date) -> float:
    """Return the fresh mass, or the blocks, that a market asks of a crop."""
    monday = market - market.weekday() * DAY
    return sum(
        packs_made(farm, product, monday) * (fresh_in_pack(farm, product) if crop[2] else 1)
        for product in farm.rows["products"]
        if crop_of(product) == crop
    )


def crop_of_batch(farm: Farm, batch: Batch) -> Crop | None:
    """Return the crop that a batch counts for: of its recipe, else the first of its strain."""
    whole = batch.row["sold_whole"] == "yes"
    own = (batch.strain, batch.row["recipe"], not whole)
    if own in crops(farm):
        return own
    return next((c for c in crops(farm) if c[0] == batch.strain and c[2] and not whole), None)


def coming(farm: Farm) -> dict[tuple[Crop, date], float]:
    """Return what batches in progress give, and what is picked, by crop and market."""
    found: dict[tuple[Crop, date], float] = defaultdict(float)
    today = farm.one["as_of"].toordinal()
    for batch in farm.batches:
        crop = crop_of_batch(farm, batch)
        if batch.is_ended or crop is None:
            continue
        for ready, amount in flushes_of_batch(farm, batch, today):
            due = max(today - farm.one["days_before_market"], ready)
            found[crop, market_for(farm, due)] += amount
    next_market = market_in(farm, weeks(farm)[0])
    if next_market < farm.one["as_of"]:
        next_market += WEEK
    for crop in crops(farm):
        if crop == next((c for c in crops(farm) if c[0] == crop[0] and c[2]), None):
            picked = (
                (market_for(farm, when.toordinal()), fresh)
                for batch in farm.batches
                if batch.strain == crop[0]
                for _, when, fresh in batch.picked
                if when.toordinal() <= today
            )
            for market, fresh in picked:
                if market in (next_market, next_market + WEEK):
                    found[crop, market] += fresh
    return found


def flushes_of_batch(farm: Farm, batch: Batch, today: int) -> list[tuple[float, float]]:
    """Return day and amount of each flush that a batch in progress will still give."""
    strain = farm.row("strains", "strain", batch.strain)
    moved, last = day(batch.row["moved"]), int(batch.last_flush)
    good = batch.good
    if moved is None:
        good = min(good, batch.row["bags"] * (1 - strain["loss_rate"]))
    out = batch.made + strain["incubation_days"]
    if batch.row["sold_whole"] == "yes":
        return [(out, good)]
    interval = strain["flush_interval_days"] or 0
    if last:
        due = batch.picked_on(last) + interval
    else:
        due = (moved.toordinal() if moved else max(today, out)) + strain["first_flush_days"]
    due = max(today, due)
    dry = batch.dry * good / batch.row["bags"]
    return [
        (due + (number - 1 - last) * interval, dry * (strain[f"be_{number}"] or 0))
        for number in range(last + 1, int(strain["flushes"]) + 1)
    ]


def plan(farm: Farm) -> Plan:
    """Go through the weeks of every crop."""
    found: list[Start] = []
    short: dict[Crop, Short] = {}
    first_in_time: dict[Crop, date] = {}
    missing: dict[tuple[Crop, date], float] = {}
    given = coming(farm)
    for crop in crops(farm):
        of, lead = rhythm(farm, crop), lead_days(farm, crop)
        loss = farm.row("strains", "strain", crop[0])["loss_rate"]
        lacking = {
            market: wanted(farm, crop, market) - given[crop, market]
            for number in range(HORIZON)
            for market in (market_in(farm, weeks(farm)[0]) + number * WEEK,)
        }
        earliest = None
        for week in weeks(farm):
            start = next(
                week + n * DAY
                for n in range(7)
                if (week + (n + lead) * DAY).weekday() == market_in(farm, week).weekday()
            )
            market = start + lead * DAY
            good = blocks = 0
            is_due = (week - of.monday).days // 7 % of.every == 0
            latest = market - least_days(farm, crop) * DAY
            if is_due and latest >= farm.one["as_of"]:
                earliest = earliest or market
                window = [market + n * WEEK for n in range(of.every)]
                per_block: dict[date, float] = defaultdict(float)
                for number, (after, gives) in enumerate(flushes_of_block(farm, crop)):
                    begun = max(start, farm.one["as_of"])
                    at = market_for(farm, begun.toordinal() + after)
                    per_block[max(market, at) if number else market] += gives
                good = max(
                    0.0,
                    *(
                        sum(lacking[one] for one in window[:last])
                        / sum(per_block[one] for one in window[:last])
                        for last in range(1, of.every + 1)
                    ),
                )
                good = round(good / ROUNDED) * ROUNDED
                enough = blocks_for(farm, good, loss)
                blocks = in_steps(of, enough)
                for one, gives in per_block.items():
                    lacking[one] -= (good + (blocks - enough) * (1 - loss)) * gives
            found.append(Start(crop, week, start, market, good, blocks))
        assert earliest is not None, "no crop waits for more than four weeks"
        first_in_time[crop] = earliest
        amounts = _missing(farm, lacking, earliest, of.every)
        missing |= {(crop, market): amount for market, amount in amounts.items()}
        late = [market for market, amount in amounts.items() if amount]
        if late:
            short[crop] = Short(sum(amounts.values()), min(late), earliest)
    found.sort(key=lambda one: (one.week, crops(farm).index(one.crop)))
    for one in found:
        if one.blocks:
            one.day = max(one.day, farm.one["as_of"])
    return Plan(found, short, first_in_time, missing)


def _missing(
    farm: Farm, lacking: dict[date, float], earliest: date, every: int
) -> dict[date, float]:
    """Return what lacks at each market from today on that it is too late to start for."""
    amounts, kept = {}, 0.0
    for week in weeks(farm):
        market = market_in(farm, week)
        if (earliest - market).days // 7 % every == 0:
            kept = 0.0
        balance = kept - lacking[market]
        kept = max(0.0, balance)
        if farm.one["as_of"] <= market < earliest:
            amounts[market] = -balance if -balance > ROUNDED else 0.0
    return amounts


def takes(farm: Farm, number: int) -> Taken | None:
    """Return what an order takes, by planning with it and without it; None where it is past."""
    order = farm.rows["orders"][number]
    product = farm.row("products", "product", order["product"])
    crop, today = crop_of(product), farm.one["as_of"]
    markets = [market_of(farm, delivery) for delivery in deliveries(farm, order)]
    markets = [market for market in markets if market >= today]
    if not markets:
        return None
    planned, of = plan(farm), rhythm(farm, crop)
    found = Taken(crop, markets[0])

    def opens(market: date) -> date:
        """Return the first market of the start that a market is served by."""
        return market - (market - planned.earliest[crop]).days // 7 % of.every * WEEK

    first = planned.earliest[crop]
    if opens(markets[0]) < first:
        days = least_days(farm, crop) if of.every == 1 else lead_days(farm, crop)
        found.since = min(today, opens(markets[0]) - (days - 1) * DAY)
        if markets[0] in [market_in(farm, week) for week in weeks(farm)]:
            asked = wanted(farm, crop, markets[0])
            found.coming = asked - planned.missing[crop, markets[0]], asked
    in_time = [market for market in markets if opens(market) >= first]
    if not in_time:
        return found
    found.ready = in_time[0]
    served = opens(found.ready)
    found.start = max(today, served - lead_days(farm, crop) * DAY)
    others = [row for at, row in enumerate(farm.rows["orders"]) if at != number]
    without = plan(replace(farm, rows=farm.rows | {"orders": others}))
    pairs = [
        (one, other)
        for one, other in zip(planned.starts, without.starts, strict=True)
        if one.crop == crop
    ]
    assert all(one.blocks == other.blocks for one, other in pairs if one.market < served)
    here = [(one, other) for one, other in pairs if one.market == served]
    found.is_planned = bool(here)
    if here:
        ((one, other),) = here
        found.more = one.blocks - other.blocks
    else:
        amount = order["packs"] / product["sold_share"]
        amount *= fresh_in_pack(farm, product) if crop[2] else 1
        good = amount / flushes_of_block(farm, crop)[0][1]
        loss = farm.row("strains", "strain", crop[0])["loss_rate"]
        found.more = in_steps(of, blocks_for(farm, good, loss))
    return found


def joined(farm: Farm, begun: list[Start]) -> dict[tuple[str, date], float]:
    """Return the mass of the mixes of some starts, by recipe and day."""
    found: dict[tuple[str, date], float] = defaultdict(float)
    for one in begun:
        if one.blocks:
            mass = one.blocks * farm.one["block_mass"] + farm.one["lost_mass"]
            found[one.crop[1], one.day] += mass
    return found


def loads(farm: Farm, begun: list[Start], week: date) -> dict[str, float]:
    """Return what each station has to do for the starts of a week, but for the rooms."""
    one, mixer, steamed = farm.one, 0, defaultdict(int)
    for (recipe, _), mass in joined(farm, begun).items():
        mixer += ceil(mass / full_mixer(farm, farm.row("recipes", "recipe", recipe)) - NOISE)
    for each in begun:
        steamed[each.day] += each.blocks
    blocks = sum(each.blocks for each in begun)
    steamer = sum(ceil(count / one["blocks_per_load"]) for count in steamed.values())
    of_block = one["filling_minutes"] + one["inoculating_minutes"] + one["moving_minutes"]
    minutes = mixer * one["mixing_minutes"] + steamer * one["steaming_minutes"] + blocks * of_block
    for product in farm.rows["products"]:
        minutes += packs_made(farm, product, week) * pack_minutes(farm, product)
    return {
        "Mixer": mixer / one["mixer_loads_per_week"],
        "Steamer": steamer / one["steam_loads_per_week"],
        "Bench": blocks * one["inoculating_minutes"] / 60 / one["bench_hours_per_week"],
        "Labor": minutes / 60 / one["labor_hours_per_week"],
    }


def purchases(farm: Farm, begun: list[Start]) -> dict[str, float]:
    """Return the mass of each ingredient for some starts."""
    bought = {item["ingredient"]: 0.0 for item in farm.rows["ingredients"]}
    for (name, _), wet in joined(farm, begun).items():
        recipe = farm.row("recipes", "recipe", name)
        for item, share in mix(farm, recipe):
            bought[item["ingredient"]] += share * as_it_lies(farm, recipe, wet)
    return bought


def spawn(farm: Farm, begun: list[Start], strain: str) -> float:
    """Return the spawn of a strain for some starts."""
    rate = farm.row("strains", "strain", strain)["spawn_rate"]
    blocks = sum(one.blocks for one in begun if one.crop[0] == strain)
    return blocks * farm.one["block_mass"] * rate
