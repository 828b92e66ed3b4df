"""The Costing sheet against a model of its own, written from the definitions (farm_model)."""

from __future__ import annotations

from math import ceil
from statistics import median
from typing import TYPE_CHECKING, Any

import farm_model as model
import pytest
from farm_book import WORKINGS as PLAN_WORKINGS
from farm_book import Book, changed_at_random, demo, recalculated, with_product
from reading import place
from workbooks import made

from workbook_template.writing.workings import workings_name

if TYPE_CHECKING:
    from office import Office

CENT = 0.005
"""Half a cent: the same to a cent."""
SEEDS = (1, 2, 3)
DRIED = "Lion's mane, dried, 2 oz"
BLOCK = "Oyster block to grow at home"
LINES = "All product lines: cost, margin, shelf space"
DRIVERS_TITLE = "Cost of a pack sold over each driver's range, and with the same change for all"
WORKINGS = workings_name("Costing")
DRIVERS = (
    *("BE", "Losses", "Spawn rate", "Spawn price", "Ingredient prices", "Labor", "Energy"),
    "Overhead",
)


@pytest.fixture(scope="module", params=["us", "metric"])
def units(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module", params=["demo", DRIED, *SEEDS])
def book(request: pytest.FixtureRequest, units: str, office: Office) -> Book:
    """The demo: as it is stored, for a dried line, and with twenty inputs that changed."""
    if request.param == "demo":
        return demo(units)
    if request.param == DRIED:
        return with_product(office, units, DRIED)
    return changed_at_random(office, units, request.param)


def chosen(book: Book) -> dict[str, Any]:
    return book.farm.row("products", "product", book.farm.one["cost_product"])


def test_steps_of_a_block(book: Book) -> None:
    shown = book.part("Costing", "Cost of a block, step by step").values
    steps = model.block_steps(book.farm, chosen(book))
    assert {name: shown[name] for name in steps} == pytest.approx(steps, abs=CENT)
    assert shown["A block started"] == pytest.approx(sum(steps.values()), abs=CENT)
    assert shown["A good block"] == pytest.approx(
        model.good_block(book.farm, chosen(book)), abs=CENT
    )


def test_blocks_and_idle_capacity_carry_all_money_spent(book: Book) -> None:
    """The model adds up what is spent from the plan, without any cost of a block."""
    farm = book.farm
    shown = book.part("Costing", "A year of usual weeks").values
    spent, idle = model.spent_on_blocks(farm), model.idle(farm)
    carried = model.carried_by_blocks(farm)
    assert carried + sum(idle.values()) == pytest.approx(sum(spent.values()), abs=CENT)
    assert {name: shown[name] for name in (*spent, *idle)} == pytest.approx(spent | idle, abs=CENT)
    assert shown["Covered by these blocks"] == pytest.approx(carried, abs=CENT)
    assert shown["Total spent on blocks"] == pytest.approx(sum(spent.values()), abs=CENT)
    assert shown["Covered by these blocks"] + shown["Idle capacity"] == pytest.approx(
        shown["Total spent on blocks"], abs=CENT
    )
    planned = model.a_year(sum(model.plan_of(farm).blocks.values()))
    assert shown["Blocks a year, Farm sheet"] == farm.one["blocks_per_year"]
    assert shown["Blocks a year, usual weeks"] == pytest.approx(planned, rel=1e-9)
    assert shown["Idle capacity per block"] == pytest.approx(sum(idle.values()) / planned, abs=CENT)


def test_work_on_a_block_is_that_of_a_usual_week(book: Book) -> None:
    """As shown: its hours over its blocks."""
    farm = book.farm
    usual = book.part(PLAN_WORKINGS, "A usual week").values
    crops = book.rows(WORKINGS, "A year of each crop, of usual weeks")
    sold = {model.crop_of(product): product for product in farm.rows["products"]}
    work = 0.0
    for each, row in zip(model.usual_starts(farm), crops, strict=True):
        steps = model.block_steps(farm, sold[each.crop])
        of_block = sum(cost for name, cost in steps.items() if "abor" in name)
        blocks = each.blocks / each.every
        assert row["Blocks, blocks/year"] == pytest.approx(model.a_year(blocks), rel=1e-9)
        assert row["A block started, $/block"] == pytest.approx(sum(steps.values()), abs=CENT)
        work += blocks * of_block
    assert work == pytest.approx(farm.work(usual["Work on blocks"] * 60), abs=CENT)


def test_with_no_plan_full_loads_are_counted(office: Office, units: str) -> None:
    workbook = made(units, "demo").values
    packs = place(workbook, "products.packs_per_week")
    special = place(workbook, "unusual_weeks.product")
    with office.kept(made(units, "demo").path) as document:
        document.write(*packs, [[0]] * 7)
        document.write(*special, [[None]] * 12)
        book = recalculated(document, units)
    steps = model.block_steps(book.farm, chosen(book))
    shown = book.part("Costing", "Cost of a block, step by step").values
    assert {name: shown[name] for name in steps} == pytest.approx(steps, abs=CENT)
    assert not any(shown[name] for name in steps if name.startswith("Half-empty"))
    year = book.part("Costing", "A year of usual weeks").values
    assert year["Blocks a year, Farm sheet"] == book.farm.one["blocks_per_year"]
    assert not any(
        year[name]
        for name in ("Blocks a year, usual weeks", "Covered by these blocks", "Idle capacity")
    )


def test_cost_of_the_mass_harvested_and_sold(book: Book) -> None:
    farm, product = book.farm, chosen(book)
    shown = book.part("Costing", "Cost of the mushrooms").values
    grown = model.good_block(farm, product) / model.block_harvest(farm, product)
    assert book.price_of_mass(shown["Grown"]) == pytest.approx(grown, abs=CENT)
    harvested = grown + farm.work(farm.strain(product)["picking_minutes"])
    assert book.price_of_mass(shown["Harvested"]) == pytest.approx(harvested, abs=CENT)
    per_mass = model.pack_cost(farm, product) / product["pack_mass"]
    assert book.price_of_mass(shown["Sold"]) == pytest.approx(per_mass, abs=CENT)


def test_every_product_line(book: Book) -> None:
    farm = book.farm
    rows = book.rows("Costing", LINES)
    assert [row["Product line"] for row in rows] == [p["product"] for p in farm.rows["products"]]
    for product, row in zip(farm.rows["products"], rows, strict=True):
        cost, net = model.pack_cost(farm, product), model.net_price(product)
        after_fees = 1 - product["fees"]
        assert row["Cost of a pack sold, $"] == pytest.approx(cost, abs=CENT)
        assert row["Price after fees, $"] == pytest.approx(net, abs=CENT)
        assert row["Margin of a pack, $"] == pytest.approx(net - cost, abs=CENT)
        assert row["Margin, share of price, %"] == pytest.approx(1 - cost / net, abs=1e-6)
        assert row["Break-even price, $"] == pytest.approx(cost / after_fees, abs=CENT)
        wanted = cost / (1 - farm.one["wanted_margin"]) / after_fees
        assert row["Price for target margin, $"] == pytest.approx(wanted, abs=CENT)


def test_the_place_in_fruiting_that_earns_most(book: Book) -> None:
    farm = book.farm
    rows = book.rows("Costing", LINES)
    earnings = {}
    for product, row in zip(farm.rows["products"], rows, strict=True):
        contribution = model.block_contribution(farm, product)
        assert row["Contribution, $/block"] == pytest.approx(contribution, abs=CENT)
        if model.fruited(product):
            weeks = model.fruiting_days(farm, farm.strain(product)) / 7
            earnings[product["product"]] = contribution / weeks
            assert row["Shelf space earns a week, $"] == pytest.approx(
                contribution / weeks, abs=CENT
            )
        else:
            assert not row["Shelf space earns a week, $"]
            assert not row["Rank by earnings"]
    ranked = sorted(earnings, key=earnings.__getitem__, reverse=True)
    ranks = {
        row["Product line"]: row["Rank by earnings"] for row in rows if row["Rank by earnings"]
    }
    assert sorted(ranks, key=ranks.__getitem__) == ranked
    assert sorted(ranks.values()) == list(range(1, len(ranked) + 1))
    best = book.part("Costing", "Best use of shelf space").values
    assert best["Earns most on a shelf space"] == ranked[0]
    assert best["Contribution a week"] == pytest.approx(earnings[ranked[0]], abs=CENT)


def assert_drivers(book: Book) -> None:
    farm, product = book.farm, chosen(book)

    def cost(driver: str, change: float) -> float:
        return model.pack_cost(model.with_driver(farm, product, driver, change), product)

    rows = book.part("Costing", DRIVERS_TITLE).rows
    assert sorted(row["Driver"] for row in rows) == sorted(DRIVERS)
    swings = []
    for row in rows:
        basis, *ends = model.driver_range(farm, product, row["Driver"])
        costs = [cost(row["Driver"], end - 1) for end in ends]
        assert row["Range from"] == basis
        assert [row["At its lowest, $"], row["At its highest, $"]] == pytest.approx(costs, abs=CENT)
        swings.append(max(costs) - min(costs))
    assert swings == pytest.approx(sorted(swings, reverse=True), abs=1e-9)
    changes = [farm.one[f"change_{n}"] for n in range(1, 5)]
    for row in rows:
        costs = [cost(row["Driver"], change) for change in changes]
        assert list(row.values())[6:10] == pytest.approx(costs, abs=CENT)


def test_what_moves_the_cost(book: Book) -> None:
    assert_drivers(book)


def drivers(office: Office, **inputs: Any) -> dict[str, dict[str, Any]]:
    """Type into the metric demo; give the rows of the drivers by name, in their order."""
    demo = made("metric", "demo")
    with office.kept(demo.path) as document:
        for key, value in inputs.items():
            at = place(demo.values, key.replace("__", "."))
            document.write(at.sheet, at.row, at.column, [[value]])
        book = recalculated(document, "metric")
    assert_drivers(book)
    rows = book.part("Costing", DRIVERS_TITLE).rows
    return {row["Driver"]: row for row in rows}


def test_losses_go_as_far_as_in_the_worst_month(office: Office) -> None:
    """In July green mold took 56 of 306 blocks of the oyster, in March 13 of 297."""
    row = drivers(office)["Losses"]
    assert (row["Range"], row["Range from"]) == ("4% to 18%", "own months")
    assert list(drivers(office)).index("Losses") < 3


def test_a_range_that_is_typed_is_used(office: Office) -> None:
    typed = {"driver_records": "as typed", "figures_used": "plan only"}
    rows = drivers(office, losses_high=2, **typed)
    assert rows["Losses"]["Range"] == "2% to 8%"  # of 4 %
    assert {row["Range from"] for row in rows.values()} == {"as typed"}
    assert drivers(office, energy_high=3)["Energy"]["Range"] == "80% to 300% of today's"


def test_too_few_batches_are_no_range(office: Office) -> None:
    rows = drivers(office, enough_batches=99)
    assert {row["Range from"] for row in rows.values()} == {"as typed"}


def test_months_with_losses_count_where_none_were_planned(office: Office) -> None:
    demo = made("metric", "demo")
    with office.kept(demo.path) as document:
        at = place(demo.values, "strains.loss_rate")
        document.write(at.sheet, at.row, at.column, [[0]])
        rows = recalculated(document, "metric").part("Costing", DRIVERS_TITLE)
    losses = next(row for row in rows.rows if row["Driver"] == "Losses")
    assert losses["Range"] == "4% to 18%"
    assert losses["At its highest, $"] > losses["At its lowest, $"] + 0.1


def test_a_block_that_is_sold_as_one(office: Office, units: str) -> None:
    book = with_product(office, units, BLOCK)
    steps = book.part("Costing", "Cost of a block, step by step").values
    modeled = model.block_steps(book.farm, chosen(book))
    assert {name: steps[name] for name in modeled} == pytest.approx(modeled, abs=CENT)
    sale = book.part("Costing", "Cost of a pack, step by step").values
    assert sale["A pack sold"] == pytest.approx(model.pack_cost(book.farm, chosen(book)), abs=CENT)
    assert not book.part("Costing", "Cost of the mushrooms").values["Sold"]
    flushes = book.part("Costing", "One flush or more").rows
    assert not any(row["Per day on the shelf, $"] or row["Best in a usual week"] for row in flushes)
    assert_drivers(book)


def test_how_many_flushes_to_keep(book: Book) -> None:
    farm, product = book.farm, chosen(book)
    rows = book.part("Costing", "One flush or more").rows
    strain = farm.strain(product)
    known = [n for n in range(1, 5) if strain[f"be_{n}"] is not None]
    averages = {}
    for number in known:
        kept = model.with_flushes(farm, product, number)
        days = model.fruiting_days(kept, kept.strain(product))
        averages[number] = model.block_contribution(kept, product) / days
        assert rows[number - 1]["Days in fruiting"] == pytest.approx(days)
        assert rows[number - 1]["Per day on the shelf, $"] == pytest.approx(
            averages[number], abs=CENT
        )
    best = max(averages, key=averages.__getitem__)
    marks = {number: rows[number - 1]["Best if shelves are full"] or "" for number in range(1, 5)}
    assert [number for number in marks if marks[number].startswith("best")] == [best]
    assert "kept" in marks[int(strain["flushes"])]


def _weeks_with(farm: model.Farm, strain: dict[str, Any]) -> dict[int, tuple[float, float]]:
    """Return what a usual week brings, and its spaces in fruiting, by the flushes of a strain."""
    packs = {
        line["product"]: line["packs_per_week"] * (model.pack_contribution(farm, line) >= 0)
        for line in farm.rows["products"]
    }
    found = {}
    for number in [n for n in range(1, 5) if strain[f"be_{n}"] is not None]:
        brought = spaces = 0.0
        for line in farm.rows["products"]:
            # A block that is sold whole gives no flush.
            is_changed = line["strain"] == strain["strain"] and model.fruited(line)
            kept = model.with_flushes(farm, line, number) if is_changed else farm
            brought += packs[line["product"]] * model.pack_contribution(kept, line)
            spaces += packs[line["product"]] * model.stations_of_pack(kept, line)["fruiting"]
        found[number] = brought, spaces
    return found


def test_how_many_flushes_in_a_usual_week(book: Book) -> None:
    """No station is full: the same packs on fewer blocks, while there are spaces for them."""
    strain = book.farm.strain(chosen(book))
    stations = book.part("Costing", "The stations in a usual week, lines that lose money left out")
    if any(row["Share needed, %"] and row["Share needed, %"] > 1 for row in stations.rows):
        pytest.skip("a station is full: test_improve has such farms")
    rows = book.part("Costing", "One flush or more").rows
    weeks, now = _weeks_with(book.farm, strain), int(strain["flushes"])
    for number, (brought, spaces) in weeks.items():
        row = rows[number - 1]
        assert row["Fruiting spaces, usual week"] == pytest.approx(spaces, abs=1e-6)
        gain = brought - weeks[now][0]
        assert row["A usual week brings, against now, $"] == pytest.approx(gain, abs=CENT)
    marks = {number: rows[number - 1]["Best in a usual week"] or "" for number in weeks}
    usable = [number for number in weeks if marks[number] != "no room"]
    best = max(usable, key=lambda number: weeks[number][0])
    assert [number for number in marks if marks[number].startswith("best")] == [best]
    assert "kept" in marks[now]
    places = model.places(book.farm, "fruiting")
    assert all(weeks[number][1] <= max(places, weeks[now][1]) + 1e-6 for number in usable)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_costing_and_improve_say_the_same_of_another_flush(system: str) -> None:
    book = demo(system)
    strain = book.farm.strain(chosen(book))
    rows = book.part("Costing", "One flush or more").rows
    more = rows[int(strain["flushes"])]
    (improve,) = (
        row
        for rows in (part.rows for part in book._parts["Improve"].values())
        for row in rows
        if f"One flush more of {strain['strain']}" in str(row.get("Change"))
    )
    gain = more["A usual week brings, against now, $"]
    assert improve["Brings a week, $"] == pytest.approx(gain, abs=CENT)
    extra = (
        more["Fruiting spaces, usual week"]
        - rows[int(strain["flushes"]) - 1]["Fruiting spaces, usual week"]
    )
    values = made(system, "demo").values["Rooms workings"]
    (head,) = (
        cell
        for row in values.iter_rows()
        for cell in row
        if cell.value == "Spaces free in fruiting, fullest day"
    )
    free = [values.cell(head.row + week, head.column).value for week in range(1, 13)]
    weeks = sum(spaces >= ceil(extra - 1e-6) for spaces in free)
    assert improve["What to measure"].startswith(
        f"{ceil(extra - 1e-6)} more spaces: free in {weeks} of the next 12 weeks"
    )
    said = [
        row[0].value
        for row in made(system, "demo").values["Costing"].iter_rows()
        if str(row[0].value).startswith("Free spaces in the fruiting rooms in the next 12 weeks")
    ]
    assert len(said) == 1
    assert f"least {int(min(free) + 1e-6)}, in the week of " in said[0]
    assert f"it takes {ceil(extra - 1e-6)} more: free in {weeks} of these weeks." in said[0]
    assert (more["Best in a usual week"] == "best") is (median(free) >= extra)


def test_both_systems_cost_the_same() -> None:
    us, metric = demo("us"), demo("metric")
    for title in (
        "Cost of a block, step by step",
        "Cost of a pack, step by step",
        "Price and margin",
    ):
        one, other = us.part("Costing", title), metric.part("Costing", title)
        for label, value in one.values.items():
            if one.units[label] == other.units[label]:
                assert value == pytest.approx(other.values[label], rel=1e-9), label
    prices = [
        book.price_of_mass(book.part("Costing", "Cost of the mushrooms").values["Sold"])
        for book in (us, metric)
    ]
    assert prices[0] == pytest.approx(prices[1], rel=1e-9)
