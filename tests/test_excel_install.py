"""Installing the Excel add-in, with a stand-in for Excel that keeps a list of what it was told."""

from __future__ import annotations

import sys
import types
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import xlwings

import cultivar_fx
from cultivar_fx.hosts import excel_install
from cultivar_fx.hosts.excel_functions import excel_functions
from cultivar_fx.hosts.excel_install import FILE_NAME, CannotInstall, install, uninstall
from cultivar_fx.hosts.excel_vba import vba_module

if TYPE_CHECKING:
    from collections.abc import Callable


class ComError(Exception):
    """Excel's way to say no; the arguments are those that Windows gives it."""


class StandInExcel:
    """An Excel that does what it is told, but for what ``refuses`` names."""

    Version = "16.0"

    def __init__(self, startup: Path) -> None:
        self.StartupPath = str(startup)
        self.told: list[Any] = []
        self.macros = b""
        self.refuses = ""
        self.Workbooks = self.VBComponents = self
        self.Name = "Book1"

    def _do(self, what: str, *details: Any) -> None:
        if self.refuses == what:
            raise ComError(-2147352567, "Exception occurred.", (0, "Excel", "No,\r\nI won't.", 0))
        self.told.append((what, *details))

    def __setattr__(self, name: str, value: Any) -> None:
        super().__setattr__(name, value)
        if name in ("IsAddin", "DisplayAlerts"):
            self._do(name, value)

    @property
    def VBProject(self) -> StandInExcel:  # noqa: N802
        self._do("VBProject")
        return self

    def Add(self) -> StandInExcel:  # noqa: N802
        return self

    def Import(self, path: str) -> None:  # noqa: N802
        self._do("Import")
        self.macros = Path(path).read_bytes()

    def Run(self, macro: str) -> None:  # noqa: N802
        self._do("Run", macro)

    def SaveAs(self, path: str, kind: int) -> None:  # noqa: N802
        self._do("SaveAs", kind)
        Path(path).write_bytes(b"add-in")

    def Close(self, _: bool) -> None:  # noqa: N802
        self._do("Close")

    def Quit(self) -> None:  # noqa: N802
        self._do("Quit")


@pytest.fixture
def excel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> StandInExcel:
    """A Windows machine with Excel, and Python with xlwings in a folder of its own."""
    startup, prefix = tmp_path / "XLSTART", tmp_path / "Python"
    startup.mkdir()
    prefix.mkdir()
    for bits in (32, 64):
        (prefix / f"xlwings{bits}-{xlwings.__version__}.dll").touch()
    told = StandInExcel(startup)
    client = types.SimpleNamespace(DispatchEx=lambda _: told)
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(sys, "prefix", str(prefix))
    monkeypatch.setattr(sys, "executable", r"C:\Python\python.exe")
    monkeypatch.setitem(sys.modules, "win32com", types.ModuleType("win32com"))
    monkeypatch.setitem(sys.modules, "win32com.client", client)
    monkeypatch.setitem(sys.modules, "pywintypes", types.SimpleNamespace(com_error=ComError))
    return told


def startup_files(excel: StandInExcel) -> list[str]:
    return [file.name for file in Path(excel.StartupPath).iterdir()]


def test_install_builds_the_add_in_and_says_what_it_did(excel: StandInExcel) -> None:
    said = install()
    assert startup_files(excel) == [FILE_NAME]
    assert [what for what, *_ in excel.told] == [
        *("DisplayAlerts", "VBProject", "Import", "Run", "IsAddin", "SaveAs", "Close", "Quit"),
    ]
    assert ("Run", "'Book1'!CultivarFx.DescribeFunctions") in excel.told
    assert ("SaveAs", 55) in excel.told  # xlOpenXMLAddIn of XlFileFormat
    assert said.startswith(
        f"Installed {len(excel_functions())} functions of cultivar-fx {cultivar_fx.__version__} as "
        f"{Path(excel.StartupPath, FILE_NAME)}; they run on C:\\Python\\python.exe. Start Excel"
    )


def test_excel_gets_the_macros_with_the_line_ends_of_windows(excel: StandInExcel) -> None:
    install()
    expected = vba_module(sys.executable, sys.prefix, xlwings.__version__)
    assert excel.macros == expected.replace("\n", "\r\n").encode("ascii")


