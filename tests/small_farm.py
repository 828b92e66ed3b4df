"""The invented farm with few batches, so that a workbook of it is made and read in a moment."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Any

import openpyxl

from workbook_template.build import build
from workbook_template.demo_data import demo_entries
from workbook_template.page import Settings
from workbook_template.stored_values import fill_stored_values

if TYPE_CHECKING:
    from collections.abc import Callable

    from openpyxl import Workbook

    from workbook_template.writer import Entries

BATCH_ROWS = 12
_BATCHES = 8


def few_batches(units: str) -> Entries:
    """Give what is typed into the demo, with the last batches of its logs only."""
    entries = demo_entries(units)
    tables = entries.tables
    tables["batches"] = tables["batches"][-_BATCHES:]
    named = {key: {row[key] for row in tables["batches"]} for key in ("batch", "steam_run")}
    for log in ("harvests", "losses"):
        kept = [row for row in tables[log] if row["batch"] in named["batch"]]
        tables[log] = kept[:BATCH_ROWS]
    tables["steam_runs"] = [row for row in tables["steam_runs"] if row["run"] in named["steam_run"]]
    tables["spawn_lots"] = tables["spawn_lots"][-10:]
    entries.singles["logged_run"] = tables["steam_runs"][0]["run"]
    return entries


def small(path: Path, entries: Entries | None = None, units: str = "us") -> Path:
    """Build a small workbook."""
    settings = Settings(units, invented=True, batch_rows=BATCH_ROWS)
    build(path, settings, entries or few_batches(units))
    return path


@cache
def small_farm(units: str = "us") -> Path:
    """Build the small workbook of a system once."""
    return small(Path(mkdtemp(prefix="workbooks-")) / "farm.xlsx", units=units)


def edited(path: Path, edit: Callable[[Any], None], keep_values: bool = True) -> Path:
    """Edit a copy of the small workbook as a program would that computes; or that does not."""
    workbook: Workbook = openpyxl.load_workbook(small_farm())
    edit(workbook)
    workbook.save(path)
    if keep_values:
        fill_stored_values(path)
    return path
