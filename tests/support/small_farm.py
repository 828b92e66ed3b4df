"""The invented farm with few batches, so that its workbook is made and read in a moment.

Secrets are planted in whatever is private: numbers and names that stand nowhere else.
"""

from __future__ import annotations

import re
import zipfile
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from shared import shared
from workbooks import loaded

from workbook_template.build import build
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings
from workbook_template.writing.stored_values import with_stored_values

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from openpyxl import Workbook

    from workbook_template.writing.layout import Entries

BATCH_ROWS = 12
_BATCHES = 8

# What a grower would not show: written out here, not asked of the code under test.
_INPUTS = (
    *("hourly_wage", "burden", "electricity_price", "bag_price", "spawn_price", "rent"),
    *("insurance", "vehicle", "other_overhead", "wanted_margin", "change_1", "change_4"),
    *("more_mixer", "more_steamer", "more_labor"),
    *("quote_price", "quote_delivery"),
)
_COLUMNS = {
    "equipment": ("price", "salvage"),
    "ingredients": ("bag_price", "price"),
    "spawn_lots": ("cost",),
    "deliveries": ("price",),
    "products": ("price", "pack_cost", "fees", "delivery"),
    "markets": ("fee_day", "fee_share", "hours", "travel"),
    "sales": ("price",),
}
# And what, beside that, where nothing of Products and Orders may tell.
_MORE_INPUTS = ("fresh_moisture", "dried_moisture", "drying_energy", "drying_minutes")
_MORE_COLUMNS = {
    "products": ("pack_mass", "packing_minutes", "sold_share", "packs_per_week"),
    "orders": ("packs",),
    "unusual_weeks": ("packs",),
}

_OF_PRODUCTS = ("unusual_weeks", "orders", "sales")


class SmallFarm(NamedTuple):
    """A workbook, and the secrets in it: each as a text that its file may hold."""

    path: Path
    secrets: list[str]


@cache
def small_farm(number: int = 1, is_strict: bool = False) -> SmallFarm:
    """Build a workbook; another number gives one that differs in nothing but its secrets.

    A strict one marks Products and Orders as private, with all that is computed from them.
    """
    entries = few_batches()
    secrets: list[str] = []

    def planted(value: float | None) -> float:
        part = 1 - (len(secrets) * 7919 + number * 104729) % 899981 * 1e-8
        secret = round((value or 0.1) * part, 9)
        secrets.extend([repr(secret), f"{secret:.8g}"])
        return secret

    for key in (*_INPUTS, *(_MORE_INPUTS if is_strict else ())):
        entries.singles[key] = planted(entries.singles.get(key))
    for table, columns in (*_COLUMNS.items(), *(_MORE_COLUMNS.items() if is_strict else ())):
        for row in entries.tables[table]:
            row |= {key: planted(row[key]) for key in columns if row[key] is not None}
    for at, row in enumerate(entries.tables["orders"]):
        row |= {"customer": f"Zq{number}c{at} inn & co", "note": f"Zq{number}n{at} called"}
    secrets += [f"Zq{number}c", f"Zq{number}n"]
    if is_strict:
        _rename_products(entries, number)
        secrets.append(f"Zq{number}x")
        entries.singles |= {"private_products": "private", "private_orders": "private"}
    settings = Settings("us", invented=True, batch_rows=BATCH_ROWS)
    name = f"small-{number}{'-strict' * is_strict}/farm.xlsx"
    return SmallFarm(shared(name, lambda path: build(path, settings, entries)), secrets)


def few_batches() -> Entries:
    """Return what is typed into the demo, with some batches of its logs only."""
    entries = demo_entries("us")
    tables = entries.tables
    tables["batches"] = tables["batches"][-_BATCHES - 14 : -14]
    links = ("batch", "steam_run", "spawn_lot")
    named = {key: {row[key] for row in tables["batches"]} for key in links}
    for log in ("harvests", "losses"):
        kept = [row for row in tables[log] if row["batch"] in named["batch"]]
        tables[log] = _some_of_each(kept, BATCH_ROWS)
    tables["sales"] = [row for row in tables["sales"] if row["price"]][:BATCH_ROWS]
    tables["steam_runs"] = [row for row in tables["steam_runs"] if row["run"] in named["steam_run"]]
    tables["spawn_lots"] = [row for row in tables["spawn_lots"] if row["lot"] in named["spawn_lot"]]
    entries.singles["label_batch"] = tables["batches"][0]["batch"]
    entries.singles["logged_run"] = tables["steam_runs"][0]["run"]
    entries.singles["trace_spawn_lot"] = tables["spawn_lots"][0]["lot"]
    return entries


def _some_of_each(rows: list[dict[str, Any]], most: int) -> list[dict[str, Any]]:
    """Return so many rows in their order, with one of each batch: none has ended without any."""
    first = {row["batch"]: row for row in reversed(rows)}
    others = [row for row in rows if row is not first[row["batch"]]]
    taken = [*first.values(), *others][:most]
    return [row for row in rows if any(row is one for one in taken)]


def _rename_products(entries: Entries, number: int) -> None:
    names: dict[Any, str] = {}
    for at, row in enumerate(entries.tables["products"]):
        names[row["product"]] = row["product"] = f"Zq{number}x{at} cap & co"
    for row in (row for key in _OF_PRODUCTS for row in entries.tables[key]):
        row["product"] = names[row["product"]]
    for key in ("cost_product", "quote_product"):
        entries.singles[key] = names[entries.singles[key]]


def edited(path: Path, edit: Callable[[Workbook], None]) -> Path:
    """Edit a copy of the small workbook with openpyxl, and compute it anew."""
    workbook = loaded(small_farm().path)
    edit(workbook)
    for sheet in workbook.worksheets:  # the engine refuses a column that was typed over in part
        for table in sheet.tables.values():
            for column in table.tableColumns:
                column.calculatedColumnFormula = None
    workbook.save(path)
    path.write_bytes(with_stored_values(path.read_bytes()))
    return path


def replaced(path: Path, changes: Mapping[str, tuple[str, str]]) -> Path:
    """Copy the small workbook with a pattern replaced in the parts whose names begin so."""
    with zipfile.ZipFile(small_farm().path) as old, zipfile.ZipFile(path, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            for start, (pattern, other) in changes.items():
                if name.startswith(start):
                    text = re.sub(pattern, other, text.decode()).encode()
            new.writestr(name, text, zipfile.ZIP_DEFLATED, 1)
    return path
