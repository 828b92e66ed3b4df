"""Reads the formula of a worksheet function from the lines of the Python function itself.

What a stage module computes is arithmetic: sums and powers, a few functions of ``math``, a choice
between two branches. Read as it stands it is a formula, and each ``if ...: raise`` in it is a
condition under which there is an answer at all. What a spreadsheet does in another way, such as
a loop, cannot be read; there the decorator gives the formula.
"""

from __future__ import annotations

import ast
import inspect
import math
import sys
from functools import lru_cache
from types import FunctionType, MethodType
from typing import Any, Callable, Dict, Iterable, List, NamedTuple, Optional, Sequence, Tuple

from cultivar_fx.formula.tree import Call, Node, Operation, Place, Sign, changed, is_node, number

_OPERATORS = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.Pow: "^",
    ast.Eq: "=",
    ast.NotEq: "<>",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
}
_OPPOSITES = {"=": "<>", "<>": "=", "<": ">=", ">=": "<", ">": "<=", "<=": ">"}
_SAME: Dict[Any, str] = {
    len: "COUNT",
    min: "MIN",
    max: "MAX",
    math.exp: "EXP",
    math.log: "LN",
    math.sqrt: "SQRT",
    math.sin: "SIN",
    math.cos: "COS",
    math.floor: "INT",
}
"""Functions that a spreadsheet has too, under its own name."""


class NotReadable(SyntaxError):
    """A line that is no formula."""


class Reading(NamedTuple):
    """What the lines of a function say."""

    result: Optional[Node]
    """What it gives back; nothing where that is no formula."""
    conditions: Tuple[Node, ...]
    """What has to hold, so that there is a result."""
    unread: Tuple[int, ...]
    """The lines of the module whose conditions are no formula."""


class Named(NamedTuple):
    """A function that formulas have a name for."""

    name: str
    arguments: Sequence[str]
    requires: Sequence[Node]
    """What has to hold between its arguments."""

    def call(self, values: Sequence[Node]) -> Tuple[Node, List[Node]]:
        """Return a call of it, and what has to hold for the values given."""
        places = dict(zip(self.arguments, values))

        def fill(node: Node) -> Optional[Node]:
            return places.get(node.key) if isinstance(node, Place) else None

        return Call(self.name, tuple(values)), [changed(each, fill) for each in self.requires]


Names = Callable[[object], Optional[Named]]


def read(function: Callable[..., Any], names: Names) -> Reading:
    """Return the formula and the conditions of a function.

    Parameters
    ----------
    function : function
        A plain function; its arguments become places.
    names : callable
        Gives the name that formulas have for another function; nothing where they have none, and
        its own lines are read in its place.
    """
    notes = _Notes(names)
    places = [Place(argument.arg) for argument in _lines(function).args.args]
    try:
        result = _Reader(function, places, notes).result()
    except NotReadable:
        result = None
    node = None if result is None or isinstance(result, tuple) else _node(result)
    return Reading(node, tuple(dict.fromkeys(notes.conditions)), tuple(notes.unread))


@lru_cache(maxsize=None)
def _module(name: str) -> Dict[int, ast.FunctionDef]:
    """Return the functions of a module by their first line, as Python counts it."""
    lines = ast.walk(ast.parse(inspect.getsource(sys.modules[name])))
    functions = [line for line in lines if isinstance(line, ast.FunctionDef)]
    return {
        min([function.lineno, *(line.lineno for line in function.decorator_list)]): function
        for function in functions
    }


def _lines(function: Any) -> ast.FunctionDef:
    return _module(function.__module__)[function.__code__.co_firstlineno]


class _Notes:
    """What is noted while a function and those that it calls are read."""

    def __init__(self, names: Names) -> None:
        self.names = names
        self.conditions: List[Node] = []
        self.unread: List[int] = []


