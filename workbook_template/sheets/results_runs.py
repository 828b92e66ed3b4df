"""Runs of batches that stand out in a list of them, in a sentence: first batch to last batch."""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.writing.blocks import Grid

RUNS = 4
"""How many runs a sentence names."""

ABOVE = "MAX(1,{line}-1)"


def below(count: str) -> str:
    """Write the line below in a list of so many batches, or the last one."""
    return f"MIN({{{count}}},{{line}}+1)"


def run_ends(table: str, count: str) -> tuple[Computed, Computed]:
    """Make the columns that say where a run of batches begins and ends, by the column ``bad``."""

    def beside(line: str) -> str:
        return f"N(INDEX({{{table}.bad}},{line}))"

    begins = f"(1-({{line}}>1)*{beside(ABOVE)})"
    ends = f"(1-({{line}}<{{{count}}})*{beside(below(count))})"
    return (
        Computed("begins", "A run begins", "count", f'CHOOSE(1+{{bad}}*{begins},"",{{line}})'),
        Computed("ends", "A run ends", "count", f'CHOOSE(1+{{bad}}*{ends},"",{{line}})'),
    )


def runs_of(table: str, title: str) -> Grid:
    """List the runs of a table, the last one first."""
    first, last = (f"INDEX({{{table}.batch}},{{{end}}})" for end in ("from", "to"))
    return Grid(
        f"{table}_runs",
        title,
        (
            Counter("number", "Run, the last one first"),
            Computed(
                "from",
                "First",
                "count",
                f'CHOOSE(1+(COUNT({{{table}.begins}})>={{number}}),"",'
                f"LARGE({{{table}.begins}},{{number}}))",
            ),
            Computed("to", "Last", "count", f"LARGE({{{table}.ends}},{{number}})+0*{{from}}"),
            Computed(
                "words",
                "Batches",
                "state",
                f'{first}&CHOOSE(1+({{to}}>{{from}}),""," to "&{last})',
            ),
        ),
        rows=RUNS,
    )


def sentence(table: str, count: str, what: str, bad: str, none: str) -> str:
    """Write the sentence that names the runs of a table, or says that there are none.

    With few batches it says that they are too few to judge ``what``.
    """
    found = f"COUNT({{{table}.begins}})"

    def named(run: int) -> str:
        comma = '"; "&' if run > 1 else ""
        return f'CHOOSE(1+({found}>={run}),"",{comma}INDEX({{{table}_runs.words}},{run}))'

    names = "&".join(map(named, range(1, RUNS + 1)))
    return (
        f"CHOOSE(1+({found}>0),CHOOSE(1+({{?{count}}}>N({{enough_for_spread}})),"
        f'"Too few batches to judge {what}.","{none}"),'
        f'{names}&CHOOSE(1+({found}>{RUNS}),"","; and more")&": {bad}")'
    )
