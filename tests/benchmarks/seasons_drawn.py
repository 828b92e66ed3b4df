"""Logs of any size for the benchmarks: the invented farm, kept by date over more weeks."""

from __future__ import annotations

from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING, Any

from workbook_template.demo.data import demo_entries

if TYPE_CHECKING:
    from workbook_template.writing.layout import Entries

HARVESTS_OF_A_BATCH = 4
BATCHES_OF_A_WEEK = 10
_UNTIL_ALL_IS_PICKED = 60


def entries_of(batches: int) -> Entries:
    """Return the demo with so many batches, and four harvests of each."""
    random = Random(batches)
    entries = demo_entries("metric")
    today: Any = entries.singles["as_of"]
    strains = [row["strain"] for row in entries.tables["strains"]]
    recipes = [row["recipe"] for row in entries.tables["recipes"]]
    logged: list[dict[str, Any]] = []
    picked: list[dict[str, Any]] = []
    for number in range(batches):
        weeks = (batches - number) // BATCHES_OF_A_WEEK
        made = today - timedelta(_UNTIL_ALL_IS_PICKED + 7 * weeks)
        name = f"N{number}"
        moved = made + timedelta(random.randint(12, 20))
        last = moved + timedelta(9 * HARVESTS_OF_A_BATCH)
        logged.append(
            {
                "batch": name,
                "made": made,
                "strain": random.choice(strains),
                "recipe": random.choice(recipes),
                "bags": random.randint(20, 60),
                "moved": moved,
                "ended": last + timedelta(3) if last + timedelta(3) <= today else None,
            }
        )
        for flush in range(1, HARVESTS_OF_A_BATCH + 1):
            when = min(today, moved + timedelta(9 * flush))
            fresh = round(random.uniform(1, 30), 2)
            picked.append({"batch": name, "date": when, "flush": flush, "fresh": fresh})
    picked.sort(key=lambda row: row["date"])
    emptied: dict[str, list[dict[str, Any]]] = {
        "losses": [], "spawn_lots": [], "steam_runs": [], "steam_log": []
    }  # fmt: skip
    entries.tables |= emptied | {"batches": logged, "harvests": picked}
    entries.singles |= {"logged_run": None, "trace_spawn_lot": None}
    return entries
