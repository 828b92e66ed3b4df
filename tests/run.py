"""Set up all that the tests need, and run them.

``python3 tests/run.py`` needs Python 3.11 or later. It makes a virtual environment in ``.venv``
and, on Debian and Ubuntu where it may, installs LibreOffice. Where LibreOffice is missing it runs
what needs none, and ends with what was not run; with ``CI=true`` in the environment it fails.
What follows the command goes to pytest: ``python3 tests/run.py -k parity``.
"""

import os
import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent
SUPPORT = TESTS / "support"
sys.path[:0] = [str(SUPPORT), str(TESTS.parent)]

from workbook_template.bootstrap import ENVIRONMENT, PROJECT, require_python, set_up

EVERYTHING = ["-n", "auto", "--dist", "worksteal"]
"""All tests, on all processors; most tests stay beside those that share what they opened."""

COMPILED = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(ENVIRONMENT / "compiled")}
"""Dozens of processes take each module compiled, whatever the system is set to keep."""


def main() -> int:
    """Set up, run, and return pytest's status."""
    require_python()
    from needed import install_office

    install_office()
    python = set_up("test")
    if not sys.argv[1:]:  # downloaded once, before several processes ask for it
        subprocess.run([python, str(SUPPORT / "pyodide_host.py")])
    command = [python, "-m", "pytest", *(sys.argv[1:] or EVERYTHING)]
    return subprocess.run(command, cwd=PROJECT, env={**os.environ, **COMPILED}).returncode


if __name__ == "__main__":
    sys.exit(main())
