"""Reads one XML part of a package once, element by element, before anything is built from it.

What a part would cost to read is added up as it is met, and reading stops at the first thing
that no workbook of a farm holds: so neither memory nor time depends on what a stranger wrote.
"""

from __future__ import annotations

import re
from dataclasses import astuple, dataclass, field
from typing import TYPE_CHECKING, NamedTuple
from xml.parsers import expat

from openpyxl.utils import column_index_from_string

from workbook_template.errors import Damaged, NotAWorkbook, Refusal, TooLarge, Unsafe, shown
from workbook_template.texts import LONGEST_TEXT

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import IO

_CHUNK = 65536
_LONGEST_TOKEN = 1 << 20
"""Bytes of one tag: with all its attributes it is far shorter, but for lists of cells."""
_ENDLESS = "holds a tag that never ends"
_DEFERRED = 2
"""A newer expat looks at an unfinished tag again only once it has twice as much of it."""
_NO_MEMORY = expat.errors.codes[expat.errors.XML_ERROR_NO_MEMORY]
_DEEPEST = 60
_LAST_ROW, LAST_COLUMN = 100_000, 702
"""Column 702 is ZZ."""
_CELL = re.compile(r"\$?([A-Za-z]{1,3})\$?([1-9][0-9]{0,6})")
_is_within = re.compile(rf"[A-Z]{{1,2}}(?:[1-9][0-9]{{0,4}}|{_LAST_ROW})").fullmatch
"""In rows of up to five digits, or the last."""
_TABLE = re.compile(rf"{_CELL.pattern}:{_CELL.pattern}")
_LONGEST_FORMAT = 1000
"""Characters of a number format; Excel takes 255. The library reads it again for each style."""
_LONGEST_TITLE = 255
"""Characters of the name of a sheet; Excel takes 31."""
_MOST_OPEN_BRACKETS = 16
"""Left open in a section of a number format: the library looks for the end of each."""

_WORK = {"c": 1.0, "row": 1.0, "si": 0.75, "is": 0.5, "t": 0.25, "f": 0.5, "v": 0.0}
"""What reading an element costs, measured in cells (about 25 microseconds, half a kilobyte)."""
_WORK_OF_OTHERS = 2.0
_WORK_OF_RANGE = 0.6
_WORK_OF_LETTER = 0.1
"""Taking apart a formula that several cells share."""
_WORK_OF_COPY = 0.002
"""Writing one letter of it for another cell: that takes memory, of which a cell is the measure."""
_WORK_OF_BRACKETS = 0.02
"""And for each pair of its brackets: the library counts all of them anew at each one."""

_FORMULAS = frozenset(
    {
        "f",
        "formula",
        "formula1",
        "formula2",
        "definedName",
        "calculatedColumnFormula",
        "totalsRowFormula",
    }
)
_QUOTED = re.compile(r'"[^"]*"')
_HEADINGS = re.compile(r"\[[^\[\]]*\]")
_SHEET_NAMES = re.compile(r"(?<!\|)'[^']*'(?=!)")
_SUSPECT = re.compile(r"\||\b(?:CALL|EXEC|REGISTER(?:\.ID)?|RTD|DDE)\s*\(", re.IGNORECASE)
_IN_SUSPECTS = ("|", "CALL", "EXEC", "REGISTER", "RTD", "DDE")
"""One of them is in each formula that is suspect, unless it is written in other letters."""
_LARGER = 32
"""How much more is read of a file that the grower says is their own."""
_STRICT = "http://purl.oclc.org/ooxml/"


@dataclass(frozen=True)
class Limits:
    """How much a package may hold. The work is counted in cells; see ``Tally``."""

    file_bytes: int = 32 << 20
    unpacked_bytes: int = 64 << 20
    work: int = 250_000
    elements: int = 1_000_000
    letters: int = 64 << 20
    formula_letters: int = 24 << 20
    """Of formulas that differ: each is compared with ours, at 3 microseconds a letter. Those of
    the largest workbook that is read, saved by LibreOffice, are half of it."""

    @classmethod
    def of_file(cls, large: bool) -> Limits:
        """Return the limits of any file, or the wider ones of a file that is the grower's own."""
        factor = _LARGER if large else 1
        return cls(*(limit * factor for limit in astuple(USUAL)))


