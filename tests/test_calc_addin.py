"""The Calc add-in, installed into a LibreOffice and asked there."""

from __future__ import annotations

import datetime as dt
import shutil
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from calc_host import Call, answers, as_call, enter
from calc_profile import empty_profile, installed_for_tests
from host_calls import as_shown, host_calls, same
from office import Office

from cultivar_fx.catalog.reference import typed_example
from cultivar_fx.catalog.registry import functions
from cultivar_fx.errors import CellError
from cultivar_fx.hosts import calc_install
from cultivar_fx.hosts.calc_addin import addin_files
from cultivar_fx.hosts.calc_names import IDENTIFIER
from workbook_template.cli import main

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Iterator

    from office import Document

POUND = 0.45359237  # kg, exact
FROM_200_POUNDS = 200 * POUND * 28 / 19  # L of water, 6 to 62 % wet basis: 0.56 / 0.38
EXAMPLE = '=CFX.WATER_TO_ADD("200 lb",6%,62%)'
COMPARED = "calls compared in LibreOffice Calc"


class Filled(NamedTuple):
    """A document with every call of the common list."""

    document: Document
    calls: list[Call]
    rows: list[int]

    def differing(self) -> list[str]:
        """Describe the calls that show something else than they have to."""
        return [
            f"{call} shows {found!r}, not {call.shown!r}"
            for call, found in zip(self.calls, answers(self.document, self.calls, self.rows))
            if not same(found, call.shown)
        ]


@pytest.fixture(scope="module")
def calc(libreoffice: None) -> Iterator[Office]:
    """A LibreOffice that has the add-in."""
    with installed_for_tests() as profile, Office(profile) as office:
        yield office


@pytest.fixture(scope="module")
def filled(calc: Office, seed: str) -> Iterator[Filled]:
    with calc.document() as document:
        calls = [as_call(case) for case in host_calls(seed)]
        yield Filled(document, calls, enter(document, calls))


def _typed(office: Office, *formulas: str) -> list[Any]:
    """Type formulas into cells, and give what they show."""
    with office.document() as document:
        sheet = document.sheets[0]
        for row, formula in enumerate(formulas):
            document.fill(sheet, row, 0, formula.removeprefix("="))
        shown = document.read(sheet, 0, 0, down=len(formulas))
    return ["" if line[0] is None else as_shown(line[0]) for line in shown]


def test_every_call(filled: Filled, counts: Counter[str]) -> None:
    counts[COMPARED] += len(filled.calls)
    assert filled.differing() == []


@pytest.mark.parametrize("kind", ["ods", "xlsx"])
def test_every_call_again_from_a_file(
    filled: Filled, kind: str, calc: Office, tmp_path: Path, counts: Counter[str]
) -> None:
    filled.document.store(tmp_path / f"calls.{kind}")
    with calc.document(tmp_path / f"calls.{kind}") as document:
        document.calculate()
        again = filled._replace(document=document)
        counts[f"{COMPARED}, from an .{kind} file"] += len(again.calls)
        assert again.differing() == []


def test_every_example_as_it_is_typed(calc: Office, counts: Counter[str]) -> None:
    # The value that the documentation prints, to its own digits; the tests of the stages hold it
    # against its source.
    counts[COMPARED] += len(functions())
    shown = _typed(calc, *(typed_example(wanted) for wanted in functions().values()))
    for wanted, found in zip(functions().values(), shown):
        printed = wanted.example.value
        if printed.startswith("datetime.date("):
            day = dt.datetime(*map(int, printed[len("datetime.date(") : -1].split(", ")))
            assert found == (day - dt.datetime(1899, 12, 30)).days
        elif printed.startswith("'"):
            assert found == printed.strip("'")
        else:
            digits = len(printed.partition("e")[0].replace(".", "").lstrip("-0"))
            assert found == pytest.approx(float(printed), rel=10.0 ** -max(digits - 1, 1))


def test_one_text_typed_once(calc: Office) -> None:
    # 28/19 L of water per kg from 6 to 62 %: from the definition of moisture
    assert _typed(calc, EXAMPLE) == [pytest.approx(FROM_200_POUNDS, rel=1e-12)]


@pytest.mark.parametrize(
    ("formula", "shown"),
    [
        ("CFX.WATER_TO_ADD(,6%,62%)", "#NUM!"),  # Calc's own Err:502 where it misses an argument
        ("CFX.WATER_TO_ADD(1)", "Err:504"),
        ("CFX.NO_SUCH_FUNCTION(1)", "#NAME?"),
        ("SUM(CFX.DRY_MASS(1,0.5),CFX.SPECIFIC_HEAT(62%))", 0.5 + 3.127),
        ("IFERROR(CFX.DRY_MASS(1,62),7)", 7.0),
        ("CFX.DRY_MASS(CFX.DRY_MASS(4,0.5),0.5)", 1.0),
        ("CFX.LETHAL_RATE(CFX.LETHAL_RATE(121.1)*121.1)", 1.0),
        # 5 blocks of 40 cm along 2 m, 2 of them one behind the other in 1 m
        ('CFX.SHELF_SPACES(2,1,40,40,"0 cm")', 10.0),
        ("CFX.SHELF_SPACES(2,1,40,40,0)", "#N/A"),
        ('CFX.WATER_TO_ADD("1 kg",6%,62%,A9)', 28 / 19),  # an empty cell for the system of units
    ],
)
def test_in_formulas(formula: str, shown: object, calc: Office) -> None:
    [found] = _typed(calc, formula)
    if isinstance(shown, float):
        assert found == pytest.approx(shown, rel=2e-4)
    else:
        assert found == shown


