"""The list of all worksheet functions, in the order of the work."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from cultivar_fx.catalog.definition import PREFIX, registered
from cultivar_fx.errors import UnknownFunction

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Definition

STAGES = {
    "substrate": "Substrate",
    "bags": "Bags and mixer",
    "steam": "Steam",
    "core": "Core of a block",
    "spawn": "Spawn",
    "incubation": "Incubation",
    "air": "Fresh air",
    "climate": "Climate",
    "harvest": "Harvest",
    "storage": "Storage",
    "losses": "Losses and trials",
    "evidence": "Evidence from batches",
    "money": "Money",
    "planning": "Planning",
    "everywhere": "Everywhere",
}
"""Each stage module, and the heading that its functions stand under."""
_MOST_OFFERED = 5


def functions() -> dict[str, Definition]:
    """Return every definition by its name without the prefix."""
    if not _loaded:
        for stage in STAGES:
            import_module(f"cultivar_fx.stages.{stage}")
        order = list(STAGES)
        _loaded.update(sorted(registered().items(), key=lambda item: order.index(item[1].stage)))
    return _loaded


_loaded: dict[str, Definition] = {}


def definition(name: str) -> Definition:
    """Find a function by its worksheet, Excel or Python name, in any case.

    Raises
    ------
    UnknownFunction
        If no function has that name; the message offers names that come near.
    """
    found = functions().get(name)
    if found is not None:
        return found
    bare = name.strip().upper().replace("CFX_", PREFIX, 1)
    if bare.startswith(PREFIX):
        bare = bare[len(PREFIX) :]
    found = functions().get(bare)
    if found is None:
        from difflib import get_close_matches

        near = [one for one in functions() if bare and bare in one][:_MOST_OFFERED]
        near = near or get_close_matches(bare, functions(), n=3)
        hint = f"; did you mean {' or '.join(near)}?" if near else ""
        raise UnknownFunction(f"there is no function {name[:60]!r}{hint}")
    return found
