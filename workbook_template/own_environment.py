"""A virtual environment of the checkout's own, made at the first use.

On the standard library alone: it runs before anything is installed.
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


def set_up(extra: str = "") -> Path:
    """Install the project with an extra, unless that was done for this pyproject.

    Parameters
    ----------
    extra : str
        Name of an extra of pyproject.toml, such as ``"test"``.

    Returns
    -------
    Path
        The environment's Python.
    """
    if sys.version_info < (3, 11):
        found = sys.version.split()[0]
        sys.exit(f"This needs Python 3.11 or later, and {sys.executable} is {found}.")
    wanted = hashlib.sha256((PROJECT / "pyproject.toml").read_bytes()).hexdigest()
    done = ENVIRONMENT / f"installed-{extra or 'plain'}"
    if done.is_file() and done.read_text(encoding="utf-8") == wanted and PYTHON.exists():
        return PYTHON
    print(f"Setting up {ENVIRONMENT}; this is done once.", file=sys.stderr)
    try:
        if not PYTHON.exists():
            venv.create(ENVIRONMENT, with_pip=True, clear=True)
        install = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
        # What is used is compiled when it is; compiling all of it takes as long as the rest.
        install += ["--no-compile"]
        target = f".[{extra}]" if extra else "."
        subprocess.run([PYTHON, *install, "-e", target], cwd=PROJECT, check=True)
    except subprocess.CalledProcessError as error:
        sys.exit(
            f"Setting up {ENVIRONMENT} failed: {error}. On Debian or Ubuntu it takes the package "
            "python3-venv; installing the libraries takes a connection to PyPI."
        )
    done.write_text(wanted, encoding="utf-8")
    return PYTHON
