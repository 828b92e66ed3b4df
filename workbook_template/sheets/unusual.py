"""What is out of the ordinary: one sentence each, that leads to the cell it is about.

Each source counts its lines, and says the line of a number: ``{place}`` in its templates. What the
checks say stands in a line of its own: it may be about prices, which no other line rests on.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING

from workbook_template.schema.columns import iso_date
from workbook_template.schema.fields import Computed, Counter, dimension_of
from workbook_template.writing.blocks import Calculated, Form, Grid

if TYPE_CHECKING:
    from workbook_template.writing.writer import Writer

LINES = 8
_STATE = dimension_of("state")
_HERE = '"#Start!A1"'


@dataclass(frozen=True)
class Source:
    """Where unusual things are found, as templates: how many, in which words, at which cell."""

    key: str
    label: str
    count: str
    words: str
    target: str


_FAILING = "COUNT({alarms.line})"
_MORE = "(MAX({check_lines.turn})-1)"
_CHECK = Source(
    "alarms",
    "From the Checks sheet",
    _FAILING,
    f'CHOOSE(1+({_FAILING}>0),"All entries pass the checks.",INDEX({{alarms.where}},1)&": "'
    f'&INDEX({{alarms.words}},1)&CHOOSE(1+({_MORE}>0),""," "&{_MORE}&" more on Checks."))',
    f'CHOOSE(1+({_FAILING}>0),"#Checks!A1",INDEX({{alarms.target}},1))',
)


def _ranked(table: str, column: str) -> str:
    """Look up what stands in the row of a table that is due at a place."""
    ranks = f"{{{table}.rank}}"
    return f"INDEX({{{table}.{column}}},MATCH(SMALL({ranks},{{place}}),{ranks},0))"


def _row(sheet: str, table: str, column: str) -> str:
    return f"\"#'{sheet}'!A\"&ROW({_ranked(table, column)})"


_LATE = f"({{today}}-{_ranked('batches', 'due')})"
_STATION = "SMALL({crowded.at},{place})"


def _short(column: str) -> str:
    """Look up the first crop that is short."""
    return f"INDEX({{not_in_time.{column}}},1)"


def _different(column: str) -> str:
    """Look up a strain whose plan differs from own records."""
    return f"INDEX({{own.{column}}},SMALL({{own.differs_at}},{{place}}))"


def _short_of(table: str, name: str, label: str, words: str, mass: str) -> Source:
    """Make the source of what the starts of the next seven days lack; a line for each thing."""

    def of(column: str) -> str:
        return f"INDEX({{{table}.{column}}},SMALL({{{table}.short_at}},{{place}}))"

    return Source(
        f"short_{table}",
        label,
        f"COUNT({{{table}.short_at}})",
        f'"Short for the starts of the next seven days: "&{of(name)}&"{words}, "'
        f'&ROUNDUP({of("short_soon")}-{{rounding}},1)&" {mass}, first on "'
        f'&{iso_date(of("runs_out"))}&"."',
        f"\"#'Stock'!A\"&ROW({of(name)})",
    )


def sources(mass: str) -> tuple[Source, ...]:
    """Return the sources in the order of their lines; another one is added here.

    Parameters
    ----------
    mass : str
        The unit of masses.

    Returns
    -------
    tuple of Source
        Over-full rooms first.
    """
    return (
        Source(
            "full_rooms",
            "Over-full rooms",
            "COUNT({room_list.rank})",
            "INDEX({room_list.words},MATCH({place},{room_list.rank},0))",
            "\"#'Rooms'!A\"&ROW(INDEX({over_full.room},1))",
        ),
        _short_of("spawn_stock", "strain", "Spawn short for the starts", " spawn", mass),
        _short_of("stock", "ingredient", "Ingredients short for the starts", "", mass),
        Source(
            "late",
            "Batches overdue by more than a week",
            'COUNTIF({batches.rank},"<"&({today}-7))',
            f'"Batch "&{_ranked("batches", "batch")}&": "&{_ranked("batches", "due_what")}'
            f'&", overdue by "&{_LATE}&" days."',
            _row("Batches", "batches", "batch"),
        ),
        Source(
            "bad_runs",
            "Batches that lost more blocks than luck explains",
            "(COUNT({luck.begins})>0)*1",
            '{?luck_words}&""',
            "\"#'Results'!A\"&ROW({?luck_words})",
        ),
        Source(
            "suspect",
            "Lots, runs, recipes or rooms that lost more than luck explains",
            "COUNT({suspect_share})*(N({suspect_share})<{suspect_limit})",
            '{?suspect_words}&""',
            "\"#'Loss causes'!A\"&ROW({?suspect_words})",
        ),
        Source(
            "differs",
            "Strains whose plan differs from own records, not by luck",
            "COUNT({own.differs_at})",
            f'{_different("strain")}&", by your own records: "&{_different("differs")}'
            '&" than planned."',
            f"\"#'Strains'!A\"&ROW({_different('strain')})",
        ),
        Source(
            "old_spawn",
            "Spawn past its use-by date",
            'COUNTIF({spawn_lots.rank},"<"&{today})',
            f'"Spawn lot "&{_ranked("spawn_lots", "lot")}&" is past its use-by date, with "&'
            f'ROUND({_ranked("spawn_lots", "left")},1)&" {mass} left."',
            _row("Spawn", "spawn_lots", "lot"),
        ),
        Source(
            "not_in_time",
            "Crops that can no longer be grown in time",
            "MIN(1,COUNT({crop_weeks.short_at}))",
            f'"Too late to grow: "&{_short("crop")}&", "&TEXT(N({_short("mass")})'
            f'+N({_short("blocks")}),"0.0")&CHOOSE(1+(N({_short("blocks")})>0)," {mass}"," blocks")'
            f'&" short, first on "&{iso_date(_short("first"))}'
            '&CHOOSE(1+(COUNT({crop_weeks.short_at})>1),".","; and "'
            '&(COUNT({crop_weeks.short_at})-1)&" more, see the Week plan.")',
            "\"#'Week plan'!A\"&ROW(INDEX({not_in_time.crop},1))",
        ),
        Source(
            "crowded",
            "Stations over their capacity in the Week plan",
            "COUNT({crowded.at})",
            f'"The Week plan asks too much of "&INDEX({{stations.station}},{_STATION})&": up to "'
            f'&TEXT(INDEX({{stations.highest}},{_STATION}),"0%")&" of its capacity."',
            "\"#'Week plan'!A1\"",
        ),
    )


_CROWDED = Grid(
    "crowded",
    "Stations over their capacity, but for rooms, which have lines of their own",
    (
        Counter("number", "Station"),
        Computed(
            "at",
            "Over 100 %",
            "count",
            "CHOOSE(1+(N(INDEX({stations.highest},{number}))>1)"
            '*(COUNTIF({rooms.stage},INDEX({stations.station},{number}))=0),"",{number})',
        ),
    ),
    rows=6,
)


def workings(mass: str) -> tuple[Form | Grid, ...]:
    """Return the lists behind the lines."""
    every = sources(mass)
    counts = [f"N({{?unusual_{one.key}}})" for one in every]
    before = list(accumulate(counts, lambda sums, one: f"{sums}+{one}"))
    which = "1" + "".join(f"+({{line}}>{sums})" for sums in before[:-1])
    return (
        _CROWDED,
        Form(
            "Out of the ordinary",
            (
                *(
                    Calculated(f"unusual_{one.key}", one.label, "count", f"IFERROR({one.count},0)")
                    for one in every
                ),
                Calculated("unusual_count", "Lines", "count", before[-1]),
            ),
        ),
        Grid(
            "unusual",
            "Lines",
            (
                Counter("line", "Line"),
                Computed(
                    "source",
                    "Source",
                    "count",
                    f'CHOOSE(1+({{line}}<={{unusual_count}}),"",{which})',
                ),
                Computed(
                    "place",
                    "Line of the source",
                    "count",
                    f"{{line}}-CHOOSE({{source}},0,{','.join(before[:-1])})",
                ),
                Computed(
                    "words",
                    "Words",
                    "state",
                    f"CHOOSE({{source}},{','.join(one.words for one in every)})",
                ),
                Computed(
                    "target",
                    "Cell",
                    "state",
                    f"CHOOSE({{source}},{','.join(one.target for one in every)})",
                ),
            ),
            rows=LINES,
        ),
    )


@dataclass(frozen=True)
class Unusual:
    """On the page: the first check that fails, then the lines, each a link."""

    def height(self) -> int:
        """Count the rows, the gap behind included."""
        return LINES + 3

    def place(self, writer: Writer, row: int) -> None:
        """Note where the cells of the block are."""

    def write(self, writer: Writer, row: int) -> None:
        """Fill the rows from the given one."""
        writer.section(row, "Out of the ordinary")
        check = f"HYPERLINK({_CHECK.target},{_CHECK.words})"
        writer.formula(row + 1, 1, check, _STATE, "farm link", waits=False)
        for number in range(1, LINES + 1):
            words = f"INDEX({{unusual.words}},{number})"
            if number == 1:
                words = f'CHOOSE(1+({{unusual_count}}>0),"Nothing else today.",{words})'
            elif number == LINES:
                more = f"{{unusual_count}}-{number - 1}"
                words = f'CHOOSE(1+({{unusual_count}}>{number}),{words},{more}&" more.")'
            cell = f"INDEX({{unusual.target}},{number})"
            target = f"CHOOSE(1+({{unusual_count}}>={number}),{_HERE},{cell})"
            line = f'HYPERLINK({target},{words}&"")'
            writer.formula(row + 1 + number, 1, line, _STATE, "farm link", waits=False)
