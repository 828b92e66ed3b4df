"""Files that mean harm: one sentence or a sound workbook, in little time and memory."""

from __future__ import annotations

import io
from datetime import datetime
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from hostile import TEXTS, corpus
from hostile_packages import EITHER, PRINT_AREA, PRINT_TITLES, bombs
from opened_apart import MEGABYTES, SECONDS, outcomes
from packages import (
    cell,
    with_footer,
    with_format,
    with_link_on,
    with_name,
    with_note_on,
    with_shared,
    with_table_on,
    with_validation,
)

if TYPE_CHECKING:
    from collections import Counter
    from pathlib import Path

    from hostile_packages import Hostile
    from opened_apart import Outcome


@pytest.fixture(scope="module")
def opened(
    tmp_path_factory: pytest.TempPathFactory, counts: Counter[str]
) -> list[tuple[Hostile, Outcome]]:
    folder = tmp_path_factory.mktemp("hostile")
    files = {one.name: one for one in corpus()}
    for one in files.values():
        (folder / one.name).write_bytes(one.data)
    results = outcomes(str(folder))
    assert len(results) == len(files)
    counts["hostile files opened or refused in one line"] += len(files)
    return [(files[one.name], one) for one in results]


def test_each_is_refused_for_what_it_is(opened: list[tuple[Hostile, Outcome]]) -> None:
    wrong = {
        file.name: (outcome.error, outcome.words)
        for file, outcome in opened
        if file.error != EITHER and outcome.error != file.error
    }
    assert wrong == {}


def test_no_error_but_one_sentence_that_names_the_file(
    opened: list[tuple[Hostile, Outcome]],
) -> None:
    refused = [(file, outcome) for file, outcome in opened if outcome.error]
    assert [file.name for file, outcome in refused if "ValueError" not in outcome.kinds] == []
    assert [file.name for file, outcome in refused if "Refusal" not in outcome.kinds] == []
    assert [file.name for file, outcome in refused if file.name not in outcome.words] == []
    assert [outcome.words for _, outcome in refused if not outcome.words.isprintable()] == []
    assert [outcome.words for _, outcome in refused if len(outcome.words) > 400] == []


def test_a_few_of_what_bombs_are_made_of_are_read(tmp_path: Path) -> None:
    for one in bombs(many=3):
        (tmp_path / one.name).write_bytes(one.data)
    refused = {one.name: one.words for one in outcomes(str(tmp_path)) if one.error}
    assert refused == {}


def test_what_harms_stands_where_the_library_reads_it() -> None:
    """The library reads these files whole: there, each place shows what was put into it."""

    def sheet(data: bytes) -> Any:
        return openpyxl.load_workbook(io.BytesIO(data))["Ingredients"]

    date = sheet(with_format("yyyy&quot;a&quot;"))["AA90"]
    assert (date.number_format, date.value) == ('yyyy"a"', datetime(2026, 1, 1))
    assert sheet(with_name(PRINT_AREA, "Ingredients!$B$7:$C$9")).print_area == (
        "'Ingredients'!$B$7:$C$9"
    )
    assert sheet(with_name(PRINT_TITLES, "Ingredients!$7:$9")).print_title_rows == "$7:$9"
    assert sheet(with_footer("&amp;Lhere")).oddFooter.left.text == "here"
    assert sheet(with_note_on("B28"))["B28"].comment.text == "weighed twice"
    assert sheet(with_table_on("A6:H17")).tables["Ingredients"].ref == "A6:H17"
    assert sheet(with_link_on("B9"))["B9"].hyperlink.location == "a"
    assert sheet(with_shared("A1+1"))["AA91"].value == "=A2+1"
    rule = '<dataValidation type="custom" sqref="B9"><formula1>A1</formula1></dataValidation>'
    assert sheet(with_validation(rule)).data_validations.dataValidation[-1].formula1 == "A1"
    assert sheet(cell("<f>A1</f>"))["AA90"].value == "=A1"


def test_each_takes_little_time_and_memory(opened: list[tuple[Hostile, Outcome]]) -> None:
    assert {file.name: o.seconds for file, o in opened if o.seconds > SECONDS} == {}
    assert max(outcome.megabytes for _, outcome in opened) < MEGABYTES


def test_no_formula_is_born_from_text(opened: list[tuple[Hostile, Outcome]]) -> None:
    outcome_of = {file.name: outcome for file, outcome in opened}
    formulas = outcome_of["sound.xlsx"].formulas
    for number, text in enumerate(TEXTS):
        for way, place in (
            ("inline", "AA90"),
            ("said", "AA90"),
            ("shared", "A29"),
            ("runs", "AA90"),
        ):
            outcome = outcome_of[f"text-{number}-{way}.xlsx"]
            assert outcome.formulas == formulas
            assert outcome.texts[f"Ingredients!{place}"] == text
