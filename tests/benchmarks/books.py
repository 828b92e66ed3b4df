"""How long a workbook takes: building, filling, opening, computing again; and how large it is."""

from __future__ import annotations

import shutil
from copy import copy
from functools import cache
from io import BytesIO
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import office as driver
import openpyxl
from measuring import Figure, benchmark, ratio, ratio_of, seconds
from office import Office
from openpyxl import Workbook
from seasons_drawn import HARVESTS_OF_A_BATCH, entries_of
from workbooks import is_same

from workbook_template.build import build, whole_workbook
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings
from workbook_template.writing.stored_values import with_stored_values

if TYPE_CHECKING:
    from office import Document

driver.ANSWER_SECONDS = 1800  # thousands of batches, and a machine that does other things too
FOLDER = Path(mkdtemp(prefix="benchmarks-"))
KILOBYTE = 1000
ROWS_AT_ONCE = 500
SMALL, LARGE = 500, 5000
STYLE_LISTS = ("_fonts", "_fills", "_borders", "_number_formats", "_alignments", "_protections",
               "_named_styles", "_cell_styles")  # fmt: skip
DEMO = Settings(invented=True)


@cache
def demo() -> Path:
    """Build the demo workbook once."""
    path = FOLDER / "demo.xlsx"
    build(path, DEMO, demo_entries(DEMO.units))
    return path


@cache
def large(batches: int) -> Path:
    """Build a workbook with so many batches once."""
    path = FOLDER / f"{batches}.xlsx"
    build(path, Settings(batch_rows=batches), entries_of(batches))
    return path


def written_plainly(source: Any, target: Path) -> None:
    """Let the library write the cells of a workbook with their styles, and nothing else."""
    workbook: Any = Workbook()
    workbook.remove(workbook.worksheets[0])
    for name in STYLE_LISTS:
        setattr(workbook, name, getattr(source, name))
    for old in source.worksheets:
        sheet = workbook.create_sheet(old.title)
        for (row, column), cell in old._cells.items():
            written = sheet.cell(row, column)
            written.value = getattr(cell, "value", None)
            written._style = copy(cell._style)
    workbook.save(target)


@benchmark("build", "building the demo", "openpyxl writing the same cells and styles", 1.5)
def building() -> Figure:
    """Build the demo workbook."""
    source = openpyxl.load_workbook(demo())
    entries = demo_entries(DEMO.units)
    return ratio(
        lambda: build(FOLDER / "again.xlsx", DEMO, entries),
        lambda: written_plainly(source, FOLDER / "plain.xlsx"),
        turns=5,
    )


@benchmark("fill", "filling in the stored values", "LibreOffice loading and saving it", 0.5)
def filling() -> Figure:
    """Let the engine compute what a file shows."""
    package = whole_workbook(DEMO, demo_entries(DEMO.units))
    empty = FOLDER / "empty.xlsx"
    empty.write_bytes(package)
    with Office() as office:

        def loaded_and_saved() -> None:
            with office.document(empty) as document:
                document.store(FOLDER / "saved.xlsx")

        return ratio(lambda: with_stored_values(package), loaded_and_saved, turns=3)


@benchmark("size", "the empty workbook", "nothing: kilobytes", 250, "kB")
def size() -> Figure:
    """Measure the file that a new workbook is."""
    path = FOLDER / "new.xlsx"
    build(path, Settings())
    kilobytes = path.stat().st_size / KILOBYTE
    return Figure(kilobytes, kilobytes, 1.0)


@benchmark(
    "large",
    f"building with {LARGE} batches and {LARGE * HARVESTS_OF_A_BATCH} harvests",
    f"the same of {SMALL}, times {LARGE // SMALL}",
    1.2,
)
def building_large() -> Figure:
    """Build a workbook of many years."""
    path = FOLDER / "timed.xlsx"

    def built(batches: int) -> float:
        entries = entries_of(batches)
        settings = Settings(batch_rows=batches)
        return seconds(lambda: build(path, settings, entries))

    return ratio_of(lambda: built(LARGE), lambda: built(SMALL) * LARGE / SMALL, turns=1)


@benchmark(
    "stored",
    f"cells of {LARGE} batches whose stored value is not what LibreOffice computes",
    "nothing: cells",
    0,
    "cells",
)
def stored() -> Figure:
    """Compare every cell with the same workbook opened without values."""
    package = whole_workbook(Settings(batch_rows=LARGE), entries_of(LARGE))
    path = FOLDER / "without values.xlsx"
    path.write_bytes(package)
    filled = openpyxl.load_workbook(
        BytesIO(with_stored_values(package)), read_only=True, data_only=True
    )
    different = cells = 0
    with Office() as office, office.document(path) as document:
        for sheet in filled:
            held = list(sheet.iter_rows(values_only=True))
            width = max(map(len, held))
            for at in range(0, len(held), ROWS_AT_ONCE):
                rows = held[at : at + ROWS_AT_ONCE]
                block = document.read(sheet.title, at, 0, len(rows), width)
                pairs = [pair for row, line in zip(rows, block) for pair in zip(row, line)]
                cells += len(pairs)
                different += sum(not is_same(*pair) for pair in pairs)
    return Figure(different, cells, 1.0)


def computed(document: Document) -> float:
    """Return how long computing all anew takes."""
    return seconds(document.calculate)


@benchmark(
    "recalculate",
    f"LibreOffice computing {LARGE} batches anew",
    "one column of SUMIFS of that size",
    6,
)
def recalculating() -> Figure:
    """Compute a large workbook anew."""
    path = large(LARGE)
    with Office() as office, office.document(path) as document, office.document() as column:
        _column_of_sums(column)
        return ratio_of(lambda: computed(document), lambda: computed(column), turns=3)


def _column_of_sums(document: Document) -> None:
    harvests = LARGE * HARVESTS_OF_A_BATCH
    sheet = document.sheets[0]
    document.write(sheet, 0, 0, [[f"N{row % LARGE}", float(row)] for row in range(harvests)])
    document.write(sheet, 0, 2, [[f"N{row}"] for row in range(LARGE)])
    document.fill(sheet, 0, 3, f"SUMIFS(B$1:B${harvests},A$1:A${harvests},C1)", down=LARGE)


@benchmark("edit", "LibreOffice after one edit in a log", "computing the demo anew", 2)
def editing() -> Figure:
    """Type one harvest into the demo."""
    with Office() as office, office.document(demo()) as document:
        place = _first_mass(demo())
        turn = iter(range(1, 1000))

        def edit() -> None:
            document.write("Harvests", *place, [[5.0 + next(turn) / 100]])
            document.read("Checks", 0, 0, 40, 6)

        return ratio(edit, document.calculate, turns=9)


def _first_mass(path: Path) -> tuple[int, int]:
    """Find the cell of the first harvested mass."""
    sheet = openpyxl.load_workbook(path, read_only=True)["Harvests"]
    for row, line in enumerate(sheet.iter_rows(values_only=True)):
        for column, value in enumerate(line):
            if isinstance(value, str) and value.startswith("Fresh mass"):
                return row + 1, column
    raise LookupError("no fresh mass")


def forget() -> None:
    """Remove all files that were made."""
    shutil.rmtree(FOLDER, ignore_errors=True)
