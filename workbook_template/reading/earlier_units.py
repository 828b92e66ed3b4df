"""Brings what an earlier version's workbook holds to the units that this version has there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cultivar_fx.catalog.dimensions import US
from workbook_template.reading.round_numbers import shortest
from workbook_template.schema.earlier_units import EARLIER_UNITS

if TYPE_CHECKING:
    from cultivar_fx.catalog.dimensions import Dimension
    from workbook_template.reading.contents import Found


def in_present_unit(
    found: Found, key: str, dimension: Dimension, version: int, units: str
) -> Found:
    """Return what stands in a cell with its number in the present unit.

    Parameters
    ----------
    found : Found
        What stands in the cell.
    key : str
        Of the single input, or ``table.column``.
    dimension : Dimension
        The kind of quantity that it is now.
    version : int
        The version of the schema that the workbook follows.
    units : str
        The unit system of the workbook.

    Returns
    -------
    Found
        The same where the unit has not changed, or where it is no number.
    """
    earlier = EARLIER_UNITS.get(key)
    value = found.value
    if earlier is None or version > earlier.version or units != US:
        return found
    if not isinstance(value, int | float) or isinstance(value, bool):
        return found
    before = earlier.dimension

    def there(number: float) -> float:
        return dimension.from_metric(before.to_metric(number))

    def back(number: float) -> float:
        return before.from_metric(dimension.to_metric(number))

    return found._replace(value=shortest(float(value), there, back))
