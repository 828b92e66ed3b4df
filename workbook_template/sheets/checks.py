"""Checks: everything that can be checked, where it fails, and one sentence for all of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.cards import CHECKS
from workbook_template.schema.fields import Computed, Counter, dimension_of
from workbook_template.sheets.check_lines import FOUND, SENTENCE, Line, all_lines
from workbook_template.writing.blocks import Calculated, Custom, Form, Grid, Sheet
from workbook_template.writing.layout import address

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbook_template.writing.layout import ColumnPlace
    from workbook_template.writing.writer import Writer

NAME = "Checks"
AN_ERROR = "an error"
"""What a check finds where what it looks at cannot be computed."""
OK, FAILS, WARNS, WAITS = "OK", "fix this", "check this", "waits for the inputs above"
"""The states of a check."""
_WORDS, _SHEET, _FOUND, _ALLOWED, _STATE, _FIRST = range(1, 7)
_HEADINGS = ("Check", "Sheet", "Found", "Allowed", "State", "First cell")

_FORM = Form(
    "Summary",
    (
        Calculated("faults", "To fix", "count", "SUM({check_lines.faults})", "", is_key=True),
        Calculated(
            "cautions",
            "To check",
            "count",
            "SUM({check_lines.cautions})",
            "May well be right.",
            is_key=True,
        ),
        Calculated(
            "master_check",
            "State of the workbook",
            "state",
            'CHOOSE(1+({faults}>0),"OK",{faults}&" to fix")'
            '&CHOOSE(1+({cautions}>0),"",", "&{cautions}&" to check")',
            "Shown on every sheet.",
            is_key=True,
        ),
        *CHECKS.fields,
    ),
)


def _of_line(key: str, label: str) -> Computed:
    formula = f'CHOOSE(1+COUNT({{?line}}),"",INDEX({{check_lines.{key}}},{{?line}})&"")'
    return Computed(key, label, "state", formula)


_SHOWN = 12
_ALARMS = Grid(
    "alarms",
    "First on the list",
    (
        Counter("number"),
        Computed("line", "Line", "count", 'IFERROR(MATCH({number},{check_lines.turn},0),"")'),
        _of_line("words", "What it says"),
        _of_line("where", "Where"),
        _of_line("target", "Link"),
    ),
    rows=_SHOWN,
)
"""What fails, in the order of the lines: faults first, then what is to be checked."""


def sheet(sheets: Sequence[Sheet], units: str) -> Sheet:
    """Lay the sheet out, with what there is to check on the other sheets and on itself."""
    own = Sheet(NAME, "", [_FORM])
    lines = all_lines([*sheets, own], units)
    faults = [line for line in lines if not line.check.is_warning]
    warnings = lines[len(faults) :]
    return Sheet(
        name=NAME,
        purpose="What is wrong or worth a look, and where. Its sentence stands on every sheet.",
        blocks=[
            _FORM,
            Custom(_SHOWN + 1, _write_first),
            _list("checks", "To fix", faults),
            _list("warnings", "To check: may well be right", warnings),
        ],
        widths=(70, 12, 9, 9, 25, 18),
        workings=[_workings(lines, len(faults)), _ALARMS],
        pages_high=1,
        printed_blocks=2,
    )


def _write_first(writer: Writer, row: int) -> None:
    """Write what fails, each line a link: all that is printed of the lists below."""
    writer.section(row, "What fails, the first on the list")
    failing = "COUNT({alarms.line})"
    for number in range(1, _SHOWN + 1):
        cells = (f"INDEX({{alarms.{key}}},{number})" for key in ("where", "words", "target"))
        where, words, target = cells
        nothing = '"Nothing fails."' if number == 1 else '""'
        shown = f'CHOOSE(1+({failing}>={number}),{nothing},{where}&": "&{words})'
        if number == _SHOWN:
            more = f"(MAX({{check_lines.turn}})-{_SHOWN - 1})"
            shown = f'CHOOSE(1+({more}>1),{shown},{more}&" more.")'
        leads_to = f"CHOOSE(1+({failing}>={number}),\"#'{NAME}'!A1\",{target})"
        link = f"HYPERLINK({leads_to},{shown})"
        writer.formula(row + number, 1, link, dimension_of("state"), "farm link", waits=False)


def _list(key: str, title: str, lines: Sequence[Line]) -> Custom:
    """Make a list of checks, a line each."""

    def place(writer: Writer, row: int) -> None:
        for column, part in ((_FOUND, "found"), (_STATE, "state")):
            writer.place_column(key, part, row + 2, row + 1 + len(lines), column)

    def write(writer: Writer, row: int) -> None:
        writer.section(row, title)
        for column, words in enumerate(_HEADINGS, 1):
            writer.text(row + 1, column, words, "farm heading")
        first = 0 if key == "checks" else _height(writer.book.columns["checks", "state"])
        for offset, line in enumerate(lines):
            _write_line(writer, row + 2 + offset, line, first + offset)
        cells = f"E{row + 2}:E{row + 1 + len(lines)}"
        writer.alarm(cells, f'E{row + 2}="{FAILS}"')
        writer.alarm(cells, f'E{row + 2}="{WARNS}"', is_warning=True)

    return Custom(len(lines) + 2, write, place)


def _height(place: ColumnPlace) -> int:
    return place.last - place.first + 1


def _working(writer: Writer, key: str, line: int) -> str:
    """Return the reference to a cell of the workings of a line."""
    place = writer.book.columns["check_lines", key]
    cell = address(place.first + line, place.column)
    return cell if place.sheet == writer.sheet.name else f"'{place.sheet}'!{cell}"


def _resolved(writer: Writer, template: str, line: int) -> str:
    for mark, key in ((FOUND, "first"), (SENTENCE, "sentence")):
        template = template.replace(mark, _working(writer, key, line))
    return template


def _write_line(writer: Writer, row: int, line: Line, number: int) -> None:
    check = line.check
    writer.text(row, _WORDS, check.words, "farm label")
    writer.link(row, _SHEET, line.sheet)
    kind, words = dimension_of("rounding"), dimension_of("state")
    found = f'IFERROR({_resolved(writer, check.found, number)},"{AN_ERROR}")'
    writer.formula(row, _FOUND, found, kind, waits=False)
    writer.formula(row, _ALLOWED, check.allowed, kind, waits=False)
    fails = f'"{WARNS if check.is_warning else FAILS}"'
    if line.waits:
        waits = "(SUM({check_lines.inputs})>0)"
        fails = f'CHOOSE(1+{waits},{fails},"{WAITS}")'
    state = f'CHOOSE(1+(C{row}<=D{row}),{fails},"{OK}")'
    writer.formula(row, _STATE, state, words, waits=False)
    link = f"HYPERLINK({_working(writer, 'target', number)},{_working(writer, 'where', number)})"
    writer.formula(row, _FIRST, link, words, "farm link", waits=False)


_OF_LINE = {
    "first": "Found first",
    "sentence": "What it says",
    "cell": "Cell",
    "inputs": "Inputs to fix",
    "number": "Counts",
    "turn": "Turn",
    "words": "In words",
    "where": "Where",
    "target": "Link",
}
"""The columns of the workings behind the check itself."""


def _workings(lines: Sequence[Line], faults: int) -> Custom:
    """Make the list of how each line comes to its first cell, and to its place among the alarms."""

    def place(writer: Writer, row: int) -> None:
        first, last = row + 2, row + 1 + len(lines)
        for number, key in enumerate(_OF_LINE, 2):
            writer.place_column("check_lines", key, first, last, number)
            if key == "number":
                writer.place_column("check_lines", "faults", first, first + faults - 1, number)
                writer.place_column("check_lines", "cautions", first + faults, last, number)

    def write(writer: Writer, row: int) -> None:
        writer.section(row, "How each line is made")
        for column, words in enumerate(("Check", *_OF_LINE.values()), 1):
            writer.text(row + 1, column, words, "farm heading")
        for number, line in enumerate(lines):
            writer.text(row + 2 + number, 1, line.check.words, "farm label")
            for column, template in enumerate(_of_each(writer, line, number, faults), 2):
                if template:
                    text = _resolved(writer, template, number)
                    writer.formula(
                        row + 2 + number, column, text, dimension_of("state"), waits=False
                    )

    return Custom(len(lines) + 2, write, place)


def _of_each(writer: Writer, line: Line, number: int, faults: int) -> Sequence[str]:
    """Return the templates of the workings of a line, in the order of their columns."""
    key, at = ("checks", number) if number < faults else ("warnings", number - faults)
    found, state = (
        f"'{place.sheet}'!{address(place.first + at, place.column)}"
        for place in (writer.book.columns[key, part] for part in ("found", "state"))
    )
    fails = f'({state}="{WARNS if line.check.is_warning else FAILS}")'
    is_counted = line.is_of_inputs or line.check.is_warning
    counts = _working(writer, "number", number)
    before = f"{_working(writer, 'turn', number - 1)}+" if number else ""
    cell = _working(writer, "cell", number)
    words = f'"{line.check.words}"'
    where, target = f'"{line.sheet}"', f"\"#'{line.sheet}'!A1\""
    if line.first:
        more = f'CHOOSE(1+({counts}>1),""," And "&({counts}-1)&" more.")'
        words = f'CHOOSE(1+({SENTENCE}<>""),{words},{SENTENCE}&{more})'
        where = f'TRIM("{line.sheet} "&{cell})'
        target = f'"#\'{line.sheet}\'!"&CHOOSE(1+({cell}<>""),"A1",{cell})'
    return (
        line.first,
        line.sentence,
        line.cell,
        found if line.is_of_inputs else "",
        f"{fails}*MAX(1,N({found}))" if is_counted else f"{fails}*1",
        f"{before}({counts}>0)*1",
        words,
        f'CHOOSE(1+({counts}>0),"",{where})',
        f'CHOOSE(1+({counts}>0),"",{target})',
    )
