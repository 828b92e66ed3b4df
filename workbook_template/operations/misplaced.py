"""Names, labels and headings of a workbook that do not belong together any more, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from openpyxl.utils import get_column_letter

from workbook_template.errors import shown
from workbook_template.reading.entries import words_of
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.earlier_places import EARLIER_PLACES
from workbook_template.writing.layout import input_name, name_in, tuple_key

if TYPE_CHECKING:
    from workbook_template.reading.contents import Found
    from workbook_template.reading.entries import Reading


class Misplaced(NamedTuple):
    """One of them: where it is and what stands there, what is wrong, whether a name points there.

    A heading is the other kind: what stands below it is taken for what it says.
    """

    found: Found
    sentence: str
    is_name: bool


def misplaced(reading: Reading) -> list[Misplaced]:
    """Find the names that point beside other words than theirs, and exchanged headings.

    Parameters
    ----------
    reading : Reading
        A workbook that was read.

    Returns
    -------
    list of Misplaced
        In the order of the schema; empty where everything is where it belongs.
    """
    return [*_names(reading), *_headings(reading)]


def _names(reading: Reading) -> list[Misplaced]:
    wrong = []
    for key, (area, beside) in reading.doubts.items():
        found = reading.contents.found(area.sheet, area.top, area.left)
        words = words_of(key)
        there = f"{beside!r} stands" if beside.strip() else "nothing stands"
        is_input = key in SINGLE_INPUTS or key in EARLIER_PLACES
        where = "beside" if is_input else "above"
        about = f"its name {name_in(reading.version, input_name(key))}" if is_input else "its name"
        sentence = (
            f"{words}: {about} points to a cell {where} which {shown(there)}, so nobody can tell "
            "whose value it holds"
        )
        wrong.append(Misplaced(found, sentence, is_name=True))
    return wrong


def _headings(reading: Reading) -> list[Misplaced]:
    wrong = []
    for key, other in reading.misheaded.items():
        table, column = tuple_key(key)
        at = reading.tables[table]
        number = at.columns[column]
        found = reading.contents.found(at.area.sheet, at.area.top, number)
        title = TABLES[table].column(column).label
        sentence = (
            f"{TABLES[table].title}: the heading {title} stands in column "
            f"{get_column_letter(number)} over cells that were made for {shown(other)}"
        )
        wrong.append(Misplaced(found, sentence, is_name=False))
    return wrong
