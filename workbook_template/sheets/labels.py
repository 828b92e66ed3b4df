"""Labels: pages of block labels for one batch, to print and stick on the blocks.

The grid is 3 by 10 to a page: on Letter paper labels of 2 5/8 by 1 inch, on A4 labels of 70 by
29.7 mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from openpyxl.worksheet.pagebreak import Break

from cultivar_fx.catalog.dimensions import US
from workbook_template.schema import look_up
from workbook_template.schema.cards import LABELS
from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import dimension_of
from workbook_template.writing.blocks import Calculated, Custom, Form, Sheet

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

_ACROSS, _DOWN, _PAGES = 3, 10, 3
_A_PAGE = _ACROSS * _DOWN
_NUMBERS = (("first", "First block"), ("page", "Page"))
"""Of each row of the labels, in the workings: the number of its first label, and its page."""


class _Paper(NamedTuple):
    """One kind of label paper: width in characters, heights in points, margin in inches.

    How wide a character is differs by some percent from program to program, so the text is centered
    on label and page: it stays on its label in all of them. Where another font is so wide that
    three labels do not fit side by side, the page shrinks. Heights print as they are given. At the
    foot of a page there is too little room for a label's first line.
    """

    width: float
    heights: tuple[float, ...]
    margin_top: float
    margin_bottom: float


_LETTER = _Paper(36.0, (24.0, 14.0, 14.0, 20.0), 0.5, 0.3)
_A4 = _Paper(35.4, (30.0, 15.0, 15.0, 24.0), 0.0, 0.0)

_CHOSEN = (
    Calculated(
        "label_count",
        "Labels",
        "count",
        look_up("batches.bags", "label_batch"),
        f"One for each block, up to {_A_PAGE * _PAGES}.",
        is_key=True,
    ),
    Calculated(
        "label_pages",
        "Pages to print",
        "count",
        "INDEX({labels.page},MATCH({label_count},{labels.first},1))",
        "The pages after these are blank: print no more.",
        is_key=True,
    ),
    Calculated("label_strain", "Strain", "state", look_up("batches.strain", "label_batch")),
    Calculated("label_recipe", "Recipe", "state", look_up("batches.recipe", "label_batch")),
    Calculated("label_made", "Made", "date", look_up("batches.made", "label_batch")),
    Calculated("label_move", "Move expected", "date", look_up("batches.move_due", "label_batch")),
    Calculated(
        "label_harvest",
        "First flush expected",
        "date",
        look_up("batches.first_due", "label_batch"),
    ),
)
_TEXTS = (
    Calculated(
        "label_origin",
        "Third line",
        "state",
        '{label_recipe}&", made "&' + iso_date("{label_made}"),
    ),
    Calculated(
        "label_dates",
        "Fourth line",
        "state",
        f'"Move "&{iso_date("{label_move}")}&", harvest "&{iso_date("{label_harvest}")}',
    ),
)

_LINES = (
    ("farm block name", '{label_batch}&"   "&%s&" of "&{label_count}'),
    ("farm block line", "{label_strain}"),
    ("farm block line", "{label_origin}"),
    ("farm block line", "{label_dates}"),
)
_ROWS = _PAGES * _DOWN * len(_LINES)


def _place(writer: Writer, row: int) -> None:
    writer.place_column("labels", "text", row + 1, row + _ROWS, 1, is_text=True)


def _place_numbers(writer: Writer, row: int) -> None:
    for column, (key, _) in enumerate(_NUMBERS, 1):
        writer.place_column("labels", key, row + 2, row + 1 + _ROWS, column)


def _number(writer: Writer, row: int) -> None:
    """Write the numbers, which count the labels across the sheet."""
    writer.section(row, "Rows of the labels")
    for column, (_, words) in enumerate(_NUMBERS, 1):
        writer.text(row + 1, column, words, "farm heading")
    for offset in range(_ROWS):
        label = offset // len(_LINES)
        for column, number in enumerate((label * _ACROSS + 1, label // _DOWN + 1), 1):
            writer.worksheet.cell(row + 2 + offset, column, number).style = "farm result"


def _labels(writer: Writer, row: int) -> None:
    writer.section(row, "Labels, from here on")
    paper = _paper(writer)
    numbers = writer.book.columns["labels", "first"]
    state = dimension_of("state")
    for offset in range(_ROWS):
        here = row + 1 + offset
        line = offset % len(_LINES)
        style, words = _LINES[line]
        writer.worksheet.row_dimensions[here].height = paper.heights[line]
        first = writer.refer("first", "labels", str(numbers.first + offset))
        block = f"({first}+COLUMN()-1)"
        for column in range(1, _ACROSS + 1):
            text = words.replace("%s", block)
            template = f'CHOOSE(1+({block}<={{label_count}}),"",{text})'
            writer.formula(here, column, template, state, style)


def _paper(writer: Writer) -> _Paper:
    return _LETTER if writer.units == US else _A4


def _set_page(writer: Writer) -> None:
    """Print the labels alone, a page of the label paper at a time."""
    worksheet: Any = writer.worksheet
    paper = _paper(writer)
    place = writer.book.columns["labels", "text"]
    worksheet.print_area = f"A{place.first}:C{place.last}"
    worksheet.print_options.horizontalCentered = True
    margins = worksheet.page_margins
    margins.top, margins.bottom = paper.margin_top, paper.margin_bottom
    margins.left = margins.right = margins.header = margins.footer = 0
    footer = worksheet.oddFooter
    footer.left.text = footer.center.text = footer.right.text = None
    for page in range(1, _PAGES):
        worksheet.row_breaks.append(Break(id=place.first - 1 + page * _DOWN * len(_LINES)))


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    paper = _LETTER if settings.units == US else _A4
    words = "Letter, 2 5/8 by 1 inch" if settings.units == US else "A4, 70 by 29.7 mm"
    return Sheet(
        name="Labels",
        purpose=f"Pick a batch, print its labels at 100 %: 3 by 10 on {words}.",
        blocks=[
            Form(LABELS.title, (*LABELS.fields, *_CHOSEN)),
            Custom(_ROWS + 1, _labels, _place),
        ],
        workings=[Form("Texts", _TEXTS), Custom(_ROWS + 2, _number, _place_numbers)],
        widths=(*[paper.width] * _ACROSS, 34),
        set_page=_set_page,
    )
