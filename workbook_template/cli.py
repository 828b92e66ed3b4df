"""The command ``cultivar-fx``: the functions and the workbook under one name."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from typing import TYPE_CHECKING, NoReturn

import cultivar_fx
from cultivar_fx.commands import WRONG_USE, add_functions, add_programs
from cultivar_fx.terminal import say
from workbook_template.commands import add_commands, kept_file
from workbook_template.errors import shown
from workbook_template.safety.guard import run_apart
from workbook_template.signals import Stopped, stoppable

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
    try:
        with stoppable():
            return _run(arguments)
    except Stopped as end:
        say("cultivar-fx: stopped; no file was left half written.", is_error=True)
        return end.status


def _run(arguments: Sequence[str] | None) -> int:
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command is None:
        parser.print_help()
        return 0
    if arguments is None and hasattr(options, "workbook"):
        name = getattr(options, options.workbook).name
        return run_apart(sys.argv[1:], name, is_read=options.workbook != "file")
    try:
        status = int(options.run(options))
        if sys.stdout is not None:
            sys.stdout.flush()
        return status
    except BrokenPipeError:  # the reader of a pipe has seen enough
        sys.stdout = None
        return 0
    except (ValueError, OSError) as error:
        say(f"cultivar-fx: {_sentence(error)}", is_error=True)
        return WRONG_USE
    except MemoryError:
        say("cultivar-fx: this takes more memory than there is.", is_error=True)
        return WRONG_USE


class _Parser(argparse.ArgumentParser):
    """Python's own, but for its errors: each is one line, as those of the commands are."""

    def error(self, message: str) -> NoReturn:
        """End with one line that says what is wrong, and where to look."""
        line = " ".join(message.split())
        say(f"{self.prog}: {line}. See {self.prog} --help.", is_error=True)
        self.exit(WRONG_USE)


def _sentence(error: Exception) -> str:
    if isinstance(error, OSError) and error.strerror:
        name = f": {shown(str(error.filename))}" if error.filename else ""
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
    add_programs(commands, kept_file)
    return parser


if __name__ == "__main__":
    sys.exit(main())
