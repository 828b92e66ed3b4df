"""Whatever an honest grower does with rows and columns, and whatever saves it: nobody is blamed.

``--history-seeds 100`` lives through that many.
"""

from __future__ import annotations

import random
from collections import Counter
from typing import TYPE_CHECKING

from histories import LOSING, PROGRAMS, adorn, live
from small_farm import small_farm
from workbooks import loaded

from workbook_template.reading.entries import read
from workbook_template.reading.own_formulas import LOST
from workbook_template.reading.unmatched import NOTE, Search

if TYPE_CHECKING:
    from pathlib import Path

    import pytest
    from office import Office


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "history" in metafunc.fixturenames:
        metafunc.parametrize("history", range(int(metafunc.config.getoption("--history-seeds"))))


def test_no_honest_history_is_blamed(
    history: int, seed: str, tmp_path: Path, office: Office, counts: Counter[str]
) -> None:
    workbook = loaded(small_farm().path)
    path, done = live(workbook, office, history + int(seed), tmp_path)
    reading = read(path)
    search = Search(reading)
    assert reading.absent == []
    leftovers = [(one.kind, one.found.sheet, one.found.cell) for one in search.leftovers]
    assert leftovers == [], done
    # Some formulas are too long for a .xls, which is a real loss.
    wrong = [one for one in search.destroyed if one.kind != LOST or done[0] not in LOSING]
    assert wrong == [], done
    counts["honest histories, nobody blamed"] += 1


def test_what_is_no_cell_is_found_again_whatever_saved_it(
    history: int, seed: str, tmp_path: Path, office: Office, counts: Counter[str]
) -> None:
    workbook = loaded(small_farm().path)
    number = history + int(seed)
    wanted = adorn(workbook, random.Random(number))
    path, done = live(workbook, office, number, tmp_path)
    reading = read(path)
    found = Counter(one.kind for one in Search(reading).leftovers)
    assert reading.doubts == {}, done
    if done[0] in ("xlsx", "ods"):  # the others drop some of these themselves
        assert found == wanted, done
    assert found <= wanted, done
    assert found[NOTE] == 1 or done[0] in (*LOSING, *PROGRAMS), done
    counts["histories with what is no cell"] += 1
