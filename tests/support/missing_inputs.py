"""Workbooks with something missing, as three engines see them: no cell differs, none errs.

Every filled input of the demo by itself, the last row of each table, and workbooks that are
filled only so far, sheet by sheet. A grower who has not typed a figure yet sees empty cells and
a sentence, never an error, and the same in every program.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, NamedTuple

from openpyxl.utils import get_column_letter
from second_engine import Cell, Package, differences, engine_values, errors, office_values

from workbook_template.build import lay_out
from workbook_template.demo.data import demo_entries
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.writing.layout import Entries
from workbook_template.writing.saving import workbook_bytes
from workbook_template.writing.stored_values import with_stored_values

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from office import Document, Office
    from second_engine import Values

    from workbook_template.schema.fields import Field
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.layout import Book, Value

SHOWN = 10
"""So many faults of a case are named; most follow from one of them."""


class Case(NamedTuple):
    """A workbook with something missing: what it is, and the cells that are cleared for it."""

    words: str
    cells: Sequence[Cell]


class Opened:
    """A workbook, laid out, and open in LibreOffice."""

    def __init__(self, book: Book, content: bytes, document: Document) -> None:
        self.book = book
        self.content = content
        self._bare = Package(content).without_values()
        self._document = document

    def faults(self, case: Case) -> list[str]:
        """Clear the cells of a case, let three engines compute, and give what is wrong."""
        content = self._bare.without(case.cells).content()
        with ThreadPoolExecutor(1) as beside:
            shown = beside.submit(self._document.without, case.cells)
            stored = Package(with_stored_values(content)).stored_values()
            engine = engine_values(content, stored)
            office = office_values(shown.result(), stored)
        return faults(stored, office, engine, content)

    def whole(self) -> tuple[Values, Values, Values]:
        """Return what is stored in the file as it is, and what the two others compute from it."""
        stored = Package(self.content).stored_values()
        self._document.calculate()
        return (
            stored,
            office_values(self._document.values(), stored),
            engine_values(self._bare.content(), stored),
        )

    def inputs(self, every_row: bool = False) -> list[Case]:
        """Return every filled input by itself; of each column the first one, or all of them."""
        return [
            Case(f"without {key} in {cell.address}", [cell])
            for key, cells in self._typed().items()
            for cell in (cells if every_row else cells[:1])
        ]

    def last_rows(self) -> list[Case]:
        """Return each table's last filled row."""
        typed = self._typed()
        cases = []
        for key, table in TABLES.items():
            columns = [typed[f"{key}.{field.key}"] for field in table.fields]
            last = max(_row(cell) for cells in columns for cell in cells)
            row = [cell for cells in columns for cell in cells if _row(cell) == last]
            cases.append(Case(f"without the last row of {key}", row))
        return cases

    def steps(self) -> list[Case]:
        """Return the workbook as it is filled sheet by sheet; what starts with a value keeps it."""
        typed = [
            cell
            for key, cells in self._typed().items()
            if not self._starts_filled(key)
            for cell in cells
        ]
        sheets = [
            name for name in self.book.workbook.sheetnames if name in {c.sheet for c in typed}
        ]
        return [
            Case(f"filled up to {name}", [cell for cell in typed if cell.sheet in sheets[number:]])
            for number, name in enumerate(["nothing", *sheets])
        ]

    def _starts_filled(self, key: str) -> bool:
        field = SINGLE_INPUTS.get(key)
        return field is not None and field.start_value(self.book.settings.units) is not None

    def _typed(self) -> dict[str, list[Cell]]:
        """Return the filled cells of each input, and of each column by ``table.column``."""
        places = {
            key: (at.sheet, at.column, at.row, at.row)
            for key, at in self.book.cells.items()
            if at.is_input
        }
        for table, key in self.book.fields:
            at = self.book.columns[table, key]
            places[f"{table}.{key}"] = (at.sheet, at.column, at.first, at.last)
        return {key: list(self._filled(*place)) for key, place in places.items()}

    def _filled(self, sheet: str, column: int, first: int, last: int) -> Iterator[Cell]:
        worksheet = self.book.workbook[sheet]
        for row in range(first, last + 1):
            if worksheet.cell(row, column).value is not None:
                yield Cell(sheet, f"{get_column_letter(column)}{row}")


def faults(stored: Values, office: Values, engine: Values, content: bytes) -> list[str]:
    """Return what others compute differently from the stored values, and every error."""
    named = {"stored": stored, "LibreOffice": office, "betteroffice-xlsx": engine}
    erring = [
        f"{cell} shows {error.code} ({name})"
        for name, values in named.items()
        for cell, error in errors(values).items()
    ]
    differing = [
        f"{one} ({name}, stored)"
        for name, values in list(named.items())[1:]
        for one in differences(values, stored, content)
    ]
    return erring + differing


@contextmanager
def opened(
    office: Office, settings: Settings, entries: Entries | None, path: Path | None = None
) -> Iterator[Opened]:
    """Lay a workbook out, store its values, and open it in LibreOffice, or its file if named."""
    book = lay_out(settings, entries)
    content = with_stored_values(workbook_bytes(book.workbook, book.filled))
    with TemporaryDirectory() as folder:
        new = Path(folder, "workbook.xlsx")
        new.write_bytes(content)
        with office.kept(path) if path else office.document(new) as document:
            yield Opened(book, content, document)


def first_rows(units: str) -> Entries:
    """Return what the invented farm typed first: one row of each table, and the single inputs.

    What a new workbook starts with stays as it is, and nothing is chosen that is not there yet.
    """
    demo = demo_entries(units)
    rows = {key: typed[0] for key, typed in demo.tables.items()}

    def first(field: Field, value: Value) -> Value:
        table, _, column = field.choices.partition(".")
        return value if value is None or table not in rows else rows[table][column]

    tables = {
        key: [{name: first(TABLES[key].column(name), value) for name, value in row.items()}]
        for key, row in rows.items()
    }
    singles = {
        key: first(SINGLE_INPUTS[key], value)
        for key, value in demo.singles.items()
        if SINGLE_INPUTS[key].start_value(units) is None
    }
    return Entries(singles, tables)


def report(found: dict[str, list[str]]) -> str:
    """Describe what is wrong in which case."""
    return "\n".join(
        "\n  ".join([f"{words}: {len(wrong)} faults", *wrong[:SHOWN]])
        for words, wrong in found.items()
    )


def wrong(workbook: Opened, cases: Iterable[Case]) -> dict[str, list[str]]:
    """Return the faults of those cases that have any."""
    results = {case.words: workbook.faults(case) for case in cases}
    return {words: found for words, found in results.items() if found}


def _row(cell: Cell) -> int:
    return int(cell.address.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
