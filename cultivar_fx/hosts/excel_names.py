"""The functions as LAMBDA names of a workbook: typed in Excel 2024 or 365 without any add-in.

Each name is one text that needs no other: helpers first, then a reading of each argument, then
the native formula. ``typed`` gives what the Name Manager shows, ``stored`` how a file spells it.
The rules are those of ``call``, as far as a formula can tell one value from another.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from string import ascii_lowercase
from typing import TYPE_CHECKING, NamedTuple

from cultivar_fx.catalog.native import filled, from_metric, limit_conditions
from cultivar_fx.catalog.registry import functions
from cultivar_fx.formula.text import number_text, plain
from cultivar_fx.formula.tree import (
    Call,
    Error,
    Node,
    Number,
    Operation,
    Place,
    Reference,
    changed,
    walk,
)
from cultivar_fx.hosts import excel_helpers
from cultivar_fx.hosts.excel_units import conversion_table, unit_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from cultivar_fx.catalog.definition import Argument, Definition
    from cultivar_fx.catalog.dimensions import Dimension

_US, _METRIC = Reference("us"), Reference("metric")

_NEWER = {
    **{name: f"_xlfn.{name}" for name in ("LET", "LAMBDA", "ISOMITTED", "MAP", "MAKEARRAY")},
    **{name: f"_xlfn.{name}" for name in ("TOCOL", "DROP", "SEQUENCE", "UNICHAR")},
    "FILTER": "_xlfn._xlws.FILTER",
}
"""How a file spells the functions that are younger than its format."""

_TOKEN = re.compile(
    r'"[^"]*"|#[A-Z/0]+[!?]?|\d[\d.]*(?:E[+-]?\d+)?|\[(?P<optional>\w+)\]|(?P<word>[A-Za-z_][\w.]*)'
)

_LETTERS = "abdeghijmq"
"""One for each argument, for short texts; those left out mean row or column to Excel in some
language, or are a function."""

_OTHERWISE_A_TABLE = {"batches": "batch_count"}
"""What an argument is called here whose own name is that of a table of the workbook."""


@cache
def lambda_names() -> dict[str, str]:
    """Return the stored text of every name, by the worksheet name of its function."""
    return {
        one.worksheet_name: stored(typed(one)) for one in functions().values() if can_be_typed(one)
    }


def can_be_typed(wanted: Definition) -> bool:
    """Return whether a formula can do what the function does; not a sentence on another call."""
    return not wanted.variadic


def stored(text: str) -> str:
    """Spell a formula as a file does: new functions and variables carry prefixes."""

    def spelled(token: re.Match[str]) -> str:
        if token["optional"]:
            return f"_xlop.{token['optional']}"
        word = token["word"]
        if not word:
            return token[0]
        return _NEWER.get(word, word) if word.isupper() else f"_xlpm.{word}"

    return _TOKEN.sub(spelled, text)


def typed(wanted: Definition) -> str:
    """Write a function as a LAMBDA, as it would be typed into the Name Manager."""
    places = [_Given(letter, one) for letter, one in zip(_LETTERS, wanted.arguments)]
    names = [one._replace(name=_variable(one.name)).spelled for one in wanted.parameters]
    steps = [*excel_helpers.STEPS, ("us", excel_helpers.SYSTEM if wanted.takes_units else "FALSE")]
    steps += [(one.given, f'IF(ISOMITTED({one.name}),"",{one.name})') for one in places]
    if wanted.native:
        shared = dict.fromkeys(one.dimension for one in wanted.arguments if _is_shared(one, wanted))
        steps += [(_reader(one), _reading(one)) for one in shared]
        answer = _answer(wanted, places)
    else:
        answer = _conversion(*places)
    steps.append(("answer", f"LAMBDA({_listed(one.cell for one in places)},{answer})"))
    return f"LAMBDA({_listed(names)},{_let(steps, f'IF(ISERROR(us),us,{_spilled(places)})')})"


class _Given(NamedTuple):
    """The variables of one argument, from what is given to a metric number."""

    letter: str
    argument: Argument

    @property
    def name(self) -> str:
        """The argument's own variable."""
        return _variable(self.argument.name)

    @property
    def is_range(self) -> bool:
        return self.argument.is_range

    @property
    def given(self) -> str:
        """What was typed; an empty text where it was left out."""
        return f"{self.letter}_all"

    @property
    def cell(self) -> str:
        """The part of it that one answer is for."""
        return f"{self.letter}_one"

    @property
    def read(self) -> str:
        """Its metric numbers; an empty text where it is blank."""
        return f"{self.letter}_read"

    @property
    def value(self) -> str:
        """The numbers within the limits, or the default, or what is wrong."""
        return self.letter


