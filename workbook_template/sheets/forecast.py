"""Forecast: the flushes still to come from the batches in progress, by week and strain.

A batch is expected to do what its strain did on this farm, once enough batches of it have ended,
and until then what the Strains sheet says. Flushes that are picked are not expected again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema import look_up
from workbook_template.schema.fields import Computed, Counter, dimension_of
from workbook_template.schema.logs import BATCHES
from workbook_template.schema.materials import MOST_FLUSHES, STRAINS
from workbook_template.schema.outlook import FORECAST
from workbook_template.writing.blocks import (
    ROUNDING,
    Calculated,
    Check,
    Custom,
    Form,
    Grid,
    Lines,
    NewPage,
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

_RULES = (
    "A strain's own figures come from its ended batches: days from one date to the next over those "
    "with a move and a first flush, losses over all of them. The days from flush to "
    "flush are those of the Strains sheet.",
    "The BE of a flush is that of the batches kept for it: they gave it, or stood until its day. "
    "While these are too few, it is that of the Strains sheet, flush by flush.",
    "A batch not moved yet keeps the good blocks that it has, but no more than its strain's losses "
    "leave. A flush counts as picked with its first harvest; the next one follows from that day. "
    "What is overdue is expected today.",
    "What is asked for in this week is that of all its days, so what was picked since Monday "
    "counts toward it, beside what is expected from today on. A week is short where any strain "
    "is: a surplus of one makes up for no other.",
)

_OWN = '{batches.strain},{strain},{batches.state},"ended"'
_WITH_DATES = f'{_OWN},{{batches.moved}},">0",{{batches.first_picked}},">0"'


def _or_own(planned: str, own: str) -> str:
    """Take the figure of the Strains sheet, or the farm's own where there are enough batches."""
    return f"CHOOSE(1+{{own}},{look_up(f'strains.{planned}', 'strain')},{own})"


_INTERVAL = look_up("strains.flush_interval_days", "strain")


def _own_days(until: str, since: str) -> str:
    sums = [f"SUMIFS({{batches.{date}}},{_WITH_DATES})" for date in (until, since)]
    return f"({sums[0]}-{sums[1]})/{{known}}"


def _be(flush: int) -> str:
    """Take the BE of the batches that were kept for a flush, where there are enough of them."""
    kept = f'{_OWN},{{batches.kept_for}},">={flush}"'
    count = f'COUNTIFS({kept},{{batches.dry_good}},">0")'
    picked = (
        f"SUMIFS({{harvests.fresh}},{{harvests.strain}},{{strain}},{{harvests.flush}},{flush},"
        "{harvests.of_ended},1)"
    )
    own = f"{picked}/SUMIFS({{batches.dry_good}},{kept})"
    planned = look_up(f"strains.be_{flush}", "strain")
    return f"CHOOSE(1+{{own}}*({count}>={{enough_batches}}),{planned},{own})"


_OUTLOOK = Grid(
    "outlook",
    "Figures used, by strain",
    (
        Computed(
            "strain",
            "Strain",
            "state",
            'CHOOSE(1+({line}<=ROWS({strains.strain})),"",INDEX({strains.strain},{line})&"")',
        ),
        Computed(
            "known",
            "Ended batches to go by",
            "count",
            f'COUNTIFS({_WITH_DATES},{{batches.dry_good}},">0")',
        ),
        Computed("own", "Enough", "count", "({known}>={enough_batches})*1"),
        Computed(
            "basis", "Figures from", "state", 'CHOOSE(1+{own},"the Strains sheet","own batches")'
        ),
        Computed(
            "incubation",
            "Made to moved",
            "d",
            _or_own("incubation_days", _own_days("moved", "made")),
        ),
        Computed(
            "first",
            "Moved to first flush",
            "d",
            _or_own("first_flush_days", _own_days("first_picked", "moved")),
        ),
        Computed(
            "interval",
            "Flush to flush",
            "d",
            f"CHOOSE(1+({{flushes}}>1),N({_INTERVAL}),{_INTERVAL})",
        ),
        Computed("flushes", "Flushes kept", "count", look_up("strains.flushes", "strain")),
        Computed(
            "loss",
            "Blocks lost",
            "fraction",
            _or_own(
                "loss_rate", f"SUMIFS({{batches.lost}},{_OWN})/SUMIFS({{batches.bags}},{_OWN})"
            ),
        ),
        *(
            Computed(
                f"be_{flush}",
                f"BE of flush {flush}",
                "fraction",
                _be(flush),
            )
            for flush in _FLUSHES
        ),
        Counter("line", "No."),
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
    """List every batch in progress with its flushes to come; a row for each row of the log."""
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
            Counter("line", "No."),
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
        "forecast_monday",
        "Monday of this week",
        "date",
        "{today}+1-WEEKDAY({today}-1)",
        "The first of the twelve weeks begins with it.",
    ),
    Calculated(
        "forecast_picked",
        "Picked this week so far",
        "kg",
        "INDEX({expected.picked},1)",
        "Since Monday; counts toward what is asked for in this week.",
    ),
    Calculated(
        "forecast_this_week",
        "Expected this week",
        "kg",
        "INDEX({expected.total},1)",
        "From today on, with what is overdue.",
        is_key=True,
    ),
    Calculated(
        "forecast_next_week", "Expected next week", "kg", "INDEX({expected.total},2)", is_key=True
    ),
    Calculated("forecast_total", "Expected in twelve weeks", "kg", "SUM({expected.total})"),
    Calculated(
        "forecast_later",
        "Beyond 12 weeks",
        "kg",
        "+".join(_after(flush) for flush in _FLUSHES),
        "From batches in progress.",
    ),
    Calculated("forecast_asked", "Asked for in twelve weeks", "kg", "SUM({asked.total})"),
    Calculated(
        "forecast_short",
        "Weeks with less than asked for",
        "count",
        'COUNTIF({balance.short},">"&{rounding})',
        "Of any strain. Later weeks need batches that are not made yet: see the Week plan sheet.",
        is_key=True,
    ),
    Calculated(
        "forecast_short_mass",
        "Short in these weeks",
        "kg",
        "SUM({balance.short})",
        "Of all strains that are short, without what others have too much.",
        is_key=True,
    ),
    Calculated(
        "forecast_batches",
        "Batches in progress",
        "count",
        "COUNT({batches.open_line})",
        "Made and not ended.",
    ),
)


