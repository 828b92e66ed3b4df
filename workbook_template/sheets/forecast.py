"""Forecast: the flushes still to come from the batches in progress, by week and strain.

A batch is expected to do what the Strains sheet uses of plan and own figures. Flushes that are
picked are not expected again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema.fields import Computed, Counter, dimension_of, unit_label
from workbook_template.schema.figures import MOST_FLUSHES, used_in
from workbook_template.schema.logs import BATCHES
from workbook_template.schema.materials import STRAINS
from workbook_template.writing.blocks import (
    ROUNDING,
    Calculated,
    Check,
    Custom,
    Form,
    Grid,
    Lines,
    Sheet,
)
from workbook_template.writing.charts import CHART_ROWS, Chart, add_chart
from workbook_template.writing.layout import address

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from workbook_template.writing.blocks import Settings
    from workbook_template.writing.writer import Writer

FLUSHES = "flushes"
"""The grid that has a row for each row of the log of batches."""
WEEKS = 12
_STRAINS = range(1, STRAINS.rows + 1)
_FLUSHES = range(1, MOST_FLUSHES + 1)


def _used(key: str) -> str:
    return used_in(key, "{line}")


_INTERVAL = _used("flush_interval_days")
_RULES = (
    "Days, losses and BE are those used on the Strains sheet: the plan at first, more and more "
    "your own as batches come in.",
    "A batch not moved yet counts its good blocks, but no more than the strain's losses leave. A "
    "flush counts as picked with its first harvest, and the next one follows from that day. "
    "Whatever is overdue is expected today.",
    "Demand of this week covers all seven days: what was picked since Monday counts toward it, "
    "with what is expected from today on. A week is short if any strain is: a surplus of one "
    "strain does not fill the gap of another.",
)

_OUTLOOK = Grid(
    "outlook",
    "Figures used, by strain",
    (
        Computed(
            "strain",
            "Strain",
            "state",
            'CHOOSE(1+({line}<=ROWS({used.strain})),"",INDEX({used.strain},{line})&"")',
        ),
        Computed("incubation", "Made to moved", "d", _used("incubation_days")),
        Computed("first", "Moved to first flush", "d", _used("first_flush_days")),
        Computed(
            "interval",
            "Flush to flush",
            "d",
            f"CHOOSE(1+({{flushes}}>1),N({_INTERVAL}),{_INTERVAL})",
        ),
        Computed("flushes", "Planned flushes", "count", _used("flushes")),
        Computed("loss", "Blocks lost", "fraction", _used("loss_rate")),
        *(
            Computed(f"be_{flush}", f"BE of flush {flush}", "fraction", _used(f"be_{flush}"))
            for flush in _FLUSHES
        ),
        Counter("line"),
    ),
    rows=STRAINS.rows,
)


def _of_batch(column: str) -> str:
    return f"INDEX({{batches.{column}}},{{row}})"


def _of_strain(column: str) -> str:
    return f"INDEX({{outlook.{column}}},{{at}})"


_IS_MOVED = f"(N({_of_batch('moved')})>0)"
_MOVE = (
    f"CHOOSE(1+{_IS_MOVED},MAX({{today}},{_of_batch('made')}+{_of_strain('incubation')}),"
    f"{_of_batch('moved')})"
)
_AFTER_THE_LAST = f"{_of_batch('last_picked')}+{_of_strain('interval')}"


def _flush(number: int) -> tuple[Computed, Computed]:
    is_to_come = f"({{last}}<{number})*({_of_strain('flushes')}>={number})"
    day = f"{{next}}+({number}-{{last}}-1)*{_of_strain('interval')}"
    return (
        Computed(f"date_{number}", f"Flush {number}", "date", f'CHOOSE(1+{is_to_come},"",{day})'),
        Computed(
            f"mass_{number}",
            f"Mass of flush {number}",
            "kg",
            f"{{dry}}*{_of_strain(f'be_{number}')}*({{date_{number}}}>0)",
        ),
    )


def _flushes(batch_rows: int) -> Grid:
    """Return every batch in progress with its flushes to come; a row for each row of the log.

    It stands last in the workings: with more rows nothing below it moves.
    """
    return Grid(
        FLUSHES,
        "Flushes to come, by batch in progress",
        (
            Computed("batch", "Batch", "state", _of_batch("batch")),
            Computed("strain", "Strain", "state", _of_batch("strain")),
            Computed("state", "State", "state", _of_batch("state")),
            Computed(
                "dry",
                "Dry substrate, good blocks",
                "kg",
                f"{_of_batch('dry_substrate')}*MIN({_of_batch('good')}/{_of_batch('bags')},"
                f"1-{_of_strain('loss')}*(1-{_IS_MOVED}))",
            ),
            Computed(
                "last",
                "Last flush picked",
                "count",
                f"{_of_batch('last_flush')}*1",
            ),
            Computed(
                "next",
                "Next flush",
                "date",
                f"MAX({{today}},ROUND(CHOOSE(1+COUNT({_of_batch('last_picked')}),{_MOVE}+{_of_strain('first')},"
                f"{_AFTER_THE_LAST}),0))",
            ),
            *(column for flush in _FLUSHES for column in _flush(flush)),
            Computed(
                "row",
                "Row of the batch",
                "count",
                'CHOOSE(1+({line}<=COUNT({batches.open_line})),"",'
                "SMALL({batches.open_line},{line}))",
            ),
            Computed(
                "at", "Row of the strain", "count", 'IFERROR(MATCH({strain},{outlook.strain},0),"")'
            ),
            Counter("line"),
        ),
        rows=max(BATCHES.rows, batch_rows),
    )


def _in_week(strain: int) -> str:
    """Add up the flushes of a strain that are expected in the week of the row."""
    return "+".join(
        f"SUMIFS({{flushes.mass_{flush}}},{{flushes.strain}},{{expected_name_{strain}}},"
        f'{{flushes.date_{flush}}},">="&{{week}},{{flushes.date_{flush}}},"<"&({{week}}+7))'
        for flush in _FLUSHES
    )


def _asked(strain: int) -> str:
    """Take a usual week's packs of a strain, and what one week wants more or less."""
    at = f"MATCH({{asked_name_{strain}}},{{strains.strain}},0)"
    return (
        f"SUMPRODUCT(({{plan_products.strain_row}}={at})*1,{{plan_products.packs}},"
        "{plan_products.fresh})"
        f"+SUMIFS({{unusual_weeks.fresh}},{{unusual_weeks.strain_row}},{at},{{unusual_weeks.week}},{{week}})"
    )


