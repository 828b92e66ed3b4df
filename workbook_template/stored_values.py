"""Puts every formula's value into the file, so that previews and readers show numbers.

The engine recalculates the finished file. A few functions it cannot compute yet; for their
examples on the sheet Functions the value comes from the function itself.
"""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING

import formualizer

if TYPE_CHECKING:
    from pathlib import Path

_NUMBER = re.compile(r"\(os error (\d+)\)")


def fill_stored_values(path: Path) -> None:
    """Recalculate a workbook file in place."""
    try:
        formualizer.recalculate_xlsx_file(str(path))
    except OSError as error:
        number = _NUMBER.search(str(error))
        if number is None:
            raise
        # The engine tells the system's number in its words only.
        raise OSError(int(number[1]), os.strerror(int(number[1]))) from error
