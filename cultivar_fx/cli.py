"""The command ``cultivar-fx``."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import cultivar_fx
from cultivar_fx.dimensions import METRIC, SYSTEMS
from cultivar_fx.errors import CellError

if TYPE_CHECKING:
    from collections.abc import Sequence

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
        default=200,
        metavar="N",
        help="rows ready for batches; default: 200",
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
    _add_partner_copy(commands)
    _add_export(commands)
    return parser


def _add_partner_copy(commands: Any) -> None:
    copy = commands.add_parser(
        "partner-copy",
        help="copy a workbook for a partner, without what is private",
        description="Write a copy of a workbook that holds values only: no formula, no name, and "
        "nothing private. What is private stands at the end of the sheet Farm: prices, wages and "
        "costs, and the sheets Products and Costing, unless you mark others. Whatever is computed "
        "from something private is left out as well. FARM is never written.",
        epilog="For example: cultivar-fx partner-copy farm.xlsx for-ana.xlsx. What you typed into "
        "notes and names is copied as it is, and rows that you hid are shown: look the copy "
        "through before you send it.",
    )
    copy.add_argument("farm", type=Path, metavar="FARM", help="the workbook")
    copy.add_argument("out", type=Path, metavar="OUT", help="file to write, ending in .xlsx")
    copy.add_argument("--force", action="store_true", help="replace OUT if it exists")
    _add_large(copy)
    copy.set_defaults(run=_partner_copy)


def _add_export(commands: Any) -> None:
    export = commands.add_parser(
        "export",
        help="write the logs and tables of a workbook as CSV files",
        description="Write every log and table of a workbook, and the single inputs, as CSV files "
        "into a folder. Headings carry their units, dates are like 2026-03-01, numbers have all "
        "their digits. A text that a spreadsheet program would run as a formula gets an "
        "apostrophe in front. FARM is never written.",
        epilog="For example: cultivar-fx export farm.xlsx tables. In pandas: "
        "pandas.read_csv('tables/batches.csv').",
    )
    export.add_argument("farm", type=Path, metavar="FARM", help="the workbook")
    export.add_argument("folder", type=Path, metavar="FOLDER", help="where to write the files")
    export.add_argument(
        "--force", action="store_true", help="replace files of the same name in FOLDER"
    )
    _add_large(export)
    export.set_defaults(run=_export)


def _add_large(command: Any) -> None:
    command.add_argument(
        "--large",
        action="store_true",
        help="read a very large file too; only for a file that is your own",
    )


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
    from workbook_template.demo_data import demo_entries
    from workbook_template.page import Settings

    _needs_xlsx(options.file)
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


def _needs_xlsx(file: Path) -> None:
    if file.suffix.lower() != ".xlsx":
        raise ValueError(f"file: got {str(file)!r}, needs a name that ends in .xlsx.")


def _carry_over(options: argparse.Namespace) -> int:
    from workbook_template.carry_over import carry_over

    _needs_xlsx(options.new)
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


def _partner_copy(options: argparse.Namespace) -> int:
    from workbook_template.partner_copy import partner_copy

    _needs_xlsx(options.out)
    copied = partner_copy(options.farm, options.out, options.force, options.large)
    print(f"Wrote {options.out}, values only.")
    print(f"Sheets left out: {', '.join(copied.left_out)}.")
    print(f"Prices, wages and costs are {'shown' if copied.shows_money else 'left out'}.")
    if copied.other_sheets:
        print(f"Your own sheets, left out: {', '.join(map(_shown_name, copied.other_sheets))}.")
    if copied.changed:
        print(f"Cells left out, with a formula that is not ours: {_first(copied.changed)}.")
    print("Look it through before you send it: notes and names stand in it as you typed them.")
    return 0


def _export(options: argparse.Namespace) -> int:
    from workbook_template.export import export

    files = export(options.farm, options.folder, options.force, options.large)
    print(f"Wrote into {options.folder}:")
    for name, rows in files.items():
        print(f"  {name}: {rows} row{'' if rows == 1 else 's'}")
    return 0


_MOST_SHOWN = 10


def _first(places: Sequence[str]) -> str:
    more = len(places) - _MOST_SHOWN
    words = ", ".join(map(_shown_name, places[:_MOST_SHOWN]))
    return f"{words} and {more} more" if more > 0 else words


def _shown_name(name: str) -> str:
    from workbook_template.refusals import shown

    return shown(name)


if __name__ == "__main__":
    sys.exit(main())
