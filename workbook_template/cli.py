"""The command ``cultivar-fx``: the functions and the workbook under one name."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from typing import TYPE_CHECKING, NoReturn

import cultivar_fx
from cultivar_fx.commands import WRONG_USE, add_functions, add_programs
from workbook_template.commands import add_commands
from workbook_template.safety.guard import run_apart

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command, and give the exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        The command and what follows it. Without them it is that of the program: what writes or
        reads a workbook is then done in a process apart.
    """
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command is None:
        parser.print_help()
        return 0
    if arguments is None and hasattr(options, "workbook"):
        name = getattr(options, options.workbook).name
        return run_apart(sys.argv[1:], name, is_read=options.workbook != "file")
    try:
        return int(options.run(options))
    except BrokenPipeError:  # the reader of a pipe has seen enough
        sys.stdout = None
        return 0
    except MemoryError:
        print("cultivar-fx: There is too little memory.", file=sys.stderr)
        return WRONG_USE
    except (ValueError, OSError) as error:
        print(f"cultivar-fx: {_sentence(error)}", file=sys.stderr)
        return WRONG_USE


class _Parser(argparse.ArgumentParser):
    """Python's own, but for its errors: each is one line, as those of the commands are."""

    def error(self, message: str) -> NoReturn:
        """End with one line that says what is wrong, and where to look."""
        line = " ".join(message.split())
        self.exit(WRONG_USE, f"{self.prog}: {line}. See {self.prog} --help.\n")


def _sentence(error: Exception) -> str:
    if isinstance(error, OSError) and error.strerror:
        name = f": {error.filename}" if error.filename else ""
        return f"{error.strerror}{name}"
    return str(error)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="cultivar-fx",
        description="Functions and a workbook for a small farm of specialty mushrooms.",
        epilog="To begin: cultivar-fx workbook farm.xlsx --units us. Each command explains itself: "
        "cultivar-fx carry-over --help.",
        formatter_class=partial(argparse.HelpFormatter, max_help_position=18),
    )
    parser.add_argument("--version", action="version", version=cultivar_fx.__version__)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", title="commands")

    add_functions(commands)
    add_commands(commands)
    add_programs(commands)
    return parser


if __name__ == "__main__":
    sys.exit(main())
