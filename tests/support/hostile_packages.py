"""Files that are no workbook, packed to harm, or far larger than they look."""

from __future__ import annotations

import io
import re
import struct
import warnings
import zipfile
from typing import TYPE_CHECKING, NamedTuple

from packages import (
    BOOK,
    BOOK_RELATIONS,
    SHEET,
    STRINGS,
    STYLES,
    after_rows,
    cell,
    in_sheet,
    packed,
    parts,
    with_link_on,
    with_note_on,
    with_part,
    with_table_on,
    with_text,
    with_validation,
)

if TYPE_CHECKING:
    from collections.abc import Iterator


EITHER = "?"
"""Opens or is refused: what counts is that it takes no time."""


class Hostile(NamedTuple):
    """One file: its name, its bytes, and the error expected; without one it opens."""

    name: str
    data: bytes
    error: str = ""


LAUGHS = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
BOMB = f'<!DOCTYPE x [<!ENTITY l0 "ha">{LAUGHS}]>'
FETCH = '<!DOCTYPE x [<!ENTITY l9 SYSTEM "file:///etc/hostname">]>'
COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(2000)
MANY = 270_000
"""More than is read of anything."""
PRINT_AREA, PRINT_TITLES = "_xlnm.Print_Area", "_xlnm.Print_Titles"
VARIED = "".join(f"{n:x}" for n in range(400_000))
"""Two megabytes that do not pack to nothing."""