class _Reader:
    """Reads one function, its arguments given.

    A value is a node, a tuple of values, or what Python has under a name: a number, a function.
    """

    def __init__(self, function: Any, arguments: Sequence[Any], notes: _Notes) -> None:
        self.lines = _lines(function)
        self.notes = notes
        self.globals = function.__globals__
        names = [argument.arg for argument in self.lines.args.args]
        defaults = inspect.signature(function).parameters
        self.values: Dict[str, Any] = {
            name: arguments[at] if at < len(arguments) else defaults[name].default
            for at, name in enumerate(names)
        }

    def result(self) -> Any:
        """Return what the function gives back; None where it gives nothing."""
        return self.block(self.lines.body)

    def block(self, statements: Sequence[ast.stmt]) -> Any:
        """Read statements up to what they give back."""
        for at, statement in enumerate(statements):
            if isinstance(statement, ast.Return):
                return self.value(statement.value)
            if isinstance(statement, ast.If) and not isinstance(statement.body[0], ast.Raise):
                otherwise = [*statement.orelse, *statements[at + 1 :]]
                return self.choice(
                    statement.test, self.block(statement.body), self.block(otherwise)
                )
            self.step(statement)
        return None

    def step(self, statement: ast.stmt) -> None:
        """Read a statement that gives nothing back: a condition, or a value under a name."""
        if isinstance(statement, ast.If):
            self.condition(statement)
        elif isinstance(statement, ast.Assign):
            self.bind(statement.targets[0], self.value_or_fault(statement.value))
        elif isinstance(statement, ast.AnnAssign):
            self.bind(statement.target, self.value_or_fault(statement.value))
        elif isinstance(statement, ast.For) and isinstance(statement.iter, ast.Tuple):
            for each in self.value(statement.iter):
                self.bind(statement.target, each)
                self.block(statement.body)
        elif isinstance(statement, ast.Expr):
            self.value_or_fault(statement.value)
        else:
            hidden = [line for line in ast.walk(statement) if isinstance(line, ast.Raise)]
            self.notes.unread += [line.lineno for line in hidden]
            for name in ast.walk(statement):
                if isinstance(name, ast.Name) and isinstance(name.ctx, ast.Store):
                    self.values[name.id] = NotReadable(f"{name.id} is not read")

    def condition(self, statement: ast.If) -> None:
        """Note that what a raise stands under must not hold."""
        try:
            self.notes.conditions += _opposite(self.value(statement.test))
        except NotReadable:
            self.notes.unread.append(statement.lineno)

    def bind(self, target: ast.expr, value: Any) -> None:
        """Keep a value under its name, or several under theirs."""
        if isinstance(target, ast.Name):
            self.values[target.id] = value
        elif isinstance(target, ast.Tuple):
            parts = value if isinstance(value, tuple) else [value] * len(target.elts)
            for name, part in zip(target.elts, parts):
                self.bind(name, part)

    def value_or_fault(self, expression: Optional[ast.expr]) -> Any:
        """Return a value; where it cannot be read, the fault that using it is."""
        try:
            return self.value(expression)
        except NotReadable as fault:
            return fault

    def value(self, expression: Optional[ast.expr]) -> Any:
        """Return what an expression stands for."""
        read = getattr(self, f"read_{type(expression).__name__.lower()}", None)
        if read is None:
            raise NotReadable(f"{type(expression).__name__} is no part of a formula")
        value = read(expression)
        if isinstance(value, NotReadable):
            raise value
        return value

    def node(self, expression: ast.expr) -> Node:
        """Return an expression as a node."""
        return _node(self.value(expression))

    def read_constant(self, expression: ast.Constant) -> Any:
        """Return a number or a text."""
        return expression.value

    def read_name(self, expression: ast.Name) -> Any:
        """Return what a name stands for here, in the module, or in Python."""
        name = expression.id
        if name in self.values:
            return self.values[name]
        builtins = vars(__import__("builtins"))
        value = self.globals.get(name, builtins.get(name))
        return Call("PI", ()) if value is math.pi else value

    def read_attribute(self, expression: ast.Attribute) -> Any:
        """Return a part of what Python has under a name."""
        value = self.value(expression.value)
        if is_node(value):
            raise NotReadable(f"{expression.attr} is no part of a formula")
        return getattr(value, expression.attr)

    def read_tuple(self, expression: ast.Tuple) -> Tuple[Any, ...]:
        """Return several values."""
        return tuple(map(self.value, expression.elts))

    def read_binop(self, expression: ast.BinOp) -> Node:
        """Return an operation."""
        sign = _OPERATORS.get(type(expression.op))
        if sign is None:
            raise NotReadable(f"{type(expression.op).__name__} is no operator of a formula")
        left, right = self.node(expression.left), self.node(expression.right)
        if sign == "+" and (positive := _without_minus(right)):
            return Operation("-", left, positive)
        return Operation(sign, left, right)

    def read_unaryop(self, expression: ast.UnaryOp) -> Node:
        """Return what a sign or a ``not`` stands before."""
        node = self.node(expression.operand)
        if isinstance(expression.op, ast.Not):
            return _all(_opposite(node))
        return Sign("-", node)

    def read_compare(self, expression: ast.Compare) -> Node:
        """Return a comparison, or several that all have to hold."""
        nodes = [self.node(each) for each in (expression.left, *expression.comparators)]
        signs = [_OPERATORS[type(each)] for each in expression.ops]
        return _all(
            [Operation(sign, left, right) for sign, left, right in zip(signs, nodes, nodes[1:])]
        )

    def read_boolop(self, expression: ast.BoolOp) -> Node:
        """Return conditions that hold all, or one of them."""
        name = "AND" if isinstance(expression.op, ast.And) else "OR"
        return Call(name, tuple(map(self.node, expression.values)))

    def read_ifexp(self, expression: ast.IfExp) -> Any:
        """Return one of two values."""
        return self.choice(
            expression.test, self.value(expression.body), self.value(expression.orelse)
        )

    def choice(self, test: ast.expr, then: Any, otherwise: Any) -> Any:
        """Return one of two values, or of two tuples of them, by a condition."""
        if isinstance(then, tuple) and isinstance(otherwise, tuple):
            return tuple(self.choice(test, *pair) for pair in zip(then, otherwise))
        return Call("IF", (self.node(test), _node(then), _node(otherwise)))

    def read_listcomp(self, expression: ast.ListComp) -> Any:
        """Return a list as one node: an operation on whole ranges."""
        return self.each(expression)

    def read_generatorexp(self, expression: ast.GeneratorExp) -> Any:
        """Return a list as one node."""
        return self.each(expression)

    def each(self, expression: Any) -> Any:
        """Read an element of a list with the ranges in place of their elements."""
        if len(expression.generators) != 1 or expression.generators[0].ifs:
            raise NotReadable("such a list is no formula")
        source = self.value(expression.generators[0].iter)
        before = dict(self.values)
        self.bind(expression.generators[0].target, source)
        element = self.value(expression.elt)
        self.values = before
        return element

    def read_call(self, expression: ast.Call) -> Any:
        """Return what a call gives: a call of the same function, or what its lines say."""
        function = self.value(expression.func)
        arguments: List[Any] = []
        for argument in expression.args:
            if isinstance(argument, ast.Starred):
                arguments += self.value(argument.value)
            else:
                arguments.append(self.value(argument))
        if expression.keywords:
            raise NotReadable("arguments of formulas have no names")
        named = self.notes.names(function)
        if named:
            call, conditions = named.call([_node(each) for each in arguments])
            self.notes.conditions += conditions
            return call
        if function in _SAME:
            alone = arguments[0] if isinstance(arguments[0], tuple) else arguments
            return Call(_SAME[function], tuple(map(_node, alone)))
        if function is math.ceil:
            return Sign("-", Call("INT", (Sign("-", _node(arguments[0])),)))
        if function is math.fsum:
            return _sum(_node(arguments[0]))
        if function is zip:
            return tuple(arguments)
        if function is map:
            return self.inlined(arguments[0], arguments[1:])
        return self.inlined(function, arguments)

    def inlined(self, function: Any, arguments: Sequence[Any]) -> Any:
        """Return what the lines of another function say."""
        if isinstance(function, MethodType):
            return self.inlined(function.__func__, [function.__self__, *arguments])
        if not isinstance(function, FunctionType):
            raise NotReadable(f"{function!r} is no part of a formula")
        return _Reader(function, arguments, self.notes).result()


