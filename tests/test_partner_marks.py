"""What a partner's copy leaves out by the marks on the Farm sheet, and what stays."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from openpyxl.utils import get_column_letter
from partner_copies import (
    OF_MONEY,
    Copy,
    copied_farm,
    empty_book,
    farm_book,
    private,
    private_cells,
    same,
)
from small_farm import edited

from workbook_template.operations import partner_copy as copying
from workbook_template.operations.references import chart_areas
from workbook_template.reading.entries import read
from workbook_template.schema.partner import MONEY_MARK, SHEETS_TO_MARK, mark_of
from workbook_template.sheets import all_sheets, unusual
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from openpyxl import Workbook

FIXTURES = Path(__file__).parent / "fixtures"
SHEETS = [sheet.name for sheet in all_sheets(Settings())]


# What rests on no price


def test_start_says_what_is_unusual_but_not_what_the_checks_say() -> None:
    before, after = copied_farm().before["Start"], copied_farm().after["Start"]
    heading = next(cell.row for cell in before["A"] if cell.value == "Out of the ordinary")
    assert after.cell(heading + 1, 1).value == "left out"
    for row in range(heading + 2, heading + 2 + unusual.LINES):
        was, value = before.cell(row, 1).value, after.cell(row, 1).value
        assert value == (was or None), row
    assert after.cell(heading + 2, 1).value


RESTS_ON_PRICES = {
    "Week plan": {"helps_words", "helps_besides"},
    "Stock": set(),
    "Forecast": set(),
    "Rooms": {"storage_price", "storage_lost_money"},
}
"""By sheet the single cells that say something about money: all else there rests on none."""


@pytest.mark.parametrize("name", RESTS_ON_PRICES)
def test_of_a_sheet_that_rests_on_packs_only_what_rests_on_prices_is_left_out(name: str) -> None:
    before, after = copied_farm().before[name], copied_farm().after[name]
    places = [farm_book().cells[key] for key in RESTS_ON_PRICES[name]]
    left_out = {(place.row, place.column) for place in places}
    for row in before.iter_rows(min_row=5):
        for cell in row:
            value = after[cell.coordinate].value
            was = None if cell.value == "" else cell.value
            if (cell.row, cell.column) in left_out:
                assert value in ("left out", None), cell.coordinate
            else:
                assert same(value, was), (cell.coordinate, value, was)


FIGURES = (
    *("due.what", "due.when", "due.which", "due.strain", "due.amount"),
    *("to_start.crop", "to_start.w1", "stations.station", "stations.w1", "not_in_time.crop"),
    *("purchases.ingredient", "purchases.w1", "spawn_to_open.w1"),
    *("packs_to_sell.product", "packs_to_sell.w1", "packs_to_sell.w12"),
    *("stock.on_hand", "stock.runs_out", "stock.order_by", "stock.state", "spawn_stock.order_by"),
    *("expected.total", "asked.total", "range.low", "range.chance", "balance.short"),
    *("rooms.spaces", "room_weeks.incubation_blocks", "room_weeks.fruiting_spaces"),
)
"""What a partner works by."""


@pytest.mark.parametrize("key", FIGURES)
def test_a_partner_finds_what_to_do_buy_and_sell(key: str) -> None:
    table, _, column = key.partition(".")
    place = farm_book().columns[table, column]
    before, after = copied_farm().before[place.sheet], copied_farm().after[place.sheet]
    values = 0
    for row in range(place.first, place.last + 1):
        was, value = (sheet.cell(row, place.column).value for sheet in (before, after))
        assert same(value, None if was == "" else was), row
        values += value is not None
    assert values


@pytest.mark.parametrize("key", ["plan_now", "plan_next", "bottleneck", "due_count", "due_overdue"])
def test_a_partner_finds_the_plan_in_short(key: str) -> None:
    place = farm_book().cells[key]
    books = copied_farm().before, copied_farm().after
    was, value = (book[place.sheet].cell(place.row, place.column).value for book in books)
    assert value not in (None, "left out")
    assert same(value, was)


# What is marked


def test_every_working_sheet_can_be_marked() -> None:
    others = ("Start", "Functions", "Checks", "Sources")
    assert list(SHEETS_TO_MARK) == [name for name in SHEETS if name not in others]


@pytest.mark.parametrize(
    "mark", ["Private", "PRIVATE", " private", "yes", "x", "", None, 1, True, "SHOWN", "shown "]
)
def test_whatever_is_not_exactly_shown_is_private(mark: Any) -> None:
    marked = private(private_harvests=mark, private_costing=mark, private_money=mark)
    assert {"Harvests", "Costing"} <= marked.sheets
    assert marked.is_money_private


@pytest.mark.parametrize("mark", ["private", "Sheet only", "sheet  only", "", None, "only"])
@pytest.mark.parametrize("sheet", ["products", "orders"])
def test_whatever_is_not_exactly_sheet_only_is_private_with_what_rests_on_it(
    sheet: str, mark: Any
) -> None:
    marked = private(**{f"private_{sheet}": mark})
    assert {"Products", "Orders", "Week plan", "Stock"} <= marked.sheets


def test_a_farm_of_an_earlier_release_shows_no_more_than_it_did() -> None:
    # There "private" was the only other word, and took the plan along, as it still does.
    singles = read(FIXTURES / "release_4" / "demo_us.xlsx").singles
    marks = {key: singles[key].value for key in copying.MARKS if key in singles}
    assert marks["private_products"] == marks["private_orders"] == "private"
    assert {"Products", "Orders", "Week plan", "Stock"} <= private(**marks).sheets


def test_the_other_sheets_are_not_left_out_alone() -> None:
    # A secret recipe would be read off the purchases.
    marked = private(private_recipes="sheet only")
    place = empty_book().columns["purchases", "w1"]
    assert {"Recipes", "Week plan"} <= marked.sheets
    assert marked.holds("Week plan", place.first, place.column)


def test_a_sheet_that_is_left_out_alone_keeps_its_prices_where_money_is_shown() -> None:
    marked = private(private_money="shown")
    prices, wage = empty_book().columns["products", "price"], empty_book().cells["hourly_wage"]
    assert marked.holds("Products", prices.first, prices.column)
    assert not marked.holds(wage.sheet, wage.row, wage.column)
    place = empty_book().cells["storage_lost_money"]
    assert marked.holds(place.sheet, place.row, place.column)


def test_customers_are_private_while_their_packs_count() -> None:
    marked = private()
    for key, is_private in (("customer", True), ("note", True), ("packs", False), ("date", False)):
        place = empty_book().columns["orders", key]
        assert marked.holds("Orders", place.first, place.column) == is_private, key


def test_packs_that_are_typed_as_a_formula_of_something_private_take_the_plan_along(
    tmp_path: Path,
) -> None:
    place = farm_book().columns["products", "packs_per_week"]

    def of_wage(workbook: Workbook) -> None:
        workbook["Products"].cell(place.first, place.column).value = "=ROUND(input_hourly_wage,4)"

    copied = Copy(edited(tmp_path / "farm.xlsx", of_wage)).copied
    assert {"Products", "Week plan", "Stock"} <= {*copied.left_out}


def test_a_note_that_names_a_customer_is_pointed_out(tmp_path: Path) -> None:
    place = farm_book().columns["harvests", "note"]

    def named(workbook: Workbook) -> None:
        workbook["Harvests"].cell(place.first, place.column).value = "for Zq1c0 inn & co"

    copied = Copy(edited(tmp_path / "farm.xlsx", named)).copied
    assert copied.quoting == [f"Harvests!{get_column_letter(place.column)}{place.first}"]


def test_a_setting_that_was_lost_means_private() -> None:
    unmarked = private_cells({})
    assert unmarked.is_money_private
    assert set(SHEETS_TO_MARK) <= unmarked.sheets


def test_a_marked_sheet_takes_with_it_what_is_computed_from_it() -> None:
    marked = private(private_harvests="private")
    place = empty_book().columns["batches", "fresh"]
    other = empty_book().columns["batches", "lost"]
    assert "Harvests" in marked.sheets
    assert marked.holds("Batches", place.first, place.column)
    assert not marked.holds("Batches", other.first, other.column)
    charts = empty_book().workbook["Results"]._charts
    assert any(marked.touches(area) for chart in charts for area in chart_areas(chart))


def test_products_that_are_shown_bring_the_week_plan_but_no_prices() -> None:
    shown = private(private_products="shown", private_orders="shown", private_costing="shown")
    place = empty_book().columns["products", "price"]
    blocks = empty_book().columns["loads", "blocks"]
    assert not shown.sheets & {"Products", "Week plan"}
    assert shown.holds("Products", place.first, place.column)
    assert not shown.holds("Week plan", blocks.first, blocks.column)


def test_nothing_is_left_out_where_everything_is_shown() -> None:
    marked = private(**dict.fromkeys((MONEY_MARK, *map(mark_of, OF_MONEY)), "shown"))
    assert marked.sheets == {"Functions", "Checks"}
    assert not any(
        marked.holds(sheet.title, row, column)
        for sheet in empty_book().workbook.worksheets
        for row, column in sheet._cells
    )
