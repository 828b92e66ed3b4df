"""The command ``cultivar-fx``."""

from __future__ import annotations

import argparse
import sys
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

import cultivar_fx
from cultivar_fx.dimensions import METRIC, SYSTEMS
from cultivar_fx.errors import CellError
from workbook_template.commands import add_commands, needs_xlsx

if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import ModuleType

    from cultivar_fx.definition import Definition

WRONG_USE = 2
"""Exit status where the input has no answer."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command, and give the exit status."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command is None:
        parser.print_help()
        return 0
    try:
        return int(options.run(options))
    except BrokenPipeError:  # the reader of a pipe has seen enough
        sys.stdout = None
        return 0
    except (ValueError, OSError) as error:
        print(f"cultivar-fx: {_sentence(error)}", file=sys.stderr)
        return WRONG_USE


def _sentence(error: Exception) -> str:
    if isinstance(error, OSError) and error.strerror:
        name = f": {error.filename}" if error.filename else ""
        return f"{error.strerror}{name}"
    return str(error)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="cultivar-fx",
        description="Functions and a workbook for a small farm of specialty mushrooms.",
    )
    parser.add_argument("--version", action="version", version=cultivar_fx.__version__)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")

    calc = commands.add_parser(
        "calc",
        help="work out one function, typed as in a cell",
        description="Work out one function, its arguments typed as in a cell.",
        epilog='For example: cultivar-fx calc WATER_TO_ADD "200 lb" 6%% 62%%. A range is typed '
        'in braces, "{10;6.8}". A blank is "".',
    )
    calc.add_argument("function", help="name of the function, such as WATER_TO_ADD")
    calc.add_argument("values", nargs="*", metavar="ARGUMENT", help="its arguments in order")
    calc.add_argument(
        "--units", choices=SYSTEMS, help="how plain numbers are read, and the unit of the answer"
    )
    calc.set_defaults(run=_calc)

    functions = commands.add_parser(
        "functions",
        help="list the functions, or show one in full",
        description="List the functions by the stages of the work, or show one in full.",
    )
    functions.add_argument("name", nargs="?", help="function to show")
    functions.add_argument(
        "--markdown", action="store_true", help="write the list as tables in Markdown"
    )
    functions.set_defaults(run=_functions)

    workbook = commands.add_parser(
        "workbook",
        help="write a batch and costing workbook",
        description="Write a batch and costing workbook, ready to type into.",
    )
    workbook.add_argument("file", type=Path, help="file to write, ending in .xlsx")
    workbook.add_argument("--units", choices=SYSTEMS, default=METRIC, help="default: metric")
    workbook.add_argument("--currency", default="$", help="symbol or code of the money; default: $")
    workbook.add_argument("--demo", action="store_true", help="fill it with an invented farm")
    workbook.add_argument(
        "--batch-rows",
        type=int,
        default=100,
        metavar="N",
        help="rows ready for batches, four times as many for harvests; default: 100",
    )
    workbook.add_argument(
        "--no-typed-functions",
        dest="typed_functions",
        action="store_false",
        help="leave out the functions as names, for programs that stumble over them",
    )
    workbook.add_argument("--force", action="store_true", help="replace the file if it exists")
    workbook.set_defaults(run=_workbook)

    carry = commands.add_parser(
        "carry-over",
        help="make a workbook anew with all that was entered into an earlier one",
        description="Make a workbook anew on this version, with all that was entered into an "
        "earlier one. The earlier one is only read.",
    )
    carry.add_argument("old", type=Path, help="the earlier workbook")
    carry.add_argument("new", type=Path, help="file to write, ending in .xlsx")
    carry.add_argument("--units", choices=SYSTEMS, help="convert to these units")
    carry.add_argument(
        "--batch-rows", type=int, metavar="N", help="rows ready for batches; default: as before"
    )
    carry.add_argument("--large", action="store_true", help="read a file of your own of any size")
    carry.add_argument("--force", action="store_true", help="replace the new file if it exists")
    carry.set_defaults(run=_carry_over)
    add_commands(commands)

    for name, verb in (("install", "put the functions into"), ("uninstall", "take them out of")):
        command = commands.add_parser(
            name,
            help=f"{verb} Excel or LibreOffice",
            description=f"{verb.capitalize()} a spreadsheet program on this computer.",
        )
        command.add_argument("program", choices=("excel", "calc"), help="calc is LibreOffice Calc")
        if name == "install":
            command.add_argument(
                "--oxt",
                type=Path,
                metavar="FILE",
                help="with calc: only write the extension, to install by hand",
            )
        command.set_defaults(run=_install if name == "install" else _uninstall)
    return parser


def _calc(options: argparse.Namespace) -> int:
    from cultivar_fx.call import call
    from cultivar_fx.catalog import definition
    from cultivar_fx.cells import as_grid, flat

    wanted = definition(options.function)
    values = [_cell(text) for text in options.values]
    if options.units:
        values += [None] * (len(wanted.arguments) - len(values)) + [options.units]
    answer = call(wanted.name, *values)
    units = values[len(wanted.arguments)] if len(values) > len(wanted.arguments) else METRIC
    lines = answer if isinstance(answer, list) else [answer]
    for line in lines:
        print(_shown(line, wanted, str(units)))
    return WRONG_USE if any(isinstance(one, CellError) for one in flat(as_grid(lines))) else 0


def _cell(text: str) -> object:
    """Take an argument for what a cell would: a range in braces, a blank, or what it says."""
    if text.startswith("{") and text.endswith("}"):
        return [_cell(part.strip()) for part in text[1:-1].replace(",", ";").split(";")]
    return text or None


def _shown(answer: object, wanted: Definition, units: str) -> str:
    from cultivar_fx.reference import unit_text

    if isinstance(answer, list):
        return "\t".join(_shown(one, wanted, units) for one in answer)
    if isinstance(answer, CellError):
        return f"{answer.code} {answer.reason}"
    if not isinstance(answer, float):
        return str(answer)
    if wanted.result.name == "fraction":
        return f"{answer:.10g} = {answer * 100:.6g} %"
    return f"{answer:.10g} {unit_text(wanted.result, units)}".rstrip()


def _functions(options: argparse.Namespace) -> int:
    from cultivar_fx import reference
    from cultivar_fx.catalog import definition

    if options.name:
        print(reference.page(definition(options.name)))
    else:
        print(reference.markdown_table() if options.markdown else reference.overview(), end="")
        print()
    return 0


def _workbook(options: argparse.Namespace) -> int:
    from workbook_template.build import build
    from workbook_template.invented.demo_data import demo_entries
    from workbook_template.writing.page import Settings

    needs_xlsx(options.file)
    settings = Settings(
        units=options.units,
        currency=options.currency,
        invented=options.demo,
        batch_rows=options.batch_rows,
        typed_functions=options.typed_functions,
    )
    entries = demo_entries(options.units) if options.demo else None
    build(options.file, settings, entries, replace=options.force)
    print(f"Wrote {options.file}. Open it and begin with the sheet Start.")
    return 0


def _install(options: argparse.Namespace) -> int:
    if options.oxt is not None:
        return _write_extension(options)
    print(_installer(options.program).install())
    return 0


def _uninstall(options: argparse.Namespace) -> int:
    print(_installer(options.program).uninstall())
    return 0


def _installer(program: str) -> ModuleType:
    return import_module(f"cultivar_fx.hosts.{program}_install")


def _write_extension(options: argparse.Namespace) -> int:
    from cultivar_fx.hosts.calc_addin import write_addin

    if options.program != "calc" or options.oxt.suffix.lower() != ".oxt":
        raise ValueError("--oxt goes with calc, and needs a name that ends in .oxt.")
    write_addin(options.oxt)
    print(f"Wrote {options.oxt}. In LibreOffice: Tools, Extension Manager, Add.")
    return 0


def _carry_over(options: argparse.Namespace) -> int:
    from workbook_template.keeping.carry_over import carry_over

    needs_xlsx(options.new)
    report = carry_over(
        options.old,
        options.new,
        options.units,
        replace=options.force,
        large=options.large,
        batch_rows=options.batch_rows,
    )
    print("\n".join(report.lines()))
    print(f"Wrote {options.new}. Look it over before you put the old one away.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
