"""Every number that a small specialty-mushroom farm decides with, as one named function.

The functions of this package follow the rules of a worksheet cell: numbers, texts with a unit,
fractions, ranges. ``cultivar_fx.water_to_add("200 lb", "6%", "62%")`` answers in litres. The
plain versions, on floats in metric units and without checks, are in the stage modules:
``cultivar_fx.stages.substrate.water_to_add(90.7, 0.06, 0.62)``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

__version__ = "0.1.0"

_SUMMARY = "harvest_summary"


def __getattr__(name: str) -> Any:
    """Make a worksheet function at its first use, so that importing the package is cheap."""
    if name == "__all__":
        return _names()
    if name.startswith("_") or name not in _names():
        raise AttributeError(f"module 'cultivar_fx' has no attribute {name!r}")
    function = _function(name)
    globals()[name] = function
    return function


def __dir__() -> list[str]:
    return [*_names(), "__version__"]


def _function(name: str) -> Callable[..., Any]:
    if name == _SUMMARY:
        from cultivar_fx.summary import harvest_summary

        return harvest_summary
    from cultivar_fx.calls.call import python_function
    from cultivar_fx.catalog.registry import functions

    return python_function(functions()[name.upper()])


def _names() -> list[str]:
    from cultivar_fx.catalog.registry import functions

    return [*(wanted.python_name for wanted in functions().values()), _SUMMARY]
