"""A workbook with ended batches of some strains in its logs, computed by an engine."""

from __future__ import annotations

import fnmatch
from datetime import timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from live_engine import live_engine, live_engine_of

from workbook_template.build import lay_out
from workbook_template.demo.data import demo_entries
from workbook_template.writing.blocks import Settings
from workbook_template.writing.saving import workbook_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from precedents import Place

    from workbook_template.writing.layout import Entries

STRAINS = ("Blue oyster B3", "Lion's mane H1", "Chestnut C2", "King oyster K5")
RECIPE = "Beech and bran"
PICKING_COST = 1.5
"""On a kilogram."""


class Made(NamedTuple):
    """A batch: which of the strains, the blocks made, and those lost; and what it gave, and cost.

    The fresh mass is in kg, the cost that of a block; the day of picking counts from the making.
    """

    strain: int
    blocks: int
    lost: int
    fresh: float = 1.0
    days: int = 60
    block_cost: float = 4.0


class LoggedBatches:
    """One batch a day, each ended and picked once; what came of them can be typed anew.

    There may be spawn lots and steam runs to name in the batches: L0, L1 …, and R0, R1 …

    ``asked`` has patterns for the keys of all cells and columns that a test asks the values of;
    what these do not rest on is left out, and computing takes a tenth of the time.
    """

    def __init__(self, count: int, lots: int = 0, runs: int = 0, asked: Sequence[str] = ()) -> None:
        entries = demo_entries("metric")
        today: Any = entries.singles["as_of"]
        long_ago = today - timedelta(400 + count)
        entries.tables["steam_log"] = entries.tables["sales"] = []
        entries.tables["spawn_lots"] = [
            {
                "lot": f"L{number}",
                "strain": STRAINS[0],
                "received": long_ago,
                "use_by": today,
                "mass": 1000,
            }
            for number in range(lots)
        ]
        entries.tables["steam_runs"] = [
            {"run": f"R{number}", "date": long_ago, "blocks": 1000, "hold_hours": 14}
            for number in range(runs)
        ]
        entries.tables["batches"] = [
            {
                "batch": f"N{number}",
                "made": today - timedelta(200 + count - number),
                "strain": STRAINS[0],
                "recipe": RECIPE,
                "bags": 10,
                "moved": today - timedelta(150),
                "ended": today - timedelta(100),
                "picking_cost": PICKING_COST,
                "spawn_lot": None,
                "steam_run": None,
            }
            for number in range(count)
        ]
        entries.tables["losses"] = [
            {
                "batch": one["batch"],
                "date": today - timedelta(150),
                "blocks": 1,
                "cause": "other",
                "seen": None,
            }
            for one in entries.tables["batches"]
        ]
        entries.tables["harvests"] = [
            {
                "batch": one["batch"],
                "date": today - timedelta(130),
                "flush": 1,
                "fresh": 1,
            }
            for one in entries.tables["batches"]
        ]
        self._lay_out(entries, count, asked)

    def _lay_out(self, entries: Entries, count: int, asked: Sequence[str] = ()) -> None:
        entries.singles["logged_run"] = entries.singles["trace_spawn_lot"] = None
        recipe = next(one for one in entries.tables["recipes"] if one["recipe"] == RECIPE)
        mass, moisture = entries.singles["block_mass"], recipe["target_moisture"]
        self.dry_mass: float = mass * (1 - moisture)
        """Of the substrate of a block, in kg."""
        self._made = [one["made"] for one in entries.tables["batches"]]
        settings = Settings(units="metric", batch_rows=count, typed_functions=False)
        self._book = lay_out(settings, entries)
        self._left_out: set[Place] = set()
        if asked:
            whole = workbook_bytes(self._book.workbook)
            self._engine, self._left_out = live_engine_of(whole, self._places(asked))
        else:
            self._engine = live_engine(workbook_bytes(self._book.workbook, self._book.filled))
        self.count = count

    def log(self, batches: Sequence[Made]) -> None:
        """Type the batches over those of before, and compute."""
        self.set_column("batches.strain", [STRAINS[one.strain] for one in batches])
        self.set_column("batches.bags", [one.blocks for one in batches])
        self.set_column("batches.block_cost", [one.block_cost for one in batches])
        self.set_column("losses.blocks", [one.lost for one in batches])
        self.set_column("harvests.fresh", [one.fresh for one in batches])
        days = [made + timedelta(one.days) for made, one in zip(self._made, batches)]
        self.set_column("harvests.date", days)
        self.compute()

    def set(self, key: str, value: Any, row: int = 0) -> None:
        """Type a value into an input, or into a row of a column, ``table.column``."""
        self._engine.set_value(*self._at(key, row), value)

    def set_column(self, key: str, values: Sequence[Any]) -> None:
        """Type the first rows of a column at once, which is much faster than one by one."""
        self._engine.set_values_batch(*self._at(key, 0), [[value] for value in values])

    def compute(self) -> None:
        """Compute what has changed."""
        self._engine.evaluate_all()

    def value(self, key: str, row: int = 0) -> Any:
        """Return what a cell shows."""
        place = self._at(key, row)
        assert place not in self._left_out, f"{key} is not among what was asked for"
        return self._engine.get_value(*place)

    def column(self, key: str, rows: int) -> list[Any]:
        """Return what the first rows of a column show."""
        return [self.value(key, row) for row in range(rows)]

    def _places(self, asked: Sequence[str]) -> Iterator[Place]:
        """Yield the places of all cells and columns whose keys follow some pattern."""
        rows: dict[str, int] = dict.fromkeys(self._book.cells, 1)
        for (table, key), place in self._book.columns.items():
            rows[f"{table}.{key}"] = place.last - place.first + 1
        for pattern in asked:
            found = fnmatch.filter(rows, pattern)
            assert found, f"no cell and no column has a key like {pattern}"
            for key in found:
                yield from (self._at(key, row) for row in range(rows[key]))

    def _at(self, key: str, row: int) -> tuple[str, int, int]:
        table, _, column = key.partition(".")
        if not column:
            cell = self._book.cells[key]
            return cell.sheet, cell.row, cell.column
        place = self._book.columns[table, column]
        return place.sheet, place.first + row, place.column
