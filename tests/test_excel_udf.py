"""The xlwings functions, called as Excel on Windows calls them: by xlwings' own ``CallUDF``.

The calls run in one other process, whose Windows modules are stood in for. Whatever macros hand
over is there as Windows hands it over: numbers as floats, error values and missing arguments by
their codes, dates with a time zone, ranges as rows of cells or as a range that xlwings reads.
"""

from __future__ import annotations

import datetime as dt
import pickle
import re
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from cases import WATER, Case
from host_calls import host_calls, same

import cultivar_fx
from cultivar_fx.catalog.registry import definition, functions
from cultivar_fx.errors import ERROR_CODES
from cultivar_fx.hosts.excel_functions import CATEGORY, LONGEST_HELP

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator

PROJECT = Path(__file__).resolve().parent.parent
STAND_IN = Path(__file__).parent / "support" / "xlwings_stand_in.py"

MISSING = -2147352572  # what a macro hands over for an argument that was left out
# Error values reach Python as 0x800A0000 plus Excel's own number, as a signed 32-bit number
ERROR_NUMBERS = {
    code: 0x800A0000 + number - 2**32
    for code, number in {
        "#NULL!": 2000,
        "#DIV/0!": 2007,
        "#VALUE!": 2015,
        "#REF!": 2023,
        "#NAME?": 2029,
        "#NUM!": 2036,
        "#N/A": 2042,
    }.items()
}
TWICE = pytest.mark.parametrize("as_ranges", [False, True], ids=["as values", "as ranges"])


def as_com(value: Any) -> Any:
    """Return a value of a cell or a range as it reaches Python."""
    if isinstance(value, list):
        rows = [row if isinstance(row, list) else [row] for row in value]
        return tuple(tuple(map(as_com, row)) for row in rows)
    if isinstance(value, str) and value in ERROR_NUMBERS:
        return ERROR_NUMBERS[value]
    if type(value) is dt.date:
        return dt.datetime.combine(value, dt.time())
    return float(value) if type(value) is int else value


def as_case(answer: Any) -> Any:
    """Return an answer as the table of cases shows it: rows, and dates without time of day."""
    if isinstance(answer, (list, tuple)):
        return [as_case(one) for one in answer]
    return answer.date() if isinstance(answer, dt.datetime) else answer


def parameters(case: Case) -> list[Any]:
    """Return one value for each parameter of the macro, those left out as missing."""
    wanted = definition(case.function)
    values = [as_com(value) for value in case.arguments]
    if wanted.variadic:
        return values
    values += [MISSING] * (len(wanted.arguments) - len(values))
    if wanted.takes_units:
        values.append(MISSING if case.units is None else as_com(case.units))
    return values


class Excel:
    """The other process: what xlwings knows of the functions, and its answers to calls."""

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self._process = process
        self.known = self._read()

    def _read(self) -> dict[str, Any]:
        try:
            result: dict[str, Any] = pickle.load(self._process.stdout)
        except EOFError:
            pytest.fail(self._process.stderr.read().decode(), pytrace=False)
        return result

    def answers(self, work: list[tuple[str, list[Any], bool]]) -> list[Any]:
        """Call functions with values as they reach Python, as ranges or as they are."""
        pickle.dump(work, self._process.stdin)
        self._process.stdin.flush()
        result = self._read()
        assert result["pro"] == []
        return [as_case(answer) for answer in result["answers"]]

    def answer(self, name: str, *values: Any, as_ranges: bool = False) -> Any:
        """Call one function."""
        return self.answers([(f"CFX_{name}", list(values), as_ranges)])[0]


@pytest.fixture(scope="module")
def excel() -> Iterator[Excel]:
    pipe = subprocess.PIPE
    with subprocess.Popen(
        [sys.executable, STAND_IN], stdin=pipe, stdout=pipe, stderr=pipe, cwd=PROJECT
    ) as process:
        yield Excel(process)
        process.stdin.close()


@pytest.fixture(scope="module")
def registered(excel: Excel) -> dict[str, Any]:
    return excel.known["registered"]


@TWICE
def test_all_calls_are_answered_as_in_python(
    excel: Excel, as_ranges: bool, seed: str, counts: Counter[str]
) -> None:
    calls = host_calls(seed)
    work = [(f"CFX_{case.function}", parameters(case), as_ranges) for case in calls]
    answers = excel.answers(work)
    different = []
    for case, answer in zip(calls, answers, strict=True):
        # A single row comes back as a plain list, which Excel shows as a row.
        expected = case.shown[0] if _is_row(case.shown) else case.shown
        if not same(answer, expected):
            different.append((case, answer))
    assert not different
    counts["answers of Excel functions through xlwings compared"] += len(calls)


def _is_row(shown: Any) -> bool:
    return isinstance(shown, list) and len(shown) == 1 and isinstance(shown[0], list)


@TWICE
def test_currency_is_a_number(excel: Excel, as_ranges: bool) -> None:
    # 28/19 L per kg from 6 to 62 %: mass balance
    answer = excel.answer(
        "WATER_TO_ADD", Decimal("100.0000"), 0.06, 0.62, MISSING, as_ranges=as_ranges
    )
    assert answer == pytest.approx(100 * WATER, rel=1e-9)


@TWICE
def test_a_date_with_its_time_zone_is_that_day(excel: Excel, as_ranges: bool) -> None:
    day = dt.datetime(2026, 3, 14, 23, 30)
    assert excel.answer("START_DATE", day, 42.0, MISSING, as_ranges=as_ranges) == dt.date(
        2026, 1, 31
    )


