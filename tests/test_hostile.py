"""Files that mean harm: one sentence or a sound workbook, in little time and memory."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hostile import TEXTS, corpus
from hostile_packages import EITHER
from opened_apart import MEGABYTES, SECONDS, outcomes

if TYPE_CHECKING:
    from collections import Counter

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
