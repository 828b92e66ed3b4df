"""What a worksheet function is: the decorator, and the definition read from the function.

A stage module holds plain functions on floats. Name, summary, arguments, units, limits, defaults,
example and source are read from the signature and the numpydoc docstring, the native formula and
its conditions from the lines of the function, so each is written once. The decorator adds what
the function cannot say itself: a formula where a spreadsheet goes another way.

In a docstring the text of an argument ends in its unit and limits: ``Mass now [kg; 0 or more].``
"""

from __future__ import annotations

import ast
import inspect
import math
import re
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from cultivar_fx.catalog.dimensions import DIMENSIONS, US, Dimension
from cultivar_fx.formula.from_python import Named, Reading, read
from cultivar_fx.formula.parse import parse
from cultivar_fx.formula.tree import Call

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from cultivar_fx.formula.tree import Node

PREFIX = "CFX."
FUNCTION = TypeVar("FUNCTION", bound="Callable[..., Any]")
_REGISTERED: dict[str, Definition] = {}
_PARTS: dict[str, FormulaPart] = {}

_NUMBER = r"-?\d[\d.]*"
_LIMITS = re.compile(
    rf"(?:(?P<above>above )?(?P<low>{_NUMBER})(?: or more)?)?"
    rf"(?: to (?P<below>below )?(?P<high>{_NUMBER}))?(?P<whole>,? ?whole)?"
)
_DIGITS_OF_LIMITS, _EXACT = 3, 1e-9
"""A prompt says limits in other units in so many digits, unless they are exact in fewer."""
_IN_WORDS = {">": "above ", ">=": "", "<": "to below ", "<=": "to "}
_UNIT_AND_LIMITS = re.compile(r"\s*\[([^\];]+)(?:; ([^\]]+))?\]\.")


class Limits(NamedTuple):
    """The numbers that an argument may be, in its metric unit."""

    low: float | None = None
    high: float | None = None
    above: bool = False
    below: bool = False
    whole: bool = False

    def hold(self, number: float) -> bool:
        """Return whether a number lies within the limits."""
        if self.low is not None and (number <= self.low if self.above else number < self.low):
            return False
        if self.high is not None and (number >= self.high if self.below else number > self.high):
            return False
        return not self.whole or number == int(number)

    def text(self, dimension: Dimension, system: str, is_prompt: bool = False) -> str:
        """Describe the limits as a part of a sentence, in the unit of a system.

        A prompt says numbers that are converted in a few digits, a refusal as they are.
        """
        is_rounded = is_prompt and system == US and dimension.differs
        parts = [
            _IN_WORDS[sign] + f"{_inward(limit, sign) if is_rounded else limit:g}"
            for sign, limit in self.compared(dimension, system)
        ]
        words = " ".join(parts)
        if self.high is None and self.low is not None and not self.above:
            words += " or more"
        if self.whole:
            words += ", whole" if words else "whole"
        return words

    def compared(self, dimension: Dimension, system: str) -> list[tuple[str, float]]:
        """Return the limits as signs of comparison with numbers, in the unit of a system."""
        ends = (
            (">" if self.above else ">=", self.low),
            ("<" if self.below else "<=", self.high),
        )
        return [
            (sign, dimension.from_metric(limit) if system == US else limit)
            for sign, limit in ends
            if limit is not None
        ]


def _inward(limit: float, sign: str) -> float:
    """Round a limit in a few digits to the side on which all numbers are within it."""
    if not limit:
        return limit
    step = 10.0 ** (math.floor(math.log10(abs(limit))) - _DIGITS_OF_LIMITS + 1)
    nearest = round(limit / step) * step
    if math.isclose(nearest, limit, rel_tol=_EXACT):
        return nearest
    turn = math.ceil if sign in (">", ">=") else math.floor
    return turn(limit / step) * step


class Argument(NamedTuple):
    """One argument of a worksheet function."""

    name: str
    dimension: Dimension
    limits: Limits
    help: str
    default: float | None
    is_range: bool

    @property
    def required(self) -> bool:
        """Return whether the argument has no default."""
        return self.default is None

    @property
    def is_text(self) -> bool:
        """Return whether the argument is text to be handed over as it is."""
        return self.dimension.is_text


class Parameter(NamedTuple):
    """What a call may be given: an argument of the function, or what comes behind them."""

    name: str
    argument: Argument | None = None
    takes_rest: bool = False

    @property
    def optional(self) -> bool:
        """Whether it may be left out."""
        return not self.takes_rest and (self.argument is None or not self.argument.required)

    @property
    def spelled(self) -> str:
        """The name as a call is described: in square brackets where it may be left out."""
        return "…" if self.takes_rest else f"[{self.name}]" if self.optional else self.name


class Example(NamedTuple):
    """One worked example: the arguments as they are typed, and the value as printed."""

    arguments: tuple[Any, ...]
    value: str


