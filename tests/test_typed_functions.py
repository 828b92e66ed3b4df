"""The LAMBDA names in a generated workbook: their form, and that no other program minds them."""

from __future__ import annotations

import re
from itertools import accumulate
from typing import TYPE_CHECKING

import openpyxl
import pytest
from cases import GALLON, NA, NUM, POUND, VALUE, WATER
from host_calls import same
from lambda_sheet import typed_answers
from workbooks import made

from cultivar_fx.catalog import functions
from cultivar_fx.cli import main
from cultivar_fx.hosts.excel_names import can_be_typed, lambda_names, stored, typed
from workbook_template.build import build
from workbook_template.invented.demo_data import demo_entries
from workbook_template.schema import TABLES
from workbook_template.writing.book import table_name
from workbook_template.writing.page import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from office import Office

LONGEST = 8192
"""Characters of a formula in Excel ("Excel specifications and limits", Microsoft)."""

DEEPEST = 64
"""Levels of nested functions in Excel (the same page)."""

CELL = re.compile(r"[a-z]{1,3}\d+|r\d*c?\d*|c\d*", re.IGNORECASE)
"""What Excel takes for the address of a cell, a row or a column, and not for a name."""

TYPED = {name: typed(one) for name, one in functions().items() if can_be_typed(one)}
VARIABLE = re.compile(r"_xl(pm|op)\.(\w+)")

NEWER = re.compile(
    r"(?<![\w.])(LET|LAMBDA|ISOMITTED|MAP|MAKEARRAY|TOCOL|DROP|SEQUENCE|UNICHAR|FILTER)\("
)

each_function = pytest.mark.parametrize("name", TYPED)


@pytest.fixture(scope="module")
def without_names(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build the demo workbook of ``made`` once more, without the names."""
    path = tmp_path_factory.mktemp("without") / "farm.xlsx"
    build(path, Settings("us", invented=True, typed_functions=False), demo_entries("us"))
    return path


def test_no_variable_is_the_name_of_a_table() -> None:
    """One engine refuses such a file, and no program says what it would take it for."""
    variables = {match[2] for text in TYPED.values() for match in VARIABLE.finditer(stored(text))}
    assert not variables & {table_name(key).lower() for key in TABLES}


@each_function
def test_text_is_short_and_flat_enough_for_excel(name: str) -> None:
    assert len(stored(TYPED[name])) < LONGEST
    bare = re.sub(r'"[^"]*"', "", TYPED[name])
    depths = list(accumulate((mark == "(") - (mark == ")") for mark in bare))
    assert depths[-1] == 0
    assert max(depths) <= DEEPEST


@each_function
def test_arguments_are_declared_in_order_and_optional_ones_as_such(name: str) -> None:
    """``_xlop.`` declares an optional argument, and every use of it is ``_xlpm.``."""
    wanted = functions()[name]
    expected = [("pm" if one.required else "op", one.name) for one in wanted.arguments]
    if wanted.takes_units:
        expected.append(("op", "units"))
    found = VARIABLE.findall(stored(TYPED[name]))
    assert found[: len(expected)] == expected
    assert all(kind == "pm" for kind, _ in found[len(expected) :])


@each_function
def test_every_newer_function_carries_its_prefix(name: str) -> None:
    """Excel takes the bare name of a function younger than the file format for an unknown one."""
    bare = re.sub(r'"[^"]*"', "", stored(TYPED[name]))
    assert not NEWER.search(bare)
    assert not re.search(r"[\[\]]", bare)


def test_names_and_variables_look_like_no_cell() -> None:
    words = {word for text in TYPED.values() for _, word in VARIABLE.findall(stored(text))}
    assert len(words) > 100
    assert not [word for word in {*words, *lambda_names()} if CELL.fullmatch(word)]


def test_a_name_is_what_its_function_says_it_is() -> None:
    names = made("us", "demo").formulas.defined_names
    for name, text in lambda_names().items():
        assert names[name].attr_text == text
        assert names[name].comment == functions()[name.removeprefix("CFX.")].summary


def test_typed_calls_are_answered_in_the_workbook() -> None:
    water = 200 * POUND * WATER
    calls = {
        '=CFX.WATER_TO_ADD("200 lb",6%,62%)': water,
        '=CFX.WATER_TO_ADD("200 lb",6%,62%,"us")': water / GALLON,
        '=CFX.WATER_TO_ADD(200,"6 %","62%","us")': water / GALLON,
        "=CFX.WATER_TO_ADD(200,6,62)": NUM,
        '=CFX.WATER_TO_ADD("200 zorks",6%,62%)': VALUE,
        '=CFX.WATER_TO_ADD(200,6%,62%,"imperial")': VALUE,
        "=CFX.WATER_TO_ADD(1/0,6%,62%)": "#DIV/0!",
        "=CFX.WATER_TO_ADD(,6%,62%)": NA,
        "=CFX.WATER_TO_ADD(,,)": "",
        "=CFX.MOISTURE_FROM_SAMPLE(10,2.3)": 0.77,
        '=CFX.MOISTURE_FROM_SAMPLE("10 g","2.3 g",,"us")': 0.77,
        "=SUM(CFX.DRY_MASS({1;2},{0.5,0}))": 4.5,
        '=CFX.MOISTURE_OF_MIX({"10 kg";6.8},{0.77;0.35})': 0.6,
    }
    found = typed_answers(made("us", "demo").path, list(calls))
    wrong = {
        text: answer
        for (text, expected), answer in zip(calls.items(), found)
        if not same(answer, expected)
    }
    assert not wrong


def test_no_cell_depends_on_the_names() -> None:
    """Programs without LAMBDA show an error there, which not even IFERROR mends."""
    workbook = made("us", "demo")
    for sheet in workbook.formulas.sheetnames:
        assert not [cell for cell, text in workbook.cells(sheet).items() if "CFX." in text]


def test_stored_values_are_the_same_with_the_names(without_names: Path) -> None:
    plain = openpyxl.load_workbook(without_names, data_only=True)
    named = made("us", "demo").values
    assert plain.sheetnames == named.sheetnames
    for sheet in named:
        rows = list(sheet.iter_rows(values_only=True))
        assert rows == list(plain[sheet.title].iter_rows(values_only=True)), sheet.title


def test_libreoffice_shows_the_same_with_the_names(office: Office, without_names: Path) -> None:
    shown = []
    for path in (without_names, made("us", "demo").path):
        with office.document(path) as document:
            document.calculate()
            shown.append(document.contents())
    assert shown[0] == shown[1]


def test_openpyxl_keeps_the_names(tmp_path: Path) -> None:
    copy = tmp_path / "copy.xlsx"
    openpyxl.load_workbook(made("us", "demo").path).save(copy)
    kept = openpyxl.load_workbook(copy).defined_names
    assert {name: kept[name].attr_text for name in lambda_names()} == lambda_names()


def test_names_are_left_out_on_request(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    assert main(["workbook", str(path), "--no-typed-functions"]) == 0
    names = openpyxl.load_workbook(path).defined_names
    assert names
    assert not [name for name in names if name.startswith("CFX.")]
