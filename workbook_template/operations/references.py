"""What the formulas of a workbook refer to."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.utils import range_boundaries

from cultivar_fx.formula.parse import FormulaSyntaxError, parse, parse_once
from cultivar_fx.formula.tree import (
    Call,
    Node,
    Operation,
    Place,
    Reference,
    parts,
    walk,
)
from workbook_template.reading.contents import Area
from workbook_template.reading.meaning import from_own_row

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from openpyxl import Workbook

_CELL = r"\$?[A-Za-z]{1,3}\$?[0-9]{1,7}"
_REFERENCE = re.compile(
    rf"(?:(?P<sheet>[^\W\d][\w.]*|'(?:[^']|'')+')!)?(?P<cells>{_CELL}(?::{_CELL})?)"
    r"|(?P<table>[^\W\d]\w*)\[(?P<columns>.*)\]"
)
_ABSOLUTE = re.compile(r"\$[A-Za-z]{1,3}\$[0-9]{1,7}(?::\$[A-Za-z]{1,3}\$[0-9]{1,7})?")
_NOT_FOR_ALL_ROWS = re.compile(r"[A-Za-z]\$?0|#REF!")
"""A row 0 of the formula itself, and what ``from_own_row`` clears away."""
_HEADING = re.compile(r"\[([^\[\]]*)\]")
_THIS_ROW = "#This Row"
_COUNTED = frozenset(("ROW", "ROWS", "COLUMN", "COLUMNS"))
"""Where something stands, or how large it is, tells nothing of what is in it."""
_FROM_ARGUMENTS = _COUNTED | frozenset(
    (
        *("ABS", "AND", "AVERAGE", "AVERAGEIF", "AVERAGEIFS", "BETADIST", "BINOMDIST", "CEILING"),
        *("CHOOSE", "CONCATENATE", "COS", "COUNT", "COUNTA", "COUNTBLANK", "COUNTIF", "COUNTIFS"),
        *("DATE", "DAY", "EXACT", "EXP", "FALSE", "FIND", "FIXED", "FLOOR", "GAMMALN", "HYPERLINK"),
        *(
            "IF",
            "IFERROR",
            "INDEX",
            "INT",
            "ISBLANK",
            "ISERROR",
            "ISNUMBER",
            "ISTEXT",
            "LARGE",
            "LEFT",
            "LEN",
            "LN",
            "LOG",
        ),
        *("LOG10", "LOWER", "MATCH", "MAX", "MEDIAN", "MID", "MIN", "MOD", "MONTH", "N", "NA"),
        *("NORMSDIST", "NORMSINV", "NOT", "OR", "PI", "POWER", "PRODUCT", "RANK", "REPLACE"),
        *(
            "REPT",
            "RIGHT",
            "ROUND",
            "ROUNDDOWN",
            "ROUNDUP",
            "SIGN",
            "SIN",
            "SMALL",
            "SQRT",
            "STDEV",
        ),
        *("SUBSTITUTE", "SUM", "SUMIF", "SUMIFS", "SUMPRODUCT", "TDIST", "TEXT", "TIME", "TINV"),
        *("TODAY", "TRIM", "TRUE", "TRUNC", "TTEST", "UPPER", "VALUE", "WEEKDAY", "YEAR"),
    )
)
"""Functions whose answer depends on their arguments and the day alone. Any other may look
elsewhere, as INDIRECT and OFFSET do, or is not known. SUMIF and AVERAGEIF with a third argument
do: that is as large as the first, whatever it says."""
_SIZED_BY_OTHERS = ("SUMIF", "AVERAGEIF")
_ALL_ITS_COLUMNS = re.compile(r"\]\s*:\s*\[")
_LITERALS = frozenset(("TRUE", "FALSE"))


_boundaries = lru_cache(maxsize=8192)(range_boundaries)
"""The library's own, which many formulas ask for the same cells."""


class UnknownReference(ValueError):
    """A formula may look at what it does not name, or names what is not in the workbook."""


class _Between(NamedTuple):
    """What the two ends of a range name."""

    first: frozenset[_Named]
    last: frozenset[_Named]
    is_in_one_column: bool


_Named = str | _Between


