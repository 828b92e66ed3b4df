"""Forecast: lists with a row for each of the weeks ahead and a column for each strain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter
from workbook_template.schema.materials import STRAINS
from workbook_template.writing.blocks import Grid
from workbook_template.writing.layout import address

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from workbook_template.writing.writer import Writer

WEEKS = 12
EACH_STRAIN = range(1, STRAINS.rows + 1)
MONTH_AND_DAY = 'TEXT(MONTH({week}),"00")&"-"&TEXT(DAY({week}),"00")'
WEEK = "{forecast_monday}+7*({line}-1)"


@dataclass(frozen=True)
class _Weeks(Grid):
    """A grid with a row for each week and a column for each strain, which its heading names."""

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        super().place(writer, row)
        for number in EACH_STRAIN:
            writer.place_cell(
                f"{self.key}_name_{number}", row + 1, 1 + number, is_input=False, is_text=True
            )

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        super().write(writer, row)
        names = writer.book.columns["used", "strain"]
        for number in EACH_STRAIN:
            name = address(names.first + number - 1, names.column)
            elsewhere = f"{names.sheet}!" if names.sheet != writer.sheet.name else ""
            writer.worksheet.cell(row + 1, 1 + number, f"={elsewhere}{name}").data_type = "f"


def by_week(
    key: str,
    title: str,
    of_strain: Callable[[int], str],
    more: Sequence[Computed] = (),
    unit: str = "kg",
    total: str = "SUM(%s)",
    total_label: str = "Total",
) -> _Weeks:
    """Return a list by week and strain.

    Parameters
    ----------
    key : str
        Of the list.
    title : str
        What stands above it.
    of_strain : callable
        Returns the formula of the column of a strain, from its number.
    more : sequence, optional
        Columns behind the total.
    unit : str, optional
        Of all columns.
    total : str, optional
        The formula of all strains, with ``%s`` for the cells of the strains.
    total_label : str, optional
        The heading of these.

    Returns
    -------
    _Weeks
        The list.
    """
    strains = [
        Computed(f"strain_{number}", f"Strain {number}", unit, of_strain(number))
        for number in EACH_STRAIN
    ]
    cells = ",".join(f"{{?{strain.key}}}" for strain in strains)  # what strains there are
    return _Weeks(
        key,
        title,
        (
            Computed("week", "Week of", "date", WEEK),
            *strains,
            Computed("total", total_label, unit, total.replace("%s", cells)),
            *more,
            Counter("line"),
        ),
        rows=WEEKS,
    )
