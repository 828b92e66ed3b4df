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
from workbook_template.writing.styles import number_format

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
            f"CHOOSE(1+(N({_of_line('price')})>0)*COUNT({_of_line('price')})"
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
    """A list without borders, so that lines that stay empty don't show, with prices in cents."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        super().write(writer, row)
        for here in range(row + 2, row + 2 + self.rows):
            writer.worksheet.row_dimensions[here].height = _LINE_HEIGHT
            for number, column in enumerate(self.shown, 1):
                cell = writer.worksheet.cell(here, number)
                cell.border = Border()
                if column.key == "by_mass":
                    cell.number_format = number_format(dimension_of("money"))


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

_HEAD = {
    "list_farm": ("farm title", '{farm_name}&""', _HEAD_HEIGHT),
    "list_heading": ("farm group", '{?list_title}&""', _LINE_HEIGHT),
    "list_reached": ("farm label", '{?list_contact}&""', _LINE_HEIGHT),
    "list_valid": (
        "farm label",
        'CHOOSE(1+(N({?list_until})>0),"","Prices valid until "&'
        + iso_date("N({?list_until})")
        + ")",
        _LINE_HEIGHT,
    ),
}


def _place_head(writer: Writer, row: int) -> None:
    for here, key in enumerate(_HEAD, row):
        writer.place_cell(key, here, 1, is_input=False, is_text=True)


def _write_head(writer: Writer, row: int) -> None:
    for here, (style, template, height) in enumerate(_HEAD.values(), row):
        writer.worksheet.row_dimensions[here].height = height
        writer.formula(here, 1, template, dimension_of("state"), style, waits=False)


def _set_page(writer: Writer) -> None:
    """Print what is for the customer alone, without anything of ours at the foot."""
    worksheet: Any = writer.worksheet
    first, last = writer.book.cells["list_farm"].row, writer.book.columns["price_list", "product"]
    worksheet.print_area = f"A{first}:{writer.sheet.last_column}{last.last}"
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
            Custom(len(_HEAD), _write_head, _place_head),
            _PRICES,
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
