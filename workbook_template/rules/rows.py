"""The rules of rows: how each is counted on a sheet, and which rows of a table break it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from workbook_template.rules.cells import Context, as_text
from workbook_template.writing.accepted import needed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from workbook_template.schema.fields import Field, Table
    from workbook_template.writing.book import Value

    Rows = Sequence[Mapping[str, Value]]


class Broken(NamedTuple):
    """A broken rule: the number of the row, from 0; the key of the column; what is wrong."""

    row: int
    key: str
    sentence: str


@dataclass(frozen=True)
class RowRule(ABC):
    """One thing that the rows of a table have to be."""

    context: Context

    @abstractmethod
    def line(self, table: Table) -> str:
        """Return the line of the sheet Checks."""

    @abstractmethod
    def count(self, table: Table) -> str:
        """Return the template that counts what breaks the rule; empty where nothing can."""

    @abstractmethod
    def broken(self, table: Table, rows: Rows) -> Iterator[Broken]:
        """Yield what breaks the rule, of what is typed into each row, by column."""


class Finished(RowRule):
    """A row has all that it needs."""

    def line(self, table: Table) -> str:
        """Return the line of the sheet Checks."""
        return f"{table.title}: rows with a blank that is needed"

    def count(self, table: Table) -> str:
        """Return the template that counts the blanks."""
        # LibreOffice counts nothing where the first condition is that a cell is blank.
        return "+".join(
            f'COUNTIFS({_first(table)},"<>",{{{table.key}.{one.key}}},"")' for one in _needed(table)
        )

    def broken(self, table: Table, rows: Rows) -> Iterator[Broken]:
        """Yield the blanks."""
        for number, row in enumerate(rows):
            for one in _needed(table) if table.first.key in row else ():
                if one.key not in row:
                    text = self._needed(one) if one.is_number else "a text"
                    words = f"{one.label}: is blank, and the row needs it ({text})."
                    yield Broken(number, one.key, words)

    def _needed(self, field: Field) -> str:
        return needed(field, self.context.units, self.context.currency)


def _needed(table: Table) -> list[Field]:
    return [one for one in table.fields[1:] if one.required]


class Begun(RowRule):
    """A row has what makes it one."""

    def line(self, table: Table) -> str:
        """Return the line of the sheet Checks."""
        return f"{table.title}: rows without {table.first.label.lower()}"

    def count(self, table: Table) -> str:
        """Return the template that counts what stands in such rows."""
        return "+".join(
            f'COUNTIFS({{{table.key}.{one.key}}},"<>",{_first(table)},"")'
            for one in table.fields[1:]
            if table.first.required
        )

    def broken(self, table: Table, rows: Rows) -> Iterator[Broken]:
        """Yield the rows."""
        words = f"The row has no {table.first.label.lower()}, so nothing counts it."
        for number, row in enumerate(rows):
            if row and table.first.required and table.first.key not in row:
                yield Broken(number, table.first.key, words)


class NamedOnce(RowRule):
    """A name stands once, where names tell the rows apart."""

    def line(self, table: Table) -> str:
        """Return the line of the sheet Checks."""
        return f"{table.title}: rows whose name stands twice"

    def count(self, table: Table) -> str:
        """Return the template that counts the rows."""
        return f'COUNTIF({{{table.key}.times_named}},">1")' if table.unique else ""

    def broken(self, table: Table, rows: Rows) -> Iterator[Broken]:
        """Yield the rows."""
        key, label = table.first.key, table.first.label
        names = [as_text(row[key]) if key in row else "" for row in rows]
        times = Counter(names)
        for number, name in enumerate(names):
            if table.unique and name and times[name] > 1:
                yield Broken(number, key, f"{label}: this name stands {times[name]} times here.")


def _first(table: Table) -> str:
    return f"{{{table.key}.{table.first.key}}}"


ROW_RULES: tuple[type[RowRule], ...] = (Finished, Begun, NamedOnce)
