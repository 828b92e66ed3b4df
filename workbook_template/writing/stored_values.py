"""Puts every formula's value into the file, so that previews and readers show numbers."""

from __future__ import annotations

import formualizer

_TOO_MANY = "formula cell count limit"


def with_stored_values(package: bytes) -> bytes:
    """Give a workbook file, as bytes, with the value of every formula beside it.

    The engine takes no more than some 100 000 formulas, as many as about 800 batches have. A larger
    workbook stays without values: the spreadsheet program works them out when it opens the file.
    """
    try:
        recalculated: bytes = formualizer.recalculate_xlsx_bytes(package)["bytes"]
    except OSError as error:
        if _TOO_MANY not in str(error):
            raise
        return package
    return recalculated
