"""The rules of single cells: how each is counted on a sheet, and what is wrong with a value.

A rule has two sides that have to agree: templates, from which the lines of the sheet Checks are
made, and a sentence, which the command check writes.
"""

from __future__ import annotations

from datetime import date, datetime, time
from typing import TYPE_CHECKING, NamedTuple

from openpyxl.utils.datetime import to_excel

from cultivar_fx.dimensions import US
from cultivar_fx.errors import CellError
from workbook_template.refusals import shown
from workbook_template.schema import TABLES
from workbook_template.schema.fields import not_whole
from workbook_template.writing.accepted import (
    LONGEST_TYPED,
    comparisons,
    conditions,
    needed,
    percent,
    typing,
)
from workbook_template.writing.book import tuple_key

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Sequence

    from cultivar_fx.definition import Limits
    from workbook_template.schema.fields import Field
    from workbook_template.writing.book import Value

_ROUNDED = 1e-9
"""What a limit may be off in other units, of its size."""


class Context(NamedTuple):
    """What a rule has to know besides the cell: the units, and the lists to choose from."""

    units: str
    currency: str
    listed: Callable[[str], Collection[object]]
    """Returns the names, as ``name`` writes them, in a column that choices are made from."""


class CellRule(NamedTuple):
    """One thing that typed cells have to be.

    Attributes
    ----------
    in_form, in_table : str
        The line of the sheet Checks, without the title of the form or the table.
    concerns : callable
        Whether the rule is for the cells of a field.
    is_broken : callable
        Template, of a field and the units: true where its filled single cell breaks the rule.
    count : callable
        Template, of a table, some of its fields and the units: how many of their cells break it.
    wrong : callable
        What is wrong with a value, as a part of a sentence; empty where nothing is.
    """

    in_form: str
    in_table: str
    concerns: Callable[[Field], bool]
    is_broken: Callable[[Field, str], str]
    count: Callable[[str, Sequence[Field], str], str]
    wrong: Callable[[Field, Value, Context], str]

    def count_in_form(self, fields: Sequence[Field], units: str) -> str:
        """Return the template that counts the inputs of a form that break the rule.

        An error in a cell makes one of the comparison, too.
        """
        return "+".join(
            f'IFERROR(({{{one.key}}}<>"")*({self.is_broken(one, units)}),1)' for one in fields
        )


# Numbers and dates


def _is_no_such_number(one: Field, units: str) -> str:
    return f"1-AND({','.join(conditions(one, f'{{{one.key}}}', units))})"


def _count_no_such_numbers(table: str, fields: Sequence[Field], units: str) -> str:
    return "+".join(_count_outside(table, one, units) for one in fields)


def _count_outside(table: str, one: Field, units: str) -> str:
    cells = f"{{{table}.{one.key}}}"
    is_whole = f',{{{table}.{not_whole(one.key)}}},0' if one.bounds.whole else ""
    text = f"COUNTA({cells})"
    for limits in one.ranges:
        counted = ",".join(f'{cells},"{sign}"' for sign in comparisons(one, limits, units))
        text += f"-COUNTIFS({counted}{is_whole})" if counted else f"-COUNT({cells})"
    return text


def _wrong_number(one: Field, value: Value, context: Context) -> str:
    needs = f"needs {needed(one, context.units, context.currency)}"
    if one.unit == "fraction":
        needs += f": {typing(_meant(one, value))}"
    if isinstance(value, str):
        return f"{shown(value)!r} is text, and no program counts it; {needs}"
    if isinstance(value, bool):
        return f"got {str(value).upper()}, {needs}"
    if isinstance(value, date | datetime | time):
        if one.unit != "date":
            return f"got the date {value}, {needs}"
        if isinstance(value, time):
            return f"got the time {value}, {needs}"
        value = to_excel(value)  # type: ignore[no-untyped-call]
    number = float(value) if isinstance(value, int | float) else 0.0
    if _holds(one, number, context.units):
        return ""
    got = f"{percent(number)} %" if one.unit == "fraction" else f"{number:g}"
    return f"got {got}, {needs}"


def _holds(one: Field, number: float, units: str) -> bool:
    """Return whether a number makes sense, but for rounding of units."""
    metric = one.dimension.to_metric(number) if units == US else number
    return any(
        limits.hold(_on_the_limit(metric, limits) if one.dimension.differs else metric)
        for limits in one.ranges
    )


def _on_the_limit(number: float, limits: Limits) -> float:
    """Return a number, or the limit from which nothing but rounding parts it."""
    for limit, is_open in ((limits.low, limits.above), (limits.high, limits.below)):
        if limit is not None and not is_open and abs(number - limit) <= _ROUNDED * abs(limit):
            return limit
    return number


