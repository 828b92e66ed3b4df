"""The column To fix: what is wrong in a row of a table, each fault in a sentence.

A sentence begins with the label of the cell that it is about, and a colon: ``Moved: before it was
made.`` Behind the faults come the warnings, with a question mark: ``Ended? Nothing was picked.``
By these marks the Checks sheet counts the rows, and the cells that are meant stand out. What only
follows from another fault of the cell is left out.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from workbook_template.rules.cells import is_broken, rule_of
from workbook_template.schema.fields import TO_FIX

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook_template.schema.fields import Computed, Field, Rule, Table

FAULT, WARNING = ":", "?"
"""What stands behind the label of the cell."""
WITH_FAULT, WITH_WARNING = "*:*", "*~?*"
"""What the texts of rows match that have a fault, or a warning."""
END = ". "
_SENTENCE = re.compile(r"(?P<label>[^:?]+)(?P<mark>[:?]) (?P<words>.*?)\.(?: |$)")


class Sentence(NamedTuple):
    """One sentence of a row: the label of the cell, the mark behind it, what is wrong."""

    label: str
    mark: str
    words: str

    def __str__(self) -> str:
        return f"{self.label}{self.mark} {self.words}."


def sentences(text: str) -> Iterator[Sentence]:
    """Yield the sentences of a row, apart."""
    for match in _SENTENCE.finditer(text):
        yield Sentence(match["label"], match["mark"], match["words"])


def to_fix(table: Table, units: str) -> str:
    """Return the template of the column To fix of a table.

    It never waits, shows nothing where nothing is wrong, and is never an error. A row that is
    empty costs next to nothing.

    Parameters
    ----------
    table : Table
        With its rules.
    units : str
        The units of the workbook.

    Returns
    -------
    str
        The template.
    """
    said = [*(_of_input(table, one, units) for one in table.fields), *_of_results(table)]
    said += [_if(_text(table, one, WARNING), _holds(one)) for one in table.warnings]
    row = f"TRIM({'&'.join(said)})"
    first = table.first
    if not first.required:
        return row
    # One by one: programs write a range of a row's own cells in different ways.
    others = "+".join(f"(1-COUNTBLANK({{{one.key}}}))" for one in table.fields[1:])
    nameless = f"{first.label}{FAULT} is blank, so the row is ignored."
    filled = f"MIN(1,{others})"
    return f"CHOOSE(1+COUNTBLANK({{{first.key}}}),{row},{_if(nameless, filled)})"


def _of_input(table: Table, one: Field, units: str) -> str:
    """Return what a row says of an input: what it needs, or else which rules it breaks."""
    broken = _broken(table, one, units)
    others = [rule for rule in table.faults if rule.key == one.key]
    said = [_if(_text(table, rule, FAULT), _holds(rule)) for rule in others]
    if table.unique and one is table.first:
        named = f"{{{table.key}.{one.key}}},{{{one.key}}}"
        said.insert(0, _if(f"{one.label}{FAULT} duplicate name{END}", f"(COUNTIF({named})>1)*1"))
    words = needs(one, units)
    return f'CHOOSE(1+{broken},{"&".join(said)},"{words}")' if said else _if(words, broken)


def needs(one: Field, units: str) -> str:
    """Return the sentence of an input that does not hold what it needs."""
    return f"{one.label}{FAULT} {rule_of(one).needs(one, units)}{END}"


def _broken(table: Table, one: Field, units: str) -> str:
    """Return the template that is 1 where an input does not hold what it needs.

    Looking a choice up takes as long as its list; where a column has its place, nothing does.
    """
    cell = f"{{{one.key}}}"
    place = next((column.key for column in _computed(table) if column.finds == one.key), "")
    if place:
        return (
            f"1-COUNT({{{place}}})" if one.required else f"1-COUNTBLANK({cell})-COUNT({{{place}}})"
        )
    return is_broken(one, cell, units, is_needed=one.required and one is not table.first)


def _computed(table: Table) -> list[Computed]:
    typed = {one.key for one in table.fields}
    return [one for one in table.columns if one.key not in typed]  # type: ignore[misc]


def _of_results(table: Table) -> Iterator[str]:
    """Yield what a row says of what it computes."""
    typed = {one.key for one in table.fields}
    for rule in table.faults:
        if rule.key not in typed:
            yield _if(_text(table, rule, FAULT), _holds(rule))


def _text(table: Table, rule: Rule, mark: str) -> str:
    words = rule.words[0].upper() + rule.words[1:] if mark == WARNING else rule.words
    return f"{table.column(rule.key).label}{mark} {words}{END}"


def _holds(rule: Rule) -> str:
    return f"IFERROR(({rule.condition})*1,0)"


def _if(text: str, condition: str) -> str:
    return f'REPT("{text}",{condition})'


def names(cell: str, label: str, mark: str) -> str:
    """Return the condition, as spreadsheet text, that a row's text names a label with a mark."""
    return f'ISNUMBER(FIND("{END}{label}{mark}","{END}"&{cell}))'


def label_named(text: str, mark: str) -> str:
    """Return the template of the first label that a row's text names with a mark."""
    before = f'SUBSTITUTE(LEFT({text},FIND("{mark}",{text})-1),"{END}",REPT(" ",200))'
    return f"TRIM(RIGHT({before},200))"


def labels(table: Table) -> dict[str, str]:
    """Return the labels that a table's sentences may begin with, by the keys of the columns."""
    rules = [rule.key for rule in (*table.faults, *table.warnings)]
    keys = dict.fromkeys([*(one.key for one in table.fields), *rules])
    assert TO_FIX not in keys
    return {key: table.column(key).label for key in keys}
