"""The macros of the Excel add-in, written out as the text of one VBA module.

Each worksheet function is a macro function that hands its cells to ``excel_udf`` through the
server of xlwings, and turns marked errors into real error values. The module reads no settings
from workbooks or their folders, so a workbook cannot choose which Python runs.

The text is plain ASCII, whatever the language of the machine: other characters are ``ChrW``.
"""

from __future__ import annotations

import re
from string import Template

import cultivar_fx
from cultivar_fx.hosts.excel_functions import CATEGORY, ExcelFunction, Parameter, excel_functions

UDF_MODULE = "cultivar_fx.hosts.excel_udf"
VBA_NAME = "CultivarFx"
DESCRIBE = "DescribeFunctions"

ERROR_NAMES = {
    "#DIV/0!": "xlErrDiv0",
    "#N/A": "xlErrNA",
    "#NAME?": "xlErrName",
    "#NULL!": "xlErrNull",
    "#NUM!": "xlErrNum",
    "#REF!": "xlErrRef",
    "#VALUE!": "xlErrValue",
}
"""Error values by the text that marks them, as VBA names them."""

_BASE = Template('''\
Attribute VB_Name = "$vba_name"
Option Explicit

' Written by cultivar-fx $version; "cultivar-fx install excel" writes it anew.
' The server and its library are those of xlwings $library_version, under the BSD 3-clause license,
' copyright (c) Zoomer Analytics LLC.

#If Win64 Then
    Private Declare PtrSafe Function ActivateServer Lib "xlwings64-$library_version.dll" _
        Alias "XLPyDLLActivateAuto" (ByRef server As Variant, _
        Optional ByVal command As String = "", Optional ByVal mode As Long = 1) As Long
    Private Const LIBRARY As String = "xlwings64-$library_version.dll"
#Else
    Private Declare PtrSafe Function ActivateServer Lib "xlwings32-$library_version.dll" _
        Alias "XLPyDLLActivateAuto" (ByRef server As Variant, _
        Optional ByVal command As String = "", Optional ByVal mode As Long = 1) As Long
    Private Const LIBRARY As String = "xlwings32-$library_version.dll"
#End If
Private Declare PtrSafe Function LoadLibrary Lib "kernel32" _
    Alias "LoadLibraryW" (ByVal path As LongPtr) As LongPtr

Private Const OWN_ERROR As Long = 1001
Private lastFault As String

Private Function PythonServer() As Object
    Dim path As String, started As Variant
    path = $library_folder & LIBRARY
    If LoadLibrary(StrPtr(path)) = 0 Then
        Err.Raise OWN_ERROR, , "Excel cannot load " & path & _
            "; run ""cultivar-fx install excel"" and start Excel again."
    End If
    If ActivateServer(started, StartCommand(), 1) <> 0 Then Err.Raise OWN_ERROR, , started
    Set PythonServer = started
End Function

Private Function StartCommand() As String
    StartCommand = "cmd.exe /K """"" & $python & _
        """ -P -B -c ""import xlwings; xlwings.serve('$$(CLSID)')"""""
End Function

Private Function AnswerOf(functionName As String, given As Variant) As Variant
    Dim answer As Variant
    On Error GoTo failed
    answer = PythonServer().CallUDF("$udf_module", functionName, CellsIn(given))
    AnswerOf = WithErrors(answer)
    lastFault = ""
    Exit Function
failed:
    lastFault = Err.Description
    AnswerOf = CVErr(xlErrValue)
End Function

Private Function ReasonOf(answer As Variant) As Variant
    ' Where Python itself cannot answer, what stopped it is the reason.
    ReasonOf = answer
    If IsError(answer) And lastFault <> "" Then ReasonOf = lastFault
End Function

Private Function CellsIn(given As Variant) As Variant
    Dim taken() As Variant, place As Long
    ReDim taken(LBound(given) To UBound(given))
    For place = LBound(given) To UBound(given)
        If IsObject(given(place)) Then
            taken(place) = CellsOf(given(place))
        Else
            taken(place) = given(place)
        End If
    Next place
    CellsIn = taken
End Function

Private Function CellsOf(ByVal area As Object) As Variant
    ' Cells with a currency format would come with four decimals only, so they come as numbers.
    Dim shown As Variant, exact As Variant, row As Long, column As Long
    If area.Areas.Count > 1 Then
        Err.Raise OWN_ERROR, , "An argument has several areas, needs one range."
    End If
    shown = area.Value
    exact = area.Value2
    If Not IsArray(shown) Then
        If VarType(shown) = vbCurrency Then shown = exact
    Else
        For row = LBound(shown, 1) To UBound(shown, 1)
            For column = LBound(shown, 2) To UBound(shown, 2)
                If VarType(shown(row, column)) = vbCurrency Then
                    shown(row, column) = exact(row, column)
                End If
            Next column
        Next row
    End If
    CellsOf = shown
End Function

Private Function WithErrors(answer As Variant) As Variant
    Dim row As Long, column As Long
    If Not IsArray(answer) Then
        WithErrors = CellValue(answer)
        Exit Function
    End If
    If HasRows(answer) Then
        For row = LBound(answer, 1) To UBound(answer, 1)
            For column = LBound(answer, 2) To UBound(answer, 2)
                answer(row, column) = CellValue(answer(row, column))
            Next column
        Next row
    Else
        For column = LBound(answer) To UBound(answer)
            answer(column) = CellValue(answer(column))
        Next column
    End If
    WithErrors = answer
End Function

Private Function HasRows(answer As Variant) As Boolean
    ' A single row comes as a plain list, which has no second dimension.
    On Error GoTo plainList
    HasRows = UBound(answer, 2) >= LBound(answer, 2)
plainList:
End Function

Private Function CellValue(part As Variant) As Variant
    CellValue = part
    If VarType(part) <> vbString Then Exit Function
    Select Case part
$error_cases
    End Select
End Function

Public Sub $describe()
    ' Excel keeps the descriptions in the file: this runs once, before the add-in is saved.
$describe_calls
End Sub

Private Sub DescribeFunction(functionName As String, summary As String, help As Variant)
    Application.MacroOptions Macro:="'" & ThisWorkbook.Name & "'!" & functionName, _
        Description:=summary, Category:="$category", ArgumentDescriptions:=help
End Sub
''')

