"""The rules of single cells: how a sheet finds what breaks one, and what is wrong with a value.

A rule has two sides that have to agree: a template, from which the columns To fix and the lines of
the Checks sheet are made, and a sentence, which the command check writes.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple, TypeGuard

from openpyxl.utils.datetime import to_excel

from cultivar_fx.catalog.dimensions import US
from cultivar_fx.errors import CellError
from workbook_template.errors import shown
from workbook_template.schema import TABLES
from workbook_template.writing.layout import tuple_key
from workbook_template.writing.validation import (
    LONGEST_TYPED,
    comparisons,
    needed,
    needed_on_sheet,
    percent,
    typing,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from cultivar_fx.catalog.definition import Limits
    from workbook_template.schema.fields import Field
    from workbook_template.writing.layout import Value

_ROUNDED = 1e-9
"""What a limit may be off in other units, of its size."""


class Context(NamedTuple):
    """What rules have to know of a workbook.

    Attributes
    ----------
    units, currency : str
        Those of the workbook.
    listed : callable
        Returns the names, as ``name_of`` writes them, in a column that choices are made from.
    """

    units: str
    currency: str
    listed: Callable[[str], Collection[object]]


class CellRule(NamedTuple):
    """One thing that typed cells have to be.

    Attributes
    ----------
    concerns : callable
        Whether the rule is for the cells of a field: one rule is for each.
    holds : callable
        Template, of a field, the reference to its cell and the units: 1 where the cell is filled
        and keeps to the rule, 0 elsewhere, never an error.
    needs : callable
        What the cell needs, of a field and the units: the end of the sheet's sentence.
    wrong : callable
        What is wrong with the value of a field, as a sentence; empty where nothing is.
    """

    concerns: Callable[[Field], bool]
    holds: Callable[[Field, str, str], str]
    needs: Callable[[Field, str], str]
    wrong: Callable[[Field, Value, Context], str]


def is_broken(field: Field, cell: str, units: str, is_needed: bool = False) -> str:
    """Return the template that is 1 where a cell breaks its rule, and 0 elsewhere, never an error.

    Parameters
    ----------
    field : Field
        What is typed into the cell.
    cell : str
        The reference to it in a template.
    units : str
        The units of the workbook.
    is_needed : bool
        Whether a blank cell breaks the rule, too.
    """
    holds = rule_of(field).holds(field, cell, units)
    # What a program pastes for a formula that shows nothing is blank as well.
    return f"1-{holds}" if is_needed else f"1-COUNTBLANK({cell})-{holds}"


# Numbers and dates


def _is_within(field: Field, cell: str, units: str) -> str:
    """Return the template that counts a number within limits; text and errors count as none."""
    counts = []
    for limits in field.ranges:
        within = [f'{cell},"{sign}"' for sign in comparisons(field, limits, units)]
        if field.bounds.whole:
            within.append(f"{cell},INT(N({cell}))")
        counts.append(f"COUNTIFS({','.join(within)})" if within else f"COUNT({cell})")
    if field.bounds.whole:
        counts = [f"IFERROR({count},0)" for count in counts]
    return counts[0] if len(counts) == 1 else f"({'+'.join(counts)})"


def _needs_number(field: Field, units: str) -> str:
    return f"needs {needed_on_sheet(field, units)}"


def _wrong_number(field: Field, value: Value, context: Context) -> str:
    needs = f"needs {needed(field, context.units, context.currency)}"
    if field.dimension.is_share:
        needs += f": {typing(_meant(field, value))}"
    if isinstance(value, str):
        return f"{field.label}: {shown(value)!r} is text, and no program counts it; {needs}."
    number = _number(field, value)
    if number is not None and _holds(field, number, context.units):
        return ""
    if number is not None and not field.dimension.is_date and _is_beyond(field, number, context):
        needs += f", at most {field.in_units(field.most, context.units):,.0f}"
    return f"{field.label}: got {_got(field, value, number)}, {needs}."


def _is_beyond(field: Field, number: float, context: Context) -> bool:
    """Return whether a number is more than any farm has, where there is no other limit."""
    most = field.in_units(field.most, context.units)
    return field.bounds.high is None and isinstance(most, float) and number > most


def _number(field: Field, value: Value) -> float | None:
    """Return the number that a cell holds; a date is one only where a date belongs."""
    if isinstance(value, date) and field.dimension.is_date:
        return float(to_excel(value))  # type: ignore[no-untyped-call]
    return float(value) if is_number(value) else None


def is_number(value: object) -> TypeGuard[int | float]:
    """Return whether a value is a number; what is true or false is none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def _got(field: Field, value: Value, number: float | None) -> str:
    if number is not None:
        return f"{percent(number)} %" if field.dimension.is_share else f"{number:.15g}"
    if isinstance(value, bool):
        return str(value).upper()
    return f"the {'date' if isinstance(value, date) else 'time'} {value}"


