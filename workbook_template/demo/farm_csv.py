"""The invented farm as CSV files, one for each table of the workbook, and what they are."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

from cultivar_fx.catalog.dimensions import US
from cultivar_fx.formula.text import number_text
from workbook_template.demo.data import demo_entries
from workbook_template.schema import SECTIONS, TABLES
from workbook_template.schema.fields import unit_label
from workbook_template.texts import safe_text
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from cultivar_fx.catalog.dimensions import Dimension
    from workbook_template.schema.fields import Field

_CURRENCY = Settings().currency

_README = f"""# An invented farm

Everything in this folder is made up: the farm, its prices, its strains' figures, its batches and
harvests. No real business is meant, and nothing here was measured. It is what the demo workbook
holds (`demo_us.xlsx` beside this folder), for trying things out in Python or any other program.

Quantities are in US units and the currency is {_CURRENCY}; each heading names its unit. Shares are
shares: 0.62 is 62 %. Dates are yyyy-mm-dd. A blank is something that was not entered.

| file | what it holds | rows |
| --- | --- | --- |
"""


def write_invented_farm(folder: Path) -> None:
    """Write the farm's data and its README into a new folder."""
    entries = demo_entries(US)
    folder.mkdir()
    inputs = [
        (section.title, field.label, entries.singles.get(field.key), _unit(field.dimension))
        for section in SECTIONS
        for field in section.fields
        if entries.singles.get(field.key) is not None
    ]
    _write(folder / "inputs.csv", ["Section", "Input", "Value", "Unit"], inputs)
    lines = [f"| `inputs.csv` | Single inputs, by the sections they stand in | {len(inputs)} |\n"]
    for key, table in TABLES.items():
        rows = [[row.get(field.key) for field in table.fields] for row in entries.tables[key]]
        headings = [_heading(field) for field in table.fields]
        _write(folder / f"{key}.csv", headings, rows)
        lines.append(f"| `{key}.csv` | {table.title} | {len(rows)} |\n")
    (folder / "README.md").write_text(_README + "".join(lines), encoding="utf-8")


def _heading(field: Field) -> str:
    unit = _unit(field.dimension)
    return f"{field.label}, {unit}" if unit else field.label


def _unit(dimension: Dimension) -> str:
    label = unit_label(dimension, US, _CURRENCY)
    return "share" if label == "%" else label


def _write(path: Path, headings: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(headings)
        writer.writerows([_text(value) for value in row] for row in rows)


def _text(value: object) -> object:
    return number_text(value) if isinstance(value, float) else safe_text(value)
