"""Write anew what is derived from the code: ``python3 tests/regenerate.py``.

That is the list of functions ``FUNCTIONS.md``, the reviewed macros ``excel_macros.bas``, and
``sample_sheets``. Run it after a change that they show, and read the difference before you
commit it. It needs what the tests need, and LibreOffice for the pictures.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent
sys.path.insert(0, str(TESTS.parent))

from workbook_template.bootstrap import PROJECT, set_up

MACROS = TESTS / "excel_macros.bas"
FUNCTIONS = PROJECT / "cultivar_fx/FUNCTIONS.md"


def functions() -> str:
    """Return the list of all functions, as a page for readers."""
    from cultivar_fx.catalog.reference import markdown_table

    return f"# Every function\n\n{markdown_table().strip()}\n"


def macros() -> str:
    """Return the macros that put the functions into Excel, for a Python in a place of our own."""
    from cultivar_fx.hosts.excel_vba import vba_module

    return vba_module(r"C:\Farms\José\Scripts\python.exe", r"C:\Farms\José", "0.37.8")


def main() -> int:
    """Write everything, in the environment of the tests."""
    python = set_up("test")
    if Path(sys.executable) != python:
        return subprocess.run([python, __file__], cwd=PROJECT).returncode
    FUNCTIONS.write_text(functions(), encoding="utf-8", newline="\n")
    MACROS.write_text(macros(), encoding="ascii", newline="\n")
    return subprocess.run([python, PROJECT / "workbook_template/make_samples.py"]).returncode


if __name__ == "__main__":
    sys.exit(main())
