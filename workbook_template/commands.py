"""The commands that write a workbook or read one."""

from __future__ import annotations

import json
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cultivar_fx.catalog.dimensions import METRIC, SYSTEMS
from cultivar_fx.errors import CellError
from cultivar_fx.terminal import say
from workbook_template.errors import shown
from workbook_template.files import Backup, open_in, whole_file

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence

    from workbook_template.operations.check import Checked
    from workbook_template.operations.input_rules import Fault

FAULTS = 1
"""Exit status where a workbook has faults."""
_MOST_SHOWN = 10
_MOST_LINES = 200


def add_commands(commands: Any) -> None:
    """Add the commands to a parser's.

    Parameters
    ----------
    commands : argparse action
        What ``add_subparsers`` gave.
    """
    _add_workbook(commands)
    _add_carry_over(commands)
    _add_check(commands)
    _add_partner_copy(commands)
    _add_export(commands)


def _add_workbook(commands: Any) -> None:
    workbook = commands.add_parser(
        "workbook",
        help="write a batch and costing workbook",
        description="Write a batch and costing workbook, ready to type into: a plain .xlsx without "
        "macros, for any spreadsheet program.",
        epilog="For example: cultivar-fx workbook farm.xlsx --units us",
    )
    workbook.add_argument("file", type=Path, metavar="FILE", help="file to write, ending in .xlsx")
    workbook.add_argument("--units", choices=SYSTEMS, default=METRIC, help="default: metric")
    workbook.add_argument(
        "--currency", default="$", metavar="SYMBOL", help="symbol or code of the money; default: $"
    )
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
    workbook.set_defaults(run=_workbook, workbook="file")


def _add_carry_over(commands: Any) -> None:
    carry = commands.add_parser(
        "carry-over",
        help="make a workbook anew with all that was entered into an earlier one",
        description="Make a workbook anew on this version, with all that was entered into an "
        "earlier one: inputs, logs, notes, own columns and sheets. What it cannot keep in its "
        "place it names, and puts on the Carried over sheet. OLD is never written.",
        epilog="For example: cultivar-fx carry-over farm.xlsx farm-new.xlsx --units metric",
    )
    carry.add_argument("old", type=Path, metavar="OLD", help="the earlier workbook")
    carry.add_argument("new", type=Path, metavar="NEW", help="file to write, ending in .xlsx")
    carry.add_argument("--units", choices=SYSTEMS, help="convert to these units")
    carry.add_argument(
        "--batch-rows", type=int, metavar="N", help="rows ready for batches; default: as before"
    )
    _add_large(carry)
    carry.add_argument("--force", action="store_true", help="replace the new file if it exists")
    carry.set_defaults(run=_carry_over, workbook="old")


def _add_check(commands: Any) -> None:
    check = commands.add_parser(
        "check",
        help="find what does not add up in a workbook, cell by cell",
        description="Find every broken rule in a workbook: figures outside their limits, text "
        "where a number belongs, duplicate names, choices not on their list, dates out of order, "
        "formulas that were typed over or deleted, balances that do not add up. Values that the "
        "file holds are not believed: it is computed anew. FARM is never written.",
        epilog="Exit status: 0 where nothing is wrong, 1 where something is, 2 where FARM cannot "
        "be read. For example: cultivar-fx check farm.xlsx",
    )
    check.add_argument("farm", type=Path, metavar="FARM", help="the workbook")
    check.add_argument("--json", action="store_true", help="write the faults as JSON, all of them")
    _add_large(check)
    check.set_defaults(run=_check, workbook="farm")


def _add_partner_copy(commands: Any) -> None:
    copy = commands.add_parser(
        "partner-copy",
        help="copy a workbook for a partner, without what is private",
        description="Write a copy of a workbook that holds values only: no formula, no name, and "
        "nothing private. What is private stands at the end of the Farm sheet: prices, wages and "
        "costs, customers, and the sheets Products, Orders and Costing, unless you mark others. "
        "Whatever is computed from something private is left out as well; the packs that you sell "
        'count in plan, stock and forecast, unless you mark Products or Orders "private" instead '
        'of "sheet only". FARM is never written.',
        epilog="For example: cultivar-fx partner-copy farm.xlsx for-ana.xlsx. What you typed into "
        "notes and names is copied as it is, and rows that you hid are shown: look the copy "
        "through before you send it.",
    )
    copy.add_argument("farm", type=Path, metavar="FARM", help="the workbook")
    copy.add_argument("out", type=Path, metavar="OUT", help="file to write, ending in .xlsx")
    copy.add_argument("--force", action="store_true", help="replace OUT if it exists")
    _add_large(copy)
    copy.set_defaults(run=_partner_copy, workbook="farm")


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
        "--force",
        action="store_true",
        help="replace files of the same name in FOLDER; those that differ are kept beside them",
    )
    _add_large(export)
    export.set_defaults(run=_export, workbook="farm")