_FUNCTION = Template("""
Public Function $name($parameters) As Variant
    $name = AnswerOf("$name", Array($names))
End Function
""")

_FUNCTION_OF_ANY_NUMBER = Template("""
Public Function $name($parameters) As Variant
    Dim given() As Variant, place As Long
    ReDim given(0 To UBound($rest) + 1)
    If IsObject($first) Then Set given(0) = $first Else given(0) = $first
    For place = 0 To UBound($rest)
        If IsObject($rest(place)) Then
            Set given(place + 1) = $rest(place)
        Else
            given(place + 1) = $rest(place)
        End If
    Next place
    $name = ReasonOf(AnswerOf("$name", given))
End Function
""")


def vba_module(python: str, library_folder: str, library_version: str) -> str:
    r"""Write the add-in's macros.

    Parameters
    ----------
    python : str
        Path of the Python that answers, such as ``C:\\Python\\python.exe``.
    library_folder : str
        Folder that holds the library of xlwings.
    library_version : str
        Version of xlwings, which is part of the library's name.

    Returns
    -------
    str
        The text of one VBA module, in ASCII.
    """
    wanted = excel_functions()
    base = _BASE.substitute(
        vba_name=VBA_NAME,
        version=cultivar_fx.__version__,
        library_version=library_version,
        library_folder=vba_text(library_folder.rstrip("\\") + "\\"),
        python=vba_text(python),
        udf_module=UDF_MODULE,
        error_cases="\n".join(
            f'        Case "{code}": CellValue = CVErr({name})'
            for code, name in ERROR_NAMES.items()
        ),
        describe=DESCRIBE,
        describe_calls="\n".join(f"    Help_{one.name}" for one in wanted),
        category=CATEGORY,
    )
    return base + "".join(_function(one) + _help(one) for one in wanted)


def vba_text(text: str) -> str:
    """Write a text as VBA does: quotes doubled, characters beyond ASCII by their numbers."""
    parts = []
    for part in re.split(r"([^ -~])", text):
        if len(part) == 1 and not part.isascii():
            parts.append(f"ChrW({ord(part)})")
        elif part:
            doubled = part.replace('"', '""')
            parts.append(f'"{doubled}"')
    return " & ".join(parts) or '""'


def _function(wanted: ExcelFunction) -> str:
    names = [one.name for one in wanted.parameters]
    parameters = ", ".join(_declared(one) for one in wanted.parameters)
    if wanted.takes_any_number:
        return _FUNCTION_OF_ANY_NUMBER.substitute(
            name=wanted.excel_name, parameters=parameters, first=names[0], rest=names[-1]
        )
    return _FUNCTION.substitute(
        name=wanted.excel_name, parameters=parameters, names=", ".join(names)
    )


def _declared(one: Parameter) -> str:
    if one.takes_rest:
        return f"ParamArray {one.name}() As Variant"
    return f"Optional {one.name} As Variant" if one.optional else f"{one.name} As Variant"


def _help(wanted: ExcelFunction) -> str:
    help_texts = ", _\n        ".join(vba_text(one.help) for one in wanted.parameters)
    return (
        f"\nPrivate Sub Help_{wanted.name}()\n"
        f'    DescribeFunction "{wanted.excel_name}", _\n'
        f"        {vba_text(wanted.summary)}, _\n"
        f"        Array({help_texts})\n"
        "End Sub\n"
    )
