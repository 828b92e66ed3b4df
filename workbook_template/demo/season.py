"""A made-up season of the invented farm: batches, harvests, losses, spawn, steam, up to its date.

Drawn at random around what the farm's strains are expected to do, from one seed, so that every
demo workbook tells the same story: an ordinary spring, a July with green mold, batches in every
state today. Quantities are texts in the units that they are said in, as in the CSV files.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from datetime import date, timedelta
from importlib.resources import files
from random import Random

from cultivar_fx.stages.core import core_temperature
from workbook_template.demo.purchases import purchases
from workbook_template.demo.sales import sales

Rows = list[dict[str, str]]

AS_OF = date(2026, 9, 14)
_WEEKS = 28
_SEED = 20261001
_BAD_MONTH = 7

_ROTATION = (
    "Blue oyster B3",
    "Chestnut C2",
    "Lion's mane H1",
    "Blue oyster B3",
    "King oyster K5",
    "Lion's mane H1",
    "Blue oyster B3",
    "Lion's mane H1",
)
_RECIPES = {
    "Blue oyster B3": ("Beech and bran", "Beech and bran", "Beech and cotton"),
    "Lion's mane H1": ("Beech and bran",),
    "Chestnut C2": ("Maple and bran", "Beech and bran"),
    "King oyster K5": ("Beech and bran", "Maple and bran"),
}
_REAL_SHARE = {
    "Blue oyster B3": 1.04,
    "Lion's mane H1": 0.91,
    "Chestnut C2": 0.97,
    "King oyster K5": 0.93,
}
"""What each strain really yields, over what the Strains sheet expects of it."""
_RECIPE_SHARE = {"Beech and bran": 1.0, "Beech and cotton": 0.82, "Maple and bran": 0.9}
_BLOCK_COST = {
    "Blue oyster B3": 6.10,
    "Lion's mane H1": 6.38,
    "Chestnut C2": 6.40,
    "King oyster K5": 6.45,
}
"""What a block cost in dollars, spawn included, by the farm's own sums of the time."""
_RAISE = date(2026, 6, 1)
_RAISED_BY = 0.13  # dollars a block
_PICKING_COST = ("0.60 per lb", "0.63 per lb")
"""Before and after the wage was raised."""
_CAUSES = ("green mold", "green mold", "bacteria", "no growth", "torn bag", "other")
_ALSO_CALLED = {"bacteria": ("bacteria", "wet spot"), "other": ("other", "cobweb")}
"""What is told apart by a draw of its own, so that the season stays as it was."""
_SEEN = {
    "green mold": ("top", "filter", "around the spawn", ""),
    "bacteria": ("around the spawn", "bottom", ""),
    "wet spot": ("around the spawn", "around the spawn", "bottom"),
    "cobweb": ("top", "top", ""),
    "no growth": ("all over", "all over", "bottom"),
    "torn bag": ("side", "bottom", ""),
    "other": ("", ""),
}
"""Where on a block a loss is seen first; often nobody notes it."""
_MUCH_GREEN = 0.75
_BAG = 6.0  # lb
_SPAWN_BAG = 4.0  # lb
_SPAWN_KEEPS = 75  # days

_METER_FROM = date(2026, 7, 20)
"""The day from which the steamer of the invented farm has meters."""
_TIMED_FROM = date(2026, 8, 1)
"""The day from which it times its picking."""

_ROOMS = {
    "incubation": ("Incubation room", "Incubation room", ""),
    "fruiting": ("Fruiting room 1", "Fruiting room 2", "Fruiting room 2", ""),
}
"""What a batch may say; where it says nothing, it stands in the first room with space."""

_START, _STEAM = 62.0, 210.5  # °F, before the run and at the altitude of the farm
_HEATING_HOURS = 4.0
_LOGGED_HOURS = 23
_LOGGED_BLOCK = (13.3, 14.6, 22.9)  # cm


