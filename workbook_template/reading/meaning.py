"""What a formula computes, from which cells: one text for all the ways in which it may be written.

A formula of ours and one of a file are the same where both texts are. Each reference stands in
them as the cells of the file that it is to: a program may write a column of a table as its
addresses, and rows, columns and sheets may have been put in, moved and renamed.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from openpyxl.utils import column_index_from_string

from cultivar_fx.formula.parse import FormulaSyntaxError, parse_once
from cultivar_fx.formula.tree import (
    Array,
    Call,
    Error,
    Node,
    Number,
    Operation,
    Percent,
    Reference,
    Sign,
    Text,
)
from workbook_template.reading.contents import area_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from workbook_template.reading.blank_layout import Layout
    from workbook_template.reading.contents import Area, Contents
    from workbook_template.reading.places import Places

OWN_ROW = 0
"""Stands for the row of the formula, so that all rows of a list have one text."""
_GONE = "#REF!"
_LOST = "NA()"
"""What LibreOffice writes into a .xls for a formula that names the column of a table."""
_LOST_TEXTS = (
    *("GNUMERIC.ERROR(", "ERROR(", "SUMIFS()", "COUNTIFS()", "AVERAGEIFS()", "SUMPRODUCT()"),
)
"""With what Gnumeric keeps the text of such a formula, or in a .xls what is left of it; "ERROR("
is how that reads once LibreOffice has passed it on."""
_LOST_CALL = re.compile("|".join(rf"(?<!\w){re.escape(one)}" for one in _LOST_TEXTS), re.I)
_DIGITS = 15
"""LibreOffice writes no more of a constant."""
_SHEET = r"(?:(?P<sheet>[\w.]+|'(?:[^']|'')+')!)?"
_CELL = re.compile(rf"{_SHEET}\$?(?P<column>[A-Za-z]{{1,3}})\$?(?P<row>\d{{1,7}})")
_OF_TABLE = re.compile(r"(?P<table>[^\W\d][\w.]*)\[(?P<columns>.*)\]", re.DOTALL)
_HEADING = re.compile(r"\[([^\[\]]*)\]")
_THIS_ROW = "#This Row"
_FUNCTION_PREFIX = re.compile(r"^(?:_XLFN\.|_XLWS\.|ORG\.GNUMERIC\.)+")
_TRUTH = ("TRUE", "FALSE")
_OTHER_NAMES = {
    "BINOM.DIST": "BINOMDIST",
    "NORM.S.INV": "NORMSINV",
    "RANK.EQ": "RANK",
    "STDEV.S": "STDEV",
    "T.INV.2T": "TINV",
    "T.TEST": "TTEST",
}
"""Functions with two names, of which Gnumeric writes the newer one."""
# A quote that nothing closes reaches to the end: looked for again from each one, that end would
# make a text of nothing but quotes take long.
_QUOTED = r"'(?:[^']|'')*+(?:'|\Z)"
_ADDRESS = r"\$?[A-Za-z]{1,3}\$?\d+"
_PIECE = re.compile(
    rf"""(?P<kept>"(?:[^"]|"")*+(?:"|\Z)|\[(?:[^\[\]]|\[[^\[\]]*+\])*+\])
    |(?P<gone>\#REF!(?:{_ADDRESS}|\#REF!)?)
    |(?<![\w.$])(?P<sheet>(?:{_QUOTED}|[\w.]++)!)?(?P<cells>{_ADDRESS}(?::{_ADDRESS})?)(?![\w.(!])
    |{_QUOTED}""",
    re.VERBOSE,
)
_RELATIVE_ROW = re.compile(r"(?<=[A-Za-z])\d+")


class Cell(NamedTuple):
    """One cell of a file, or one in the row of the formula."""

    sheet: str
    column: int
    row: int


class Meanings:
    """Reads the formulas of a file."""

    def __init__(self, contents: Contents) -> None:
        self._names = {
            name.casefold(): str(one.attr_text or "")
            for name, one in contents.workbook.defined_names.items()
        }
        self._tables: dict[str, tuple[Area, dict[str, int]]] = {}
        for sheet, worksheet in contents.sheets.items():
            for table in worksheet.tables.values():
                area = area_of(sheet, table.ref, table.totalsRowCount or 0)
                if area:
                    numbers = {
                        column.name: area.left + at for at, column in enumerate(table.tableColumns)
                    }
                    self._tables[table.displayName.casefold()] = area, numbers
        self._known: dict[tuple[str, str], str] = {}

    def of(self, formula: str, sheet: str, row: int) -> str:
        """Return what a formula in a row of a sheet computes.

        Parameters
        ----------
        formula : str
            With its equals sign.
        sheet : str
            Where it stands.
        row : int
            Where it stands.

        Returns
        -------
        str
            The same for every formula that computes the same from the same cells. What cannot be
            read means only itself.
        """
        text = from_own_row(formula.removeprefix("="), sheet, row)
        if (sheet, text) not in self._known:
            try:
                meaning = self._meaning(parse_once(text), sheet)
            except (FormulaSyntaxError, RecursionError):
                meaning = formula
            self._known[sheet, text] = meaning
        return self._known[sheet, text]

    def _meaning(self, node: Node, sheet: str) -> str:
        if isinstance(node, Reference):
            return self._reference(node.text, sheet)
        if isinstance(node, Number):
            return f"{float(node.text):.{_DIGITS}g}"
        if isinstance(node, Text):
            return '"' + node.value.replace('"', '""') + '"'
        if isinstance(node, Error):
            return node.code
        if isinstance(node, Operation):
            return self._operation(node, sheet)
        if isinstance(node, Call):
            name = _FUNCTION_PREFIX.sub("", node.name.upper())
            name = _OTHER_NAMES.get(name, name)
            is_truth = name in _TRUTH and not node.arguments
            return name if is_truth else f"{name}({self._listed(node.arguments, sheet)})"
        if isinstance(node, Sign):
            return f"({node.sign}{self._meaning(node.operand, sheet)})"
        if isinstance(node, Percent):
            return f"({self._meaning(node.operand, sheet)}%)"
        if isinstance(node, Array):
            return "{" + ";".join(self._listed(row, sheet) for row in node.rows) + "}"
        return ""

    def _listed(self, nodes: Iterable[Node], sheet: str) -> str:
        return ",".join([self._meaning(one, sheet) for one in nodes])

    def _operation(self, node: Operation, sheet: str) -> str:
        if node.operator == ":" and Error(_GONE) in (node.left, node.right):
            return _GONE
        if node.operator == ":" and isinstance(node.left, Reference):
            first = _CELL.fullmatch(node.left.text)
            last = _CELL.fullmatch(getattr(node.right, "text", ""))
            if first and last:
                where = first["sheet"] or sheet
                return _range(self._cell(first, where), self._cell(last, where))
        left, right = self._meaning(node.left, sheet), self._meaning(node.right, sheet)
        return f"({left}{node.operator}{right})"

    def _reference(self, text: str, sheet: str) -> str:
        if text.upper() in _TRUTH:
            return text.upper()
        cell = _CELL.fullmatch(text)
        if cell:
            return _range(self._cell(cell, sheet))
        of_table = _OF_TABLE.fullmatch(text)
        if of_table:
            return self._of_table(of_table["table"], of_table["columns"])
        name = text.rpartition("!")[2].casefold()
        first, _, last = self._names.get(name, "").partition(":")
        start, end = _CELL.fullmatch(first), _CELL.fullmatch(last)
        if start is None:
            return f"[{name}]"
        cells = [self._in_file(start, "")]
        if end:
            cells.append(self._in_file(end, cells[0].sheet))
        return _range(*cells)

    def _in_file(self, cell: re.Match[str], sheet: str) -> Cell:
        return Cell(
            _unquoted(cell["sheet"] or sheet),
            column_index_from_string(cell["column"].upper()),
            int(cell["row"]),
        )

    def _cell(self, cell: re.Match[str], sheet: str) -> Cell:
        """Return the cell of the file that an address stands for."""
        return self._in_file(cell, sheet)

    def _of_table(self, table: str, columns: str) -> str:
        headings = _HEADING.findall(columns) if "[" in columns else [columns]
        is_own = _THIS_ROW in headings
        wanted = [heading for heading in headings if heading not in (_THIS_ROW, "#Data")]
        if len(wanted) == 1:
            found = self.column(table.casefold(), wanted[0])
            if found:
                sheet, number, first, last = found
                rows = (OWN_ROW,) if is_own else (first, last)
                return _range(*(Cell(sheet, number, row) for row in rows))
        return f"[{table}[{'|'.join(headings)}]]".casefold()

    def column(self, table: str, heading: str) -> tuple[str, int, int, int] | None:
        """Return the sheet, number, first and last row of a column of a table, if it is there."""
        area, numbers = self._tables.get(table, (None, {}))
        if area is None or heading not in numbers:
            return None
        return area.sheet, numbers[heading], area.top + 1, area.bottom


class OurMeanings(Meanings):
    """Reads the formulas of a layout as those of a file in which its cells stand elsewhere.

    Parameters
    ----------
    contents : Contents
        The file.
    layout : Layout
        What we write.
    places : Places
        Where that is in the file.
    """

    def __init__(self, contents: Contents, layout: Layout, places: Places) -> None:
        super().__init__(contents)
        self._places = places
        self._keys = {
            (table, one.heading): (table, key)
            for (table, key), one in layout.columns.items()
            if one.heading
        }

    def _cell(self, cell: re.Match[str], sheet: str) -> Cell:
        return self._places.cell(self._in_file(cell, sheet))

    def column(self, table: str, heading: str) -> tuple[str, int, int, int] | None:
        """Return where a column of ours is in the file, if it is there."""
        key = self._keys.get((table, heading))
        return self._places.column(*key) if key else None


@lru_cache(maxsize=8192)
def from_own_row(formula: str, sheet: str, row: int, mark: str = str(OWN_ROW)) -> str:
    """Return a formula with a mark for its own row in each address, whatever row that is."""
    number = str(row)

    def rewritten(piece: re.Match[str]) -> str:
        _, gone, where, cells = piece.groups("")
        if gone:
            return _GONE
        if number not in cells or (where and _unquoted(where[:-1]) != sheet):
            return piece[0]
        return where + _RELATIVE_ROW.sub(
            lambda found: mark if int(found[0]) == row else found[0], cells
        )

    return _PIECE.sub(rewritten, formula)


def is_broken(meaning: str, ours: str) -> bool:
    """Return whether a formula is one of ours that refers to cells that were deleted."""
    if not 0 < meaning.count(_GONE) <= ours.count("["):
        return False
    pieces = map(re.escape, meaning.split(_GONE))
    return re.fullmatch(r"\[[^\]]*\]".join(pieces), ours) is not None


def is_lost(meaning: str) -> bool:
    """Return whether a formula is what a program writes for one that its file cannot hold."""
    return meaning == _LOST or _LOST_CALL.search(meaning) is not None


def _range(*cells: Cell) -> str:
    """Return cells as text; LibreOffice writes those of a sheet that is gone in small letters."""
    ends = [f"{one.sheet}!{one.column},{one.row}" for one in dict.fromkeys(cells)]
    return f"[{':'.join(ends)}]".casefold()


def _unquoted(sheet: str) -> str:
    return sheet[1:-1].replace("''", "'") if sheet.startswith("'") else sheet