def _add_large(command: Any) -> None:
    command.add_argument(
        "--large",
        action="store_true",
        help="read a very large file too; only for a file that is your own",
    )


def _workbook(options: argparse.Namespace) -> int:
    from workbook_template.build import build
    from workbook_template.demo.data import demo_entries
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.stored_values import NONE_STORED

    _need_xlsx(options.file)
    settings = Settings(
        units=options.units,
        currency=options.currency,
        invented=options.demo,
        batch_rows=options.batch_rows,
        typed_functions=options.typed_functions,
    )
    entries = demo_entries(options.units) if options.demo else None
    backup = _backup()
    if not build(options.file, settings, entries, options.force, backup=backup):
        say(NONE_STORED)
    _say_kept(backup)
    say(f"Wrote {_name(options.file)}. Open it and begin with the Start sheet.")
    return 0


def _carry_over(options: argparse.Namespace) -> int:
    from workbook_template.operations.carry_over import carry_over

    _need_xlsx(options.new)
    open_warnings = _warn_if_open(options.old)
    backup = _backup()
    report = carry_over(
        options.old,
        options.new,
        options.units,
        replace=options.force,
        large=options.large,
        batch_rows=options.batch_rows,
        backup=backup,
    )
    say("\n".join(report.lines()))
    _say_kept(backup)
    say("Review the new file before you archive the old one.")
    warnings = open_warnings + len(report.remarks) + len(report.missing)
    _summarize(options.old, report.entered, options.new, _count(warnings, "warning"))
    return FAULTS if report.missing else 0


def _check(options: argparse.Namespace) -> int:
    from workbook_template.operations.check import check

    open_warnings = _warn_if_open(options.farm)
    checked = check(options.farm, options.large)
    faults = checked.faults
    if options.json:
        say(json.dumps(_as_json(options.farm, checked), indent=2))  # ASCII: any output takes it
        return FAULTS if faults else 0
    _say_each(faults)
    _say_each(checked.warnings, "Worth a look: ")
    if not checked.is_compared:
        say("An unknown release wrote this file: its formulas were not compared.")
    if not checked.is_computed:
        say("Too large to compute it here: only what was typed, and the formulas, were checked.")
    warnings = open_warnings + (not checked.is_compared) + (not checked.is_computed)
    warnings += len(checked.warnings)
    found = f"{_count(len(faults), 'fault')} found, {_count(warnings, 'warning')}"
    _summarize(options.farm, checked.entered, None, found)
    return FAULTS if faults else 0


def _say_each(found: Sequence[Fault], before: str = "") -> None:
    """Print what was found, each on a line, as many as anybody reads."""
    for one in found[:_MOST_LINES]:
        where = ", ".join(filter(None, (shown(one.sheet), one.cell))) or "Workbook"
        say(f"{where}: {before}{_on_one_line(one.sentence)}")
    if len(found) > _MOST_LINES:
        say(f"{len(found) - _MOST_LINES} more are left out here; --json gives all.")


def _on_one_line(sentence: str) -> str:
    """Return a sentence without what a terminal would act on: it quotes what others typed."""
    return "".join(letter if letter.isprintable() else "?" for letter in sentence)


def _count(number: int, what: str) -> str:
    return f"{number or 'no'} {what}{'' if number == 1 else 's'}"


def _summarize(read: Path, entered: int, wrote: Path | None, outcome: str) -> None:
    """Say in a last line, the same for all commands on workbooks, what was done."""
    say(
        f"Read {_name(read)}: {_count(entered, 'entered cell')}. "
        f"Wrote {_name(wrote) if wrote else 'nothing'}. {outcome[0].upper()}{outcome[1:]}."
    )


