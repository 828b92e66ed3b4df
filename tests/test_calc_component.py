"""The component of the Calc add-in, outside LibreOffice, whose modules are stood in for.

``test_calc_addin.py`` asks it inside LibreOffice.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType, SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest

from cultivar_fx.catalog.registry import functions
from cultivar_fx.hosts.calc_names import IMPLEMENTATION, SERVICE

if TYPE_CHECKING:
    from collections.abc import Iterator

NAME = "cultivar_fx.hosts.calc_component"


class Registered:
    """LibreOffice's list of what a file offers."""

    def __init__(self) -> None:
        self.offered: list[tuple[Any, ...]] = []

    def addImplementation(self, *offer: Any) -> None:  # noqa: N802
        self.offered.append(offer)


class Locale:
    """A LibreOffice whose numbers have a decimal sign."""

    def __init__(self, sign: str) -> None:
        self.sign = sign
        self.ServiceManager = self

    def createInstanceWithContext(self, *_: object) -> Locale:  # noqa: N802
        return self

    def attachNumberFormatsSupplier(self, _: object) -> None:  # noqa: N802
        pass

    def getInputString(self, _: int, number: float) -> str:  # noqa: N802
        return str(number).replace(".", self.sign)


@pytest.fixture
def component(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    uno, unohelper, lang = ModuleType("uno"), ModuleType("unohelper"), ModuleType("lang")
    uno.__dict__["getClass"] = lambda name: type(name, (), {})
    unohelper.__dict__.update(Base=type("Base", (), {}), ImplementationHelper=Registered)
    lang.__dict__["XServiceInfo"] = type("XServiceInfo", (), {})
    for name in ("com", "com.sun", "com.sun.star"):
        monkeypatch.setitem(sys.modules, name, ModuleType(name))
    stood_in = {"uno": uno, "unohelper": unohelper, "com.sun.star.lang": lang}
    for name, module in stood_in.items():
        monkeypatch.setitem(sys.modules, name, module)
    monkeypatch.setattr(sys, "path", [*sys.path])
    yield importlib.import_module(NAME)
    del sys.modules[NAME]


def test_every_function_is_a_method_of_the_service(component: Any) -> None:
    assert all(callable(getattr(component.Functions, name)) for name in functions())
    offered = component.g_ImplementationHelper.offered
    assert offered == [(component.Functions, IMPLEMENTATION, (SERVICE,))]


@pytest.mark.parametrize(("sign", "half"), [(",", "0,5"), (".", "0.5")])
def test_numbers_have_the_decimal_sign_of_the_locale(component: Any, sign: str, half: str) -> None:
    assert component.Functions(Locale(sign)).DRY_MASS("200", half, None) == 100.0


def test_service_says_what_it_is(component: Any) -> None:
    service = component.Functions(SimpleNamespace())
    assert service.getImplementationName() == IMPLEMENTATION
    assert service.getSupportedServiceNames() == (SERVICE,)
    assert service.supportsService(SERVICE)
    assert not service.supportsService("another")


def test_libraries_are_found_only_by_a_python_that_runs_them(
    component: Any, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    for needed in ("3.6", "9.9"):
        (tmp_path / f"libraries-{needed}").mkdir()
    monkeypatch.setattr(component, "HERE", tmp_path)
    component._find_packages()
    assert str(tmp_path / "libraries-3.6") in sys.path
    assert str(tmp_path / "libraries-9.9") not in sys.path
