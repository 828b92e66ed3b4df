"""Trace: from a spawn lot, a steam run or a batch to all that it touched, on one page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter, dimension_of, unit_label
from workbook_template.schema.trace import TRACE, row_of_turn
from workbook_template.sheets import trace_words as words
from workbook_template.writing.blocks import (
    ROUNDING,
    Check,
    Form,
    Grid,
    Lines,
    Sheet,
)
from workbook_template.writing.sentences import Sentences

if TYPE_CHECKING:
    from workbook_template.writing.blocks import Settings

_BATCHES, _HARVESTS, _LOSSES = 10, 32, 12
"""How many of each are listed, so that all of them print on one page."""

_RECALL = (
    "A recall follows local food law. Call your food inspector first: the law says what has to be "
    "traced, how far, whom to tell, and how long to keep the records. This page is where to start.",
    "Sold from is the first market day on or after the picking. The Sales sheet says which market "
    "or customer had the product line on that day; sales slips say who bought it there.",
)


def _row(table: str, day: str) -> Computed:
    """Make the column that says which row of a log a line lists, in the order of days."""
    turns = f"{{{table}.traced}}"
    row = row_of_turn(f"SMALL({turns},{{line}})", f"{table}.{day}")
    return Computed(
        "row",
        "Row in its log",
        "count",
        f'CHOOSE(1+({{line}}<=COUNT({turns})),"",{row})',
        is_working=True,
    )


def _text(key: str, label: str, column: str) -> Computed:
    return Computed(key, label, "state", f'INDEX({{{column}}},{{row}})&""')


def _figure(key: str, label: str, unit: str, column: str) -> Computed:
    return Computed(key, label, unit, f"INDEX({{{column}}},{{row}})")


_TRACED_BATCHES = Grid(
    "traced_batches",
    f"Batches touched, the first {_BATCHES}",
    (
        _text("batch", "Batch", "batches.batch"),
        _figure("made", "Made", "date", "batches.made"),
        _text("recipe", "Recipe", "batches.recipe"),
        _text("strain", "Strain", "batches.strain"),
        _figure("bags", "Blocks made", "count", "batches.bags"),
        _figure("lost", "Blocks lost", "count", "batches.lost"),
        _text("state", "State", "batches.state"),
        Computed(
            "standing",
            "Still standing",
            "count",
            'INDEX({batches.good},{row})*(INDEX({batches.state},{row})<>"ended")',
        ),
        _figure("fresh", "Fresh mass", "kg", "batches.fresh"),
        _text("spawn_lot", "Spawn lot", "batches.spawn_lot"),
        _text("steam_run", "Steam run", "batches.steam_run"),
        Counter("line"),
        _row("batches", "made"),
    ),
    rows=_BATCHES,
)
_TRACED_HARVESTS = Grid(
    "traced_harvests",
    f"Harvests of these batches, the first {_HARVESTS}",
    (
        _text("batch", "Batch", "harvests.batch"),
        _figure("date", "Picked", "date", "harvests.date"),
        _text("recipe", "Recipe", "harvests.recipe"),
        _text("strain", "Strain", "harvests.strain"),
        _figure("flush", "Flush", "count", "harvests.flush"),
        _figure("fresh", "Fresh mass", "kg", "harvests.fresh"),
        Computed("sold", "Sold from", "date", words.market_on_or_after("{date}")),
        Computed("unsold", "Unsold", "kg", "N(INDEX({harvests.unsold},{row}))"),
        Counter("line"),
        _row("harvests", "date"),
    ),
    rows=_HARVESTS,
)
_TRACED_LOSSES = Grid(
    "traced_losses",
    f"Losses of these batches, the first {_LOSSES}",
    (
        _text("batch", "Batch", "losses.batch"),
        _figure("date", "Thrown out", "date", "losses.date"),
        _text("cause", "Cause", "losses.cause"),
        _text("seen", "Seen first", "losses.seen"),
        _figure("blocks", "Blocks lost", "count", "losses.blocks"),
        _figure("days", "Since made", "d", "losses.days"),
        Counter("line"),
        _row("losses", "date"),
    ),
    rows=_LOSSES,
)
_LISTS = (
    (_TRACED_BATCHES, "batches", "batch", "batches"),
    (_TRACED_HARVESTS, "harvests", "harvest", "harvests"),
    (_TRACED_LOSSES, "losses", "loss", "losses"),
)


def _more() -> str:
    """Write how many rows the lists have no room for."""
    over = [f"MAX(0,COUNT({{{table}.traced}})-{grid.rows})" for grid, table, _, _ in _LISTS]
    parts = "&".join(
        f'CHOOSE(1+({count}>0),"",", "&{count}&CHOOSE(1+({count}=1)," {plural}"," {one}"))'
        for count, (_, _, one, plural) in zip(over, _LISTS, strict=True)
    )
    return (
        f'CHOOSE(1+({"+".join(over)}>0),"","Not listed for lack of room: "&'
        f'MID({parts},3,LEN({parts}))&". Filter the logs by batch.")'
    )


def _summary(mass: str) -> Sentences:
    lines = (words.summary(mass), words.sold(mass), f"{words.same()}&{_more()}")
    return Sentences(
        "Summary", {f"trace_words_{number}": line for number, line in enumerate(lines, 1)}
    )


_CHECKS = (
    Check(
        "Trace: blocks lost are the same on the Losses and Batches sheets",
        'ABS({trace_lost}-SUMIFS({losses.blocks},{losses.traced},">0"))',
    ),
    Check(
        "Trace: fresh mass is the same on the Harvests and Batches sheets",
        'ABS({trace_fresh}-SUMIFS({batches.fresh},{batches.traced},">0"))',
        ROUNDING,
    ),
)


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    return Sheet(
        name="Trace",
        purpose="From a lot, a run, a delivery or a batch to all it touched, and when it was sold.",
        blocks=[
            Form(TRACE.title, TRACE.fields),
            _summary(mass),
            _TRACED_BATCHES,
            _TRACED_HARVESTS,
            _TRACED_LOSSES,
            Lines("Before a recall", _RECALL, "farm caution"),
        ],
        workings=words.WORKINGS,
        widths=(12, 14),
        pages_high=1,
        checks=_CHECKS,
    )