@pytest.mark.parametrize(
    ("formula", "words"),
    [
        ('CFX.WHY("WATER_TO_ADD",200,6,62%)', "moisture: got 6, needs a fraction"),
        ('CFX.WHY("WATER_TO_ADD",A9,6%,62%)', "is empty: mass: is blank"),
        ('CFX.WHY("SHELF_SPACES",2,1,40,40,0)', "gap: is 0 or an empty cell"),
        ('CFX.WHY("NO_SUCH",1)', "there is no function"),
    ],
)
def test_why(formula: str, words: str, calc: Office) -> None:
    [found] = _typed(calc, formula)
    assert words in found


def test_computed_range_with_an_error_gives_that_error(calc: Office) -> None:
    with calc.document() as document:
        sheet = document.sheets[0]
        document.write(sheet, 0, 0, [[10.0, 0.77], [0.0, 0.35]])
        document.fill_array(sheet, 0, 3, "CFX.MOISTURE_OF_MIX(1/A1:A2;B1:B2)")
        assert document.read(sheet, 0, 3) == [[CellError("#DIV/0!", "")]]


def test_sample_of_typed_functions_is_computed(calc: Office) -> None:
    sample = Path(__file__).parent.parent / "sample_sheets" / "typed_functions.xlsx"
    with calc.document(sample) as document:
        document.calculate()
        rows = document.read(document.sheets[0], 5, 2, down=8, right=4)
    for live, python, _, compared in rows:
        assert live == pytest.approx(python, rel=1e-9)
        assert compared == "the same"


def test_uninstall_leaves_nothing(libreoffice: None) -> None:
    with empty_profile() as profile:
        with Office(profile) as office:
            assert _typed(office, EXAMPLE) == ["#NAME?"]
        calc_install.install(profile)
        assert "type =CFX." in calc_install.install(profile)  # the second replaces the first
        assert _files_that_name_it(profile)
        assert calc_install.uninstall(profile).startswith("Removed")
        assert "nothing was done" in calc_install.uninstall(profile)
        with Office(profile) as office:  # LibreOffice clears its folders when it starts
            assert _typed(office, EXAMPLE) == ["#NAME?"]
        assert _files_that_name_it(profile) == []


def test_an_update_that_fails_leaves_the_old_one(
    libreoffice: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    with empty_profile() as profile:
        calc_install.install(profile)
        before = _files_that_name_it(profile)
        monkeypatch.setattr(calc_install, "write_addin", lambda path: path.write_bytes(b"PK\3\4"))
        with pytest.raises(ValueError, match=r"^LibreOffice refuses: "):
            calc_install.install(profile)
        with Office(profile) as office:
            assert _typed(office, EXAMPLE) == [pytest.approx(FROM_200_POUNDS)]
        assert _files_that_name_it(profile) == before


def _files_that_name_it(profile: Path) -> list[str]:
    """Return what the add-in left in a profile; LibreOffice's own log of its doings stays."""
    files = (path for path in profile.rglob("*") if path.is_file() and path.name != "log.txt")
    return [
        str(path)
        for path in files
        if "cultivar" in str(path) or IDENTIFIER.encode() in path.read_bytes()
    ]


def test_running_office_is_asked_to_be_closed(libreoffice: None) -> None:
    with empty_profile() as profile:
        (profile / ".lock").touch()
        for change in (calc_install.install, calc_install.uninstall):
            with pytest.raises(ValueError, match=r"^LibreOffice is running\. Close"):
                change(profile)


def test_missing_office_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.setattr(calc_install, "office_folders", lambda: [tmp_path])
    assert main(["install", "calc"]) == 2
    assert capsys.readouterr().err.startswith("cultivar-fx: LibreOffice is not found.")


def test_extension_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "functions.oxt"
    assert main(["install", "calc", "--oxt", str(target)]) == 0
    assert str(target) in capsys.readouterr().out
    assert set(zipfile.ZipFile(target).namelist()) == set(addin_files())


def test_extension_is_written_whole_and_through_no_link_beside_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    target, other = tmp_path / "f.oxt", tmp_path / "other.txt"
    other.write_text("mine")
    (tmp_path / "f.oxt.part").symlink_to(other)
    command = ["install", "calc", "--oxt", str(target)]
    assert main(command) == 0
    assert main(command) == 2
    assert "--force replaces it" in capsys.readouterr().err
    whole = target.read_bytes()

    def fail(target: Path) -> None:
        target.write_bytes(whole[:100])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("cultivar_fx.hosts.calc_addin.write_addin", fail)
    assert main([*command, "--force"]) == 2
    assert "the disk is full. Nothing was changed." in capsys.readouterr().err
    assert other.read_text() == "mine"
    assert target.read_bytes() == whole
    assert {path.name for path in tmp_path.iterdir()} == {"f.oxt", "f.oxt.part", "other.txt"}


def test_another_extension_that_is_replaced_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "f.oxt"
    target.write_text("of an earlier version")
    command = ["install", "calc", "--oxt", str(target), "--force"]
    assert main(command) == 0
    kept = tmp_path / f"f-before-{dt.date.today().isoformat()}.oxt"
    assert kept.read_text() == "of an earlier version"
    assert f"The file that was there is kept as {kept}." in capsys.readouterr().out
    assert main(command) == 0
    assert {one.name for one in tmp_path.iterdir()} == {target.name, kept.name}


@pytest.mark.parametrize("arguments", [["calc", "--oxt", "a.zip"], ["excel", "--oxt", "a.oxt"]])
def test_extension_needs_its_own_name(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["install", *arguments]) == 2
    assert "needs a name that ends in .oxt" in capsys.readouterr().err
