"""Our modules import one way: whoever reads one needs nothing that stands above it."""

from __future__ import annotations

import ast
from graphlib import TopologicalSorter
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

PROJECT = Path(__file__).resolve().parent.parent
OURS = ("cultivar_fx", "workbook_template")


def name_of(path: Path) -> str:
    return ".".join(path.relative_to(PROJECT).with_suffix("").parts).removesuffix(".__init__")


MODULES = {name_of(path): path for ours in OURS for path in PROJECT.glob(f"{ours}/**/*.py")}


def imported(statements: Sequence[ast.AST]) -> Iterator[str]:
    """Yield what statements import, wherever they stand, but not for types only."""
    for statement in statements:
        if isinstance(statement, ast.ImportFrom) and statement.module:
            for name in statement.names:
                whole = f"{statement.module}.{name.name}"
                yield whole if whole in MODULES else statement.module
        elif isinstance(statement, ast.Import):
            yield from (name.name for name in statement.names)
        elif not (isinstance(statement, ast.If) and "TYPE_CHECKING" in ast.dump(statement.test)):
            yield from imported(list(ast.iter_child_nodes(statement)))


IMPORTS = {
    name: set(imported(ast.parse(path.read_text(encoding="utf-8")).body)) & set(MODULES) - {name}
    for name, path in MODULES.items()
}


def test_no_module_imports_itself_by_way_of_others() -> None:
    assert len(list(TopologicalSorter(IMPORTS).static_order())) == len(MODULES)


@pytest.mark.parametrize(
    ("below", "above"),
    [
        ("cultivar_fx", "workbook_template"),
        ("cultivar_fx.formula", "cultivar_fx.catalog"),
        ("cultivar_fx.catalog", "cultivar_fx.calls"),
        ("cultivar_fx.calls", "cultivar_fx.hosts"),
        ("workbook_template.schema", "workbook_template.sheets"),
        ("workbook_template.sheets", "workbook_template.reading"),
        ("workbook_template.writing", "workbook_template.reading"),
        ("workbook_template.reading", "workbook_template.operations"),
        ("workbook_template.operations", "workbook_template.cli"),
    ],
)
def test_what_is_below_knows_nothing_of_what_is_above(below: str, above: str) -> None:
    for name in MODULES:
        if name == below or name.startswith(f"{below}."):
            assert not [one for one in IMPORTS[name] if f"{one}.".startswith(f"{above}.")], name
