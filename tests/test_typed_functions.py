"""The LAMBDA names in a generated workbook: their form, and that no other program minds them."""

from __future__ import annotations

import re
import zipfile
from itertools import accumulate
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import openpyxl
import pytest
from cases import GALLON, NA, NUM, POUND, VALUE, WATER
from host_calls import same
from lambda_sheet import typed_answers
from openpyxl.utils import FORMULAE
from openpyxl.xml.constants import SHEET_MAIN_NS
from workbooks import loaded, made

from cultivar_fx.catalog.dimensions import SYSTEMS
from cultivar_fx.catalog.registry import functions
from cultivar_fx.hosts.excel_names import can_be_typed, lambda_names, stored, typed
from workbook_template.build import build
from workbook_template.cli import main
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import input_name

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from office import Office

LONGEST = 7900
"""Characters of a stored formula. Excel takes 8192 of what is typed ("Excel specifications and
limits", Microsoft); a public survey of stored names found 7992 taken and 8192 refused."""

LONGEST_CONSTANT = 255
"""Characters of a text within a formula in Excel (the same page)."""

DEEPEST = 64
"""Levels of nested functions in Excel (the same page)."""

ROW_AND_COLUMN = ("rc", "zs", "lc", "fc", "rk", "wk", "so")
"""The letters of R1C1 addresses: English, German, French, Spanish, Danish, Polish, Hungarian (from
memory)."""

CELL = re.compile(
    "|".join(
        [
            r"[a-z]{1,3}\d+",
            *(rf"[{row}{column}]\d*|{row}\d*{column}\d*" for row, column in ROW_AND_COLUMN),
        ]
    ),
    re.IGNORECASE,
)
"""What Excel takes for the address of a cell, a row or a column, and not for a name."""

YOUNGER = """
    ARRAYTOTEXT BYCOL BYROW CHOOSECOLS CHOOSEROWS CONCAT DAYS DROP EXPAND FILTER FORMULATEXT GROUPBY
    HSTACK IFNA IFS IMAGE ISFORMULA ISOMITTED LAMBDA LET MAKEARRAY MAP MAXIFS MINIFS NUMBERVALUE
    PERCENTOF PHI PIVOTBY RANDARRAY REDUCE REGEXEXTRACT REGEXREPLACE REGEXTEST SCAN SEQUENCE SHEET
    SHEETS SORT SORTBY STOCKHISTORY SWITCH TAKE TEXTAFTER TEXTBEFORE TEXTJOIN TEXTSPLIT TOCOL TOROW
    TRANSLATE TRIMRANGE UNICHAR UNICODE UNIQUE VALUETOTEXT VSTACK WRAPCOLS WRAPROWS XLOOKUP XMATCH
    XOR
"""
FUNCTIONS = {*FORMULAE, *YOUNGER.split()}
"""Functions of Excel: those that openpyxl lists, and younger ones (from memory)."""

TYPED = {name: typed(one) for name, one in functions().items() if can_be_typed(one)}
VARIABLE = re.compile(r"_xl(pm|op)\.(\w+)")
ARGUMENTS = {one.name for wanted in functions().values() for one in wanted.arguments} | {"units"}

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


OTHERWISE_A_TABLE = {"batches": "batch_count"}
"""An argument whose own name is that of a table of the workbook."""


def variables_in(texts: Iterable[str]) -> set[str]:
    return {match[2].casefold() for text in texts for match in VARIABLE.finditer(text)}


@pytest.mark.parametrize("units", SYSTEMS)
def test_no_variable_is_a_name_of_the_workbook(units: str) -> None:
    """In one engine it then stands for the cell; no program says what it takes it for."""
    workbook = made(units, "demo").formulas
    names = {name.casefold() for name in workbook.defined_names}
    names |= {name.casefold() for sheet in workbook for name in sheet.tables}
    assert {"cfx.dry_mass", "input_altitude", "input_batches_batch_list", "batches"} <= names
    texts = [one.attr_text for one in workbook.defined_names.values()]
    assert len(variables_in(texts)) > 200
    assert not variables_in(texts) & names


def test_no_variable_begins_as_the_names_of_the_workbook_do() -> None:
    """So no input that is added, and no argument, makes the two alike."""
    variables = variables_in(lambda_names().values())
    assert not [one for one in variables if one.startswith(input_name(""))]


def test_no_variable_is_called_like_a_function() -> None:
    """DATE where a variable is called date is no function in one engine."""
    steps = variables_in(lambda_names().values()) - ARGUMENTS
    assert not {one.upper() for one in steps} & FUNCTIONS


@each_function
def test_no_argument_is_called_like_a_function_that_is_needed(name: str) -> None:
    """The names of arguments are those that the grower reads; some are functions of Excel too."""
    bare = re.sub(r'"[^"]*"', "", TYPED[name])
    needed = {one.casefold() for one in re.findall(r"([A-Z][A-Z0-9.]*)\(", bare)}
    assert needed
    assert not needed & {one.name for one in functions()[name].arguments}


@pytest.mark.parametrize("units", SYSTEMS)
def test_a_name_stands_in_the_file_with_no_more_than_excel_takes(units: str) -> None:
    with zipfile.ZipFile(made(units, "demo").path) as package:
        root = ElementTree.fromstring(package.read("xl/workbook.xml"))
    lengths = {
        one.get("name"): len(one.text or "") for one in root.iter(f"{{{SHEET_MAIN_NS}}}definedName")
    }
    assert lengths.keys() >= lambda_names().keys()
    assert {name: length for name, length in lengths.items() if length > LONGEST} == {}


@each_function
def test_text_is_short_and_flat_enough_for_excel(name: str) -> None:
    assert max(map(len, re.findall(r'"([^"]*)"', TYPED[name]))) <= LONGEST_CONSTANT
    bare = re.sub(r'"[^"]*"', "", TYPED[name])
    depths = list(accumulate((mark == "(") - (mark == ")") for mark in bare))
    assert depths[-1] == 0
    assert max(depths) <= DEEPEST


@each_function
def test_arguments_are_declared_in_order_and_optional_ones_as_such(name: str) -> None:
    """``_xlop.`` declares an optional argument, and every use of it is ``_xlpm.``."""
    wanted = functions()[name]
    expected = [
        ("pm" if one.required else "op", OTHERWISE_A_TABLE.get(one.name, one.name))
        for one in wanted.arguments
    ]
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
    found = typed_answers("us", list(calls))
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
    with office.document(without_names) as document:
        document.calculate()
        without = document.contents()
    with office.kept(made("us", "demo").path) as document:
        assert document.contents() == without


def test_openpyxl_keeps_the_names(tmp_path: Path) -> None:
    copy = tmp_path / "copy.xlsx"
    loaded(made("us", "demo").path).save(copy)
    kept = openpyxl.load_workbook(copy).defined_names
    assert {name: kept[name].attr_text for name in lambda_names()} == lambda_names()


def test_names_are_left_out_on_request(tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    assert main(["workbook", str(path), "--no-typed-functions"]) == 0
    names = openpyxl.load_workbook(path).defined_names
    assert names
    assert not [name for name in names if name.startswith("CFX.")]
