"""Mutated workbooks whose package is sound: cells, names, tables and sheets that hold odd things.

The changes are made in the XML of the parts, so that a formula has a value beside it, as programs
write it, and text stays what somebody typed.
"""

from __future__ import annotations

import io
import random
import re
import zipfile
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

if TYPE_CHECKING:
    from collections.abc import Callable

Parts = dict[str, str]

BOOK = "xl/workbook.xml"
SHEETS = "xl/worksheets/sheet"
TABLES = "xl/tables/"
_CELL = re.compile(r'<c r="([A-Z]+\d+)"(?: s="(\d+)")?[^>]*?(?:/>|>.*?</c>)')
_ROW = re.compile(r'<row r="\d+"[^>]*?(?:/>|>.*?</row>)')
_NUMBERED = re.compile(r'(<row r="|<c r="[A-Z]+)(\d+)"')
_NAME = re.compile(r'<definedName name="([^"]+)"[^>]*>([^<]*)</definedName>')
_SHEET = re.compile(r'<sheet name="([^"]*)"[^>]*/>')
_HEADING = re.compile(r'(?<=<tableColumn id=")\d+" name="[^"]*"')

TEXTS = (
    "", " ", "x" * 32767, "=1+1", "=Batches[[Made]]", "=SUM(", "+1", "-1+1", "@SUM(1)", "\t=1",
    "'=1", "=HYPERLINK(\"http://192.0.2.1\")", "=cmd|'/c calc'!A1", "{=1+1}", "\u202eabc", "a\nb",
    "a\r\nb", "_x0007_", "_x003D_1+1", "007", "1,5", "62%", "2026-01-01", "#N/A", "TRUE", "*", "?",
    "~", "batch", "B1", "Ingredients", "\U0001f344", "<b>&amp;</b>", "]]>", "1e999", "nan",
)  # fmt: skip
_NUMBERS = (
    "0", "-1", "62", "0.5", "-0.0", "1e308", "-1e308", "5e-324", "1e15", "2958466", "45000.75",
    "123456789012345678901234567890", "0.1e0", "-45000", "1e-320",
)  # fmt: skip
_FORMULAS = (
    ("SUM(A1:A3)", "", "3"), ("Costing!B13", "", ""), ("1/0", ' t="e"', "#DIV/0!"),
    ("_xlfn.LET(_xlpm.a,1,_xlpm.a)", "", "1"), ("Batches[[Made]]", ' t="str"', "=1+1"),
    ('"="&amp;"1+1"', ' t="str"', "=1+1"), ("TRUE", ' t="b"', "1"), ("(((", "", "1"),
    ("hourly_wage*2", "", "1e308"), ("NOW()", "", "46000.5"), ("'", "", ""),
)  # fmt: skip
_OTHERS = (
    ' t="b"><v>1</v></c>', ' t="b"><v>0</v></c>', ' t="e"><v>#REF!</v></c>',
    ' t="e"><v>#BOGUS!</v></c>', ' t="d"><v>2026-01-01</v></c>',
    ' t="d"><v>9999-12-31T23:59:59</v></c>', ' t="str"><v>=1+1</v></c>',
    '><f t="shared" si="0"/><v>1</v></c>', '><f t="shared" si="999"/><v>1</v></c>',
    '><f t="dataTable" ref="B7:B9" dt2D="0" dtr="0" r1="A1"/><v>1</v></c>',
    '><f t="array" ref="B7:B9">A1:A3*2</f><v>1</v></c>', '><f/></c>', '><v/></c>', "/>",
)  # fmt: skip
_NAMED = (
    "Farm!$A$1", "Nope!$A$1", "#REF!", "Farm!$A:$B", "1", "Farm!$A$1:$Z$99", "Farm!$7:$7",
    "Batches!$A$1:$ZZ$90000", "'Farm'!$B$7,'Farm'!$B$8", "Farm!B7", "Costing!$B$13", "=1+1", "",
)  # fmt: skip
_REFERENCES = ("A1:B2", "A6:C7", "Z90:ZZ99", "A6", "A6:XFD1048576", "B7:A6", "A0:B1", "A1:G500")
_TITLES = ("=1+1", "a'b", "Farm ", "farm", "Carried over", "x" * 31, "Batches", "\u202eabc", "")


def mutated(original: bytes, seed: int) -> bytes:
    """Change what a workbook holds at one to five places, in a way that a seed fixes."""
    draw = random.Random(seed)
    with zipfile.ZipFile(io.BytesIO(original)) as archive:
        parts = {name: archive.read(name).decode() for name in archive.namelist()}
    for _ in range(draw.randint(1, 5)):
        draw.choice(_CHANGES)(parts, draw)
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, content in parts.items():
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return written.getvalue()


