"""The units that inputs had in earlier versions of the schema, where they are others now."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from cultivar_fx.catalog.dimensions import DIMENSIONS, POUND, Dimension

if TYPE_CHECKING:
    from collections.abc import Mapping


class Earlier(NamedTuple):
    """A kind of quantity, and the last version of the schema that had it."""

    dimension: Dimension
    version: int


_POUNDS_IN_A_PACK = Dimension("mass in a pack", "kg/pack", "lb/pack", POUND, pint_unit="kg")

EARLIER_UNITS: Mapping[str, Earlier] = {
    "mixer_volume": Earlier(DIMENSIONS["L"], 3),
    "recipes.bulk_density": Earlier(DIMENSIONS["kg/L"], 3),
    "products.pack_mass": Earlier(_POUNDS_IN_A_PACK, 3),
    # Water, which is a kilogram a liter.
    "steam_runs.water_metered": Earlier(DIMENSIONS["kg"], 3),
    "steam_runs.water": Earlier(DIMENSIONS["kg"], 3),
}
"""By the key of a single input, or as ``table.column``. One metric unit of before is one of now."""
