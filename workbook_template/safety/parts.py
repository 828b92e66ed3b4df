"""Finds the parts of a package that hold what was typed, and refuses what runs or fetches."""

from __future__ import annotations

import posixpath
import re
from typing import TYPE_CHECKING

from workbook_template.errors import Damaged, Unsafe, shown
from workbook_template.progress import tell
from workbook_template.safety.scan import ContentType, Relation, Scan, Tally

if TYPE_CHECKING:
    import zipfile
    from collections.abc import Iterable, Iterator

CONTENT_TYPES = "[Content_Types].xml"
RELATIONS = ".rels"
KINDS_READ = frozenset(
    {
        "officeDocument",
        "worksheet",
        "chartsheet",
        "sharedStrings",
        "styles",
        "theme",
        "table",
        "comments",
        "hyperlink",
        "core-properties",
        "custom-properties",
    }
)
"""The relations that lead to what was typed and how it looks."""
_ONE_OWNER = frozenset({"worksheet", "chartsheet", "table", "comments"})
_FIXED_PLACES = frozenset(
    {
        CONTENT_TYPES,
        "docProps/core.xml",
        "docProps/custom.xml",
        "xl/workbook.xml",
        "xl/styles.xml",
        "xl/theme/theme1.xml",
    }
)
_TYPES_READ = ("main+xml", "sharedStrings+xml")
_SHEET_ROOT = "http://schemas.openxmlformats.org/spreadsheetml/2006/main worksheet"
_XML_ENDINGS = (".xml", RELATIONS, ".vml")
_XML_STARTS = (b"<", b"\xef\xbb\xbf", b"\xfe\xff", b"\xff\xfe", b"\x00<")


class _Danger:
    """One kind of thing that no farm's workbook holds, how it shows, and what to do about it."""

    def __init__(self, what: str, cure: str, names: str, kinds: str) -> None:
        self.what = what
        self.cure = cure
        self.names = re.compile(names, re.IGNORECASE)
        self.kinds = re.compile(kinds, re.IGNORECASE)


_MACROS = _Danger(
    "macros", "save it as a workbook without macros (.xlsx)", r"(^|/)(vba|customui)",
    r"vbaproject|macroenabled",
)  # fmt: skip
_DANGERS = (
    _MACROS,
    _Danger(
        "macros of an old kind", "delete their sheets, save", r"(macro|dialog)sheets?/",
        r"macrosheet|dialogsheet",
    ),
    _Danger(
        "a link to another file", "break the link (Data, Edit links), save", r"externallinks?/",
        r"externallink|attachedtemplate",
    ),
    _Danger(
        "another document inside of it", "delete that object, save",
        r"embeddings?/|activex|oleobject", r"oleobject|activex|^package$|^control$|^afchunk$",
    ),
    _Danger(
        "a connection to a data source", "delete the connection, save",
        r"(^|/)connections\.|querytables?/|xl/model/",
        r"^connections$|\.connections\+|querytable|powerpivot",
    ),
)  # fmt: skip


def find_parts(archive: zipfile.ZipFile, tally: Tally, macros: bool) -> frozenset[str]:
    """Look through every part, and find those that may be read.

    Parameters
    ----------
    archive : zipfile.ZipFile
        The package, its entries checked.
    tally : Tally
        Counts what the parts hold.
    macros : bool
        Whether macros are skipped; they are never read.

    Returns
    -------
    frozenset of str
        The parts that hold what was typed and how it looks.

    Raises
    ------
    Damaged, TooLarge, Unsafe
        For what no sound workbook holds.
    """
    dangers = _DANGERS[1:] if macros else _DANGERS
    names = sorted(name for name in archive.namelist() if not name.endswith("/"))
    for name in names:
        for danger in dangers:
            if danger.names.search(name):
                raise _refusal(tally, danger, name)
    listings = [name for name in names if name == CONTENT_TYPES or name.endswith(RELATIONS)]
    for name in listings:
        _scan(archive, name, tally, is_read=True)
    read = _parts_read(tally, dangers, frozenset(names))
    for name in names:
        if name not in listings:
            _scan(archive, name, tally, is_read=name in read)
    _check_sheets(tally)
    return read | frozenset(listings)


