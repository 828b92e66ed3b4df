"""What the grower put into a workbook besides cells: links, talks, boxes, headers, scenarios.

The library reads none of these from a file that may come from anybody. They are read here as text,
from parts of moderate size, and carried as text.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from html import unescape
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

from defusedxml.ElementTree import fromstring
from openpyxl.utils import get_column_letter

from workbook_template.texts import LONGEST_TEXT

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator
    from xml.etree.ElementTree import Element

    from workbook_template.reading.contents import Contents

LINK = "link of your own"
TALK = "comment with replies"
TEXT_BOX = "text box"
PICTURE = "picture, not carried"
HEADER = "header or footer of your own"
SCENARIO = "scenario"
PROPERTY = "property of the file"
MESSAGE = "message of a cell"

_LARGEST_PART = 8 << 20
_MOST = 2000
"""Of one kind on one sheet; a grower has some."""
_TITLES = ("Batch and costing workbook",)
_PROPERTIES = ("title", "subject", "description", "keywords", "category")
_OF_PROGRAMS = ("AppVersion",)
_ATTRIBUTE = re.compile(r'([\w:]+)="([^"]*)"')
_HYPERLINK = re.compile(r"<(?:\w+:)?hyperlink\s([^<>]*?)/?>")
_MARGIN = re.compile(r"<(?:\w+:)?((?:odd|even|first)(?:Header|Footer))\b[^<>]*>([^<]*)<")
_SCENARIO = re.compile(r"<(?:\w+:)?scenario\s([^<>]*)>(.*?)</(?:\w+:)?scenario>", re.DOTALL)
_INPUT_CELL = re.compile(r"<(?:\w+:)?inputCells\s([^<>]*?)/?>")
_CODES = re.compile(r'&(?:"[^"]*"|\d+|K[0-9A-Fa-f+-]{6}|[A-Z])')
_OWN_MARGIN = re.compile(r"cultivar_fx\s+\S+|\bof\b|\bPage\b|[/\s]+")


class Extra(NamedTuple):
    """One of them: what it is, its sheet and cell where it has some, its text, and more of it."""

    kind: str
    sheet: str
    cell: str
    text: str
    about: str = ""


def extras(
    contents: Contents,
    labels: Collection[str],
    is_our_link: Callable[[str, str, str], bool],
) -> Iterator[Extra]:
    """Find what the grower put in besides cells.

    Parameters
    ----------
    contents : Contents
        The workbook.
    labels : collection of str
        The titles of our own messages.
    is_our_link : callable
        Whether a link within the workbook is ours, by its sheet, its cell and where it leads.

    Yields
    ------
    Extra
        Each, in the order of the sheets.
    """
    if not contents.package:  # a workbook that never was a file
        return
    parts = Parts(contents)
    for sheet, part in parts.sheets.items():
        relations = parts.relations(part)
        below = parts.text(part).rpartition("sheetData")[2]
        yield from _links(sheet, below, relations, is_our_link)
        yield from _margins(sheet, below)
        yield from _scenarios(sheet, below)
        for kind, target in relations.values():
            if kind == "threadedComment":
                yield from _talks(sheet, parts.tree(target))
            elif kind == "drawing":
                yield from _drawn(sheet, parts.tree(target))
        yield from _messages(sheet, contents, labels)
    yield from _properties(contents, parts)


class Parts:
    """The parts of a package as text, those that are too large left out."""

    def __init__(self, contents: Contents) -> None:
        self._archive = zipfile.ZipFile(BytesIO(contents.package))
        self._sizes = {one.filename: one.file_size for one in self._archive.infolist()}
        self.sheets: dict[str, str] = {}
        named = self.relations("xl/workbook.xml")
        for tag in re.findall(r"<(?:\w+:)?sheet\s([^<>]*?)/?>", self.text("xl/workbook.xml")):
            said = dict(_ATTRIBUTE.findall(tag))
            number = next((said[one] for one in said if one.endswith(":id")), "")
            name = unescape(said.get("name", ""))
            if number in named and name in contents.sheets:
                self.sheets[name] = named[number][1]

    def text(self, part: str) -> str:
        """Return a part as text; nothing where it is missing or too large."""
        if self._sizes.get(part, _LARGEST_PART) >= 8 * _LARGEST_PART:
            return ""
        return self._archive.read(part).decode("utf-8", "replace") if part in self._sizes else ""

    def tree(self, part: str) -> Element | None:
        """Return a part as XML; nothing where it is missing, too large or none."""
        if not 0 < self._sizes.get(part, 0) < _LARGEST_PART:
            return None
        try:
            tree: Element = fromstring(self._archive.read(part))
        except Exception:  # whatever it is, it is no text of the grower's
            return None
        return tree

    def relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Return the kind and the target of each relation of a part, by its number."""
        folder, name = posixpath.split(part)
        tree = self.tree(f"{folder}/_rels/{name}.rels")
        found = {}
        for one in tree if tree is not None else ():
            target = one.get("Target", "")
            if one.get("TargetMode") != "External":
                target = posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")
            found[one.get("Id", "")] = one.get("Type", "").rpartition("/")[2], target
        return found


