"""What the farm keeps to itself: what a partner's copy of the workbook leaves out."""

from __future__ import annotations

from workbook_template.schema.fields import Field, Section

PRIVATE, SHOWN = "private", "shown"
_CHOICES = f"{PRIVATE}|{SHOWN}"

MONEY_MARK = "private_money"
SHEETS_TO_MARK = (
    *("Farm", "Ingredients", "Recipes", "Strains", "Deliveries", "Shelf counts", "Stock"),
    *("Mix card", "Steam", "Steam runs", "Spawn"),
    *("Batches", "Harvests", "Losses", "Rooms", "Products", "Orders", "Costing", "Quote"),
    *("Week plan", "Forecast", "Results", "Loss causes", "Trials"),
    *("Labels", "Price list", "Trace"),
)
_PRIVATE_UNLESS_SHOWN = ("Products", "Orders", "Costing", "Quote", "Price list")


def mark_of(sheet: str) -> str:
    """Return the key of the input that says whether a sheet is private."""
    return "private_" + sheet.lower().replace(" ", "_")


def _of_sheet(sheet: str) -> Field:
    return Field(
        mark_of(sheet),
        f"{sheet} sheet",
        "choice",
        choices=_CHOICES,
        help="If private, anything computed from it is left out too.",
        default=PRIVATE if sheet in _PRIVATE_UNLESS_SHOWN else SHOWN,
    )


PARTNER = Section(
    "What a partner's copy leaves out",
    (
        Field(
            MONEY_MARK,
            "Prices, wages, costs",
            "choice",
            choices=_CHOICES,
            help="On every sheet, with anything computed from them.",
            default=PRIVATE,
        ),
        *(_of_sheet(sheet) for sheet in SHEETS_TO_MARK),
    ),
)
