"""Numbers of one unit system become those of the other, and come back as they were."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cultivar_fx.catalog.dimensions import METRIC
from workbook_template.reading.round_numbers import shortest

if TYPE_CHECKING:
    from cultivar_fx.catalog.dimensions import Dimension
    from workbook_template.writing.layout import Value


def convert(value: Value, dimension: Dimension, units: str, wanted: str) -> Value:
    """Bring what was typed into the units of another system.

    Parameters
    ----------
    value : Value
        A number; anything else stays as it is.
    dimension : Dimension
        The kind of quantity.
    units, wanted : str
        The two systems.

    Returns
    -------
    Value
        The round number that comes back as the one that was typed, where there is one.

    Examples
    --------
    >>> from cultivar_fx.catalog.dimensions import DIMENSIONS
    >>> convert(10, DIMENSIONS["kg"], "us", "metric")
    4.5359237
    >>> convert(4.5359237, DIMENSIONS["kg"], "metric", "us")
    10.0
    """
    if not isinstance(value, int | float) or isinstance(value, bool):
        return value
    if units == wanted or not dimension.differs:
        return value
    to_metric, from_metric = dimension.to_metric, dimension.from_metric
    there, back = (to_metric, from_metric) if wanted == METRIC else (from_metric, to_metric)
    return shortest(float(value), there, back)
