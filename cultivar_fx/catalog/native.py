"""Native formulas: the definitions written out as plain spreadsheet formulas.

They use only functions that Excel 2010, LibreOffice and Google Sheets share, in comma syntax.
"""

from __future__ import annotations

from functools import partial, reduce
from typing import TYPE_CHECKING

from cultivar_fx.catalog.definition import PREFIX, formula_parts
from cultivar_fx.catalog.dimensions import METRIC, US, Dimension
from cultivar_fx.catalog.registry import definition
from cultivar_fx.formula.parse import parse
from cultivar_fx.formula.text import plain
from cultivar_fx.formula.tree import Call, Error, Node, Operation, Place, changed, number

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from cultivar_fx.catalog.definition import Argument, Definition

_NOT_POSSIBLE = Error("#NUM!")


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
    nodes = {name: parse(text) for name, text in arguments.items()}
    return plain(written_out(definition(name), nodes, units, guarded))


def written_out(
    wanted: Definition, arguments: Mapping[str, Node], units: str = METRIC, guarded: bool = False
) -> Node:
    """Return the native formula of a function as a tree; see ``formula``."""
    unknown = set(arguments) - {argument.name for argument in wanted.arguments}
    if unknown:
        raise ValueError(f"{wanted.name} has no argument {', '.join(sorted(unknown))}")
    assert wanted.native is not None
    places = _places(wanted, arguments, units)
    metric_places = _metric_places(wanted, arguments, units)
    if units == METRIC or wanted.unit_free or _factors_cancel(wanted, arguments):
        core = filled(wanted.native, places)
    else:
        core = from_metric(filled(wanted.native, metric_places), wanted.result)
    if not guarded:
        return core
    limits = [
        condition
        for argument in wanted.arguments
        for condition in limit_conditions(
            argument,
            *(
                _metric(wanted, argument, end, arguments, units)
                for end in _ends(argument, places[argument.name])
            ),
        )
    ]
    checks = _number_checks(wanted, places)
    for conditions in (limits, [filled(each, metric_places) for each in wanted.requires]):
        if conditions:
            checks.append((Call("AND", tuple(conditions)), _NOT_POSSIBLE))
    for condition, otherwise in reversed(checks):
        core = Call("IF", (condition, core, otherwise))
    return core


def requirement(wanted: Definition, arguments: Mapping[str, Node], units: str = METRIC) -> Node:
    """Return the condition across arguments under which a function has an answer.

    Parameters
    ----------
    wanted : Definition
        The function.
    arguments : mapping
        What stands for each argument, as for ``written_out``.
    units : str
        The system of the plain numbers in the cells.
    """
    places = _metric_places(wanted, arguments, units)
    return Call("AND", tuple(filled(each, places) for each in wanted.requires))


def filled(
    native: Node, places: Mapping[str, Node], put: Callable[[Node], Node] | None = None
) -> Node:
    """Return a tree with its places filled, and the functions that it names written out.

    ``put`` says what stands for a function that is written out: the tree itself, unless the
    program has names for steps on the way.
    """

    def fill(node: Node) -> Node | None:
        if isinstance(node, Place):
            return places[node.key]
        if not isinstance(node, Call) or not node.name.startswith(PREFIX):
            return None
        values = [filled(value, places, put) for value in node.arguments]
        tree = filled(*_called(node.name[len(PREFIX) :], values), put)
        return put(tree) if put else tree

    return changed(native, fill)


def _called(name: str, values: Sequence[Node]) -> tuple[Node, dict[str, Node]]:
    """Return the native formula of a function or part, and what goes into its places."""
    part = formula_parts().get(name)
    if part is not None:
        assert part.native is not None
        return part.native, dict(zip(part.arguments, values))
    wanted = definition(name)
    assert wanted.native is not None
    given = dict(zip((argument.name for argument in wanted.arguments), values))
    return wanted.native, _places(wanted, given, METRIC)


def _places(wanted: Definition, arguments: Mapping[str, Node], units: str) -> dict[str, Node]:
    """Return what stands for each argument, defaults in the metric unit where units count."""
    system = units if wanted.unit_free else METRIC
    return {one.name: _place(one, arguments, system) for one in wanted.arguments}


def _place(argument: Argument, arguments: Mapping[str, Node], units: str) -> Node:
    if argument.name in arguments:
        return arguments[argument.name]
    if argument.default is None:
        raise ValueError(f"argument {argument.name} is missing")
    if units == US:
        return number(float(f"{argument.dimension.from_metric(argument.default):.12g}"))
    return number(argument.default)


