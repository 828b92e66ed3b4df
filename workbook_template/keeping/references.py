"""What a formula refers to, and whether two formulas are one although two programs wrote them."""

from __future__ import annotations

import re
from math import isclose
from typing import TYPE_CHECKING, Any

from openpyxl.utils import range_boundaries

from workbook_template.entered.contents import Area

if TYPE_CHECKING:
    from collections.abc import Iterator

    from openpyxl import Workbook

_NO_REFERENCE = re.compile(r'"(?:[^"]|"")*"|#[A-Z]+(?:/[A0]!?|[!?])')
"""Texts, and error values."""
_CELL = r"\$?[A-Za-z]{1,3}\$?[0-9]{1,7}"
_SHEET = r"(?:'(?P<quoted>(?:[^']|'')+)'!|(?P<sheet>[^\W\d][\w.]*)!)?"
_REFERENCE = re.compile(
    rf"{_SHEET}(?P<cells>(?<![\w.]){_CELL}(?::{_CELL})?)(?![\w.(])"
    r"|(?P<table>[^\W\d]\w*)(?P<columns>\[(?:[^\[\]]|\[[^\[\]]*\])*\])"
    r"|(?P<name>(?<![\w.])[^\W\d][\w.]*)(?!\w*\()"
)
_COUNTED = re.compile(r"\b(?:ROWS?|COLUMNS?)\([^()]*\)")
"""Where something stands, or how large it is, tells nothing of what is in it."""
_BRACKETS = r"[^()]*(?:\([^()]*(?:\([^()]*(?:\([^()]*\)[^()]*)*\)[^()]*)*\)[^()]*)*"
_WITHIN_A_COLUMN = re.compile(
    rf"INDEX\((?P<column>\w+\[\[[^\[\]]*\]\]),({_BRACKETS})\):INDEX\((?P=column),"
)
"""A range between two cells of one column holds nothing else."""
_LITERALS = frozenset({"TRUE", "FALSE"})
_HEADING = re.compile(r"\[([^\[\]]*)\]")
_THIS_ROW = "#This Row"


class UnknownReference(ValueError):
    """A formula names something that is not in the workbook."""


class References:
    """Finds what the formulas of one workbook refer to."""

    def __init__(self, workbook: Workbook) -> None:
        self._names = {
            name: one.attr_text for name, one in workbook.defined_names.items() if one.attr_text
        }
        self._tables = {
            table.displayName: (
                Area(sheet.title, *range_boundaries(table.ref)),
                {column.name: at for at, column in enumerate(table.tableColumns)},
            )
            for sheet in workbook.worksheets
            for table in sheet.tables.values()
        }

    @property
    def bodies(self) -> list[Area]:
        """The rows of every table, without its headings."""
        return [area._replace(top=area.top + 1) for area, _ in self._tables.values()]

    def areas(self, formula: str, sheet: str, row: int) -> set[Area]:
        """Give every area that a formula in a row of a sheet refers to.

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
            If it names a table, column or cell that is not there.
        """
        areas = set(self._each(formula, sheet, row))
        # A range between two answers can hold all that lies between.
        if "):" in _WITHIN_A_COLUMN.sub(r"INDEX(\1,\2,", formula):
            areas |= {_around(one, other) for one in areas for other in areas}
        return areas

    def _each(self, formula: str, sheet: str, row: int) -> Iterator[Area]:
        text = _COUNTED.sub("1", _NO_REFERENCE.sub('""', formula))
        for found in _REFERENCE.finditer(text):
            if found["cells"]:
                where = found["sheet"] or (found["quoted"] or sheet).replace("''", "'")
                yield Area(where, *range_boundaries(found["cells"]))
            elif found["table"]:
                yield from self._of_table(found["table"], found["columns"], row)
            elif found["name"].upper() not in _LITERALS:
                if found["name"] not in self._names:
                    raise UnknownReference(found["name"])
                yield from self._each(self._names[found["name"]], sheet, row)

    def _of_table(self, table: str, columns: str, row: int) -> Iterator[Area]:
        if table not in self._tables:
            raise UnknownReference(table)
        area, headings = self._tables[table]
        wanted = _HEADING.findall(columns if columns.startswith("[[") else f"[{columns}]")
        top, bottom = (row, row) if _THIS_ROW in wanted else (area.top + 1, area.bottom)
        for heading in wanted:
            if heading in headings:
                column = area.left + headings[heading]
                yield Area(area.sheet, column, top, column, bottom)
            elif heading != _THIS_ROW:
                raise UnknownReference(f"{table}[{heading}]")


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
    """Give the areas whose cells a chart shows.

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
    return [
        Area(
            (found["sheet"] or found["quoted"]).replace("''", "'"),
            *range_boundaries(found["cells"]),
        )
        for text in texts
        for found in _REFERENCE.finditer(text)
    ]


def refers_to_nothing(formula: str) -> bool:
    """Tell whether a formula is a mere sum of numbers, such as ``=4*25``."""
    return _REFERENCE.search(_NO_REFERENCE.sub('""', formula)) is None


_NUMBER = re.compile(r"(?<![\w.$\[])(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?(?![\w.])")
_QUOTED_SHEET = re.compile(r"'([^\W\d][\w.]*)'!")
_CALLED = re.compile(r"\b(TRUE|FALSE)\(\)")
_COLUMN = re.compile(r"\[\[([^\[\]]*)\]\]")
_KEPT = re.compile(r'"(?:[^"]|"")*"|\[[^\[\]]*\]')
"""Texts and headings, in which nothing is written in another way."""
_DIGITS_LOST = 1e-12
"""What a program may change a constant by, of its size."""


def same_formula(one: str, other: str) -> bool:
    """Tell whether two formulas are one, whichever programs wrote them into their files.

    Parameters
    ----------
    one, other : str
        Formulas as they stand in files.

    Returns
    -------
    bool
        Whether they differ in no more than the quotes round a sheet's name, the digits of
        constants, the brackets round a heading, and blanks.

    Examples
    --------
    >>> same_formula("='Farm'!$B$7*1E-09", "=Farm!$B$7*0.000000001")
    True
    """
    if one == other:
        return True
    text, numbers = _plain(one)
    other_text, other_numbers = _plain(other)
    return text == other_text and all(
        isclose(a, b, rel_tol=_DIGITS_LOST) for a, b in zip(numbers, other_numbers, strict=True)
    )


def _plain(formula: str) -> tuple[str, list[float]]:
    """Write a formula in one way, and give its constants, for which a sign stands in it."""
    text = _COLUMN.sub(r"[\1]", _QUOTED_SHEET.sub(r"\1!", _CALLED.sub(r"\1", formula)))
    numbers: list[float] = []
    pieces = []
    end = 0
    for kept in [*_KEPT.finditer(text), None]:
        between = "".join(text[end : kept.start() if kept else len(text)].split())
        numbers += (float(number) for number in _NUMBER.findall(between))
        pieces.append(_NUMBER.sub("\0", between))
        if kept:
            pieces.append(kept[0])
            end = kept.end()
    return "".join(pieces), numbers
