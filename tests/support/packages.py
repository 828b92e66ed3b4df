"""A small workbook of ours as its parts, to be changed and packed again by the tests."""

from __future__ import annotations

import io
import re
import zipfile
from functools import cache
from typing import TYPE_CHECKING

import openpyxl
from shared import shared

from workbook_template.build import build
from workbook_template.writing.blocks import Settings
from workbook_template.writing.layout import Entries

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
KEPT_SHEETS = ("Ingredients", "Checks")
TYPED = {"ingredient": "=1+1", "price": 2.5, "source": "+bill"}
SHEET = "xl/worksheets/sheet1.xml"
STRINGS = "xl/sharedStrings.xml"
BOOK = "xl/workbook.xml"
STYLES = "xl/styles.xml"
TABLE = "xl/tables/table1.xml"
COMMENTS = "xl/comments/comment1.xml"
DATE_NUMBER = 46023
"""2026-01-01."""
TYPES = "[Content_Types].xml"
SHEET_RELATIONS = "xl/worksheets/_rels/sheet1.xml.rels"
BOOK_RELATIONS = "xl/_rels/workbook.xml.rels"


@cache
def small_workbook() -> bytes:
    """Build a workbook, and leave two of its sheets, so that reading it takes a moment only."""
    return shared("two-sheets.xlsx", _build).read_bytes()


def _build(path: Path) -> None:
    build(path, Settings(batch_rows=2), Entries(tables={"ingredients": [TYPED]}))
    workbook = openpyxl.load_workbook(path)
    for sheet in workbook.worksheets:
        if sheet.title not in KEPT_SHEETS:
            workbook.remove(sheet)
    sheet = workbook["Ingredients"]
    sheet.delete_rows(30, sheet.max_row)
    workbook["Checks"].delete_rows(12, workbook["Checks"].max_row)
    sheet["A28"].comment = openpyxl.comments.Comment("weighed twice", "us")
    workbook.save(path)


@cache
def _parts() -> dict[str, bytes]:
    """Unpack the small workbook, and give it shared strings as the programs write them."""
    with zipfile.ZipFile(io.BytesIO(small_workbook())) as archive:
        contents = {name: archive.read(name) for name in archive.namelist()}
    shared = f'<sst xmlns="{MAIN}"><si><t>=2+2</t></si><si><r><t>two</t></r></si></sst>'
    row = '<row r="29"><c r="A29" t="s"><v>0</v></c><c r="B29" t="s"><v>1</v></c></row>'
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    changes = {
        SHEET: ("</sheetData>", f"{row}</sheetData>"),
        TYPES: ("</Types>", f'<Override PartName="/{STRINGS}" ContentType="{kind}"/></Types>'),
    }
    for name, (old, new) in changes.items():
        contents[name] = contents[name].replace(old.encode(), new.encode())
    return {**contents, STRINGS: shared.encode()}


def parts() -> dict[str, bytes]:
    """Return the parts of the small workbook, to be changed."""
    return dict(_parts())


