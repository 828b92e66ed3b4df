"""What a sheet is made of: forms, grids, tables, texts. Each knows its rows and writes itself.

A sheet is laid out first, so that every cell has its address, and written afterwards, when any
formula can name any cell.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import TYPE_CHECKING, NamedTuple, Protocol

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break

from cultivar_fx.catalog.dimensions import METRIC
from workbook_template.rules.to_fix import FAULT, WARNING, labels, names, to_fix
from workbook_template.schema.fields import (
    TO_FIX,
    Column,
    Computed,
    Counter,
    Field,
    Table,
    dimension_of,
    heading,
    is_working,
    width_of,
)
from workbook_template.writing.layout import telling_columns

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from cultivar_fx.catalog.dimensions import Dimension
    from workbook_template.writing.layout import Entries, Value
    from workbook_template.writing.writer import Writer

LABEL, VALUE, UNIT, NOTE = 1, 2, 3, 4
FIRST_ROW = 5
"""Rows 1 to 3 hold the title, the purpose and the state of the checks."""
_ROWS_BELOW = 50
"""Rows below the last table of a sheet that are looked at for what was typed there."""


@dataclass(frozen=True)
class Settings:
    """What a workbook is made for."""

    units: str = METRIC
    currency: str = "$"
    invented: bool = False
    batch_rows: int = 100
    typed_functions: bool = True


@dataclass(frozen=True)
class Calculated:
    """One computed cell of a form; see ``Computed`` for its template."""

    key: str
    label: str
    unit: str
    formula: str
    note: str = ""
    is_key: bool = False
    waits_for: Sequence[str] = ()
    comes_from: str = ""
    """The sheet that its label leads to."""

    @property
    def dimension(self) -> Dimension:
        """The kind of quantity."""
        return dimension_of(self.unit)


@dataclass(frozen=True)
class NewPage:
    """Lets what follows start on a new printed page."""

    def height(self) -> int:
        """Count the rows: it takes none."""
        return 0

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""

    def write(self, writer: Writer, row: int) -> None:
        """Break the page above the gap before the given row."""
        writer.worksheet.row_breaks.append(Break(id=row - 2))


class Check(NamedTuple):
    """One check: faults found against what is allowed, both as templates.

    Attributes
    ----------
    words : str
        What is checked.
    found, allowed : str
        Templates; the check holds where what is found is no more than what is allowed.
    is_warning : bool
        Whether it only asks to check something that may well be right.
    """

    words: str
    found: str
    allowed: str = "0"
    is_warning: bool = False


ROUNDING = "{rounding}"
"""What a balance may be off: an input of the Checks sheet."""


class Block(Protocol):
    """A part of a sheet that takes some rows."""

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        ...

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        ...

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        ...


@dataclass(frozen=True)
class Form:
    """Labels with one value each: inputs and what is computed from them."""

    title: str
    rows: Sequence[Field | Calculated]

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return len(self.rows) + 2

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        for offset, line in enumerate(self.rows, 1):
            words = line.dimension.is_text
            writer.place_cell(line.key, row + offset, VALUE, isinstance(line, Field), words)
            writer.book.dimensions[line.key] = line.dimension
            if isinstance(line, Calculated):
                writer.book.forms[line.key] = line

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, self.title)
        for offset, line in enumerate(self.rows, 1):
            here = row + offset
            if isinstance(line, Calculated) and line.comes_from:
                writer.link(here, LABEL, line.comes_from, line.label)
            else:
                writer.text(here, LABEL, line.label, "farm label")
            writer.shrink(here, LABEL)
            writer.text(here, UNIT, writer.unit(line.dimension), "farm unit")
            if isinstance(line, Field):
                writer.input(here, VALUE, line, writer.value_of(line))
                writer.note(here, NOTE, line)
            else:
                writer.formula(
                    here,
                    VALUE,
                    line.formula,
                    line.dimension,
                    self._style(line),
                    waits_for=line.waits_for,
                )
                writer.text(here, NOTE, line.note, "farm note")

    @staticmethod
    def _style(line: Calculated) -> str | None:
        """Name the style of a result; a sentence runs beyond its cell, and has no box to leave."""
        if line.dimension.is_text:
            return "farm key said" if line.is_key else "farm said"
        return "farm key result" if line.is_key else None


@dataclass(frozen=True)
class Grid:
    """A list of fixed length, one relative formula a column, that is no growing table.

    Its intermediate steps stand in the same rows of the sheet's workings.
    """

    key: str
    title: str
    columns: Sequence[Column]
    rows: int
    totals: Sequence[str] = ()
    is_in_workings: bool = False
    """Whether all of it stands in the workings, where no column is out of sight."""
    rows_for: Callable[[Entries], int] | None = None
    """Counts the rows that it takes for what is typed, where these may be more or fewer."""

    @property
    def shown(self) -> list[Column]:
        """The columns that stand on the sheet itself."""
        return [one for one in self.columns if self.is_in_workings or not is_working(one)]

    @property
    def workings(self) -> list[Column]:
        """The columns that stand in the same rows of the workings."""
        return [one for one in self.columns if not self.is_in_workings and is_working(one)]

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return self.rows + 3 + bool(self.totals)

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        self.place_columns(writer, row, self.shown)
        for number, column in enumerate(self.shown, 1):
            if column.key in self.totals:
                key = f"{self.key}_{column.key}_total"
                writer.place_cell(key, row + 2 + self.rows, number, is_input=False)

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        self.write_columns(writer, row, self.shown)
        if self.totals:
            last = row + 2 + self.rows
            writer.text(last, 1, "Total", "farm label")
            for number, column in enumerate(self.shown, 1):
                if column.key in self.totals:
                    cells = f"{{{self.key}.{column.key}}}"
                    used = f'MAX(1,COUNTIF({{{self.key}.{self.columns[0].key}}},"?*"))'
                    template = f'CHOOSE(1+(COUNT({cells})<{used}),SUM({cells}),"")'
                    writer.formula(last, number, template, column.dimension, "farm key result")

    def place_columns(self, writer: Writer, row: int, columns: Sequence[Column]) -> None:
        """Note where some of the columns are."""
        for number, column in enumerate(columns, 1):
            writer.place_table_column(self.key, column, row + 2, row + 1 + self.rows, number)

    def write_columns(self, writer: Writer, row: int, columns: Sequence[Column]) -> None:
        """Write some of the columns, with the title above them."""
        writer.section(row, self.title)
        for number, column in enumerate(columns, 1):
            writer.heading(row + 1, number, column)
            writer.table_column(self.key, column, row + 2, number, self._values(writer, column))
            if isinstance(column, Field):
                writer.name_column(self.key, column.key)

    def _values(self, writer: Writer, column: Column) -> list[Value]:
        if isinstance(column, Counter):
            return list(range(1, self.rows + 1))
        typed = writer.rows_of(self.key)
        known = [line.get(column.key) for line in typed]
        return known + [None] * (self.rows - len(known))


@dataclass(frozen=True)
class TableBlock:
    """A growing table: the rows that are typed, and empty ones behind them."""

    table: Table
    more_rows: int = 0
    exact_rows: int = 0

    @property
    def rows(self) -> int:
        """The rows of the table: its own number or the larger one asked for, or exactly so many."""
        return self.exact_rows or max(self.table.rows, self.more_rows)

    @property
    def columns(self) -> Sequence[Column]:
        """The columns of the table."""
        return self.table.columns

    @property
    def shown(self) -> list[Column]:
        """The columns that a person reads; the workings come behind them."""
        return [column for column in self.table.columns if not is_working(column)]

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return self.rows + 3

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        for number, column in enumerate(self.table.columns, 1):
            writer.place_table_column(
                self.table.key,
                column,
                row + 2,
                row + 1 + self.rows,
                number,
                structured=heading(column, writer.units, writer.currency),
            )

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, self.table.title)
        known = writer.rows_of(self.table.key)
        for number, column in enumerate(self.table.columns, 1):
            writer.heading(row + 1, number, column)
            values = [line.get(column.key) for line in known] + [None] * (self.rows - len(known))
            if isinstance(column, Computed) and column.key == TO_FIX:
                says = replace(column, formula=to_fix(self.table, writer.units))
                writer.table_column(self.table.key, says, row + 2, number, values, waits=False)
            else:
                writer.table_column(self.table.key, column, row + 2, number, values)
        self._mark(writer, row + 2)
        writer.add_table(self.table, row + 1, self.rows)
        # Where another block follows, the gap before it is all that is free.
        free = _ROWS_BELOW if writer.sheet.blocks[-1] is self else 1
        for one in telling_columns(self.table):
            writer.name_zone(self.table.key, one.key, free)

    def _mark(self, writer: Writer, first: int) -> None:
        """Let the cells stand out that the row's text names, and the text itself."""
        letters = {
            column.key: get_column_letter(number)
            for number, column in enumerate(self.table.columns, 1)
        }
        said, last = f"${letters[TO_FIX]}{first}", first + self.rows - 1
        for key, label in labels(self.table).items():
            cells = f"{letters[key]}{first}:{letters[key]}{last}"
            writer.alarm(cells, names(said, label, FAULT))
        for key in dict.fromkeys(rule.key for rule in self.table.warnings):
            cells = f"{letters[key]}{first}:{letters[key]}{last}"
            label = self.table.column(key).label
            writer.alarm(cells, names(said, label, WARNING), is_warning=True)
        writer.in_small_print(letters[TO_FIX], first, last)
        writer.alarm(
            f"{letters[TO_FIX]}{first}:{letters[TO_FIX]}{last}",
            f'ISNUMBER(FIND("{FAULT}",{said}))',
        )


