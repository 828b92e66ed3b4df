"""The Quote sheet against the model of the farm (farm_model), and against a sum done by hand.

What a price has to cover: contribution pricing as management accounting teaches it (from memory):
what is spent only because of the pack, below which a sale leaves the farm with less; and what a
scarce station would earn otherwise, here by linear programs that scipy solves (Dantzig 1963).
"""

from __future__ import annotations

import re
from datetime import date, timedelta
from math import ceil
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

import farm_model as model
import numpy as np
import pytest
from farm_book import change_at_random, recalculated
from openpyxl import load_workbook
from reading import place, red_where, table
from scipy.optimize import linprog
from workbooks import made

from workbook_template.build import build
from workbook_template.demo.data import demo_entries
from workbook_template.schema import SINGLE_INPUTS
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from farm_model import Farm
    from office import Document, Office

    from workbook_template.writing.layout import Entries

CENT = 0.005
POUND, OUNCE = 0.45359237, 0.028349523125
"""kg, exact by definition (NIST SP 811)."""
CHANGED = (
    *("strain", "recipe", "form", "pack_mass", "price", "pack_cost", "packing_minutes"),
    *("fees", "delivery", "sold_share"),
)
TYPED = ("product", "counts"), (*CHANGED, "packs", "weekly_mass")
"""The inputs of the sheet, those below each other together."""
ON_TOP, INSTEAD = "on top of today's", "instead of today's"
CAPACITIES = {
    "mixer": "mixer_loads_per_week",
    "steamer": "steam_loads_per_week",
    "bench": "bench_hours_per_week",
    "labor": "labor_hours_per_week",
}
SECTIONS = ("From the block to the pack", "Cost of a pack", "Price", "A week")
SEEDS = (11, 12, 13)
WHAT_IFS = 12
"""For each seed and unit system."""


_US = {"pack_mass": OUNCE, "weekly_mass": POUND}


class Quoted(NamedTuple):
    """What the sheet shows: the figures of both columns in metric units, and the words."""

    what_if: dict[str, Any]
    today: dict[str, Any]
    ask: str
    words: str
    besides: str
    calendar: str


def _metric(value: Any, unit: str) -> Any:
    if not isinstance(value, (int, float)):
        return None if value in (None, "") else value
    return value * {"lb": POUND, "oz/pack": OUNCE, "$/lb": 1 / POUND}.get(unit, 1)


def quoted(rows: list[list[Any]]) -> Quoted:
    """Read the sheet from its rows of values."""
    found = Quoted({}, {}, *(str(rows[row][0] or "") for row in range(5, 9)))
    title = ""
    for row in rows:
        if row[0] and (row[1] == "What if" or row[0] == "How to read it"):
            title = row[0]
        elif row[0] and title in SECTIONS and len(row) > 4:
            assert row[2] == row[4]
            found.what_if[row[0]] = _metric(row[1], row[2])
            found.today[row[0]] = _metric(row[3], row[4])
    return found


class Sheet:
    """The Quote sheet of an open demo: type a what-if, read what comes of it."""

    def __init__(self, document: Document, units: str) -> None:
        self.document, self.units = document, units
        values = made(units, "demo").values
        self._first = [place(values, f"quote_{keys[0]}") for keys in TYPED]

    def ask(self, counts: str = ON_TOP, **typed: Any) -> Quoted:
        """Type a what-if, in metric units, over the one of before."""
        typed["counts"] = counts
        if self.units == "us":
            typed |= {key: typed[key] / unit for key, unit in _US.items() if key in typed}
        for at, keys in zip(self._first, TYPED):
            self.document.write(*at, [[typed.get(key)] for key in keys])
        return quoted(self.document.values("Quote")["Quote"])


# The model


