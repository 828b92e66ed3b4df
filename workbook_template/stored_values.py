"""Puts every formula's value into the file, so that previews and readers show numbers."""

from __future__ import annotations

import formualizer


def with_stored_values(package: bytes) -> bytes:
    """Give a workbook file, as bytes, with the value of every formula beside it."""
    recalculated: bytes = formualizer.recalculate_xlsx_bytes(package)["bytes"]
    return recalculated
