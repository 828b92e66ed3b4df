"""The workbook shows the same in three engines, and no error, also where something is missing.

The values that the file holds come from formualizer; LibreOffice and betteroffice-xlsx compute
it anew. ``benchmarks/cleared.py`` tries all the cases of which a few have their turn here each day.
"""

from __future__ import annotations

from datetime import date
from io import BytesIO
from random import Random
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from missing_inputs import faults, first_rows, opened, report, wrong
from second_engine import (
    NOT_COMPUTED,
    Cell,
    Package,
    differences,
    engine_values,
    office_values,
    same,
)
from workbooks import made

from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.errors import CellError
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from missing_inputs import Case, Opened
    from office import Office

TODAY = date.today().toordinal()
CLEARS_A_DAY, STEPS_A_DAY = 1, 1


@pytest.fixture(scope="module", params=SYSTEMS)
def demo(request: pytest.FixtureRequest, office: Office) -> Iterator[Opened]:
    """The invented farm's workbook in one of the two systems."""
    units = request.param
    settings, path = Settings(units, invented=True), made(units, "demo").path
    with opened(office, settings, demo_entries(units), path) as workbook:
        yield workbook


def of_today(cases: Sequence[Case], count: int, seed: str) -> list[Case]:
    """Let cases take turns, in a drawn order: after some days each has had its own."""
    order = Random(seed).sample(cases, len(cases))
    return [order[(TODAY * count + number) % len(order)] for number in range(count)]


def test_engines_agree_on_the_demo(demo: Opened, counts: Counter[str]) -> None:
    stored, office, engine = demo.whole()
    counts["formulas of the demo computed by three engines"] += len(stored)
    unknown = list(engine.values()).count(NOT_COMPUTED)
    counts["of them with a function unknown to betteroffice-xlsx"] += unknown
    found = faults(stored, office, engine, demo.content)
    assert not found, report({"the demo": found})


def test_engines_agree_where_something_is_cleared(demo: Opened, seed: str) -> None:
    cases = [*demo.inputs(), *demo.last_rows()]
    units = demo.book.settings.units
    found = wrong(demo, of_today(cases, CLEARS_A_DAY, f"{seed} {units}"))
    assert not found, report(found)


def test_engines_agree_on_an_empty_workbook(office: Office) -> None:
    units = SYSTEMS[(TODAY + 1) % len(SYSTEMS)]  # the half-filled one is in the other
    with opened(office, Settings(units), None, made(units, "empty").path) as workbook:
        found = faults(*workbook.whole(), workbook.content)
    assert not found, report({"an empty workbook": found})


def test_engines_agree_on_a_half_filled_workbook(office: Office, seed: str) -> None:
    units = SYSTEMS[TODAY % len(SYSTEMS)]
    settings = Settings(units, batch_rows=10, typed_functions=False)
    with opened(office, settings, first_rows(units)) as workbook:
        found = wrong(workbook, of_today(workbook.steps(), STEPS_A_DAY, seed))
    assert not found, report(found)


ERROR = CellError("#N/A", "")


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        (1.0, 1.0 + 1e-10, True),
        (1.0, 1.0 + 1e-8, False),
        (0.0, 1e-13, True),
        (0.0, 1e-11, False),
        (0.0, None, False),  # a 0 says something that nothing does not
        (None, None, True),
        ("a", "a", True),
        ("a", "A", False),
        ("1", 1.0, False),
        ("#N/A", ERROR, False),
        (ERROR, CellError("#N/A", "in other words"), True),
        (ERROR, CellError("#REF!", ""), False),
        (ERROR, None, False),
        (NOT_COMPUTED, 1.0, True),
    ],
)
def test_same_to_who_reads_them(one: Any, other: Any, expected: bool) -> None:
    assert same(one, other) is expected
    assert same(other, one) is expected


def test_empty_cell_that_is_passed_on_is_found(office: Office, tmp_path: Path) -> None:
    """In LibreOffice it still equals an empty text (its help: "Handling of Empty Cells")."""
    content = file_with({"B1": "=A1", "C1": '=IF(B1="","",B1+1)'})
    cells = [Cell("Sheet", "C1")]
    path = tmp_path / "book.xlsx"
    path.write_bytes(content)
    with office.document(path) as document:
        shown = office_values(document.values(), cells)
    [found] = differences(shown, engine_values(content, dict.fromkeys(cells)), content)
    assert str(found) == 'Sheet!C1: None against 1.0: IF(B1="","",B1+1)'


def test_cleared_cell_is_empty_for_every_engine(office: Office, tmp_path: Path) -> None:
    content = file_with({"A1": 5, "A2": 7, "B1": "=SUM(A1:A2)"})
    cleared, cells = [Cell("Sheet", "A1")], [Cell("Sheet", "B1")]
    path = tmp_path / "book.xlsx"
    path.write_bytes(content)
    with office.document(path) as document:
        without = office_values(document.without(cleared), cells)
        afterwards = office_values(document.values(), cells)
    engine = engine_values(Package(content).without(cleared).content(), dict.fromkeys(cells))
    assert [*without.values(), *afterwards.values(), *engine.values()] == [7.0, 12.0, 7.0]


def test_clearing_an_empty_cell_is_refused() -> None:
    package = Package(file_with({"A1": 5}))
    with pytest.raises(ValueError, match="Sheet!B9 is empty already"):
        package.without([Cell("Sheet", "B9")])


def test_what_the_engine_lacks_is_handed_over_and_counts_for_nothing() -> None:
    """betteroffice-xlsx 0.2.1 does not know NORMSINV."""
    lacking, resting = Cell("Sheet", "A1"), Cell("Sheet", "B1")
    content = file_with({"A1": "=NORMSINV(0.5)", "B1": "=A1+1"})
    values = engine_values(content, {lacking: 12.0, resting: 1.0})
    assert values == {lacking: NOT_COMPUTED, resting: 13.0}


def file_with(cells: dict[str, Any]) -> bytes:
    """Make a file with some cells on one sheet."""
    book = openpyxl.Workbook()
    for address, value in cells.items():
        book["Sheet"][address] = value
    file = BytesIO()
    book.save(file)
    return file.getvalue()