@dataclass
class _Lot:
    row: dict[str, str]
    use_by: date
    left: float


@dataclass
class _Season:
    """The tables so far, and the chance that fills them."""

    chance: Random = field(default_factory=lambda: Random(_SEED))
    tables: dict[str, Rows] = field(
        default_factory=lambda: {
            key: [] for key in ("spawn_lots", "steam_runs", "batches", "losses", "harvests")
        }
    )
    lots: dict[str, _Lot] = field(default_factory=dict)

    def days(self, mean: float, spread: float, least: int) -> timedelta:
        """Draw a number of days around a mean."""
        return timedelta(max(least, round(self.chance.gauss(mean, spread))))


def season_tables() -> dict[str, Rows]:
    """Make the rows of the logs."""
    season = _Season()
    strains, recipes = _by_name("strains", "strain"), _by_name("recipes", "recipe")
    first = AS_OF - timedelta(weeks=_WEEKS)
    for number in range(2 * _WEEKS):
        week, second = divmod(number, 2)
        made = first + timedelta(7 * week + (4 if second else 1))
        strain = strains[_ROTATION[number % len(_ROTATION)]]
        recipe = recipes[season.chance.choice(_RECIPES[strain["strain"]])]
        _start_batch(season, f"B{101 + number}", made, strain, recipe)
    for key in ("harvests", "losses"):
        season.tables[key].sort(key=lambda row: (row["date"], row["batch"]))
    _discard_old_spawn(season)
    bought = purchases(
        season.tables["batches"], *map(_rows, ("ingredients", "recipes", "recipe_lines"))
    )
    sold = sales(season.tables["harvests"], season.tables["batches"], AS_OF)
    return {**season.tables, **bought, "sales": sold, "steam_log": _steam_log(season)}