USUAL = Limits()


class Relation(NamedTuple):
    """One relation: the part that lists it, its kind, where to, whether outside of the file."""

    part: str
    kind: str
    target: str
    outside: bool


@dataclass
class Tally:
    """What the parts of one package add up to."""

    name: str
    limits: Limits
    work: float = 0.0
    elements: int = 0
    formula_letters: int = 0
    relations: list[Relation] = field(default_factory=list)
    content_types: list[ContentType] = field(default_factory=list)
    sheet_relations: list[str] = field(default_factory=list)
    roots: dict[str, str] = field(default_factory=dict)

    def add_work(self, work: float) -> None:
        """Count work, and stop where it is too much."""
        self.work += work
        self.check()

    def check(self) -> None:
        """Stop where there is too much."""
        most = self.limits
        if (
            self.work > most.work
            or self.elements > most.elements
            or self.formula_letters > most.formula_letters
        ):
            raise too_large(self.name)


def too_large(name: str) -> TooLarge:
    """Return the refusal of a workbook that is too large, with what can be done."""
    return TooLarge(
        f"{name} is larger than a farm's workbook: it is not read. If it is your own, add --large."
    )


class ContentType(NamedTuple):
    """One content type: of a part, or of all parts with an ending that have none of their own."""

    part: str
    ending: str
    kind: str


class _Element(NamedTuple):
    """What is known of all elements of a name."""

    work: float
    is_formula: bool
    handler: Callable[[dict[str, str]], None] | None


