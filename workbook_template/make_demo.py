"""Set up what is needed, and write the demo workbook ``demo.xlsx`` into the current folder.

``python3 workbook_template/make_demo.py`` needs Python 3.11 or later with its venv module. What
follows the command goes to ``cultivar-fx workbook``, such as ``--units metric`` or ``--force``.
"""

import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from workbook_template.bootstrap import set_up

if __name__ == "__main__":
    command = ["-m", "workbook_template.cli", "workbook", "demo.xlsx", "--demo", "--units", "us"]
    sys.exit(subprocess.run([set_up(), *command, *sys.argv[1:]]).returncode)
