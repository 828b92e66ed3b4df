"""Mutated workbooks, opened and worked with: clean results, or errors of one line.

``MUTATED_WORKBOOKS=2000`` in the environment tries so many; ``--seed`` takes others.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from opened_apart import MEGABYTES, SECONDS, lines_of, outcomes
from packages import packed, parts

if TYPE_CHECKING:
    from collections import Counter

OPENED = int(os.environ.get("MUTATED_WORKBOOKS", "100"))
WORKED_WITH = int(os.environ.get("MUTATED_WORKBOOKS", "8"))
APART = 1_000_000
"""Between the mutations of one ``--seed`` and of the next."""


def test_a_mutated_workbook_is_opened_or_refused_in_one_line(
    seed: str, counts: Counter[str], tmp_path: Path
) -> None:
    (tmp_path / "small.xlsx").write_bytes(packed(parts()))
    first = int(seed) * APART
    opened = outcomes(str(tmp_path / "small.xlsx"), str(first), str(OPENED))
    unclean = [one for one in opened if one.error and "Refusal" not in one.kinds]
    assert [(one.name, one.error, one.words) for one in unclean] == []
    assert [one.words for one in opened if "\n" in one.words or len(one.words) > 500] == []
    assert [one.name for one in opened if one.seconds > SECONDS] == []
    assert opened[-1].megabytes < MEGABYTES
    assert len(opened) == OPENED
    counts["mutated workbooks opened or refused in one line"] += OPENED
    read = sum(not one.error for one in opened)
    assert 0 < read < OPENED  # some mutations are harmless, most are not


def test_check_and_carry_over_take_a_mutated_workbook_or_refuse_it_in_one_line(
    seed: str, counts: Counter[str]
) -> None:
    script = Path(__file__).parent / "support" / "worked_apart.py"
    first = int(seed) * APART
    done = [json.loads(line) for line in lines_of(script, str(first), str(WORKED_WITH))]
    assert [(one["name"], one["wrong"]) for one in done if one["wrong"]] == []
    assert len(done) == WORKED_WITH
    counts["mutated workbooks checked and carried over, or refused in one line"] += WORKED_WITH
    assert 0 < sum(one["carried"] == 0 for one in done) < WORKED_WITH