class _Formula:
    """What a function computes, as a spreadsheet does it; read when it is first asked for."""

    def __init__(self, function: Callable[..., Any], native: str | None, requires: str) -> None:
        self.function = function
        self._native = native
        self._requires = requires

    @cached_property
    def native(self) -> Node | None:
        """The native formula, with a place for each argument; None where there can be none."""
        if self._native is not None:
            return parse(self._native) if self._native else None
        if self._reading.result is None:
            raise SyntaxError(f"{self.function.__name__} needs native=, since it is no formula")
        return self._reading.result

    @cached_property
    def requires(self) -> tuple[Node, ...]:
        """What has to hold between the arguments, so that there is an answer."""
        if self._native == "":
            return ()
        if self._requires:
            conditions = parse(f"AND({self._requires})")
            assert isinstance(conditions, Call)
            return conditions.arguments
        if self._reading.unread:
            line = self._reading.unread[0]
            name = self.function.__name__
            raise SyntaxError(f"{name} needs requires=, since line {line} is no formula")
        return self._reading.conditions

    @cached_property
    def _reading(self) -> Reading:
        return read(self.function, _name)


class FormulaPart(_Formula):
    """A step that several native formulas share and that is no worksheet function itself."""

    @property
    def arguments(self) -> tuple[str, ...]:
        """The names of the arguments, in order."""
        return tuple(inspect.signature(self.function).parameters)


