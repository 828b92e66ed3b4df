"""What a carry-over did, in sentences: what was read, what was carried, and each thing left."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from workbook_template.errors import shown
from workbook_template.operations.made_with import Kept
from workbook_template.reading.appearance import CELLS
from workbook_template.reading.own_formulas import EXTRA_COLUMN
from workbook_template.reading.unmatched import EXTRA_SHEET, NAME, NOTE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook_template.reading.unmatched import Leftover

_NEVER_CARRIED = (
    "Borders, row heights, number formats, page setup and input rules that you changed are not "
    "carried: they are in the old file."
)
_MOST_MISSING = 20


@dataclass
class Report:
    """What a carry-over did.

    Attributes
    ----------
    file : str
        The name of the earlier workbook.
    units, new_units : str
        Its unit system, and that of the new one.
    leftovers : list of Leftover
        What found no place of its own; it is on the Carried over sheet.
    inputs, rows, cells : int
        Single inputs filled, rows of tables, and cells filled in them: each read and carried.
    left : int
        Cells filled that are blank in the new workbook; a remark names each.
    doubted : int
        Cells filled of which nobody can tell which input they are: not in any place, a remark
        names each.
    converted : int
        Numbers that were brought into other units.
    earlier : int
        Lines of earlier times on the Carried over sheet.
    kept : Kept
        What was kept with batches that nobody typed: what they were made with.
    sheets : dict
        How many cells each long sheet of the grower's own has that is carried as a sheet.
    looks, widths : int
        Cells that keep a color or font of the grower's own, and columns that keep a width.
    others : dict
        By sheet how many of each kind of thing besides cells are not carried.
    remarks : list of str
        Sentences about what needs a look.
    missing : list of str
        What was to be carried and is not in the file that was written.
    """

    file: str
    units: str
    new_units: str
    leftovers: list[Leftover]
    inputs: int = 0
    rows: int = 0
    cells: int = 0
    left: int = 0
    doubted: int = 0
    converted: int = 0
    earlier: int = 0
    kept: Kept = field(default_factory=Kept)
    sheets: dict[str, int] = field(default_factory=dict)
    looks: int = 0
    widths: int = 0
    others: dict[str, Counter[str]] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    @property
    def entered(self) -> int:
        """Return how many of the cells to type in were filled."""
        return self.inputs + self.cells

    @property
    def _on_sheet(self) -> int:
        """Return how many cells are carried to the Carried over sheet."""
        return sum(one.found.sheet not in self.sheets for one in self.leftovers)

    def lines(self) -> list[str]:
        """Return the report, a sentence a line.

        Returns
        -------
        list of str
            Counts first, then each thing that is not in a place of its own.
        """
        typed = f"{self.inputs} inputs and {self.rows} rows with {self.cells} cells"
        count = len(self.leftovers)
        besides = f"{count} other {'item' if count == 1 else 'items'}"
        not_there = self.left + self.doubted
        lines = [
            f"Read in {self.file}: {typed}; {besides}.",
            f"Carried to their places: all{f' but {not_there}' if not_there else ''}.",
        ]
        if self.converted:
            lines.append(
                f"Converted from {self.units} to {self.new_units}: {self.converted} numbers."
            )
        if self.kept.figures:
            lines.append(
                f"Kept with {self.kept.batches} batches what they were made with, as the file "
                f"shows it: {self.kept.figures} figures that were blank."
            )
        lines += [
            f"Carried as a sheet of its own: {shown(name)}, {cells} cells."
            for name, cells in self.sheets.items()
        ]
        if self.leftovers or self.earlier:
            on_sheet = self._on_sheet
            earlier = f", behind {self.earlier} lines of earlier times" if self.earlier else ""
            lines.append(f"Carried to the Carried over sheet: {on_sheet}{earlier}.")
        lines += [f"  {line}" for line in _named(self.leftovers)]
        return [*lines, *self.remarks, *self._appearance(), _NEVER_CARRIED, *self._proof()]

    def _appearance(self) -> Iterator[str]:
        """Yield what was carried of the look of the sheets, and for each sheet what was not."""
        carried = [
            f"{what} of {counted(number, thing)}"
            for what, number, thing in (
                ("the colors and fonts", self.looks, "cell"),
                ("the width", self.widths, "column"),
            )
            if number
        ]
        if carried:
            yield f"Carried as you changed them: {' and '.join(carried)}."
        for sheet, things in self.others.items():
            own = [counted(number, what) for what, number in things.items() if what != CELLS]
            parts = [f"{', '.join(own)} of your own"] if own else []
            if things[CELLS]:
                cells = counted(things[CELLS], CELLS)
                parts.append(f"the colors or fonts that you gave {cells}")
            are = "is" if not things[CELLS] and sum(things.values()) == 1 else "are"
            yield f"{shown(sheet)}: {' and '.join(parts)} {are} not carried."

    def _proof(self) -> list[str]:
        """Return what the new file was found to hold, when it was read again."""
        carried = self.entered - self.left
        if self.missing:
            lost = f"{len(self.missing)} of what was carried"
            first = [f"  {one}" for one in self.missing[:_MOST_MISSING]]
            return [f"Keep the old file: {lost} is not in the new one:", *first]
        lines = f", and {self._on_sheet} more on its Carried over sheet" if self._on_sheet else ""
        return [f"All {carried} entered cells are in the new file{lines}."]


def counted(number: int, what: str) -> str:
    """Return a number of things in words."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def _named(leftovers: list[Leftover]) -> list[str]:
    """Name each thing; the cells of a sheet or a column of one's own are one thing."""
    groups = Counter(group for one in leftovers if (group := _group(one)))
    lines = []
    for one in leftovers:
        group = _group(one)
        if not group:
            lines.append(_line(one))
        elif groups[group]:
            lines.append(f"{group}: {one.kind}, {groups[group]} cells")
            groups[group] = 0
    return lines


def _group(one: Leftover) -> str:
    sheet, cell = shown(one.found.sheet), one.found.cell
    if one.kind == EXTRA_SHEET:
        return sheet
    if one.kind == EXTRA_COLUMN:
        return f"{sheet}, column {cell.rstrip('0123456789')}"
    return ""


def _line(one: Leftover) -> str:
    if one.kind == NAME:
        return f"{shown(str(one.found.value))}: {one.kind}, {shown(one.found.formula)}"
    about = f" ({shown(one.about)})" if one.about else ""
    value = one.found.note if one.kind == NOTE else one.found.value
    formula = f", {shown(one.found.formula)}" if one.found.formula else ""
    text = "" if value is None else f": {shown(str(value))}"
    place = ", ".join(filter(None, (shown(one.found.sheet), one.found.cell))) or "The file"
    return f"{place}{about}: {one.kind}{text}{formula}"