def packed(
    contents: Mapping[str, bytes], method: int = zipfile.ZIP_DEFLATED, level: int = 1
) -> bytes:
    """Pack parts into the bytes of a file."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w", method, compresslevel=level) as archive:
        for name, content in contents.items():
            archive.writestr(name, content)
    return written.getvalue()


def with_part(name: str, content: bytes | str) -> bytes:
    """Pack the small workbook with one part added or put in the place of another."""
    data = content.encode() if isinstance(content, str) else content
    return packed({**parts(), name: data})


def with_text(name: str, old: str, new: str) -> bytes:
    """Pack the small workbook with one text of a part changed; the text has to be there."""
    content = parts()[name].decode()
    assert old in content, (name, old)
    return with_part(name, content.replace(old, new, 1))


def in_sheet(markup: str) -> bytes:
    """Pack the small workbook with more rows."""
    return with_text(SHEET, "</sheetData>", f"{markup}</sheetData>")


def after_rows(markup: str) -> bytes:
    """Pack the small workbook with something behind the rows of a sheet."""
    return with_text(SHEET, "</sheetData>", f"</sheetData>{markup}")


def with_format(code: str) -> bytes:
    """Pack the small workbook with a number format on AA90, whose number is that of a date."""
    styles = parts()[STYLES].decode()
    count = styles.partition("<cellXfs")[2].partition("</cellXfs>")[0].count("<xf ")
    formatted = styles.replace("</cellXfs>", '<xf numFmtId="999"/></cellXfs>').replace(
        "</numFmts>", f'<numFmt numFmtId="999" formatCode="{code}"/></numFmts>'
    )
    row = f'<row r="90"><c r="AA90" s="{count}"><v>{DATE_NUMBER}</v></c></row>'
    sheet = parts()[SHEET].decode().replace("</sheetData>", f"{row}</sheetData>")
    return packed({**parts(), STYLES: formatted.encode(), SHEET: sheet.encode()})


def with_name(name: str, text: str) -> bytes:
    """Pack the small workbook with a name of its first sheet, in place of one it may have."""
    book = re.sub(f'<definedName name="{name}" localSheetId="0">.*?</definedName>', "",
                  parts()[BOOK].decode())  # fmt: skip
    own = f'<definedName name="{name}" localSheetId="0">{text}</definedName>'
    return with_part(BOOK, book.replace("</definedNames>", f"{own}</definedNames>"))


def with_note_on(place: str) -> bytes:
    """Pack the small workbook with its one note elsewhere."""
    return with_text(COMMENTS, 'ref="A28"', f'ref="{place}"')


def with_table_on(place: str, attributes: str = "") -> bytes:
    """Pack the small workbook with its table elsewhere."""
    table = parts()[TABLE].decode()
    own = re.sub(r'<table ([^>]*)\bref="[^"]*"', rf'<table {attributes} \1ref="{place}"', table)
    return with_part(TABLE, own)


def with_footer(text: str) -> bytes:
    """Pack the small workbook with a footer on its first sheet, in place of its own."""
    own = f"<oddFooter>{text}</oddFooter>"
    sheet = re.sub(r"<oddFooter>.*?</oddFooter>", lambda _: own, parts()[SHEET].decode())
    return with_part(SHEET, sheet)


def with_shared(formula: str) -> bytes:
    """Pack the small workbook with a formula in AA90 that AA91 shares."""
    return in_sheet(
        f'<row r="90"><c r="AA90"><f t="shared" si="7" ref="AA90:AA91">{formula}</f></c></row>'
        '<row r="91"><c r="AA91"><f t="shared" si="7"/></c></row>'
    )


def with_validation(markup: str) -> bytes:
    """Pack the small workbook with more among the validations of its first sheet."""
    return with_text(SHEET, "</dataValidations>", f"{markup}</dataValidations>")


def with_link_on(place: str, count: int = 1) -> bytes:
    """Pack the small workbook with links on its first sheet, beside its own."""
    links = f'<hyperlink ref="{place}" location="a"/>' * count
    return with_text(SHEET, "</hyperlinks>", f"{links}</hyperlinks>")


def cell(markup: str, attributes: str = "") -> bytes:
    """Pack the small workbook with one more cell, AA90."""
    return in_sheet(f'<row r="90"><c r="AA90" {attributes}>{markup}</c></row>')


def with_relation(kind: str, target: str, mode: str = "", part: str = BOOK_RELATIONS) -> bytes:
    """Pack the small workbook with one more relation."""
    address = f"http://schemas.openxmlformats.org/officeDocument/2006/relationships/{kind}"
    outside = f' TargetMode="{mode}"' if mode else ""
    markup = f'<Relationship Id="rId99" Type="{address}" Target="{target}"{outside}/>'
    return with_text(part, "</Relationships>", f"{markup}</Relationships>")
