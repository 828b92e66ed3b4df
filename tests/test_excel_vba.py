"""The macros of the Excel add-in: a reviewed text, and what they do when LibreOffice runs them.

Excel itself does not run here. LibreOffice's Basic understands the macros in its mode for VBA, so
it compiles all of them and runs what they do with cells and answers; in the place of the server
of xlwings stands one that gives back what it gets.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import regenerate
import xlwings

from cultivar_fx.errors import ERROR_CODES
from cultivar_fx.hosts.excel_functions import LONGEST_HELP, excel_functions
from cultivar_fx.hosts.excel_vba import ERROR_NAMES, vba_text

if TYPE_CHECKING:
    from office import Office

LONGEST_LINE = 1023  # what VBA reads of a line; MS-VBAL sets no limit, the editor does
MOST_CONTINUATIONS = 24

# Excel's numbers of error values: XlCVError, Excel VBA reference
ERROR_NUMBERS = {
    "#NULL!": 2000,
    "#DIV/0!": 2007,
    "#VALUE!": 2015,
    "#REF!": 2023,
    "#NAME?": 2029,
    "#NUM!": 2036,
    "#N/A": 2042,
}


MACROS = regenerate.macros()
PROCEDURES = re.findall(r"^(?:Public|Private) (?:Function|Sub) (\w+)\(", MACROS, re.MULTILINE)


def test_macros_are_as_reviewed() -> None:
    """To change them: run this file with Python, and read what the difference says."""
    assert regenerate.MACROS.read_text(encoding="ascii") == MACROS


def test_every_function_has_its_macro_and_its_help() -> None:
    for wanted in excel_functions():
        assert PROCEDURES.count(wanted.excel_name) == 1
        assert PROCEDURES.count(f"Help_{wanted.name}") == 1
        assert MACROS.count(f"    Help_{wanted.name}\n") == 1


def test_lines_are_within_the_limits_of_vba() -> None:
    lines = MACROS.splitlines()
    assert max(map(len, lines)) <= LONGEST_LINE
    joined = "".join("1" if line.endswith(" _") else "0" for line in lines)
    assert max(map(len, joined.split("0"))) <= MOST_CONTINUATIONS


def test_help_is_within_the_limits_of_excel() -> None:
    for wanted in excel_functions():
        texts = [wanted.summary, *(one.help for one in wanted.parameters)]
        assert all(0 < len(text) <= LONGEST_HELP for text in texts), wanted.name


# Reserved identifiers of MS-VBAL 3.3.5.2 that a parameter could be called
@pytest.mark.parametrize("word", ["function", "date", "single", "to", "step", "loop", "error"])
def test_no_parameter_is_a_reserved_word(word: str) -> None:
    assert word not in {one.name for wanted in excel_functions() for one in wanted.parameters}


def test_no_parameter_hides_a_procedure_that_macros_call() -> None:
    procedures = {name.casefold() for name in PROCEDURES}
    names = {one.name for wanted in excel_functions() for one in wanted.parameters}
    assert not procedures & names


def test_macros_read_no_settings_of_workbooks() -> None:
    assert "ActiveWorkbook" not in MACROS
    assert "GetConfig" not in MACROS
    assert " -P " in MACROS  # Python's own switch against importing from the current folder


@pytest.mark.parametrize(
    ("text", "literal"),
    [
        ("", '""'),
        ("plain", '"plain"'),
        ('a "b"', '"a ""b"""'),
        ("5 °C", '"5 " & ChrW(176) & "C"'),
        ("²", "ChrW(178)"),
    ],
)
def test_texts_are_written_as_vba_does(text: str, literal: str) -> None:
    assert vba_text(text) == literal


def test_errors_are_all_named() -> None:
    assert set(ERROR_NAMES) == ERROR_CODES == set(ERROR_NUMBERS)


SERVER = """\
Rem Attribute VBA_ModuleType=VBAClassModule
Option VBASupport 1
Option ClassModule
Public Function CallUDF(moduleName, functionName, given)
    If functionName = "CFX_DRY_BASIS" Then Err.Raise 1002, , "Python is gone."
    CallUDF = given(0)
End Function
"""
AREA = """\
Rem Attribute VBA_ModuleType=VBAClassModule
Option VBASupport 1
Option ClassModule
Public Value As Variant
Public Value2 As Variant
Public Areas As Object
"""
COUNTED = """\
Rem Attribute VBA_ModuleType=VBAClassModule
Option VBASupport 1
Option ClassModule
Public Count As Long
"""
TRIAL = """
Function Trial() As String
%s
End Function

Private Function NewArea(count As Long, shown As Variant, exact As Variant) As Object
    Dim area As New TestArea, counted As New TestCount
    counted.Count = count
    Set area.Areas = counted
    area.Value = shown
    area.Value2 = exact
    Set NewArea = area
End Function
"""


