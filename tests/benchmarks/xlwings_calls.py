"""Times calls of 10 000 cells by xlwings' own call path, in a process of its own."""

from __future__ import annotations

import json
import sys
import types
from typing import Any

from measuring import seconds, taking_turns
from xlwings_stand_in import windows_xlwings

CELLS = 10_000
MISSING = -2147352572


def _echoes(xlwings: Any) -> types.ModuleType:
    """Make functions that give back what they get, declared as the real ones are."""
    module = types.ModuleType("echoes")
    module.__file__ = __file__

    def echo(cells: Any, *_: Any) -> Any:
        return cells

    def total(cells: Any, more: Any, *_: Any) -> Any:
        return sum(row[0] for row in cells) + sum(row[0] for row in more)

    for function in (echo, total):
        described: Any = function
        for name in function.__code__.co_varnames[: function.__code__.co_argcount]:
            described = xlwings.arg(name, ndim=2, err_to_str=True)(described)
        setattr(module, function.__name__, xlwings.func(described))
    sys.modules["echoes"] = module
    return module


def main() -> None:
    """Print the median seconds of the function and of its echo."""
    xlwings = windows_xlwings()
    _echoes(xlwings)
    from xlwings import com_server

    import cultivar_fx.hosts.excel_udf as module

    call = com_server.XLPython().CallUDF
    name = sys.argv[1]
    if name == "CFX_WATER_TO_ADD":
        cells = tuple((50.0 + row % 40,) for row in range(CELLS))
        arguments: tuple[Any, ...] = (cells, 0.06, 0.62, MISSING)
        echo = ("echo", (cells,))
    else:
        hours = tuple((row / 1000,) for row in range(CELLS // 2))
        cores = tuple((90.0 + row / 1000,) for row in range(CELLS // 2))
        arguments = (hours, cores, MISSING, MISSING, MISSING)
        echo = ("total", (hours, cores))
    answer = call(module.__name__, name, arguments)
    print(str(answer)[:100], file=sys.stderr)
    print(
        json.dumps(
            taking_turns(
                lambda: seconds(lambda: call(module.__name__, name, arguments)),
                lambda: seconds(lambda: call("echoes", *echo)),
                turns=31,
            )
        )
    )


if __name__ == "__main__":
    main()
