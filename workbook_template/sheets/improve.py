"""Improve: changes worth making, by what a week brings with each, and how sure that is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.improve import IMPROVE, ONCE
from workbook_template.sheets import improve_list as changes
from workbook_template.sheets import improve_records as records
from workbook_template.sheets import improve_week as week
from workbook_template.writing.blocks import Form, Lines, Sheet

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_HOW = (
    "Brings a week: what all product lines contribute in a usual week with the change, less what "
    "they contribute today. A usual week has the packs of the Products sheet, no orders and no "
    "special weeks: it is no week of the calendar; the weeks ahead are on the Week plan. The "
    "fullest station of today is filled with the lines that contribute most for it, no line beyond "
    "its demand; other stations are taken to have room. Each change stands by itself: two of them "
    "together may bring less than their sum.",
    "Time saved counts at your wage, so it brings money only if the hours are not paid, or earn "
    "as much elsewhere. What batches lose and give is what the Strains sheet uses.",
    "Lowest and highest: from your records where they tell (the best quarter with its interval, BE "
    "by Student's t), else from the sizes typed here. What your records show to pay even at its "
    "lowest comes first; what rests on a typed size is a guess: measure it on a small scale first. "
    "Where one end is below zero and the other above, it is not known yet. The best of many "
    "quarters is partly luck: expect less.",
    "Batches that would tell: of each kind, with the confidence and chance on the Trials sheet. "
    "Where it is blank, batches can't tell: measure what stands beside it.",
    "Not counted: what a change does to work, quality or time that no figure here stands for. The "
    "hold may only be shorter where runs reach your lethality; the set-point only within what the "
    "strain stands.",
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Improve",
        purpose="Which change is worth most a week, how sure that is, and what it takes.",
        blocks=[
            changes.ANSWER,
            changes.RANKED,
            Form(IMPROVE.title, IMPROVE.fields),
            Form(ONCE.title, ONCE.fields),
            Lines("How it is counted", _HOW, "farm text"),
        ],
        workings=[
            changes.BASIS,
            Form("In words", (changes.words(settings.currency),)),
            changes.LIST,
            week.WEEKS,
            week.SIZES,
            *records.WORKINGS,
            week.FILL,
        ],
        widths=(58, 11, 11, 11, 11, 11, 15, 11, 24, 62),
        landscape=True,
        pages_high=1,
    )