def _meant(one: Field, value: Value) -> float:
    """Return the share that was likely meant by one that is wrong a hundredfold."""
    if isinstance(value, int | float):
        for share in (value / 100, value * 100.0):
            if share and any(limits.hold(share) for limits in one.ranges):
                return share
    return one.example


# Choices


def _is_no_choice(one: Field, units: str) -> str:
    cell = f"{{{one.key}}}"
    if "." in one.choices:
        return f"1-ISNUMBER(MATCH({cell},{{{one.choices}}},0))"
    words = [f'{cell}="{word}"' for word in one.choices.split("|")]
    return f"1-OR({','.join(words)})"


def _count_no_choices(table: str, fields: Sequence[Field], units: str) -> str:
    return f"COUNTIF({{{table}.found}},0)+{_count_errors(table, fields)}"


def _wrong_choice(one: Field, value: Value, context: Context) -> str:
    typed = shown(str(value))
    if "." not in one.choices:
        words = one.choices.split("|")
        return "" if name(value) in map(name, words) else _is_none(typed, words)
    listed = context.listed(one.choices)
    if name(value) in listed:
        return ""
    title = TABLES[tuple_key(one.choices)[0]].title
    if as_text(value) in map(as_text, listed):
        kinds = ("text", "a number") if isinstance(value, str) else ("a number", "text")
        return f"{typed!r} is {kinds[0]} here and {kinds[1]} on the list {title}"
    return f"{typed!r} is not on the list {title}"


def _is_none(typed: str, words: Sequence[str]) -> str:
    return f"{typed!r} is no choice, needs {', '.join(words)}"


def name(value: object) -> object:
    """Return a name as the programs compare it: a is A to them, and the text 12 no number."""
    return value.casefold() if isinstance(value, str) else value


def as_text(value: object) -> str:
    """Return a name as it reads, whether it is text or a number."""
    return str(value).casefold()


# Texts


def _is_too_long(one: Field, units: str) -> str:
    return f"LEN({{{one.key}}})>{LONGEST_TYPED}"


def _count_too_long(table: str, fields: Sequence[Field], units: str) -> str:
    longer = f'REPT("?",{LONGEST_TYPED + 1})&"*"'
    counts = [f"COUNTIF({{{table}.{one.key}}},{longer})" for one in fields]
    return "+".join([*counts, _count_errors(table, fields)])


def _count_errors(table: str, fields: Sequence[Field]) -> str:
    """Return the template that counts columns of text with an error, which every sum passes on."""
    return "+".join(f"ISERROR(SUM({{{table}.{one.key}}}))" for one in fields)


def _wrong_text(one: Field, value: Value, context: Context) -> str:
    length = len(str(value))
    if length > LONGEST_TYPED:
        return f"has {length} characters, needs at most {LONGEST_TYPED}"
    return ""


NUMBERS = CellRule(
    "inputs outside their limits, or text for a number",
    "figures outside their limits, or text",
    lambda one: one.is_number,
    _is_no_such_number,
    _count_no_such_numbers,
    _wrong_number,
)
CHOICES = CellRule(
    "choices that are on no list",
    "rows with a choice that is on no list",
    lambda one: bool(one.choices),
    _is_no_choice,
    _count_no_choices,
    _wrong_choice,
)
TEXTS = CellRule(
    f"texts of more than {LONGEST_TYPED} characters, or errors",
    f"texts of more than {LONGEST_TYPED} characters, or errors",
    lambda one: not one.is_number and not one.choices,
    _is_too_long,
    _count_too_long,
    _wrong_text,
)
CELL_RULES = (NUMBERS, CHOICES, TEXTS)


def by_rule(fields: Sequence[Field]) -> Iterator[tuple[CellRule, list[Field]]]:
    """Yield each rule that concerns some of these fields, with those."""
    for rule in CELL_RULES:
        if concerned := [one for one in fields if rule.concerns(one)]:
            yield rule, concerned


def rule_of(one: Field) -> CellRule:
    """Return the rule for the cells of a field: there is one for each."""
    return next(rule for rule in CELL_RULES if rule.concerns(one))


def wrong(one: Field, value: Value, context: Context) -> str:
    """Return what is wrong with what was typed into a cell, as a sentence; empty if nothing is."""
    words = f"holds the error {value.code}" if isinstance(value, CellError) else ""
    words = words or rule_of(one).wrong(one, value, context)
    return f"{one.label}: {words}." if words else ""