def _holds(field: Field, number: float, units: str) -> bool:
    """Return whether a number makes sense, but for rounding of units."""
    if units == US:
        number = field.dimension.to_metric(number)
    return any(
        limits.hold(_on_the_limit(number, limits) if field.dimension.differs else number)
        for limits in field.ranges
    )


def _on_the_limit(number: float, limits: Limits) -> float:
    """Return a number, or the limit from which nothing but rounding parts it."""
    for limit, is_open in ((limits.low, limits.above), (limits.high, limits.below)):
        if limit is not None and not is_open and abs(number - limit) <= _ROUNDED * abs(limit):
            return limit
    return number


def _meant(field: Field, value: Value) -> float:
    """Return the share that was likely meant by one that is wrong a hundredfold."""
    if isinstance(value, int | float):
        for share in (value / 100, value * 100.0):
            if share and any(limits.hold(share) for limits in field.ranges):
                return share
    return field.example


# Choices


def _is_on_list(field: Field, cell: str, _units: str) -> str:
    """Return the template that looks a choice up; to LibreOffice a blank is like any other."""
    words = ",".join(f'"{word}"' for word in field.choices.split("|"))
    listed = f"{{{field.choices}}}" if "." in field.choices else f"{{{words}}}"
    return f"ISNUMBER(MATCH({cell},{listed},0))*(1-COUNTBLANK({cell}))"


def _needs_choice(_field: Field, _units: str) -> str:
    return "choose one from the list"


def _wrong_choice(field: Field, value: Value, context: Context) -> str:
    typed = f"{field.label}: {shown(str(value))!r}"
    if "." not in field.choices:
        words = field.choices.split("|")
        is_known = name_of(value) in map(name_of, words)
        return "" if is_known else f"{typed} is no choice, needs {', '.join(words)}."
    listed = context.listed(field.choices)
    if name_of(value) in listed:
        return ""
    title = TABLES[tuple_key(field.choices)[0]].title
    if as_text(value) in map(as_text, listed):
        here, there = ("text", "a number") if isinstance(value, str) else ("a number", "text")
        return f"{typed} is {here} here and {there} on the list {title}."
    return f"{typed} is not on the list {title}."


def name_of(value: object) -> object:
    """Return a name as the programs look it up: a is A to them, but the text 12 is no number."""
    return value.casefold() if isinstance(value, str) else value


def as_text(value: object) -> str:
    """Return a name as it reads, whether it is text or a number."""
    return str(value).casefold()


# Texts


def _is_short(_field: Field, cell: str, _units: str) -> str:
    return f"IFERROR((LEN({cell})>0)*(LEN({cell})<={LONGEST_TYPED}),0)"


def _needs_text(_field: Field, _units: str) -> str:
    return f"needs a text of at most {LONGEST_TYPED} characters"


def _wrong_text(field: Field, value: Value, _context: Context) -> str:
    length = len(str(value))
    if length <= LONGEST_TYPED:
        return ""
    return f"{field.label}: has {length} characters, needs at most {LONGEST_TYPED}."


CELL_RULES = (
    CellRule(lambda field: field.is_number, _is_within, _needs_number, _wrong_number),
    CellRule(lambda field: bool(field.choices), _is_on_list, _needs_choice, _wrong_choice),
    CellRule(
        lambda field: not field.is_number and not field.choices, _is_short, _needs_text, _wrong_text
    ),
)


def rule_of(field: Field) -> CellRule:
    """Return the rule for the cells of a field."""
    (rule,) = (rule for rule in CELL_RULES if rule.concerns(field))
    return rule


def wrong(field: Field, value: Value, context: Context) -> str:
    """Return what is wrong with what was typed into a cell, as a sentence; empty if nothing is."""
    if isinstance(value, CellError):
        return f"{field.label}: holds the error {value.code}."
    return rule_of(field).wrong(field, value, context)
