"""What a workbook says of itself in its properties: its release, units, money, columns.

Programs keep these properties when they save the file again. A column's heading may be changed,
by a grower or by a later version: the label that it was written with, noted here beside its key,
is also the title of its cells' validation, and that goes wherever the column goes.
"""

from __future__ import annotations

import re
import unicodedata
from math import isclose
from typing import TYPE_CHECKING, Any

from openpyxl.packaging.custom import BoolProperty, IntProperty, StringProperty

from cultivar_fx.catalog.dimensions import METRIC
from workbook_template.releases import RELEASE
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.earlier_places import key_now

if TYPE_CHECKING:
    from collections.abc import Mapping

    from openpyxl import Workbook

    from workbook_template.writing.blocks import Settings

_PREFIX = "cultivar_fx "
PACKAGE_LINE = "Made by cultivar_fx"
SCHEMA_LINE = "Layout of the inputs"
UNITS_LINE = "Units"
CURRENCY_LINE = "Currency"
VERSION_LINES = (PACKAGE_LINE, SCHEMA_LINE, UNITS_LINE, CURRENCY_LINE)
"""What the lines of the Start sheet are called that say the same."""
LONGEST_CURRENCY = 5
_BEFORE = "before conversion"
_AT_ONCE = 4
_SAME = 1e-12
_CURRENCY = re.compile(r"[LS]([LMS./ ]*[LMS./])?")
"""Kinds of signs: of letters and currency signs, and what stands within Fr., S/ and US $."""


def is_currency(text: str) -> bool:
    """Return whether a text can stand for the farm's money in every heading.

    Parameters
    ----------
    text : str
        What was given.

    Returns
    -------
    bool
        Whether it is short, and made of letters and currency signs. Any other sign may mean
        something to a program: in a reference to a column, in a formula, or in a text file.
    """
    spelled = "".join(map(_kind, text))
    return len(text) <= LONGEST_CURRENCY and _CURRENCY.fullmatch(spelled) is not None


def _kind(letter: str) -> str:
    """Return L for any letter, M for a mark on one, S for a currency sign; all else as it is."""
    category = unicodedata.category(letter)
    return category[0] if category == "Sc" or category[0] in "LM" else letter


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
    properties.custom_doc_props.append(IntProperty(name=_PREFIX + "release", value=RELEASE))
    properties.custom_doc_props.append(
        BoolProperty(name=_PREFIX + "invented", value=settings.invented)
    )


def remember(workbook: Workbook, originals: Mapping[tuple[str, str, float], float]) -> None:
    """Note what converted numbers were, in properties that no program finds too long."""
    properties: Any = workbook
    lines = [f"{units}|{key}|{now!r}|{before!r}" for (units, key, now), before in originals.items()]
    for first in range(0, len(lines), _AT_ONCE):
        name = f"{_PREFIX}{_BEFORE} {first // _AT_ONCE + 1}"
        text = ";".join(lines[first : first + _AT_ONCE])
        properties.custom_doc_props.append(StringProperty(name=name, value=text))


def remembered(workbook: Workbook) -> dict[tuple[str, str, float], float]:
    """Return what ``remember`` noted; only what a conversion really gives is believed."""
    originals = {}
    fields = [*SINGLE_INPUTS.values(), *(one for table in TABLES.values() for one in table.fields)]
    for name, text in marks(workbook).items():
        for line in str(text).split(";") if name.startswith(_BEFORE) else ():
            units, _, rest = line.partition("|")
            key, _, rest = rest.partition("|")
            key = key_now(key)
            now, _, before = rest.partition("|")
            try:
                numbers = float(now), float(before)
            except ValueError:
                continue
            for one in (field for field in fields if field.key == key):
                dimension = one.dimension
                there = dimension.to_metric if units != METRIC else dimension.from_metric
                if isclose(there(numbers[1]), numbers[0], rel_tol=_SAME, abs_tol=_SAME):
                    originals[units, key, numbers[0]] = numbers[1]
    return originals


def marks(workbook: Workbook) -> dict[str, Any]:
    """Return what a workbook's properties say, by the names without our prefix."""
    properties: Any = workbook
    return {
        one.name.removeprefix(_PREFIX): one.value
        for one in properties.custom_doc_props.props
        if one.name.startswith(_PREFIX)
    }
