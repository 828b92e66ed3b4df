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

APART = "tests/test_calc_addin.py"
"""LibreOffice with the add-in in it: in a process that has made nothing else."""

EVERYTHING = (
    ["-n", "auto", "--dist", "loadfile", f"--ignore={APART}"],
    [APART],
)
"""All tests, on all processors; tests of one file share what they build, so they stay together."""

if __name__ == "__main__":
    runs = [sys.argv[1:]] if sys.argv[1:] else EVERYTHING
    commands = [[set_up("test"), "-m", "pytest", *arguments] for arguments in runs]
    sys.exit(max(subprocess.run(command, cwd=PROJECT).returncode for command in commands))
