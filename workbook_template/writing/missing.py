"""A sentence that names what is still blank, so that nobody wonders why a result is empty."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import dimension_of
from workbook_template.writing.formulas import keys_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from workbook_template.writing.writer import Writer

_LOOKED_UP = re.compile(r"INDEX\(\{(\w+)\.\w+\},MATCH")
_LINES = 2


@dataclass(frozen=True)
class Missing:
    """What some results of forms wait for: found by following their templates to the inputs."""

    results: Sequence[str]
    title: str = "Still to fill in"

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return 3

    def place(self, writer: Writer, row: int) -> None:
        """Say where the cells of the block are."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, self.title)
        writer.wide_text(row + 1, "", "farm text")
        writer.worksheet.row_dimensions[row + 1].height = 15.0 * _LINES
        blanks = dict(_blanks(writer, self.results, set()))
        words = "&".join(f'REPT("{name}; ",({blank})*1)' for name, blank in blanks.items())
        none = f'REPT("nothing",({"+".join(f"({one})" for one in blanks.values())}=0)*1)'
        template = f"{words}&{none}"
        writer.formula(row + 1, 1, template, dimension_of("state"), "farm text", waits=False)


def _blanks(writer: Writer, keys: Sequence[str], seen: set[str]) -> Iterator[tuple[str, str]]:
    """Give each thing that some keys rest on, with the condition under which it is blank."""
    for key in keys:
        if key in seen or "." in key:
            continue
        seen.add(key)
        if key in SINGLE_INPUTS:
            if SINGLE_INPUTS[key].required:
                yield _named(writer, key, SINGLE_INPUTS[key].label), f'{{{key}}}=""'
            continue
        line = writer.book.forms.get(key)
        if line is None:
            continue
        needed = [one for one in (*keys_of(line.formula), *line.waits_for) if "." not in one]
        yield from _blanks(writer, needed, seen)
        if (found := _LOOKED_UP.search(line.formula)) and len(needed) == 1:
            where = TABLES[found[1]].title if found[1] in TABLES else ""
            yield f"{line.label} ({where})", f'({{{needed[0]}}}<>"")*({{{key}}}="")'


def _named(writer: Writer, key: str, label: str) -> str:
    sheet = writer.book.cells[key].sheet
    return label if sheet == writer.sheet.name else f"{label} ({sheet})"
