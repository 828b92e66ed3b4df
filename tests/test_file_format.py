"""What the format and Excel take, held against the parts of the generated files as they are.

No Excel was at hand: the limits are those of ECMA-376, of Microsoft's open specifications, and of
"Excel specifications and limits" at support.microsoft.com.
"""

from __future__ import annotations

import os
import posixpath
import re
import string
import subprocess
import sys
import zipfile
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest
from openpyxl.formula import Tokenizer
from openpyxl.formula.tokenizer import Token
from openpyxl.utils import FORMULAE, get_column_letter, range_boundaries
from openxml_audit import OpenXmlValidator
from shared import shared
from small_farm import replaced, small_farm
from workbooks import KINDS, made

from workbook_template.build import build, whole_workbook
from workbook_template.metadata import is_currency
from workbook_template.operations.partner_copy import partner_copy
from workbook_template.reading.entries import read
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import Computed, heading
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import table_name
from workbook_template.writing.saving import may_be_shared

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path
    from xml.etree.ElementTree import Element

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
FILES = ["-".join(kind) for kind in KINDS] + ["copy"]


@cache
def file_of(kind: str) -> Path:
    """Return a generated workbook, or a partner's copy of one."""
    if kind == "copy":
        return shared("copy.xlsx", lambda path: partner_copy(small_farm().path, path))
    units, filled = kind.split("-")
    return made(units, filled).path


@cache
def parts(kind: str) -> dict[str, bytes]:
    with zipfile.ZipFile(file_of(kind)) as package:
        return {name: package.read(name) for name in package.namelist()}


def roots(kind: str, start: str) -> Iterator[tuple[str, Element]]:
    """Return the parts whose names begin so, as XML."""
    for name, content in parts(kind).items():
        if name.startswith(start) and name.endswith(".xml"):
            yield name, ElementTree.fromstring(content)


@cache
def sheets(kind: str) -> dict[str, Element]:
    return dict(roots(kind, "xl/worksheets/sheet"))


@cache
def cell_formulas(kind: str) -> frozenset[str]:
    """Return every formula of the cells, each once."""
    return frozenset(
        one.text for sheet in sheets(kind).values() for one in sheet.iter(f"{MAIN}f") if one.text
    )


def names(kind: str) -> list[Element]:
    return list(ElementTree.fromstring(parts(kind)["xl/workbook.xml"]).iter(f"{MAIN}definedName"))


def all_formulas(kind: str) -> set[str]:
    """Return every formula, whatever holds it."""
    holders = ("formula", "formula1", "formula2")
    texts = {one.text or "" for one in names(kind)}
    for sheet in sheets(kind).values():
        texts |= {one.text or "" for tag in holders for one in sheet.iter(f"{MAIN}{tag}")}
    return texts | cell_formulas(kind)


def tokens(formula: str) -> list[Token]:
    return Tokenizer(f"={formula}").items


# Cells


@pytest.mark.parametrize("kind", FILES)
def test_no_merged_range_is_a_single_cell(kind: str) -> None:
    # XlsxWriter's documentation of merge_range(): Excel allows no merge of a single cell.
    merged = [one.get("ref", "") for sheet in sheets(kind).values() for one in _merges(sheet)]
    assert merged
    for area in merged:
        left, top, right, bottom = range_boundaries(area)
        assert (left, top) != (right, bottom), area


def _merges(sheet: Element) -> Iterator[Element]:
    return sheet.iter(f"{MAIN}mergeCell")


@pytest.mark.parametrize("kind", FILES[:-1])
def test_shared_formulas_hold_only_what_the_format_allows(kind: str) -> None:
    # [MS-XLSB] 2.5.98.98 SharedParsedFormula, the tokens that it must not contain.
    shared = [
        one.text
        for sheet in sheets(kind).values()
        for one in sheet.iter(f"{MAIN}f")
        if one.get("t") == "shared" and one.text
    ]
    assert len(shared) > 100
    assert not [formula for formula in shared if any(map(is_kept_out, tokens(formula)))]


def is_kept_out(token: Token) -> bool:
    if token.type == Token.OPERAND and token.subtype != Token.TEXT:
        return any(sign in token.value for sign in ("!", "[", "#REF"))
    is_range = token.type == Token.FUNC and ":" in token.value
    is_union = token.type == Token.OP_IN and token.value == ","
    return is_range or is_union or token.type in (Token.ARRAY, Token.WSPACE)