@dataclass(frozen=True)
class Lines:
    """A section of sentences, one a row, over the width of the sheet."""

    title: str
    lines: Sequence[str]
    style: str = "farm note"

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return len(self.lines) + 2

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, self.title)
        for offset, line in enumerate(self.lines, 1):
            writer.wide_text(row + offset, line, self.style)


@dataclass(frozen=True)
class Custom:
    """Rows that a sheet module writes itself."""

    rows: int
    writing: Callable[[Writer, int], None]
    placing: Callable[[Writer, int], None] | None = None

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return self.rows + 1

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        if self.placing is not None:
            self.placing(writer, row)

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        self.writing(writer, row)


@dataclass(frozen=True)
class Sheet:
    """One sheet: its name, what it is for, and its blocks from top to bottom."""

    name: str
    purpose: str
    blocks: Sequence[Block]
    widths: Sequence[float] = ()
    """Of the columns from the left; those of tables behind them have their own."""
    landscape: bool = False
    pages_high: int = 0
    """On how many pages at most it is printed, which leaves no say in where they break; 0 for as
    many as it takes."""
    checks: Sequence[Check] = ()
    workings: Sequence[Block] = ()
    """The lists that it is computed from and that nobody reads, on a sheet of their own."""
    printed_columns: int = 0
    """How many of the columns are printed; 0 prints all but the workings."""
    printed_to: str = ""
    """The key of the last column of its table that is printed, where not all of them are."""
    printed_blocks: int = 0
    """How many of its blocks are printed; 0 prints all of them."""
    rows_a_page: int = 0
    """Of a long log: it is printed as far as it is filled in, in whole pages of so many rows."""
    is_workings: bool = False
    """Whether it holds the workings of another sheet."""
    stage: str = ""
    """The stage of the work that it belongs to, by which its tab is colored; given in one place,
    where the sheets are listed."""
    set_page: Callable[[Writer], None] | None = None
    """Sets the page up by itself, where the usual page does not do."""

    def __post_init__(self) -> None:
        """Add the widths of the columns of tables, and how many of them are read and printed."""
        if self.pages_high and any(isinstance(block, NewPage) for block in self.blocks):
            raise ValueError(f"{self.name}: programs that fit pages ignore where they shall break")
        grown = [block for block in self.blocks if isinstance(block, TableBlock | Grid)]
        shown = max([len(self.widths), *(len(block.shown) for block in grown)], default=0)
        tables = [
            block.columns if isinstance(block, TableBlock) else block.shown for block in grown
        ]
        side_by_side = zip_longest(*(map(width_of, columns) for columns in tables), fillvalue=0.0)
        own = [max(widths) for widths in side_by_side]
        object.__setattr__(self, "widths", (*self.widths, *own[len(self.widths) :]))
        object.__setattr__(self, "printed_columns", self.printed_columns or shown)

    @property
    def parts(self) -> Sequence[Block]:
        """All its blocks, those in the workings included."""
        return (*self.blocks, *self.workings)

    @property
    def is_log(self) -> bool:
        """Return whether the sheet is one growing table and nothing else."""
        return len(self.blocks) == 1 and self.has_table

    @property
    def head_rows(self) -> int:
        """The rows that stay in sight and are repeated on every page."""
        return FIRST_ROW + 1 if self.is_log else FIRST_ROW - 2

    @property
    def has_table(self) -> bool:
        """Return whether the sheet holds a growing table, and so is not protected."""
        return any(isinstance(block, TableBlock) for block in self.blocks)

    @property
    def last_column(self) -> str:
        """The letter of the last column that is printed."""
        keys = [
            column.key
            for block in self.blocks
            if isinstance(block, TableBlock)
            for column in block.columns
        ]
        printed = keys.index(self.printed_to) + 1 if self.printed_to else self.printed_columns
        return get_column_letter(printed)