def _node(value: Any) -> Node:
    if is_node(value):
        node: Node = value
        return node
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise NotReadable(f"{value!r} is no part of a formula")
    return number(value)


def _without_minus(node: Node) -> Optional[Node]:
    """Return a number or product without the minus before it; nothing where there is none."""
    if isinstance(node, Sign):
        return node.operand
    if isinstance(node, Operation) and node.operator in "*/":
        left = _without_minus(node.left)
        return Operation(node.operator, left, node.right) if left else None
    return None


def _sum(node: Node) -> Node:
    """Return the sum of a list; of products of lists, with the lists side by side."""
    # A plain SUM takes no computed list, such as a range in pounds brought to kilograms.
    return Call("SUMPRODUCT", tuple(_factors(node)))


def _factors(node: Node) -> Iterable[Node]:
    if isinstance(node, Operation) and node.operator == "*":
        return [*_factors(node.left), *_factors(node.right)]
    return [node]


def _opposite(condition: Node) -> List[Node]:
    """Return what holds, all of it, where a condition does not."""
    if isinstance(condition, Operation) and condition.operator in _OPPOSITES:
        return [Operation(_OPPOSITES[condition.operator], condition.left, condition.right)]
    if isinstance(condition, Call) and condition.name == "OR":
        return [other for each in condition.arguments for other in _opposite(each)]
    if isinstance(condition, Call) and condition.name == "AND":
        either = [_all(_opposite(each)) for each in condition.arguments]
        return [Call("OR", tuple(either))]
    return [Call("NOT", (condition,))]


def _all(conditions: Sequence[Node]) -> Node:
    """Return one condition for several that have to hold."""
    return conditions[0] if len(conditions) == 1 else Call("AND", tuple(conditions))
