"""Packages of the operating system: installed where that may be done, named where not.

On the standard library alone, and in a form that an old Python reads: it runs before anything
is installed.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

DEBIAN = Path("/etc/debian_version")
"""Debian, Ubuntu and what is made from them have this file."""
_WAITING = "DPkg::Lock::Timeout=120"  # a machine that just started may be at its own upgrades


class NotInstalled(Exception):
    """The packages could not be installed; the text says why."""


def is_debian() -> bool:
    """Return whether the packages are those of Debian or Ubuntu."""
    return DEBIAN.exists() and shutil.which("apt-get") is not None


def command(*packages: str) -> str:
    """Return the command that a user of Debian types to install packages."""
    return "sudo apt-get install --no-install-recommends " + " ".join(packages)


def install(*packages: str) -> None:
    """Install packages of Debian or Ubuntu, and say so.

    Parameters
    ----------
    *packages : str
        Their names.

    Raises
    ------
    NotInstalled
        If this is another system, the user may not, or the installation fails.
    """
    start = [*_rights(), "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq", "-o", _WAITING]
    sys.stderr.write(f"Installing {', '.join(packages)} with apt-get; this is done once.\n")
    sys.stderr.flush()
    _run([*start, "update"])
    _run([*start, "install", "--yes", "--no-install-recommends", *packages])


def _rights() -> "list[str]":
    """Return what a command begins with that changes the system."""
    if not is_debian():
        raise NotInstalled("this is not Debian or Ubuntu")
    if os.geteuid() == 0:
        return []
    sudo = shutil.which("sudo")
    if sudo and subprocess.run([sudo, "-n", "true"], stderr=subprocess.DEVNULL).returncode == 0:
        return [sudo, "-n"]
    raise NotInstalled("installing needs root, or sudo without a password")


def _run(apt_get: "list[str]") -> None:
    done = subprocess.run(
        apt_get,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    )
    if done.returncode:
        errors = [line for line in done.stdout.splitlines() if line.startswith("E:")]
        raise NotInstalled(f"apt-get failed: {errors[0] if errors else done.stdout[-200:]}")
