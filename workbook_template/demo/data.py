"""The invented farm of the demo workbook: CSV files with quantities in the units they are said in.

Read into metric numbers first, then into the workbook's units, so that the same farm stands in
either system.
"""

from __future__ import annotations

import csv
import re
from datetime import date
from importlib.resources import files
from typing import TYPE_CHECKING

from cultivar_fx.calls.units import converter, parse_number_and_unit
from workbook_template.demo.season import season_tables
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.writing.layout import Entries

if TYPE_CHECKING:
    from workbook_template.schema.fields import Field
    from workbook_template.writing.layout import Value

_PER_POUND = re.compile(r"([\d.]+) per lb")
_SIGNIFICANT = 10
"""Digits kept, so that a value that was said in these units is that round number again."""


def demo_entries(units: str) -> Entries:
    """Read what is typed into the demo workbook, in the numbers of a unit system."""
    entries = Entries()
    for row in _rows("farm"):
        field = SINGLE_INPUTS[row["key"]]
        entries.singles[field.key] = _value(field, row["value"], units)
    season = season_tables()
    for key, table in TABLES.items():
        fields = {field.key: field for field in table.fields}
        entries.tables[key] = [
            {name: _value(fields[name], text, units) for name, text in row.items()}
            for row in season.get(key) or _rows(key)
        ]
    return entries


def _rows(name: str) -> list[dict[str, str]]:
    with (files("workbook_template.demo") / "farm" / f"{name}.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _value(field: Field, text: str, units: str) -> Value:
    if not text:
        return None
    if field.dimension.is_date:
        return date.fromisoformat(text)
    if not field.is_number:
        return text
    metric = _metric(field, text)
    number = field.in_units(metric, units)
    return float(f"{number:.{_SIGNIFICANT}g}") if isinstance(number, float) else number


def _metric(field: Field, text: str) -> float:
    dimension = field.dimension
    per_pound = _PER_POUND.fullmatch(text)
    if per_pound:
        return dimension.to_metric(float(per_pound[1]))
    number, unit = parse_number_and_unit(text) or (float(text), "")
    return converter(unit, dimension)(number) if unit else number