def _name(path: Path) -> str:
    return shown(str(path))


def _warn_if_open(path: Path) -> int:
    """Say where a workbook is open in another program, and return how many warnings that makes."""
    program = open_in(path)
    if program:
        what = "what was typed there and not saved yet is not read"
        say(f"Warning: {_name(path)} is open in {program}; {what}.", is_error=True)
    return bool(program)


def _backup() -> Backup:
    """Return what keeps a file that is replaced, where somebody entered something into it."""
    from workbook_template.operations.entered import holds_entries

    return Backup(holds_entries)


@contextmanager
def kept_file(path: Path, replace: bool) -> Iterator[Path]:
    """Write a file whole, and say where the one is kept that it replaces.

    Parameters
    ----------
    path : Path
        The file to write.
    replace : bool
        Whether an older file there is replaced.

    Yields
    ------
    Path
        The hidden file that is to be filled.
    """
    backup = Backup()
    with whole_file(path, replace, backup=backup) as unfinished:
        yield unfinished
    _say_kept(backup)


def _say_kept(backup: Backup) -> None:
    for path in backup.paths:
        say(f"The file that was there is kept as {_name(path)}.")


def _as_json(farm: Path, checked: Checked) -> dict[str, Any]:
    return {
        "file": str(farm),
        "is_computed": checked.is_computed,
        "is_compared": checked.is_compared,
        "faults": [
            {
                "sheet": one.sheet,
                "cell": one.cell,
                "value": _plain_value(one.value),
                "sentence": one.sentence,
                "kind": "warning" if one.is_warning else "fault",
            }
            for one in (*checked.faults, *checked.warnings)
        ],
    }


def _plain_value(value: Any) -> Any:
    if value is None or isinstance(value, str | int | float):
        return value
    return value.code if isinstance(value, CellError) else str(value)


def _partner_copy(options: argparse.Namespace) -> int:
    from workbook_template.operations.partner_copy import partner_copy
    from workbook_template.writing.workings import is_workings

    _need_xlsx(options.out)
    open_warnings = _warn_if_open(options.farm)
    backup = _backup()
    copied = partner_copy(options.farm, options.out, options.force, options.large, backup)
    say("The copy holds values only.")
    left_out = [name for name in copied.left_out if not is_workings(name)]
    say(f"Sheets left out: {', '.join(left_out)}.")
    if copied.followed:
        say(
            f"All that is computed from {' and '.join(copied.followed)} is left out, too. To show "
            'plan, stock and forecast without prices and customers, choose "sheet only" for both '
            "on the Farm sheet."
        )
    say(f"Prices, wages and costs are {'shown' if copied.shows_money else 'left out'}.")
    if copied.other_sheets:
        say(f"Your own sheets, left out: {', '.join(map(shown, copied.other_sheets))}.")
    if copied.changed:
        say(f"Cells left out, with a formula that is not ours: {_first(copied.changed)}.")
    if copied.quoting:
        say(f"Cells with private words in what you typed: {_first(copied.quoting)}.")
    _say_kept(backup)
    say("Look it through before you send it: notes and names stand in it as you typed them.")
    warnings = open_warnings + len(copied.changed)
    _summarize(options.farm, copied.entered, options.out, _count(warnings, "warning"))
    return 0


def _export(options: argparse.Namespace) -> int:
    from workbook_template.operations.export import export

    _warn_if_open(options.farm)
    backup = Backup()
    files = export(options.farm, options.folder, options.force, options.large, backup)
    _say_kept(backup)
    say(f"Wrote into {_name(options.folder)}:")
    for name, rows in files.items():
        say(f"  {name}: {_count(rows, 'row')}")
    return 0


def _first(places: Sequence[str]) -> str:
    more = len(places) - _MOST_SHOWN
    words = ", ".join(map(shown, places[:_MOST_SHOWN]))
    return f"{words} and {more} more" if more > 0 else words


def _need_xlsx(file: Path) -> None:
    """Refuse a name that is none of a workbook to write."""
    if file.suffix.lower() != ".xlsx":
        raise ValueError(f"file: got {_name(file)!r}, needs a name that ends in .xlsx.")