def test_a_missing_argument_is_its_default_and_a_blank_cell_too(excel: Excel) -> None:
    assert excel.answer("MOISTURE_FROM_SAMPLE", 10.0, 2.3, MISSING, MISSING) == 0.77
    assert excel.answer("MOISTURE_FROM_SAMPLE", 10.0, 2.3, None, None) == 0.77
    assert excel.answer("MOISTURE_FROM_SAMPLE", 10.0, ((None,),), None, None) == "#N/A"


@pytest.mark.parametrize("code", sorted(ERROR_CODES))
def test_an_error_value_comes_back_marked_by_its_text(excel: Excel, code: str) -> None:
    assert excel.answer("DRY_MASS", ERROR_NUMBERS[code], 0.06, MISSING) == code


def test_row_column_and_grid_spill_in_their_shapes(excel: Excel) -> None:
    shapes = [((2.0, 4.0),), ((2.0,), (4.0,)), ((2.0, 4.0), (6.0, 8.0))]
    work = [("CFX_DRY_MASS", [shape, 0.5, MISSING], True) for shape in shapes]
    answers = excel.answers(work)
    assert answers == [[1, 2], [[1], [2]], [[1, 2], [3, 4]]]


@TWICE
def test_why_says_what_is_wrong(excel: Excel, as_ranges: bool) -> None:
    sentence = excel.answer("WHY", "CFX_WATER_TO_ADD", 200.0, 6.0, "62%", as_ranges=as_ranges)
    assert sentence == cultivar_fx.why("WATER_TO_ADD", 200, 6, "62%")
    assert excel.answer("WHY", "WATER_TO_ADD", 200.0, 0.06, "62%", as_ranges=as_ranges) == ""


@TWICE
def test_why_has_a_sentence_for_every_error(
    excel: Excel, as_ranges: bool, seed: str, counts: Counter[str]
) -> None:
    calls = [case for case in host_calls(seed) if any(c in str(case.shown) for c in ERROR_CODES)]
    work = [("CFX_WHY", [case.function, *parameters(case)], as_ranges) for case in calls]
    answers = excel.answers(work)
    silent = [case for case, text in zip(calls, answers, strict=True) if not re.search(r"\w", text)]
    assert not silent
    counts["reasons of Excel functions through xlwings read"] += len(calls)


BATCHES = (
    ("Batch", "Made", "Strain", "Blocks", "Lost", "Dry substrate"),
    ("B1", dt.datetime(2026, 3, 2), "Blue oyster", 20.0, 2.0, 20.0),
    ("B2", dt.datetime(2026, 3, 9), "Lion's mane", 10.0, None, 12.0),
)
HARVESTS = (("Batch", "Date", "Fresh mass, kg"), ("B1", dt.datetime(2026, 4, 11), 14.4))


@TWICE
def test_harvest_summary_spills_a_table(excel: Excel, as_ranges: bool) -> None:
    table = excel.answer("HARVEST_SUMMARY", BATCHES, HARVESTS, "strain", as_ranges=as_ranges)
    expected = cultivar_fx.harvest_summary(
        [list(row) for row in BATCHES], [list(row) for row in HARVESTS], "strain"
    )
    assert table == expected
    assert len(table) == 3


def test_harvest_summary_without_a_heading_is_an_error_that_why_explains(excel: Excel) -> None:
    assert excel.answer("HARVEST_SUMMARY", BATCHES, HARVESTS, "room") == "#VALUE!"
    sentence = excel.answer("WHY", "CFX_HARVEST_SUMMARY", BATCHES, HARVESTS, "room")
    assert sentence.startswith("batches: has no heading 'Room', needs one")
    assert excel.answer("WHY", "harvest_summary", BATCHES, HARVESTS, "strain") == ""


def test_every_function_is_registered_in_one_category(registered: dict[str, Any]) -> None:
    assert set(registered) == {f"CFX_{name}" for name in functions()} | {"CFX_HARVEST_SUMMARY"}
    assert {one["category"] for one in registered.values()} == {CATEGORY}


def test_texts_are_within_the_limits_of_excel(registered: dict[str, Any]) -> None:
    for name, one in registered.items():
        texts = [one["ret"]["doc"], *(parameter["doc"] for parameter in one["args"])]
        assert all(0 < len(text) <= LONGEST_HELP for text in texts), name


def test_texts_are_those_of_the_catalog(registered: dict[str, Any]) -> None:
    for wanted in functions().values():
        one = registered[f"CFX_{wanted.name}"]
        assert one["ret"]["doc"] == wanted.summary
        for argument, parameter in zip(wanted.arguments, one["args"], strict=False):
            assert parameter["doc"].startswith(argument.help)


def test_every_parameter_is_asked_for_as_rows_with_errors_as_text(
    registered: dict[str, Any],
) -> None:
    options = [parameter["options"] for one in registered.values() for parameter in one["args"]]
    assert all(one == {"ndim": 2, "err_to_str": True} for one in options)


def test_xlwings_writes_macros_for_every_function(excel: Excel, registered: dict[str, Any]) -> None:
    macros = excel.known["macros"]
    assert set(re.findall(r"^Function (\w+)\(", macros, re.MULTILINE)) == set(registered)
    assert "Function CFX_WATER_TO_ADD(mass, moisture, target, Optional units)" in macros
    assert "Function CFX_WHY(function_name, ParamArray arguments())" in macros


def test_nothing_of_xlwings_pro_is_there_or_named(excel: Excel) -> None:
    assert excel.known["pro"] == []
    sources = [*PROJECT.glob("cultivar_fx/**/*.py"), *PROJECT.glob("workbook_template/**/*.py")]
    assert len(sources) > 30
    named = re.compile(r"xlwings\s*\.\s*pro\b|from\s+xlwings\s+import\s[^\n]*\bpro\b")
    assert not [file for file in sources if named.search(file.read_text(encoding="utf-8"))]