@pytest.mark.parametrize(
    ("formula", "may"),
    [
        ('=IF($A7="","",$B7*hourly_wage)', True),
        ('=IF($A7="{1}:INDEX(!)","",SUM($B$7:$B$9)-C7)', True),
        ("=INDEX({1,2},$A7)", False),
        ("=SUM(INDEX($A$1:$A$9,1):INDEX($A$1:$A$9,B7))", False),
        ("=SUM($A$1:INDEX($A$1:$A$9,B7))", False),
        ("=SUM(first_cell:A7)", False),
        ("=SUM((A7,C7))", False),
        ("=SUM(A7:C7 B1:B9)", False),
        ("='Farm'!$B$7*A7", False),
        ("=SUM(Batches[[Lost]])", False),
        ("=A7+#REF!", False),
    ],
)
def test_what_may_be_shared(formula: str, may: bool) -> None:
    # [MS-XLSB] 2.5.98.98, as above; references to tables are kept out by us.
    assert may_be_shared(formula) is may


# Lengths and functions


@pytest.mark.parametrize("kind", FILES)
def test_formulas_and_names_keep_to_the_lengths_of_excel(kind: str) -> None:
    # Excel specifications and limits: 8,192 characters of a formula, 255 of a text within one;
    # "Names in formulas" at support.microsoft.com: 255 of a name.
    for formula in all_formulas(kind):
        assert len(formula) < 8192, formula[:80]
        for text in re.findall(r'"((?:[^"]|"")*)"', formula):
            assert len(text) <= 255, text
    for one in names(kind):
        assert len(one.get("name", "")) <= 255
        assert len(one.get("comment", "")) <= 255, one.get("name")


@pytest.mark.parametrize("kind", FILES[:-1])
def test_cells_use_only_functions_of_the_standard(kind: str) -> None:
    # openpyxl's FORMULAE: the list of ECMA-376 Part 1, 18.17.7, which Excel 2007 has.
    used = set()
    for formula in cell_formulas(kind):
        bare = re.sub(r'"(?:[^"]|"")*"', "", formula)
        used |= set(re.findall(r"([\w.]+)\(", bare))
    assert len(used) > 30
    assert used - FORMULAE == set()


@pytest.mark.parametrize("kind", FILES[:-1])
def test_validations_keep_to_the_lengths_of_excel(kind: str) -> None:
    # XlsxWriter's documentation of data_validation(): titles of 32 characters, messages of 255,
    # lists of 255.
    rules = [
        rule for sheet in sheets(kind).values() for rule in sheet.iter(f"{MAIN}dataValidation")
    ]
    assert rules
    for rule in rules:
        for title in ("promptTitle", "errorTitle"):
            assert len(rule.get(title, "")) <= 32, rule.attrib
        for message in ("prompt", "error"):
            assert len(rule.get(message, "")) <= 255, rule.attrib
        typed = rule.findtext(f"{MAIN}formula1", "")
        assert rule.get("type") != "list" or len(typed) <= 255 + len('""'), typed


# Charts


@pytest.mark.parametrize("kind", FILES)
def test_charts_keep_titles_off_the_plot_and_corners_square(kind: str) -> None:
    # [MS-OI29500], from memory: Office takes a missing overlay or roundedCorners for true.
    charts = dict(roots(kind, "xl/charts/chart"))
    assert charts
    for name, chart in charts.items():
        corners = chart.find(f"{CHART}roundedCorners")
        assert corners is not None, name
        assert corners.get("val") == "0", name
        over = [one for tag in ("title", "legend") for one in chart.iter(f"{CHART}{tag}")]
        assert len(over) >= 3, name
        for one in over:
            overlay = one.find(f"{CHART}overlay")
            assert overlay is not None, name
            assert overlay.get("val") == "0", name


# Tables


def test_a_copy_has_no_table_and_so_no_formula_of_one(tmp_path: Path) -> None:
    secret = "Kept4711quiet"
    column = "<calculatedColumnFormula>"
    farm = replaced(tmp_path / "farm.xlsx", {"xl/tables/": (column, f'{column}"{secret}"&amp;')})
    with zipfile.ZipFile(farm) as package:
        assert secret.encode() in package.read("xl/tables/table1.xml")
    partner_copy(farm, tmp_path / "copy.xlsx")
    with zipfile.ZipFile(tmp_path / "copy.xlsx") as package:
        assert not [name for name in package.namelist() if "table" in name]
        assert not [name for name in package.namelist() if secret.encode() in package.read(name)]


