"""Writes one sheet: every cell, style, validation and name of the workbook passes through here."""

from __future__ import annotations

import re
from copy import copy
from datetime import date, time
from math import ceil
from typing import TYPE_CHECKING, Any

from openpyxl.cell.cell import ERROR_CODES, Cell
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import PatternFill
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.styles.fonts import Font
from openpyxl.utils import get_column_letter, quote_sheetname
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.cell_range import CellRange
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.table import Table as ExcelTable
from openpyxl.worksheet.table import TableColumn, TableFormula, TableStyleInfo

from cultivar_fx.errors import CellError
from cultivar_fx.formula.text import plain
from cultivar_fx.formula.tree import Node, Place, Text
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import (
    ASSUMPTION,
    TO_FIX,
    Column,
    Computed,
    Field,
    Table,
    dimension_of,
    heading,
    unit_label,
)
from workbook_template.texts import write_text
from workbook_template.writing import styles
from workbook_template.writing.formulas import (
    Needed,
    Use,
    Used,
    bare_results,
    column_looked_up,
    never_fails,
    render,
    used,
    when_known,
)
from workbook_template.writing.layout import (
    CellPlace,
    ColumnPlace,
    Value,
    address,
    grid_name,
    input_name,
    start_key,
    table_name,
    tuple_key,
    zone_name,
)
from workbook_template.writing.saving import Filled, may_be_shared
from workbook_template.writing.validation import validation

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from openpyxl.worksheet.worksheet import Worksheet

    from cultivar_fx.catalog.dimensions import Dimension
    from workbook_template.writing.blocks import Sheet
    from workbook_template.writing.layout import Book

_ANY_ROW = "\0"
"""Stands for the row in the formula of a whole column."""
_MANY_COLUMNS = 80
"""Of a table; packing looks 32 kB back."""
_TEXT_WIDTH, _BOLD_WIDTH = 0.88, 0.92
"""Of a letter in running text, in the unit of column widths."""


