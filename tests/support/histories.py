"""Works with a workbook in LibreOffice as an honest grower does, and saves it in several formats.

Rows are put in, taken out and sorted, columns put in; nothing of ours is changed.
"""

from __future__ import annotations

import random
import shutil
import subprocess
from typing import TYPE_CHECKING

from openpyxl.utils import range_boundaries

if TYPE_CHECKING:
    from pathlib import Path

    from office import Document, Office
    from openpyxl import Workbook

LOGS = ("Batches", "Harvests", "Losses", "Ingredients", "Products")
"""Sheets of one table and nothing else, where a grower works with whole rows."""
FORMS = ("Farm", "Mix card", "Steam", "Rooms", "Costing", "Trials", "Spawn", "Results")
WAYS = ("xlsx", "ods", "gnumeric", "xls")
"""Through what it goes, from LibreOffice's .xlsx on: the last two lose the tables themselves, and
get the addresses that LibreOffice writes into .ods for their columns."""


def live(workbook: Workbook, office: Office, seed: int, folder: Path) -> tuple[Path, list[str]]:
    """Let a workbook live; give where it is then, and what was done, the way of saving first."""
    chance = random.Random(seed)
    way = WAYS[seed % len(WAYS)]
    if way == "gnumeric" and not shutil.which("ssconvert"):
        way = "ods"
    path, done = folder / "start.xlsx", [way]
    workbook.save(path)
    with office.document(path) as document:
        done += [_work(document, workbook, sheet, chance) for sheet in chance.sample(LOGS, 3)]
        done += [_insert(document, chance) for _ in range(chance.randint(0, 3))]
        path = folder / "worked.xlsx"
        document.store(path)
    if way != "xlsx":
        path = _through(office, path, folder / "farm.ods")
    if way == "xls":
        path = _through(office, folder / "farm.ods", folder / "farm.xls")
    if way == "gnumeric":
        new = folder / "from_gnumeric.xlsx"
        subprocess.run(["ssconvert", str(path), str(new)], check=True, capture_output=True)
        path = new
    return path, done


def _through(office: Office, path: Path, between: Path) -> Path:
    new = between.with_name(f"from_{between.suffix[1:]}.xlsx")
    with office.document(path) as document:
        document.store(between)
    with office.document(between) as document:
        document.store(new)
    return new


def _work(document: Document, workbook: Workbook, sheet: str, chance: random.Random) -> str:
    """Sort the rows of a log, take some out, or put some in between."""
    table = next(iter(workbook[sheet].tables.values()))
    left, top, right, bottom = range_boundaries(table.ref)
    rows = [row for row in range(top + 1, bottom + 1) if workbook[sheet].cell(row, left).value]
    first, last = rows[0], rows[-1]
    what = chance.choice(("sort", "delete", "insert"))
    if what == "sort":
        by = chance.randint(0, 2)
        document.sort(sheet, first - 1, left - 1, last - first + 1, right - left + 1, by)
        return f"{sheet} sorted by column {by + 1}"
    at, count = chance.randint(first + 1, last), chance.randint(1, 2)
    if what == "delete":
        document.delete_rows(sheet, at - 1, count)
        return f"{count} rows of {sheet} deleted from row {at} on"
    document.insert(sheet, "Rows", at - 1, count)
    for below in range(at - 1, at - 1 + count):
        document.copy_row(sheet, at - 2, below)
    return f"{count} rows of {sheet} copied below row {at - 1}"


def _insert(document: Document, chance: random.Random) -> str:
    """Put rows in on a form, or columns before a log."""
    count = chance.randint(1, 2)
    if chance.random() < 0.4:
        sheet = chance.choice(LOGS)
        document.insert(sheet, "Columns", 0, count)
        return f"{count} columns before {sheet}"
    sheet, at = chance.choice(FORMS), chance.randint(3, 20)
    document.insert(sheet, "Rows", at, count)
    return f"{count} rows into {sheet} before row {at + 1}"