def _rows(name: str) -> Rows:
    with (files("workbook_template.demo") / "farm" / f"{name}.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _by_name(name: str, key: str) -> dict[str, dict[str, str]]:
    return {row[key]: row for row in _rows(name)}


def _share(text: str) -> float:
    return float(text.rstrip("%")) / 100


def _start_batch(
    season: _Season, name: str, made: date, strain: dict[str, str], recipe: dict[str, str]
) -> None:
    chance = season.chance
    bags = chance.randint(64, 88)
    weighed = chance.choice((0.0, 0.0, 0.0, 5.9, 6.1))
    moisture = _share(recipe["target_moisture"]) + chance.gauss(0, 0.006)
    measured = chance.random() < 0.4
    batch = {
        "batch": name,
        "made": made.isoformat(),
        "recipe": recipe["recipe"],
        "strain": strain["strain"],
        "bags": str(bags),
        "block_mass": f"{weighed} lb" if weighed else "",
        "moisture": f"{moisture:.1%}" if measured else "",
        "spawn_lot": _spawn(season, strain, bags * (weighed or _BAG), made),
        "steam_run": _steam(season, name, made, bags),
    }
    batch |= _made_with(batch, strain, recipe) | _room("incubation", name)
    season.tables["batches"].append(batch)
    good = bags - _lose(season, name, made, bags, strain)
    due = round(float(strain["incubation_days"]))
    moved = made + timedelta(due) + season.days(0.3, 1.3, -2)
    if moved > AS_OF:
        return
    batch |= {"moved": moved.isoformat()} | _room("fruiting", name)
    dry = good * (weighed or _BAG) * (1 - moisture)
    last = _pick(season, name, moved, dry, strain, recipe)
    ended = last + season.days(1.5, 0.8, 1)
    if ended <= AS_OF:
        batch["ended"] = ended.isoformat()
        batch["picking_cost"] = _PICKING_COST[moved >= _RAISE]
    if good < _MUCH_GREEN * bags:
        batch["note"] = "Much green mold"


def _made_with(
    batch: dict[str, str], strain: dict[str, str], recipe: dict[str, str]
) -> dict[str, str]:
    """Keep with a batch what it was made with."""
    is_raised = date.fromisoformat(batch["made"]) >= _RAISE
    return {
        "block_mass": batch["block_mass"] or f"{_BAG} lb",
        "moisture": batch["moisture"] or recipe["target_moisture"],
        "spawn_rate": strain["spawn_rate"],
        "block_cost": f"{_BLOCK_COST[strain['strain']] + _RAISED_BY * is_raised:.2f}",
    }


def _room(stage: str, batch: str) -> dict[str, str]:
    """Say of some batches in which room they stand; of the others nobody noted it."""
    return {f"{stage}_room": Random(f"{stage} {batch}").choice(_ROOMS[stage])}


def _spawn(season: _Season, strain: dict[str, str], substrate: float, made: date) -> str:
    """Take the spawn of a batch from the strain's open lot, or from a new one."""
    name = strain["strain"]
    needed = substrate * _share(strain["spawn_rate"])
    lot = season.lots.get(name)
    if lot is None or lot.left < needed or lot.use_by < made:
        lot = season.lots[name] = _new_lot(season, name, needed, made)
    lot.left -= needed
    return lot.row["lot"]


def _new_lot(season: _Season, strain: str, needed: float, made: date) -> _Lot:
    batches = season.chance.randint(2, 4) if strain[0] in "BL" else season.chance.randint(1, 2)
    bags = int(needed * batches * 1.08 / _SPAWN_BAG) + 1
    received = made - timedelta(season.chance.randint(2, 6))
    use_by = received + timedelta(_SPAWN_KEEPS)
    row = {
        "lot": f"{strain.split()[-1]}-{len(season.tables['spawn_lots']) + 11}",
        "strain": strain,
        "received": received.isoformat(),
        "use_by": use_by.isoformat(),
        "mass": f"{bags * _SPAWN_BAG:g} lb",
        "cost": f"{bags * season.chance.choice((9.9, 10.2, 10.6)):.2f}",
    }
    season.tables["spawn_lots"].append(row)
    return _Lot(row, use_by, bags * _SPAWN_BAG)


def _discard_old_spawn(season: _Season) -> None:
    """Throw out what is left of every lot past its use-by but the youngest one of these."""
    left = {row["lot"]: _pounds(row["mass"]) for row in season.tables["spawn_lots"]}
    strains = _by_name("strains", "strain")
    for batch in season.tables["batches"]:
        block = _pounds(batch["block_mass"]) if batch["block_mass"] else _BAG
        rate = _share(strains[batch["strain"]]["spawn_rate"])
        left[batch["spawn_lot"]] -= int(batch["bags"]) * block * rate
    old = [row for row in season.tables["spawn_lots"] if date.fromisoformat(row["use_by"]) < AS_OF]
    for row in old[:-1]:
        row["discarded"] = f"{max(0.0, left[row['lot']]):.1f} lb"


def _pounds(text: str) -> float:
    return float(text.removesuffix(" lb"))


def _steam(season: _Season, batch: str, made: date, bags: int) -> str:
    run = "S" + batch[1:]
    torn = season.chance.choice((0, 0, 0, 1, 1, 2))
    row = {
        "run": run,
        "date": (made - timedelta(1)).isoformat(),
        "blocks": str(bags + torn),
        "hold_hours": season.chance.choice(("13", "13", "13", "14", "15")),
    }
    if made >= _METER_FROM:
        meter = Random(f"meter {run}")
        energy = (bags + torn) * 0.34 + float(row["hold_hours"]) * meter.uniform(4.9, 5.6) + 9
        row["energy_metered"] = f"{energy:.0f}"
        row["water_metered"] = f"{energy * meter.uniform(0.3, 0.335):.1f} gal"
    if torn:
        row["note"] = "A bag tore" if torn == 1 else "Bags tore"
    season.tables["steam_runs"].append(row)
    return run


def _lose(season: _Season, batch: str, made: date, bags: int, strain: dict[str, str]) -> int:
    """Lose blocks one by one, most of them while they incubate; July is bad."""
    chance = season.chance
    bad = made.month == _BAD_MONTH
    rate = _share(strain["loss_rate"]) * (0.7 + 0.6 * chance.random()) * (4.0 if bad else 1.0)
    looks = [
        (made + timedelta(days), "green mold" if bad and days < 12 else chance.choice(_CAUSES))
        for days in (chance.randint(6, 9), chance.randint(12, 15))
    ]
    lost: dict[tuple[date, str], int] = {}
    for _ in range(bags):
        look = chance.choice(looks)
        if chance.random() < rate and look[0] <= AS_OF:
            lost[look] = lost.get(look, 0) + 1
    for (day, cause), blocks in lost.items():
        seen = Random(f"seen {batch} {day}")
        row = {"batch": batch, "date": day.isoformat(), "blocks": str(blocks)}
        row["cause"] = seen.choice(_ALSO_CALLED.get(cause, (cause,)))
        row["seen"] = seen.choice(_SEEN[row["cause"]])
        season.tables["losses"].append(row)
    return sum(lost.values())


def _pick(
    season: _Season,
    batch: str,
    moved: date,
    dry: float,
    strain: dict[str, str],
    recipe: dict[str, str],
) -> date:
    """Pick the flushes of a batch that are ripe by now; give the day of the last one to come."""
    chance = season.chance
    luck = chance.gauss(1, 0.07) * _REAL_SHARE[strain["strain"]] * _RECIPE_SHARE[recipe["recipe"]]
    ripe = moved + season.days(float(strain["first_flush_days"]), 1.2, 3)
    last = ripe
    for flush in range(1, int(strain["flushes"]) + 1):
        fresh = dry * _share(strain[f"be_{flush}"]) * luck * chance.gauss(1, 0.09)
        first_share = chance.choice((1.0, 0.62, 0.7))
        for share, day in ((first_share, ripe), (1 - first_share, ripe + timedelta(1))):
            if share > 0:
                last = day
                _harvest(season, batch, day, flush, fresh * share)
        ripe += season.days(float(strain["flush_interval_days"] or 0), 1.4, 5)
    return last


def _harvest(season: _Season, batch: str, day: date, flush: int, fresh: float) -> None:
    unsold = fresh * season.chance.choice((0.0, 0.0, 0.03, 0.06, 0.1))
    if day > AS_OF:
        return
    row = {"batch": batch, "date": day.isoformat(), "flush": str(flush)}
    row["fresh"] = f"{fresh:.1f} lb"
    row["unsold"] = f"{unsold:.1f} lb" if unsold else ""
    if day >= _TIMED_FROM:
        clock = Random(f"clock {batch} {day}")
        row["minutes"] = f"{fresh * clock.uniform(1.3, 2.0) + 6:.0f}"
    season.tables["harvests"].append(row)


def _steam_log(season: _Season) -> Rows:
    """Read a probe in the chamber and one in a block, every half hour of one run.

    The chamber nears the steam's temperature while the blocks take the heat up; each of its steps
    reaches the core as conduction in a brick says.
    """
    steps = 2 * _LOGGED_HOURS + 1
    chamber = [
        min(_STEAM, _START + (_STEAM - _START) * (step / 2 / _HEATING_HOURS) ** 0.6)
        for step in range(steps)
    ]
    log = []
    for step in range(steps):
        core = _START + sum(
            (chamber[at] - chamber[at - 1])
            * core_temperature((step - at) / 2, *_LOGGED_BLOCK, 0.0, 1.0)
            for at in range(1, step + 1)
        )
        log.append(
            {
                "hours": f"{step / 2:g} h",
                "chamber": f"{round(chamber[step] + season.chance.gauss(0, 0.4))} degF",
                "core": f"{round(core + season.chance.gauss(0, 0.2))} degF",
            }
        )
    return log
