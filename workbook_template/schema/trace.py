"""What can be traced, and how a row of a log tells that it is touched.

Another kind of thing to trace is one ``Kind`` in ``KINDS``; form, sentences and lists follow.
"""

from __future__ import annotations

from typing import NamedTuple

from workbook_template.schema.fields import Computed, Field, Section


class Kind(NamedTuple):
    """One kind of thing to trace.

    Attributes
    ----------
    choice : Field
        The input that picks one of them; its label is the name of the kind.
    touches : str
        Template for a row of the Batches log: whether the batch is touched by the thing in row
        ``{trace_at}`` of the list that the choice is from.
    verb : str
        What stands between the thing's name and its batches, in the summary.
    column : str
        The choice in a row of the Batches log that names such a thing; empty where none does.
    place : str
        The column beside it that says in which row of its list that thing is.
    """

    choice: Field
    touches: str
    verb: str
    column: str = ""
    place: str = ""


def _choice(key: str, label: str, choices: str, words: str) -> Field:
    return Field(key, label, "choice", choices=choices, help=words, required=False)


def _of_delivery(column: str) -> str:
    return f"N(INDEX({{deliveries.{column}}},{{trace_at}}))"


_HOLDS_ITEM = (
    "(COUNTIFS({recipe_lines.recipe},{?recipe},{recipe_lines.ingredient},"
    "INDEX({deliveries.item},{trace_at}))>0)"
)
KINDS = (
    Kind(
        _choice(
            "trace_spawn_lot",
            "Spawn lot",
            "spawn_lots.lot",
            "All batches that were spawned with it.",
        ),
        "N({?at_lot})={trace_at}",
        "went into",
        "spawn_lot",
        "at_lot",
    ),
    Kind(
        _choice(
            "trace_steam_run",
            "Steam run",
            "steam_runs.run",
            "All batches that were steamed in it.",
        ),
        "N({?at_run})={trace_at}",
        "was used for",
        "steam_run",
        "at_run",
    ),
    Kind(
        _choice(
            "trace_delivery",
            "Delivery",
            "deliveries.lot",
            "All batches with its item that were made while it was in use.",
        ),
        f"{_HOLDS_ITEM}*(N({{?made}})>={_of_delivery('first_used')})"
        f"*(N({{?made}})<={_of_delivery('last_used')})",
        "may be in",
    ),
    Kind(
        _choice(
            "trace_batch",
            "Batch",
            "batches.batch",
            "This one, and which others had its spawn lot or steam run.",
        ),
        "{line}={trace_at}",
        "has",
    ),
)

TRACE = Section("What to trace (the first one filled counts)", [kind.choice for kind in KINDS])


def _turn(day: str, rows: str) -> str:
    """Write one number for a row: its day, then its place in the log.

    A row without a date comes first: it is traced, too.
    """
    return f"INT(N({{?{day}}}))*(1+ROWS({{{rows}}}))+{{line}}"


def row_of_turn(turn: str, rows: str) -> str:
    """Write which row of its log a turn belongs to."""
    return f"MOD({turn},1+ROWS({{{rows}}}))"


def day_of_turn(turn: str, rows: str) -> str:
    """Write which day a turn belongs to; 0 for none."""
    return f"INT({turn}/(1+ROWS({{{rows}}})))"


def _traced(table: str, day: str, is_touched: str) -> Computed:
    rows = f"{table}.{day}"
    return Computed(
        "traced",
        "Traced, by day",
        "number",
        f'CHOOSE(1+{is_touched},"",{_turn(day, rows)})',
        "Filled where the Trace sheet lists the row; orders its rows by day.",
        is_working=True,
    )


_TOUCHES = f"CHOOSE({{trace_kind}},{','.join(kind.touches for kind in KINDS)})"
TRACED_BATCH = _traced("batches", "made", f"CHOOSE(1+({{trace_at}}>0),0,({_TOUCHES})*1)")


def of_traced_batch(table: str) -> Computed:
    """Make the column of a log that says whether the batch of a row is traced."""
    return _traced(table, "date", "COUNT(INDEX({batches.traced},{at_batch}))")
