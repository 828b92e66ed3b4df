"""Builds the Excel add-in with the macros of ``excel_vba``, and puts it where Excel starts it.

Excel itself builds the file, on Windows. The add-in names the Python that runs this and the
version of xlwings that it has; both have to stay where they are, or it is installed anew.
"""

from __future__ import annotations

import sys
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import cultivar_fx
from cultivar_fx.hosts.excel_functions import PREFIX, excel_functions
from cultivar_fx.hosts.excel_vba import DESCRIBE, VBA_NAME, vba_module

if TYPE_CHECKING:
    from collections.abc import Iterator

FILE_NAME = "cultivar_fx.xlam"

_MACRO_ADD_IN = 55  # XlFileFormat.xlOpenXMLAddIn
_OLDEST_EXCEL = 14  # 2010, the first one with the VBA that the macros are written in


class CannotInstall(ValueError):
    """What stands in the way of the add-in, as one sentence for the grower."""


def install() -> str:
    """Build the add-in and put it into the folder from which Excel starts add-ins.

    Returns
    -------
    str
        What was done.

    Raises
    ------
    CannotInstall
        If this machine cannot run the add-in, or Excel does not let it be built.
    """
    _need_windows()
    text = vba_module(sys.executable, sys.prefix, _library_version())
    with _excel() as (application, com_error):
        version = str(application.Version)
        if float(version.split(".")[0]) < _OLDEST_EXCEL:
            raise CannotInstall(
                f"Excel {version} is too old for the add-in; it needs 2010 or later."
            )
        target = Path(application.StartupPath) / FILE_NAME
        new = target.with_name("new_" + FILE_NAME)
        try:
            described = _build(application, com_error, text, new)
        except com_error as error:
            new.unlink(missing_ok=True)
            raise CannotInstall(f"Excel could not build the add-in: {_told(error)}") from error
    try:
        new.replace(target)
    except OSError as error:
        new.unlink(missing_ok=True)
        raise CannotInstall("Excel still runs with the add-in; close it and try again.") from error
    without = "" if described else " Excel took no descriptions, so its wizard shows none."
    return (
        f"Installed {len(excel_functions())} functions of cultivar-fx {cultivar_fx.__version__} "
        f"as {target}; they run on {sys.executable}.{without} Start Excel again and type "
        f"={PREFIX}. After an upgrade of Python, xlwings or cultivar-fx, install again."
    )


def uninstall() -> str:
    """Remove the add-in.

    Returns
    -------
    str
        What was done.

    Raises
    ------
    CannotInstall
        If this is not Windows, or Excel holds the add-in.
    """
    _need_windows()
    with _excel() as (application, _):
        target = Path(application.StartupPath) / FILE_NAME
    if not target.exists():
        return f"There is no {target}, so nothing was removed."
    try:
        target.unlink()
    except OSError as error:
        raise CannotInstall("Excel still runs with the add-in; close it and try again.") from error
    return f"Removed {target}."


def _need_windows() -> None:
    if sys.platform != "win32":
        raise CannotInstall(
            "The Excel functions that run on Python need Excel on Windows; elsewhere, type the "
            "CFX. functions that the workbook holds already (Excel 2024, 365, web, Mac), or "
            'install those of LibreOffice with "cultivar-fx install calc".'
        )


def _library_version() -> str:
    """Return the version of xlwings, when all that Excel needs of it is there."""
    if "WindowsApps" in f"{sys.executable} {sys.base_prefix}":
        raise CannotInstall(
            "This Python comes from the Microsoft Store, and Excel cannot start it; install "
            "Python from python.org, then cultivar-fx in it, and run this again."
        )
    try:
        version = str(import_module("xlwings").__version__)
        import_module("win32com.client")
    except ImportError as error:
        raise CannotInstall(
            f'The library {error.name} is missing; run "pip install cultivar-fx[excel]".'
        ) from error
    for bits in (32, 64):
        library = Path(sys.prefix) / f"xlwings{bits}-{version}.dll"
        if not library.exists():
            raise CannotInstall(
                f"{library} is missing, which belongs to xlwings {version}; run "
                '"pip install --force-reinstall xlwings" in a virtual environment.'
            )
    return version


@contextmanager
def _excel() -> Iterator[tuple[Any, type[Exception]]]:
    """Run an Excel of our own, beside any that is open, and end it."""
    com_error: type[Exception] = import_module("pywintypes").com_error
    try:
        application = import_module("win32com.client").DispatchEx("Excel.Application")
    except com_error as error:
        raise CannotInstall(f"Excel does not start: {_told(error)}") from error
    try:
        application.DisplayAlerts = False
        yield application, com_error
    finally:
        application.Quit()


def _build(application: Any, com_error: type[Exception], text: str, file: Path) -> bool:
    """Let Excel make the file; tell whether it took the descriptions of the functions."""
    book = application.Workbooks.Add()
    try:
        modules = book.VBProject.VBComponents
    except com_error as error:
        raise CannotInstall(
            "Excel lets no program write macros; tick File > Options > Trust Center > Trust "
            "Center Settings > Macro Settings > Trust access to the VBA project object model, "
            "run this again, and untick it."
        ) from error
    with TemporaryDirectory() as folder:
        module = Path(folder) / f"{VBA_NAME}.bas"
        module.write_text(text, encoding="ascii", newline="\r\n")
        modules.Import(str(module))
    described = True
    try:
        application.Run(f"'{book.Name}'!{VBA_NAME}.{DESCRIBE}")
    except com_error:
        described = False
    book.IsAddin = True
    book.SaveAs(str(file), _MACRO_ADD_IN)
    book.Close(False)
    return described


def _told(error: Exception) -> str:
    """Return what Excel says of an error, on one line."""
    details = error.args[2] if len(error.args) > 2 else None
    said = details[2] if details and details[2] else (error.args[1:2] or [str(error)])[0]
    return " ".join(str(said).split())
