"""A sentence that names what is still blank, so that nobody wonders why a result is empty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cultivar_fx.formula.text import plain
from cultivar_fx.formula.tree import Node, Place, walk
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import dimension_of
from workbook_template.schema.figures import PLANNED
from workbook_template.writing.blocks import Calculated, Form
from workbook_template.writing.formulas import column_looked_up, used
from workbook_template.writing.layout import tuple_key

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workbook_template.writing.formulas import Used
    from workbook_template.writing.writer import Writer

_LINES = 2


@dataclass(frozen=True)
class Missing:
    """What the results of a sheet wait for: found by following their templates to the inputs.

    All computed cells of the sheet's forms count, but for those that wait for an input that may
    be left out. ``results`` are those without which something is missing, whatever is typed;
    ``notes`` gives sentences of other sheets on what is missing there, each with the result that
    stays blank meanwhile; ``also`` gives inputs that may be left out elsewhere, each with the
    condition under which it is missing here.
    """

    results: Sequence[str]
    title: str = "Still to fill in"
    notes: Sequence[tuple[str, str]] = ()
    also: Sequence[tuple[str, str]] = ()

    def height(self) -> int:
        """Return the number of rows, the gap behind included."""
        return 3

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""

    def write(self, writer: Writer, row: int) -> None:
        """Write the rows from the given one."""
        writer.section(row, self.title)
        writer.wide_text(row + 1, "", "farm text")
        writer.worksheet.row_dimensions[row + 1].height = 15.0 * _LINES
        seen: set[str] = set()
        blanks = {**dict(_blanks(writer, self.results, seen)), **dict(self.also)}
        others = dict(_blanks(writer, _computed(writer), seen))
        words = [f'REPT("{name}; ",({blank})*1)' for name, blank in (blanks | others).items()]
        words += [
            f'IFERROR(REPT({words}&"; ",({{{result}}}="")*1),"")' for words, result in self.notes
        ]
        all_known = "*".join(f'({{{result}}}<>"")' for result in self.results)
        typed = "".join(f"*(1-({blank}))" for name, blank in others.items() if name not in blanks)
        words.append(f'REPT("nothing",{all_known}{typed})')
        state = dimension_of("state")
        writer.formula(row + 1, 1, "&".join(words), state, "farm text", waits=False)


def _computed(writer: Writer) -> list[str]:
    """Return the computed cells of the forms of a sheet."""
    forms = (block for block in writer.sheet.blocks if isinstance(block, Form))
    lines = (line for form in forms for line in form.rows if isinstance(line, Calculated))
    return [line.key for line in lines]


def _may_stay_blank(line: Calculated) -> bool:
    """Return whether a result waits for an input that may be left out."""
    inputs = (SINGLE_INPUTS[key] for key in line.waits_for if key in SINGLE_INPUTS)
    return any(not one.required for one in inputs)


def _blanks(writer: Writer, keys: Sequence[str], seen: set[str]) -> Iterator[tuple[str, str]]:
    """Yield each thing that some keys rest on, with the condition under which it is blank."""
    for key in keys:
        if key in seen or "." in key:
            continue
        seen.add(key)
        if key in SINGLE_INPUTS:
            if SINGLE_INPUTS[key].required:
                yield _named(writer, key, SINGLE_INPUTS[key].label), f'{{{key}}}=""'
        elif (line := writer.book.forms.get(key)) and not _may_stay_blank(line):
            cells = used(line.formula)
            below = [part for one in cells for part in _keys(writer, one.node)]
            yield from _blanks(writer, [*below, *line.waits_for], seen)
            for one in cells:
                yield from _not_found(one)


def _keys(writer: Writer, node: Node) -> list[str]:
    """Return the keys of a cell, or of all cells of a run of them."""
    if not isinstance(node, Place):
        return []
    if not node.is_span:
        return [node.key]
    forms = list(writer.book.forms)
    first, _, last = node.key.partition(":")
    return forms[forms.index(first) : forms.index(last) + 1]


def _not_found(cell: Used) -> Iterator[tuple[str, str]]:
    """Yield what is blank in the row of a table that was chosen, where a formula asks for it."""
    grid, key = tuple_key(column_looked_up(cell.node))
    table = TABLES.get(PLANNED.get(grid, grid))
    if table is None:
        return
    column, found = table.column(key), plain(cell.node)
    known = f'IFERROR(({found}<>"")*1,0)' if column.dimension.is_text else f"ISNUMBER({found})*1"
    chosen = [f'({plain(one)}<>"")' for one in walk(cell.node) if _is_cell(one)]
    if chosen:  # else it is the list itself that may be empty
        asked = [f"(1-IFERROR(({plain(one)})*1,0))" for one in cell.unless]
        blank = "*".join([*chosen, *asked, f"(1-{known})"])
        yield f"{column.label} ({table.title})", blank


def _is_cell(node: Node) -> bool:
    return isinstance(node, Place) and not node.is_column


def _named(writer: Writer, key: str, label: str) -> str:
    sheet = writer.book.cells[key].sheet
    return label if sheet == writer.sheet.name else f"{label} ({sheet})"
