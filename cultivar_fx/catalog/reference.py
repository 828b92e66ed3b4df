"""The functions described for readers: signatures, examples as typed, tables, pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cultivar_fx.catalog.dimensions import METRIC
from cultivar_fx.catalog.native import formula
from cultivar_fx.catalog.registry import STAGES, functions
from cultivar_fx.formula.text import number_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cultivar_fx.catalog.definition import Argument, Definition, Parameter
    from cultivar_fx.catalog.dimensions import Dimension

_UNITS_HELP = '"metric" (as it is if left out) or "us".'
_REST_HELP = "Its arguments, in order."
"""What the argument ``units`` takes, which stands behind the others."""

_WITHOUT_UNIT = frozenset({"count", "number", "text", "date", "money"})


def signature(wanted: Definition) -> str:
    """Write a function with its arguments, the optional ones in square brackets."""
    names = ", ".join(parameter.spelled for parameter in wanted.parameters)
    return f"{wanted.worksheet_name}({names})"


def typed_example(wanted: Definition) -> str:
    """Write the worked example as it is typed into a cell."""
    return typed_call(wanted, wanted.example.arguments)


def typed_call(wanted: Definition, arguments: Sequence[object]) -> str:
    """Write a call as it is typed into a cell."""
    return f"={wanted.worksheet_name}({','.join(map(_typed, arguments))})"


def _typed(value: object) -> str:
    if isinstance(value, (list, tuple)):
        return "{" + ";".join(map(_typed_in_braces, value)) + "}"
    if value is None:  # left out
        return ""
    if isinstance(value, str):
        return value if _is_percent(value) else f'"{value}"'
    return number_text(float(value)) if isinstance(value, (int, float)) else str(value)


def _typed_in_braces(value: object) -> str:
    """Write a value within braces, where no spreadsheet program takes a percent sign."""
    if isinstance(value, str) and _is_percent(value):
        return number_text(float(f"{float(value[:-1]) / 100:.12g}"))
    return _typed(value)


def _is_percent(text: str) -> bool:
    return text.endswith("%") and text[:-1].replace(".", "", 1).isdigit()


def example_answer(wanted: Definition) -> str:
    """Write the answer of the worked example with its unit."""
    value = wanted.example.value.strip("'")
    if value.startswith("datetime.date("):
        year, month, day = value[len("datetime.date(") : -1].split(", ")
        value = f"{year}-{int(month):02}-{int(day):02}"
    unit = unit_text(wanted.result, METRIC)
    return f"{value} {unit}".rstrip()


def unit_text(dimension: Dimension, units: str) -> str:
    """Return the unit that stands behind an answer, if there is any to name."""
    label = dimension.unit(units)
    return "" if dimension.name in _WITHOUT_UNIT or dimension.is_share else label


def units_named(dimension: Dimension) -> str:
    """Name the units in which a plain number is read, in both systems."""
    if dimension.differs:
        return f"{dimension.metric}, or {dimension.us} with us"
    return dimension.metric


def markdown_table() -> str:
    """Write all functions as tables in Markdown, one for each stage."""
    parts = []
    for stage, title in STAGES.items():
        rows = [one for one in functions().values() if one.stage == stage]
        lines = [f"## {title}", "", "| type | answers | example |", "| --- | --- | --- |"]
        lines += [
            f"| `{signature(one)}` | {one.summary} | `{typed_example(one)}` → "
            f"{example_answer(one)} |"
            for one in rows
        ]
        parts.append("\n".join(lines))
    return "\n\n".join(parts) + "\n"


def overview() -> str:
    """Write all functions for a terminal: name and summary under the stages of the work."""
    width = max(len(name) for name in functions()) + 2
    lines: list[str] = []
    for stage, title in STAGES.items():
        rows = [one for one in functions().values() if one.stage == stage]
        lines += [title, *(f"  {one.name:<{width}}{one.summary}" for one in rows), ""]
    lines.append("cultivar-fx functions NAME shows one of them in full.")
    return "\n".join(lines)


def page(wanted: Definition) -> str:
    """Write one function in full for a terminal."""
    lines = [signature(wanted), "", wanted.summary, ""]
    if wanted.parameters:
        width = max(len(each.name) for each in wanted.parameters) + 2
        lines += ["Arguments"]
        lines += [f"  {each.name:<{width}}{parameter_help(each)}" for each in wanted.parameters]
        lines.append("")
    lines += [
        f"Answer: {wanted.result_help} [{units_named(wanted.result)}]",
        "",
        f"Example: {typed_example(wanted)}",
        f"         {example_answer(wanted)}",
        "",
    ]
    if wanted.native:
        places = {one.name: one.name for one in wanted.arguments}
        lines += [f"Plain formula: ={formula(wanted.name, places)}", ""]
    lines.append(f"Source: {wanted.source}")
    return "\n".join(lines)


def parameter_help(parameter: Parameter) -> str:
    """Return what a parameter of a call takes."""
    if parameter.argument is not None:
        return argument_help(parameter.argument)
    return _REST_HELP if parameter.takes_rest else _UNITS_HELP


def argument_help(one: Argument) -> str:
    """Describe what an argument takes: its help, units, limits, and what it is if left out."""
    limits = one.limits.text(one.dimension, METRIC)
    about = ", ".join(filter(None, (units_named(one.dimension), limits)))
    default = "" if one.default is None else f" {number_text(one.default)} if left out."
    kind = " A range." if one.is_range else ""
    return f"{one.help} [{about}]{default}{kind}"
