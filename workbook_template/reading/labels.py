"""Whether the cell that a name of ours points to is still the input that the name says.

Rows that a script puts in move the cells and not the names. So a name is believed only where the
words that we wrote beside its cell still stand there; those of another input, or none, mean that
one of the two was moved without the other.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from workbook_template.releases import earlier_labels

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from workbook_template.reading.contents import Area, Contents

_Place = tuple[str, int, int]


class Claim(NamedTuple):
    """What the cells of a name should be.

    Attributes
    ----------
    key : str
        Of a single input, or a grid.
    area : Area
        Where the name points.
    words : Place
        Where the words that belong to the cells should be.
    spellings : Collection of str
        Every way in which a release wrote those words.
    """

    key: str
    area: Area
    words: _Place
    spellings: Collection[str]


class Verdict(NamedTuple):
    """What came of it.

    Attributes
    ----------
    doubts : dict
        For each key that is not believed, its area and the words that stand there instead.
    renamed : set of str
        The keys whose words were exchanged for some that are not ours; their own stand nowhere.
    """

    doubts: dict[str, tuple[Area, str]]
    renamed: set[str]


def plain(text: str) -> str:
    """Return words without capitals, doubled blanks and line breaks."""
    return " ".join(text.casefold().split())


def claim_of(contents: Contents, key: str, area: Area, *labels: str) -> Claim:
    """Return what a single input's name claims: the words left of its cell, now or earlier."""
    left = [one for one in contents.rows[area.sheet].get(area.top, {}) if one < area.left]
    spellings = {*labels, *earlier_labels().get(key, ())}
    words = (area.sheet, area.top, max(left, default=0))
    return Claim(key, area, words, {plain(one) for one in spellings})


def judged(
    contents: Contents, claims: Iterable[Claim], titles: Collection[str] = frozenset()
) -> Verdict:
    """Hold what names claim against the words in the file.

    Parameters
    ----------
    contents : Contents
        The workbook.
    claims : iterable of Claim
        What its names claim.
    titles : collection of str
        Our texts that are not labels of inputs.

    Returns
    -------
    Verdict
        Which of them are in doubt, and which have new words.
    """
    claims = list(claims)
    cells = Counter(one.area for one in claims)
    found = {one.key: _text(contents, one.words) for one in claims}
    sure = {one.words for one in claims if plain(found[one.key]) in one.spellings}
    elsewhere = _texts(contents, {one.area.sheet for one in claims}, sure)
    ours = {sheet: {plain(one) for one in titles} for sheet in elsewhere}
    for one in claims:
        ours[one.area.sheet].update(one.spellings)
    doubts, renamed = {}, set()
    for one in claims:
        words = plain(found[one.key])
        is_own = words in one.spellings
        is_moved = not elsewhere[one.area.sheet].isdisjoint(one.spellings)
        if cells[one.area] > 1 or (
            not is_own and (not words or words in ours[one.area.sheet] or is_moved)
        ):
            doubts[one.key] = one.area, found[one.key]
        elif not is_own:
            renamed.add(one.key)
    return Verdict(doubts, renamed)


def _text(contents: Contents, place: _Place) -> str:
    sheet, row, column = place
    cell = contents.rows[sheet].get(row, {}).get(column)
    return cell.value if cell is not None and isinstance(cell.value, str) else ""


def _texts(
    contents: Contents, sheets: Iterable[str], without: Collection[_Place]
) -> Mapping[str, set[str]]:
    """Return the texts of some sheets, but for those at some places."""
    return {
        sheet: {
            plain(cell.value)
            for row, cells in contents.rows[sheet].items()
            for column, cell in cells.items()
            if isinstance(cell.value, str) and (sheet, row, column) not in without
        }
        for sheet in sheets
    }
