"""Puts every formula's value into the file, so that previews and readers show numbers."""

from __future__ import annotations

import re
from io import BytesIO
from zipfile import ZipFile

import formualizer

_WORKBOOK = "xl/workbook.xml"
_NAMED_FUNCTIONS = re.compile(rb"<definedName [^>]*>_xlfn\.LAMBDA\(.*?</definedName>", re.DOTALL)
MOST_FORMULAS = 100_000
"""That the engine takes; some 750 batches have as many."""
_TOO_LARGE = ("formula cell count limit", "input size limit")


def with_stored_values(package: bytes) -> bytes:
    """Give a workbook file, as bytes, with the value of every formula beside it.

    A workbook that is too large for the engine stays without values: the spreadsheet program works
    them out when it opens the file.
    """
    with ZipFile(BytesIO(package)) as archive:
        workbook = archive.read(_WORKBOOK)
    # No cell uses the named functions, whose long texts take the engine a quarter of its time.
    lean = _with_part(package, _WORKBOOK, _NAMED_FUNCTIONS.sub(b"", workbook))
    try:
        recalculated: bytes = formualizer.recalculate_xlsx_bytes(lean)["bytes"]
    except (OSError, ValueError) as error:
        if not any(limit in str(error) for limit in _TOO_LARGE):
            raise
        return package
    return _with_part(recalculated, _WORKBOOK, workbook)


def _with_part(package: bytes, name: str, content: bytes) -> bytes:
    """Give a package with another content of a part; nothing is packed, for speed."""
    changed = BytesIO()
    with ZipFile(BytesIO(package)) as old, ZipFile(changed, "w") as new:
        for entry in old.namelist():
            new.writestr(entry, content if entry == name else old.read(entry))
    return changed.getvalue()
