"""What some tests need besides Python's libraries: LibreOffice, and Pyodide for Node.

A test asks for it with a fixture of that name, in ``conftest.py``. On the standard library alone:
``run.py`` asks here before anything is installed.
"""

from __future__ import annotations

import os
import sys

import office

from workbook_template import system_packages


def all_must_run() -> bool:
    """Return whether what is missing is a failure, as where a change is checked."""
    return os.environ.get("CI", "").lower() not in ("", "0", "false")


def install_office() -> None:
    """Install LibreOffice where that may be done; say why where not."""
    if not office_missing():
        return
    try:
        system_packages.install(*office.PACKAGES)
    except system_packages.NotInstalled as error:
        reason = f"LibreOffice is missing and cannot be installed: {error}."
        if all_must_run():
            sys.exit(f"{reason} All tests have to run here. {office_missing()}")
        sys.stderr.write(f"{reason} What needs it is not run.\n")
    office.installed.cache_clear()


def office_missing() -> str:
    """Return what to do to have LibreOffice; an empty text where it is there."""
    try:
        office.installed()
    except office.OfficeMissing as error:
        return str(error)
    return ""


def pyodide_missing() -> str:
    """Return what to do to have Pyodide, which is downloaded if need be; or an empty text."""
    import pyodide_host  # needs libraries

    try:
        pyodide_host.fetch()
    except pyodide_host.PyodideMissing as error:
        return str(error)
    return ""


NEEDED = {"libreoffice": office_missing, "pyodide": pyodide_missing}
"""What to ask for each of the fixtures."""
