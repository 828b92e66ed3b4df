"""xlwings as it runs on Windows, with stand-ins for the Windows modules, in a process of its own.

Its generation of macros, its conversions and its ``CallUDF`` are its own; only what asks Windows
or Excel is stood in for. ``xlwings.pro`` is barred, so that nothing can need it. The patches hold
for a whole process: ``python xlwings_stand_in.py`` writes, pickled, what xlwings knows of the
functions, and then the answers to each list of calls that it reads, until there is no more.
"""

from __future__ import annotations

import atexit
import ctypes
import datetime as dt
import io
import pickle
import sys
import types
from typing import Any

RANGE = "{00020846-0000-0000-C000-000000000046}"
"""The interface of Excel's ranges, as its type library numbers it."""


class Anything:
    """Takes every attribute, call and item, and does nothing."""

    def __init__(self, *_: Any, **__: Any) -> None:
        pass

    def __getattr__(self, _: str) -> Anything:
        return Anything()

    def __setattr__(self, *_: Any) -> None:
        pass

    def __call__(self, *_: Any, **__: Any) -> Anything:
        return Anything()


class ComError(Exception):
    """What a call to Excel raises."""


class ComTime(dt.datetime):
    """A date as Windows hands it over, always with a time zone."""


class ComRange:
    """A range of cells as xlwings asks for it: its interface, and its values."""

    def __init__(self, cells: Any) -> None:
        rows = cells if isinstance(cells, tuple) else ((cells,),)
        self.Value = cells
        self.Worksheet = Anything()
        self.Row = self.Column = 1
        self.Rows = types.SimpleNamespace(Count=len(rows))
        self.Columns = types.SimpleNamespace(Count=len(rows[0]))
        self._oleobj_ = self

    def GetTypeInfo(self) -> ComRange:  # noqa: N802
        return self

    def GetTypeAttr(self) -> Any:  # noqa: N802
        return types.SimpleNamespace(iid=RANGE)


def _module(name: str, **content: Any) -> Any:
    module = types.ModuleType(name)
    module.__dict__.update(content)
    sys.modules[name] = module
    parent, _, child = name.rpartition(".")
    if parent:
        setattr(sys.modules[parent], child, module)
    return module


def stand_in() -> None:
    """Put modules in the places of those that only Windows has."""
    _module("pywintypes", com_error=ComError, error=ComError, TimeType=ComTime, IID=str)
    _module(
        "pythoncom",
        __file__=None,
        CoInitialize=Anything(),
        IID_IDispatch="IID_IDispatch",
        IID_IEnumVARIANT="IID_IEnumVARIANT",
        TypeIIDs={"IID_IDispatch": type("PyIDispatch", (), {})},
        com_error=ComError,
        ole_error=ComError,
    )
    for name in ("win32api", "win32con", "win32gui", "win32event", "win32com"):
        _module(name)
    _module("win32process", GetWindowThreadProcessId=lambda _: (1, 1))
    zone = types.SimpleNamespace(utc=lambda: dt.UTC)
    _module("win32timezone", TimeZoneInfo=zone)
    bases = ("CDispatch", "CoClassBaseClass", "DispatchBaseClass")
    _module("win32com.client", Dispatch=Anything, DispatchEx=Anything, gencache=Anything(),
            **{base: type(base, (), {}) for base in bases})  # fmt: skip
    for name in ("server", "server.util", "server.dispatcher", "server.policy"):
        _module(f"win32com.{name}", wrap=lambda what, *_, **__: what, unwrap=lambda what: what)
    ctypes.windll = ctypes.oledll = Anything()  # type: ignore[attr-defined]
    library = ctypes.PyDLL
    ctypes.PyDLL = lambda name, *rest, **named: (  # type: ignore[assignment, misc]
        library(name, *rest, **named) if name else Anything()
    )
    sys.modules["xlwings.pro"] = None  # type: ignore[assignment]


def windows_xlwings() -> Any:
    """Return xlwings with the functions that it has on Windows."""
    stand_in()
    import xlwings
    from xlwings import _xlwindows

    atexit.unregister(_xlwindows.cleanup)  # it would end programs
    xlwings.engines.add(xlwings.Engine(impl=_xlwindows.engine))
    from xlwings import udfs

    xlwings.func, xlwings.arg, xlwings.ret = udfs.xlfunc, udfs.xlarg, udfs.xlret
    return xlwings


class _Book:
    Name = "cultivar_fx.xlam"


def _macros(udfs: Any, module: Any) -> str:
    text = io.StringIO()
    udfs.generate_vba_wrapper(module.__name__, module, text, _Book)
    return text.getvalue()


def _com(value: Any) -> Any:
    """Return a date the time zone and the type that it has on Windows."""
    if isinstance(value, tuple):
        return tuple(map(_com, value))
    if type(value) is dt.datetime:
        return ComTime(*value.timetuple()[:6], value.microsecond, tzinfo=dt.UTC)
    return value


def _answers(work: list[tuple[str, list[Any], bool]], module: Any) -> list[Any]:
    from xlwings import com_server

    server = com_server.XLPython()
    answers = []
    for name, values, as_ranges in work:
        cells = [
            ComRange(_com(one)) if as_ranges and not isinstance(one, int) else _com(one)
            for one in values
        ]
        answers.append(server.CallUDF(module.__name__, name, tuple(cells)))
    return answers


def main() -> None:
    """Return what xlwings makes of the functions; then answer lists of calls."""
    xlwings = windows_xlwings()
    import cultivar_fx.hosts.excel_udf as module

    output, sys.stdout = sys.stdout.buffer, sys.stderr
    functions = {name: one.__xlfunc__ for name, one in vars(module).items() if "CFX_" in name}
    result: Any = {"macros": _macros(xlwings.udfs, module), "registered": functions}
    while True:
        result["pro"] = sorted(name for name in sys.modules if name.startswith("xlwings.pro."))
        pickle.dump(result, output)
        output.flush()
        try:
            work = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        result = {"answers": _answers(work, module)}


if __name__ == "__main__":
    main()