def _variable(name: str) -> str:
    return _OTHERWISE_A_TABLE.get(name, name)


def _listed(texts: Iterable[str]) -> str:
    return ",".join(texts)


def _let(steps: Sequence[tuple[str, str]], result: str) -> str:
    if not steps:
        return result
    return f"LET({_listed(f'{name},{text}' for name, text in steps)},{result})"


def _spilled(places: Sequence[_Given]) -> str:
    """Write the call of the answer: once, or for each place where a range is given for a value."""
    once = f"answer({_listed(one.given for one in places)})"
    singles = [one.given for one in places if not one.is_range]
    if not singles:
        return once
    each = _listed(one.given if one.is_range else f"pick({one.given})" for one in places)
    place = _let([("pick", excel_helpers.PICK)], f"answer({each})")
    steps = [
        (name, f"MAX({_listed(f'{count}({one})' for one in singles)})")
        for name, count in (("tall", "ROWS"), ("wide", "COLUMNS"))
    ]
    every = f"MAKEARRAY(tall,wide,LAMBDA(down,across,{place}))"
    return _let(steps, f"IF(tall*wide=1,{once},{every})")


def _is_shared(argument: Argument, wanted: Definition) -> bool:
    """Return whether the reading of an argument is its own step: it is long, or needed again."""
    alike = [one for one in wanted.arguments if one.dimension == argument.dimension]
    return len(alike) > 1 or argument.dimension.is_date


def _reader(dimension: Dimension) -> str:
    return "read_" + dimension.name.replace(" ", "_")


def _reading(dimension: Dimension) -> str:
    """Write how any cell is read as a number in the metric unit."""
    if dimension.is_date:
        return excel_helpers.READ_DATE
    return f"LAMBDA(any,{_reading_of('any', dimension)})"


def _reading_of(cell: str, dimension: Dimension) -> str:
    """Write how a cell is read as a number in the metric unit; a blank stays an empty text."""
    plain = ["0", "1", "1"]
    us = [number_text(one) for one in (dimension.zero, dimension.factor, dimension.divisor)]
    plain = [one if one == other else f"IF(us,{other},{one})" for one, other in zip(plain, us)]
    return f"read({cell},{_listed([*plain, *unit_table(dimension)])})"


def _answer(wanted: Definition, places: Sequence[_Given]) -> str:
    """Write the answer to one call, with errors as real errors."""
    singles = [one for one in places if not one.is_range]
    ranges = [one for one in places if one.is_range]
    lines = _lines(wanted, ranges)
    steps = [(one.read, _read(one, wanted)) for one in places]
    steps += dict.fromkeys(lines.values())
    steps += [(one.value, _checked(one, _if_blank(one, wanted, places))) for one in singles]
    steps += [(one.value, _checked_range(one, lines[one][0])) for one in ranges]
    blank = [f"ISTEXT({one.read})" for one in singles if one.argument.required]
    blank += dict.fromkeys(f"NOT(OR({name}))" for name, _ in lines.values())
    faults = [one.value for one in singles] + [f"SUM({one.value})" for one in ranges]
    # A sum is a number where all of them are, and else the first error.
    steps.append(("total", "+".join(faults)))
    answer = f"IF(ISNUMBER(total),{_computed(wanted, places)},total)"
    answer = f'IF(AND({_listed(blank)}),"",{answer})'
    if wanted.paired and len(ranges) > 1:
        same = _listed(f"ROWS({ranges[0].read})=ROWS({one.read})" for one in ranges[1:])
        answer = f"IF(AND({same}),{answer},#VALUE!)"
    return _errors_first(singles, _let(steps, answer))


