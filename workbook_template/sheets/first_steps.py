"""The first steps of a new farm: how much of each is done, and where its next empty cell is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from openpyxl.utils import get_column_letter

from workbook_template.schema.batches import BATCHES
from workbook_template.schema.cards import MIX_CARD
from workbook_template.schema.columns import first_row_where
from workbook_template.schema.farm import FARM
from workbook_template.schema.fields import dimension_of
from workbook_template.schema.harvests import HARVESTS
from workbook_template.schema.materials import INGREDIENTS, RECIPE_LINES, RECIPES, STRAINS
from workbook_template.schema.products import PRODUCTS
from workbook_template.writing.layout import tuple_key

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.schema.fields import Section, Table
    from workbook_template.writing.writer import Writer

_IN_A_ROW = (1, 2, 4, 5)
"""The columns of the page in which the steps stand; the third is room for the second."""
_HEADINGS = ("Step", "Filled", "To fill in", "Next empty cell", "What to do", "To do")
_STATE = dimension_of("state")
_COUNT = dimension_of("count")


@dataclass(frozen=True)
class Cells:
    """How many cells are filled of those to fill in, and the address of the first empty one."""

    filled: str
    count: str
    empty: str


def _at(sheet: str, column: int, row: str) -> str:
    """Write a link to a cell, as a text of a formula; rows are asked for, since they may move."""
    return f"\"#'{sheet}'!{get_column_letter(column)}\"&{row}"


def _first(conditions: Sequence[str], answers: Sequence[str], otherwise: str) -> str:
    """Choose the answer to the first condition that does not hold."""
    number = "1"
    for condition in reversed(conditions):
        number = f"1+({condition})*({number})"
    return f"CHOOSE({number},{','.join((*answers, otherwise))})"


def _of_inputs(writer: Writer, keys: Sequence[str], also: Sequence[tuple[str, str]] = ()) -> Cells:
    """Count single inputs; ``also`` adds conditions, each with the input that it is about."""
    filled = [f'({{{key}}}<>"")' for key in keys] + [condition for condition, _ in also]
    every = [(key, writer.book.cells[key]) for key in (*keys, *(key for _, key in also))]
    places = [_at(cell.sheet, cell.column, f"ROW({{{key}}})") for key, cell in every]
    empty = _first(filled, places, _at(every[0][1].sheet, 1, "1"))
    return Cells("+".join(filled), str(len(filled)), empty)


def _of_table(writer: Writer, table: Table, computed: str = "", typed: str = "") -> Cells:
    """Count the cells that each begun row of a table cannot be without.

    With them counts a computed column that one of several inputs fills, such as the typed one.
    """
    columns = [f"{table.key}.{one.key}" for one in table.fields if one.required]
    columns += [f"{table.key}.{computed}"] * bool(computed)
    first, *others = columns
    begun = f'({{{first}}}<>"")'
    rows = f"SUMPRODUCT({begun}*1)"
    filled = "+".join(f'SUMPRODUCT({begun}*({{{one}}}<>""))' for one in columns)
    places = {one: writer.book.columns[tuple_key(one)] for one in columns}
    if computed:
        places[columns[-1]] = writer.book.columns[table.key, typed]
    others.sort(key=lambda one: places[one].column)  # a row is filled from left to right
    gaps = {one: f'{begun}*({{{one}}}="")' for one in others}
    without = [f"SUMPRODUCT({gap})=0" for gap in gaps.values()]
    cells = [
        _at(places[one].sheet, places[one].column, first_row_where(gap, first))
        for one, gap in gaps.items()
    ]
    place = places[first]
    start = _at(place.sheet, place.column, f"ROW(INDEX({{{first}}},1))")
    empty = _first([f"{rows}>0", *without], [start, *cells], _at(place.sheet, 1, "1"))
    return Cells(filled, f"MAX(1,{rows})*{len(columns)}", empty)


def _of_log(writer: Writer, table: Table) -> Cells:
    """Count the first row of a log."""
    first = f"{table.key}.{table.first.key}"
    place = writer.book.columns[tuple_key(first)]
    address = _at(place.sheet, place.column, f"ROW(INDEX({{{first}}},1))")
    return Cells(f'(COUNTIF({{{first}}},"?*")+COUNT({{{first}}})>0)*1', "1", address)


def _together(writer: Writer, tables: Sequence[Table]) -> Cells:
    every = [_of_table(writer, table) for table in tables]
    filled = "+".join(one.filled for one in every)
    count = "+".join(one.count for one in every)
    states = [f"({one.filled})=({one.count})" for one in every]
    return Cells(filled, count, _first(states, [one.empty for one in every], every[-1].empty))


def _typed(sections: Sequence[Section]) -> list[str]:
    """Return the inputs that start blank and that nothing can do without."""
    fields = (field for section in sections for field in section.fields)
    return [one.key for one in fields if one.required and one.default is None]


_BAGS = 'MAX(({bags_wanted}<>"")*1,({mix_size}="full mixer")*1)'


def _steps(writer: Writer) -> list[tuple[str, str, Cells]]:
    """Return each step with what to do."""
    return [
        (
            "Farm",
            "type your prices, your wage and what the farm costs in a year",
            _of_inputs(writer, _typed(FARM)),
        ),
        (
            "Ingredients",
            "one row for each material that you buy",
            _of_table(writer, INGREDIENTS, "price_used", "bag_price"),
        ),
        (
            "Recipes",
            "name each recipe, then list what goes into it",
            _together(writer, (RECIPES, RECIPE_LINES)),
        ),
        (
            "Strains",
            "one row for each strain that you grow, with its days and its yield",
            _of_table(writer, STRAINS),
        ),
        (
            "Products",
            "one row for each product line that you sell, with its price",
            _of_table(writer, PRODUCTS),
        ),
        (
            "Mix card",
            "pick a recipe, a strain and a number of bags; then print the card",
            _of_inputs(writer, _typed([MIX_CARD]), [(_BAGS, "bags_wanted")]),
        ),
        (
            "First batch",
            "type it on the Batches sheet, one row a batch",
            _of_log(writer, BATCHES),
        ),
        (
            "First harvest",
            "type it on the Harvests sheet, one row a picking",
            _of_log(writer, HARVESTS),
        ),
    ]


_STEPS = 8
_DONE = "All done. Type one row for each batch, picking and loss; look at this page every Monday."


@dataclass(frozen=True)
class StepsDone:
    """In the workings: how much of each step is done."""

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return _STEPS + 3

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        for column, key in enumerate(("name", "filled", "count", "empty", "words", "open"), 1):
            is_text = key in ("name", "empty", "words")
            first = row + 2
            writer.place_column("steps", key, first, first + _STEPS - 1, column, is_text=is_text)

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, "First steps")
        for column, words in enumerate(_HEADINGS, 1):
            writer.text(row + 1, column, words, "farm heading")
        for here, (name, words, cells) in enumerate(_steps(writer), row + 2):
            writer.text(here, 1, name, "farm label")
            writer.formula(here, 2, cells.filled, _COUNT, waits=False)
            writer.formula(here, 3, cells.count, _COUNT, waits=False)
            writer.formula(here, 4, cells.empty, _STATE, waits=False)
            writer.text(here, 5, words, "farm label")
            writer.formula(here, 6, f"(B{here}<C{here})*1", _COUNT, waits=False)


@dataclass(frozen=True)
class FirstSteps:
    """On the page: the next step in a sentence, and all steps while any is open."""

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return 3 + _STEPS // len(_IN_A_ROW)

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, "First steps")
        following = "MATCH(1,{steps.open},0)"
        words = (
            f'"Next, "&INDEX({{steps.name}},{following})&": "&INDEX({{steps.words}},{following})'
            '&". Click here."'
        )
        sentence = (
            f'HYPERLINK(IFERROR(INDEX({{steps.empty}},{following}),"#Start!A1"),'
            f'IFERROR({words},"{_DONE}"))'
        )
        writer.formula(row + 1, 1, sentence, _STATE, "farm link", waits=False)
        for number in range(_STEPS):
            down, across = divmod(number, len(_IN_A_ROW))
            name, filled, count, empty = (
                f"INDEX({{steps.{key}}},{number + 1})"
                for key in ("name", "filled", "count", "empty")
            )
            open_words = f'CHOOSE(1+({count}>1),"not yet",{filled}&" of "&{count}&" filled")'
            state = f'CHOOSE(1+({filled}>={count}),{open_words},"done")'
            shown = f'"{number + 1}  "&{name}&": "&{state}'
            step = f'HYPERLINK({empty},CHOOSE(1+(SUM({{steps.open}})>0),"",{shown}))'
            writer.formula(
                row + 2 + down, _IN_A_ROW[across], step, _STATE, "farm link", waits=False
            )