@pytest.mark.parametrize("kind", FILES[:-1])
def test_tables_know_the_formula_of_each_computed_column(kind: str) -> None:
    """In long logs cells may address what the table names; Excel is told not to warn of those.

    ECMA-376 Part 1, 18.5.1.1 calculatedColumnFormula: what each cell of the column computes;
    18.3.1.51 ignoredError, calculatedColumn.
    """
    units, filled = kind.split("-")
    formulas = made(units, filled).formulas
    known = {sheet.tables[name].displayName: sheet for sheet in formulas for name in sheet.tables}
    assert known.keys() == {table_name(key) for key in TABLES}
    addressed = set()
    for _, root in roots(kind, "xl/tables/"):
        sheet = known[root.get("name", "")]
        left, top, _, bottom = range_boundaries(root.get("ref", ""))
        columns = list(root.iter(f"{MAIN}tableColumn"))
        letters = {
            column.get("name"): get_column_letter(number)
            for number, column in enumerate(columns, left)
        }
        for number, column in enumerate(columns, left):
            formula = column.findtext(f"{MAIN}calculatedColumnFormula")
            values = {row: str(sheet.cell(row, number).value) for row in range(top + 1, bottom + 1)}
            if formula is None:
                assert not [one for one in values.values() if one.startswith("=")], column.attrib
            elif set(values.values()) != {f"={formula}"}:
                letter = get_column_letter(number)
                addressed.add(f"{letter}{top + 1}:{letter}{bottom}")
                for row, value in values.items():
                    own = formula
                    for name, at in letters.items():
                        own = own.replace(
                            f"{root.get('name')}[[#This Row],[{name}]]", f"${at}{row}"
                        )
                    assert value == f"={own}", column.attrib
    quiet = [
        cells
        for _, root in roots(kind, "xl/worksheets/")
        for one in root.iter(f"{MAIN}ignoredError")
        for cells in one.get("sqref", "").split()
        if one.get("calculatedColumn") == "1"
    ]
    assert set(quiet) == addressed


@pytest.mark.parametrize("units", ["us", "metric"])
def test_formulas_of_a_table_point_to_no_cell_beside_them(units: str) -> None:
    """A row typed below the table gets its formula as text: an address would stay where it was."""
    found = [
        one.text or ""
        for _, root in roots(f"{units}-empty", "xl/tables/")
        for one in root.iter(f"{MAIN}calculatedColumnFormula")
    ]
    assert len(found) == sum(
        isinstance(column, Computed) for table in TABLES.values() for column in table.columns
    )
    for formula in found:
        bare = re.sub(r'"(?:[^"]|"")*"|\[[^\[\]]*\]', "", formula)
        assert not re.findall(r"(?<![\w$.!])\$?[A-Z]{1,3}[0-9]+(?![\w(.])", bare), formula
        assert not re.findall(r"(?<![\w$.])[A-Z]{1,3}\$[0-9]+", bare), formula


# How the parts hang together


@pytest.mark.parametrize("kind", FILES)
def test_each_part_names_the_others_as_seen_from_itself(kind: str) -> None:
    # ECMA-376 Part 2, 9.3: targets are resolved against the part; Excel's own are relative.
    content = parts(kind)
    lists = [name for name in content if name.endswith(".rels")]
    assert len(lists) > 2
    for name in lists:
        folder = posixpath.dirname(posixpath.dirname(name))
        for relation in ElementTree.fromstring(content[name]):
            target = relation.get("Target", "")
            assert not target.startswith("/"), (name, target)
            assert posixpath.normpath(posixpath.join(folder, target)) in content, (name, target)


@pytest.mark.parametrize("kind", FILES)
def test_the_schemas_of_microsofts_library_find_nothing(kind: str, tmp_path: Path) -> None:
    # openxml-audit (MIT): the schemas and rules of Microsoft's Open XML SDK.
    thinned = tmp_path / "thinned.xlsx"
    with zipfile.ZipFile(thinned, "w") as package:
        for name, content in parts(kind).items():
            package.writestr(name, _each_kind_of_row_once(content))
    result = OpenXmlValidator(max_errors=0).validate(thinned)
    found = [str(one) for one in result.errors]
    assert len(found) >= len(sheets(kind))  # it has looked at them: see the warning
    assert [one for one in found if not FALSE_ALARM.search(one)] == []


FALSE_ALARM = re.compile(
    # The standard takes the children of a font in any order: ECMA-376 Part 1, CT_Font is a choice.
    r"^\[schema\] /xl/styles\.xml:/styleSheet\[1\]/fonts\[1\]/font\[\d+\]: "
    r"Unexpected element '(?:b|i|color)' found$"
    # A warning that Excel, once it saves the file, puts the texts of cells into a list.
    r"|^\[semantic\] /xl/worksheets/sheet\d+\.xml: Worksheet sheet\d+\.xml has \d+ inline-string "
)