def other_kinds() -> Iterator[Hostile]:
    encrypted = COMPOUND + "EncryptedPackage".encode("utf-16-le") + bytes(900)
    yield Hostile("empty.xlsx", b"", "NotAWorkbook")
    yield Hostile("two-letters.xlsx", b"PK", "Damaged")
    yield Hostile("text.xlsx", b"batch;lost\nB101;3\n", "NotAWorkbook")
    yield Hostile("page.xlsx", b"<html><table><tr><td>=1+1</table></html>", "NotAWorkbook")
    yield Hostile("picture.xlsx", b"\x89PNG\r\n\x1a\n" + bytes(99), "NotAWorkbook")
    yield Hostile("compressed.xlsx", b"\x1f\x8b\x08" + bytes(99), "NotAWorkbook")
    yield Hostile("old.xls", COMPOUND, "NotAWorkbook")
    yield Hostile("old-named-new.xlsx", COMPOUND, "NotAWorkbook")
    yield Hostile("encrypted.xlsx", encrypted, "Encrypted")
    yield Hostile("zip.xlsx", packed({"a.txt": b"a"}), "NotAWorkbook")
    yield Hostile("nothing-in-it.xlsx", packed({}), "NotAWorkbook")
    open_document = {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet"}
    yield Hostile("farm.ods", packed(open_document), "NotAWorkbook")
    yield Hostile("text.docx", packed({"word/document.xml": b"<w/>"}), "NotAWorkbook")
    yield Hostile("binary.xlsb", packed({"xl/workbook.bin": b"\0"}), "NotAWorkbook")


def cut_off() -> Iterator[Hostile]:
    whole = packed(parts())
    for length in range(1000, len(whole), 1000):
        yield Hostile(f"cut-at-{length}.xlsx", whole[:length], "Damaged")
    yield Hostile("cut-by-one.xlsx", whole[:-1], "Damaged")


def entities() -> Iterator[Hostile]:
    for name, content in parts().items():
        text = content.decode()
        root = text.index("<", 1) if text.startswith("<?xml") else 0
        with_bomb = text[:root] + BOMB + text[root:].replace("</", "&l9;</", 1)
        flat = name.replace("/", "-").strip("[]")
        yield Hostile(f"bomb-in-{flat}.xlsx", with_part(name, with_bomb), "Unsafe")
    sheet = parts()[SHEET].decode()
    fetched = FETCH + sheet.replace("<v>0</v>", "<v>&l9;</v>")
    yield Hostile("fetching-entity.xlsx", with_part(SHEET, fetched), "Unsafe")
    yield Hostile("type-only.xlsx", with_part(SHEET, "<!DOCTYPE worksheet>" + sheet), "Unsafe")
    wide = ("\ufeff" + BOMB + sheet).encode("utf-16-le")
    yield Hostile("bomb-in-utf-16.xlsx", with_part(SHEET, wide), "Unsafe")
    picture = {**parts(), "xl/media/image1.png": (BOMB + sheet).encode()}
    yield Hostile("bomb-named-picture.xlsx", packed(picture), "Unsafe")
    moved = {**picture, BOOK_RELATIONS: parts()[BOOK_RELATIONS].replace(
        b"/xl/worksheets/sheet1.xml", b"/xl/media/image1.png")}  # fmt: skip
    yield Hostile("sheet-named-picture.xlsx", packed(moved), "Unsafe")
    yield Hostile("unknown-entity.xlsx", cell("<v>&l9;</v>"), "Damaged")


def zips() -> Iterator[Hostile]:
    zeros = bytes(65 << 20)
    yield Hostile("one-big-part.xlsx", with_part("xl/media/image1.png", zeros), "TooLarge")
    yield Hostile("spaces.xlsx", packed({**parts(), SHEET: b" " * (30 << 20)}, level=9), "TooLarge")
    big = {f"xl/media/image{n}.png": zeros[: 8 << 20] for n in range(9)}
    yield Hostile("nine-big-parts.xlsx", packed({**parts(), **big}), "TooLarge")
    sound = packed(parts())
    yield Hostile("wrong-size.xlsx", _size_changed(sound), "Damaged")
    many = {f"customXml/item{n}.xml": b"<a/>" for n in range(2000)}
    yield Hostile("many-parts.xlsx", packed({**parts(), **many}), "TooLarge")
    countless = {f"{n}": b"" for n in range(6_000)}
    yield Hostile("countless-parts.xlsx", packed(countless, zipfile.ZIP_STORED), "TooLarge")
    yield Hostile("packed-otherwise.xlsx", packed(parts(), zipfile.ZIP_LZMA), "Damaged")
    yield Hostile("added-behind.xlsx", sound + b"MZ program", "Damaged")
    yield Hostile("added-before.xlsx", b"PK program" + sound, "Damaged")
    yield Hostile("two-files-in-one.xlsx", sound + sound, "Damaged")
    flag = bytearray(sound)
    for place in _entries(sound):
        flag[place + 8] |= 1
    yield Hostile("password-on-parts.xlsx", bytes(flag), "Encrypted")
    twice = io.BytesIO(sound)
    with zipfile.ZipFile(twice, "a") as archive, _no_warning():
        archive.writestr(SHEET, parts()[SHEET].replace(b"two", b"three"))
    yield Hostile("part-twice.xlsx", twice.getvalue(), "Damaged")
    yield Hostile("part-twice-in-capitals.xlsx", with_part(SHEET.upper(), b"<a/>"), "Damaged")
    for label, name in (
        ("climbing", "../../farm.txt"), ("climbing-inside", "xl/../../farm.txt"),
        ("from-the-root", "/etc/farm.txt"), ("on-a-drive", "C:/farm.txt"),
        ("backslash", "..\\farm.txt"), ("control", "xl/a\nb.xml"), ("double", "xl//a.xml"),
    ):  # fmt: skip
        yield Hostile(f"{label}-name.xlsx", with_part(name, b"<a/>"), "Unsafe")
    shared = _entries(sound)
    overlap = bytearray(sound)
    overlap[shared[1] + 42 : shared[1] + 46] = overlap[shared[0] + 42 : shared[0] + 46]
    yield Hostile("overlapping-parts.xlsx", bytes(overlap), "Damaged")


def _entries(sound: bytes) -> list[int]:
    """Return the places of the entries in the table at the end."""
    start = struct.unpack("<I", sound[-6:-2])[0]
    found = []
    while (start := sound.find(b"PK\x01\x02", start)) >= 0:
        found.append(start)
        start += 4
    return found


def _size_changed(sound: bytes) -> bytes:
    """Describe that the first part is smaller than it is."""
    changed = bytearray(sound)
    place = _entries(sound)[0]
    changed[place + 24 : place + 28] = struct.pack("<I", 10)
    return bytes(changed)


def _no_warning() -> warnings.catch_warnings:
    return warnings.catch_warnings(action="ignore")


def bombs(many: int = MANY) -> Iterator[Hostile]:
    """Yield what is too much; of a few of each, everything would be read."""
    last = min(90 + many, 99_999)
    rows = "".join(f'<row r="{n}"><c><v>1</v></c><c><v>1</v></c></row>' for n in range(90, last))
    varied = "".join(f"<row><c><v>{n * 7919 % 99991}</v></c></row>" for n in range(many))
    yield Hostile("many-rows.xlsx", in_sheet(rows), "TooLarge")
    yield Hostile("many-rows-without-number.xlsx", in_sheet(varied), "TooLarge")
    wide = "".join(f"<c><v>{n * 7919 % 99991}</v></c>" for n in range(many))
    yield Hostile("many-cells-in-a-row.xlsx", in_sheet(f'<row r="90">{wide}</row>'), "TooLarge")
    strings = "".join(f"<si><t>{n * 7919 % 99991}</t></si>" for n in range(many))
    yield Hostile("many-strings.xlsx", with_text(STRINGS, "<si>", f"{strings}<si>"), "TooLarge")
    runs = "".join(f"<r><t>{n * 7919 % 99991}</t></r>" for n in range(many))
    yield Hostile("many-runs.xlsx", with_text(STRINGS, "<si>", f"<si>{runs}</si><si>"), "TooLarge")
    styles = "".join(f'<xf numFmtId="{n * 7919 % 99991}"/>' for n in range(many))
    yield Hostile(
        "many-styles.xlsx", with_text(STYLES, "</cellXfs>", f"{styles}</cellXfs>"), "TooLarge"
    )
    names = "".join(f'<definedName name="n{n}">{n}</definedName>' for n in range(many))
    marked = "<definedNames>"
    yield Hostile("many-names.xlsx", with_text(BOOK, marked, marked + names), "TooLarge")
    lists = " ".join(f"A{n}" for n in range(1, min(many, 99_999)))
    validation = f'<dataValidation type="list" sqref="{lists}"/>'
    yield Hostile("many-validated-cells.xlsx", with_validation(validation * 5), "TooLarge")
    yield Hostile("many-links.xlsx", with_link_on("A1", many), "TooLarge")
    unread = "<a/>" + "<b x='1'/>" * (7 * many)
    yield Hostile(
        "many-elements-unread.xlsx", with_part("xl/x.xml", f"<r>{unread}</r>"), "TooLarge"
    )
    long = "+".join(f"A{n}" for n in range(1, 2 + many // 100))
    first = f'<row r="90"><c r="A90"><f t="shared" si="0" ref="A90:A9999">{long}</f></c></row>'
    rest = "".join(
        f'<row r="{n}"><c r="A{n}"><f t="shared" si="0"/></c></row>'
        for n in range(91, 91 + many // 16)
    )
    yield Hostile("long-shared-formula.xlsx", in_sheet(first + rest), "TooLarge")
    own = "".join(
        f'<row r="{n}"><c r="A{n}"><f t="shared" si="{n}">{long}</f></c></row>'
        for n in range(90, 91 + many // 80)
    )
    yield Hostile("many-shared-formulas.xlsx", in_sheet(own), "TooLarge")
    longest = "$A$1+" * 6000
    each = "".join(
        f'<row r="{n}"><c r="A{n}"><f>{longest}{n}</f></c></row>'
        for n in range(90, 90 + many // 110)
    )
    yield Hostile("many-long-formulas.xlsx", in_sheet(each), "TooLarge")
    deep = "<a>" * (many // 3) + "</a>" * (many // 3)
    yield Hostile("deep.xlsx", after_rows(f"<extLst>{deep}</extLst>"), "Damaged")
    yield Hostile("deep-unread.xlsx", with_part("xl/drawings/drawing9.xml", deep), "Damaged")
    nested = "<si>" * (many // 3) + "</si>" * (many // 3)
    yield Hostile("nested-strings.xlsx", with_text(STRINGS, "<si>", f"{nested}<si>"), "Damaged")
    shallow = "<r>" * 40 + "<t>x</t>" + "</r>" * 40
    yield Hostile("nested-runs.xlsx", with_text(STRINGS, "<si>", f"<si>{shallow}</si><si>"))
    lines = "&#10;" * 2_100_000
    yield Hostile("many-lines.xlsx", after_rows(f"<x>{lines}</x>"))


def places() -> Iterator[Hostile]:
    (said,) = re.findall(r"<dimension [^>]*>", parts()[SHEET].decode())
    huge = '<dimension ref="A1:XFD1048576"/>'
    yield Hostile("huge-size-said.xlsx", with_text(SHEET, said, huge))
    one = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    yield Hostile("far-cell.xlsx", in_sheet(one), "TooLarge")
    beyond = '<row r="1048576"><c><v>1</v></c></row>'
    yield Hostile("far-cell-without-number.xlsx", in_sheet(beyond), "TooLarge")
    yield Hostile("far-row-without-cell.xlsx", in_sheet('<row r="1048576" ht="12.8"/>'))
    wide = '<row r="90">' + "<c/>" * 703 + "</row>"
    yield Hostile("far-column-without-letters.xlsx", in_sheet(wide), "TooLarge")
    yield Hostile(
        "far-column.xlsx", in_sheet('<row r="9"><c r="XFD9"><v>1</v></c></row>'), "TooLarge"
    )
    for label, row, place in (
        ("row-beyond-all", "9" * 30, "A1"), ("row-below-zero", "-1", "A1"),
        ("row-nan", "nan", "A1"),
        ("cell-in-no-row", "90", "A0"), ("cell-with-sign", "90", "A-1"), ("cell-odd", "90", "é1"),
        ("cell-beyond-all", "90", "A" + "9" * 30), ("cell-no-column", "90", "90"),
    ):  # fmt: skip
        markup = f'<row r="{row}"><c r="{place}"><v>1</v></c></row>'
        yield Hostile(f"{label}.xlsx", in_sheet(markup), "Damaged")
    # Neither merged cells nor links are made, so that the size of their ranges does not matter.
    for label, ref in (
        ("all", "A1:XFD1048576"), ("wide", "A1:ZZ999"), ("back", "ZZ999:A1"), ("column", "A:A"),
    ):  # fmt: skip
        merged = f'<mergeCells><mergeCell ref="{ref}"/></mergeCells>'
        yield Hostile(f"merged-{label}.xlsx", after_rows(merged))
        yield Hostile(f"link-{label}.xlsx", with_link_on(ref))
    rule = '<dataValidation type="list" sqref="A1:XFD1048576"><formula1>"a,b"</formula1>'
    yield Hostile("validation-everywhere.xlsx", with_validation(f"{rule}</dataValidation>"))
    # But the library makes every cell of the place of a note.
    for label, ref, error in (
        ("sheet", "A1:XFD1048576", "Damaged"), ("wide", "A1:ZZ100000", "Damaged"),
        ("rows", "1:1048576", "Damaged"), ("columns", "A:XFD", "Damaged"), ("row", "1", "Damaged"),
        ("none", "", "Damaged"), ("far", "XFD1048576", "TooLarge"), ("sound", "B28", ""),
    ):  # fmt: skip
        yield Hostile(f"note-on-{label}.xlsx", with_note_on(ref), error)
    for label, ref, attributes, error in (
        ("upside-down", "A18:H6", "", "Damaged"), ("right-to-left", "H6:A18", "", "Damaged"),
        ("columns", "A:H", "", "Damaged"), ("rows", "6:18", "", "Damaged"),
        ("nothing", "", "", "Damaged"), ("words", "here", "", "Damaged"),
        ("totals", "A6:H18", 'totalsRowCount="99"', "Damaged"),
        ("odd-totals", "A6:H18", 'totalsRowCount="-1"', "Damaged"),
        ("all", "A1:XFD1048576", "", ""), ("sound", "A6:H18", 'totalsRowCount="1"', ""),
    ):  # fmt: skip
        yield Hostile(f"table-on-{label}.xlsx", with_table_on(ref, attributes), error)
    colors = '<conditionalFormatting sqref="A1:XFD1048576"><cfRule type="expression" priority="1">'
    colored = f"{colors}<formula>1</formula></cfRule></conditionalFormatting>"
    yield Hostile("color-everywhere.xlsx", after_rows(colored))
    yield Hostile("array-everywhere.xlsx", cell('<f t="array" ref="A1:XFD1048576">1</f>'))
