"""The rules of single cells: how each is counted on a sheet, and what is wrong with a value.

A rule has two sides that have to agree: templates, from which the lines of the Checks sheet are
made, and a sentence, which the command check writes.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple, TypeGuard

from openpyxl.utils.datetime import to_excel

from cultivar_fx.catalog.dimensions import US
from cultivar_fx.errors import CellError
from workbook_template.errors import shown
from workbook_template.schema import TABLES
from workbook_template.schema.fields import not_whole
from workbook_template.writing.layout import tuple_key
from workbook_template.writing.validation import (
    LONGEST_TYPED,
    comparisons,
    conditions,
    needed,
    percent,
    typing,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from cultivar_fx.catalog.definition import Limits
    from workbook_template.schema.fields import Field
    from workbook_template.writing.layout import Value

_TEXTS = f"texts of more than {LONGEST_TYPED} characters, or errors"
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
    in_form, in_table : str
        Its line on the Checks sheet, without the title of the form or the table.
    concerns : callable
        Whether the rule is for the cells of a field: one rule is for each.
    is_broken : callable
        Template, of a field and the units: true where its filled single input breaks the rule.
    count_cells : callable
        Template, of a table, some of its fields and the units: how many cells break the rule.
    wrong : callable
        What is wrong with the value of a field, as a sentence; empty where nothing is.
    """

    in_form: str
    in_table: str
    concerns: Callable[[Field], bool]
    is_broken: Callable[[Field, str], str]
    count_cells: Callable[[str, Sequence[Field], str], str]
    wrong: Callable[[Field, Value, Context], str]

    def count_inputs(self, fields: Sequence[Field], units: str) -> str:
        """Return the template that counts the inputs of a form that break the rule.

        An error in an input makes an error of the comparison, and counts as one, too.
        """
        return "+".join(
            f'IFERROR(({{{one.key}}}<>"")*({self.is_broken(one, units)}),1)' for one in fields
        )


# Numbers and dates


def _is_outside(field: Field, units: str) -> str:
    return f"1-AND({','.join(conditions(field, f'{{{field.key}}}', units))})"


def _count_outside(table: str, fields: Sequence[Field], units: str) -> str:
    """Return the template that counts the cells that are filled, but for those within limits."""
    text = ""
    for field in fields:
        cells = f"{{{table}.{field.key}}}"
        # Not COUNTA: what a program pastes for a formula that shows nothing counts there.
        text += f"+ROWS({cells})-COUNTBLANK({cells})"
        for limits in field.ranges:
            within = [f'{cells},"{sign}"' for sign in comparisons(field, limits, units)]
            if field.bounds.whole:
                within.append(f"{{{table}.{not_whole(field.key)}}},0")
            text += f"-COUNTIFS({','.join(within)})" if within else f"-COUNT({cells})"
    return text.removeprefix("+")


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


def _is_on_no_list(field: Field, _units: str) -> str:
    cell = f"{{{field.key}}}"
    if "." in field.choices:
        return f"1-ISNUMBER(MATCH({cell},{{{field.choices}}},0))"
    words = (f'{cell}="{word}"' for word in field.choices.split("|"))
    return f"1-OR({','.join(words)})"


def _count_on_no_list(table: str, fields: Sequence[Field], _units: str) -> str:
    return f"COUNTIF({{{table}.found}},0)+{_count_errors(table, fields)}"


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


def _is_too_long(field: Field, _units: str) -> str:
    return f"LEN({{{field.key}}})>{LONGEST_TYPED}"


def _count_too_long(table: str, fields: Sequence[Field], _units: str) -> str:
    longer = f'REPT("?",{LONGEST_TYPED + 1})&"*"'
    counts = [f"COUNTIF({{{table}.{one.key}}},{longer})" for one in fields]
    return "+".join([*counts, _count_errors(table, fields)])


def _count_errors(table: str, fields: Sequence[Field]) -> str:
    """Return the template that counts columns of text with an error, which every sum passes on."""
    return "+".join(f"ISERROR(SUM({{{table}.{one.key}}}))" for one in fields)


def _wrong_text(field: Field, value: Value, _context: Context) -> str:
    length = len(str(value))
    if length <= LONGEST_TYPED:
        return ""
    return f"{field.label}: has {length} characters, needs at most {LONGEST_TYPED}."


CELL_RULES = (
    CellRule(
        "inputs outside their limits, or text for a number",
        "figures outside their limits, or text",
        lambda field: field.is_number,
        _is_outside,
        _count_outside,
        _wrong_number,
    ),
    CellRule(
        "choices not on their list",
        "choices not on their list",
        lambda field: bool(field.choices),
        _is_on_no_list,
        _count_on_no_list,
        _wrong_choice,
    ),
    CellRule(
        _TEXTS,
        _TEXTS,
        lambda field: not field.is_number and not field.choices,
        _is_too_long,
        _count_too_long,
        _wrong_text,
    ),
)


def by_rule(fields: Sequence[Field]) -> list[tuple[CellRule, list[Field]]]:
    """Return each rule that concerns some of these fields, with those."""
    concerned = [(rule, list(filter(rule.concerns, fields))) for rule in CELL_RULES]
    return [(rule, some) for rule, some in concerned if some]


def wrong(field: Field, value: Value, context: Context) -> str:
    """Return what is wrong with what was typed into a cell, as a sentence; empty if nothing is."""
    if isinstance(value, CellError):
        return f"{field.label}: holds the error {value.code}."
    ((rule, _),) = by_rule([field])
    return rule.wrong(field, value, context)
