"""Price list: one page to print for customers, with prices and nothing that they cost the farm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from openpyxl.styles import Border

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import Computed, Counter, dimension_of
from workbook_template.schema.products import PRODUCTS
from workbook_template.schema.quote import ALL_PRICED, PRICE_LIST
from workbook_template.writing.blocks import Check, Custom, Form, Grid, Sheet

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

_LINES = "price_lines"
_HEAD_HEIGHT, _LINE_HEIGHT = 30.0, 18.0
"""In points."""


def _of_line(column: str) -> str:
    return f"INDEX({{products.{column}}},{{line}})"


_CHOSEN = Grid(
    _LINES,
    "Which product lines are listed",
    (
        Computed(
            "product",
            "Product line",
            "state",
            f'CHOOSE(1+(N({_of_line("price")})>0)*COUNT({_of_line("price")})'
            f'*(({{list_lines}}="{ALL_PRICED}")+(N({_of_line("packs_per_week")})>0)>0),'
            f'"",{_of_line("product")}&"")',
        ),
        Computed(
            "place",
            "Place on the list",
            "count",
            f'CHOOSE(1+({{product}}<>""),"",'
            f'COUNTIFS({{{_LINES}.product}},"?*",{{{_LINES}.line}},"<="&{{line}}))',
        ),
        Counter("line"),
    ),
    rows=PRODUCTS.rows,
)


def _listed(column: str) -> str:
    return f"INDEX({{products.{column}}},{{at}})"


@dataclass(frozen=True)
class _Unboxed(Grid):
    """A list whose cells have no borders, so that nothing shows of the lines that stay empty."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        super().write(writer, row)
        for here in range(row + 2, row + 2 + self.rows):
            writer.worksheet.row_dimensions[here].height = _LINE_HEIGHT
            for column in range(1, len(self.shown) + 1):
                writer.worksheet.cell(here, column).border = Border()


_PRICES = _Unboxed(
    "price_list",
    "Prices",
    (
        Computed("product", "Product", "state", f'{_listed("product")}&""'),
        Computed("form", "Form", "state", f'{_listed("form")}&""'),
        Computed(
            "mass",
            "Net weight",
            "kg/pack",
            f'CHOOSE(1+({{form}}<>"block")*COUNT({_listed("pack_mass")}),"",{_listed("pack_mass")})',
        ),
        Computed("price", "Price", "money", f"{_listed('price')}*1"),
        Computed(
            "by_mass",
            "Price by weight",
            "money/kg",
            'CHOOSE(1+COUNT({mass})*(N({mass})>0),"",{price}/UNIT(N({mass}),"kg/pack","kg"))',
        ),
        Computed(
            "at",
            "Row on the Products sheet",
            "count",
            f'CHOOSE(1+MIN(1,COUNTIF({{{_LINES}.place}},{{number}})),"",'
            f"SUMIFS({{{_LINES}.line}},{{{_LINES}.place}},{{number}}))",
            is_working=True,
        ),
        Counter("number"),
    ),
    rows=PRODUCTS.rows,
)

_HEAD = (
    ("farm title", '{farm_name}&""', _HEAD_HEIGHT),
    ("farm key said", '{?list_title}&""', _LINE_HEIGHT),
    (
        "farm said",
        'CHOOSE(1+(N({?list_until})>0),"","Prices valid until "&'
        + iso_date("N({?list_until})")
        + ")",
        _LINE_HEIGHT,
    ),
)
_FOOT = (("farm said", '{?list_contact}&""', _LINE_HEIGHT),)


def _words(first: str, lines: tuple[tuple[str, str, float], ...]) -> Custom:
    """Return lines of words for the customer; the first one's place is known by a key."""

    def place(writer: Writer, row: int) -> None:
        for offset in range(len(lines)):
            writer.place_cell(f"{first}_{offset}", row + offset, 1, is_input=False, is_text=True)

    def write(writer: Writer, row: int) -> None:
        for here, (style, template, height) in enumerate(lines, row):
            writer.worksheet.row_dimensions[here].height = height
            writer.formula(here, 1, template, dimension_of("state"), style, waits=False)

    return Custom(len(lines), write, place)


def _set_page(writer: Writer) -> None:
    """Print what is for the customer alone, without anything of ours at the foot."""
    worksheet: Any = writer.worksheet
    first, last = writer.book.cells["list_head_0"], writer.book.cells["list_foot_0"]
    worksheet.print_area = f"A{first.row}:{writer.sheet.last_column}{last.row}"
    worksheet.print_options.horizontalCentered = True
    footer = worksheet.oddFooter
    footer.left.text = footer.center.text = footer.right.text = None


def sheet() -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Price list",
        purpose="One page to print for customers: what you sell and its price, no costs.",
        blocks=[
            Form(PRICE_LIST.title, PRICE_LIST.fields),
            _words("list_head", _HEAD),
            _PRICES,
            _words("list_foot", _FOOT),
        ],
        workings=[_CHOSEN],
        widths=(38, 22, 14, 14, 14),
        pages_high=1,
        checks=(
            Check(
                "Price list: its last day is past",
                "(N({list_until})>0)*(N({list_until})<{today})",
                is_warning=True,
            ),
        ),
        set_page=_set_page,
    )
