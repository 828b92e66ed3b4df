"""The component that LibreOffice loads: the functions of the catalog as methods of one service.

Copied as it is into the extension. It runs inside LibreOffice, whose Python may be as old as 3.8.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import uno
import unohelper
from com.sun.star.lang import XServiceInfo

if TYPE_CHECKING:
    from collections.abc import Callable

HERE = Path(__file__).parent
OWN_PACKAGES = HERE / "pythonpath"
# The library of units stands apart, since it may need a newer Python than LibreOffice has.
LIBRARIES = "libraries-*.*"


def _find_packages() -> None:
    """Let the packages of the extension be found before any others of their names."""
    paths = [str(OWN_PACKAGES)]
    for folder in HERE.glob(LIBRARIES):
        needed = folder.name.partition("-")[2].split(".")
        if sys.version_info[:2] >= tuple(map(int, needed)):
            paths.append(str(folder))
    sys.path[:0] = paths


_find_packages()

from cultivar_fx.catalog.registry import functions  # noqa: E402
from cultivar_fx.hosts.calc_names import IMPLEMENTATION, INTERFACE, SERVICE  # noqa: E402
from cultivar_fx.hosts.calc_values import answer  # noqa: E402


class Functions(unohelper.Base, XServiceInfo, uno.getClass(INTERFACE)):  # type: ignore[misc]
    """The service; its worksheet functions are added below."""

    def __init__(self, context: Any) -> None:
        self._context = context

    def decimal_sign(self) -> str:
        """Return the sign that Calc puts before the decimals when it turns numbers into text."""
        supplier = self._service("com.sun.star.util.NumberFormatsSupplier")
        formatter = self._service("com.sun.star.util.NumberFormatter")
        formatter.attachNumberFormatsSupplier(supplier)
        return "," if "," in formatter.getInputString(0, 0.5) else "."

    def _service(self, name: str) -> Any:
        return self._context.ServiceManager.createInstanceWithContext(name, self._context)

    def getImplementationName(self) -> str:  # noqa: N802
        """Return the name that the extension registers."""
        return IMPLEMENTATION

    def supportsService(self, name: str) -> bool:  # noqa: N802
        """Return whether this is the service of a name."""
        return name == SERVICE

    def getSupportedServiceNames(self) -> tuple[str, ...]:  # noqa: N802
        """Return the names of the services."""
        return (SERVICE,)


def _method(name: str) -> Callable[..., Any]:
    def worksheet_function(self: Functions, *given: Any) -> Any:
        return answer(name, given, self.decimal_sign)

    return worksheet_function


for _name in functions():
    setattr(Functions, _name, _method(_name))

g_ImplementationHelper = unohelper.ImplementationHelper()  # noqa: N816
g_ImplementationHelper.addImplementation(Functions, IMPLEMENTATION, (SERVICE,))
