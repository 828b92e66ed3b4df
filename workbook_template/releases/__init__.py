"""What earlier releases wrote into a workbook, so that a file is held against its own release."""

from __future__ import annotations

import json
import lzma
from functools import cache
from pathlib import Path
from typing import Any

RELEASE = 3
"""The number of this release. It grows by one with each, whatever changed."""


def path_of(release: int) -> Path:
    """Return the file that keeps the layout of a release."""
    return Path(__file__).with_name(f"{release}.json.xz")


def is_known(release: int) -> bool:
    """Return whether it can be told what a release wrote."""
    return release == RELEASE or path_of(release).exists()


@cache
def stored(release: int) -> dict[str, Any]:
    """Return what a release wrote in each unit system, as ``entered.layout`` stores it."""
    content: dict[str, Any] = json.loads(lzma.decompress(path_of(release).read_bytes()))
    return content