def _each_kind_of_row_once(sheet: bytes) -> bytes:
    """Leave out rows that differ from one before in figures and texts only: they take a minute."""
    seen = set()

    def once(row: re.Match[bytes]) -> bytes:
        kind = re.sub(rb">[^<]+<|\d+", b"", row[0])
        is_known = kind in seen
        seen.add(kind)
        return b"" if is_known else row[0]

    return re.sub(rb"<row .*?</row>", once, sheet, flags=re.DOTALL)


def test_a_computer_that_has_lxml_too_writes_and_reads_the_same(tmp_path: Path) -> None:
    # openpyxl takes it wherever it is installed: openpyxl.readthedocs.io, "Installation".
    script = (
        "import sys; from pathlib import Path; import openpyxl\n"
        "from workbook_template.build import whole_workbook\n"
        "from workbook_template.reading.entries import read\n"
        "from workbook_template.writing.blocks import Settings\n"
        "path = Path(sys.argv[1])\n"
        "path.write_bytes(whole_workbook(Settings(batch_rows=5)))\n"
        "print(openpyxl.LXML, *read(path).singles)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "farm.xlsx"],
        env={**os.environ, "OPENPYXL_LXML": "True"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["True", *SINGLE_INPUTS]


# The money's sign


TAKEN = [
    "$",
    "€",
    "£",
    "¥",
    "₹",
    "﷼",
    "₿",
    "zł",
    "kr",
    "kr.",
    "CHF",
    "R$",
    "US $",
    "S/",
    "Kč",
    "元",
]
"""Signs in use: Unicode's currency symbols, and codes and abbreviations as they are written."""
REFUSED = ["", " ", "$ ", " $", "$\n", "\t", "$\x00", "\ud800", "\u200b$", "ABCDEF", "=x", "$$$$$$"]


@pytest.mark.parametrize("currency", TAKEN)
def test_signs_in_use_are_taken(currency: str) -> None:
    assert is_currency(currency)


@pytest.mark.parametrize("currency", REFUSED)
def test_what_is_no_sign_is_refused(currency: str) -> None:
    assert not is_currency(currency)


def test_of_plain_characters_only_letters_and_the_dollar_stand_alone() -> None:
    taken = {one for one in map(chr, range(128)) if is_currency(one)}
    assert taken == {*string.ascii_letters, "$"}


@pytest.mark.parametrize("currency", ["!", "{", "}", "=", "+", "-", "@", "'", '"', "5", " ", "\n"])
def test_a_sign_that_is_refused_is_named_in_one_sentence(currency: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"^currency: got .* needs a symbol") as refusal:
        build(tmp_path / "farm.xlsx", Settings(currency=currency))
    assert "\n" not in str(refusal.value)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("currency", ["R$", "US $", "S/", "﷼", "money"])
def test_a_workbook_differs_in_nothing_but_the_sign(currency: str) -> None:
    first, other = _texts_with("€"), _texts_with(currency)
    assert first.keys() == other.keys()
    for name, text in first.items():
        assert text.replace("€", currency) == other[name], name


@cache
def _texts_with(sign: str) -> dict[str, str]:
    """Return every part as text, but for heights of rows, and the time in the properties."""
    package = whole_workbook(Settings(currency=sign, batch_rows=1, typed_functions=False))
    with zipfile.ZipFile(BytesIO(package)) as archive:
        return {
            name: re.sub(r' ht="[^"]*"', "", archive.read(name).decode())
            for name in archive.namelist()
            if name != "docProps/core.xml"
        }


@pytest.mark.parametrize("currency", ["kg", "lb", "Price", "h", "US $"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_no_sign_makes_two_headings_of_a_table_the_same(units: str, currency: str) -> None:
    # Excel: the headings of a table are unique, large and small letters being the same.
    for table in TABLES.values():
        headings = [heading(column, units, currency).casefold() for column in table.columns]
        assert len(set(headings)) == len(headings), table.key


def test_a_file_that_names_no_money_is_read_with_the_usual_sign(tmp_path: Path) -> None:
    changes = {
        "docProps/custom.xml": (r'(cultivar_fx currency"[^>]*><vt:lpwstr[^>]*>)\$', r"\g<1>{"),
    }
    farm = replaced(tmp_path / "farm.xlsx", changes)
    with zipfile.ZipFile(farm) as package:
        assert b">{<" in package.read("docProps/custom.xml")
    assert read(farm).settings.currency == "$"
