"""Text from elsewhere stays text: in CSV files, in workbooks, and back again."""

from __future__ import annotations

import csv
import io
import time
from datetime import date
from typing import TYPE_CHECKING

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook_template.texts import LONGEST_TEXT, original_text, safe_text, write_text

if TYPE_CHECKING:
    from pathlib import Path

    from office import Office

# Signs that begin a formula in a CSV file: OWASP, "CSV Injection".
LIVE = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "＝1",
    "＠x",
    " =1",
    "\ufeff=1",
    "|x",
]
SIGNS = st.sampled_from("=+-@'\t\r\n|%a1＝\ufeff,;: \"")
"""Signs that begin a formula, and those that may part cells."""
PARTING = [",", ";", "\t", "|", ":", " "]
"""What import dialogs offer between cells, or guess: from memory."""


@pytest.mark.parametrize("text", [*LIVE, "=cmd|'/c calc'!A1", '=HYPERLINK("http://192.0.2.1")'])
def test_text_that_starts_a_formula_gets_an_apostrophe(text: str) -> None:
    blank = len(text) - len(text.lstrip(" \t\r\n\ufeff"))
    assert safe_text(text) == "'" + text[:blank] + "'" * bool(blank) + text[blank:]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("wet;=1+1", "wet;'=1+1"),
        ("wet; - dry", "wet; '- dry"),
        ("to do:\n- sweep\n- mop", "to do:\n'- sweep\n'- mop"),
        ("a\t@x|+1,-1", "a\t'@x|'+1,'-1"),
        ('a;"=1"', 'a;"\'=1"'),
        ("cooled to -5 C", "cooled to '-5 C"),
        ("a;'=1", "a;''=1"),
        ("a;=;=", "a;'=;'="),
    ],
)
def test_what_follows_a_sign_that_may_part_cells_gets_one_too(text: str, kept: str) -> None:
    assert safe_text(text) == kept
    assert original_text(kept) == text


@pytest.mark.parametrize(
    "text",
    [
        *("", "B101", "62%", "oak & alder", "a=b", "'n' roll", "2-1", "’", "ana@farm.example"),
        *("wet - dry", "x >= 5", "pH = 7", "12 h at 60 °C; rested", "a; b", "2026-03-14: moved"),
    ],
)
def test_other_text_stays_as_it_is(text: str) -> None:
    assert safe_text(text) == text


@pytest.mark.parametrize("value", [-3.5, 0, -1, True, None, date(2026, 3, 14)])
def test_what_is_no_text_is_untouched(value: object) -> None:
    assert safe_text(value) is value
    assert original_text(value) is value


@given(st.text(alphabet=SIGNS))
def test_the_text_comes_back(text: str) -> None:
    assert original_text(safe_text(text)) == text


@given(st.lists(st.text(alphabet=SIGNS), min_size=1, max_size=3))
def test_no_cell_begins_as_a_formula_whatever_parts_cells(texts: list[str]) -> None:
    written = io.StringIO(newline="")
    csv.writer(written, lineterminator="\n").writerow([safe_text(text) for text in texts])
    lines = written.getvalue()
    for sign in PARTING:
        for quoting in (csv.QUOTE_MINIMAL, csv.QUOTE_NONE):
            rows = csv.reader(io.StringIO(lines, newline=""), delimiter=sign, quoting=quoting)
            for cell in (cell for row in rows for cell in row):
                begun = cell.lstrip(" \t\r\n\ufeff")
                # A sign alone is text in every program.
                assert len(begun.strip()) < 2 or begun[0] not in "=+-@＝", (lines, sign, cell)


def test_a_long_run_of_blanks_takes_no_time() -> None:
    text = "a" + "\n" * LONGEST_TEXT
    start = time.process_time()
    assert original_text(safe_text(text)) == text
    assert time.process_time() - start < 1


@given(st.text(alphabet=SIGNS), st.text(alphabet=SIGNS))
def test_two_texts_never_become_one(one: str, other: str) -> None:
    assert (safe_text(one) == safe_text(other)) == (one == other)


def test_no_formula_is_born_in_a_csv_file(tmp_path: Path, office: Office) -> None:
    """LibreOffice opens the file and evaluates what it takes for a formula."""
    typed = [text for text in LIVE if text.isascii() and text.isprintable()]
    written = io.StringIO()
    csv.writer(written, quoting=csv.QUOTE_NONNUMERIC).writerows([safe_text(text)] for text in typed)
    (tmp_path / "log.csv").write_text(written.getvalue(), encoding="ascii")
    with office.document(tmp_path / "log.csv") as document:
        document.calculate()
        (sheet,) = document.contents().values()
    assert [original_text(row[0]) for row in sheet.values] == typed


@pytest.mark.parametrize("text", LIVE[:4])
def test_text_written_into_a_workbook_is_no_formula(text: str, tmp_path: Path) -> None:
    workbook = openpyxl.Workbook()
    write_text(workbook.active["A1"], text)
    workbook.save(tmp_path / "farm.xlsx")
    cell = openpyxl.load_workbook(tmp_path / "farm.xlsx").active["A1"]
    assert (cell.value, cell.data_type, cell.quotePrefix) == (text, "s", True)


@pytest.mark.parametrize("text", ["x" * (LONGEST_TEXT + 1), "a\0b", "\x1b[2J"])
def test_text_that_no_cell_holds_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"text: got .*, needs ") as refusal:
        write_text(openpyxl.Workbook().active["A1"], text)
    assert str(refusal.value).isprintable()
