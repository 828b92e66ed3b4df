"""Mutated workbooks through ``open_workbook``: clean results, or errors of one line.

``MUTATED_WORKBOOKS=2000`` in the environment tries so many; ``--seed`` takes others.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from opened_apart import MEGABYTES, SECONDS, outcomes
from packages import packed, parts

if TYPE_CHECKING:
    from collections import Counter
    from pathlib import Path

COUNT = int(os.environ.get("MUTATED_WORKBOOKS", "300"))
APART = 1_000_000
"""Between the mutations of one ``--seed`` and of the next."""


def test_a_mutated_workbook_is_opened_or_refused_in_one_line(
    seed: str, counts: Counter[str], tmp_path: Path
) -> None:
    (tmp_path / "small.xlsx").write_bytes(packed(parts()))
    first = int(seed) * APART
    opened = outcomes(str(tmp_path / "small.xlsx"), str(first), str(COUNT))
    unclean = [one for one in opened if one.error and "Refusal" not in one.kinds]
    assert [(one.name, one.error, one.words) for one in unclean] == []
    assert [one.words for one in opened if "\n" in one.words or len(one.words) > 500] == []
    assert [one.name for one in opened if one.seconds > SECONDS] == []
    assert opened[-1].megabytes < MEGABYTES
    assert len(opened) == COUNT
    counts["mutated workbooks opened or refused in one line"] += COUNT
    read = sum(not one.error for one in opened)
    assert 0 < read < COUNT  # some mutations are harmless, most are not
