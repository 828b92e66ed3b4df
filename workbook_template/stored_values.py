"""Puts every formula's value into the file, so that previews and readers show numbers.

The engine recalculates the finished file. A few functions it cannot compute yet; for their
examples on the sheet Functions the value comes from the function itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import formualizer

if TYPE_CHECKING:
    from pathlib import Path


def fill_stored_values(path: Path) -> None:
    """Recalculate a workbook file in place."""
    formualizer.recalculate_xlsx_file(str(path))
