"""Finds what an earlier version had as single inputs, and puts it into the rows of tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.reading.contents import Found
from workbook_template.schema import TABLES
from workbook_template.schema.earlier_places import EARLIER_PLACES, EARLIER_WORDS, IMPLIED
from workbook_template.writing.layout import input_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from workbook_template.reading.contents import Area, Contents
    from workbook_template.schema.fields import Field

_IMPLIED = ""
"""The address of what stands in no cell."""


def earlier_areas(contents: Contents) -> dict[str, Area]:
    """Return where the single inputs of before are in a file, by their keys of before."""
    areas = ((key, contents.named(input_name(key))) for key in EARLIER_PLACES)
    return {key: area for key, area in areas if area}


def rows_of(moved: Mapping[str, Found], units: str) -> dict[str, list[dict[str, Found]]]:
    """Return the rows of tables that single inputs of before come to, each by its columns.

    What the file has no input for is as in a new workbook.

    Parameters
    ----------
    moved : mapping of str to Found
        Their cells, blank or not, by their keys of before.
    units : str
        The unit system of the workbook.

    Returns
    -------
    dict
        By table its rows, only with cells that hold something; none where nothing was found.
    """
    rows = {
        table: [
            {column: Found("", _IMPLIED, value) for column, value in (start | words).items()}
            for start, words in zip(TABLES[table].start_rows(units), IMPLIED[table], strict=True)
        ]
        for table in {EARLIER_PLACES[key].table for key in moved}
    }
    for key, found in moved.items():
        table, row, column = EARLIER_PLACES[key]
        rows[table][row].pop(column, None)
        if found.is_filled:
            rows[table][row][column] = found
    return rows


def field_now(key: str) -> Field:
    """Return the column that a single input of before is now."""
    place = EARLIER_PLACES[key]
    return TABLES[place.table].field(place.column)


def words_now(found: Found, key: str) -> Found:
    """Return what stands in a cell, in the words that are chosen from now.

    Parameters
    ----------
    found : Found
        What stands in the cell.
    key : str
        Of the single input, or ``table.column``.

    Returns
    -------
    Found
        The same where its words have not changed, or are none of before.
    """
    words = EARLIER_WORDS.get(key, {})
    if not isinstance(found.value, str):
        return found
    return found._replace(value=words.get(found.value.strip().casefold(), found.value))
