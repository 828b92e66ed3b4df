"""Native formulas: the definitions written out as plain spreadsheet text.

They use only functions that Excel 2010, LibreOffice and Google Sheets share, in comma syntax.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from cultivar_fx.catalog import definition
from cultivar_fx.definition import PREFIX, formula_parts
from cultivar_fx.dimensions import METRIC, US, Dimension

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from cultivar_fx.definition import Argument, Definition

_PLACE = re.compile(r"\{(\w+)\}")
_CALL = re.compile(re.escape(PREFIX) + r"(\w+)\(")
_ATOM = re.compile(r"[\w.$!:']+(\[(\[[^\]]*\](,\[[^\]]*\])?|[^\[\]]*)\])?")
_BEFORE_BRACKET = re.compile(r"[A-Z][A-Z0-9.]*(?=\()|(?=\()")
_OPENING, _CLOSING = "({[", ")}]"
_MARK = re.compile(r"[\[\](){}\"',]")


def formula(
    name: str, arguments: Mapping[str, str], units: str = METRIC, guarded: bool = False
) -> str:
    """Write a function as a native formula, without the equals sign.

    Parameters
    ----------
    name : str
        The function's name.
    arguments : mapping
        Spreadsheet text for each argument: a cell, a range, a number. Optional arguments that
        are left out take their default.
    units : str
        The system of the plain numbers in the cells and of the answer.
    guarded : bool
        Whether the formula itself refuses what lies outside the limits, with the same kinds of
        error as the function. Cells with validated inputs do without.
    """
    wanted = definition(name)
    unknown = set(arguments) - {argument.name for argument in wanted.arguments}
    if unknown:
        raise ValueError(f"{wanted.name} has no argument {', '.join(sorted(unknown))}")
    places = _places(wanted, arguments, units)
    metric_places = _metric_places(wanted, arguments, units)
    if units == METRIC or wanted.unit_free or _factors_cancel(wanted, arguments):
        core = expand(wanted.native, places)
    else:
        core = from_metric(expand(wanted.native, metric_places), wanted.result)
    if not guarded:
        return core
    limits = [
        text
        for argument in wanted.arguments
        for text in limit_texts(
            argument,
            *(
                _metric(wanted, argument, end, arguments, units)
                for end in _ends(argument, places[argument.name])
            ),
        )
    ]
    checks = _number_checks(wanted, places)
    for conditions in (",".join(limits), expand(wanted.requires, metric_places)):
        if conditions:
            checks.append((f"AND({conditions})", "#NUM!"))
    for condition, otherwise in reversed(checks):
        core = f"IF({condition},{core},{otherwise})"
    return core


def requirement(name: str, arguments: Mapping[str, str], units: str = METRIC) -> str:
    """Write the condition across arguments under which a function has an answer.

    Parameters
    ----------
    name : str
        The function's name.
    arguments : mapping
        Spreadsheet text for each argument, as for ``formula``.
    units : str
        The system of the plain numbers in the cells.
    """
    wanted = definition(name)
    return f"AND({expand(wanted.requires, _metric_places(wanted, arguments, units))})"


def _places(wanted: Definition, arguments: Mapping[str, str], units: str) -> dict[str, str]:
    system_defaults = units if wanted.unit_free else METRIC
    return {one.name: _place(one, arguments, system_defaults) for one in wanted.arguments}


def _metric_places(wanted: Definition, arguments: Mapping[str, str], units: str) -> dict[str, str]:
    places = _places(wanted, arguments, units)
    return {
        one.name: _metric(wanted, one, places[one.name], arguments, units)
        for one in wanted.arguments
    }


def _metric(
    wanted: Definition, argument: Argument, text: str, arguments: Mapping[str, str], units: str
) -> str:
    in_units = argument.name in arguments or wanted.unit_free
    return _to_metric(text, argument.dimension) if units == US and in_units else text


def expand(native: str, places: Mapping[str, str], put: Callable[[str], str] | None = None) -> str:
    """Fill the places of a native text, and write out the functions that it names.

    ``put`` says what stands for a function that is written out: the text itself, in brackets
    where it needs them, unless the program has names for steps on the way.
    """
    text = _PLACE.sub(lambda match: _atom(places[match[1]]), native)
    while (call := _CALL.search(text)) is not None:
        values, end = split_call(text, call.end() - 1)
        written = expand(*_called(call[1], values), put)
        text = text[: call.start()] + (put or _atom)(written) + text[end + 1 :]
    return text


def _called(name: str, values: list[str]) -> tuple[str, dict[str, str]]:
    """Give the native text of a function or part, and what goes into its places."""
    part = formula_parts().get(name)
    if part is not None:
        return part.native, dict(zip(part.arguments, values))
    wanted = definition(name)
    given = dict(zip((argument.name for argument in wanted.arguments), values))
    return wanted.native, {one.name: _place(one, given) for one in wanted.arguments}


def _place(argument: Argument, arguments: Mapping[str, str], units: str = METRIC) -> str:
    if argument.name in arguments:
        return arguments[argument.name]
    if argument.default is None:
        raise ValueError(f"argument {argument.name} is missing")
    if units == US:
        return number_text(float(f"{argument.dimension.from_metric(argument.default):.12g}"))
    return number_text(argument.default)


def number_text(number: float) -> str:
    """Write a number as spreadsheet text."""
    return str(int(number)) if number == int(number) else repr(float(number))


def _atom(text: str) -> str:
    """Put brackets around a text that is no single cell, range, number, call or bracket."""
    if _ATOM.fullmatch(text):
        return text
    opening = _BEFORE_BRACKET.match(text)
    if opening is not None and _closing(text, opening.end()) == len(text) - 1:
        return text
    return f"({text})"


def _to_metric(text: str, dimension: Dimension) -> str:
    if not dimension.differs:
        return text
    shifted = f"({_atom(text)}-{number_text(dimension.zero)})" if dimension.zero else _atom(text)
    divided = f"/{number_text(dimension.divisor)}" if dimension.divisor != 1 else ""
    return f"{shifted}*{number_text(dimension.factor)}{divided}"


def from_metric(text: str, dimension: Dimension) -> str:
    """Turn the text of a metric number into that of the us system's number."""
    if not dimension.differs:
        return text
    times = f"*{number_text(dimension.divisor)}" if dimension.divisor != 1 else ""
    shifted = f"+{number_text(dimension.zero)}" if dimension.zero else ""
    return f"({text}){times}/{number_text(dimension.factor)}{shifted}"


