"""What earlier releases wrote into a workbook, so that a file is held against its own release."""

from __future__ import annotations

import json
import lzma
from functools import cache
from pathlib import Path
from typing import Any

from workbook_template.releases.packing import kept_layouts, texts_of, unpacked

RELEASE = 6
"""The number of this release. It grows by one with each, whatever changed."""


def path_of(release: int) -> Path:
    """Return the file that keeps the layout of a release."""
    return Path(__file__).with_name(f"{release}.json.xz")


def is_known(release: int) -> bool:
    """Return whether it can be told what a release wrote."""
    return release == RELEASE or path_of(release).exists()


@cache
def _content(release: int) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(lzma.decompress(path_of(release).read_bytes()))
    return content


@cache
def texts(release: int) -> list[str]:
    """Return the texts of a release's cells, each once; none of what is no release."""
    if not path_of(release).exists():
        return []
    return texts_of(_content(release), texts(release - 1))


def kept(release: int) -> dict[str, dict[str, Any]]:
    """Return what a release wrote in each unit system, but for the cells, which are packed."""
    return kept_layouts(_content(release))


@cache
def stored(release: int, units: str) -> dict[str, Any]:
    """Return what a release wrote in a unit system, as ``blank_layout.as_stored`` stores it."""
    return unpacked(_content(release), texts(release), units)


_LABELS = Path(__file__).with_name("labels.json")
"""The labels of inputs in the releases that kept none in their layout; of the first, those that
the second changed."""


@cache
def earlier_labels() -> dict[str, frozenset[str]]:
    """Return every label that each input out of tables had in an earlier release, by its key."""
    found: dict[str, set[str]] = {}
    said: dict[str, dict[str, str]] = json.loads(_LABELS.read_text(encoding="utf-8"))
    for release in range(1, RELEASE):
        if str(release) in said:
            maps = [said[str(release)]]
        else:
            maps = [layout["labels"] for layout in kept(release).values()]
        for key, label in (pair for labels in maps for pair in labels.items()):
            found.setdefault(key, set()).add(label)
    return {key: frozenset(labels) for key, labels in found.items()}