def _worth_of_station(farm: Farm) -> tuple[str, float]:
    """Return the fullest station of a usual week, and what one more of it would bring."""
    lines = farm.rows["products"]
    gains = np.array([model.pack_contribution(farm, one) for one in lines])
    packs = np.array([one["packs_per_week"] for one in lines]) * (gains >= 0)
    uses = {
        name: np.array([model.stations_of_pack(farm, one)[name] for one in lines])
        for name in model.stations_of_pack(farm, lines[0])
    }
    capacity = {name: farm.one[key] for name, key in CAPACITIES.items()} | {
        room: model.places(farm, room) for room in ("incubation", "fruiting")
    }
    shares = {name: uses[name] @ packs / capacity[name] for name in uses}
    fullest = max(shares, key=shares.__getitem__)

    def most(limit: float) -> float:
        bounds = [(0, most) for most in packs]
        found = linprog(-gains, A_ub=[uses[fullest]], b_ub=[limit], bounds=bounds)
        return -float(found.fun)

    return fullest, most(capacity[fullest] + 1) - most(capacity[fullest])


class Asked(NamedTuple):
    """A farm whose Quote sheet is open."""

    sheet: Sheet
    farm: Farm
    short: tuple[str, float]
    """The fullest station, and what one more of it would bring."""
    seed: int = 0


def figures(
    asked: Asked, line: dict[str, Any], packs: float, spaces_today: float
) -> dict[str, Any]:
    """Return every figure of a column; ``spaces_today`` are those that it has anyway."""
    farm, (station, worth) = asked.farm, asked.short
    strain, is_dried = farm.strain(line), line["form"] == "dried"
    started = sum(model.block_steps(farm, line).values())
    good, blocks = model.good_block(farm, line), model.blocks_in_pack(farm, line)
    fresh, fruited = model.fresh_in_pack(farm, line), model.fruited(line)
    drying = farm.one["drying_energy"] * farm.one["electricity_price"]
    drying += farm.work(farm.one["drying_minutes"])
    parts = {
        "Grown": good * blocks,
        "Picked": farm.work(fresh * strain["picking_minutes"]),
        "Dried": fresh * drying if is_dried else 0.0,
        "Empty pack": line["pack_cost"],
        "Packed": farm.work(line["packing_minutes"]),
    }
    made_cost = sum(parts.values())
    cost, net = model.pack_cost(farm, line), model.net_price(line)
    contribution = model.pack_contribution(farm, line)
    fees = 1 - line["fees"]
    lowest = (cost - model.fixed_share(farm, line)) / fees
    elsewhere = worth * model.stations_of_pack(farm, line)[station]
    good_blocks = packs * blocks / line["sold_share"]
    starts = model.blocks_for(farm, good_blocks, strain["loss_rate"])
    days = model.fruiting_days(farm, strain)
    spaces = starts * (1 - strain["loss_rate"]) * days / 7 if fruited else 0.0
    free = model.places(farm, "fruiting") - model.usual_spaces(farm)["fruiting"]
    of_mass = line["pack_mass"] if fruited else None
    return {
        "A block started": started,
        "Blocks lost": strain["loss_rate"],
        "Cost of lost blocks": good - started,
        "A good block": good,
        "Harvest of a good block": model.block_harvest(farm, line) if fruited else None,
        "Good blocks in a pack": blocks,
        **parts,
        "Unsold packs": made_cost / line["sold_share"] - made_cost,
        "Delivery of a pack": line["delivery"],
        "Cost of a pack sold": cost,
        "Price after fees": net,
        "Margin of a pack": net - cost,
        "Margin, share of price": 1 - cost / net,
        "Contribution of a pack": contribution,
        "Lowest price that contributes": lowest,
        "Lowest price while a station is full": lowest + elsewhere / fees,
        "Break-even price": cost / fees,
        "Price for the target margin": cost / (1 - farm.one["wanted_margin"]) / fees,
        "Price by mass": line["price"] / of_mass if of_mass else None,
        "Lowest price by mass": lowest / of_mass if of_mass else None,
        "Shelf space earns a week": contribution * line["sold_share"] / blocks / (days / 7)
        if fruited
        else None,
        "Packs sold": packs,
        "Good blocks needed": good_blocks,
        "Blocks to start": starts,
        "Shelf spaces taken": spaces,
        "On top of the usual week": spaces - spaces_today,
        "Free in the usual week": max(0.0, free),
        "Contribution a week": contribution * packs,
    }


def assert_shown(shown: dict[str, Any], expected: dict[str, Any]) -> None:
    assert shown.keys() == expected.keys()
    for label, value in expected.items():
        off = CENT / 2 * (max(1, expected["Packs sold"]) if label == "Contribution a week" else 1)
        if "by mass" in label:  # a cent of the pack
            off *= max(1.0, value / expected["Lowest price that contributes"]) if value else 1
        assert shown[label] == (
            pytest.approx(value, rel=1e-4, abs=off) if value is not None else None
        ), label


