"""A LibreOffice profile of its own with the Calc add-in in it."""

from __future__ import annotations

import os
import tempfile
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import patch

from cultivar_fx.hosts import calc_install

if TYPE_CHECKING:
    from collections.abc import Iterator

# LibreOffice takes no extension for root. Where root runs the tests, as in a container, nobody
# installs it, and has to be let in.
_find_program = calc_install.find_program

AS_NOBODY = """#!/bin/sh
for given in "$@"; do
  case $given in
    /*) chmod a+r "$given"; chmod a+x "$(dirname "$given")" ;;
    -env:UserInstallation=file://*) chown -R 65534:65534 "${given#*file://}" ;;
  esac
done
cd /
HOME=/nonexistent exec setpriv --reuid=65534 --regid=65534 --clear-groups PROGRAM "$@"
"""


@contextmanager
def empty_profile() -> Iterator[Path]:
    """Return the folder of a new profile, which anyone may install into."""
    with tempfile.TemporaryDirectory(prefix="calc-", ignore_cleanup_errors=True) as folder:
        Path(folder).chmod(0o755)
        profile = Path(folder, "profile")
        profile.mkdir()
        with patch.object(calc_install, "find_program", lambda: str(_program(Path(folder)))):
            yield profile


@contextmanager
def installed_for_tests() -> Iterator[Path]:
    """Return a profile that has the add-in."""
    with empty_profile() as profile:
        calc_install.install(profile)
        yield profile


def _program(folder: Path) -> Path:
    """Find unopkg, or write one beside the profile that runs it as nobody."""
    real = Path(_find_program())
    if os.name != "posix" or os.geteuid() != 0:
        return real
    program = folder / "unopkg"
    if not program.exists():
        program.write_text(AS_NOBODY.replace("PROGRAM", str(real)))
        program.chmod(0o755)
    return program