def _errors_first(singles: Sequence[_Given], answer: str) -> str:
    """Let an error value among the cells go before every other complaint.

    N gives a number for whatever is no error, and a sum is the first error in it.
    """
    if not singles:
        return answer
    fault = "+".join(f"N({one.cell})*0" for one in singles)
    return _let([("fault", fault)], f"IF(ISERROR(fault),fault,{answer})")


def _read(one: _Given, wanted: Definition) -> str:
    dimension = one.argument.dimension
    is_shared = _is_shared(one.argument, wanted)
    if one.is_range:
        reader = _reader(dimension) if is_shared else _reading(dimension)
        return f"TOCOL(MAP({one.cell},{reader}))"
    return f"{_reader(dimension)}({one.cell})" if is_shared else _reading_of(one.cell, dimension)


def _if_blank(one: _Given, wanted: Definition, places: Sequence[_Given]) -> str:
    """Write the value of a single cell that is blank."""
    if one.argument.default is not None:
        return number_text(one.argument.default)
    counted = wanted.blank_at_zero.get(one.argument.name)
    reads = [f"IF({other.read}=0,0,#N/A)" for other in places if other.argument.name == counted]
    return reads[0] if reads else "#N/A"


def _checked(one: _Given, blank: str) -> str:
    """Write the value of a single cell, or what is wrong with it."""
    return f"IF(ISTEXT({one.read}),{blank},{_limited(one.argument, one.read)})"


def _limited(argument: Argument, value: str) -> str:
    cell = Reference(value)
    limits = [plain(condition) for condition in limit_conditions(argument, cell, cell)]
    if not limits:
        return value
    holds = limits[0] if len(limits) == 1 else f"AND({_listed(limits)})"
    return f"IF({holds},{value},#NUM!)"


def _checked_range(one: _Given, lines: str) -> str:
    checked = f"LAMBDA(one,IF(ISTEXT(one),#N/A,{_limited(one.argument, 'one')}))"
    return f'MAP(FILTER({one.read},{lines},""),{checked})'


def _lines(wanted: Definition, ranges: Sequence[_Given]) -> dict[_Given, tuple[str, str]]:
    """Write which lines of each range count: those that are not blank in all of its kind."""
    found = {}
    for one in ranges:
        beside = ranges if wanted.paired else [one]
        name = f"{beside[0].letter}_lines"
        blank = _listed(f"ISTEXT({other.letter})" for other in beside)
        reads = _listed(other.read for other in beside)
        letters = _listed(other.letter for other in beside)
        filled = f"MAP({reads},LAMBDA({letters},NOT(AND({blank}))))"
        if wanted.unbroken:
            count = f"SEQUENCE(ROWS({beside[0].read}))"
            filled = f"{count}<=MAX({count}*{filled})"
        found[one] = (name, filled)
    return found


