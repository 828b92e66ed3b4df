"""Everything in ``sample_sheets``: workbooks, typed functions, the invented farm, pictures.

Each file is made aside and put in place only where it says something else than the old one, so
that a second run changes nothing.
"""

from __future__ import annotations

import hashlib
import re
import sys
import zipfile
from pathlib import Path
from tempfile import TemporaryDirectory

from workbook_template.build import build
from workbook_template.demo import farm_csv, pictures, typed_sample
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings

WORKBOOKS = {
    f"{filled}_{units}.xlsx": (units, filled)
    for filled in ("demo", "empty")
    for units in ("us", "metric")
}
"""The units of each sample workbook, and whether it is empty or holds the demo."""
TYPED = "typed_functions.xlsx"
PICTURED = "demo_us.xlsx"
MADE_FROM = Path("pictures", "made_from.txt")
"""Holds the fingerprint of the workbook that the pictures show."""

_TIME = re.compile(r"<dcterms:(created|modified)[^>]*>[^<]*</dcterms:\1>")
# A computed cell: the kind and text of its value depend on the engine and, at times, on the day.
_KIND_OF_VALUE = re.compile(r'(<c [^>]*?) t="\w+"([^>]*>)(?=<f)')
_STORED_VALUE = re.compile(r"(</f>|<f [^>]*/>)<v ?(?:/>|>[^<]*</v>)")


def make_samples(folder: Path) -> list[str]:
    """Write the samples into a folder.

    Parameters
    ----------
    folder : Path
        Where they go.

    Returns
    -------
    list of str
        The files that changed, as paths within the folder.
    """
    with TemporaryDirectory(prefix="samples-") as made:
        new = Path(made)
        for name, (units, filled) in WORKBOOKS.items():
            demo = filled == "demo"
            entries = demo_entries(units) if demo else None
            build(new / name, Settings(units=units, invented=demo), entries)
        typed_sample.write_typed_sample(new / TYPED)
        farm_csv.write_invented_farm(new / "invented_farm")
        pictures.draw(new / PICTURED, new / "pictures")
        (new / MADE_FROM).write_text(fingerprint(new / PICTURED) + "\n", encoding="utf-8")
        files = sorted(path.relative_to(new) for path in new.rglob("*") if path.is_file())
        return [path.as_posix() for path in files if _put(new / path, folder / path)]


def content(path: Path, stored_values: bool = False) -> dict[str, str]:
    """Return what a workbook file says, without the times at which it was written.

    Parameters
    ----------
    path : Path
        An .xlsx file.
    stored_values : bool
        Whether the values count that are stored beside the formulas.

    Returns
    -------
    dict
        The text of each part of the package by its name.
    """
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name).decode("utf-8") for name in package.namelist()}
    parts["docProps/core.xml"] = _TIME.sub("", parts["docProps/core.xml"])
    if stored_values:
        return parts
    return {
        name: _STORED_VALUE.sub(r"\1", _KIND_OF_VALUE.sub(r"\1\2", text))
        for name, text in parts.items()
    }


def fingerprint(path: Path) -> str:
    """Return a number that changes with what a workbook says."""
    said = sorted(content(path).items())
    return hashlib.sha256(repr(said).encode()).hexdigest()


def _put(new: Path, old: Path) -> bool:
    """Replace a file unless it says the same, and tell whether it was replaced."""
    if old.exists():
        is_book = new.suffix == ".xlsx"
        if is_book and content(new, stored_values=True) == content(old, stored_values=True):
            return False
        if new.read_bytes() == old.read_bytes():
            return False
    old.parent.mkdir(parents=True, exist_ok=True)
    old.write_bytes(new.read_bytes())
    return True


if __name__ == "__main__":
    changed = make_samples(Path(sys.argv[1]))
    sys.stdout.write("".join(f"{one}\n" for one in changed) or "All samples are up to date.\n")
