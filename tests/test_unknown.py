"""What is not known stays unknown in everything that rests on it, and is named.

That a blank is unknown, and not 0, is what the prompts of the inputs say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from reading import place, table
from workbooks import made

from cultivar_fx.formula.parse import parse
from cultivar_fx.formula.tree import Place
from workbook_template.build import lay_out
from workbook_template.schema import TABLES
from workbook_template.schema.fields import TO_FIX, Computed, heading
from workbook_template.writing.blocks import Calculated, Form, Settings, Sheet
from workbook_template.writing.formulas import Use, bare_results, used
from workbook_template.writing.layout import Book, table_name
from workbook_template.writing.writer import Writer

if TYPE_CHECKING:
    from office import Document, Office
    from openpyxl import Workbook

UNITS = "us"
LOOK_UP = "INDEX({strains.loss_rate},MATCH({strain},{strains.strain},0))"


@pytest.fixture(scope="module")
def values() -> Workbook:
    return made(UNITS, "demo").values


def rests_on(template: str) -> list[Any]:
    return [one.node for one in used(template) if one.use is Use.RESTS_ON and not one.unless]


def test_a_formula_rests_on_what_it_computes_with() -> None:
    assert rests_on("{a}*2+MAX({b},{c})") == [Place("a"), Place("b"), Place("c")]
    assert rests_on(f"1-{LOOK_UP}") == [parse(LOOK_UP)]


@pytest.mark.parametrize("template", ["N({a})", 'CHOOSE(1+({a}=""),1,2)', "{?a}", "COUNT({a})"])
def test_a_formula_does_not_rest_on_what_it_takes_blank(template: str) -> None:
    assert rests_on(template) == []


def test_a_branch_that_is_not_taken_needs_nothing() -> None:
    cells = used(f"CHOOSE(1+({{a}}>0),0,{LOOK_UP})")
    (one,) = [one for one in cells if one.use is Use.RESTS_ON and one.unless]
    assert one.node == parse(LOOK_UP)
    assert one.unless == (parse("NOT({a}>0)"),)


@pytest.mark.parametrize(
    ("template", "bare"),
    [
        ("{a}", ["a"]),
        ("CHOOSE(1+COUNT({a}),0,{a})", []),
        ("CHOOSE(1+({b}>0),0,{a})", ["a"]),
        ('IFERROR({a},"")', ["a"]),
        ("{a}*1", []),
        ('{a}&""', []),
    ],
)
def test_a_result_that_may_be_an_empty_cell_is_found(template: str, bare: list[str]) -> None:
    assert [node.key for node in bare_results(template, ()) if isinstance(node, Place)] == bare


def test_a_template_that_gives_back_an_empty_cell_is_refused() -> None:
    """LibreOffice would show nothing, Excel and others 0."""
    optional = next(f for f in TABLES["batches"].fields if f.key == "moved")
    settings = Settings(batch_rows=1, typed_functions=False)
    laid_out = lay_out(settings)
    book = Book(laid_out.workbook, settings, laid_out.entries)
    form = Form("Mine", [Calculated("mine", "Mine", "d", 'IFERROR({batches_moved},"")')])
    writer = Writer(book, Sheet("Mine", "", [form], (20, 10, 10, 10)))
    book.fields["", "batches_moved"] = optional
    writer.place_column("", "batches_moved", 1, 1, 1)
    with pytest.raises(ValueError, match="may be blank where"):
        writer.formula(1, 1, 'IFERROR({batches_moved},"")', optional.dimension)


class Cleared:
    """The demo in LibreOffice, one cell of a table cleared, and everything computed anew."""

    def __init__(self, document: Document, values: Workbook) -> None:
        self.document = document
        self.values = values

    def clear(self, key: str, row: int = 0) -> None:
        """Clear the cell of a column in a row of its table, and compute everything."""
        at = place(self.values, key)
        self.document.write(at.sheet, at.row + row, at.column, [[None]])
        self.document.calculate()

    def rows(self, name: str) -> list[dict[str, Any]]:
        """Return the filled rows of a table, computed columns included."""
        at = place(self.values, f"{name}.{TABLES[name].first.key}")
        sheet = self.values[at.sheet]
        excel = sheet.tables[table_name(name)]
        headings = [column.name for column in excel.tableColumns]
        filled = len([row for row in table(self.values, name, UNITS) if any(row.values())])
        block = self.document.read(at.sheet, at.row, at.column, filled, len(headings))
        keys = {heading(column, UNITS, "$"): column.key for column in TABLES[name].columns}
        return [dict(zip((keys[one] for one in headings), row, strict=True)) for row in block]


@pytest.fixture
def cleared(office: Office, values: Workbook) -> Any:
    with office.kept(made(UNITS, "demo").path) as document:
        yield Cleared(document, values)


@pytest.mark.parametrize(
    ("column", "blank"),
    [
        ("nitrogen", {"nitrogen", "carbon_nitrogen"}),
        ("carbon", {"carbon", "carbon_nitrogen"}),
        ("bag_price", {"cost_dry", "cost_wet"}),
        ("moisture", {"moisture", "nitrogen", "carbon", "carbon_nitrogen", "cost_dry", "cost_wet"}),
    ],
)
def test_a_recipe_stays_unknown_where_an_ingredient_is_and_names_it(
    cleared: Cleared, column: str, blank: set[str]
) -> None:
    before = cleared.rows("recipes")
    ingredient = cleared.rows("ingredients")[0]["ingredient"]
    lines = table(cleared.values, "recipe_lines", UNITS)
    with_it = {line["recipe"] for line in lines if line["ingredient"] == ingredient}
    cleared.clear(f"ingredients.{column}")
    computed = {one.key for one in TABLES["recipes"].columns if isinstance(one, Computed)}
    computed.discard(TO_FIX)
    for old, new in zip(before, cleared.rows("recipes"), strict=True):
        hit = old["recipe"] in with_it
        assert {key for key in computed if new[key] in (None, "")} == (
            blank if hit else {"missing"}
        ), old["recipe"]
        figure = column.removeprefix("bag_")
        assert (new["missing"] == f"{ingredient}: {figure}") == hit
    assert with_it


def test_the_mix_card_waits_for_a_moisture_and_names_it(cleared: Cleared) -> None:
    recipe = place(cleared.values, "mix_recipe")
    chosen = cleared.values[recipe.sheet].cell(recipe.row + 1, recipe.column + 1).value
    lines = table(cleared.values, "recipe_lines", UNITS)
    ingredient = next(line["ingredient"] for line in lines if line["recipe"] == chosen)
    names = [row["ingredient"] for row in cleared.rows("ingredients")]
    cleared.clear("ingredients.moisture", names.index(ingredient))
    shown = {row[0]: row[1] for row in cleared.document.read("Mix card", 0, 0, 60, 2)}
    assert shown["Water: dial on the meter"] in (None, "")
    assert any(f"{ingredient}: moisture" in str(label) for label in shown)


def test_a_total_is_blank_while_a_part_of_it_is(cleared: Cleared) -> None:
    """A block's cost without the wage is no cost."""
    cleared.clear("hourly_wage")
    steps = {row[0]: row[1] for row in cleared.document.read("Costing", 0, 0, 60, 2)}
    assert steps["Labor: filling"] in (None, "")
    assert steps["A block started"] in (None, "")


def test_equipment_without_its_life_leaves_the_cost_of_equipment_unknown(cleared: Cleared) -> None:
    cleared.clear("equipment.life")
    steps = {row[0]: row[1] for row in cleared.document.read("Costing", 0, 0, 60, 2)}
    assert steps["Equipment"] in (None, "")
