"""The README is never stale: its examples run, and its generated part is what the code writes."""

from __future__ import annotations

import ast
import doctest
import re
import shlex
from pathlib import Path
from typing import cast

import pytest
from regenerate import FUNCTIONS, functions
from workbooks import made

from cultivar_fx.calls.call import call
from cultivar_fx.catalog.dimensions import METRIC, US
from cultivar_fx.catalog.reference import unit_text
from cultivar_fx.catalog.registry import definition
from workbook_template.cli import main

README = Path(__file__).parent.parent / "README.md"
TEXT = README.read_text(encoding="utf-8")
COMMANDS = re.findall(r"^    \$ cultivar-fx (.+)\n((?:    [^$\n].*\n)+)", TEXT, re.MULTILINE)


def test_python_examples_give_what_is_shown() -> None:
    examples = doctest.DocTestParser().get_doctest(TEXT, {}, "README", str(README), 0)
    assert examples.examples
    assert doctest.DocTestRunner().run(examples).failed == 0


@pytest.mark.parametrize(("command", "shown"), COMMANDS, ids=[one[0] for one in COMMANDS])
def test_commands_print_what_is_shown(
    command: str, shown: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main(shlex.split(command))
    printed = capsys.readouterr()
    assert printed.out + printed.err == re.sub(r"^    ", "", shown, flags=re.MULTILINE)


TYPED = re.findall(
    r"^\| .* \| `=CFX\.(\w+)\((.*)\)` \| ([\d.]+)(?: (%|[^|]+))? \|$", TEXT, re.MULTILINE
)


@pytest.mark.parametrize(("name", "typed", "shown", "unit"), TYPED, ids=[one[0] for one in TYPED])
def test_what_is_typed_gives_what_is_shown(name: str, typed: str, shown: str, unit: str) -> None:
    arguments = ast.literal_eval("[" + re.sub(r'(?<![\w."])([\d.]+%)', r'"\1"', typed) + "]")
    answer = cast("float", call(name, *arguments))
    digits = len(shown.partition(".")[2])
    assert f"{answer * (100 if unit == '%' else 1):.{digits}f}" == shown
    if unit and unit != "%":
        result = definition(name).result
        assert unit in (unit_text(result, METRIC), unit_text(result, US))


def test_eight_are_shown() -> None:
    assert len(TYPED) == 8


QUESTIONS = re.findall(r"^\| (.+\?) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$", TEXT, re.MULTILINE)


def test_ten_questions_are_answered() -> None:
    assert len(QUESTIONS) == 10


@pytest.mark.parametrize(("sheet", "do", "read"), [one[1:] for one in QUESTIONS])
def test_what_answers_a_question_stands_on_its_sheet(sheet: str, do: str, read: str) -> None:
    """Headings go on behind a comma with their unit."""
    cells = [str(one.value) for row in made("us", "demo").values[sheet] for one in row if one.value]
    for words in re.findall('"([^"]+)"', do + read):
        assert any(cell == words or cell.startswith(f"{words},") for cell in cells), words


def test_pictures_are_there() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", TEXT)
    assert len(pictures) == 5
    assert all((README.parent / one).is_file() for one in pictures)


def test_commands_are_found() -> None:
    assert len(COMMANDS) >= 3


def test_the_list_of_functions_is_up_to_date() -> None:
    assert FUNCTIONS.read_text(encoding="utf-8") == functions()
