"""The rules of single cells: how each is counted on a sheet, and what is wrong with a value.

A rule has two sides that have to agree: templates, from which the lines of the sheet Checks are
made, and a sentence, which the command check writes.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

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
    from collections.abc import Callable, Collection, Sequence

    from cultivar_fx.definition import Limits
    from workbook_template.schema.fields import Field
    from workbook_template.writing.book import Value

_ROUNDED = 1e-9
"""What a limit may be off in other units, of its size."""


@dataclass(frozen=True)
class Context:
    """What rules have to know of a workbook.

    Attributes
    ----------
    units, currency : str
        Those of the workbook.
    listed : callable
        Returns the names, as ``name_of`` writes them, in a column that choices are made from; the
        templates need none.
    """

    units: str
    currency: str = ""
    listed: Callable[[str], Collection[object]] = lambda _: ()


@dataclass(frozen=True)
class CellRule(ABC):
    """One thing that typed cells have to be.

    ``in_form`` and ``in_table`` are its line on the sheet Checks, without the title of the form or
    the table.
    """

    context: Context
    in_form: ClassVar[str]
    in_table: ClassVar[str]

    @abstractmethod
    def concerns(self, field: Field) -> bool:
        """Return whether the rule is for the cells of a field: one rule is for each."""

    @abstractmethod
    def is_broken(self, field: Field) -> str:
        """Return the template that is true where a filled single input breaks the rule."""

    @abstractmethod
    def count(self, table: str, fields: Sequence[Field]) -> str:
        """Return the template that counts the cells of columns that break the rule."""

    @abstractmethod
    def wrong(self, field: Field, value: Value) -> str:
        """Return what is wrong with a value, as a sentence; an empty text where nothing is."""

    def count_in_form(self, fields: Sequence[Field]) -> str:
        """Return the template that counts the inputs of a form that break the rule.

        An error in an input makes an error of the comparison, and counts as one, too.
        """
        return "+".join(f'IFERROR(({{{one.key}}}<>"")*({self.is_broken(one)}),1)' for one in fields)


class Numbers(CellRule):
    """A number or a date is one, and within its limits."""

    in_form = "inputs outside their limits, or text for a number"
    in_table = "figures outside their limits, or text"

    def concerns(self, field: Field) -> bool:
        """Return whether a field holds a number or a date."""
        return field.is_number

    def is_broken(self, field: Field) -> str:
        """Return the template that is true where an input is no such number."""
        return f"1-AND({','.join(conditions(field, f'{{{field.key}}}', self.context.units))})"

    def count(self, table: str, fields: Sequence[Field]) -> str:
        """Return the template that counts cells that are filled, but for those within limits."""
        return "+".join(self._count(f"{{{table}.{one.key}}}", table, one) for one in fields)

    def _count(self, cells: str, table: str, field: Field) -> str:
        is_whole = f",{{{table}.{not_whole(field.key)}}},0" if field.bounds.whole else ""
        text = f"COUNTA({cells})"
        for limits in field.ranges:
            signs = comparisons(field, limits, self.context.units)
            within = ",".join(f'{cells},"{sign}"' for sign in signs)
            text += f"-COUNTIFS({within}{is_whole})"
        return text

    def wrong(self, field: Field, value: Value) -> str:
        """Return what is wrong with a number or a date."""
        needs = f"needs {needed(field, self.context.units, self.context.currency)}"
        if field.unit == "fraction":
            needs += f": {typing(_meant(field, value))}"
        if isinstance(value, str):
            return f"{field.label}: {shown(value)!r} is text, and no program counts it; {needs}."
        number = _number(field, value)
        if number is not None and self._holds(field, number):
            return ""
        return f"{field.label}: got {_got(field, value, number)}, {needs}."

    def _holds(self, field: Field, number: float) -> bool:
        """Return whether a number makes sense, but for rounding of units."""
        if self.context.units == US:
            number = field.dimension.to_metric(number)
        return any(
            limits.hold(_on_the_limit(number, limits) if field.dimension.differs else number)
            for limits in field.ranges
        )


def _number(field: Field, value: Value) -> float | None:
    """Return the number that a cell holds; a date is one only where a date belongs."""
    if isinstance(value, date) and field.unit == "date":
        return float(to_excel(value))  # type: ignore[no-untyped-call]
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if is_number else None  # type: ignore[arg-type]


def _got(field: Field, value: Value, number: float | None) -> str:
    if number is not None:
        return f"{percent(number)} %" if field.unit == "fraction" else f"{number:g}"
    if isinstance(value, bool):
        return str(value).upper()
    return f"the {'date' if isinstance(value, date) else 'time'} {value}"


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


class Choices(CellRule):
    """A choice is on its list."""

    in_form = "choices that are on no list"
    in_table = "rows with a choice that is on no list"

    def concerns(self, field: Field) -> bool:
        """Return whether a field is a choice."""
        return bool(field.choices)

    def is_broken(self, field: Field) -> str:
        """Return the template that is true where a choice is not on its list."""
        cell = f"{{{field.key}}}"
        if "." in field.choices:
            return f"1-ISNUMBER(MATCH({cell},{{{field.choices}}},0))"
        return f"1-OR({','.join(f'{cell}={word}' for word in _quoted(field))})"

    def count(self, table: str, fields: Sequence[Field]) -> str:
        """Return the template that counts rows with a choice on no list, and errors."""
        return f"COUNTIF({{{table}.found}},0)+{_errors(table, fields)}"

    def wrong(self, field: Field, value: Value) -> str:
        """Return what is wrong with a choice."""
        typed = f"{field.label}: {shown(str(value))!r}"
        if "." not in field.choices:
            words = field.choices.split("|")
            is_known = name_of(value) in map(name_of, words)
            return "" if is_known else f"{typed} is no choice, needs {', '.join(words)}."
        listed = self.context.listed(field.choices)
        if name_of(value) in listed:
            return ""
        title = TABLES[tuple_key(field.choices)[0]].title
        if as_text(value) in map(as_text, listed):
            here, there = ("text", "a number") if isinstance(value, str) else ("a number", "text")
            return f"{typed} is {here} here and {there} on the list {title}."
        return f"{typed} is not on the list {title}."


def _quoted(field: Field) -> list[str]:
    return [f'"{word}"' for word in field.choices.split("|")]


def name_of(value: object) -> object:
    """Return a name as the programs look it up: a is A to them, but the text 12 is no number."""
    return value.casefold() if isinstance(value, str) else value


def as_text(value: object) -> str:
    """Return a name as it reads, whether it is text or a number."""
    return str(value).casefold()


class Texts(CellRule):
    """A text is not too long."""

    in_form = in_table = f"texts of more than {LONGEST_TYPED} characters, or errors"

    def concerns(self, field: Field) -> bool:
        """Return whether a field is text to be written as one likes."""
        return not field.is_number and not field.choices

    def is_broken(self, field: Field) -> str:
        """Return the template that is true where a text is too long."""
        return f"LEN({{{field.key}}})>{LONGEST_TYPED}"

    def count(self, table: str, fields: Sequence[Field]) -> str:
        """Return the template that counts texts that are too long, and errors."""
        longer = f'REPT("?",{LONGEST_TYPED + 1})&"*"'
        counts = [f"COUNTIF({{{table}.{one.key}}},{longer})" for one in fields]
        return "+".join([*counts, _errors(table, fields)])

    def wrong(self, field: Field, value: Value) -> str:
        """Return what is wrong with a text."""
        length = len(str(value))
        if length <= LONGEST_TYPED:
            return ""
        return f"{field.label}: has {length} characters, needs at most {LONGEST_TYPED}."


def _errors(table: str, fields: Sequence[Field]) -> str:
    """Return the template that counts columns of text with an error, which every sum passes on."""
    return "+".join(f"ISERROR(SUM({{{table}.{one.key}}}))" for one in fields)


CELL_RULES: tuple[type[CellRule], ...] = (Numbers, Choices, Texts)


def by_rule(fields: Sequence[Field], context: Context) -> list[tuple[CellRule, list[Field]]]:
    """Return each rule that concerns some of these fields, with those."""
    concerned = [
        (rule, [one for one in fields if rule.concerns(one)])
        for rule in (kind(context) for kind in CELL_RULES)
    ]
    return [(rule, some) for rule, some in concerned if some]


def wrong(field: Field, value: Value, context: Context) -> str:
    """Return what is wrong with what was typed into a cell, as a sentence; empty if nothing is."""
    if isinstance(value, CellError):
        return f"{field.label}: holds the error {value.code}."
    ((rule, _),) = by_rule([field], context)
    return rule.wrong(field, value)
