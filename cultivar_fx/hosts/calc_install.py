"""Puts the Calc add-in into the user's LibreOffice, and takes it out again.

LibreOffice's own program for that, unopkg, does the work.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from cultivar_fx.catalog.reference import typed_example
from cultivar_fx.catalog.registry import functions
from cultivar_fx.hosts.calc_addin import write_addin
from cultivar_fx.hosts.calc_names import IDENTIFIER

_PROGRAMS = ("unopkg.com", "unopkg")  # on Windows the one that waits and prints
_FILE = "cultivar-fx.oxt"
_SECONDS = 120
_LISTED = re.compile(rf"^Identifier: {re.escape(IDENTIFIER)}\s*$", re.MULTILINE)


def install(profile: Path | None = None) -> str:
    """Put the add-in into LibreOffice; an older one is replaced, and stays where that fails.

    Parameters
    ----------
    profile : Path, optional
        Folder of the user's LibreOffice settings, where it is not the usual one.

    Returns
    -------
    str
        What was done, and what to do now.

    Raises
    ------
    ValueError
        If LibreOffice is missing, running, or refuses; the message says what to do.
    """
    program = _ready(profile)
    with tempfile.TemporaryDirectory(prefix="cultivar-fx-") as folder:
        addin = Path(folder, _FILE)
        write_addin(addin)
        _run(program, profile, "add", "--force", "--suppress-license", str(addin))
    if not _is_installed(program, profile):  # asked for that, it clears the old one's files, too
        raise ValueError("LibreOffice took the add-in, but does not list it.")
    _clear_copies(profile)
    example = typed_example(next(iter(functions().values())))
    return (
        f"Installed {len(functions())} functions into LibreOffice. "
        f"Start it and type {example} into a cell."
    )


def uninstall(profile: Path | None = None) -> str:
    """Take the add-in out of LibreOffice.

    Parameters
    ----------
    profile : Path, optional
        Folder of the user's LibreOffice settings, where it is not the usual one.

    Returns
    -------
    str
        What was done.

    Raises
    ------
    ValueError
        If LibreOffice is missing, running, or refuses; the message says what to do.
    """
    program = _ready(profile)
    if not _is_installed(program, profile):
        return "The functions are not installed in LibreOffice; nothing was done."
    _run(program, profile, "remove", IDENTIFIER)
    if _is_installed(program, profile):
        raise ValueError("LibreOffice removed the add-in, but still lists it.")
    _clear_copies(profile)
    return "Removed the functions from LibreOffice. Cells that use them now show #NAME?."


def _ready(profile: Path | None) -> str:
    """Find LibreOffice's program, and see that nothing stands in its way."""
    program = find_program()
    folder = Path(program).resolve().parent
    # Only Linux distributions part the office from its Python.
    if (folder / "soffice.bin").exists() and not (folder / "pythonloader.py").exists():
        raise ValueError(
            "This LibreOffice has no Python, which the functions need. "
            "On Debian or Ubuntu: sudo apt-get install python3-uno"
        )
    if Path(profile or _usual_profile(), ".lock").exists():
        raise ValueError(
            "LibreOffice is running. Close all its windows and try again; "
            "if it is not, start and close it once."
        )
    return program


def find_program() -> str:
    """Find LibreOffice's program for extensions on Linux, Windows or macOS.

    Raises
    ------
    ValueError
        If there is none.
    """
    places = [folder / name for folder in office_folders() for name in _PROGRAMS]
    found = next((str(one) for one in places if one.exists()), None) or shutil.which(_PROGRAMS[-1])
    if found is None:
        raise ValueError(
            "LibreOffice is not found. Install it from libreoffice.org; if it stands in a place "
            f"of its own, put the folder of its program {_PROGRAMS[-1]} on the PATH."
        )
    return found


def office_folders() -> list[Path]:
    """Return the folders where LibreOffice's programs may be."""
    office = shutil.which("soffice") or shutil.which("libreoffice")
    folders = [Path(office).resolve().parent] if office else []
    if sys.platform == "win32":
        starts = (os.environ.get(name, "") for name in ("ProgramFiles", "ProgramFiles(x86)"))
        return folders + [Path(start, "LibreOffice", "program") for start in starts]
    if sys.platform == "darwin":
        return [*folders, Path("/Applications/LibreOffice.app/Contents/MacOS")]
    installed = [Path("/usr/lib/libreoffice"), *sorted(Path("/opt").glob("libreoffice*"))]
    return folders + [folder / "program" for folder in installed]


def _usual_profile() -> Path:
    """Return the folder of the user's settings that LibreOffice uses of itself."""
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", ""), "LibreOffice", "4")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "LibreOffice" / "4"
    settings = os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config"
    return Path(settings, "libreoffice", "4")


def _is_installed(program: str, profile: Path | None) -> bool:
    """Look the add-in up in the list of all: asked for it alone, an error might be its absence."""
    return _LISTED.search(_run(program, profile, "list")) is not None


def _clear_copies(profile: Path | None) -> None:
    """Delete copies of older ones that LibreOffice made while it replaced them, and forgot."""
    copies = Path(profile or _usual_profile(), "user", "extensions", "tmp", "extensions")
    index = copies.with_name("extensions.pmap")
    known = index.read_bytes() if index.exists() else b""
    for folder in copies.glob("lu*.tmp_"):
        if folder.name.encode().removesuffix(b"_") not in known and (folder / _FILE).exists():
            shutil.rmtree(folder, ignore_errors=True)


def _run(program: str, profile: Path | None, *arguments: str) -> str:
    """Let the program do something, and return what it says."""
    done = _answered(program, profile, *arguments)
    if done.returncode:
        raise ValueError(f"LibreOffice refuses: {_complaint(done.stderr + done.stdout)}")
    return done.stdout


def _answered(
    program: str, profile: Path | None, *arguments: str
) -> subprocess.CompletedProcess[str]:
    command = [program, *arguments]
    if profile is not None:
        command.append(f"-env:UserInstallation={profile.absolute().as_uri()}")
    try:
        # It does not start in a folder that it may not enter.
        return subprocess.run(
            command,
            capture_output=True,
            text=True,
            errors="replace",
            timeout=_SECONDS,
            cwd=Path(program).parent,
        )
    except subprocess.TimeoutExpired as error:
        raise ValueError(
            f"LibreOffice's {_PROGRAMS[-1]} does not end; is a window open?"
        ) from error


def _complaint(output: str) -> str:
    """Return the sentence of an error without where in its source it arose."""
    if "as root" in output:
        return "it takes no functions for root. Run the command as the user who works with it."
    lines = [line.partition("ERROR: ")[2] for line in output.splitlines() if "ERROR: " in line]
    sentence = lines[0] if lines else output.strip() or "it does not say why."
    return sentence.replace("Exception occurred: ", "").partition(" at ./")[0]
