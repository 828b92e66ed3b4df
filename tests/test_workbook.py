"""The generated file as any program finds it: values, errors, checks."""

from __future__ import annotations

import ast
import re
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import pytest
from reading import place, red_checks
from shared import shared
from workbooks import KINDS, Made, is_same, made

from cultivar_fx.calls.call import call
from workbook_template.build import build
from workbook_template.demo.data import demo_entries
from workbook_template.sheets.checks import FAILS
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from office import Office
    from office import Sheet as Shown

RANGES = str.maketrans("{};", "[],")


@pytest.fixture(scope="module", params=KINDS, ids="-".join)
def computed(request: pytest.FixtureRequest, office: Office) -> tuple[Made, dict[str, Shown]]:
    """Each kind of workbook, and what LibreOffice computes for it."""
    workbook = made(*request.param)
    with office.kept(workbook.path) as document:
        return workbook, document.contents()


def with_faults(units: str) -> Made:
    """Build the demo with faults in rows behind the first, and an order that is half filled in."""
    entries = demo_entries(units)
    for key, number, column in (
        ("batches", 5, "bags"),
        ("products", 2, "price"),
        ("unusual_weeks", 3, "packs"),
    ):
        entries.tables[key][number][column] = -1
    entries.tables["orders"].append({"product": entries.tables["products"][0]["product"]})
    settings = Settings(units=units, invented=True)
    return Made(shared(f"faults-{units}.xlsx", lambda path: build(path, settings, entries)))


def test_stored_values_are_what_libreoffice_computes(
    computed: tuple[Made, dict[str, Shown]],
) -> None:
    assert_stored(*computed)


def test_stored_values_of_a_farm_with_faults(office: Office) -> None:
    workbook = with_faults("us")
    with office.kept(workbook.path) as document:
        contents = document.contents()
    assert_stored(workbook, contents)
    assert not any(sheet.errors() for sheet in contents.values())


def assert_stored(workbook: Made, contents: dict[str, Shown]) -> None:
    """Find each stored value in what LibreOffice computes."""
    different = []
    for values in workbook.values.worksheets:
        sheet = values.title
        for cell in workbook.cells(sheet):
            stored = values[cell]
            shown = contents[sheet].values[stored.row - 1][stored.column - 1]
            if not is_same(stored.value, shown):
                different.append(f"{sheet}!{cell}: stored {stored.value!r}, computed {shown!r}")
    assert not different, "\n".join(different[:20])


def test_no_cell_shows_an_error(computed: tuple[Made, dict[str, Shown]]) -> None:
    _, contents = computed
    errors = {name: sheet.errors() for name, sheet in contents.items()}
    assert not any(errors.values()), errors


@pytest.mark.parametrize(("units", "filled"), KINDS)
def test_every_sheet_says_that_the_checks_are_ok(units: str, filled: str) -> None:
    values = made(units, filled).values
    assert {sheet.title: sheet["A3"].value for sheet in values} == dict.fromkeys(
        values.sheetnames, "Checks: OK"
    )


def test_the_demo_shows_the_main_job() -> None:
    """By hand from the invented farm: 70 bags of 6 lb and 4 lb lost are 424 lb at 63 %.

    Dry mass 424 × 0.37 = 156.88 lb. A pound of the mix holds 0.66 × 0.93 + 0.24 × 0.88
    + 0.09 × 0.9 + 0.01 × 0.99 = 0.9159 lb of it: 171.2851 lb of ingredients and 252.7149 lb of
    water, 30.2819 US gal at 8.345404 lb each; the meter that shows 8 where 7.6 run is dialed to
    30.2819 × 8 / 7.6 = 31.8757. Spawn: 4 % of 420 lb is 16.8 lb, of bags of 4 lb five.
    """
    card = made("us", "demo").values["Mix card"]
    shown = {card.cell(row, 1).value: card.cell(row, 2).value for row in range(5, 60)}
    assert shown["Bags to fill"] == 70
    assert shown["Ingredients before water"] == pytest.approx(171.2851, abs=1e-4)
    assert shown["Water"] == pytest.approx(30.2819, abs=1e-4)
    assert shown["Water: dial on the meter"] == pytest.approx(31.8757, abs=1e-4)
    assert shown["Spawn"] == pytest.approx(16.8)
    assert shown["Spawn bags to open"] == 5


def test_text_for_a_whole_number_is_a_fault_and_no_error(office: Office) -> None:
    empty = made("us", "empty")
    with office.kept(empty.path) as document:
        document.write(*place(empty.values, "rooms.spaces"), [["many"]])
        contents = document.contents()
    assert contents["Checks"].errors() == {}
    red = [row[0] for row in contents["Checks"].values if len(row) > 4 and row[4] == FAILS]
    assert red == ["Rooms: rows to fix"]
    assert contents["Start"].values[2][0] == "Checks: 1 to fix"


@pytest.mark.parametrize(("column", "typed"), [("price", 2.0), ("source", "a table")])
def test_a_row_without_a_name_is_a_fault(column: str, typed: Any, office: Office) -> None:
    empty = made("us", "empty")
    with office.kept(empty.path) as document:
        document.write(*place(empty.values, f"ingredients.{column}"), [[typed]])
        red = red_checks(document, empty.values["Checks"])
    words = "Ingredient: is blank, so the row is ignored."
    assert red == [f"Ingredients: rows to fix. {words}"]


def answered(typed: str) -> Any:
    """Answer a call as it is typed: ranges in braces, shares with a percent sign."""
    name, arguments = re.fullmatch(r"(CFX\.\w+)\((.*)\)", typed).groups()
    arguments = re.sub(r'(?<![\w."])([\d.]+%)', r'"\1"', arguments)
    return call(name, *ast.literal_eval(f"({arguments.translate(RANGES)},)"))


@pytest.mark.parametrize("units", ["us", "metric"])
def test_typed_examples_answer_what_stands_beside_them(units: str) -> None:
    """The call as typed, through the rules of a cell, against the live formula in the file."""
    values = made(units, "demo").values["Functions"]
    compared = 0
    for row in range(5, values.max_row + 1):
        typed = str(values.cell(row, 8).value or "")
        if not typed.startswith("Typed: "):
            continue
        answer = answered(typed.removeprefix("Typed: ="))
        shown = values.cell(row, 2).value
        if isinstance(answer, date):
            assert shown == datetime.combine(answer, datetime.min.time())
        else:
            assert shown == pytest.approx(answer, rel=1e-6), typed
        compared += 1
    assert compared > 70