def run(office: Office, *lines: str) -> str:
    """Run some lines that set ``Trial``, behind the macros."""
    macros = MACROS.replace('Attribute VB_Name = "CultivarFx"\n', "Option VBASupport 1\n")
    # Only Excel's Basic knows these: what declares libraries, and what starts the server.
    macros = re.sub(r"#If Win64.*?LongPtr\n(?=\nPrivate Const)", "", macros, flags=re.DOTALL)
    server = "Dim server As New TestServer\n    Set PythonServer = server\nEnd Function\n"
    macros = re.sub(
        r"(Private Function PythonServer\(\) As Object\n).*?End Function\n",
        rf"\1    {server}",
        macros,
        count=1,
        flags=re.DOTALL,
    )
    trial = TRIAL % "\n".join(f"    {line}" for line in lines)
    classes = {"TestServer": SERVER, "TestArea": AREA, "TestCount": COUNTED}
    return str(office.run_basic({"Macros": macros + trial, **classes}, "Trial"))


def test_all_macros_compile(office: Office) -> None:
    assert run(office, 'Trial = "compiled"') == "compiled"


def test_python_is_started_with_quotes_as_the_command_line_of_windows_needs(
    office: Office,
) -> None:
    assert run(office, "Trial = StartCommand()") == (
        'cmd.exe /K ""C:\\Farms\\José\\Scripts\\python.exe" '
        '-P -B -c "import xlwings; xlwings.serve(\'$(CLSID)\')""'
    )


def test_the_library_is_called_as_by_the_macros_of_xlwings_itself() -> None:
    own = Path(xlwings.__file__).with_name("xlwings.bas").read_text(encoding="utf-8")
    for bits in (32, 64):
        library = rf'Lib "xlwings{bits}-[\d.]+\.dll"[^(]*(\(.*?\) As Long)'
        called = re.search(f"XLPyDLLActivateAuto {library}", own)
        ours = re.search(f"ActivateServer {library}", MACROS.replace(" _\n       ", ""))
        assert called is not None
        assert ours is not None
        assert ours[1] == called[1].replace("Result", "server").replace("Config", "command")
    assert "xlwings.serve('$(CLSID)')" in own


@pytest.mark.parametrize("code", sorted(ERROR_CODES))
def test_a_marked_error_is_a_real_error_value(office: Office, code: str) -> None:
    answer = f'CFX_DRY_MASS("{code}", 1, "us")'
    assert (
        run(office, f"Trial = TypeName({answer}) & {answer}") == f"ErrorError {ERROR_NUMBERS[code]}"
    )


@pytest.mark.parametrize(("value", "shown"), [("188.5", "Double188.5"), ('"wet"', "Stringwet")])
def test_other_answers_stay_what_they_are(office: Office, value: str, shown: str) -> None:
    assert run(office, "Dim v", f"v = CFX_WET_BASIS({value})", "Trial = TypeName(v) & v") == shown


def test_errors_in_a_grid_are_real_in_their_places(office: Office) -> None:
    shown = run(
        office,
        "Dim cells(1 To 2, 1 To 2) As Variant, answer As Variant",
        "cells(1, 1) = 5",
        'cells(1, 2) = "#NUM!"',
        'cells(2, 1) = "#N/A"',
        'cells(2, 2) = ""',
        "answer = CFX_WET_BASIS(NewArea(1, cells, cells))",
        'Trial = answer(1, 1) & "|" & answer(1, 2) & "|" & answer(2, 1) & "|" & answer(2, 2)',
    )
    assert shown == "5|Error 2036|Error 2042|"


def test_errors_in_a_row_are_real_in_their_places(office: Office) -> None:
    answer = 'answer = WithErrors(Array(5, "#REF!"))'
    assert run(office, "Dim answer", answer, 'Trial = answer(0) & "|" & answer(1)') == (
        "5|Error 2023"
    )


def test_cells_with_a_currency_format_keep_all_decimals(office: Office) -> None:
    shown = run(office, "Trial = CFX_WET_BASIS(NewArea(1, CCur(1.2346), 1.23456))")
    assert shown == "1.23456"


def test_a_range_of_several_areas_is_an_error_that_why_explains(office: Office) -> None:
    area = "NewArea(2, 5, 5)"
    assert run(office, f"Trial = CStr(CFX_WET_BASIS({area}))") == "Error 2015"
    reason = run(office, f'Trial = CFX_WHY("WET_BASIS", {area})')
    assert reason == "An argument has several areas, needs one range."


def test_without_python_a_cell_shows_an_error_and_why_says_so(office: Office) -> None:
    assert run(office, "Trial = CStr(CFX_DRY_BASIS(0.5))") == "Error 2015"
    fault = run(office, "Dim answer", "answer = CFX_DRY_BASIS(0.5)", "Trial = ReasonOf(answer)")
    assert fault == "Python is gone."


def test_why_hands_over_all_its_arguments(office: Office) -> None:
    assert run(office, 'Trial = CFX_WHY("DRY_MASS", 1, 2, "us")') == "DRY_MASS"
    assert run(office, 'Trial = CFX_WHY("DRY_MASS")') == "DRY_MASS"