def _computed(wanted: Definition, places: Sequence[_Given]) -> str:
    """Write the native formula on metric values; what it repeats is computed once."""
    values: dict[str, Node] = {one.argument.name: Reference(one.value) for one in places}
    steps: dict[Node, Reference] = {}

    def put(tree: Node) -> Node:
        return steps.setdefault(tree, Reference(f"s_{ascii_lowercase[len(steps)]}"))

    def on_lists(tree: Node) -> Node:
        return filled(changed(tree, _of_list), values, put)

    assert wanted.native is not None
    core = on_lists(wanted.native)
    conditions = [on_lists(condition) for condition in wanted.requires]
    if any(core in walk(condition) for condition in conditions):
        conditions = [changed(each, {core: put(core)}.get) for each in conditions]
    core = steps.get(core, core)
    named = _with_shared_forms([(step.text, tree) for tree, step in steps.items()])
    if wanted.result.differs and wanted.takes_units:
        named.append(("metric", plain(core)))
        core = Call("IF", (_US, from_metric(_METRIC, wanted.result), _METRIC))
    if conditions:
        core = Call("IF", (Call("AND", tuple(conditions)), core, Error("#NUM!")))
    return _let(named, plain(core))


def _with_shared_forms(steps: Sequence[tuple[str, Node]]) -> list[tuple[str, str]]:
    """Write steps that differ only in their variables as calls of one, where that is shorter."""
    forms = Counter(_form(tree) for _, tree in steps)
    shared: list[tuple[str, str]] = []
    functions: dict[Node, str] = {}
    for name, tree in steps:
        form, text, variables = _form(tree), plain(tree), _variables(tree)
        function = functions.get(form, f"f_{ascii_lowercase[len(functions)]}")
        call = f"{function}({_listed(variables)})"
        definition = f"LAMBDA({_listed(_parameters(variables))},{plain(form)})"
        saved = (len(stored(text)) - len(stored(call))) * forms[form]
        if variables and saved > len(stored(f"{function},{definition},")):
            if form not in functions:
                functions[form] = function
                shared.append((function, definition))
            text = call
        shared.append((name, text))
    return shared


def _variables(tree: Node) -> list[str]:
    """Return the steps and arguments that a tree names, each once: it names nothing else."""
    return list(dict.fromkeys(node.text for node in walk(tree) if isinstance(node, Reference)))


def _parameters(variables: Sequence[str]) -> list[str]:
    return [f"p_{letter}" for letter, _ in zip(ascii_lowercase, variables)]


def _form(tree: Node) -> Node:
    """Return a tree with its variables by their order, whatever they are called."""
    variables = _variables(tree)
    forms = {Reference(one): Reference(to) for one, to in zip(variables, _parameters(variables))}
    return changed(tree, lambda node: forms.get(node) if isinstance(node, Reference) else None)


def _of_list(node: Node) -> Node | None:
    """Return what a computed list takes in place of a part of a native formula.

    A native formula counts numbers among blanks, and cuts a range by references to its cells. A
    computed list has no blanks and no cells.
    """
    if not isinstance(node, Call):
        return None
    cells = node.arguments[0] if node.arguments else None
    if node.name == "COUNT" and isinstance(cells, Place):
        return Call("ROWS", node.arguments)
    if node.name == "INDEX" and isinstance(cells, Operation) and isinstance(cells.left, Call):
        whole, first = cells.left.arguments
        return Call("DROP", (whole, Number("-1" if first == Number("1") else "1")))
    return None


def _conversion(quantity: _Given, unit: _Given) -> str:
    """Write the conversion of a text quantity to a unit of the same kind."""
    table = conversion_table()
    steps = [
        *zip(("names", "factors", "zeros"), table.units),
        ("kinds", table.kinds),
        ("target", f"EXACT(tidy({unit.cell}),names)"),
        ("alike", 'IF(kinds=SUM(target*kinds),names,"")'),
        # A plain number has no unit to convert from: it meets an error on its way.
        ("first", f"read({quantity.cell},#VALUE!,1,1,alike,factors,zeros)"),
    ]
    converted = _let(steps, "first/SUM(target*factors)+SUM(target*zeros)")
    texts = f"AND(ISTEXT({quantity.cell}),ISTEXT({unit.cell}))"
    blanks = f'(tidy({quantity.cell})="")+(tidy({unit.cell})="")'
    answer = f'CHOOSE(1+{blanks},IF({texts},{converted},#VALUE!),#N/A,"")'
    return _errors_first([quantity, unit], answer)
