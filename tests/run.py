"""Set up a virtual environment in .venv if there is none yet, and run all tests in it.

``python3 tests/run.py`` needs Python 3.11 or later with its venv module, and LibreOffice.
What follows the command goes to pytest: ``python3 tests/run.py -k parity``.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from workbook_template.own_environment import PROJECT, set_up

EVERYTHING = ["-n", "auto", "--dist", "loadfile"]
"""All tests, on all processors; tests of one file share what they build, so they stay together."""

if __name__ == "__main__":
    command = [set_up("test"), "-m", "pytest", *(sys.argv[1:] or EVERYTHING)]
    sys.exit(subprocess.run(command, cwd=PROJECT).returncode)