def _in_one_of(
    start: str,
) -> Callable[[Callable[[str, random.Random], str]], Callable[[Parts, random.Random], None]]:
    """Let a change happen in one of the parts whose names begin so."""

    def decorated(
        change: Callable[[str, random.Random], str],
    ) -> Callable[[Parts, random.Random], None]:
        def change_one(parts: Parts, draw: random.Random) -> None:
            name = draw.choice([name for name in parts if name.startswith(start)])
            parts[name] = change(parts[name], draw)

        return change_one

    return decorated


def _content(draw: random.Random) -> str:
    kind = draw.random()
    if kind < 0.4:
        text = escape(draw.choice(TEXTS))
        return f' t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>'
    if kind < 0.6:
        return f"><v>{draw.choice(_NUMBERS)}</v></c>"
    if kind < 0.8:
        formula, attributes, value = draw.choice(_FORMULAS)
        return f"{attributes}><f>{formula}</f><v>{value}</v></c>"
    return draw.choice(_OTHERS)


@_in_one_of(SHEETS)
def _cells(sheet: str, draw: random.Random) -> str:
    share = draw.choice((0.001, 0.01, 0.2))

    def changed(cell: re.Match[str]) -> str:
        if draw.random() > share:
            return cell[0]
        return f'<c r="{cell[1]}" s="{cell[2] or 0}"{_content(draw)}'

    return _CELL.sub(changed, sheet)


@_in_one_of(SHEETS)
def _row_gone(sheet: str, draw: random.Random) -> str:
    rows = list(_ROW.finditer(sheet))
    one = draw.choice(rows)
    return sheet[: one.start()] + sheet[one.end() :]


@_in_one_of(SHEETS)
def _rows_moved(sheet: str, draw: random.Random) -> str:
    """Put rows in, without a program's care for what refers to them."""
    after, rows = draw.randint(1, 40), draw.choice((1, 2, 300))

    def moved(numbered: re.Match[str]) -> str:
        number = int(numbered[2])
        return f'{numbered[1]}{number + rows * (number > after)}"'

    return _NUMBERED.sub(moved, sheet)


@_in_one_of(SHEETS)
def _cell_far_out(sheet: str, draw: random.Random) -> str:
    row = draw.choice((5000, 99_999, 1_048_576))
    cell = f'<row r="{row}"><c r="{draw.choice(("A", "ZZ", "AAA"))}{row}"{_content(draw)}</row>'
    return sheet.replace("</sheetData>", f"{cell}</sheetData>")


def _exchanged(text: str, one: re.Match[str], by: str, group: int = 0) -> str:
    return text[: one.start(group)] + by + text[one.end(group) :]


@_in_one_of(BOOK)
def _name(book: str, draw: random.Random) -> str:
    names = list(_NAME.finditer(book))
    if not names:
        return book
    one = draw.choice(names)
    if draw.random() < 0.3:
        return _exchanged(book, one, "")
    if draw.random() < 0.3:
        return _exchanged(book, one, draw.choice(("my_price", draw.choice(names)[1])), 1)
    return _exchanged(book, one, draw.choice(_NAMED), 2)


@_in_one_of(BOOK)
def _sheet(book: str, draw: random.Random) -> str:
    sheets = list(_SHEET.finditer(book))
    if not sheets:
        return book
    one = draw.choice(sheets)
    if draw.random() < 0.5:
        return _exchanged(book, one, "")
    return _exchanged(book, one, escape(draw.choice(_TITLES)), 1)


@_in_one_of(TABLES)
def _table(table: str, draw: random.Random) -> str:
    return draw.choice(
        (
            re.sub(r'ref="[^"]*"', f'ref="{draw.choice(_REFERENCES)}"', table),
            re.sub(r'ame="\w+"', 'ame="Mine"', table, count=2),
            table.replace(' headerRowCount="1"', ' totalsRowCount="1"'),
        )
    )


@_in_one_of(TABLES)
def _heading(table: str, draw: random.Random) -> str:
    headings = list(_HEADING.finditer(table))
    return _exchanged(table, draw.choice(headings), draw.choice(headings)[0])


_CHANGES = (
    _cells, _cells, _cells, _cells, _row_gone, _rows_moved, _cell_far_out, _name, _name, _sheet,
    _table, _heading,
)  # fmt: skip
