"""The next twelve weeks in two charts: harvest against demand, blocks against shelf spaces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import Computed, Counter, dimension_of
from workbook_template.sheets.forecast_weeks import WEEKS
from workbook_template.sheets.week_plan_starts import EACH_FLUSH
from workbook_template.writing.blocks import Grid
from workbook_template.writing.charts import Chart, add_chart

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

_SENTENCE_ROWS = 2
_ROWS = 15
_HEIGHT = 7.6  # cm
_LEFT, _RIGHT = 11.0, 12.2  # cm: no wider than the three columns that each covers in Excel

_OF_STARTS = "+".join(
    f'SUMIFS({{starts.gives_{flush}}},{{starts.picked_{flush}}},">="&{{week}},'
    f'{{starts.picked_{flush}}},"<"&({{week}}+7))'
    for flush in EACH_FLUSH
)

AHEAD = Grid(
    "ahead",
    "The next twelve weeks",
    (
        Computed("week", "Week from", "date", "{forecast_monday}+7*({line}-1)"),
        Computed(
            "day",
            "Month and day",
            "state",
            'MONTH({week})&"/"&DAY({week})',
        ),
        Computed(
            "harvest",
            "Picked and expected",
            "kg",
            "N(INDEX({expected.picked},{line}))+N(INDEX({expected.total},{line}))",
        ),
        Computed("planned", "With planned starts", "kg", f"{{harvest}}+{_OF_STARTS}"),
        Computed("demand", "Demand", "kg", "N(INDEX({asked.total},{line}))"),
        Computed("short", "Short", "kg", "N(INDEX({balance.short},{line}))"),
        Computed(
            "incubating",
            "Blocks in incubation",
            "count",
            "N(INDEX({room_weeks.incubation_blocks},{line}))",
        ),
        Computed(
            "incubation",
            "Spaces in incubation",
            "count",
            "N(INDEX({room_weeks.incubation_spaces},{line}))",
        ),
        Computed(
            "fruiting",
            "Blocks in fruiting",
            "count",
            "N(INDEX({room_weeks.fruiting_blocks},{line}))",
        ),
        Computed(
            "fruiting_spaces",
            "Spaces in fruiting",
            "count",
            "N(INDEX({room_weeks.fruiting_spaces},{line}))",
        ),
        Computed(
            "over",
            "Blocks without a space",
            "count",
            "MAX(0,{incubating}-{incubation})+MAX(0,{fruiting}-{fruiting_spaces})",
        ),
        Counter("line", "Line"),
    ),
    rows=WEEKS,
)
"""In the workings: what the charts draw."""


_ALL = "ROWS({ahead.week})"


def _harvest_words(mass: str) -> str:
    now, following = (f"ROUND(INDEX({{ahead.short}},{week}),1)" for week in ("1", "1+1"))
    short = (
        f'"Short of demand, strain by strain: "&{now}&" {mass} this week, "&{following}&" {mass} '
        'next week. Planned starts are not counted."'
    )
    met = "CHOOSE(1+(SUM({ahead.demand})>0),"
    met += '"No demand yet: it comes from the Products sheet.",'
    met += '"Demand is met this week and next. Planned starts are not counted.")'
    return f"CHOOSE(1+({now}+{following}>0),{met},{short})"


def _space_words() -> str:
    count, most = 'COUNTIF({ahead.over},">0")', "MAX({ahead.over})"
    worst = iso_date(f"INDEX({{ahead.week}},MATCH({most},{{ahead.over}},0))")
    over = (
        f'"More blocks than shelf spaces in "&{count}&" of the next "&{_ALL}&" weeks; "'
        f'&"in the week of "&{worst}&", "&ROUNDUP({most},0)&" too many."'
    )
    fits = "CHOOSE(1+(SUM({ahead.incubating},{ahead.fruiting})>0),"
    fits += '"No blocks yet: they come from the Batches and Week plan sheets.",'
    fits += '"All blocks, logged and planned, fit the shelves in the next "&' + _ALL + '&" weeks.")'
    return f"CHOOSE(1+(MAX({{ahead.over}})>0),{fits},{over})"


@dataclass(frozen=True)
class Charts:
    """The charts beside each other, each below the sentence that says its point."""

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return 1 + _SENTENCE_ROWS + _ROWS

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        mass = writer.unit(dimension_of("kg"))
        writer.section(row, "The next twelve weeks")
        state = dimension_of("state")
        for words, first, last in ((_harvest_words(mass), 1, 3), (_space_words(), 4, 6)):
            writer.wide_text(row + 1, "", "farm text", first, last)
            writer.formula(row + 1, first, words, state, "farm text", waits=False)
        writer.worksheet.row_dimensions[row + 1].height = 15.0 * _SENTENCE_ROWS
        add_chart(
            writer,
            row + 2,
            Chart(
                title="Harvest against demand",
                categories="ahead.day",
                values=["ahead.harvest", "ahead.planned"],
                limits=["ahead.demand"],
                names=["Growing now", "With planned starts", "Demand"],
                category_title="Week from, month/day",
                value_title=mass,
                description="Lines over the twelve weeks from this one: the fresh mass picked and "
                "expected from the batches in progress, the same with what the planned starts are "
                "expected to give, and dashed the demand.",
                kind="line",
                number_format="#,##0",
                height=_HEIGHT,
                label_every=2,
                width=_LEFT,
            ),
        )
        add_chart(
            writer,
            row + 2,
            Chart(
                title="Blocks against shelf spaces",
                categories="ahead.day",
                values=["ahead.incubating", "ahead.fruiting"],
                limits=["ahead.incubation", "ahead.fruiting_spaces"],
                names=["Incubation", "Fruiting", "Incubation spaces", "Fruiting spaces"],
                category_title="Week from, month/day",
                value_title="Blocks",
                description="Lines over the twelve weeks from this one: the blocks, logged and "
                "planned, in incubation and in fruiting on the fullest day of the week, and "
                "dashed the shelf spaces for them on that day.",
                kind="line",
                number_format="#,##0",
                column="D",
                height=_HEIGHT,
                label_every=2,
                width=_RIGHT,
            ),
        )