class Definition(_Formula):
    """Everything about one worksheet function; whatever needs the docstring is read once."""

    def __init__(
        self,
        function: Callable[..., Any],
        native: str | None,
        requires: str,
        paired: bool,
        unbroken: bool,
        unit_free: bool,
        blank_at_zero: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(function, native, requires)
        self.python_name = function.__name__
        self.paired = paired
        self.unbroken = unbroken
        self.unit_free = unit_free
        self.blank_at_zero = dict(blank_at_zero or {})

    def __repr__(self) -> str:
        return f"<Definition {self.name}>"

    @property
    def name(self) -> str:
        """The worksheet name without its prefix, such as ``WATER_TO_ADD``."""
        return self.python_name.upper()

    @property
    def worksheet_name(self) -> str:
        """The worksheet name as typed, such as ``CFX.WATER_TO_ADD``."""
        return PREFIX + self.name

    @property
    def stage(self) -> str:
        """The stage of the work that the function belongs to, such as ``substrate``."""
        return self.function.__module__.rsplit(".", 1)[-1]

    @property
    def summary(self) -> str:
        """One line on what the function answers."""
        return _read(self).summary

    @cached_property
    def arguments(self) -> tuple[Argument, ...]:
        """The arguments in order, without ``units``."""
        return _read(self).arguments

    @cached_property
    def result(self) -> Dimension:
        """The dimension of the answer."""
        return _read(self).result

    @property
    def result_help(self) -> str:
        """What the answer is."""
        return _read(self).result_help

    @property
    def example(self) -> Example:
        """The worked example."""
        return _read(self).example

    @property
    def source(self) -> str:
        """Where the formula and its constants come from."""
        return _read(self).source

    @cached_property
    def takes_units(self) -> bool:
        """Return whether ``units`` is the last argument."""
        if self.variadic or any(argument.is_text for argument in self.arguments):
            return False
        if self.result.name.startswith("money per "):
            return False
        dimensions = [argument.dimension for argument in self.arguments] + [self.result]
        return any(dimension.has_unit for dimension in dimensions)

    @cached_property
    def parameters(self) -> tuple[Parameter, ...]:
        """What a call may be given, in order: the arguments, ``units``, another's arguments."""
        behind = [Parameter("units")] if self.takes_units else []
        if self.variadic:
            behind.append(Parameter("arguments", takes_rest=True))
        return (*(Parameter(one.name, one) for one in self.arguments), *behind)

    @cached_property
    def variadic(self) -> bool:
        """Return whether the function takes another function's arguments after its own."""
        return _read(self).variadic

    @cached_property
    def has_range(self) -> bool:
        """Return whether any argument is a range."""
        return any(argument.is_range for argument in self.arguments)

    @cached_property
    def takes_only_numbers(self) -> bool:
        """Return whether every argument is a single number."""
        return not any(argument.is_range or argument.is_text for argument in self.arguments)


class _Reading(NamedTuple):
    summary: str
    arguments: tuple[Argument, ...]
    result: Dimension
    result_help: str
    example: Example
    source: str
    variadic: bool


def worksheet_function(
    native: str | None = None,
    requires: str = "",
    paired: bool = True,
    unbroken: bool = False,
    unit_free: bool = False,
    blank_at_zero: Mapping[str, str] | None = None,
) -> Callable[[FUNCTION], FUNCTION]:
    """Make a plain function a worksheet function, and give it back unchanged.

    Parameters
    ----------
    native : str, optional
        The same computation as spreadsheet text, with ``{argument}`` places, in metric units,
        where the lines of the function are no formula. ``CFX.OTHER(...)`` stands for the native
        formula of another function or part. Empty where no formula can do it.
    requires : str
        What has to hold between the arguments, as spreadsheet text, where the lines that raise
        are no formula.
    paired : bool
        Whether the ranges belong together value by value.
    unbroken : bool
        Whether a blank line within the ranges is a fault; elsewhere it is skipped.
    unit_free : bool
        Whether the formula gives the same in either unit system, since only ratios of what is
        measured count, and zeros of scales cancel.
    blank_at_zero : mapping, optional
        Single arguments that may be blank while another argument, named beside them, is 0. The
        function takes 0 for such a blank, and its native formula ``N({argument})``.
    """

    def register(function: FUNCTION) -> FUNCTION:
        definition = Definition(
            function, native, requires, paired, unbroken, unit_free, blank_at_zero
        )
        _REGISTERED[definition.name] = definition
        return function

    return register


def formula_part(native: str | None = None) -> Callable[[FUNCTION], FUNCTION]:
    """Let native formulas name a shared step, such as ``CFX.AIR_PRESSURE(...)``."""

    def register(function: FUNCTION) -> FUNCTION:
        _PARTS[function.__name__.upper()] = FormulaPart(function, native, "")
        return function

    return register


def _name(function: object) -> Named | None:
    """Return what native formulas call a function; None where they have no name for it."""
    name = getattr(function, "__name__", "").upper()
    known = _REGISTERED.get(name) or _PARTS.get(name)
    if known is None or known.function is not function:
        return None
    return Named(PREFIX + name, list(inspect.signature(known.function).parameters), known.requires)


def registered() -> dict[str, Definition]:
    """Return the definitions made so far, by name, in the order of their making."""
    return _REGISTERED


def formula_parts() -> dict[str, FormulaPart]:
    """Return the shared steps of native formulas, by name."""
    return _PARTS


def parse_limits(text: str) -> Limits:
    """Read limits such as ``0 or more``, ``above 0 to below 1`` or ``1 or more, whole``."""
    match = _LIMITS.fullmatch(text)
    if match is None:
        raise SyntaxError(f"limits {text!r} are not understood")
    return Limits(
        low=None if match["low"] is None else float(match["low"]),
        high=None if match["high"] is None else float(match["high"]),
        above=bool(match["above"]),
        below=bool(match["below"]),
        whole=bool(match["whole"]),
    )


@lru_cache(maxsize=None)
def sections(function: Callable[..., Any]) -> dict[str, str]:
    """Split a numpydoc docstring into its sections; the summary is under the empty name."""
    text = inspect.cleandoc(function.__doc__ or "")
    parts = re.split(r"^(\w[\w ]*)\n-{3,}\n", text, flags=re.MULTILINE)
    names = ["", *parts[1::2]]
    return {name: body.strip("\n") for name, body in zip(names, parts[0::2])}


@lru_cache(maxsize=None)
def _read(definition: Definition) -> _Reading:
    function = definition.function
    parts = sections(function)
    signature = inspect.signature(function)
    described = dict(entries(parts.get("Parameters", "")))
    arguments = []
    variadic = False
    for parameter in signature.parameters.values():
        if parameter.kind is parameter.VAR_POSITIONAL:
            variadic = True
            continue
        kind, text = described[parameter.name]
        help_text, dimension, limits = _unit_and_limits(text)
        default = None if parameter.default is parameter.empty else float(parameter.default)
        arguments.append(
            Argument(parameter.name, dimension, limits, help_text, default, "sequence" in kind)
        )
    result_help, result, _ = _unit_and_limits(_joined(parts["Returns"].split("\n", 1)[1]))
    return _Reading(
        summary=_joined(parts[""].split("\n\n")[0]),
        arguments=tuple(arguments),
        result=result,
        result_help=result_help,
        example=_example(parts["Examples"]),
        source=_joined(parts["References"]),
        variadic=variadic,
    )


def _joined(text: str) -> str:
    return " ".join(text.split())


def entries(section: str) -> list[tuple[str, tuple[str, str]]]:
    """Return name, type and text of each entry of a Parameters section."""
    entries: list[tuple[str, tuple[str, str]]] = []
    for block in re.split(r"\n(?=\S)", section):
        head, _, body = block.partition("\n")
        name, _, kind = head.partition(" : ")
        entries.append((name, (kind, _joined(body))))
    return entries


def _unit_and_limits(text: str) -> tuple[str, Dimension, Limits]:
    match = _UNIT_AND_LIMITS.search(text)
    if match is None or match[1] not in DIMENSIONS:
        raise SyntaxError(f"no known unit in brackets before the full stop of {text!r}")
    limits = parse_limits(match[2]) if match[2] else Limits()
    return (text[: match.start()] + "." + text[match.end() :]), DIMENSIONS[match[1]], limits


def _example(section: str) -> Example:
    call, _, value = section.partition("\n")
    tree = ast.parse(call.replace(">>> ", "", 1), mode="eval").body
    if not isinstance(tree, ast.Call):
        raise SyntaxError(f"example {call!r} is not a call")
    return Example(tuple(ast.literal_eval(node) for node in tree.args), value.strip())
