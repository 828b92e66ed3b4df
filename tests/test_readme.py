"""The README is never stale: its examples run, and its generated part is what the code writes."""

from __future__ import annotations

import doctest
import re
import shlex
from pathlib import Path

import pytest

from cultivar_fx.cli import main
from cultivar_fx.reference import markdown_table

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


def test_commands_are_found() -> None:
    assert len(COMMANDS) >= 3


def test_the_list_of_functions_is_up_to_date() -> None:
    """To mend it: put what `cultivar-fx functions --markdown` writes between the two marks."""
    _, _, rest = TEXT.partition("<!-- functions: written by")
    between = rest.partition("-->\n")[2].partition("<!-- /functions -->")[0]
    assert between.strip() == markdown_table().strip()
