"""Set up a virtual environment in .venv if there is none yet, and run all tests in it.

``python3 tests/run.py`` needs Python 3.11 or later with its venv module, and LibreOffice.
What follows the command goes to pytest: ``python3 tests/run.py -k parity``.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
ENVIRONMENT = PROJECT / ".venv"
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
INSTALLED = ENVIRONMENT / "installed-for"


def set_up() -> None:
    """Install the project and its tests' libraries, unless that was done for this pyproject."""
    wanted = hashlib.sha256((PROJECT / "pyproject.toml").read_bytes()).hexdigest()
    if INSTALLED.is_file() and INSTALLED.read_text(encoding="utf-8") == wanted:
        return
    venv.create(ENVIRONMENT, with_pip=True, clear=True)
    install = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", ".[test]"]
    subprocess.run([PYTHON, *install], cwd=PROJECT, check=True)
    INSTALLED.write_text(wanted, encoding="utf-8")


def main() -> int:
    """Run pytest, and give its exit code."""
    if sys.version_info < (3, 11):
        sys.exit(
            f"This needs Python 3.11 or later, and {sys.executable} is {sys.version.split()[0]}."
        )
    try:
        set_up()
    except subprocess.CalledProcessError as error:
        sys.exit(
            f"Setting up {ENVIRONMENT} failed: {error}. On Debian or Ubuntu it takes the package "
            "python3-venv; installing the libraries takes a connection to PyPI."
        )
    return subprocess.run([PYTHON, "-m", "pytest", *sys.argv[1:]], cwd=PROJECT).returncode


if __name__ == "__main__":
    sys.exit(main())