def _factors_cancel(wanted: Definition, arguments: Mapping[str, str]) -> bool:
    """Tell whether all that has a unit is of one dimension, so that factors cancel.

    A native formula holds no dimensioned constant of its own where this is so; recalculation in
    both systems proves it.
    """
    if any(_is_quantity(one) for one in wanted.arguments if one.name not in arguments):
        return False
    dimensions = [argument.dimension for argument in wanted.arguments] + [wanted.result]
    differing = {dimension for dimension in dimensions if dimension.differs}
    if not differing:
        return True
    return (
        len(differing) == 1
        and not any(dimension.zero for dimension in differing)
        and any(argument.dimension.differs for argument in wanted.arguments)
        and (wanted.result in differing or wanted.result.name in ("fraction", "count"))
    )


def _is_quantity(argument: Argument) -> bool:
    """Tell whether a default is one number in one unit system, and another in the other."""
    return argument.dimension.differs and argument.default != 0


def _ends(argument: Argument, cells: str) -> tuple[str, str]:
    """Give what the lower and the upper limit hold for."""
    return (f"MIN({cells})", f"MAX({cells})") if argument.is_range else (cells, cells)


def _number_checks(wanted: Definition, places: dict[str, str]) -> list[tuple[str, str]]:
    """Give what has to hold for the cells to be numbers, each with the error where it does not.

    A sum shows the error of an argument that is text or an error itself.
    """
    checks = []
    scalars = [places[a.name] for a in wanted.arguments if not a.is_range and not a.is_text]
    ranges = [places[a.name] for a in wanted.arguments if a.is_range]
    if scalars:
        total = "+".join(map(_atom, scalars))
        checks.append((f"COUNT({','.join(scalars)})={len(scalars)}", f"{total}+#N/A"))
    for cells in ranges:
        filled_or_blank = f"COUNT({cells})+COUNTBLANK({cells})=ROWS({cells})*COLUMNS({cells})"
        checks.append((filled_or_blank, f"SUM({cells})+#VALUE!"))
        checks.append((f"COUNT({cells})>0", "#N/A"))
    for cells in ranges[1:] if wanted.paired else ():
        same_shape = f"ROWS({ranges[0]})=ROWS({cells}),COLUMNS({ranges[0]})=COLUMNS({cells})"
        checks.append((f"AND({same_shape})", "#VALUE!"))
        checks.append((f'SUMPRODUCT(--(({ranges[0]}="")<>({cells}="")))=0', "#N/A"))
    for cells in ranges[:1] if wanted.unbroken else ():
        filled = f"COUNT(INDEX({cells},1):INDEX({cells},COUNT({cells})))"
        checks.append((f"{filled}=COUNT({cells})", "#N/A"))
    return checks


def limit_texts(argument: Argument, low: str, high: str) -> list[str]:
    """Give the conditions that keep an argument within its limits."""
    limits = argument.limits
    texts = []
    if limits.low is not None:
        texts.append(f"{_atom(low)}{'>' if limits.above else '>='}{number_text(limits.low)}")
    if limits.high is not None:
        texts.append(f"{_atom(high)}{'<' if limits.below else '<='}{number_text(limits.high)}")
    if limits.whole:
        texts.append(f"{_atom(low)}=INT({low})")
    return texts


def split_call(text: str, opening: int) -> tuple[list[str], int]:
    """Split the arguments in the brackets that open at a position, and find where they close."""
    end = _closing(text, opening)
    return _split(text[opening + 1 : end]), end


def _closing(text: str, opening: int) -> int:
    """Find the bracket that closes the one at a position."""
    for position, depth, _ in _walk(text, opening):
        if depth == 0 and text[position] in _CLOSING:
            return position
    raise ValueError(f"unbalanced brackets in {text!r}")


def _split(text: str) -> list[str]:
    """Split an argument list at its own commas, not at those within brackets or quotes."""
    cuts = [
        position
        for position, depth, quoted in _walk(text, 0)
        if text[position] == "," and depth == 0 and not quoted
    ]
    edges = [-1, *cuts, len(text)]
    return [text[start + 1 : end].strip() for start, end in zip(edges, edges[1:])]


def _walk(text: str, start: int) -> Iterator[tuple[int, int, bool]]:
    """Give each bracket, quote and comma with its depth and whether it is within quotes."""
    depth = 0
    quote = ""
    for mark in _MARK.finditer(text, start):
        character = mark[0]
        if quote:
            quote = "" if character == quote else quote
        elif character in "\"'":
            quote = character
        elif character in _OPENING:
            depth += 1
        elif character in _CLOSING:
            depth -= 1
        yield mark.start(), depth, bool(quote)