def test_install_again_replaces_the_add_in_and_uninstall_removes_it(excel: StandInExcel) -> None:
    Path(excel.StartupPath, FILE_NAME).write_bytes(b"old")
    install()
    assert Path(excel.StartupPath, FILE_NAME).read_bytes() == b"add-in"
    assert uninstall() == f"Removed {Path(excel.StartupPath, FILE_NAME)}."
    assert startup_files(excel) == []
    assert uninstall().endswith("so nothing was removed.")


def test_without_descriptions_it_is_installed_and_says_so(excel: StandInExcel) -> None:
    excel.refuses = "Run"
    assert "Excel took no descriptions" in install()
    assert startup_files(excel) == [FILE_NAME]


def _refuse(what: str) -> Callable[[StandInExcel, pytest.MonkeyPatch], None]:
    return lambda excel, _: setattr(excel, "refuses", what)


def _store_python(_: StandInExcel, patch: pytest.MonkeyPatch) -> None:
    patch.setattr(sys, "base_prefix", r"C:\Program Files\WindowsApps\Python.3.11")


def _other_library(_: StandInExcel, patch: pytest.MonkeyPatch) -> None:
    patch.setattr(xlwings, "__version__", "0.0.1")


def _no_xlwings(_: StandInExcel, patch: pytest.MonkeyPatch) -> None:
    patch.setitem(sys.modules, "xlwings", None)


def _old_excel(excel: StandInExcel, _: pytest.MonkeyPatch) -> None:
    excel.Version = "12.0"


def _locked(_: StandInExcel, patch: pytest.MonkeyPatch) -> None:
    def replace(*_: Any) -> None:
        raise PermissionError(13, "in use")

    patch.setattr(Path, "replace", replace)


def _no_excel(_: StandInExcel, patch: pytest.MonkeyPatch) -> None:
    def no_excel(_: str) -> None:
        raise ComError(-2147221005, "Invalid class string", None, None)

    patch.setattr(sys.modules["win32com.client"], "DispatchEx", no_excel)


@pytest.mark.parametrize(
    ("prepare", "sentence"),
    [
        (_store_python, "This Python comes from the Microsoft Store"),
        (_other_library, "xlwings32-0.0.1.dll is missing, which belongs to xlwings 0.0.1"),
        (_no_xlwings, 'The library xlwings is missing; run "pip install cultivar-fx[excel]"'),
        (_no_excel, "Excel does not start: Invalid class string"),
        (_old_excel, "Excel 12.0 is too old"),
        (_refuse("VBProject"), "Trust access to the VBA project object model"),
        (_refuse("Import"), "Excel could not build the add-in: No, I won't."),
        (_refuse("SaveAs"), "Excel could not build the add-in: No, I won't."),
        (_locked, "Excel still runs with the add-in; close it and try again."),
    ],
)
def test_what_stands_in_the_way_is_one_sentence_and_nothing_is_left_behind(
    excel: StandInExcel,
    monkeypatch: pytest.MonkeyPatch,
    prepare: Callable[[StandInExcel, pytest.MonkeyPatch], None],
    sentence: str,
) -> None:
    prepare(excel, monkeypatch)
    with pytest.raises(CannotInstall) as caught:
        install()
    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)
    assert startup_files(excel) == []
    assert excel.told[-1:] in ([], [("Quit",)])


@pytest.mark.parametrize("platform", ["linux", "darwin"])
@pytest.mark.parametrize("command", [install, uninstall])
def test_elsewhere_it_says_what_to_do_instead(
    command: Callable[[], str], platform: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(excel_install.sys, "platform", platform)
    with pytest.raises(ValueError, match="need Excel on Windows") as caught:
        command()
    assert "cultivar-fx install calc" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_add_in_that_excel_holds_is_not_removed(
    excel: StandInExcel, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unlink(_: Path) -> None:
        raise PermissionError(13, "in use")

    install()
    monkeypatch.setattr(Path, "unlink", unlink)
    with pytest.raises(CannotInstall, match="Excel still runs with the add-in"):
        uninstall()
