"""A workbook in the making: what is typed into it, where everything is, and what it is called."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils import get_column_letter, quote_sheetname
from openpyxl.workbook.defined_name import DefinedName

from cultivar_fx.errors import CellError
from workbook_template.schema import SINGLE_INPUTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from openpyxl import Workbook

    from cultivar_fx.catalog.dimensions import Dimension
    from workbook_template.safety.looks import Look
    from workbook_template.schema.fields import Field, Table
    from workbook_template.writing.blocks import Calculated, Settings
    from workbook_template.writing.dressing import Dressed
    from workbook_template.writing.saving import Filled

_NAMED = "input_"
_BARE_NAMES = 1
"""The version of the schema whose names were the keys alone."""

Value = float | str | date | time | timedelta | CellError | None


class CellPlace(NamedTuple):
    """Where one cell is."""

    sheet: str
    row: int
    column: int
    is_input: bool
    is_text: bool = False


class ColumnPlace(NamedTuple):
    """Where a column of a table or grid is; with a heading it is referred to by name."""

    sheet: str
    first: int
    last: int
    column: int
    heading: str
    is_text: bool = False


@dataclass
class Entries:
    """What is typed into a workbook, in its own units, by the keys of the schema."""

    singles: dict[str, Value] = field(default_factory=dict)
    tables: dict[str, list[dict[str, Value]]] = field(default_factory=dict)
    carried: list[list[Value]] = field(default_factory=list)
    """The lines of the Carried over sheet; without any there is no such sheet."""
    sheets: dict[str, dict[tuple[int, int], Value]] = field(default_factory=dict)
    """Long sheets of the grower's own, which are no lines: their cells, by row and column."""
    looks: dict[Dressed, Look] = field(default_factory=dict)
    """Colors and fonts of the grower's own on cells and labels, by what these are."""
    widths: dict[tuple[str, int], float] = field(default_factory=dict)
    """Widths of columns that the grower changed, by sheet and number."""
    originals: dict[tuple[str, str, float], float] = field(default_factory=dict)
    """Numbers that do not come back bit for bit from a conversion: what each was, by the system
    that it was in, the key of its input and what it is now."""


@dataclass
class Book:
    """A workbook in the making: its units, what is typed into it, and where everything is."""

    workbook: Workbook
    settings: Settings
    entries: Entries
    cells: dict[str, CellPlace] = field(default_factory=dict)
    columns: dict[tuple[str, str], ColumnPlace] = field(default_factory=dict)
    fields: dict[tuple[str, str], Field] = field(default_factory=dict)
    forms: dict[str, Calculated] = field(default_factory=dict)
    dimensions: dict[str, Dimension] = field(default_factory=dict)
    """The kind of quantity of each cell of a form by its key, of each column by table.key."""
    filled: list[Filled] = field(default_factory=list)
    """The formulas that are stored once, and shared."""
    named: dict[tuple[str, int], str] = field(default_factory=dict)
    """The formulas of tables whose cells address their own row, by sheet and column: as the table
    fills them in, with the names of its columns."""
    looks: dict[tuple[str, Dimension | None], Any] = field(default_factory=dict)
    """The library's form of each style with a number format."""

    def name_lists(self) -> None:
        """Name each column that some choice offers."""
        chosen = [*SINGLE_INPUTS.values(), *self.fields.values()]
        for choices in dict.fromkeys(one.choices for one in chosen if "." in one.choices):
            place = self.columns[tuple_key(choices)]
            ends = f"{address(place.first, place.column)}:{address(place.last, place.column)}"
            name = list_name(choices)
            self.workbook.defined_names[name] = DefinedName(
                name, attr_text=f"{quote_sheetname(place.sheet)}!{ends}"
            )


def input_name(key: str) -> str:
    """Name the cells of a key: no function's argument or step may begin as such a name does.

    In a typed function a name of the workbook would stand for the cell and not for the argument.
    """
    return _NAMED + key


def start_key(key: str) -> str:
    """Return the key of the cell that holds what an input of a new workbook starts with."""
    return f"start_{key}"


def name_in(version: int, name: str) -> str:
    """Return what a name of ours is in workbooks of a version of the schema."""
    return name if version > _BARE_NAMES else name.removeprefix(_NAMED)


def list_name(choices: str) -> str:
    """Name the list behind a choice from a table column."""
    return input_name(choices.replace(".", "_") + "_list")


def grid_name(grid: str, key: str) -> str:
    """Name the cells of a grid that are typed into."""
    return input_name(f"{grid}_{key}")


def telling_columns(table: Table) -> Sequence[Field]:
    """Return the columns that a row of a table surely has something in, two at most."""
    return [one for one in table.fields if one.required or one is table.first][:2]


def zone_name(table: str, key: str) -> str:
    """Name a column of a table together with the cells below that may be taken for its own."""
    return input_name(f"{table}_{key}_zone")


def table_name(key: str) -> str:
    """Return the name that a table has in the program."""
    return key.capitalize()


def tuple_key(dotted: str) -> tuple[str, str]:
    """Part ``table.column``."""
    table, _, column = dotted.partition(".")
    return table, column


def address(row: int, column: int) -> str:
    """Return an absolute address, such as ``$B$7``."""
    return f"${get_column_letter(column)}${row}"