class Scan:
    """Reads one part.

    Parameters
    ----------
    tally : Tally
        What has been counted in the package so far.
    part : str
        Name of the part, for the sentences.
    is_read : bool
        Whether the workbook is built from this part. Of the others only what would make the
        reading itself endless is looked at.
    """

    def __init__(self, tally: Tally, part: str, is_read: bool) -> None:
        self._tally = tally
        self._name = part
        self._part = shown(part)
        self._is_read = is_read
        self._depth = 0
        self._text_length = 0
        self._formula: list[str] | None = None
        self._where = ""
        self._row_number = self._column = 0
        self._shared: dict[str, int] = {}
        self._shares = ""
        self._known: dict[str, _Element] = {}
        self._sound: set[str] = set()
        self._handlers = {
            "c": self._cell,
            "row": self._row,
            "f": self._formula_of_cell,
            "definedName": self._defined_name,
            "sheet": self._sheet,
            "comment": self._comment,
            "table": self._table,
            "numFmt": self._number_format,
            "Relationship": self._relation,
            "Override": self._content_type,
            "Default": self._content_type,
        }

    def read(self, stream: IO[bytes]) -> None:
        """Read the part to its end.

        Raises
        ------
        Damaged, TooLarge, Unsafe
            For what it must not hold.
        """
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartDoctypeDeclHandler = self._document_type
        usual = parser.StartElementHandler = self._start_read if self._is_read else self._start

        def after_much(name: str, attributes: dict[str, str]) -> None:
            if sum(map(len, attributes.values())) > _LONGEST_TOKEN:
                raise self._damaged(_ENDLESS)
            parser.StartElementHandler = usual
            usual(name, attributes)

        parser.EndElementHandler = self._end
        if self._is_read:
            parser.buffer_text = True
            parser.CharacterDataHandler = self._text
        fed = 0
        try:
            while chunk := stream.read(_CHUNK):
                parser.Parse(chunk, False)
                fed += len(chunk)
                self._tally.check()
                unfinished = fed - parser.CurrentByteIndex
                if unfinished > _DEFERRED * _LONGEST_TOKEN:
                    raise self._damaged(_ENDLESS)
                if unfinished > _LONGEST_TOKEN:
                    parser.StartElementHandler = after_much
            parser.Parse(b"", True)
            self._tally.check()
        except (expat.ExpatError, LookupError, ValueError) as error:
            self._check_error(error)

    def _check_error(self, error: Exception) -> None:
        """Raise what an error of the parser stands for; a part that nobody reads may be broken."""
        if isinstance(error, Refusal):
            raise error
        if isinstance(error, expat.ExpatError) and error.code == _NO_MEMORY:
            raise MemoryError from error
        if self._is_read:
            raise self._damaged("is not valid XML") from error

    def _damaged(self, what: str) -> Damaged:
        return Damaged(f"{self._tally.name} is damaged: its part {self._part} {what}.")

    def _document_type(self, *_: object) -> None:
        raise Unsafe(
            f"{self._tally.name} is not read: its part {self._part} declares a document type, "
            "which no spreadsheet program writes."
        )

    def _start(self, name: str, _: dict[str, str]) -> None:
        """Count an element; whether there are too many is asked after each chunk."""
        self._tally.elements += 1
        self._depth += 1
        if not 1 < self._depth <= _DEEPEST:
            self._at_an_end(name)

    def _at_an_end(self, name: str) -> None:
        """Note the outermost element, and refuse what is nested too deep."""
        if self._depth > _DEEPEST:
            raise self._damaged("is nested too deep")
        self._tally.roots[self._name] = name

    def _start_read(self, name: str, attributes: dict[str, str]) -> None:
        """Count an element of a part that is read, with what reading it costs.

        It does itself what ``_start`` does: most of the time of a scan goes by here.
        """
        tally = self._tally
        tally.elements += 1
        self._depth += 1
        if not 1 < self._depth <= _DEEPEST:
            self._at_an_end(name)
        work, is_formula, handler = self._known.get(name) or self._element(name)
        self._text_length = 0
        tally.work += work
        if is_formula:
            self._formula = []
        if handler is not None:
            handler(attributes)

    def _element(self, name: str) -> _Element:
        local = name.rpartition(" ")[2]
        other = None if local in _WORK else self._list_of_cells
        known = self._known[name] = _Element(
            _WORK.get(local, _WORK_OF_OTHERS),
            local in _FORMULAS,
            self._handlers.get(local, other),
        )
        return known

    def _list_of_cells(self, attributes: dict[str, str]) -> None:
        cells = attributes.get("sqref", "")
        self._tally.add_work(cells.count(" ") * _WORK_OF_RANGE)

    def _end(self, _: str) -> None:
        self._depth -= 1
        if self._formula is not None:
            self._check_formula("".join(self._formula))
            self._formula = None

    def _text(self, text: str) -> None:
        self._text_length += len(text)
        if self._text_length > LONGEST_TEXT:
            if text.isspace():
                return
            raise self._damaged(f"holds a text of more than {LONGEST_TEXT} characters")
        if self._formula is not None:
            self._formula.append(text)

    # Cells

    def _cell(self, attributes: dict[str, str]) -> None:
        where = self._where = attributes.get("r", "")
        self._column += 1
        if where:
            if not _is_within(where):
                self._check_place(where, "cell")
        elif self._row_number > _LAST_ROW or self._column > LAST_COLUMN:
            raise self._far_out(f"in row {self._row_number}")

    def _check_place(self, where: str, thing: str) -> None:
        if not _is_within(where):
            if _CELL.fullmatch(where) and where.isupper() and "$" not in where:
                raise self._far_out(where)
            raise self._damaged(f"has a {thing} {shown(where)!r}")

    def _comment(self, attributes: dict[str, str]) -> None:
        """Check that a note is on one cell: the library would make each cell of a range."""
        self._check_place(attributes.get("ref", ""), "note on")

    def _far_out(self, where: str) -> TooLarge:
        return TooLarge(
            f"{self._tally.name} is not read: its part {self._part} has a cell {where}. "
            f"Delete the rows after {_LAST_ROW} and the columns after ZZ, save, try again."
        )

    def _row(self, attributes: dict[str, str]) -> None:
        """Note where the row is; programs write empty rows at the far end of a sheet."""
        number = attributes.get("r", str(self._row_number + 1))
        if not (number.isascii() and number.isdigit() and len(number) < 8):
            raise self._damaged(f"has a row {shown(number)!r}")
        self._row_number, self._column = int(number), 0

    def _formula_of_cell(self, attributes: dict[str, str]) -> None:
        self._shares = attributes.get("si", "") if attributes.get("t") == "shared" else ""
        if self._shares in self._shared:
            self._tally.add_work(self._shared[self._shares] * _WORK_OF_COPY)

    def _table(self, attributes: dict[str, str]) -> None:
        """Check that a table has a heading and rows, in this order."""
        cells = attributes.get("ref", "")
        ends = _TABLE.fullmatch(cells)
        if ends is None:
            raise self._damaged(f"is a table on {shown(cells)!r}")
        left, right = (column_index_from_string(ends[one]) for one in (1, 3))
        totals = attributes.get("totalsRowCount", "0")
        last = int(ends[4]) - int(totals) if re.fullmatch("[0-9]{1,7}", totals) else 0
        if left > right or int(ends[2]) > last:
            raise self._damaged(f"is a table on {shown(cells)!r}")

    def _number_format(self, attributes: dict[str, str]) -> None:
        """Check what the library looks for dates in."""
        code = attributes.get("formatCode", "")
        ends = (section.rpartition("]")[2] for section in code.split(";"))
        if len(code) > _LONGEST_FORMAT or max(map(_brackets, ends)) > _MOST_OPEN_BRACKETS:
            raise self._damaged(f"has a number format {shown(code)!r}")

    # What calls something

    def _check_formula(self, formula: str) -> None:
        if self._shares:
            brackets = _brackets(formula) ** 2 * _WORK_OF_BRACKETS
            self._tally.add_work(len(formula) * _WORK_OF_LETTER + brackets)
            self._shared.setdefault(self._shares, len(formula))
            self._shares = ""
        if formula in self._sound:  # as those of a table are, row by row
            return
        self._tally.formula_letters += len(formula)
        if _may_be_suspect(formula) and _SUSPECT.search(formula):
            bare = _SHEET_NAMES.sub("", _HEADINGS.sub("", _QUOTED.sub("", formula)))
            if _SUSPECT.search(bare):
                raise Unsafe(
                    f"{self._tally.name} is not read: in its part {self._part} a formula "
                    f"{'in cell ' + self._where + ' ' if self._where else ''}could run a program. "
                    "Delete it, save, and try again."
                )
        self._sound.add(formula)

    def _defined_name(self, attributes: dict[str, str]) -> None:
        if attributes.get("xlm", "0") not in ("0", "false"):
            raise Unsafe(
                f"{self._tally.name} is not read: its name {shown(attributes.get('name', ''))} "
                "calls a macro. Delete it, save, and try again."
            )

    # How the parts hang together

    def _sheet(self, attributes: dict[str, str]) -> None:
        if len(attributes.get("name", "")) > _LONGEST_TITLE:  # formulas repeat it
            raise self._damaged(f"names a sheet {shown(attributes['name'])!r}")
        for name, value in attributes.items():
            if name.endswith("/relationships id"):
                self._tally.sheet_relations.append(value)

    def _relation(self, attributes: dict[str, str]) -> None:
        kind = attributes.get("Type", "")
        if kind.startswith(_STRICT):
            raise NotAWorkbook(
                f"{self._tally.name} is saved as Strict Open XML: save it as a plain .xlsx "
                "workbook, and give that file."
            )
        outside = attributes.get("TargetMode", "") == "External"
        target = attributes.get("Target", "")
        self._tally.relations.append(Relation(self._name, kind.rpartition("/")[2], target, outside))

    def _content_type(self, attributes: dict[str, str]) -> None:
        found = (attributes.get(name, "") for name in ("PartName", "Extension", "ContentType"))
        self._tally.content_types.append(ContentType(*found))


def _may_be_suspect(formula: str) -> bool:
    """Return whether a formula is worth the search, which takes ten times as long."""
    capitals = formula.upper()
    return not formula.isascii() or any(one in capitals for one in _IN_SUSPECTS)


def _brackets(text: str) -> int:
    return text.count("[")
