"""Keeps what the present release writes: ``python3 -m workbook_template.releases``.

Run once for each release, as its last step: what it wrote is what its workbooks are held against.
"""

from __future__ import annotations

import json
import lzma

from cultivar_fx.catalog.dimensions import SYSTEMS
from workbook_template.reading.blank_layout import as_stored, written_now
from workbook_template.releases import RELEASE, path_of, texts
from workbook_template.releases.packing import packed

_SMALLEST = {"id": lzma.FILTER_LZMA2, "preset": 9 | lzma.PRESET_EXTREME, "pb": 0}
"""The preset aligns for numbers of four bytes, ``pb``; text has no such places."""


def content() -> bytes:
    """Return the file of the present release."""
    layouts = {units: as_stored(written_now(units)) for units in SYSTEMS}
    text = json.dumps(
        packed(layouts, texts(RELEASE - 1)), ensure_ascii=False, separators=(",", ":")
    )
    return lzma.compress(text.encode(), filters=[_SMALLEST])


if __name__ == "__main__":
    path_of(RELEASE).write_bytes(content())