class Writer:
    """Fills one sheet of a book."""

    def __init__(self, book: Book, sheet: Sheet) -> None:
        self.book = book
        self.sheet = sheet
        self.worksheet: Worksheet = book.workbook.create_sheet(sheet.name)

    @property
    def units(self) -> str:
        """The unit system of the book."""
        return self.book.settings.units

    @property
    def currency(self) -> str:
        """The currency symbol of the book."""
        return self.book.settings.currency

    # Where things are

    def place_cell(
        self, key: str, row: int, column: int, is_input: bool, is_text: bool = False
    ) -> None:
        """Note where a cell is."""
        if key in self.book.cells:
            raise ValueError(f"two cells have the key {key}")
        self.book.cells[key] = CellPlace(self.sheet.name, row, column, is_input, is_text)

    def place_column(
        self,
        table: str,
        key: str,
        first: int,
        last: int,
        column: int,
        structured: str = "",
        is_text: bool = False,
    ) -> None:
        """Note where a column is."""
        self.book.columns[table, key] = ColumnPlace(
            self.sheet.name, first, last, column, structured, is_text
        )

    def place_table_column(
        self, table: str, of: Column, first: int, last: int, column: int, structured: str = ""
    ) -> None:
        """Note where a column of the schema is, and what may be typed into it."""
        words = of.dimension.is_text
        self.book.dimensions[f"{table}.{of.key}"] = of.dimension
        self.place_column(table, of.key, first, last, column, structured, words)
        if isinstance(of, Field):
            self.book.fields[table, of.key] = of

    def refer(self, key: str, table: str = "", row: str = "") -> str:
        """Write a reference to the cell or column of a key, as seen from a row of a table."""
        if key.startswith("$"):
            table, key = "", key[1:]
        if (table, key) in self.book.columns:
            place = self.book.columns[table, key]
            if place.heading:
                return f"{table_name(table)}[[#This Row],[{place.heading}]]"
            return self._on_sheet(place.sheet, f"${get_column_letter(place.column)}{row}")
        if "." in key:
            return self._column_reference(*tuple_key(key))
        if ":" in key:
            return self._span_reference(key)
        cell = self.book.cells[key]
        if cell.is_input:
            return input_name(key)
        return self._on_sheet(cell.sheet, address(cell.row, cell.column))

    def _column_reference(self, table: str, key: str) -> str:
        place = self.book.columns[table, key]
        if place.heading:
            return f"{table_name(table)}[[{place.heading}]]"
        ends = f"{address(place.first, place.column)}:{address(place.last, place.column)}"
        return self._on_sheet(place.sheet, ends)

    def _span(self, key: str) -> tuple[CellPlace, CellPlace]:
        first, _, last = key.partition(":")
        return self.book.cells[first], self.book.cells[last]

    def _span_reference(self, key: str) -> str:
        first, last = self._span(key)
        ends = f"{address(first.row, first.column)}:{address(last.row, last.column)}"
        return self._on_sheet(first.sheet, ends)

    def _on_sheet(self, sheet: str, cells: str) -> str:
        return cells if sheet == self.sheet.name else f"{quote_sheetname(sheet)}!{cells}"

    # Words

    def text(self, row: int, column: int, text: str, style: str) -> None:
        """Write a text that no program takes for a formula; an empty one leaves the cell empty."""
        if not text:
            return
        cell = self.worksheet.cell(row, column)
        self._dress(cell, style)
        write_text(cell, text)

    def _dress(self, cell: Any, style: str, dimension: Dimension | None = None) -> None:
        """Return a cell a style, and the number format of its kind; each is looked up once."""
        known = self.book.looks.get((style, dimension))
        if known is None:
            cell.style = style
            if dimension is not None:
                cell.number_format = styles.number_format(dimension)
            self.book.looks[style, dimension] = copy(cell._style)
        else:
            cell._style = copy(known)

    def shrink(self, row: int, column: int) -> None:
        """Let a label fit its column in whatever font a program has."""
        self.worksheet.cell(row, column).alignment = styles.SHRUNK

    def section(self, row: int, title: str) -> None:
        """Write the heading of a section, ruled over the width of the sheet."""
        for column in range(1, self.sheet.printed_columns + 1):
            self._dress(self.worksheet.cell(row, column), "farm section")
        self.text(row, 1, title, "farm section")
        self.worksheet.row_dimensions[row].height = styles.SECTION_HEIGHT

    def heading(self, row: int, column: int, of: Column) -> None:
        """Write a column's heading."""
        self.text(row, column, heading(of, self.units, self.currency), "farm heading")
        lines = ceil(len(heading(of, self.units, self.currency)) / self.sheet.widths[column - 1])
        height = max(self.worksheet.row_dimensions[row].height or 0, 14.0 * min(lines + 1, 4))
        self.worksheet.row_dimensions[row].height = height

    def wide_text(
        self, row: int, text: str, style: str, first: int = 1, last: int | None = None
    ) -> None:
        """Write a sentence over some columns, or the width of the sheet, as high as it needs."""
        self.text(row, first, text, style)
        last = self.sheet.printed_columns if last is None else last
        for column in range(first, last + 1):
            self._dress(self.worksheet.cell(row, column), style)
        if last > first:  # one cell alone is no merged range: writers refuse it, some readers too
            # The library's own way goes over the borders of every cell, which stay as they are.
            self.worksheet.merged_cells.add(CellRange(None, first, row, last, row))
        cell = self.worksheet.cell(row, first)
        cell.alignment = styles.wrapped(cell)
        size = cell.font.size / styles.TEXT_SIZE
        wide = _BOLD_WIDTH if cell.font.bold else _TEXT_WIDTH
        lines = ceil(len(text) * size * wide / sum(self.sheet.widths[first - 1 : last]))
        self.worksheet.row_dimensions[row].height = 15.0 * max(lines, 1)

    def link(self, row: int, column: int, sheet: str, words: str = "", cell: str = "A1") -> None:
        """Write a sheet's name, or other words, that lead to a cell there."""
        self.text(row, column, words or sheet, "farm link")
        self.worksheet.cell(row, column).hyperlink = Hyperlink(
            ref=f"{get_column_letter(column)}{row}",
            location=f"{quote_sheetname(sheet)}!{cell}",
            display=words or sheet,
        )

    def writing_line(self, row: int, first: int) -> None:
        """Leave room to write on the printed page."""
        for column in range(first, len(self.sheet.widths) + 1):
            self._dress(self.worksheet.cell(row, column), "farm writing line")
        self.worksheet.row_dimensions[row].height = 21.0

    def unit(self, dimension: Dimension) -> str:
        """Return the unit as it stands beside a cell; a share shows its own percent sign."""
        if dimension.is_share:
            return ""
        return unit_label(dimension, self.units, self.currency)

    def note(self, row: int, column: int, one: Field) -> None:
        """Write the note beside an input.

        That its figure is an assumption stands there only while the cell holds what a new
        workbook starts with, as the Sources sheet has it.
        """
        if not one.source.startswith(ASSUMPTION) or one.default is None:
            self.text(row, column, one.help, "farm note")
            return
        cell = self.worksheet.cell(row, column)
        is_start = f"{input_name(one.key)}={self.refer(start_key(one.key))}"
        words = plain(Text(one.help))
        cell.value = f'={words}&CHOOSE(1+({is_start}),""," {ASSUMPTION}")'
        self._dress(cell, "farm note")

    # Values

    def value_of(self, one: Field) -> Value:
        """Return what is typed into an input, or what a new workbook starts with."""
        entered = self.book.entries.singles
        return entered[one.key] if one.key in entered else one.start_value(self.units)

    def rows_of(self, table: str) -> Sequence[Mapping[str, Value]]:
        """Return the rows that are typed into a table or a grid, or that a new one starts with."""
        entered = self.book.entries.tables
        if table not in entered and table in TABLES:
            return TABLES[table].start_rows(self.units)
        return entered.get(table, [])

    def input(self, row: int, column: int, one: Field, value: Value) -> None:
        """Write an input cell with its name, validation and value."""
        self._input_column([self.worksheet.cell(row, column)], one, [value])
        self._validate(one, row, row, column)
        self._name(input_name(one.key), address(row, column))

    def name_column(self, grid: str, key: str) -> None:
        """Name the cells of a grid that are typed into."""
        place = self.book.columns[grid, key]
        ends = f"{address(place.first, place.column)}:{address(place.last, place.column)}"
        self._name(grid_name(grid, key), ends)

    def table_column(
        self,
        table: str,
        of: Column,
        first: int,
        column: int,
        values: Sequence[Value],
        waits: bool = True,
    ) -> None:
        """Write a column of a table or grid, one cell for each value."""
        cells = self._new_cells(first, column, len(values))
        if isinstance(of, Field):
            self._input_column(cells, of, values)
            self._validate(of, first, first + len(values) - 1, column)
        elif isinstance(of, Computed):
            text = self._formula_text(of.formula, table, _ANY_ROW, (), waits)
            if self._is_long(table) and (of.is_working or of.key == TO_FIX):
                self.book.named[self.sheet.name, column] = text.removeprefix("=")
                text = self._addressed(text, table)
            for row, cell in enumerate(cells, first):  # as the library would, had it looked at each
                cell._value, cell.data_type = text.replace(_ANY_ROW, str(row)), "f"
            if len(cells) > 1 and may_be_shared(str(cells[0]._value)):
                last = first + len(cells) - 1
                self.book.filled.append(Filled(self.sheet.name, column, first, last))
            self._look(cells, _result_style(of.dimension), of.dimension)
        else:
            for cell, value in zip(cells, values, strict=True):
                cell.value = value
            self._look(cells, "farm result", of.dimension)

    def _is_long(self, table: str) -> bool:
        """Return whether a table has so many columns that a row is longer than packing looks back.

        Shorter ones keep the names, by which each row is as the one above.
        """
        return table in TABLES and len(TABLES[table].columns) > _MANY_COLUMNS

    def _addressed(self, text: str, table: str) -> str:
        """Write the columns of the row itself as addresses, where nobody reads the formula."""

        def address_of(reference: re.Match[str]) -> str:
            return f"${letters[reference[1]]}{_ANY_ROW}"

        own = [place for (owner, _), place in self.book.columns.items() if owner == table]
        letters = {place.heading: get_column_letter(place.column) for place in own}
        return re.sub(rf"{table_name(table)}\[\[#This Row\],\[([^\]]+)\]\]", address_of, text)

    def _new_cells(self, first: int, column: int, count: int) -> list[Any]:
        """Make a column of cells; asking the library for each takes twice as long."""
        cells: list[Any] = [
            Cell(self.worksheet, row, column) for row in range(first, first + count)
        ]
        self.worksheet._cells.update(((cell.row, column), cell) for cell in cells)
        return cells

    def _input_column(self, cells: Sequence[Any], one: Field, values: Sequence[Value]) -> None:
        self._look(cells, "farm input" if one.is_number else "farm input text", one.dimension)
        for cell, value in zip(cells, values, strict=True):
            enter(cell, value)

    def value(self, row: int, column: int, value: Value) -> None:
        """Write a value of any kind into a cell for text."""
        if value is not None:
            cell = self.worksheet.cell(row, column)
            cell.style = "farm input text"
            enter(cell, value)

    def _look(self, cells: Sequence[Any], style: str, dimension: Dimension) -> None:
        """Return cells of one column their common look; setting it one by one is slow."""
        model = cells[0]
        self._dress(model, style, dimension)
        for cell in cells[1:]:
            cell._style = model._style

    def formula(
        self,
        row: int,
        column: int,
        template: str,
        dimension: Dimension,
        style: str | None = None,
        waits_for: Sequence[str] = (),
        waits: bool = True,
    ) -> None:
        """Write a computed cell, which looks empty until what it needs is filled."""
        cell = self.worksheet.cell(row, column)
        cell.value = self._formula_text(template, "", str(row), waits_for, waits)
        self._dress(cell, style or _result_style(dimension), dimension)

    def _formula_text(
        self, template: str, table: str, row: str, waits_for: Sequence[str], waits: bool
    ) -> str:
        def written(part: str | Node) -> str:
            return render(
                part,
                lambda key: self.refer(key, table, row),
                self.units,
                lambda node: self._kind(node, table),
            )

        rests_on = [Used(Place(key), Use.RESTS_ON) for key in waits_for]
        if waits:
            rests_on = [*self._rests_on(template, table), *rests_on]
            self._refuse_bare_results(template, table, rests_on)
        return "=" + when_known(written(template), self._needed(rests_on, table, written))

    def _rests_on(self, template: str, table: str) -> list[Used]:
        """Return what has to be known first: cells, and what is looked up in columns."""
        cells = used(template)
        required = [
            Used(one.node, Use.RESTS_ON)
            if isinstance(one.node, Place) and self._is_required(one.node, table)
            else one
            for one in cells
            if one.use is not Use.LOOKS_UP_BY
        ]
        return [one for one in dict.fromkeys(required) if one.use is Use.RESTS_ON]

    def _refuse_bare_results(self, template: str, table: str, known: Sequence[Used]) -> None:
        for node in bare_results(template, (one.node for one in known)):
            if self._is_typed(node, table):
                raise ValueError(f"{plain(node)} may be blank where {template} gives it back")

    def _needed(self, cells: Sequence[Used], table: str, written: Callable[[Node], str]) -> Needed:
        needed = Needed([], [], [])
        always = dict.fromkeys(one.node for one in cells if not one.unless)
        for node in always:
            text = written(node)
            if isinstance(node, Place) and node.is_span:
                first, last = self._span(node.key)
                needed.spans.append((text, last.row - first.row + 1))
            elif isinstance(node, Place) and not self._is_text(node, table):
                needed.numbers.append(text)
            else:
                needed.conditions.append(self._is_known(node, table, text))
        for one in cells:
            if one.unless and one.node not in always:
                known = self._is_known(one.node, table, written(one.node))
                either = ",".join(written(condition) for condition in one.unless)
                is_safe = all(map(never_fails, one.unless))
                known = f"OR({either},{known})"
                needed.conditions.append(known if is_safe else f"IFERROR({known},0)")
        return needed

    def _is_known(self, node: Node, table: str, text: str) -> str:
        """Return the condition under which a cell, or what is looked up, is known."""
        if not self._is_text(node, table):
            return f"ISNUMBER({text})"
        return f'{text}<>""' if isinstance(node, Place) else f'IFERROR({text}<>"",0)'

    def _is_text(self, node: Node, table: str) -> bool:
        key = node.key if isinstance(node, Place) else column_looked_up(node)
        if isinstance(node, Place) and not node.mark and (table, key) in self.book.columns:
            return self.book.columns[table, key].is_text
        if "." in key:
            return self.book.columns[tuple_key(key)].is_text
        return bool(key) and self.book.cells[key].is_text

    def _kind(self, node: Node, table: str) -> Dimension | None:
        """Return the dimension of a cell, or of what is looked up; None of anything else."""
        key = node.key if isinstance(node, Place) else column_looked_up(node)
        of_row = f"{table}.{key}"
        if isinstance(node, Place) and node.mark != "$" and of_row in self.book.dimensions:
            key = of_row
        return self.book.dimensions.get(key)

    def _field(self, node: Node, table: str) -> Field | None:
        """Return the input that a cell, or what is looked up, is typed into."""
        if not isinstance(node, Place):
            return self.book.fields.get(tuple_key(column_looked_up(node)))
        if not node.mark and (table, node.key) in self.book.columns:
            return self.book.fields.get((table, node.key))
        return SINGLE_INPUTS.get(node.key)

    def _is_required(self, place: Place, table: str) -> bool:
        """Return whether a formula waits for a key wherever it names it."""
        one = self._field(place, table)
        return one is None or one.required

    def _is_typed(self, node: Node, table: str) -> bool:
        """Return whether a cell, or one that is looked up, is typed and so may be empty."""
        return self._field(node, table) is not None

    # What a cell accepts

    def _validate(self, one: Field, first: int, last: int, column: int) -> None:
        letter = get_column_letter(column)
        rule = validation(one, f"{letter}{first}", self.units, self.currency)
        rule.add(f"{letter}{first}:{letter}{last}")
        self.worksheet.add_data_validation(rule)

    # Tables, states

    def name_zone(self, table: str, key: str, free: int) -> None:
        """Name a column of a table together with some free rows below it."""
        place = self.book.columns[table, key]
        ends = f"{address(place.first, place.column)}:{address(place.last + free, place.column)}"
        self._name(zone_name(table, key), ends)

    def _name(self, name: str, cells: str) -> None:
        self.book.workbook.defined_names[name] = DefinedName(
            name, attr_text=f"{quote_sheetname(self.sheet.name)}!{cells}"
        )

    def add_table(self, table: Table, header_row: int, rows: int) -> None:
        """Make the range, whose cells are written, a table that the program itself lets grow."""
        last = get_column_letter(len(table.columns))
        excel: Any = ExcelTable(
            displayName=table_name(table.key),
            ref=f"A{header_row}:{last}{header_row + rows}",
        )
        excel.tableStyleInfo = TableStyleInfo(name="TableStyleLight1", showRowStripes=False)
        excel.tableColumns = [
            TableColumn(
                id=number,
                name=heading(column, self.units, self.currency),
                calculatedColumnFormula=self._formula_of_column(column, header_row + 1, number),
            )
            for number, column in enumerate(table.columns, 1)
        ]
        excel._initialise_columns = lambda: None  # the columns are given with their headings
        self.worksheet.add_table(excel)

    def _formula_of_column(self, column: Column, row: int, number: int) -> TableFormula | None:
        """Return the formula that Excel fills in where a row is typed below a table.

        It is that of every row: columns of the row itself are named, never addressed.
        """
        if not isinstance(column, Computed):
            return None
        shown = str(self.worksheet.cell(row, number).value).removeprefix("=")
        return TableFormula(attr_text=self.book.named.get((self.sheet.name, number), shown))

    def alarm(self, cells: str, condition: str, is_warning: bool = False) -> None:
        """Let cells stand out where a condition holds; their text says it as well."""
        rule: Any = FormulaRule(formula=[condition])  # type: ignore[no-untyped-call]
        fill = styles.WARNING_FILL if is_warning else styles.ALARM_FILL
        rule.dxf = DifferentialStyle(
            font=None if is_warning else Font(bold=True, color=styles.ALARM),
            fill=PatternFill(bgColor=fill, fill_type="solid"),
        )
        self.worksheet.conditional_formatting.add(cells, rule)

    def in_small_print(self, letter: str, first: int, last: int, wraps: bool = False) -> None:
        """Let the texts of a column of cells be small, so that a sentence fits on its lines."""
        model = self.worksheet[f"{letter}{first}"]
        style = "farm small wrapped text" if wraps else "farm small result text"
        self._dress(model, style, dimension_of("state"))
        for row in range(first + 1, last + 1):
            self.worksheet[f"{letter}{row}"]._style = model._style


def enter(cell: Any, value: Value) -> None:
    """Put a value into a cell as it was typed: text stays text, an error an error.

    Errors that only some programs know, such as #SPILL!, become text.

    Parameters
    ----------
    cell : openpyxl cell
        Where to write.
    value : Value
        What to write; nothing leaves the cell as it is.
    """
    if isinstance(value, CellError) and value.code in ERROR_CODES:
        cell.value = value.code
        cell.data_type = "e"
    elif isinstance(value, str | CellError):
        write_text(cell, value.code if isinstance(value, CellError) else value)
    elif value is not None:
        if isinstance(value, date | time):  # the library sets a format, and others share this one
            cell._style = copy(cell._style)
        cell.value = value


def _result_style(dimension: Dimension) -> str:
    return "farm result text" if dimension.name == "state" else "farm result"
