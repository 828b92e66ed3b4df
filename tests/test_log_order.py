"""The logs in any order, with gaps: what a batch gave is what its rows of the harvests add up to.

Expected figures are sums and first days over the typed rows, taken here in plain Python.
"""

from __future__ import annotations

from datetime import date
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

import openpyxl
import pytest
from openpyxl.utils.datetime import to_excel
from reading import place, table
from workbooks import made

from workbook_template.build import build
from workbook_template.demo.data import demo_entries
from workbook_template.schema import TABLES
from workbook_template.writing.blocks import Settings

if TYPE_CHECKING:
    from office import Office
    from openpyxl import Workbook

Rows = list[dict[str, Any]]
UNITS = "metric"


def _newest_first(batches: Rows, harvests: Rows) -> None:
    batches.reverse()
    harvests.reverse()


def _shuffled(batches: Rows, harvests: Rows) -> None:
    Random(1).shuffle(batches)
    Random(2).shuffle(harvests)


def _shuffled_batches(batches: Rows, _: Rows) -> None:
    Random(3).shuffle(batches)


def _one_row_late(_: Rows, harvests: Rows) -> None:
    harvests.append(harvests.pop(3))


def _blank_rows(_: Rows, harvests: Rows) -> None:
    harvests[5:5] = [{}, {}]


def _dates_blank(batches: Rows, harvests: Rows) -> None:
    del harvests[0]["date"], harvests[7]["date"], harvests[-1]["date"], batches[4]["made"]


def _date_as_text(_: Rows, harvests: Rows) -> None:
    harvests[9]["date"] = "yesterday"


def _date_far_out(_: Rows, harvests: Rows) -> None:
    harvests[-1]["date"] = date(2036, 1, 1)


def _date_without_batch(_: Rows, harvests: Rows) -> None:
    del harvests[2]["batch"]


ORDERS = (
    _newest_first,
    _shuffled,
    _shuffled_batches,
    _one_row_late,
    _blank_rows,
    _dates_blank,
    _date_as_text,
    _date_far_out,
    _date_without_batch,
)


class Farm(NamedTuple):
    """A workbook whose logs are in some order, and what is typed into them."""

    workbook: Workbook
    batches: Rows
    harvests: Rows


@pytest.fixture(scope="module", params=ORDERS, ids=lambda order: order.__name__.strip("_"))
def farm(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Farm:
    """Build a workbook for each order of the logs, without empty rows."""
    entries = demo_entries(UNITS)
    batches: Rows = entries.tables["batches"]
    harvests: Rows = entries.tables["harvests"]
    request.param(batches, harvests)
    path = tmp_path_factory.mktemp("order") / "farm.xlsx"
    build(path, Settings(UNITS, batch_rows=1, typed_functions=False), entries)
    return Farm(openpyxl.load_workbook(path, data_only=True), batches, harvests)


def test_a_batch_has_all_of_its_harvests_in_the_file(farm: Farm) -> None:
    has_all_of_its_harvests(farm, table(farm.workbook, "batches", UNITS))


def test_a_batch_has_all_of_its_harvests_in_libreoffice(farm: Farm, office: Office) -> None:
    """One workbook, with the rows of an order written over those of the demo."""
    workbook = made(UNITS, "demo").values
    keys = [column.key for column in TABLES["batches"].columns]
    with office.kept(made(UNITS, "demo").path) as document:
        for name, typed in (("batches", farm.batches), ("harvests", farm.harvests)):
            for field in TABLES[name].fields:
                cells = [[_typed(row.get(field.key))] for row in typed]
                document.write(*place(workbook, f"{name}.{field.key}"), cells)
        first = place(workbook, "batches.batch")
        rows = document.read(*first, len(farm.batches), len(keys))
    has_all_of_its_harvests(farm, [dict(zip(keys, row, strict=True)) for row in rows])


def has_all_of_its_harvests(farm: Farm, found: Rows) -> None:
    """Hold what each batch gave against the rows of the harvests that name it."""
    for batch in found[: len(farm.batches)]:
        own = [row for row in farm.harvests if row.get("batch") == batch["batch"]]
        fresh = sum(row["fresh"] for row in own)
        assert batch["fresh"] == pytest.approx(fresh, abs=1e-9), batch["batch"]
        assert batch["flushes_picked"] == len({row["flush"] for row in own}), batch["batch"]
        first = [_serial(row.get("date")) for row in own if row["flush"] == 1]
        days = [day for day in first if day]
        if days:
            assert _serial(batch["first_picked"]) == min(days)
        flushes = [row["flush"] for row in own]
        assert batch["last_flush"] == max(flushes, default=0), batch["batch"]
        days = [_serial(row.get("date")) for row in own if row["flush"] == max(flushes)]
        if any(days):
            assert _serial(batch["last_picked"]) == min(day for day in days if day)


def _typed(value: Any) -> Any:
    return _serial(value) if isinstance(value, date) else value


def _serial(day: Any) -> float:
    """Return a date as the number that programs keep; what is no date counts as none."""
    if isinstance(day, date):
        return float(to_excel(day))  # type: ignore[no-untyped-call]
    return day if isinstance(day, float) else 0.0