def _balance(strain: int) -> str:
    columns = [f"INDEX({{{key}.strain_{strain}}},{{line}})" for key in ("expected", "asked")]
    name = f"{{balance_name_{strain}}}"
    picked = _picked(f"{{harvests.strain}},{name}")
    return f"CHOOSE(1+({name}<>0),0,{columns[0]}+{picked}-{columns[1]})"


def _picked(*criteria: str) -> str:
    """Add up what was picked in the week of the row, up to today."""
    in_week = (
        '{harvests.date},">="&{week},{harvests.date},"<"&({week}+7),{harvests.date},"<="&{today}'
    )
    return f"SUMIFS({','.join(('{harvests.fresh}', *criteria, in_week))})"


def _after(flush: int) -> str:
    return (
        f"SUMIFS({{flushes.mass_{flush}}},{{flushes.date_{flush}}},"
        f'">="&({{forecast_monday}}+7*ROWS({{expected.week}})))'
    )


_AHEAD = (
    Calculated(
        "forecast_this_week",
        "Expected this week",
        "kg",
        "INDEX({expected.total},1)",
        "From today on, with what is overdue.",
        is_key=True,
    ),
    Calculated(
        "forecast_picked",
        "Picked this week so far",
        "kg",
        "INDEX({expected.picked},1)",
        "Since Monday; counts toward the demand of this week.",
    ),
    Calculated(
        "forecast_next_week", "Expected next week", "kg", "INDEX({expected.total},2)", is_key=True
    ),
    Calculated(
        "forecast_short",
        "Weeks short of demand",
        "count",
        'COUNTIF({balance.short},">"&{rounding})',
        "For any strain. Later weeks need batches that you still have to make: see the Week plan.",
        is_key=True,
    ),
    Calculated(
        "forecast_short_mass",
        "Short in these weeks",
        "kg",
        "SUM({balance.short})",
        "Of all strains that are short; a surplus of another strain is not subtracted.",
        is_key=True,
    ),
    Calculated("forecast_total", "Expected in 12 weeks", "kg", "SUM({expected.total})"),
    Calculated("forecast_asked", "Demand in 12 weeks", "kg", "SUM({asked.total})"),
    Calculated(
        "forecast_later",
        "Beyond 12 weeks",
        "kg",
        "+".join(_after(flush) for flush in _FLUSHES),
        "Expected later from the batches in progress.",
    ),
    Calculated(
        "forecast_batches",
        "Batches in progress",
        "count",
        "COUNT({batches.open_line})",
        "Made and not ended.",
    ),
)
_BASIS = (
    Calculated(
        "forecast_monday",
        "Monday of this week",
        "date",
        "{today}+1-WEEKDAY({today}-1)",
        "The first of the weeks begins with it.",
    ),
)


