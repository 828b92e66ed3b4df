"""Logs of any size for the benchmarks: the invented farm, over more weeks."""

from __future__ import annotations

from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING, Any

from workbook_template.invented.demo_data import demo_entries

if TYPE_CHECKING:
    from workbook_template.writing.book import Entries

HARVESTS_OF_A_BATCH = 4
_LAST_DAYS = 400
"""All batches lie within these days, as the sheets that look at the last year need them."""


def entries_of(batches: int) -> Entries:
    """Give the demo with so many batches, and four harvests of each."""
    random = Random(batches)
    entries = demo_entries("metric")
    today: Any = entries.singles["as_of"]
    strains = [row["strain"] for row in entries.tables["strains"]]
    recipes = [row["recipe"] for row in entries.tables["recipes"]]
    logged: list[dict[str, Any]] = []
    picked: list[dict[str, Any]] = []
    for number in range(batches):
        made = today - timedelta(random.randint(60, _LAST_DAYS))
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
    random.shuffle(picked)
    emptied: dict[str, list[dict[str, Any]]] = {
        "losses": [], "spawn_lots": [], "steam_runs": [], "steam_log": []
    }  # fmt: skip
    entries.tables |= emptied | {"batches": logged, "harvests": picked}
    entries.singles |= {"logged_run": None}
    return entries