def _links(
    sheet: str,
    below: str,
    relations: dict[str, tuple[str, str]],
    is_ours: Callable[[str, str, str], bool],
) -> Iterator[Extra]:
    for found in _HYPERLINK.findall(below)[:_MOST]:
        said = attributes(found)
        outside = relations.get(said.get("id", ""), ("", ""))[1]
        location = said.get("location", "")
        cell = said.get("ref", "A1").partition(":")[0]
        if outside or (location and not is_ours(sheet, cell, location)):
            target = "#".join(one for one in (outside, location) if one)
            yield Extra(LINK, sheet, cell, target[:LONGEST_TEXT])


def _margins(sheet: str, below: str) -> Iterator[Extra]:
    for name, text in _MARGIN.findall(below):
        said = unescape(unescape(text))
        if _OWN_MARGIN.sub("", _CODES.sub("", said)):
            yield Extra(HEADER, sheet, "A1", said, name)


def _scenarios(sheet: str, below: str) -> Iterator[Extra]:
    for head, cells in _SCENARIO.findall(below)[:_MOST]:
        name = unescape(dict(_ATTRIBUTE.findall(head)).get("name", ""))
        values = [dict(_ATTRIBUTE.findall(one)) for one in _INPUT_CELL.findall(cells)]
        text = ", ".join(f"{one.get('r')}={unescape(one.get('val', ''))}" for one in values)
        yield Extra(SCENARIO, sheet, "A1", text[:LONGEST_TEXT], name)


def _talks(sheet: str, tree: Element | None) -> Iterator[Extra]:
    for one in named(tree, "threadedComment"):
        text = "".join(part.text or "" for part in named(one, "text"))
        yield Extra(TALK, sheet, one.get("ref", "A1"), text[:LONGEST_TEXT])


def _drawn(sheet: str, tree: Element | None) -> Iterator[Extra]:
    for anchor in tree if tree is not None else ():
        column, row = (next(iter(named(anchor, name)), None) for name in ("col", "row"))
        cell = f"{get_column_letter(_number(column) + 1)}{_number(row) + 1}"
        text = "\n".join(
            "".join(part.text or "" for part in named(line, "t"))
            for shape in named(anchor, "sp")
            for line in named(shape, "p")
        ).strip()
        if text:
            yield Extra(TEXT_BOX, sheet, cell, text[:LONGEST_TEXT])
        for picture in named(anchor, "pic"):
            name = next((one.get("name", "") for one in named(picture, "cNvPr")), "")
            yield Extra(PICTURE, sheet, cell, name)


def _messages(sheet: str, contents: Contents, labels: Collection[str]) -> Iterator[Extra]:
    validations: Any = contents.sheets[sheet].data_validations.dataValidation
    for one in validations[:_MOST]:
        text = "\n".join(filter(None, (one.promptTitle, one.prompt, one.error)))
        if text and (one.promptTitle or one.errorTitle or "") not in labels:
            cells = str(one.sqref).split()
            yield Extra(MESSAGE, sheet, (cells[0] if cells else "A1").partition(":")[0], text)


def _properties(contents: Contents, parts: Parts) -> Iterator[Extra]:
    tree = parts.tree("docProps/core.xml")
    for one in tree if tree is not None else ():
        name, text = one.tag.rpartition("}")[2], one.text or ""
        if name in _PROPERTIES and text.strip() and text not in _TITLES:
            yield Extra(PROPERTY, "", "", text[:LONGEST_TEXT], name)
    workbook: Any = contents.workbook
    for prop in workbook.custom_doc_props.props:
        # Names with a colon, such as gsf:last-printed, are those of programs.
        is_ours = prop.name.startswith("cultivar_fx") or ":" in prop.name
        if not is_ours and prop.name not in _OF_PROGRAMS and prop.value not in (None, ""):
            yield Extra(PROPERTY, "", "", str(prop.value)[:LONGEST_TEXT], prop.name)


def attributes(text: str) -> dict[str, str]:
    """Return the attributes of an element, without prefixes, from the text of its tag."""
    found = _ATTRIBUTE.findall(text)
    return {name.rpartition(":")[2]: unescape(value) for name, value in found}


def named(tree: Element | None, name: str) -> list[Element]:
    """Return the elements of a name below another one."""
    found = tree.iter() if tree is not None else ()
    return [one for one in found if one.tag.rpartition("}")[2] == name]


def _number(element: Element | None) -> int:
    text = (element.text or "0") if element is not None else "0"
    return min(int(text), 16000) if text.isdigit() else 0
