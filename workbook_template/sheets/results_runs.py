"""Runs of batches that stand out in a list of them, in a sentence: first batch to last batch."""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.writing.blocks import Grid

RUNS = 4
"""How many runs a sentence names."""
BATCHES = 40
"""How many batches a list has: the last ones."""
LOOKS = 3
"""How many times the limits are found, the last time for good."""
EACH_LOOK = range(1, LOOKS + 1)
MEAN_STEP = "(2/SQRT(PI()))"
"""Of two standard normal numbers: the mean distance, 1.128 in the tables of control charts."""

ABOVE = "MAX(1,{line}-1)"


def below(count: str) -> str:
    """Write the line below in a list of so many batches, or the last one."""
    return f"MIN({{{count}}},{{line}}+1)"


def of_batches(table: str, turn: str) -> tuple[Computed | Counter, ...]:
    """Make the first columns of a list of the last batches, those that have a turn in their log."""
    count = f"{{{table}_count}}"
    return (
        Counter("line", "Place"),
        Computed(
            "row",
            "Row of the batch",
            "count",
            f'CHOOSE(1+({{line}}<={count}),"",'
            f"MATCH(LARGE({{batches.{turn}}},{count}+1-{{line}}),{{batches.{turn}}},0))",
        ),
        Computed("batch", "Batch", "state", 'INDEX({batches.batch},{row})&""'),
        Computed("strain", "Strain", "state", 'INDEX({batches.strain},{row})&""'),
    )


def step_from_above(table: str, off: str, look: int, unit: str) -> Computed:
    """Make the column of a moving range: how far two batches beside each other are apart."""
    kept = f"kept_{look - 1}"
    apart = f"ABS({{{off}}}-INDEX({{{table}.{off}}},{ABOVE}))"
    return Computed(
        f"step_{look}",
        f"Step from the batch above, look {look}",
        unit,
        f'CHOOSE(1+({{line}}>1)*{{{kept}}}*N(INDEX({{{table}.{kept}}},{ABOVE})),"",{apart})',
    )


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
