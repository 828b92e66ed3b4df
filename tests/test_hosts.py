"""No way into a spreadsheet says anything about a function that the catalog says already."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from cultivar_fx import hosts
from cultivar_fx.catalog.registry import functions

if TYPE_CHECKING:
    from cultivar_fx.catalog.definition import Definition

SOURCES = sorted(Path(hosts.__path__[0]).glob("*.py"))
EXPLAINING = {"WHY"}
"""The function that speaks about others is known to the hosts: it takes any arguments."""


def said(wanted: Definition) -> list[str]:
    """Return what stands in a definition and nowhere else."""
    return [wanted.summary, *(argument.help for argument in wanted.arguments if argument.help)]


def code(source: Path) -> str:
    """Return the code of a file without its docstrings, in which an example may stand."""
    tree = ast.parse(source.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(
            node
        ):
            node.body[0] = ast.Pass()
    return ast.unparse(tree)


@pytest.mark.parametrize("source", SOURCES, ids=lambda path: path.name)
def test_no_host_repeats_a_name_or_description(source: Path) -> None:
    text = code(source)
    words = set(re.findall(r"\w+", text))
    assert not words & functions().keys() - EXPLAINING
    assert not [one for wanted in functions().values() for one in said(wanted) if one in text]
