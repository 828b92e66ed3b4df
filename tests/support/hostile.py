"""Workbooks that mean harm, or are just broken, each with what has to come of it."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import openpyxl
from hostile_packages import (
    COMPOUND,
    EITHER,
    PRINT_AREA,
    PRINT_TITLES,
    VARIED,
    Hostile,
    bombs,
    cut_off,
    entities,
    other_kinds,
    places,
    zips,
)
from openpyxl.packaging.custom import FloatProperty, IntProperty
from packages import (
    BOOK,
    BOOK_RELATIONS,
    SHEET,
    SHEET_RELATIONS,
    STRINGS,
    STYLES,
    TYPES,
    cell,
    in_sheet,
    packed,
    parts,
    with_footer,
    with_format,
    with_name,
    with_part,
    with_relation,
    with_shared,
    with_text,
    with_validation,
)

if TYPE_CHECKING:
    from collections.abc import Iterator


def corpus() -> Iterator[Hostile]:
    """Return every hostile file."""
    yield Hostile("sound.xlsx", packed(parts()))
    for group in (
        other_kinds, cut_off, entities, zips, bombs, places, _running, _values, _broken,
        _long_texts, _others,
    ):  # fmt: skip
        yield from group()


def _running() -> Iterator[Hostile]:
    xml, program = b"<a/>", COMPOUND
    for label, name, content in (
        ("macro", "xl/vbaProject.bin", program), ("old-macro", "xl/macrosheets/sheet1.xml", xml),
        ("dialog", "xl/dialogsheets/sheet1.xml", xml), ("ribbon", "customUI/customUI14.xml", xml),
        ("link", "xl/externalLinks/externalLink1.xml", xml),
        ("embedding", "xl/embeddings/oleObject1.bin", program),
        ("embedded-book", "xl/embeddings/Book.xlsx", program),
        ("control", "xl/activeX/activeX1.bin", program), ("connection", "xl/connections.xml", xml),
        ("query", "xl/queryTables/queryTable1.xml", xml), ("model", "xl/model/item.data", program),
    ):  # fmt: skip
        yield Hostile(f"{label}-part.xlsx", with_part(name, content), "Unsafe")
    for kind in (
        "vbaProject", "xlMacrosheet", "externalLink", "externalLinkPath", "oleObject", "package",
        "control", "connections", "queryTable", "attachedTemplate",
    ):  # fmt: skip
        yield Hostile(f"relation-{kind}.xlsx", with_relation(kind, "/xl/x.bin"), "Unsafe")
    yield Hostile(
        "picture-from-elsewhere.xlsx",
        with_relation("image", "http://192.0.2.1/pixel.png", "External", SHEET_RELATIONS), "Unsafe",
    )  # fmt: skip
    sheet_elsewhere = with_relation("worksheet", "file:///etc/passwd", "External")
    yield Hostile("sheet-from-elsewhere.xlsx", sheet_elsewhere, "Unsafe")
    macros = with_text(TYPES, "spreadsheetml.sheet.main", "x.macroEnabled.main")
    yield Hostile("macro-type.xlsx", macros, "Unsafe")
    kind = "application/vnd.ms-excel.sheet.binary.macroEnabled.main"
    for ending, error in (("bin", ""), ("rels", "Unsafe"), ("VML", "Unsafe"), ("xml", "Unsafe")):
        listed = f'<Default Extension="{ending}" ContentType="{kind}"/></Types>'
        yield Hostile(f"macro-type-of-{ending}.xlsx", with_text(TYPES, "</Types>", listed), error)
    for part, error in (("/xl/nothing.bin", ""), ("", ""), (f"/{SHEET.upper()}", "Unsafe")):
        listed = f'<Override PartName="{part}" ContentType="{kind}"/></Types>'
        flat = part.replace("/", "-") or "-none"
        yield Hostile(f"macro-type-of{flat}.xlsx", with_text(TYPES, "</Types>", listed), error)
    yield Hostile("saved-by-sheetjs.xlsx", _with_types_of_sheetjs())
    link = '<hyperlink ref="A1" location="file:///etc/passwd"/></hyperlinks>'
    yield Hostile("link-to-a-file.xlsx", with_text(SHEET, "</hyperlinks>", link))
    for label, formula in (
        ("dde", "cmd|'/c calc'!A1"), ("dde-quoted", "'cmd'|'/c calc'!A1"),
        ("call", 'CALL("a","b","c")'),
        ("register", 'REGISTER.ID("a","b")'), ("exec", 'exec ("calc")'), ("rtd", 'RTD("a",,"b")'),
        ("office-dde", 'DDE("soffice";"a";"b")'),
    ):  # fmt: skip
        yield Hostile(f"formula-{label}.xlsx", cell(f"<f>{formula}</f>"), "Unsafe")
        name = f'<definedName name="n">{formula}</definedName>'
        yield Hostile(
            f"name-{label}.xlsx",
            with_text(BOOK, "<definedNames>", f"<definedNames>{name}"),
            "Unsafe",
        )
    old_macro = '<definedName name="Auto_Open" xlm="1">Farm!$A$1</definedName>'
    yield Hostile(
        "name-xlm.xlsx", with_text(BOOK, "<definedNames>", f"<definedNames>{old_macro}"), "Unsafe"
    )
    called = '<definedName name="CFX_DRY_MASS" function="1" vbProcedure="1">#NAME?</definedName>'
    yield Hostile(
        "name-of-a-function.xlsx", with_text(BOOK, "<definedNames>", f"<definedNames>{called}")
    )
    validation = "<dataValidation sqref='A1'><formula1>cmd|'/c calc'!A1</formula1></dataValidation>"
    yield Hostile(
        "validation-dde.xlsx",
        with_validation(validation),
        "Unsafe",
    )
    for label, formula in (
        ("sheet", "'a|b'!A1"), ("text", '"cmd|calc"&amp;"!"'), ("heading", "Ingredients[[a|b]]"),
        ("caller", "CALLS+RECALL(1)"),
    ):  # fmt: skip
        yield Hostile(f"harmless-{label}.xlsx", cell(f"<f>{formula}</f>"))
    macros = {**parts(), "xl/vbaProject.bin": program}
    yield Hostile("with-macros.xlsm", packed(macros))
    yield Hostile("with-old-macros.xlsm", with_part("xl/macrosheets/sheet1.xml", xml), "Unsafe")


def _with_types_of_sheetjs() -> bytes:
    """List the types of all endings that SheetJS 0.18.5 lists, whatever parts it writes."""
    types = parts()[TYPES].decode()
    listed = "".join(
        f'<Default Extension="{ending}" ContentType="{kind}"/>'
        for ending, kind in (
            ("bin", "application/vnd.ms-excel.sheet.binary.macroEnabled.main"),
            ("data", "application/vnd.openxmlformats-officedocument.model+data"),
            ("bmp", "image/bmp"), ("png", "image/png"), ("gif", "image/gif"),
            ("emf", "image/x-emf"), ("wmf", "image/x-wmf"), ("jpg", "image/jpeg"),
            ("jpeg", "image/jpeg"), ("tif", "image/tiff"), ("tiff", "image/tiff"),
            ("pdf", "application/pdf"),
        )
    )  # fmt: skip
    return with_part(TYPES, types.replace("</Types>", f"{listed}</Types>"))


TEXTS = ("=1+1", "=cmd|'/c calc'!A1", "+1", "-1+1", "@SUM(1)", '=HYPERLINK("http://192.0.2.1")')


def _values() -> Iterator[Hostile]:
    for number, text in enumerate(TEXTS):
        escaped = text.replace("&", "&amp;")
        inline = cell(f"<is><t>{escaped}</t></is>", 't="inlineStr"')
        yield Hostile(f"text-{number}-inline.xlsx", inline)
        yield Hostile(f"text-{number}-said.xlsx", cell(f"<v>{escaped}</v>", 't="str"'))
        shared = {**parts(), STRINGS: parts()[STRINGS].replace(b"=2+2", escaped.encode())}
        yield Hostile(f"text-{number}-shared.xlsx", packed(shared))
        runs = f"<r><t>{escaped[0]}</t></r><r><t>{escaped[1:]}</t></r>"
        yield Hostile(f"text-{number}-runs.xlsx", cell(f"<is>{runs}</is>", 't="inlineStr"'))
    for label, value, kind in (
        ("text-as-number", "two", "n"), ("nan", "nan", "n"), ("infinite", "1e999", "n"),
        ("digits", "9" * 5000, "n"), ("no-such-string", "99", "s"), ("string-no-number", "x", "s"),
        ("odd-truth", "maybe", "b"), ("odd-date", "yesterday", "d"),
    ):  # fmt: skip
        yield Hostile(f"value-{label}.xlsx", cell(f"<v>{value}</v>", f't="{kind}"'), "Damaged")
    yield Hostile("value-of-no-type.xlsx", cell("<v>two</v>", 't="zzz"'))
    yield Hostile("style-of-none.xlsx", cell("<v>1</v>", 's="9999"'), "Damaged")
    yield Hostile("style-below-zero.xlsx", cell("<v>1</v>", 's="-99999"'), "Damaged")
    yield Hostile("formula-without-text.xlsx", cell('<f t="shared" si="7"/>'))
    yield Hostile("formula-odd.xlsx", cell('<f t="shared" si="7">((("</f>'), "Damaged")


def _broken() -> Iterator[Hostile]:
    everything = parts()
    for gone, error in (
        (TYPES, "NotAWorkbook"), (BOOK, "Damaged"), (SHEET, "Damaged"), (STRINGS, "Damaged"),
        (BOOK_RELATIONS, "Damaged"), ("xl/tables/table1.xml", "Damaged"),
    ):  # fmt: skip
        rest = {name: content for name, content in everything.items() if name != gone}
        yield Hostile(f"without-{gone.replace('/', '-').strip('[]')}.xlsx", packed(rest), error)
    for name in (BOOK, SHEET, STRINGS, STYLES, TYPES, SHEET_RELATIONS):
        flat = name.replace("/", "-").strip("[]")
        yield Hostile(f"no-xml-in-{flat}.xlsx", with_part(name, b"\0\1\2"), "Damaged")
        yield Hostile(f"other-xml-in-{flat}.xlsx", with_part(name, b"<html/>"), "Damaged")
    yield Hostile(
        "strings-are-a-sheet.xlsx", with_text(TYPES, f"/{STRINGS}", f"/{SHEET}"), "Damaged"
    )
    yield Hostile("book-is-a-sheet.xlsx", with_text(TYPES, f"/{BOOK}", f"/{SHEET}"), "Damaged")
    yield Hostile("no-book-type.xlsx", with_text(TYPES, "sheet.main+xml", "odd+xml"), "Damaged")
    yield Hostile("sheet-twice.xlsx", with_text(BOOK, 'r:id="rId2"', 'r:id="rId1"'), "Damaged")
    second = with_text(BOOK_RELATIONS, "/xl/worksheets/sheet2.xml", f"/{SHEET}")
    yield Hostile("two-sheets-are-one.xlsx", second, "Damaged")
    yield Hostile("one-sheet-many-times.xlsx", _many_times("xl/worksheets/sheet2.xml"), "Damaged")
    odd = b'<?xml version="1.0" encoding="x-y"?><a/>'
    yield Hostile("odd-encoding.xlsx", with_part(SHEET, odd), "Damaged")
    yield Hostile("climbing-relation.xlsx", with_relation("theme", "../../../etc/passwd"))
    strict = "http://purl.oclc.org/ooxml/officeDocument/relationships/worksheet"
    usual = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet"
    yield Hostile("strict.xlsx", with_text(BOOK_RELATIONS, usual, strict), "NotAWorkbook")


def _many_times(part: str) -> bytes:
    """List one part as two hundred sheets."""
    numbers = range(200)
    kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet"
    listed = "".join(f'<sheet name="s{n}" sheetId="{n + 9}" r:id="s{n}"/>' for n in numbers)
    led = "".join(f'<Relationship Id="s{n}" Type="{kind}" Target="/{part}"/>' for n in numbers)
    changed = parts()
    for name, end, markup in (
        (BOOK, b"</sheets>", listed),
        (BOOK_RELATIONS, b"</Relationships>", led),
    ):
        changed[name] = changed[name].replace(end, markup.encode() + end)
    return packed(changed)


def _long_texts() -> Iterator[Hostile]:
    yield Hostile(
        "long-text.xlsx", cell(f"<is><t>{'x' * 40_000}</t></is>", 't="inlineStr"'), "Damaged"
    )
    yield Hostile("long-formula.xlsx", cell(f"<f>1{'+1' * 20_000}</f>"), "Damaged")
    yield Hostile("long-attribute.xlsx", cell("<v>1</v>", f'x="{VARIED}"'), "Damaged")
    yield Hostile("unending-comment.xlsx", in_sheet(f"<!--{VARIED}"), "Damaged")
    for label, unit in (
        ("&", "&amp;"),
        ("&L", "&amp;L"),
        ('&"', "&amp;&quot;"),
        ("&12", "&amp;12 "),
    ):
        flat = label.replace("&", "and").replace('"', "quote")
        yield Hostile(f"footer-{flat}.xlsx", with_footer(unit * 8000))
    for label, unit in (
        ("quotes", "'"),
        ("cells", "$A$1,"),
        ("sheets", "'a'!$A:$B,"),
        ("rows", "$1:"),
    ):
        for name in (PRINT_AREA, PRINT_TITLES):
            yield Hostile(f"{name}-{label}.xlsx", with_name(name, unit * (30_000 // len(unit))))
        # In a formula of a cell, in one that cells share, and in a rule of what may be typed.
        text = unit * (30_000 // len(unit))
        yield Hostile(f"formula-of-{label}.xlsx", cell(f"<f>{text}</f>"))
        rule = f'<dataValidation type="custom" sqref="A7"><formula1>{text}</formula1>'
        yield Hostile(f"validation-of-{label}.xlsx", with_validation(f"{rule}</dataValidation>"))
        yield Hostile(f"shared-of-{label}.xlsx", with_shared(text), EITHER)
    for label, unit in (("brackets", "[a]"), ("open-brackets", "["), ("columns", "a[]+")):
        text = unit * (30_000 // len(unit))
        yield Hostile(f"shared-of-{label}.xlsx", with_shared(text), "TooLarge")
    for label, unit in (
        ("brackets", "["),
        ("quotes", "\\&quot;"),
        ("days", "dd-"),
        ("colors", "[Red]"),
    ):
        for length in (900_000, 900):
            error = "" if length < 1000 and label != "brackets" else "Damaged"
            code = unit * (length // len(unit))
            yield Hostile(f"format-{label}-{length}.xlsx", with_format(code), error)
    for length, error in ((31, ""), (300, "Damaged")):
        titled = with_text(BOOK, 'name="Checks" sheetId', f'name="{"c" * length}" sheetId')
        yield Hostile(f"title-of-{length}.xlsx", titled, error)
    sections = ";".join(["[" * 30] * 30)
    yield Hostile("format-brackets-by-sections.xlsx", with_format(sections), "Damaged")


def _others() -> Iterator[Hostile]:
    plain = openpyxl.Workbook()
    yield Hostile("foreign.xlsx", _saved(plain), "ForeignWorkbook")
    for label, value, error in (
        ("newer", 99, "NewerWorkbook"), ("zero", 0, "Damaged"), ("nan", float("nan"), "Damaged"),
        ("infinite", float("inf"), "Damaged"),
    ):  # fmt: skip
        one = openpyxl.Workbook()
        kind = IntProperty if isinstance(value, int) else FloatProperty
        one.custom_doc_props.append(kind(name="cultivar_fx schema", value=value))
        yield Hostile(f"version-{label}.xlsx", _saved(one), error)
    bare = {name: content for name, content in parts().items() if name != "docProps/custom.xml"}
    yield Hostile("properties-lost.xlsx", packed(bare))


def _saved(workbook: openpyxl.Workbook) -> bytes:
    written = io.BytesIO()
    workbook.save(written)
    return written.getvalue()
