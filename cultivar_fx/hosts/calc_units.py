"""Writes the library of units down as the table that ``plain_units`` reads inside LibreOffice."""

from __future__ import annotations

import json
import warnings
from math import isclose
from typing import Any

from cultivar_fx.calls.plain_units import DIFFERENCES
from cultivar_fx.calls.units import registry

_SPAN = 1024.0  # a power of two: dividing by it loses nothing


def write_table() -> str:
    """Write down every unit of pint, ours among them, but for logarithmic scales; and prefixes."""
    pint = registry.__wrapped__()  # a new one, since it keeps each name that it is asked for
    units: dict[str, list[Any]] = {"dimensionless": [1.0, 0.0, {}]}
    for name in dir(pint):
        try:
            units[name] = _written(pint, name)
        except Exception:  # a method of pint, or a logarithmic scale
            continue
    prefixes = {name: one.converter.scale for name, one in pint._prefixes.items()}
    return json.dumps({"units": units, "prefixes": prefixes}, ensure_ascii=False)


def _written(pint: Any, name: str) -> list[Any]:
    unit = pint.parse_units(name)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        zero, half, whole = (
            pint.Quantity(number, unit).to_root_units() for number in (0.0, _SPAN / 2, _SPAN)
        )
    rise = whole.magnitude - zero.magnitude
    if not isclose(2 * (half.magnitude - zero.magnitude), rise):
        raise ValueError(f"{name} has no factor")
    start = None if name.startswith(DIFFERENCES) else zero.magnitude
    return [rise / _SPAN, start, dict(whole.unit_items())]