class References:
    """Finds what the formulas of one workbook refer to."""

    def __init__(self, workbook: Workbook) -> None:
        self._names = {  # what looks like a cell is one
            name: one.attr_text
            for name, one in workbook.defined_names.items()
            if one.attr_text and not _REFERENCE.fullmatch(name) and name.upper() not in _LITERALS
        }
        self._sheets = {sheet.title.casefold(): sheet.title for sheet in workbook.worksheets}
        self._own_names = {
            name.casefold() for sheet in workbook.worksheets for name in sheet.defined_names
        }
        self._tables = {
            table.displayName: (
                Area(sheet.title, *range_boundaries(table.ref)),
                {column.name: at for at, column in enumerate(table.tableColumns)},
            )
            for sheet in workbook.worksheets
            for table in sheet.tables.values()
        }
        self._in_names: dict[str, frozenset[_Named]] = {}
        self._known: dict[tuple[str, str], list[Area]] = {}

    @property
    def bodies(self) -> list[Area]:
        """The rows of every table, without its headings."""
        return [area._replace(top=area.top + 1) for area, _ in self._tables.values()]

    def areas(self, formula: str, sheet: str, row: int) -> set[Area]:
        """Return every area that a formula in a row of a sheet refers to.

        Parameters
        ----------
        formula : str
            The formula.
        sheet : str
            Where it stands.
        row : int
            The row in which it stands.

        Returns
        -------
        set of Area
            What its answer can depend on, by what is in them.

        Raises
        ------
        UnknownReference
            If it cannot be followed for certain: it names a table, column or cell that is not
            there, whole rows or columns, or calls a function that may look elsewhere.
        """
        try:
            return set(self._areas(_named_in_text(_own_row(formula, sheet, row)), sheet, row))
        except (FormulaSyntaxError, RecursionError) as error:
            raise UnknownReference(formula) from error

    def _areas(self, named: Iterable[_Named], sheet: str, row: int) -> Iterator[Area]:
        for one in named:
            if isinstance(one, str):
                yield from self._of_reference(one, sheet, row)
            else:
                yield from self._between(one, sheet, row)

    def _between(self, ends: _Between, sheet: str, row: int) -> Iterator[Area]:
        """Yield what lies between two cells, or between any answers of two look-ups."""
        first, last = (list(self._areas(end, sheet, row)) for end in (ends.first, ends.last))
        if not first or not last:  # of numbers, which are whole rows
            raise UnknownReference(":")
        yield from (*first, *last)
        # A range between two cells of one column holds nothing else.
        if not ends.is_in_one_column:
            yield from (_around(one, other) for one in first for other in last)

    def _of_reference(self, text: str, sheet: str, row: int) -> Iterator[Area]:
        if text in self._names:
            yield from self._areas(self._named_by(text), sheet, row)
            return
        key = text, sheet
        if key not in self._known:
            self._known[key] = list(self._of_cells(text, sheet))
        for area in self._known[key]:
            if area.top and area.bottom:
                yield area
            else:
                yield Area(area.sheet, area.left, area.top or row, area.right, area.bottom or row)

    def _named_by(self, name: str) -> frozenset[_Named]:
        """Return what a name of the workbook names."""
        if name not in self._in_names:
            named = parse(self._names[name])
            # A name that belongs to one sheet stands for other cells there.
            is_clear = name.casefold() not in self._own_names
            if not is_clear or any(_is_relative(node) for node in walk(named)):
                raise UnknownReference(name)
            self._in_names[name] = frozenset(_named_in(named))
        return self._in_names[name]

    def _of_cells(self, text: str, sheet: str) -> Iterator[Area]:
        """Yield what a reference that is no name refers to; row 0 stands for the formula's own."""
        found = _REFERENCE.fullmatch(text)
        if found is None:
            if text.upper() not in _LITERALS:
                raise UnknownReference(text)
        elif found["cells"]:
            area = _area(found, sheet)
            if area.sheet.casefold() not in self._sheets:
                raise UnknownReference(text)
            yield area._replace(sheet=self._sheets[area.sheet.casefold()])
        else:
            yield from self._of_table(found["table"], found["columns"])

    def _of_table(self, table: str, columns: str) -> Iterator[Area]:
        if table not in self._tables or _ALL_ITS_COLUMNS.search(columns):
            raise UnknownReference(table)
        area, headings = self._tables[table]
        wanted = _HEADING.findall(columns) if columns.startswith("[") else [columns]
        top, bottom = (0, 0) if _THIS_ROW in wanted else (area.top + 1, area.bottom)
        for heading in wanted:
            if heading in headings:
                column = area.left + headings[heading]
                yield Area(area.sheet, column, top, column, bottom)
            elif heading != _THIS_ROW:
                raise UnknownReference(f"{table}[{heading}]")


