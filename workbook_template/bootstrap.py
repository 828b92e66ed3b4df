"""A virtual environment of the checkout's own, made at the first use.

On the standard library alone, and in a form that an old Python reads: it runs before anything
is installed, and has to say which Python it needs.
"""

import hashlib
import os
import re
import subprocess
import sys
import venv
from importlib.util import find_spec
from pathlib import Path

from workbook_template import system_packages

PROJECT = Path(__file__).resolve().parent.parent
ENVIRONMENT = PROJECT / ".venv"
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
VENV_PACKAGE = "python{}.{}-venv".format(*sys.version_info)
"""Debian keeps the installer of pip, which an environment begins with, in a package of its own."""

_LOG = "pip.log"
_ERROR = re.compile(r"\bERROR: (?!\[present)(.+)")
_UNREACHED = ("(from versions: none)", "Retrying (Retry", "Max retries exceeded")
"""What pip writes where it has no connection to PyPI."""


def require_python() -> None:
    """Check that this Python is new enough, or end with one line that says so."""
    if sys.version_info < (3, 11):
        found = sys.version.split()[0]
        sys.exit(f"This needs Python 3.11 or later, and {sys.executable} is {found}.")


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
    require_python()
    wanted = hashlib.sha256((PROJECT / "pyproject.toml").read_bytes()).hexdigest()
    done = ENVIRONMENT / f"installed-{extra or 'plain'}"
    if done.is_file() and done.read_text(encoding="utf-8") == wanted and PYTHON.exists():
        return PYTHON
    print(f"Setting up {ENVIRONMENT}; this is done once.", file=sys.stderr)
    if not (PYTHON.exists() and any(ENVIRONMENT.glob("installed-*"))):  # or one broke off
        _make_environment()
    _install(f".[{extra}]" if extra else ".")
    done.write_text(wanted, encoding="utf-8")
    return PYTHON


def _make_environment() -> None:
    if system_packages.is_debian() and find_spec("ensurepip") is None:
        try:
            system_packages.install(VENV_PACKAGE)
        except system_packages.NotInstalled as error:
            sys.exit(
                f"{sys.executable} cannot make a virtual environment, and {error}. "
                f"Install what it lacks: {system_packages.command(VENV_PACKAGE)}"
            )
    try:
        venv.create(ENVIRONMENT, with_pip=True, clear=True)
    except (OSError, subprocess.CalledProcessError) as error:
        sys.exit(f"{sys.executable} cannot make a virtual environment in {ENVIRONMENT}: {error}.")


def _install(target: str) -> None:
    log = ENVIRONMENT / _LOG
    log.unlink(missing_ok=True)
    pip = [str(PYTHON), "-m", "pip", "--quiet", "--disable-pip-version-check"]
    # What is used is compiled when it is; compiling all of it takes as long as the rest.
    done = subprocess.run(
        [*pip, "--log", str(log), "install", "--no-compile", "-e", target],
        cwd=PROJECT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    )
    if done.returncode == 0:
        return
    # What builds the project runs in a pip of its own, whose words are in the log only.
    said = done.stdout + (log.read_text(encoding="utf-8", errors="replace") if log.exists() else "")
    if any(sign in said for sign in _UNREACHED):
        sys.exit(
            "pip cannot reach PyPI (pypi.org), where the libraries come from. Connect to the "
            f"internet, or tell pip of a mirror, and try again. What pip says: {log}"
        )
    found = _ERROR.search(said)
    reason = found[1] if found else f"it ends with status {done.returncode}."
    sys.exit(f"pip cannot install the libraries: {reason} What pip says: {log}")
