"""What the Calc add-in carries: it has to run in the Python of any LibreOffice."""

from __future__ import annotations

import ast
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

from cultivar_fx.catalog.registry import functions
from cultivar_fx.hosts import calc_packages
from cultivar_fx.hosts.calc_addin import addin_files
from cultivar_fx.hosts.calc_packages import library_python

FILES = addin_files()
OWN_MODULES = [
    place for place in FILES if place.endswith(".py") and not place.startswith("libraries")
]
OLDEST_PYTHON = (3, 8)
"""The oldest Python that a LibreOffice 7 for Windows or macOS brings along: from memory."""


@pytest.mark.parametrize("place", OWN_MODULES)
def test_own_modules_are_read_by_an_old_python(place: str) -> None:
    ast.parse(FILES[place], feature_version=OLDEST_PYTHON)


@pytest.mark.parametrize("place", OWN_MODULES)
def test_own_modules_need_no_library_that_is_not_carried(place: str) -> None:
    tree = ast.parse(FILES[place])
    imported = [
        name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names
    ]
    imported += [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    foreign = {"openpyxl", "pandas", "numpy", "formualizer", "xlwings", "workbook_template"}
    assert not foreign & {name.split(".")[0] for name in imported}


def test_library_stands_in_a_folder_that_names_its_python() -> None:
    major, minor = library_python()
    assert f"libraries-{major}.{minor}/pint/__init__.py" in FILES
    assert any(place.endswith("LICENSE") and "/pint-" in place for place in FILES)


def test_help_is_that_of_the_catalog() -> None:
    name = "{http://openoffice.org/2001/registry}name"
    tree = ElementTree.fromstring(FILES["CalcAddIns.xcu"])
    nodes = {node.attrib.get(name): node for node in tree.iter("node")}
    for wanted in functions().values():
        texts = [value.text or "" for value in nodes[wanted.name].iter("value")]
        assert wanted.worksheet_name in texts
        for help_text in (wanted.summary, *(argument.help for argument in wanted.arguments)):
            assert any(text.startswith(help_text) for text in texts), help_text


def test_same_source_gives_the_same_extension() -> None:
    assert addin_files() == FILES


def test_compiled_library_is_not_carried(monkeypatch: pytest.MonkeyPatch) -> None:
    compiled = SimpleNamespace(read_text=lambda _: "Root-Is-Purelib: false", requires=[])
    monkeypatch.setattr(calc_packages, "distribution", lambda _: compiled)
    with pytest.raises(ValueError, match="is not pure Python"):
        library_python()
