"""What a workbook says of itself in its properties: its units, its money, the keys of its columns.

Programs keep these properties when they save the file again. A column's heading may be changed,
by a grower or by a later version: the label that it was written with, noted here beside its key,
is also the title of its cells' validation, and that goes wherever the column goes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from openpyxl.packaging.custom import BoolProperty, StringProperty

from workbook_template.schema import TABLES

if TYPE_CHECKING:
    from openpyxl import Workbook

    from workbook_template.writing.page import Settings

_PREFIX = "cultivar_fx "
PACKAGE_LINE = "Made by cultivar_fx"
SCHEMA_LINE = "Layout of the inputs"
UNITS_LINE = "Units"
CURRENCY_LINE = "Currency"
VERSION_LINES = (PACKAGE_LINE, SCHEMA_LINE, UNITS_LINE, CURRENCY_LINE)
"""What the lines of the sheet Start are called that say the same."""


def mark(workbook: Workbook, settings: Settings) -> None:
    """Note in a workbook's properties what it was made for, and the keys of its columns."""
    properties: Any = workbook
    noted = {
        "units": settings.units,
        "currency": settings.currency,
        **{
            f"{table.key}.{one.key}": one.label for table in TABLES.values() for one in table.fields
        },
    }
    for name, text in noted.items():
        properties.custom_doc_props.append(StringProperty(name=_PREFIX + name, value=text))
    properties.custom_doc_props.append(
        BoolProperty(name=_PREFIX + "invented", value=settings.invented)
    )


def marks(workbook: Workbook) -> dict[str, Any]:
    """Give what a workbook's properties say, by the names without our prefix."""
    properties: Any = workbook
    return {
        one.name.removeprefix(_PREFIX): one.value
        for one in properties.custom_doc_props.props
        if one.name.startswith(_PREFIX)
    }
