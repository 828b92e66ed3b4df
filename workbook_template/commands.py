"""The commands that read a farm's workbook: a partner's copy, an export, a check."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbook_template.refusals import shown

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

_MOST_SHOWN = 10


def add_commands(commands: Any) -> None:
    """Add the commands to a parser's.

    Parameters
    ----------
    commands : argparse action
        What ``add_subparsers`` gave.
    """
    _add_partner_copy(commands)
    _add_export(commands)


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


def _partner_copy(options: argparse.Namespace) -> int:
    from workbook_template.partner_copy import partner_copy

    needs_xlsx(options.out)
    copied = partner_copy(options.farm, options.out, options.force, options.large)
    print(f"Wrote {options.out}, values only.")
    print(f"Sheets left out: {', '.join(copied.left_out)}.")
    print(f"Prices, wages and costs are {'shown' if copied.shows_money else 'left out'}.")
    if copied.other_sheets:
        print(f"Your own sheets, left out: {', '.join(map(shown, copied.other_sheets))}.")
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


def _first(places: Sequence[str]) -> str:
    more = len(places) - _MOST_SHOWN
    words = ", ".join(map(shown, places[:_MOST_SHOWN]))
    return f"{words} and {more} more" if more > 0 else words


def needs_xlsx(file: Path) -> None:
    """Refuse a name that is none of a workbook to write.

    Parameters
    ----------
    file : Path
        What is to be written.

    Raises
    ------
    ValueError
        If its name ends otherwise.
    """
    if file.suffix.lower() != ".xlsx":
        raise ValueError(f"file: got {str(file)!r}, needs a name that ends in .xlsx.")