def _check_sheets(tally: Tally) -> None:
    """Refuse what the library would take for an empty sheet, or for two."""
    for relation in tally.relations:
        is_sheet = relation.kind == "worksheet"
        if is_sheet and tally.roots.get(target_of(relation)) != _SHEET_ROOT:
            raise Damaged(f"{tally.name} is damaged: {shown(target_of(relation))} holds no sheet.")
    if len(set(tally.sheet_relations)) < len(tally.sheet_relations):
        raise Damaged(f"{tally.name} is damaged: two of its sheets are one.")


def _parts_read(
    tally: Tally, dangers: tuple[_Danger, ...], names: frozenset[str]
) -> frozenset[str]:
    read = set(_FIXED_PLACES)
    owned = []
    for relation in tally.relations:
        _check_relation(relation, tally, dangers)
        if relation.kind in KINDS_READ and not relation.outside:
            read.add(target_of(relation))
            owned += [target_of(relation)] * (relation.kind in _ONE_OWNER)
    if len(set(owned)) < len(owned):
        raise Damaged(f"{tally.name} is damaged: two of its sheets share a part.")
    if not names.issuperset(owned):
        raise Damaged(f"{tally.name} is damaged: a part of it is missing.")
    for one, part in _typed(tally.content_types, names):
        for danger in dangers:
            if danger.kinds.search(one.kind):
                raise _refusal(tally, danger, part)
        if one.kind.endswith(_TYPES_READ):
            read.add(one.part[1:])
    return frozenset(read & names)


def _typed(types: Iterable[ContentType], names: Iterable[str]) -> Iterator[tuple[ContentType, str]]:
    """Yield each content type that a part has, with the first of those parts.

    Programs list the types of endings that none of their parts has, that of macros among them.
    """
    by_name = {f"/{name}".casefold(): name for name in names}
    own = {one.part.casefold() for one in types}
    by_ending: dict[str, str] = {}
    for known, name in sorted(by_name.items()):
        if known not in own:
            by_ending.setdefault(posixpath.splitext(known)[1], name)
    for one in types:
        part = by_name.get(one.part.casefold()) or by_ending.get(f".{one.ending.casefold()}")
        if part:
            yield one, part


def target_of(relation: Relation) -> str:
    """Return the part that a relation leads to, as its owner sees it."""
    if relation.target.startswith("/"):
        return relation.target[1:]
    owner = posixpath.dirname(posixpath.dirname(relation.part))
    return posixpath.normpath(posixpath.join(owner, relation.target))


def _check_relation(relation: Relation, tally: Tally, dangers: tuple[_Danger, ...]) -> None:
    for danger in dangers:
        if danger.kinds.search(relation.kind):
            raise _refusal(tally, danger, relation.target)
    if relation.outside and relation.kind != "hyperlink":
        raise Unsafe(
            f"{tally.name} is not read: it fetches its {shown(relation.kind)} from "
            f"{shown(relation.target)}. Delete that, save, and try again."
        )


def _refusal(tally: Tally, danger: _Danger, part: str) -> Unsafe:
    return Unsafe(
        f"{tally.name} is not read: it holds {danger.what} ({shown(part)}). Open it in your "
        f"spreadsheet program, {danger.cure}, and try again."
    )


def _scan(archive: zipfile.ZipFile, part: str, tally: Tally, is_read: bool) -> None:
    """Scan a part if it is XML, whatever its name says; a picture is not even unpacked."""
    tell("Looking through the file")
    with archive.open(part) as stream:
        start = stream.read(64)
    looks_like_xml = start.lstrip().startswith(_XML_STARTS)
    if is_read or looks_like_xml or part.endswith(_XML_ENDINGS):
        with archive.open(part) as stream:
            Scan(tally, part, is_read).read(stream)
