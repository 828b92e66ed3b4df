"""The Python packages that go into the Calc add-in: ours, and the library of units.

The library is taken from the environment that builds the extension, so it may need a newer Python
than a LibreOffice has. Its units therefore go along as a table, too.
"""

from __future__ import annotations

import ast
import re
from importlib.metadata import Distribution, distribution
from pathlib import Path
from typing import TYPE_CHECKING

import cultivar_fx
from cultivar_fx.calls.plain_units import TABLE_FILE
from cultivar_fx.catalog.registry import STAGES
from cultivar_fx.hosts.calc_units import write_table

if TYPE_CHECKING:
    from collections.abc import Iterator

OWN = "cultivar_fx"
LIBRARY = "pint"
NEEDED_AT_RUN_TIME = (OWN, f"{OWN}.hosts", f"{OWN}.hosts.calc_values", f"{OWN}.hosts.calc_names")

_PURE = "none-any"
_LEFT_OUT = ("testsuite", "tests", "__pycache__")
_SUFFIXES = (".py", ".txt", ".typed")
_LICENSES = ("LICENSE", "LICENCE", "COPYING", "AUTHORS", "METADATA")


def own_files() -> dict[str, bytes]:
    """Return our modules that the functions need, by their place in the extension."""
    folder = Path(cultivar_fx.__file__).parent
    wanted = [*NEEDED_AT_RUN_TIME, *(f"{OWN}.stages.{stage}" for stage in STAGES)]
    found: dict[str, bytes] = {}
    while wanted:
        path = _module_file(folder, wanted.pop())
        place = f"{OWN}/{path.relative_to(folder).as_posix()}"
        if place not in found:
            found[place] = path.read_bytes()
            # The package itself only offers what is in the modules.
            wanted += [] if path.parent == folder and path.stem == "__init__" else _imports(path)
    found[f"{OWN}/calls/{TABLE_FILE}"] = write_table().encode()
    return found


def library_files() -> dict[str, bytes]:
    """Return the files of the library of units and of what it needs, with their licenses.

    Raises
    ------
    ValueError
        If one of them is not pure Python.
    """
    return {
        str(file): Path(str(file.locate())).read_bytes()
        for found in _libraries()
        for file in found.files or ()
        if _belongs(str(file))
    }


def library_python() -> tuple[int, int]:
    """Return the oldest Python that the library of units runs on."""
    needed = [(3, 0)]
    for found in _libraries():
        match = re.search(r">=\s*(\d+)\.(\d+)", found.metadata["Requires-Python"] or "")
        if match:
            needed.append((int(match[1]), int(match[2])))
    return max(needed)


def _libraries() -> Iterator[Distribution]:
    """Return the library of units, and all that it needs without being asked for extras."""
    wanted, seen = [LIBRARY], set()
    while wanted:
        name = wanted.pop()
        if name in seen:
            continue
        seen.add(name)
        found = distribution(name)
        if _PURE not in (found.read_text("WHEEL") or ""):
            raise ValueError(f"{name} is not pure Python, so it cannot go into the extension.")
        yield found
        wanted += [
            re.split(r"[^\w.-]", requirement, maxsplit=1)[0]
            for requirement in found.requires or ()
            if "extra ==" not in requirement
        ]


def _belongs(file: str) -> bool:
    parts = Path(file).parts
    if any(part in (*_LEFT_OUT, "..") for part in parts):
        return False
    if parts[0].endswith(".dist-info"):
        return Path(file).name.startswith(_LICENSES)
    return file.endswith(_SUFFIXES)


def _module_file(folder: Path, module: str) -> Path:
    path = folder.joinpath(*module.split(".")[1:])
    return path / "__init__.py" if path.is_dir() else path.with_suffix(".py")


def _imports(path: Path) -> list[str]:
    """Return those of our modules that a module names in its imports, wherever they stand."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    modules = [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    own = [module for module in modules if module.split(".")[0] == OWN]
    return [*own, *(module.rpartition(".")[0] for module in own if "." in module)]
