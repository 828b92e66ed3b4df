"""Imported before anything that brings openpyxl along, which reads this once.

One of the libraries that only tests need brings lxml along, which openpyxl then reads and writes
with. Most farms' computers have none; test_file_format.py tries both.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENPYXL_LXML", "False")