def _metric_places(
    wanted: Definition, arguments: Mapping[str, Node], units: str
) -> dict[str, Node]:
    places = _places(wanted, arguments, units)
    return {
        one.name: _metric(wanted, one, places[one.name], arguments, units)
        for one in wanted.arguments
    }


def _metric(
    wanted: Definition, argument: Argument, node: Node, arguments: Mapping[str, Node], units: str
) -> Node:
    in_units = argument.name in arguments or wanted.unit_free
    return _to_metric(node, argument.dimension) if units == US and in_units else node


def _to_metric(node: Node, dimension: Dimension) -> Node:
    if not dimension.differs:
        return node
    if dimension.zero:
        node = Operation("-", node, number(dimension.zero))
    node = Operation("*", node, number(dimension.factor))
    return Operation("/", node, number(dimension.divisor)) if dimension.divisor != 1 else node


def from_metric(node: Node, dimension: Dimension) -> Node:
    """Turn a metric number into that of the us system."""
    if not dimension.differs:
        return node
    if dimension.divisor != 1:
        node = Operation("*", node, number(dimension.divisor))
    node = Operation("/", node, number(dimension.factor))
    return Operation("+", node, number(dimension.zero)) if dimension.zero else node


def _factors_cancel(wanted: Definition, arguments: Mapping[str, Node]) -> bool:
    """Return whether all that has a unit is of one dimension, so that factors cancel.

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
    """Return whether a default is one number in one unit system, and another in the other."""
    return argument.dimension.differs and argument.default != 0


def _ends(argument: Argument, cells: Node) -> tuple[Node, Node]:
    """Return what the lower and the upper limit hold for."""
    if argument.is_range:
        return Call("MIN", (cells,)), Call("MAX", (cells,))
    return cells, cells


def _number_checks(wanted: Definition, places: Mapping[str, Node]) -> list[tuple[Node, Node]]:
    """Return what has to hold for the cells to be numbers, each with the error where it does not.

    A sum shows the error of an argument that is text or an error itself.
    """
    checks: list[tuple[Node, Node]] = []
    singles = {a.name: places[a.name] for a in wanted.arguments if not a.is_range and not a.is_text}
    ranges = [places[a.name] for a in wanted.arguments if a.is_range]

    def check(condition: str, otherwise: str, cells: Node, first: Node | None = None) -> None:
        given = {"cells": cells, "first": first or cells}
        checks.append((filled(parse(condition), given), filled(parse(otherwise), given)))

    if singles:
        filled_in = [cell for name, cell in singles.items() if name not in wanted.blank_at_zero]
        are_numbers = Operation("=", Call("COUNT", tuple(filled_in)), number(len(filled_in)))
        fault = reduce(partial(Operation, "+"), [*singles.values(), Error("#N/A")])
        checks.append((are_numbers, fault))
    for name, counted in wanted.blank_at_zero.items():
        may_be_blank = 'OR(COUNT({cells})=1,AND({first}=0,{cells}=""))'
        check(may_be_blank, "{cells}+#N/A", singles[name], singles[counted])
    for cells in ranges:
        all_cells = "COUNT({cells})+COUNTBLANK({cells})=ROWS({cells})*COLUMNS({cells})"
        check(all_cells, "SUM({cells})+#VALUE!", cells)
        check("COUNT({cells})>0", "#N/A", cells)
    for cells in ranges[1:] if wanted.paired else ():
        same_shape = "AND(ROWS({first})=ROWS({cells}),COLUMNS({first})=COLUMNS({cells}))"
        check(same_shape, "#VALUE!", cells, ranges[0])
        check('SUMPRODUCT(--(({first}="")<>({cells}="")))=0', "#N/A", cells, ranges[0])
    for cells in ranges[:1] if wanted.unbroken else ():
        filled_cells = "COUNT(INDEX({cells},1):INDEX({cells},COUNT({cells})))"
        check(f"{filled_cells}=COUNT({{cells}})", "#N/A", cells)
    return checks


def limit_conditions(argument: Argument, low: Node, high: Node) -> list[Node]:
    """Return the conditions that keep an argument within its limits."""
    limits = argument.limits
    conditions: list[Node] = []
    if limits.low is not None:
        conditions.append(Operation(">" if limits.above else ">=", low, number(limits.low)))
    if limits.high is not None:
        conditions.append(Operation("<" if limits.below else "<=", high, number(limits.high)))
    if limits.whole:
        conditions.append(Operation("=", low, Call("INT", (low,))))
    return conditions
