"""Formulas as trees: read as the format says, written back, the same again."""

from __future__ import annotations

import time

import pytest
from openpyxl.formula import Tokenizer
from workbooks import KINDS, made

from cultivar_fx.catalog.registry import functions
from cultivar_fx.formula.parse import FormulaSyntaxError, parse
from cultivar_fx.formula.text import plain
from cultivar_fx.formula.tree import (
    Array,
    Call,
    Error,
    Number,
    Operation,
    Place,
    Reference,
    Sign,
    Text,
    walk,
)
from workbook_template.operations.references import refers_to_nothing

A, B, C = (Reference(name) for name in "ABC")
SAMPLES = (
    'IF(A1="","",INDEX(Mine[[Mass, lb]],MATCH($B7,Mine[[Name]],0)))',
    "'My sheet'!$A$1:$B$2",
    "Mine[[#This Row],[Mass, lb]]*(1-0.5%)",
    'CHOOSE(1+(A1>=2),"a ""quoted"" text",{0.06;0.09},{1,2})',
    "SUM(INDEX(A1:A9,2):INDEX(A1:A9,5))",
    "-A1^2-(B1-C1)-(-3)",
    "IF(,#N/A,)",
)


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        # ECMA-376 part 1, 18.17.2.2, and Excel's help "Calculation operators and precedence":
        # reference operators, sign, percent, ^, * and /, + and -, &, comparison; else left to right
        ("-A^B", Operation("^", Sign("-", A), B)),
        ("A-B-C", Operation("-", Operation("-", A, B), C)),
        ("A^B^C", Operation("^", Operation("^", A, B), C)),
        ("A+B*C", Operation("+", A, Operation("*", B, C))),
        ("A&B+C", Operation("&", A, Operation("+", B, C))),
        ("A=B&C", Operation("=", A, Operation("&", B, C))),
        ("(A+B)*C", Operation("*", Operation("+", A, B), C)),
        ("A:B*C", Operation("*", Operation(":", A, B), C)),
        ('"a""b"', Text('a"b')),
        ("#DIV/0!", Error("#DIV/0!")),
        ("{1;2}", Array(((Number("1"),), (Number("2"),)))),
        ("F({key},{table.key},{?key},{a:b})", Call("F", (
            Place("key"), Place("table.key"), Place("key", "?"), Place("a:b")))),
    ],
)  # fmt: skip
def test_a_formula_is_read_as_spreadsheets_do(text: str, tree: object) -> None:
    assert parse(text) == tree


@pytest.mark.parametrize("text", SAMPLES)
def test_a_tree_is_written_as_it_was_read(text: str) -> None:
    assert plain(parse(text)) == text


@pytest.mark.parametrize("text", ["", "1+", "SUM(A1", "A1)", '"open', "{1,", "1 2", "A1 B1", "*2"])
def test_what_is_no_formula_is_refused(text: str) -> None:
    with pytest.raises(FormulaSyntaxError, match="is not a formula"):
        parse(text)


@pytest.mark.parametrize("text", ["(" * 9000, "-" * 9000, "f(1," * 9000, "{" * 9000])
def test_what_is_nested_without_end_is_refused(text: str) -> None:
    with pytest.raises(FormulaSyntaxError):
        parse(text)


def test_what_is_almost_a_number_is_refused_at_once() -> None:
    start = time.process_time()
    assert parse("1" * 30_000 + "f") == Reference("1" * 30_000 + "f")
    assert time.process_time() - start < 1


def test_a_formula_of_anybody_is_not_kept() -> None:
    """Thousands of long ones are more than the memory holds."""
    kept = parse.cache_info().currsize
    assert not refers_to_nothing("=A1" + "+A1" * 900)
    assert refers_to_nothing("=4" + "*25" * 900)
    assert parse.cache_info().currsize == kept


def test_a_sum_of_thousands_is_gone_through() -> None:
    assert len(list(walk(parse("A1" + "+A1" * 9000)))) == 2 * 9000 + 1


@pytest.mark.parametrize(("units", "filled"), KINDS)
def test_every_formula_of_a_workbook_has_the_operands_that_a_tokenizer_finds(
    units: str, filled: str
) -> None:
    """openpyxl's Tokenizer, which nobody here wrote, reads the same cells, numbers and texts."""
    workbook = made(units, filled)
    texts = {
        text for sheet in workbook.formulas.sheetnames for text in workbook.cells(sheet).values()
    }
    by_shape = {text.translate(dict.fromkeys(map(ord, "0123456789"))): text for text in texts}
    for text in by_shape.values():
        tree = parse(text[1:])
        assert parse(plain(tree)) == tree
        operands = [token.value for token in Tokenizer(text).items if token.type == "OPERAND"]
        found = [
            plain(node) for node in walk(tree) if isinstance(node, (Reference, Number, Text, Error))
        ]
        assert ":".join(found) == ":".join(operands), text


def test_every_native_formula_is_a_tree() -> None:
    for wanted in functions().values():
        for tree in filter(None, (wanted.native, *wanted.requires)):
            assert parse(plain(tree)) == tree, wanted.name
