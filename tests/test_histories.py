"""Whatever an honest grower does with rows and columns, and whatever saves it: nobody is blamed.

``--history-seeds 100`` lives through that many.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import openpyxl
from histories import live
from small_farm import small_farm

from workbook_template.reading.entries import read
from workbook_template.reading.own_formulas import LOST
from workbook_template.reading.unmatched import Search

if TYPE_CHECKING:
    from collections import Counter
    from pathlib import Path

    import pytest
    from office import Office


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "history" in metafunc.fixturenames:
        metafunc.parametrize("history", range(int(metafunc.config.getoption("--history-seeds"))))


def test_no_honest_history_is_blamed(
    history: int, seed: str, tmp_path: Path, office: Office, counts: Counter[str]
) -> None:
    workbook = openpyxl.load_workbook(BytesIO(small_farm().path.read_bytes()))
    path, done = live(workbook, office, history + int(seed), tmp_path)
    reading = read(path)
    search = Search(reading)
    assert reading.absent == []
    leftovers = [(one.kind, one.found.sheet, one.found.cell) for one in search.leftovers]
    assert leftovers == [], done
    # Some formulas are too long for a .xls, which is a real loss.
    assert [one for one in search.destroyed if one.kind != LOST or done[0] != "xls"] == [], done
    counts["honest histories, nobody blamed"] += 1
