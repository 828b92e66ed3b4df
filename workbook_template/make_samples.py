"""Set up what is needed, and write everything in ``sample_sheets`` anew.

``python3 workbook_template/make_samples.py`` needs Python 3.11 or later with its venv module, and
LibreOffice for the pictures. A file that would say the same again stays as it is.
"""

import os
import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from workbook_template.bootstrap import PROJECT, set_up

if __name__ == "__main__":
    command = ["-m", "workbook_template.demo.samples", str(PROJECT / "sample_sheets")]
    # Where lxml is installed the library spells parts in another way.
    plain = {**os.environ, "OPENPYXL_LXML": "False"}
    sys.exit(subprocess.run([set_up("samples"), *command], env=plain).returncode)
