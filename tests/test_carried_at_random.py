"""Carrying over at random: whatever was done to a workbook, no entered cell is lost.

``--carry-over-seeds 300`` works with that many workbooks. What is to be entered into the new one
is compared for each, and some are written, read, carried over once more and read again.
"""

from __future__ import annotations

import random
from typing import TYPE_CHECKING, Any

import pytest
from farm_edits import Account, Edits, serial
from openpyxl.utils import get_column_letter, range_boundaries
from reading import place

from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.errors import CellError
from workbook_template.operations.carry_over import carried, carry_over
from workbook_template.reading.entries import read
from workbook_template.safety.opening import open_workbook
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import Field
from workbook_template.schema.made_with import MADE_WITH
from workbook_template.sheets.carried import CARRIED_OVER, HEADINGS
from workbook_template.writing.layout import grid_name, table_name

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Sequence
    from pathlib import Path

    from office import Office

USUAL = 4
"""Workbooks that an ordinary run works with; one of them is written."""
WRITTEN = 10
"""Of more than those, every how many is written."""
_CLOSE = 1e-13
_MILLISECOND = 2e-8
"""In days: the finest that a date keeps."""
_DEGREES = 1e-12
"""What is left of a temperature near zero after 32 was added and taken away."""


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    count = int(metafunc.config.getoption("--carry-over-seeds"))
    metafunc.parametrize("number", range(count))


def test_no_entered_cell_is_lost(
    number: int,
    tmp_path: Path,
    office: Office,
    request: pytest.FixtureRequest,
    counts: Counter[str],
) -> None:
    old, new, newer = (tmp_path / name for name in ("old.xlsx", "new.xlsx", "newer.xlsx"))
    account = Edits(number, old).account
    if number % 3 == 2:
        with office.document(old) as document:
            document.store(old)
    before = old.read_bytes()
    wanted = random.Random(number).choice(SYSTEMS)
    entries, settings, _ = carried(read(old), wanted)
    assert settings.units == wanted
    lines = [[None], list(HEADINGS), *entries.carried]
    assert_same(Account(wanted, entries.singles, entries.tables, besides(lines)), account)
    counts["workbooks worked with at random"] += 1
    counts["cells entered there, and carried over"] += account.entered
    is_long = int(request.config.getoption("--carry-over-seeds")) > USUAL
    if number % (WRITTEN if is_long else USUAL) == 0:
        carry_over(old, new, wanted)
        found = entered(new, wanted)
        assert_same(found, account)
        carry_over(new, newer, account.units)
        again = entered(newer, account.units)
        assert again.besides == found.besides
        # What a batch was made with is kept, where the file written first shows it.
        for row, typed in zip(again.tables["batches"], account.tables["batches"], strict=True):
            for one in MADE_WITH:
                if one.key not in typed:
                    row.pop(one.key, None)
        assert_same(again, account, 1e-14)
        counts["of them written twice, and read again"] += 1
    assert old.read_bytes() == before


def entered(path: Path, units: str) -> Account:
    """Read a new workbook without the reader that is tested: its layout is known."""
    workbook = open_workbook(path).formulas
    account = Account(units)
    for key in SINGLE_INPUTS:
        sheet, row, column = place(workbook, key)
        account.singles[key] = typed(workbook[sheet].cell(row + 1, column + 1))
    for key, table in TABLES.items():
        sheet, area = next(
            (sheet, sheet.tables[table_name(key)].ref)
            for sheet in workbook.worksheets
            if table_name(key) in sheet.tables
        )
        _, top, _, bottom = range_boundaries(area)
        rows = [
            {
                one.key: typed(sheet.cell(row, number))
                for number, one in enumerate(table.columns, 1)
                if isinstance(one, Field)
            }
            for row in range(top + 1, bottom + 1)
        ]
        account.tables[key] = [filled(row) for row in rows if filled(row)]
    cells = workbook.defined_names[grid_name("weigh", "measured")].attr_text.rpartition("!")[2]
    account.tables["weigh"] = [
        filled({"measured": typed(cell)})
        for (cell,) in workbook["Mix card"][cells.replace("$", "")]
    ]
    if CARRIED_OVER in workbook:
        rows = workbook[CARRIED_OVER].iter_rows()
        account.besides = besides([[typed(cell) for cell in row] for row in rows])
    return account


def besides(lines: Sequence[Sequence[Any]]) -> Counter[tuple[str, str, str]]:
    """Take down the lines of the Carried over sheet, a run of cells one by one."""
    account = Account("")
    heads = [tuple(line)[: len(HEADINGS)] for line in lines].index(HEADINGS)
    for _, sheet, cells, _, _, _, *values in lines[heads + 1 :]:
        left, row, right, _ = range_boundaries(cells or "A1")
        for offset in range(right - left + 1):
            cell = f"{get_column_letter(left + offset)}{row}" if cells else ""
            account.note(sheet or "", cell, values[offset])
    return account.besides


def typed(cell: Any) -> Any:
    return CellError(str(cell.value), "") if cell.data_type == "e" else cell.value


def filled(row: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if value is not None}


def assert_same(found: Account, account: Account, close: float = _CLOSE) -> None:
    """Compare what was found with what was entered, in the units of each."""
    for key, value in account.singles.items():
        assert_value(SINGLE_INPUTS[key], found.singles[key], value, found, account, close)
    for key, rows in account.tables.items():
        assert [row.keys() for row in found.tables[key]] == [row.keys() for row in rows], key
        for row, other in zip(found.tables[key], rows, strict=True):
            for column, value in other.items():
                field = TABLES[key].column(column) if key in TABLES else None
                assert_value(field, row[column], value, found, account, close)
    assert found.besides == account.besides


def assert_value(
    field: Any, found: Any, value: Any, there: Account, here: Account, close: float
) -> None:
    number, wanted = serial(found), serial(value)
    if not isinstance(wanted, int | float):
        assert found == value, field
        return
    is_date = number is not found or wanted is not value
    is_temperature = field is not None and bool(field.dimension.zero)
    allowed = _MILLISECOND if is_date else is_temperature * _DEGREES
    is_unit = field is not None and field.is_number and field.dimension.differs
    if is_unit and here.units != there.units and not is_date:
        dimension = field.dimension
        wanted = (dimension.to_metric if there.units == "metric" else dimension.from_metric)(value)
    assert float(number) == pytest.approx(float(wanted), rel=close, abs=allowed), field