@dataclass(frozen=True)
class _Weeks(Grid):
    """A grid with a row for each week and a column for each strain, which its heading names."""

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        super().place(writer, row)
        for number in _STRAINS:
            writer.place_cell(
                f"{self.key}_name_{number}", row + 1, 1 + number, is_input=False, is_text=True
            )

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        super().write(writer, row)
        names = writer.book.columns["outlook", "strain"]
        for number in _STRAINS:
            name = address(names.first + number - 1, names.column)
            writer.worksheet.cell(row + 1, 1 + number, f"={name}").data_type = "f"


def _by_week(
    key: str, title: str, of_strain: Callable[[int], str], more: Sequence[Computed] = ()
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

    Returns
    -------
    _Weeks
        The list.
    """
    strains = [
        Computed(f"strain_{number}", f"Strain {number}", "kg", of_strain(number))
        for number in _STRAINS
    ]
    together = ",".join(f"{{?{strain.key}}}" for strain in strains)  # what strains there are
    day = 'TEXT(MONTH({week}),"00")&"-"&TEXT(DAY({week}),"00")'
    return _Weeks(
        key,
        title,
        (
            Computed("week", "Week of", "date", "{forecast_monday}+7*({line}-1)"),
            *strains,
            Computed("total", "Total", "kg", f"SUM({together})"),
            *more,
            Computed("day", "Month and day", "state", day, is_working=True),
            Counter("line"),
        ),
        rows=WEEKS,
    )


_PICKED = Computed("picked", "Picked so far", "kg", _picked())
_SHORT = Computed(
    "short", "Short", "kg", "+".join(f"MAX(0,0-N({{?strain_{number}}}))" for number in _STRAINS)
)

_CHECKS = (
    Check(
        "Forecast: batches without a row in its list",
        'COUNTIF({batches.line},">"&ROWS({flushes.line}))',
    ),
    Check(
        "Forecast: strains without a row in its list",
        'COUNTA({strains.strain})-COUNTIF({outlook.strain},"?*")',
    ),
    Check(
        "Forecast: the weeks and what is beyond them add up to all flushes",
        "ABS({forecast_total}+{forecast_later}-"
        + "-".join(f"SUM({{flushes.mass_{flush}}})" for flush in _FLUSHES)
        + ")",
        ROUNDING,
    ),
)


def _chart(writer: Writer, row: int) -> None:
    add_chart(
        writer,
        row,
        Chart(
            title="Is the harvest to come enough for demand?",
            categories="expected.day",
            values=["expected.picked", "expected.total", "asked.total"],
            names=["Picked", "Expected", "Demand"],
            category_title="Week of, month and day",
            value_title=writer.unit(dimension_of("kg")),
            description="Three columns for each of the 12 weeks from this one: the fresh mass "
            "already picked in it, that expected from the batches in progress, and the demand of "
            "the Products and Orders sheets.",
            kind="col",
            number_format="#,##0",
        ),
    )


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    mass = unit_label(dimension_of("kg"), settings.units, settings.currency)
    return Sheet(
        name="Forecast",
        purpose="What the batches in progress will still yield, by week and strain.",
        blocks=[
            Form("The weeks ahead", _AHEAD),
            Custom(CHART_ROWS, _chart),
            _by_week("balance", f"Short (below 0) or over, {mass}", _balance, (_SHORT,)),
            _by_week("expected", f"Expected, {mass}", _in_week, (_PICKED,)),
            _by_week("asked", f"Demand, {mass}", _asked),
            _OUTLOOK,
            Lines("How it is counted", _RULES, "farm text"),
        ],
        workings=[Form("Basis", _BASIS), _flushes(settings.batch_rows)],
        widths=(30, 11.5, 13, *(11.5,) * (STRAINS.rows - 2), *(10,) * (MOST_FLUSHES - 1)),
        pages_high=1,
        checks=_CHECKS,
    )
