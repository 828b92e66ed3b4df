"""Works with a workbook in LibreOffice as an honest grower does, and saves it in several formats.

Rows are put in, taken out and sorted, columns put in; nothing of ours is changed.
"""

from __future__ import annotations

import random
import shutil
import subprocess
from collections import Counter
from typing import TYPE_CHECKING

from openpyxl.chart import StockChart
from openpyxl.comments import Comment
from openpyxl.utils import range_boundaries
from openpyxl.workbook.defined_name import DefinedName

from workbook_template.reading.extras import LINK
from workbook_template.reading.unmatched import EXTRA_CELL, NAME, NOTE

if TYPE_CHECKING:
    from pathlib import Path

    from office import Document, Office
    from openpyxl import Workbook

LOGS = ("Batches", "Harvests", "Losses", "Ingredients", "Products")
"""Sheets of one table and nothing else, where a grower works with whole rows."""
FORMS = ("Farm", "Mix card", "Steam", "Rooms", "Costing", "Trials", "Spawn", "Results")
WAYS = ("xlsx", "ods", "gnumeric", "xls", "gnumeric only", "xls only", "gnumeric to xls")
"""Through what it goes, from LibreOffice's .xlsx on: gnumeric and xls lose the tables themselves,
and get the addresses that LibreOffice writes into .ods for their columns. Those that get none of
these, the last three, lose the formulas that name such columns."""
LOSING = ("xls", *WAYS[-3:])
PROGRAMS = ("gnumeric", "gnumeric only", "gnumeric to xls")


def live(workbook: Workbook, office: Office, seed: int, folder: Path) -> tuple[Path, list[str]]:
    """Let a workbook live; give where it is then, and what was done, the way of saving first."""
    chance = random.Random(seed)
    way = WAYS[seed % len(WAYS)]
    if way in PROGRAMS and not shutil.which("ssconvert"):
        way = "ods"
    if way in ("ods", "gnumeric", "xls"):
        _leave_out_ranges(workbook)
    path, done = folder / "start.xlsx", [way]
    workbook.save(path)
    with office.document(path) as document:
        done += [_work(document, workbook, sheet, chance) for sheet in chance.sample(LOGS, 3)]
        done += [_insert(document, chance) for _ in range(chance.randint(0, 3))]
        path = folder / "worked.xlsx"
        document.store(path)
    if way in ("ods", "gnumeric", "xls"):
        path = _through(office, path, folder / "farm.ods")
    if way == "xls":
        path = _through(office, folder / "farm.ods", folder / "farm.xls")
    if way == "xls only":
        path = _through(office, path, folder / "farm.xls")
    if way == "gnumeric to xls":
        with office.document(path) as document:
            document.store(folder / "farm.xls")
        path = folder / "farm.xls"
    if way in PROGRAMS:
        new = folder / "from_gnumeric.xlsx"
        subprocess.run(["ssconvert", str(path), str(new)], check=True, capture_output=True)
        path = new
    return path, done


def _leave_out_ranges(workbook: Workbook) -> None:
    """Leave out our charts of ranges.

    LibreOffice 7.4 opens the .ods that it makes of ours, but ends when it opens the one that it
    makes of a workbook that openpyxl saved anew, with what that library loses of such charts.
    """
    for sheet in workbook.worksheets:
        sheet._charts = [one for one in sheet._charts if not isinstance(one, StockChart)]


def adorn(workbook: Workbook, chance: random.Random) -> Counter[str]:
    """Put in what is no cell, as growers do; give how many of each kind are to be found again."""
    farm, batches = workbook["Farm"], workbook["Batches"]
    farm["B7"].comment = Comment(f"ask Ana {chance.random()}", "Ana")
    farm["F30"].value = "supplier"
    farm["F30"].hyperlink = f"https://spawn.example/{chance.randint(1, 99)}"
    name = f"of_this_sheet_{chance.randint(1, 9)}"
    batches.defined_names[name] = DefinedName(name, attr_text="Batches!$B$7")
    workbook.defined_names["CFX.MINE"] = DefinedName("CFX.MINE", attr_text="Farm!$B$9")
    batches["B7"].number_format = chance.choice(("dd.mm.yyyy", "0.00", "@"))
    return Counter({NOTE: 1, EXTRA_CELL: 1, LINK: 1, NAME: 2})


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
