"""A sentence that names what is still blank, so that nobody wonders why a result is empty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cultivar_fx.formula.text import plain
from cultivar_fx.formula.tree import Node, Place, walk
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import dimension_of
from workbook_template.writing.formulas import column_looked_up, used
from workbook_template.writing.layout import tuple_key

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workbook_template.writing.writer import Writer

_LINES = 2


@dataclass(frozen=True)
class Missing:
    """What some results of forms wait for: found by following their templates to the inputs.

    ``notes`` gives sentences of other sheets on what is missing there, each with the result that
    stays blank meanwhile.
    """

    results: Sequence[str]
    title: str = "Still to fill in"
    notes: Sequence[tuple[str, str]] = ()

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
        blanks = dict(_blanks(writer, self.results, set()))
        words = [f'REPT("{name}; ",({blank})*1)' for name, blank in blanks.items()]
        words += [
            f'IFERROR(REPT({words}&"; ",({{{result}}}="")*1),"")' for words, result in self.notes
        ]
        all_known = "*".join(f'({{{result}}}<>"")' for result in self.results)
        words.append(f'REPT("nothing",{all_known})')
        state = dimension_of("state")
        writer.formula(row + 1, 1, "&".join(words), state, "farm text", waits=False)


def _blanks(writer: Writer, keys: Sequence[str], seen: set[str]) -> Iterator[tuple[str, str]]:
    """Yield each thing that some keys rest on, with the condition under which it is blank."""
    for key in keys:
        if key in seen or "." in key:
            continue
        seen.add(key)
        if key in SINGLE_INPUTS:
            if SINGLE_INPUTS[key].required:
                yield _named(writer, key, SINGLE_INPUTS[key].label), f'{{{key}}}=""'
        elif line := writer.book.forms.get(key):
            cells = [one.node for one in used(line.formula)]
            below = [part for node in cells for part in _keys(writer, node)]
            yield from _blanks(writer, [*below, *line.waits_for], seen)
            for node in dict.fromkeys(cells):
                yield from _not_found(node)


def _keys(writer: Writer, node: Node) -> list[str]:
    """Return the keys of a cell, or of all cells of a run of them."""
    if not isinstance(node, Place):
        return []
    if not node.is_span:
        return [node.key]
    forms = list(writer.book.forms)
    first, _, last = node.key.partition(":")
    return forms[forms.index(first) : forms.index(last) + 1]


def _not_found(node: Node) -> Iterator[tuple[str, str]]:
    """Yield what is blank in the row of a table that was chosen."""
    table, key = tuple_key(column_looked_up(node))
    if table not in TABLES:
        return
    column = TABLES[table].column(key)
    found = plain(node)
    known = f'IFERROR(({found}<>"")*1,0)' if column.dimension.is_text else f"ISNUMBER({found})*1"
    chosen = [f'({plain(one)}<>"")' for one in walk(node) if _is_cell(one)]
    yield f"{column.label} ({TABLES[table].title})", "*".join([*chosen, f"(1-{known})"])


def _is_cell(node: Node) -> bool:
    return isinstance(node, Place) and not node.is_column


def _named(writer: Writer, key: str, label: str) -> str:
    sheet = writer.book.cells[key].sheet
    return label if sheet == writer.sheet.name else f"{label} ({sheet})"
