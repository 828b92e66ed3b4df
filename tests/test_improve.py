"""Improve: what each change is worth a week, against linear programs on a model of its own.

The model (``improve_model.py``) builds each pack up anew with the change in it, where the sheet
changes the figures of today: the two share no step.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from math import ceil, sqrt
from random import Random
from statistics import NormalDist
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from improve_model import ASKED, CAPACITIES, Changed, UsualWeek
from logged_batches import LoggedBatches, Made
from workbooks import made

from workbook_template.schema.improve import CHANGES

if TYPE_CHECKING:
    from collections.abc import Iterator

BATCHES = 48
ROWS = {key: row for row, key in enumerate(CHANGES)}
CASES = ("low", "expected", "high")
FULL, ROOMY = range(8), range(8, 12)
WHOLE = {"incubation_places", "fruiting_places", "fruiting_air"}
MINUTES = {
    "picking": ("picking",),
    "packing": ("packing",),
    "mixing": ("mixing", "filling"),
    "inoculating": ("inoculating",),
}
CENT = 1e-6


class Size(NamedTuple):
    """An input of the sheet, and what it is drawn from."""

    least: float
    most: float


SIZES = {
    "improve_minutes": Size(0.05, 0.6),
    "improve_spawn": Size(0.05, 0.5),
    "improve_lost": Size(0.0, 0.1),
    "improve_hold": Size(0.0, 4.0),
    "improve_rooms": Size(0.0, 0.3),
    "improve_joined": Size(0.0, 0.9),
    "improve_sold": Size(0.85, 1.0),
    "improve_price": Size(0.0, 0.2),
    "improve_price_lost": Size(0.0, 0.2),
    "improve_packs": Size(0, 40),
    "improve_swap": Size(0.0, 1.0),
    "improve_demand": Size(0.0, 0.5),
    "improve_worst": Size(0.0, 1.0),
    "improve_best": Size(1.0, 1.6),
}


@cache
def _workbook() -> LoggedBatches:
    farm = LoggedBatches(BATCHES, asked=ASKED)
    random = Random(5)
    batches = [
        Made(
            number % 3,
            random.randint(40, 90),
            random.randint(0, 9),
            fresh=random.uniform(40, 90),
            days=200 + BATCHES - number - 140,  # all on one day, ten days after the move
        )
        for number in range(BATCHES)
    ]
    farm.log(batches)
    # Two recipes of the first strain, so that there is another one to compare with.
    recipes = [farm.value("recipes.recipe", number % 2) for number in range(BATCHES)]
    farm.set_column("batches.recipe", recipes)
    farm.compute()
    return farm


def _typed(farm: LoggedBatches, column: str) -> list[Any]:
    return [farm.value(f"products.{column}", row) for row in range(7)]


@cache
def _prices() -> list[float]:
    return _typed(_workbook(), "price")


def _farm(seed: int) -> tuple[LoggedBatches, UsualWeek]:
    """Draw demand, prices, capacities and the sizes of the changes."""
    farm, random = _workbook(), Random(seed)
    packs = [random.choice((0, random.randint(5, 200))) for _ in _prices()]
    packs[random.randrange(len(packs))] = 50
    least, most = (0.5, 1.0) if seed in FULL else (1.2, 3.0)
    cheap = 0.35 if seed in FULL else 0.9
    farm.set_column("products.packs_per_week", packs)
    farm.set_column("products.price", [price * random.uniform(cheap, 1.2) for price in _prices()])
    for key, size in SIZES.items():
        drawn = random.uniform(*size)
        farm.set(key, round(drawn) if key == "improve_packs" else drawn)
    farm.compute()
    week = UsualWeek(farm)
    loads = [
        sum(
            packs * week.pack(product).uses[station]
            for product, packs in zip(week.products, week.demand(), strict=True)
        )
        for station in range(len(CAPACITIES))
    ]
    for key, load in zip(CAPACITIES, loads, strict=True):
        room = max(load, 1.0) * random.uniform(least, most)
        farm.set(key, float(max(1, round(room))) if key in WHOLE else room)
    farm.compute()
    return farm, UsualWeek(farm)


def _worth(farm: LoggedBatches, key: str) -> list[Any]:
    return [farm.value(f"improve_list.of_{case}", ROWS[key]) for case in CASES]


def _row(farm: LoggedBatches, key: str) -> int | None:
    """Return a row that the sheet chose, counted from 0."""
    found = farm.value(key)
    return None if found in (None, "") else round(found) - 1


def _of_typed(farm: LoggedBatches, key: str, most: float = 1e9) -> Iterator[float]:
    size = farm.value(key)
    for share in (farm.value("improve_worst"), 1.0, farm.value("improve_best")):
        yield min(most, share * size)


def _wilson(lost: float, total: float, z: float, spread: float) -> tuple[float, float]:
    """Wilson 1927, on counts divided by the spread (Rao & Scott 1992)."""
    n, p = total / spread, lost / total
    middle, half = p + z * z / (2 * n), z * sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    below = 1 + z * z / n
    return (middle - half) / below, (middle + half) / below


def _date(value: Any) -> date:
    """Read a date, which the engine may hand out as its number."""
    return date(1899, 12, 30) + timedelta(value) if isinstance(value, float) else value


def _best_quarter(farm: LoggedBatches, strain: int) -> tuple[int, int]:
    """Return lost and made of the three months in a row in which a strain lost least."""
    name, today = farm.value("strains.strain", strain), _date(farm.value("today"))
    by_month: dict[int, list[tuple[int, int]]] = {}
    for row in range(BATCHES):
        if farm.value("batches.strain", row) == name:
            day = _date(farm.value("batches.made", row))
            month = (today.year - day.year) * 12 + today.month - day.month
            one = (farm.value("losses.blocks", row), farm.value("batches.bags", row))
            by_month.setdefault(month, []).append(one)
    quarters = [
        [one for month in range(first, first + 3) for one in by_month.get(month, [])]
        for first in range(10)
    ]
    enough = [one for one in quarters if len(one) >= farm.value("improve_batches")]
    sums = [(sum(lost for lost, _ in one), sum(made for _, made in one)) for one in enough]
    return min(sums, key=lambda one: one[0] / one[1])


def _losses(farm: LoggedBatches, week: UsualWeek) -> list[Changed] | None:
    strain = _row(farm, "improve_loss_row")
    if strain is None:
        return None
    lost, total = _best_quarter(farm, strain)
    z = NormalDist().inv_cdf((1 + farm.value("results_confidence")) / 2)
    low, high = _wilson(lost, total, z, max(1.0, farm.value("results_reach")))
    return [Changed(loss={strain: rate}) for rate in (high, lost / total, low)]


def _flushes(farm: LoggedBatches, week: UsualWeek, key: str) -> list[Changed] | None:
    strain = _row(farm, f"improve_{key}_row")
    if strain is None:
        return None
    more = 1 if key == "more" else -1
    kept = round(week.used("flushes", strain))
    flush = week.used(f"be_{kept + (more > 0)}", strain)
    days = week.used("fruiting_days", strain) + more * week.used("flush_interval_days", strain)
    least, most = farm.value("be_low"), farm.value("be_high")
    count = farm.value(f"own_counts.be_{kept + (more > 0)}", strain)
    if count >= farm.value("enough_batches") and farm.value("by_strain.be_half", strain):
        part = farm.value("by_strain.be_half", strain) / farm.value("by_strain.be", strain)
        least, most = max(0, 1 - part), 1 + part
    ends = (least, 1, most) if more > 0 else (most, 1, least)
    be = week.used("biological_efficiency", strain)
    changed = []
    for end in ends:
        blocks = [one for one in week.products if week.is_block(one)]
        assert not any(week.strain_of(one) == strain and end < 0 for one in blocks)
        changed.append(Changed(be={strain: be + more * flush * end}, days={strain: days}))
    return changed


def _recipe(farm: LoggedBatches, week: UsualWeek) -> list[Changed] | None:
    pair = _row(farm, "improve_recipe_row")
    if pair is None:
        return None

    def of(column: str, row: int) -> Any:
        return farm.value(f"recipe_yields.{column}", row)

    lines = [
        one
        for one in week.products
        if week.of("strain", one) == of("strain", pair)
        and not week.is_block(one)
        and week.of("packs_per_week", one) > 0
    ]
    now = week.of("recipe", lines[0])
    there = next(
        row
        for row in range(12)
        if (of("strain", row), of("recipe", row)) == (of("strain", pair), now)
    )
    names = [farm.value("recipes.recipe", row) for row in range(8)]
    recipe = names.index(of("recipe", pair))
    new, old = of("be", pair), of("be", there)
    # Zou & Donner 2008: the ends of a difference of two means, by those of each.
    down = sqrt((new - of("be_low", pair)) ** 2 + (of("be_high", there) - old) ** 2)
    up = sqrt((of("be_high", pair) - new) ** 2 + (old - of("be_low", there)) ** 2)
    moved = [one for one in week.products if not week.is_block(one) and one in _same(week, lines)]
    return [
        Changed(
            recipe=dict.fromkeys(moved, recipe),
            be_of_product=dict.fromkeys(moved, (new + end) / old),
        )
        for end in (-down, 0.0, up)
    ]


def _same(week: UsualWeek, lines: list[int]) -> list[int]:
    """Return the lines of the strain and the recipe of the first one."""
    first = (week.of("strain", lines[0]), week.of("recipe", lines[0]))
    return [
        one for one in week.products if (week.of("strain", one), week.of("recipe", one)) == first
    ]


def _ranked(week: UsualWeek) -> list[int]:
    """Return the lines that fit the fullest station, the one that comes first first."""
    station = week.fullest()
    _, made_packs = week.fill()
    each = {
        product: week.pack(product).contribution / week.pack(product).uses[station]
        for product, packs in zip(week.products, made_packs, strict=True)
        if packs > 1e-6 and week.pack(product).uses[station] > 0
    }
    return sorted(each, key=lambda one: -each[one])


def _swap(farm: LoggedBatches, week: UsualWeek) -> list[Changed] | None:
    ranked, station = _ranked(week), week.fullest()
    if len(ranked) < 2 or farm.value("helps_next") in (None, ""):
        return None
    first, last = ranked[0], ranked[-1]
    packs = week.fill()[1][week.products.index(last)]
    freed = packs * week.pack(last).uses[station] / week.pack(first).uses[station]
    return [
        Changed(more={first: min(more * week.of("packs_per_week", first), freed)}, without=[last])
        for more in _of_typed(farm, "improve_swap")
    ]


def _expected(farm: LoggedBatches, week: UsualWeek) -> dict[str, list[Changed] | None]:
    """Return the changes in each case, from what is typed and the logs."""
    worst, best = farm.value("improve_worst"), farm.value("improve_best")
    saved, lost = farm.value("improve_spawn"), farm.value("improve_lost")
    hold = min(farm.value("improve_hold"), farm.value("hold_hours"))
    price, dropped = 1 + farm.value("improve_price"), farm.value("improve_price_lost")
    first = _ranked(week)[0]
    every: dict[str, list[Changed] | None] = {
        "loss": _losses(farm, week),
        "less": _flushes(farm, week, "less"),
        "more": _flushes(farm, week, "more"),
        "recipe": _recipe(farm, week),
        "spawn": [Changed(spawn=1 - saved, more_lost=one) for one in (lost, 0, 0)],
        "hold": [Changed(hold=hold, more_lost=one) for one in (lost, 0, 0)],
        "price": [Changed(price=price, demand=1 - times * dropped) for times in (2, 1, 0)],
        "swap": _swap(farm, week),
        "joined": [
            Changed(half_empty=1 - one) for one in _of_typed(farm, "improve_joined", most=1)
        ],
        "packs": [Changed(more={first: one}) for one in _of_typed(farm, "improve_packs")],
    }
    for key, steps in MINUTES.items():
        every[key] = [
            Changed(minutes=dict.fromkeys(steps, 1 - one))
            for one in _of_typed(farm, "improve_minutes", most=1)
        ]
    assert (worst, best) == (farm.value("improve_worst"), farm.value("improve_best"))
    return every


@pytest.mark.parametrize("seed", [*FULL, *ROOMY])
def test_a_farm_drawn_at_random(seed: int) -> None:
    farm, week = _farm(seed)
    _assert_each_is_worth_what_the_linear_programs_say(farm, week)
    _assert_more_of_the_packs_sold(farm, week)
    _assert_the_page_ranks_by_money_and_says_how_sure_it_is(farm)
    _assert_one_more_is_what_the_week_plan_says(farm, week)
    _assert_a_change_of_nothing_is_worth_nothing(farm)


def _assert_each_is_worth_what_the_linear_programs_say(
    farm: LoggedBatches, week: UsualWeek
) -> None:
    assert farm.value("improve_today") == pytest.approx(week.fill()[0], abs=CENT)
    for key, cases in _expected(farm, week).items():
        shown = _worth(farm, key)
        if cases is None:
            assert shown[1] in (None, ""), key
        else:
            assert shown == pytest.approx([week.gain(one) for one in cases], abs=CENT), key


def _assert_more_of_the_packs_sold(farm: LoggedBatches, week: UsualWeek) -> None:
    """The lines that sell less come so much nearer to what is typed."""
    target, shown = farm.value("improve_sold"), _worth(farm, "sold")
    parts = (farm.value("improve_worst"), 1.0, farm.value("improve_best"))
    for part, worth in zip(parts, shown, strict=True):
        sold = {
            product: min(1.0, share + part * max(0.0, target - share))
            for product, share in enumerate(_typed(farm, "sold_share"))
        }
        assert worth == pytest.approx(week.gain(Changed(sold=sold)), abs=CENT)


def _assert_one_more_is_what_the_week_plan_says(farm: LoggedBatches, week: UsualWeek) -> None:
    shown, off = _worth(farm, "station"), farm.value("improve_demand")
    assert shown[1] == pytest.approx(farm.value("helps_worth"), abs=1e-9)
    for demand, worth in zip((1 - off, 1, 1 + off), shown, strict=True):
        one_more = week.fill(Changed(demand=demand, capacity=1))[0]
        as_much = week.fill(Changed(demand=demand))[0]
        assert worth == pytest.approx(one_more - as_much, abs=CENT)
        assert worth >= -1e-9
    station = week.fullest()
    farm.set(
        f"more_{('mixer', 'steamer', 'bench', 'incubation', 'fruiting', 'air', 'labor')[station]}",
        80,
    )
    farm.compute()
    assert farm.value("improve_list.once", ROWS["station"]) == 80


@pytest.mark.parametrize("seed", ROOMY)
def test_room_energy(seed: int) -> None:
    farm, _ = _farm(seed)
    daily = farm.value("incubation_energy") + farm.value("fruiting_energy")
    week = daily * 7 * farm.value("electricity_price")
    expected = [share * week for share in _of_typed(farm, "improve_rooms", most=1)]
    assert _worth(farm, "rooms") == pytest.approx(expected, abs=CENT)


@pytest.mark.parametrize("seed", ROOMY)
def test_the_strain_is_the_one_where_it_brings_most(seed: int) -> None:
    """While no station is full; elsewhere the room that it frees counts by its worth of today."""
    farm, week = _farm(seed)
    for key in ("less", "more"):
        gains = {}
        for strain in week.strains:
            kept = round(week.used("flushes", strain))
            more = 1 if key == "more" else -1
            flush = week.used(f"be_{kept + (more > 0)}", strain) if kept + more else 0.0
            grown = [
                one
                for one in week.products
                if week.strain_of(one) == strain and not week.is_block(one)
            ]
            if flush and any(week.of("packs_per_week", one) for one in grown):
                be = week.used("biological_efficiency", strain)
                gains[strain] = week.gain(Changed(be={strain: be + more * flush}))
        assert _row(farm, f"improve_{key}_row") == max(gains, key=lambda one: gains[one])


NOTHING = {
    "improve_minutes": 0,
    "improve_spawn": 0,
    "improve_lost": 0,
    "improve_hold": 0,
    "improve_rooms": 0,
    "improve_joined": 0,
    "improve_sold": 0.05,
    "improve_price": 0,
    "improve_price_lost": 0,
    "improve_packs": 0,
    "improve_demand": 0,
}
WITHOUT_SIZE = {"loss", "less", "more", "recipe", "station", "swap", "market"}
"""What records say, or a unit more: there is no size to type."""


def _assert_a_change_of_nothing_is_worth_nothing(farm: LoggedBatches) -> None:
    for key, size in NOTHING.items():
        farm.set(key, size)
    farm.compute()
    for key in set(CHANGES) - WITHOUT_SIZE:
        assert _worth(farm, key) == [0, 0, 0], key
        assert farm.value("improve_list.sure", ROWS[key]) == "brings nothing"


def _shown(farm: LoggedBatches, column: str) -> list[Any]:
    return [farm.value(f"improve.{column}", row) for row in range(len(CHANGES))]


def _assert_the_page_ranks_by_money_and_says_how_sure_it_is(farm: LoggedBatches) -> None:
    known = [
        row for row in ROWS.values() if farm.value("improve_list.money", row) not in (None, "")
    ]
    money = _shown(farm, "money")[: len(known)]
    sure = _shown(farm, "sure")[: len(known)]
    by_records = [amount for amount, said in zip(money, sure, strict=True) if said == "yes"]
    others = [amount for amount, said in zip(money, sure, strict=True) if said != "yes"]
    assert money == sorted(by_records, reverse=True) + sorted(others, reverse=True)
    assert sorted(money) == sorted(farm.value("improve_list.money", row) for row in known)
    assert _shown(farm, "money")[len(known) :] in (
        [""] * (len(CHANGES) - len(known)),
        [None] * (len(CHANGES) - len(known)),
    )
    assert len(known) >= 12
    for row in range(len(known)):
        low, middle, high, sure, batches = (
            farm.value(f"improve.{key}", row) for key in ("low", "money", "high", "sure", "batches")
        )
        assert low <= middle <= high
        basis = farm.value("improve.basis", row)
        assert ("typed" in basis) is not basis.startswith("your records: ")
        if high <= CENT:
            assert sure == ("costs money" if low < -CENT else "brings nothing")
        elif "typed" in basis:
            assert sure == ("not known yet" if low < -CENT else "if as typed")
        else:
            assert sure == ("yes" if low > CENT else "not known yet")
        if sure != "not known yet":
            assert not batches
        assert farm.value("improve.measure", row)


def test_seeds_are_of_every_kind() -> None:
    """Each change has its turn, and several stations are the fullest."""
    stations, known = set(), set()
    for seed in (*FULL, *ROOMY):
        farm, week = _farm(seed)
        stations.add(week.fullest())
        known |= {key for key in CHANGES if _worth(farm, key)[1] not in (None, "")}
    assert known == set(CHANGES) - {"market"}  # which test_sales has: it takes sales
    assert len(stations) >= 5


def test_what_it_costs_once_is_paid_back() -> None:
    farm, _ = _farm(9)
    farm.set("once_picking", 130)
    farm.compute()
    place = round(farm.value("improve_list.place", ROWS["picking"])) - 1
    assert farm.value("improve.once", place) == 130
    paid = farm.value("improve.payback", place)
    assert paid == round(130 / farm.value("improve.money", place), 1)
    farm.set("once_picking", None)
    farm.compute()
    assert farm.value("improve.payback", place) in (None, "")


def _batches_needed(farm: LoggedBatches, one: float, other: float) -> int:
    """Fleiss 1981, two proportions, times the spread (Donner & Klar), and z^2/4 more."""
    z = NormalDist().inv_cdf((1 + farm.value("trial_confidence")) / 2)
    power = NormalDist().inv_cdf(farm.value("trial_power"))
    mean = (one + other) / 2
    apart = z * sqrt(2 * mean * (1 - mean)) + power * sqrt(one * (1 - one) + other * (1 - other))
    blocks = ceil(max(1, ceil(apart**2 / (one - other) ** 2)) * farm.value("results_spread"))
    bags = [farm.value("batches.bags", row) for row in range(BATCHES)]
    return ceil(blocks / (sum(bags) / len(bags)) + (z / 2) ** 2)


def test_batches_that_would_tell_two_losses() -> None:
    farm, week = _farm(9)
    farm.set("improve_lost", 0.05)
    farm.compute()
    usual = farm.value("results_loss")
    expected = _batches_needed(farm, usual, usual + 0.05)
    assert farm.value("improve_list.needed", ROWS["hold"]) == expected
    strain = _row(farm, "improve_loss_row")
    assert strain is not None
    lost, total = _best_quarter(farm, strain)
    expected = _batches_needed(farm, lost / total, week.loss(strain))
    assert farm.value("improve_list.needed", ROWS["loss"]) == expected


def test_batches_that_would_tell_two_recipes() -> None:
    farm, _ = _farm(9)
    pair = _row(farm, "improve_recipe_row")
    assert pair is not None
    z = NormalDist().inv_cdf((1 + farm.value("trial_confidence")) / 2)
    power = NormalDist().inv_cdf(farm.value("trial_power"))
    new = farm.value("improve_recipes.be", pair)
    old = farm.value("improve_recipes.be_now", pair)
    apart = (z + power) * farm.value("trial_yield_spread") / (new / old - 1)
    # Two means, normal (Chow, Shao & Wang); z^2/4 more for Student's t (Guenther 1981).
    assert farm.value("improve_list.needed", ROWS["recipe"]) == ceil(2 * apart**2 + (z / 2) ** 2)


def test_the_sentence() -> None:
    farm, _ = _farm(9)
    low, middle, high = (round(farm.value(f"improve.{one}", 0)) for one in ("low", "money", "high"))
    words, change = farm.value("improve_words"), farm.value("improve.change", 0)
    assert change.startswith("1. ")
    amounts = [f"{'-' * (one < 0)}${abs(one):,}" for one in (middle, low, high)]
    said = f"{change[3:]}, about {amounts[0]} a week ({amounts[1]} to {amounts[2]}"
    ends = {
        "yes": (" by your records", ")."),
        "if as typed": ("", ", if as typed: a guess, to be measured first)."),
    }
    lead, end = ends.get(farm.value("improve.sure", 0), ("", "); not known yet"))
    assert words.startswith(f"The change worth most{lead}: {said}{end}")
    assert farm.value("improve_answer").startswith(words)


def test_it_waits_for_what_is_missing() -> None:
    farm, _ = _farm(1)
    hours = farm.value("labor_hours_per_week")
    farm.set("labor_hours_per_week", None)
    farm.compute()
    assert farm.value("improve_answer").startswith("Enter the prices and costs ")
    assert set(_shown(farm, "money")) <= {"", None}
    farm.set("labor_hours_per_week", hours)
    farm.compute()
    assert farm.value("improve_answer").startswith("The change worth most")


@pytest.mark.parametrize("units", ["us", "metric"])
def test_an_empty_workbook_asks_for_packs_and_start_says_nothing(units: str) -> None:
    book = made(units, "empty").values
    assert book["Improve"]["A6"].value == (
        "Enter packs a week for your product lines on the Products sheet first."
    )
    first = [str(cell.value) for cell in book["Start"]["A"]]
    assert not any("worth most" in text for text in first)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_start_names_the_first_change_of_the_demo(units: str) -> None:
    book = made(units, "demo").values
    answer = book["Improve"]["A6"].value
    assert answer.startswith("The change worth most by your records: ")
    assert answer in [cell.value for cell in book["Start"]["A"]]