def what_if(random: Random, farm: Farm) -> dict[str, Any]:
    """Draw a product line and what is typed beside it, in metric units."""
    line = random.choice(farm.rows["products"])
    drawn: dict[str, Any] = {
        "strain": random.choice(farm.rows["strains"])["strain"],
        "recipe": random.choice(farm.rows["recipes"])["recipe"],
        "form": random.choice(("fresh", "dried", "block")),
        "pack_mass": random.uniform(0.05, 4),
        "price": random.uniform(1, 60),
        "pack_cost": random.choice((0.0, random.uniform(0, 3))),
        "packing_minutes": random.uniform(0, 6),
        "fees": random.choice((0.0, random.uniform(0.01, 0.4))),
        "delivery": random.uniform(0, 3),
        "sold_share": random.uniform(0.3, 1),
    }
    typed = {key: drawn[key] for key in random.sample(CHANGED, random.randint(1, 6))}
    if typed.get("form", line["form"]) != "block" and line["pack_mass"] is None:
        typed["pack_mass"] = drawn["pack_mass"]
    volume = random.choice(("packs", "weekly_mass", ""))
    if volume == "packs" or (volume and typed.get("form", line["form"]) == "block"):
        typed["packs"] = random.choice((0, random.randint(1, 300)))
    elif volume:
        typed["weekly_mass"] = random.uniform(1, 60)
    return {"product": line["product"], **typed, "counts": random.choice((ON_TOP, INSTEAD))}


