"""The commands on functions, and those that put them into spreadsheet programs."""

from __future__ import annotations

import re
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cultivar_fx.catalog.dimensions import METRIC, SYSTEMS
from cultivar_fx.errors import CellError
from cultivar_fx.terminal import say

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable
    from contextlib import AbstractContextManager
    from types import ModuleType

    from cultivar_fx.catalog.definition import Definition

    WholeFile = Callable[[Path, bool], AbstractContextManager[Path]]

WRONG_USE = 2
"""Exit status where the input has no answer."""


def add_functions(commands: Any) -> None:
    """Add the commands that answer from the functions to a parser's.

    Parameters
    ----------
    commands : argparse action
        What ``add_subparsers`` gave.
    """
    calc = commands.add_parser(
        "calc",
        help="work out one function, typed as in a cell",
        description="Work out one function, its arguments typed as in a cell.",
        epilog='For example: cultivar-fx calc WATER_TO_ADD "200 lb" 6% 62%. A range is typed '
        'in braces, "{10;6.8}". A blank is "". A date is typed as 2026-03-14.',
    )
    # A quantity below zero, such as -5C, is no option.
    calc._negative_number_matcher = re.compile(r"-\s*\.?\d")
    calc.add_argument("function", metavar="FUNCTION", help="its name, such as WATER_TO_ADD")
    calc.add_argument("values", nargs="*", metavar="ARGUMENT", help="its arguments in order")
    calc.add_argument(
        "--units", choices=SYSTEMS, help="how plain numbers are read, and the unit of the answer"
    )
    calc.set_defaults(run=_calc)

    functions = commands.add_parser(
        "functions",
        help="list the functions, or show one in full",
        description="List the functions by the stages of the work, or show one in full: its "
        "arguments, limits, a worked example, the plain formula and the source.",
        epilog="For example: cultivar-fx functions WATER_TO_ADD",
    )
    functions.add_argument("name", nargs="?", metavar="NAME", help="function to show")
    functions.add_argument(
        "--markdown", action="store_true", help="write the list as tables in Markdown"
    )
    functions.set_defaults(run=_functions)


def add_programs(commands: Any, whole_file: WholeFile) -> None:
    """Add the commands that set up a spreadsheet program to a parser's.

    Parameters
    ----------
    commands : argparse action
        What ``add_subparsers`` gave.
    whole_file : callable
        Writes a file whole or not at all: of its path, and whether it may replace one, it makes
        the context that gives a file to fill.
    """
    for name, verb in (("install", "put the functions into"), ("uninstall", "take them out of")):
        command = commands.add_parser(
            name,
            help=f"{verb} Excel or LibreOffice",
            description=f"{verb.capitalize()} a spreadsheet program on this computer.",
            epilog=f"For example: cultivar-fx {name} calc",
        )
        command.add_argument(
            "program",
            choices=("excel", "calc"),
            metavar="PROGRAM",
            help="excel, or calc for LibreOffice Calc; close the program first",
        )
        if name == "install":
            command.add_argument(
                "--oxt",
                type=Path,
                metavar="FILE",
                help="with calc: only write the extension, to install by hand",
            )
            command.add_argument(
                "--force", action="store_true", help="with --oxt: replace FILE if it exists"
            )
        command.set_defaults(run=partial(_install, whole_file) if name == "install" else _uninstall)


def _calc(options: argparse.Namespace) -> int:
    from cultivar_fx.calls.arguments import names_system
    from cultivar_fx.calls.call import call
    from cultivar_fx.calls.cells import as_grid, flat
    from cultivar_fx.catalog.registry import definition

    wanted = definition(options.function)
    values = [_cell(text) for text in options.values]
    units = options.units
    if not units and wanted.takes_units and values and names_system(values[-1]):
        units = values.pop()  # optional arguments before it are left out
    if units:
        values += [None] * (len(wanted.arguments) - len(values)) + [units]
    answer = call(wanted.name, *values)
    units = values[len(wanted.arguments)] if len(values) > len(wanted.arguments) else METRIC
    lines = answer if isinstance(answer, list) else [answer]
    for line in lines:
        say(_shown(line, wanted, str(units)))
    return WRONG_USE if any(isinstance(one, CellError) for one in flat(as_grid(lines))) else 0


def _cell(text: str) -> object:
    """Take an argument for what a cell would: a range in braces, a blank, or what it says."""
    if text.startswith("{") and text.endswith("}"):
        return [_cell(part.strip()) for part in text[1:-1].replace(",", ";").split(";")]
    return text or None


def _shown(answer: object, wanted: Definition, units: str) -> str:
    from cultivar_fx.calls.cells import date_of
    from cultivar_fx.catalog.reference import unit_text

    if isinstance(answer, list):
        return "\t".join(_shown(one, wanted, units) for one in answer)
    if isinstance(answer, CellError):
        return f"{answer.code} {answer.reason}"
    if isinstance(answer, float) and wanted.result.is_date:
        answer = date_of(answer)
    if not isinstance(answer, float):
        return str(answer)
    if wanted.result.is_share:
        return f"{answer:.10g} = {answer * 100:.6g} %"
    return f"{answer:.10g} {unit_text(wanted.result, units)}".rstrip()


def _functions(options: argparse.Namespace) -> int:
    from cultivar_fx.catalog import reference
    from cultivar_fx.catalog.registry import definition

    if options.name:
        say(reference.page(definition(options.name)))
    else:
        say(reference.markdown_table() if options.markdown else reference.overview())
    return 0


def _install(whole_file: WholeFile, options: argparse.Namespace) -> int:
    if options.oxt is not None:
        return _write_extension(whole_file, options)
    say(_installer(options.program).install())
    return 0


def _uninstall(options: argparse.Namespace) -> int:
    say(_installer(options.program).uninstall())
    return 0


def _installer(program: str) -> ModuleType:
    return import_module(f"cultivar_fx.hosts.{program}_install")


def _write_extension(whole_file: WholeFile, options: argparse.Namespace) -> int:
    from cultivar_fx.hosts.calc_addin import write_addin

    if options.program != "calc" or options.oxt.suffix.lower() != ".oxt":
        raise ValueError("--oxt goes with calc, and needs a name that ends in .oxt.")
    with whole_file(options.oxt, options.force) as unfinished:
        write_addin(unfinished)
    say(f"Wrote {options.oxt}. In LibreOffice: Tools, Extension Manager, Add.")
    return 0
