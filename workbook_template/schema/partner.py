"""What the farm keeps to itself: what a partner's copy of the workbook leaves out."""

from __future__ import annotations

from workbook_template.schema.fields import Field, Section

PRIVATE, SHEET_ONLY, SHOWN = "private", "sheet only", "shown"
_CHOICES = f"{PRIVATE}|{SHOWN}"

MONEY_MARK = "private_money"
SHEETS_TO_MARK = (
    *("Farm", "Ingredients", "Recipes", "Strains", "Deliveries", "Shelf counts", "Stock"),
    *("Mix card", "Steam", "Steam runs", "Spawn"),
    *("Batches", "Harvests", "Losses", "Rooms", "Products", "Orders", "Markets", "Sales"),
    *("Costing", "Quote", "Week plan", "Forecast", "Results", "Loss causes", "Trials"),
    *("Year", "Improve", "Labels", "Price list", "Trace"),
)
_SPLIT = {"Products": "prices", "Orders": "customers and notes"}
"""Sheets that may be left out alone, and what of them is private even then."""
_OF_MONEY = ("Markets", "Sales", "Costing", "Quote", "Year", "Improve", "Price list")
_START = dict.fromkeys(_OF_MONEY, PRIVATE) | dict.fromkeys(_SPLIT, SHEET_ONLY)


def mark_of(sheet: str) -> str:
    """Return the key of the input that says whether a sheet is private."""
    return "private_" + sheet.lower().replace(" ", "_")


def may_go_alone(sheet: str) -> bool:
    """Return whether a sheet may be left out without whatever is computed from it."""
    return sheet in _SPLIT


def _of_sheet(sheet: str) -> Field:
    choices, words = _CHOICES, "If private, anything computed from it is left out too."
    if may_go_alone(sheet):
        choices = f"{PRIVATE}|{SHEET_ONLY}|{SHOWN}"
        words = (
            f"Sheet only: its {_SPLIT[sheet]} are left out everywhere, but its packs still count "
            "in plan, stock and forecast. Private: these are left out too."
        )
    return Field(
        mark_of(sheet),
        f"{sheet} sheet",
        "choice",
        choices=choices,
        help=words,
        default=_START.get(sheet, SHOWN),
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