def modeled(asked: Asked, typed: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the figures of what is typed and of today."""
    line = asked.farm.row("products", "product", typed["product"])
    new = line | {key: typed[key] for key in CHANGED if key in typed}
    packs = today_packs = line["packs_per_week"]
    if "packs" in typed:
        packs = typed["packs"]
    elif "weekly_mass" in typed:
        packs = ceil(typed["weekly_mass"] / new["pack_mass"] - 1e-6)
    taken = figures(asked, line, today_packs, 0)["Shelf spaces taken"]
    is_more = typed["counts"] == ON_TOP and not {"packs", "weekly_mass"}.isdisjoint(typed)
    expected = figures(asked, new, packs, 0 if is_more else taken)
    return expected, figures(asked, line, today_packs, taken)


# Held against the model


@pytest.fixture(scope="module", params=["us", "metric"])
def units(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module", params=SEEDS)
def opened(request: pytest.FixtureRequest, units: str, office: Office) -> Iterator[Asked]:
    """A farm with twenty inputs changed; of the second seed labor is short."""
    with office.kept(made(units, "demo").path) as document:
        change_at_random(document, units, request.param)
        if request.param == SEEDS[-1]:
            at = place(made(units, "demo").values, "labor_hours_per_week")
            document.write(at.sheet, at.row, at.column, [[16]])
        farm = recalculated(document, units).farm
        yield Asked(Sheet(document, units), farm, _worth_of_station(farm), request.param)


def test_every_figure_of_both_columns(opened: Asked) -> None:
    sheet, farm, _, seed = opened
    random = Random(seed)
    for _ in range(WHAT_IFS):
        typed = what_if(random, farm)
        shown, (expected, today) = sheet.ask(**typed), modeled(opened, typed)
        assert_shown(shown.today, today)
        assert_shown(shown.what_if, expected)


def test_nothing_typed_is_as_today_and_as_costing(opened: Asked) -> None:
    sheet, farm, *_ = opened
    costing = sheet.document.values("Costing")["Costing"]
    first = next(
        row
        for row, line in enumerate(costing)
        if line[0] == "Product line" and "Break" in str(line[7])
    )
    listed = {line[0]: dict(zip(costing[first], line)) for line in costing[first + 1 : first + 13]}
    for line in farm.rows["products"]:
        for counts in (ON_TOP, INSTEAD):
            shown = sheet.ask(counts, product=line["product"])
            assert shown.what_if == shown.today
        same = {
            "Cost of a pack sold": "Cost of a pack sold, $",
            "Price after fees": "Price after fees, $",
            "Margin of a pack": "Margin of a pack, $",
            "Lowest price that contributes": "Lowest price that contributes, $",
            "Break-even price": "Break-even price, $",
            "Price for the target margin": "Price for target margin, $",
            "Shelf space earns a week": "Shelf space earns a week, $",
        }
        for label, heading in same.items():
            of_costing = listed[line["product"]][heading]
            wanted = pytest.approx(of_costing, rel=1e-12) if of_costing else None
            assert shown.today[label] == wanted, label


def _than_today(spaces: float, added: float) -> str:
    if abs(spaces - added) < 1e-6:
        return ""
    if abs(added) < 1e-6:
        return ", as today"
    more, fewer = ceil(added - 1e-6), int(-added + 1e-6)
    return f", {more} more than today" if added > 0 else f", {fewer} fewer than today"


def test_the_answer_says_what_the_column_shows(opened: Asked) -> None:
    sheet, farm, _, seed = opened
    random, said = Random(seed), set()
    for _ in range(WHAT_IFS):
        typed = what_if(random, farm)
        shown = sheet.ask(**typed)
        price = typed.get("price", farm.row("products", "product", typed["product"])["price"])
        column = shown.what_if
        weekly, fits = column["Contribution a week"], column["Free in the usual week"]
        verb = "loses" if weekly < 0 else "leaves"
        wanted = ceil(column["Price for the target margin"] * 100 - 1e-4) / 100
        mass = OUNCE * 16 if sheet.units == "us" else 1
        unit = "lb" if sheet.units == "us" else "kg"
        margin = f"{farm.one['wanted_margin'] * 100:.1f}".removesuffix(".0")
        ask = f"For your target margin of {margin}%, ask ${wanted:,.2f} a pack or more"
        if column["Price by mass"]:
            by_mass = column["Price for the target margin"] / price * column["Price by mass"]
            ask += f" (${ceil(by_mass * mass * 100 - 1e-4) / 100:,.2f} a {unit})"
        usual = farm.row("products", "product", typed["product"])["price"]
        assert shown.ask == f"{ask}; today it is ${usual:,.2f}."
        lowest = ceil(column["Lowest price that contributes"] * 100 - 1e-4) / 100
        expected = f"At ${price:,.2f} a pack this {verb} ${abs(weekly):,.2f} a week "
        expected += "before room energy, equipment and overhead. "
        covered = ceil(column["Break-even price"] * 100 - 1e-4) / 100
        expected += f"All its costs are covered from ${covered:,.2f} on; "
        expected += f"do not go below ${lowest:,.2f}."
        if column["Packs sold"]:
            assert shown.words.startswith(expected)
        spaces, short = column["Shelf spaces taken"], column["On top of the usual week"] - fits
        if not column["Packs sold"]:
            assert "Type packs or mass a week" in shown.words
        elif column["Harvest of a good block"] is None:
            assert shown.words.endswith("It takes no shelf space in fruiting.")
        else:
            room = f"It takes {ceil(spaces - 1e-6)} of the shelf spaces in fruiting"
            room += _than_today(spaces, column["On top of the usual week"])
            room += f"; free in a usual week: {int(fits + 1e-6)}."
            room += f" That is {ceil(short - 1e-6)} too few." if short > 1e-6 else ""
            assert shown.words.endswith(room)
            said.add("too few" in room)
        is_full = column["Lowest price while a station is full"] > (
            column["Lowest price that contributes"] + 1e-6
        )
        assert bool(shown.besides) is is_full
        assert ("The bottleneck is labor" in shown.besides) is is_full
        assert is_full is (seed == SEEDS[-1])
    assert said


def _free_by_week(document: Document) -> dict[date, float]:
    """Return the spaces free in fruiting in each week, which ``test_occupancy`` proves."""
    rows = document.values("Rooms workings")["Rooms workings"]
    heading, monday = "Spaces free in fruiting, fullest day", "Week of, yyyy-mm-dd"
    head = next(number for number, row in enumerate(rows) if heading in row)
    at, week = rows[head].index(heading), rows[head].index(monday)
    first = date(1899, 12, 30)
    return {first + timedelta(row[week]): row[at] for row in rows[head + 1 : head + 13]}


def test_the_calendar(opened: Asked) -> None:
    """The first market day that a start of today is ready for, and the room in fruiting then."""
    sheet, farm, _, seed = opened
    random, said = Random(seed), set()
    free, today = _free_by_week(sheet.document), farm.one["as_of"]
    for _ in range(WHAT_IFS):
        typed = what_if(random, farm)
        shown = sheet.ask(**typed)
        line = farm.row("products", "product", typed["product"]) | typed
        crop = (line["strain"], line["recipe"], line["form"] != "block")
        ready = today + timedelta(model.least_days(farm, crop))
        market = model.market_of(farm, ready + timedelta(6))
        assert shown.calendar.startswith(
            f"By the calendar: started today, it can first be sold on {market}."
        )
        moved = today + timedelta(farm.strain(line)["incubation_days"])
        weeks = {monday: one for monday, one in free.items() if monday + timedelta(7) > moved}
        added = shown.what_if["On top of the usual week"] or 0.0
        if not crop[2] or not weeks or not shown.what_if["Packs sold"]:
            assert shown.calendar.endswith(f"{market}.")
            continue
        least = min(weeks.values())
        fullest = next(monday for monday, one in weeks.items() if one == least)
        lacking = ceil(added - max(0.0, least) - 1e-6)
        room = f"Fruiting lacks {lacking} spaces for it" if lacking > 0 else "There is room"
        assert room in shown.calendar
        assert shown.calendar.endswith(
            f"{max(0, int(least + 1e-6))} are free on the fullest day, in the week of {fullest}."
        )
        said.add(lacking > 0)
    assert said


# By hand

_SINGLES: dict[str, Any] = {
    "hourly_wage": 12, "burden": 0, "electricity_price": 0, "block_mass": 2.5, "lost_mass": 0,
    "bag_price": 0.5, "spawn_price": 5, "mixing_minutes": 0, "steaming_minutes": 0,
    "filling_minutes": 1, "inoculating_minutes": 1, "moving_minutes": 1, "turnover_days": 1,
    "blocks_per_year": 1000, "rent": 500, "insurance": 0, "vehicle": 0, "other_overhead": 0,
    "wanted_margin": 0.4, "figures_used": "plan only", "start_confidence": 0.5,
    "quote_product": "Box", "quote_price": 6, "quote_delivery": None,
    "quote_weekly_mass": 4.9, "cost_product": "Box",
}  # fmt: skip
_LINE: dict[str, Any] = {
    "product": "Box", "strain": "Blue oyster B3", "recipe": "Beech and bran", "form": "fresh",
    "pack_mass": 0.25, "price": 5, "pack_cost": 0.3, "packing_minutes": 1.5, "fees": 0.1,
    "delivery": 0.2, "sold_share": 0.8, "packs_per_week": 40,
}  # fmt: skip
_STRAIN: dict[str, Any] = {
    "spawn_rate": 0.04, "loss_rate": 0.2, "incubation_days": 21, "first_flush_days": 12,
    "flush_interval_days": 15, "flushes": 2, "be_1": 0.6, "be_2": 0.4, "picking_minutes": 4,
}  # fmt: skip


def _round_farm() -> Entries:
    """One product line in round figures: no energy to pay, nothing left in the mixer."""
    entries = demo_entries("metric")
    entries.singles |= _SINGLES
    tables = entries.tables
    logged = ("batches", "harvests", "losses", "spawn_lots", "steam_runs", "steam_log")
    for key in (*logged, "orders", "unusual_weeks", "rhythms", "trial_batches", "trial_yields"):
        tables[key] = []
    for key in ("mix_recipe", "mix_strain", "label_batch", "logged_run", "trace_spawn_lot"):
        entries.singles[key] = None
    tables["equipment"] = [{"item": "Mixer", "price": 1000, "salvage": 0, "life": 2}]
    for row in tables["ingredients"]:
        row |= {"bag_price": None, "bag_mass": None, "price": 0.4, "moisture": 0.2}
    for row in tables["recipes"]:
        row["target_moisture"] = 0.6
    for row in tables["strains"]:
        row |= _STRAIN
    tables["products"] = [_LINE]
    return entries


def test_a_box_worked_out_by_hand(tmp_path: Path) -> None:
    """An enterprise budget of one box, a step a line.

    A block: 2.5 kg wet at 60 % is 1 kg dry, from 1.25 kg of ingredients at 20 %, $0.50; a bag
    $0.50; 0.1 kg of spawn $0.50; three minutes at $0.20 are $0.60; a mixer of $1000 in two years
    and $500 of rent, over 1000 blocks a year, $1.00. Together $3.10, of which $1.00 is fixed.
    """
    path = tmp_path / "round.xlsx"
    build(path, Settings("metric", batch_rows=1, typed_functions=False), _round_farm())
    sheet = load_workbook(path, data_only=True)["Quote"]
    shown = quoted([[cell.value for cell in row] for row in sheet.iter_rows()])
    good = 3.1 / 0.8  # one block of five is lost
    made_cost = good * 0.25 + 0.2 + 0.3 + 0.3  # a quarter block; a minute; the box; 1.5 minutes
    fixed = 1.0 / 0.8 * 0.25 / 0.8
    both = {
        "A block started": 3.1,
        "Blocks lost": 0.2,
        "Cost of lost blocks": 0.775,
        "A good block": 3.875,
        "Harvest of a good block": 1.0,
        "Good blocks in a pack": 0.25,
        "Grown": 0.96875,
        "Picked": 0.2,
        "Dried": 0,
        "Empty pack": 0.3,
        "Packed": 0.3,
        "Unsold packs": made_cost / 4,  # four of five are sold
        "Delivery of a pack": 0.2,
        "Cost of a pack sold": 2.4109375,
        "Lowest price that contributes": (2.4109375 - fixed) / 0.9,
        "Lowest price while a station is full": (2.4109375 - 0.390625) / 0.9,
        "Break-even price": 2.4109375 / 0.9,
        "Price for the target margin": 2.4109375 / 0.6 / 0.9,
        "Lowest price by mass": (2.4109375 - 0.390625) / 0.9 * 4,
    }
    today = {
        "Price after fees": 4.5,
        "Margin of a pack": 2.0890625,
        "Margin, share of price": 2.0890625 / 4.5,
        "Contribution of a pack": 2.4796875,
        "Price by mass": 20,
        "Shelf space earns a week": 1.98375,  # 3.2 packs sold of a block, in four weeks
        "Packs sold": 40,
        "Good blocks needed": 12.5,
        "Blocks to start": 16,  # 15.625
        "Shelf spaces taken": 51.2,  # 12.8 good ones for 28 days
        "On top of the usual week": 0,
        "Contribution a week": 99.1875,
    }
    # At $6, and 4.9 kg a week more: 20 boxes.
    what_if = {
        "Price after fees": 5.4,
        "Margin of a pack": 2.9890625,
        "Margin, share of price": 2.9890625 / 5.4,
        "Contribution of a pack": 3.3796875,
        "Price by mass": 24,
        "Shelf space earns a week": 2.70375,
        "Packs sold": 20,
        "Good blocks needed": 6.25,
        "Blocks to start": 8,  # 7.8125
        "Shelf spaces taken": 25.6,
        "On top of the usual week": 25.6,
        "Contribution a week": 67.59375,
    }
    free = shown.today.pop("Free in the usual week")
    assert shown.what_if.pop("Free in the usual week") == free
    assert shown.today == pytest.approx(both | today, rel=1e-9)
    assert shown.what_if == pytest.approx(both | what_if, rel=1e-9)
    assert shown.words.startswith(
        "At $6.00 a pack this leaves $67.59 a week before room energy, equipment and overhead. "
        "All its costs are covered from $2.68 on; do not go below $2.25."
    )


# A new line, and slips

_NEW: dict[str, Any] = {
    "strain": "King oyster K5", "recipe": "Beech and bran", "form": "fresh", "pack_mass": 0.4,
    "price": 12.0, "pack_cost": 0.4, "packing_minutes": 1.0, "fees": 0.03, "delivery": 0.5,
    "sold_share": 0.9, "packs": 30,
}  # fmt: skip


def test_a_new_line_needs_all_of_it(office: Office, units: str) -> None:
    with office.kept(made(units, "demo").path) as document:
        sheet, farm = Sheet(document, units), recalculated(document, units).farm
        shown = sheet.ask(**_NEW)
        assert set(shown.today.values()) == {None}
        asked = Asked(sheet, farm, _worth_of_station(farm))
        assert_shown(shown.what_if, figures(asked, _NEW, 30, 0))
        for key in set(_NEW) - {"packs"}:
            less = sheet.ask(**{name: value for name, value in _NEW.items() if name != key})
            assert less.what_if["Contribution of a pack"] is None
            missing = document.values("Quote")["Quote"][11][0]
            if key == "strain":
                assert less.words.startswith("Choose a product line")
                assert "Product line, or all of a new one" in missing
            else:
                assert less.words == "Something is still blank: see the list below."
                assert SINGLE_INPUTS[f"quote_{key}"].label in missing
        assert sheet.ask().words.startswith("Choose a product line")


@pytest.mark.parametrize(
    ("typed", "value", "words"),
    [
        ("quote_packs", 10, "packs and mass a week are both typed"),
        ("quote_form", "block", "a block has no mass"),
        ("quote_sold_share", 0, "Type what changes: cells to fix"),
    ],
)
def test_slips_are_found(office: Office, typed: str, value: Any, words: str) -> None:
    assert any(words in one for one in red_where(office, "metric", typed, value))


# Costing


def test_lowest_price_of_every_line(opened: Asked) -> None:
    sheet, farm, *_ = opened
    shown = iter(sheet.document.values("Costing")["Costing"])
    heads = next(row for row in shown if "Lowest price that contributes, $" in row)
    at = heads.index("Lowest price that contributes, $")
    listed = {row[0]: row[at] for row in shown if row[0]}
    for line in farm.rows["products"]:
        spent = model.pack_cost(farm, line) - model.fixed_share(farm, line)
        assert listed[line["product"]] == pytest.approx(spent / (1 - line["fees"]), abs=CENT)


# The price list


def test_the_price_list_is_for_customers(units: str) -> None:
    formulas, values = made(units, "demo").formulas["Price list"], made(units, "demo").values
    area = re.fullmatch(r"'Price list'!\$A\$(\d+):\$E\$(\d+)", formulas.print_area)
    assert area
    rows = list(values["Price list"].iter_rows(int(area[1]), int(area[2]), 1, 5, values_only=True))
    assert rows[0][0] == "Hollow Larch (invented)"
    heads = next(number for number, row in enumerate(rows) if row[0] == "Product")
    unit, mass = ("oz/pack", "$/lb") if units == "us" else ("kg/pack", "$/kg")
    assert rows[heads] == (
        *("Product", "Form", f"Net weight, {unit}", "Price, $", f"Price by weight, {mass}"),
    )
    of_unit = 16 if units == "us" else 1  # ounces in a pound
    for shown, line in zip(rows[heads + 1 :], table(values, "products", units)):
        by_mass = line["pack_mass"] and line["price"] / line["pack_mass"] * of_unit
        assert shown[:4] == (line["product"], line["form"], line["pack_mass"], line["price"])
        assert shown[4] == (pytest.approx(by_mass) if by_mass else None)
    footer = formulas.oddFooter
    assert [part.text for part in (footer.left, footer.center, footer.right)] == [None] * 3
    assert (formulas.page_setup.fitToWidth, formulas.page_setup.fitToHeight) == (1, 1)
    assert formulas.print_title_rows is None


def test_lines_on_the_list(office: Office) -> None:
    values = made("metric", "demo").values
    packs, price, lines = (
        place(values, key) for key in ("products.packs_per_week", "products.price", "list_lines")
    )
    names = [line["product"] for line in table(values, "products", "metric")]

    def listed() -> list[str]:
        shown = document.values("Price list")["Price list"]
        first = next(number for number, row in enumerate(shown) if row[0] == "Product")
        return [row[0] for row in shown[first + 1 :] if row[0]]

    with office.kept(made("metric", "demo").path) as document:
        document.write(packs.sheet, packs.row + 1, packs.column, [[0]])
        document.write(price.sheet, price.row + 3, price.column, [[None]])
        assert listed() == [name for name in names if name != names[3]]
        document.write(*lines, [["sold in a usual week"]])
        assert listed() == [name for name in names if name not in (names[1], names[3])]


def test_old_prices_are_noticed(office: Office) -> None:
    assert red_where(office, "metric", "list_until", 40000) == ["Price list: its last day is past"]