@dataclass(frozen=True)
class Weeks:
    """A list with a row for each week and a column for each strain, which its heading names.

    ``of_strain`` gives the formula of the column of a strain, from its number.
    """

    key: str
    title: str
    of_strain: Callable[[int], str]
    more: Sequence[Computed] = ()
    """Columns behind the total."""

    @property
    def columns(self) -> tuple[Computed | Counter, ...]:
        """The columns from left to right; the strains are headed by their names."""
        strains = [
            Computed(f"strain_{number}", "", "kg", self.of_strain(number)) for number in _STRAINS
        ]
        together = ",".join(f"{{{strain.key}}}" for strain in strains)
        return (
            Computed("week", "Week from", "date", "{forecast_monday}+7*({line}-1)"),
            *strains,
            Computed("total", "Total", "kg", f"SUM({together})"),
            *self.more,
            Computed(
                "day",
                "Month and day",
                "state",
                'TEXT(MONTH({week}),"00")&"-"&TEXT(DAY({week}),"00")',
            ),
            Counter("line", "No."),
        )

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return WEEKS + 3

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""
        for number, column in enumerate(self.columns, 1):
            writer.place_table_column(self.key, column, row + 2, row + 1 + WEEKS, number)
        for number in _STRAINS:
            writer.place_cell(
                f"{self.key}_name_{number}", row + 1, 1 + number, is_input=False, is_text=True
            )

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, f"{self.title}, {writer.unit(dimension_of('kg'))}")
        for number, column in enumerate(self.columns, 1):
            writer.heading(row + 1, number, column)
            lines = range(1, WEEKS + 1)
            adds_up = column.key in ("total", "short")  # what strains there are
            writer.table_column(self.key, column, row + 2, number, lines, waits=not adds_up)
        names = writer.book.columns["outlook", "strain"]
        for number in _STRAINS:
            name = address(names.first + number - 1, names.column)
            writer.worksheet.cell(row + 1, 1 + number, f"={name}")
            writer.worksheet.cell(row + 1, 1 + number).data_type = "f"


_PICKED = Computed("picked", "Picked so far", "kg", _picked())
_SHORT = Computed(
    "short", "Short", "kg", "+".join(f"MAX(0,0-N({{?strain_{number}}}))" for number in _STRAINS)
)

_CHECKS = (
    Check(
        "Forecast: batches beyond the rows of its list",
        'COUNTIF({batches.line},">"&ROWS({flushes.line}))',
    ),
    Check(
        "Forecast: strains beyond the rows of its list",
        'COUNTA({strains.strain})-COUNTIF({outlook.strain},"?*")',
    ),
    Check(
        "Forecast: weeks and what comes after them are all flushes",
        "ABS({forecast_total}+{forecast_later}-"
        + "-".join(f"SUM({{flushes.mass_{flush}}})" for flush in _FLUSHES)
        + ")",
        ROUNDING,
    ),
)


def _chart(writer: Writer, row: int) -> None:
    writer.section(row, "Chart")
    add_chart(
        writer,
        row + 1,
        Chart(
            title="Fresh mushrooms, picked, expected and asked for",
            categories="expected.day",
            values=["expected.picked", "expected.total", "asked.total"],
            names=["Picked", "Expected", "Asked for"],
            category_title="Week from, month and day",
            value_title=writer.unit(dimension_of("kg")),
            description="Three columns for each of the twelve weeks from this one: the fresh mass "
            "already picked in it, that expected from the batches in progress, and that asked for "
            "on the Week plan sheet.",
            kind="col",
            number_format="#,##0",
        ),
    )


def sheet(settings: Settings) -> Sheet:
    """Lay the sheet out."""
    return Sheet(
        name="Forecast",
        purpose="What the batches in progress will still give, by week and strain.",
        blocks=[
            Form("The weeks ahead", _AHEAD),
            Form(FORECAST.title, FORECAST.fields),
            Custom(CHART_ROWS, _chart),
            Weeks("expected", "Expected in the week from", _in_week, (_PICKED,)),
            NewPage(),
            Weeks("asked", "Asked for in the week from", _asked),
            Weeks("balance", "Picked and expected, less asked for", _balance, (_SHORT,)),
            NewPage(),
            Lines("How it is expected", _RULES, "farm text"),
            _OUTLOOK,
            _flushes(settings.batch_rows),
        ],
        widths=(32, *(16,) * STRAINS.rows, 12, 12, 12, 12, 12, 12, 7, 6),
        landscape=True,
        checks=_CHECKS,
    )
