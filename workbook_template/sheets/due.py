"""The due list of the Start sheet: what has to be done in the next seven days, by date.

Each table that has due things ranks its own rows (a date, and after the decimal point what tells
rows apart); the list takes the smallest ranks of each table, and the smallest of those.
"""

from __future__ import annotations

from workbook_template.schema.fields import Computed, Counter
from workbook_template.writing.blocks import Calculated, Grid

LINES = 15


def _smallest(key: str, label: str, column: str) -> Computed:
    """Take the smallest ranks of one table; the columns of all of them stand side by side."""
    return Computed(
        key,
        label,
        "number",
        f'CHOOSE(1+({{line}}<=COUNT({{{column}}})),"",SMALL({{{column}}},{{line}}))',
        is_working=True,
    )


def _of(column: str, otherwise: str = '""', words: str = "{0}") -> str:
    """Look a line up in one table, and otherwise in the next."""
    table = column.partition(".")[0]
    found = words.replace("{0}", f"INDEX({{{column}}},MATCH({{rank}},{{{table}.rank}},0))")
    return f"IFERROR({found},{otherwise})"


_WORDS = '{0}&""'
_BLOCKS = '{0}&" block"&REPT("s",({0}>1)*1)'


def _of_start(table: str, column: str) -> str:
    """Look up the strain or the recipe of a planned start."""
    row = f"INDEX({{starts.{table}_row}},MATCH({{rank}},{{starts.rank}},0))"
    return f'IFERROR(INDEX({{{table}s.{column}}},{row})&"","")'


def _order(of_ingredient: str, of_spawn: str, otherwise: str) -> str:
    """Look up what is to be ordered, an ingredient or spawn; words as ``_of`` takes them."""
    spawn = _of("spawn_stock.order", otherwise, of_spawn)
    return _of("stock.order", spawn, of_ingredient)


_IF_ANY = 'REPT("%s",MIN(1,INT({0})+1))'
"""Words for what is to be ordered, however little: an error where nothing is."""

_SOLD_WHOLE = "INDEX({crops.as_block},INDEX({starts.number},MATCH({rank},{starts.rank},0)))"

_SOURCES = (
    _smallest("from_batches", "From batches", "batches.rank"),
    _smallest("from_lots", "From spawn lots", "spawn_lots.rank"),
    _smallest("from_starts", "From the week plan", "starts.rank"),
    _smallest("from_stock", "From the stock of ingredients", "stock.rank"),
    _smallest("from_spawn", "From the stock of spawn", "spawn_stock.rank"),
)
_ALL = (
    f"INDEX({{due.{_SOURCES[0].key}}},1):"
    f"INDEX({{due.{_SOURCES[-1].key}}},ROWS({{due.{_SOURCES[-1].key}}}))"
)
_RANKS = (
    *("{batches.rank}", "{spawn_lots.rank}", "{starts.rank}"),
    *("{stock.rank}", "{spawn_stock.rank}"),
)
_COUNTED = "+".join(f"COUNT({ranks})" for ranks in _RANKS)
_OVERDUE = "+".join(f'COUNTIF({ranks},"<"&{{today}})' for ranks in _RANKS)

COUNTS = (
    Calculated(
        "due_count",
        "Due in seven days, or overdue",
        "count",
        f'CHOOSE(1+({_COUNTED}>0),"nothing due",{_COUNTED})',
        is_key=True,
    ),
    Calculated("due_overdue", "Of these, overdue", "count", _OVERDUE, is_key=True),
)


def due_list(mass: str) -> Grid:
    """Return the list; its masses are in the given unit."""
    in_mass = f'ROUND({{0}},1)&" {mass}"'
    return Grid(
        "due",
        f"Do now: overdue first, then the next seven days (the first {LINES})",
        (
            Computed(
                "what",
                "Task",
                "state",
                _of(
                    "batches.due_what",
                    _of(
                        "starts.blocks",
                        _order(
                            _IF_ANY % "order",
                            _IF_ANY % "order spawn",
                            'CHOOSE(1+({date}<{today}),"use up spawn","throw out spawn")',
                        ),
                        '"start a batch"&REPT(" to sell whole",' + _SOLD_WHOLE + ")",
                    ),
                ),
            ),
            Computed("date", "Date", "date", "INT({rank})"),
            Computed(
                "when",
                "When",
                "state",
                "CHOOSE(1+({date}<={today}),"
                '"in "&({date}-{today})&" day"&REPT("s",({date}>{today}+1)*1),'
                'CHOOSE(1+({date}<{today}),"today","overdue"))',
            ),
            Computed(
                "which",
                "Batch, lot, recipe or item",
                "state",
                _of(
                    "batches.batch",
                    _of(
                        "spawn_lots.lot",
                        _of("stock.ingredient", _of_start("recipe", "recipe"), _WORDS),
                        _WORDS,
                    ),
                    _WORDS,
                ),
            ),
            Computed(
                "strain",
                "Strain",
                "state",
                _of(
                    "batches.strain",
                    _of(
                        "spawn_lots.strain",
                        _of("spawn_stock.strain", _of_start("strain", "strain"), _WORDS),
                        _WORDS,
                    ),
                    _WORDS,
                ),
            ),
            Computed(
                "amount",
                "How much",
                "state",
                _of(
                    "batches.good",
                    _of(
                        "spawn_lots.left",
                        _of("starts.blocks", _order(in_mass, in_mass, '""'), _BLOCKS),
                        in_mass,
                    ),
                    _BLOCKS,
                ),
            ),
            Counter("line", "Line"),
            Computed(
                "rank",
                "Place in the due list",
                "number",
                f'CHOOSE(1+({{line}}<=COUNT({_ALL})),"",SMALL({_ALL},{{line}}))',
                is_working=True,
            ),
            *_SOURCES,
        ),
        rows=LINES,
    )
