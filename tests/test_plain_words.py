"""No phrase comes back that a reader stumbled over.

The list is of readers' findings: none of them is what a grower or an engineer would say. It is
held against the words of the workbook, of the messages and of the docstrings.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from workbooks import KINDS, made

if TYPE_CHECKING:
    from collections.abc import Iterator

PROJECT = Path(__file__).parent.parent
PACKAGES = ("cultivar_fx", "workbook_template")
READ_ME = ("README.md", "DEVELOPERS.md", "cultivar_fx/FUNCTIONS.md")

IN_THE_WORKBOOK = (
    "the numbers to look at|look here|that need a look|all together|how it comes about",
    "what it rests on|of it good|of it unsold|of it the|of it there|added to the wage",
    "volume of the mixer|from its plate|meter showed|in the bucket was|left in the mixer",
    "blocks before steaming|hours held hot|power while held|days to clear a place",
    "day of the market|harvest ready before it|loads possible|hours at hand|no block buys",
    "value at the end|cost of a year|names found|choices found|batch found",
    "times named|row complete|begun bags|begun ones|the meter's own error|mix that many",
    "felt, smelled|as many blocks in each|dried until it stays|is no sterilization",
    "what steam does, and what not|believe your probe|look at the core|core counts as hot",
    "what the heat of a run was worth|time goes back|rest that no longer counts",
    "bags of spawn in the end|expansion from a mother bag|made before steamed|cleared out",
    "flushes that you wait for|what you saw|colonies stand|whatever is colder than that",
    "fog that the fresh air drinks|sensor is off by|added to a heater|block sold as one",
    "price without gain or loss|what is sold pays|a good block takes|worth its place",
    "weeks that are not usual|asked for|expected after them|when figures say something",
    "widest interval|too few to say|when your own figures count|packages that let air through",
    "lift in portions|a number of yyyy|61 or more|as it lies",
)
LABELS = "what is left|of it|it brings|life, a|what|places|together|look here|to look at|no.|rank"
IN_MESSAGES = (
    " is no file:|is no whole|which is not known|calls a program|names that stand twice",
    "so nothing counts it|things besides|words of ours|formula in a cell to type in",
    "look it over|put the old one away|what is assumed, and must",
    "begin with the sheet|passed over|written anew|a hair below|behind the point|as it lies",
)
DOCSTRINGS_BEGIN_WITHOUT = re.compile(r"(Give|Tell|Say) (the|whether|what|a|an|that|which)\b")


def phrases(lists: tuple[str, ...]) -> re.Pattern[str]:
    """Make one pattern of lists of phrases, at the edges of words."""
    words = [re.escape(phrase) for one in lists for phrase in one.split("|")]
    return re.compile(rf"(?<!\w)({'|'.join(words)})(?!\w)", re.IGNORECASE)


def texts_of_cells(kind: tuple[str, str], without: str = "") -> Iterator[str]:
    """Yield every text of a workbook: cells, texts in formulas, prompts and refusals."""
    for sheet in made(*kind).formulas:
        if sheet.title == without:
            continue
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    yield from re.findall(r'"((?:[^"]|"")*)"', str(cell.value))
                elif isinstance(cell.value, str):
                    yield cell.value
        for rule in sheet.data_validations.dataValidation:
            yield from filter(None, (rule.promptTitle, rule.prompt, rule.errorTitle, rule.error))


@pytest.mark.parametrize("kind", KINDS, ids=["-".join(kind) for kind in KINDS])
def test_the_workbook_says_what_a_grower_says(kind: tuple[str, str]) -> None:
    pattern, labels = phrases(IN_THE_WORKBOOK), phrases((LABELS,))
    assert sorted(text for text in set(texts_of_cells(kind)) if pattern.search(text)) == []
    # An argument of a function is listed by its name, which formulas rest on.
    labeled = set(texts_of_cells(kind, without="Functions"))
    assert sorted(text for text in labeled if labels.fullmatch(text.partition(",")[0])) == []


def sources() -> list[Path]:
    return [path for package in PACKAGES for path in sorted((PROJECT / package).rglob("*.py"))]


def strings(path: Path) -> Iterator[str]:
    """Yield every text in a module, docstrings included."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield f"{path.name}:{node.lineno}: {node.value}"


def test_messages_and_docstrings_say_it_plainly() -> None:
    pattern = phrases(IN_MESSAGES)
    assert [text for path in sources() for text in strings(path) if pattern.search(text)] == []


def test_readers_pages_say_it_plainly() -> None:
    pattern = phrases(IN_MESSAGES)
    lines = [line for name in READ_ME for line in (PROJECT / name).read_text("utf-8").split("\n")]
    assert [line for line in lines if pattern.search(line)] == []


def test_docstrings_begin_with_what_is_done() -> None:
    found = []
    for path in sources():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
                first = (ast.get_docstring(node) or "").split("\n")[0]
                found += [f"{path.name}: {first}"] * bool(DOCSTRINGS_BEGIN_WITHOUT.match(first))
    assert found == []
