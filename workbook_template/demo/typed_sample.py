"""A small workbook that shows functions as they are typed, each beside what Python answers.

The functions stand in it as LAMBDA names, so Excel 2024 and 365 compute it without an add-in, and
LibreOffice does with its add-in. Every answer is stored too, for whatever computes none of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import xlsxwriter

import cultivar_fx
from cultivar_fx.calls.call import call
from cultivar_fx.catalog.dimensions import METRIC, US
from cultivar_fx.catalog.reference import typed_call
from cultivar_fx.catalog.registry import definition
from cultivar_fx.hosts.excel_names import lambda_names
from workbook_template.schema.fields import unit_label
from workbook_template.writing import styles
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from cultivar_fx.catalog.definition import Definition


class Example(NamedTuple):
    """A question of the week, and the call that answers it."""

    question: str
    function: str
    arguments: tuple[object, ...]
    units: str = METRIC

    @property
    def wanted(self) -> Definition:
        """The function's definition."""
        return definition(self.function)

    @property
    def typed(self) -> str:
        """The call as it is typed into a cell."""
        return typed_call(self.wanted, self._all)

    @property
    def answer(self) -> object:
        """What the function gives in Python."""
        return call(self.function, *self._all)

    @property
    def unit(self) -> str:
        """The unit of the answer."""
        return unit_label(self.wanted.result, self.units, Settings().currency)

    @property
    def _all(self) -> list[object]:
        """The arguments, those that are left out before the units among them."""
        if self.units == METRIC:
            return [*self.arguments]
        left_out = [None] * (len(self.wanted.arguments) - len(self.arguments))
        return [*self.arguments, *left_out, self.units]


EXAMPLES = (
    Example("Water for 200 lb of pellets", "WATER_TO_ADD", ("200 lb", "6%", "62%"), US),
    Example("Bags that a batch fills", "BAG_COUNT", ("526 lb", "6 lb")),
    Example("Spawn for the batch", "SPAWN_NEEDED", ("526 lb", "4%"), US),
    Example(
        "Hours until the middle of a block is hot",
        "CORE_HOURS",
        ("203 degF", "5.25 in", "5.75 in", "9 in", "62 degF", "210 degF"),
    ),
    Example("Fresh air for a fruiting room", "FRESH_AIR", ("60 g/h", 1000, 420), US),
    Example("Biological efficiency of a batch", "BIOLOGICAL_EFFICIENCY", ("165 lb", "200 lb")),
    Example("What a pound costs", "COST_PER_POUND", (612, "165 lb")),
    Example("Blocks to start for a week's sales", "BLOCKS_FOR_DEMAND", ("120 lb", "2.2 lb", "6%")),
)
"""The eight functions used most, on an invented farm."""

_HEADINGS = ("Question", "Typed into a cell", "Your program", "Python", "Unit", "Compared")
_WIDTHS = (40, 76, 14, 14, 10, 20)
_FIRST_ROW = 5
_TYPED, _LIVE, _PYTHON, _UNIT, _COMPARED = range(1, 6)
_TOLERANCE = 1e-9
_NOT_COMPUTED = "not computed here"
_NOTES = (
    "Your program computes the third column, and Python computed the fourth. Change a call to try "
    'it: a number is metric unless the call ends in "us"; a text such as "200 lb" keeps its '
    "own unit.",
    "Excel 2024 and 365 know the functions from the names in this file. LibreOffice knows them "
    "once the add-in is installed, and shows an error before. Elsewhere you see stored answers, "
    "or errors.",
    "All figures are invented.",
)


def write_typed_sample(path: Path) -> None:
    """Write the workbook with its answers stored."""
    book = xlsxwriter.Workbook(path, {"in_memory": True})
    book.set_properties(
        {"title": "Typed functions", "author": f"cultivar_fx {cultivar_fx.__version__}"}
    )
    for name, text in lambda_names().items():
        book.define_name(name, f"={text}")
    _write_sheet(book)
    book.close()


def _write_sheet(book: xlsxwriter.Workbook) -> None:
    sheet = book.add_worksheet("Typed functions")
    base = {"font_name": styles.FONT, "font_size": styles.TEXT_SIZE, "font_color": _ink(styles.INK)}
    accent = {**base, "font_color": _ink(styles.ACCENT), "bold": True}
    plain = book.add_format(base)
    indented = book.add_format({**base, "indent": 1})
    note = book.add_format({**base, "text_wrap": True, "valign": "top"})
    typed = book.add_format({**base, "font_name": "Consolas", "font_size": 10, "indent": 1})
    head = {**accent, "font_color": _ink(styles.WHITE), "bg_color": _ink(styles.ACCENT)}
    heading = book.add_format({**head, "indent": 1})
    numbers = book.add_format({**head, "align": "right"})
    sheet.write_string(0, 0, "Typed functions", book.add_format({**accent, "font_size": 18}))
    sheet.write_string(1, 0, "Eight functions as a grower types them, and what they answer.", plain)
    for column, (text, width) in enumerate(zip(_HEADINGS, _WIDTHS, strict=True)):
        sheet.set_column(column, column, width)
        over = numbers if column in (_LIVE, _PYTHON) else heading
        sheet.write_string(_FIRST_ROW - 1, column, text, over)
    for row, one in enumerate(EXAMPLES, _FIRST_ROW):
        shape = {"num_format": styles.number_format(one.wanted.result), "align": "right"}
        live, number = book.add_format({**accent, **shape}), book.add_format({**base, **shape})
        sheet.write_string(row, 0, one.question, indented)
        sheet.write_string(row, _TYPED, one.typed, typed)
        # Entered as a plain formula, Excel would put an @ before the name.
        sheet.write_dynamic_array_formula(row, _LIVE, row, _LIVE, one.typed, live, one.answer)
        sheet.write_number(row, _PYTHON, one.answer, number)
        sheet.write_string(row, _UNIT, one.unit, indented)
        sheet.write_formula(row, _COMPARED, _comparison(row + 1), indented, _NOT_COMPUTED)
    below = _FIRST_ROW + len(EXAMPLES) + 1
    for row, text in enumerate(_NOTES, below):
        sheet.merge_range(row, 0, row, _COMPARED, text, note)
        sheet.set_row(row, 32)
    sheet.freeze_panes(_FIRST_ROW, 0)
    sheet.hide_gridlines(2)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)


def _comparison(row: int) -> str:
    ratio = f"C{row}/D{row}"
    compared = f'IF(ABS({ratio}-1)<{_TOLERANCE},"the same","differs")'
    return f'=IF(ISNUMBER({ratio}),{compared},"{_NOT_COMPUTED}")'


def _ink(color: str) -> str:
    return f"#{color}"
