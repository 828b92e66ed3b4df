"""What commands say: lines that control no terminal, and that any encoding takes."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from small_farm import edited, small_farm

from cultivar_fx import terminal
from cultivar_fx.catalog.registry import functions
from workbook_template.cli import main
from workbook_template.operations import carry_over as carrying
from workbook_template.operations import check as checking
from workbook_template.operations import export as exporting

if TYPE_CHECKING:
    from types import ModuleType

PROJECT = Path(__file__).resolve().parent.parent
ENCODINGS = ["ascii", "cp437", "cp1252"]
ESCAPES = "\x1b[2J\x9b31m\r\x07\udce9"
"""Clears the screen, colors it, goes back in the line, rings; and a byte that is no letter."""


def said_in(encoding: str, monkeypatch: pytest.MonkeyPatch, *arguments: object) -> tuple[int, str]:
    """Run a command whose output goes to a file in an encoding, as on Windows."""
    out, error = (io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2))
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", error)
    try:
        status = main([str(one) for one in arguments])
    except SystemExit as end:
        status = int(end.code or 0)
    written = []
    for stream in (out, error):
        stream.flush()
        written.append(stream.buffer.getvalue().decode(encoding))  # type: ignore[attr-defined]
    return status, "".join(written)


def is_plain(text: str) -> bool:
    return all(line.isprintable() for line in text.replace("\t", "").split("\n"))


@pytest.fixture(scope="module")
def edited_farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a workbook that holds signs which few encodings know, with a fault beside them."""

    def edit(workbook: object) -> None:
        workbook["Harvests"]["A7"].value = "Зимний опёнок №7 茸"  # type: ignore[index]

    return edited(tmp_path_factory.mktemp("edited") / f"{ESCAPES} ферма.xlsx", edit)


@pytest.fixture
def farm(edited_farm: Path, tmp_path: Path) -> Path:
    """Return a copy of it in a folder of its own."""
    return Path(shutil.copy(edited_farm, tmp_path))


@pytest.fixture(scope="module")
def found_before() -> dict[Any, Any]:
    """What was found out about the farm, by what was asked."""
    return {}


@pytest.fixture
def asked_once(found_before: dict[Any, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the commands work on the farm in the first encoding, and say in each what came of it."""

    def once(module: ModuleType, name: str) -> None:
        work = getattr(module, name)

        def kept(farm: Path, *arguments: Any, **options: Any) -> Any:
            key = name, farm.name
            if key not in found_before:
                found_before[key] = work(farm, *arguments, **options)
            return found_before[key]

        monkeypatch.setattr(module, name, kept)

    once(checking, "check")
    once(carrying, "carry_over")
    once(exporting, "read")


@pytest.mark.usefixtures("asked_once")
@pytest.mark.parametrize("encoding", [*ENCODINGS, "utf-8"])
def test_every_command_says_its_all_in_any_encoding(
    encoding: str, farm: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    commands = [
        (0, ["functions"]),
        (0, ["functions", "--markdown"]),
        (0, ["calc", "DEW_POINT", "20", "90%"]),
        (1, ["check", farm]),
        (1, ["check", farm, "--json"]),
        (0, ["carry-over", farm, farm.with_name(f"{ESCAPES}new.xlsx")]),
        (0, ["export", farm, farm.with_name(f"{ESCAPES}tables")]),
        (2, ["export", farm.with_name(f"{ESCAPES}tables"), farm.with_name("tables")]),
        (2, ["check", farm.with_name(f"{ESCAPES}none.xlsx")]),
        (2, ["workbook", f"{ESCAPES}.ods"]),
        (2, [ESCAPES]),
        (0, ["--help"]),
    ]
    for expected, arguments in commands:
        status, said = said_in(encoding, monkeypatch, *arguments)
        assert status == expected, said
        assert said.endswith("\n")
        assert is_plain(said), said


@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize("name", functions())
def test_every_function_is_shown_in_any_encoding(
    encoding: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    status, said = said_in(encoding, monkeypatch, "functions", name)
    assert status == 0
    assert "Example: =CFX." in said


def test_json_holds_every_sign_in_any_encoding(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, said = said_in("ascii", monkeypatch, "check", farm, "--json")
    values = [one["value"] for one in json.loads(said)["faults"]]
    assert "Зимний опёнок №7 茸" in values


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("72 °F × 2 − 1…", "72 degF x 2 - 1..."),
        ("m², µm, CO₂, 10½ kg, 3⑤", "m^2, um, CO2, 10 1/2 kg, 3?"),
        ("Grün", "Grun"),
        ("№ 茸", "No ?"),
        ("€ or £", "EUR or GBP"),
    ],
)
def test_signs_that_an_output_does_not_know_are_spelled(
    text: str, plain: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", out)
    terminal.say(text)
    out.flush()
    assert out.buffer.getvalue().decode() == plain + "\n"  # type: ignore[attr-defined]


def test_nobody_has_to_listen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    assert main(["functions"]) == 0


def test_a_reader_that_has_seen_enough_hears_no_complaint() -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "workbook_template.cli", "functions"],
        cwd=PROJECT,
        stdout=writer,
        stderr=subprocess.PIPE,
        text=True,
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize(
    ("arguments", "answer"),
    [
        # (9 / 5) × -5 + 32, by hand
        (["CONVERT_UNITS", "-5C", "degF"], "23"),
        (["CONVERT_UNITS", "-5 C", "degF"], "23"),
        (["CONVERT_UNITS", "-.5e1C", "degF"], "23"),
        # -5 °C is 268.15 K
        (["CONVERT_UNITS", "-5C", "K"], "268.15"),
    ],
)
def test_a_quantity_below_zero_is_no_option(
    arguments: list[str], answer: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["calc", *arguments]) == 0
    assert capsys.readouterr().out.split()[0] == answer


@pytest.mark.parametrize("lock", [".~lock.farm.xlsx#", "~$farm.xlsx"])
@pytest.mark.parametrize("command", ["check", "carry-over", "partner-copy", "export"])
def test_a_workbook_that_is_open_elsewhere_is_read_with_a_warning(
    lock: str,
    command: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    path = tmp_path / "farm.xlsx"
    path.write_bytes(small_farm().path.read_bytes()[:4000])  # so that nothing takes long
    (tmp_path / lock).touch()
    out = [] if command == "check" else [str(tmp_path / "out.xlsx")]
    assert main([command, str(path), *out]) == 2
    warning, refusal = capsys.readouterr().err.splitlines()
    assert warning.startswith(f"Warning: {path} is open in ")
    assert "not saved yet is not read" in warning
    assert refusal.startswith("cultivar-fx: ")


@pytest.mark.parametrize("seconds", [86_400.0, 4_500_000_000.0])
@pytest.mark.parametrize("command", ["workbook", "check"])
def test_no_clock_stops_a_command(
    seconds: float, command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 1970, and 2112: a zip entry knows 1980 to 2107.
    import time

    now = time.gmtime(seconds)
    monkeypatch.setattr(time, "time", lambda: seconds)
    monkeypatch.setattr(time, "localtime", lambda _=None: now)
    path = tmp_path / "farm.xlsx"
    if command == "check":
        assert main(["check", str(small_farm().path)]) == 0
    else:
        assert main(["workbook", str(path), "--batch-rows", "1"]) == 0
        assert path.exists()
