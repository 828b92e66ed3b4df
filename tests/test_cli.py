"""The commands, as they are typed."""

from __future__ import annotations

import sys
from pathlib import Path

import openpyxl
import pytest
from small_farm import small_farm

from cultivar_fx.catalog import reference
from cultivar_fx.catalog.registry import functions
from workbook_template.cli import main


def test_calc_answers_with_the_unit(capsys: pytest.CaptureFixture[str]) -> None:
    # 200 lb = 90.718474 kg; 90.718474 × (0.62 − 0.06) / 0.38 = 133.69038 L, by hand
    assert main(["calc", "WATER_TO_ADD", "200 lb", "6%", "62%"]) == 0
    assert capsys.readouterr().out == "133.6903827 L\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ["calc", "WATER_TO_ADD", "200", "6%", "62%", "us"],
        ["calc", "cfx.water_to_add", "200", "0.06", "0.62", "--units", "us"],
    ],
)
def test_calc_answers_in_the_system_asked_for(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    # 133.69038 L over 3.785411784 L to the US gallon
    assert main(arguments) == 0
    assert capsys.readouterr().out == "35.31726279 US gal\n"


def test_calc_takes_the_unit_system_last_also_without_the_optional_arguments(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["calc", "HUMIDITY_RATIO", "68", "90%", "us"]) == 0
    short = capsys.readouterr().out
    assert main(["calc", "HUMIDITY_RATIO", "68 degF", "90%", "0 ft", "us"]) == 0
    assert capsys.readouterr().out == short


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["calc", "WATER_TO_ADD", "200", "6", "62%"], "moisture: got '6', needs a fraction"),
        (["calc", "WATER_TO_ADD", "", "6%", "62%"], "mass: is blank"),
        (["calc", "WATR_TO_ADD", "1"], "did you mean WATER_TO_ADD"),
        (["calc", "START_DATE", "3/4/2026", "42 d"], "may be 2026-03-04 or 2026-04-03"),
        # The optional altitude is left out: what goes last is the unit system.
        (["calc", "RELATIVE_HUMIDITY", "60", "70", "us"], "got 70 °F, needs to be at most"),
        (["calc", "HARVEST_HEAT", "10", "95", "us"], "a number in °F from 32 to 77"),
        (["calc", "HARVEST_HEAT", "10", "95 degF"], "a number in degF from 32 to 77"),
        (["calc", "WATER_TO_ADD", "1", "2", "3", "us", "5"], "takes 4 arguments"),
        (["functions", "NO_SUCH_THING"], "there is no function 'NO_SUCH_THING'"),
        (["workbook", "farm.ods"], "needs a name that ends in .xlsx"),
        (["workbook", "no/such/folder/farm.xlsx"], "There is no folder no/such/folder"),
    ],
)
def test_bad_input_says_what_is_needed_and_exits_with_2(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    shown = capsys.readouterr()
    assert words in shown.err
    assert shown.err.count("\n") == 1
    assert shown.out == ""


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--units", "imperial"], "argument --units: invalid choice: 'imperial'"),
        (["--units", "us\n"], r"argument --units: invalid choice: 'us\n'"),
        (["--batch-rows", "many"], "argument --batch-rows: invalid int value: 'many'"),
        (["--batch-rows", "1e3"], "argument --batch-rows: invalid int value: '1e3'"),
        (["--batch-rows", "9" * 5000], "argument --batch-rows: invalid int value"),
        (["--batch-rows", "-1"], "batch rows: got -1, needs 1 to"),
        (["--batch-rows", "20001"], "batch rows: got 20001, needs 1 to"),
        (["--currency", "{"], "currency: got '{', needs a symbol"),
        (["--currency", "!"], "currency: got '!', needs a symbol"),
        (["--currency", "\udce9"], "currency: got '?', needs a symbol"),
        (["--currency", "$" * 5000], "currency: got '$$"),
        (["more\nthan one"], "unrecognized arguments: more than one"),
    ],
)
def test_options_of_a_workbook_that_cannot_be_used_are_refused_in_one_line(
    options: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        status = main(["workbook", str(tmp_path / "farm.xlsx"), *options])
    except SystemExit as end:
        status = end.code
    shown = capsys.readouterr()
    assert status == 2
    assert words in shown.err
    assert shown.err.count("\n") == 1
    assert shown.out == ""
    assert list(tmp_path.iterdir()) == []


def test_calc_answers_a_range_line_by_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calc", "DRY_MASS", "{100;x}", "10%"]) == 2
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "90 kg"
    assert lines[1].startswith("#VALUE! mass: got 'x'")


def test_functions_lists_every_function(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["functions"]) == 0
    shown = capsys.readouterr().out
    assert all(f"  {name} " in shown for name in functions())


@pytest.mark.parametrize("name", functions())
def test_functions_shows_each_in_full(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["functions", name]) == 0
    shown = capsys.readouterr().out
    for argument in functions()[name].arguments:
        assert argument.name in shown
    assert "Example: =CFX." in shown
    assert "Source: " in shown


@pytest.mark.usefixtures("without_values")
def test_workbook_is_written_and_not_replaced_unasked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["workbook", str(tmp_path / "farm.xlsx"), "--batch-rows", "1"]
    assert main([*command, "--units", "us", "--currency", "€"]) == 0
    assert main(command) == 2
    assert "--force replaces it" in capsys.readouterr().err
    assert main([*command, "--force"]) == 0


@pytest.mark.usefixtures("without_values")
def test_what_was_entered_into_a_replaced_workbook_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "farm.xlsx"
    command = ["workbook", str(path), "--batch-rows", "1", "--force"]
    assert main(command) == 0
    assert main(command) == 0
    assert list(tmp_path.iterdir()) == [path]  # nobody had entered anything
    capsys.readouterr()
    workbook = openpyxl.load_workbook(path)
    workbook["Harvests"]["F7"].value = "the only thing entered"
    workbook.save(path)
    for replacing in (
        ["workbook", str(path), "--batch-rows", "1", "--force"],
        ["carry-over", str(small_farm().path), str(path), "--force"],
        ["partner-copy", str(small_farm().path), str(path), "--force"],
    ):
        before = path.read_bytes()
        files = set(tmp_path.iterdir())
        assert main(replacing) == 0
        kept = [
            line.partition("is kept as ")[2].removesuffix(".")
            for line in capsys.readouterr().out.splitlines()
            if "is kept as" in line
        ]
        if replacing[0] == "carry-over":  # what it replaces is as it was written
            assert kept == []
            continue
        assert [str(one) for one in set(tmp_path.iterdir()) - files] == kept
        assert Path(kept[0]).read_bytes() == before


def test_no_command_shows_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    assert "workbook" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "shown"),
    [
        (["WET_BASIS", "150%"], "0.6 = 60 %"),
        (["START_DATE", "2026-09-14", "30"], "2026-08-15"),
        (["START_DATE", "9/14/2026", "30 d"], "2026-08-15"),
        (["START_DATE", "46279", "30"], "2026-08-15"),
        (["WHY", "WATER_TO_ADD", "200", "6%", "62%"], ""),
    ],
)
def test_calc_shows_shares_dates_and_texts(
    arguments: list[str], shown: str, capsys: pytest.CaptureFixture[str]
) -> None:
    # 1.5 / 2.5; 30 days before the 14th of September
    assert main(["calc", *arguments]) == 0
    assert capsys.readouterr().out == f"{shown}\n"


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (FileNotFoundError(2, "No such file", "farm.xlsx"), "No such file: farm.xlsx"),
        (OSError(28, "No space left"), "No space left"),
        (OSError("the engine stopped"), "the engine stopped"),
    ],
)
def test_what_the_system_refuses_is_one_line(
    error: OSError,
    sentence: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fail() -> str:
        raise error

    monkeypatch.setattr(reference, "overview", fail)
    assert main(["functions"]) == 2
    assert capsys.readouterr().err == f"cultivar-fx: {sentence}\n"


def test_reader_that_has_seen_enough_ends_the_command_in_silence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail() -> str:
        raise BrokenPipeError

    monkeypatch.setattr(sys, "stdout", sys.stdout)  # puts back what the command lets go
    monkeypatch.setattr(reference, "overview", fail)
    assert main(["functions"]) == 0
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("command", ["install", "uninstall"])
@pytest.mark.parametrize("program", ["excel", "calc"])
def test_install_and_uninstall_say_what_they_did(
    command: str,
    program: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(f"cultivar_fx.hosts.{program}_install.{command}", lambda: "Did it.")
    assert main([command, program]) == 0
    assert capsys.readouterr().out == "Did it.\n"