def _own_row(formula: str, sheet: str, row: int) -> str:
    """Return a formula with row 0 for its own, which no cell has: so all rows of a table agree."""
    text = formula.removeprefix("=")
    return text if _NOT_FOR_ALL_ROWS.search(text) else from_own_row(text, sheet, row)


@lru_cache(maxsize=16384)
def _named_in_text(formula: str) -> frozenset[_Named]:
    """Return what a formula names; the rows of a table share it."""
    return frozenset(_named_in(parse_once(formula)))


def _named_in(node: Node) -> Iterator[_Named]:
    """Yield the references in a formula, and its ranges between answers."""
    if isinstance(node, Reference):
        yield node.text
    elif isinstance(node, Operation) and node.operator == ":":
        left, right = node.left, node.right
        column = left.arguments[0] if isinstance(left, Call) and left.name == "INDEX" else None
        is_one = column is not None and isinstance(right, Call) and right.arguments[0] == column
        if isinstance(left, Reference) and isinstance(right, Reference) and "!" not in right.text:
            sheet, mark, _ = left.text.rpartition("!")  # said once, for both ends
            right = Reference(f"{sheet}{mark}{right.text}")
        yield _Between(frozenset(_named_in(left)), frozenset(_named_in(right)), is_one)
    else:
        if isinstance(node, Call) and not _answers_from_arguments(node):
            raise UnknownReference(node.name)
        if not isinstance(node, Call) or node.name.upper() not in _COUNTED:
            for part in parts(node):
                yield from _named_in(part)


def _answers_from_arguments(call: Call) -> bool:
    name = call.name.upper()
    is_sized = name in _SIZED_BY_OTHERS and len(call.arguments) > 2
    return name in _FROM_ARGUMENTS and not is_sized


def _is_relative(node: Node) -> bool:
    """Return whether a name's part means another cell wherever the name is used."""
    found = _REFERENCE.fullmatch(node.text) if isinstance(node, Reference) else None
    return bool(found and found["cells"]) and not _ABSOLUTE.fullmatch(found["cells"])  # type: ignore[index]


def _area(found: re.Match[str], sheet: str) -> Area:
    where = (found["sheet"] or sheet).removeprefix("'").removesuffix("'").replace("''", "'")
    return Area(where, *_boundaries(found["cells"]))


def _around(one: Area, other: Area) -> Area:
    if one.sheet != other.sheet:
        return one
    return Area(
        one.sheet,
        min(one.left, other.left),
        min(one.top, other.top),
        max(one.right, other.right),
        max(one.bottom, other.bottom),
    )


def chart_areas(chart: Any) -> list[Area]:
    """Return the areas whose cells a chart shows.

    Parameters
    ----------
    chart : openpyxl chart
        A chart that was just made.

    Returns
    -------
    list of Area
        Of its series, categories and names.
    """
    texts = [
        one.f
        for series in chart.series
        for part in (series.val, series.cat, series.xVal, series.yVal, series.tx)
        for one in (getattr(part, "numRef", None), getattr(part, "strRef", None))
        if one is not None
    ]
    found = (_REFERENCE.fullmatch(text) for text in texts)
    return [_area(reference, "") for reference in found if reference]


def refers_to_nothing(formula: str) -> bool:
    """Return whether a formula is certainly a mere sum of numbers, such as ``=4*25``."""
    try:
        nodes = list(walk(parse_once(formula.removeprefix("="))))
    except (FormulaSyntaxError, RecursionError):
        return False
    return not any(
        isinstance(node, Reference | Place)
        or (isinstance(node, Operation) and node.operator == ":")
        or (isinstance(node, Call) and not _answers_from_arguments(node))
        for node in nodes
    )
