"""The Trace sheet against a trace of the logs in plain Python, on the demo and on drawn logs."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import cache
from random import Random
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from logged_batches import STRAINS, LoggedBatches
from reading import parts
from workbooks import made

from workbook_template.demo.data import demo_entries

if TYPE_CHECKING:
    from collections.abc import Sequence

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
COUNT, LOTS, RUNS = 60, 6, 9
ROOM = {"batches": 10, "harvests": 32, "losses": 12}
"""How many rows of each the page has room for."""
COLUMNS = {
    "batches": ("batch", "made", "recipe", "strain", "bags", "lost", "state", "standing", "fresh"),
    "harvests": ("batch", "date", "flush", "fresh", "sold", "unsold"),
    "losses": ("batch", "date", "cause", "seen", "blocks"),
}
_SERIAL = date(1899, 12, 30)

Row = dict[str, Any]


class Logs(NamedTuple):
    """What is typed into the three logs, and the days that count."""

    batches: list[Row]
    harvests: list[Row]
    losses: list[Row]
    today: date
    market_day: str


class Traced(NamedTuple):
    """What a thing touched: rows of the logs by day."""

    batches: list[Row]
    harvests: list[Row]
    losses: list[Row]


def _day(value: Any) -> date | None:
    """Read a date, however a program gives it; None for a blank."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, (int, float)):
        return _SERIAL + timedelta(int(value))
    return value or None


def traced(logs: Logs, column: str, name: Any) -> Traced:
    """Trace what a column of the batches names, row by row."""

    def by_day(rows: list[Row], day: str) -> list[Row]:
        return sorted(rows, key=lambda row: _day(row[day]) or date.min)

    def standing(batch: Row) -> int:
        return batch["bags"] - batch["lost"] if batch["state"] != "ended" else 0

    touched = [dict(row) for row in logs.batches if row[column] == name]
    names = {row["batch"] for row in touched}
    harvests = [dict(row) for row in logs.harvests if row["batch"] in names]
    losses = [dict(row) for row in logs.losses if row["batch"] in names]
    for batch in touched:
        own = batch["batch"]
        batch["lost"] = sum(row["blocks"] for row in losses if row["batch"] == own)
        batch["fresh"] = sum(row["fresh"] for row in harvests if row["batch"] == own)
        ended = _day(batch.get("ended"))
        has_ended = ended is not None and ended <= logs.today
        batch["state"] = "ended" if has_ended or batch["lost"] >= batch["bags"] else ""
        batch["standing"] = standing(batch)
    for harvest in harvests:
        harvest["unsold"] = harvest.get("unsold") or 0
        harvest["sold"] = _market(_day(harvest["date"]), logs.market_day)
    return Traced(by_day(touched, "made"), by_day(harvests, "date"), by_day(losses, "date"))


def _market(day: date | None, name: str) -> date | None:
    """Go on day by day until it is market day."""
    while day is not None and WEEKDAYS[day.weekday()] != name:
        day += timedelta(1)
    return day


def assert_listed(expected: Traced, shown: Traced) -> None:
    """Compare the lists row by row, as far as the page has room."""
    for log, room in ROOM.items():
        wanted, lines = getattr(expected, log), getattr(shown, log)
        assert len(lines) == min(room, len(wanted)), log
        for line, row in zip(lines, wanted):
            for key in COLUMNS[log]:
                _assert_same(line[key], row.get(key), f"{log} {row['batch']} {key}")


def _assert_same(value: Any, expected: Any, words: str) -> None:
    if isinstance(expected, date):
        assert _day(value) == _day(expected), words
    elif isinstance(expected, (int, float)):
        assert value == pytest.approx(expected), words
    elif words.endswith(" state"):
        assert (value == "ended") is (expected == "ended"), words
    else:
        assert (value or None) == (expected or None), words


# The demo


@cache
def demo(units: str) -> tuple[Logs, dict[str, Any]]:
    """Read the logs of the demo as they are typed, and its single inputs."""
    tables, typed = demo_entries(units).tables, demo_entries(units).singles
    batches, harvests, losses = (tables[log] for log in ("batches", "harvests", "losses"))
    return Logs(batches, harvests, losses, typed["as_of"], typed["market_day"]), typed


def _on_page(units: str) -> Traced:
    page = parts(made(units, "demo").values["Trace"])
    titles = {log: next(one for one in page if _HEADS[log] in one) for log in ROOM}
    lines = {log: [row for row in page[titles[log]].rows if row["Batch"]] for log in ROOM}
    return Traced(
        *(
            [dict(zip(_SHOWN[log], row.values())) for row in lines[log]]
            for log in ("batches", "harvests", "losses")
        )
    )


_HEADS = {"batches": "Batches touched", "harvests": "Harvests of", "losses": "Losses of"}
_SHOWN = {
    "batches": (
        *("batch", "made", "recipe", "strain", "bags", "lost", "state", "standing", "fresh"),
        *("spawn_lot", "steam_run"),
    ),
    "harvests": ("batch", "date", "recipe", "strain", "flush", "fresh", "sold", "unsold"),
    "losses": ("batch", "date", "cause", "seen", "blocks", "days"),
}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_demo_traces_a_spawn_lot_with_losses(units: str) -> None:
    logs, typed = demo(units)
    expected = traced(logs, "spawn_lot", typed["trace_spawn_lot"])
    assert expected.losses
    assert_listed(expected, _on_page(units))


def test_the_summary_says_what_the_lists_add_up_to() -> None:
    logs, typed = demo("us")
    lot = typed["trace_spawn_lot"]
    expected = traced(logs, "spawn_lot", lot)
    batches = expected.batches
    blocks, lost, standing = (
        round(sum(row[key] for row in batches)) for key in ("bags", "lost", "standing")
    )
    fresh = sum(row["fresh"] for row in expected.harvests)
    unsold = sum(row["unsold"] for row in expected.harvests)
    picked = [row["date"] for row in expected.harvests]
    sold = [row["sold"] for row in expected.harvests]
    page = made("us", "demo").values["Trace"]
    (row,) = (cell.row for cell in page["A"] if cell.value == "Summary")
    said = [str(page.cell(row + number, 1).value or "") for number in (1, 2, 3)]
    assert said == [
        f"Spawn lot {lot} went into {len(batches)} batches, {blocks} blocks: {lost} lost, "
        f"{fresh:.1f} lb picked from {picked[0]} to {picked[-1]}; {standing} blocks still stand.",
        f"On sale from the market of {sold[0]}, the last picking from that of {sold[-1]}; "
        f"{unsold:.1f} lb logged as unsold.",
        "",
    ]


# Drawn logs


@cache
def _workbook() -> LoggedBatches:
    return LoggedBatches(COUNT, LOTS, RUNS)


def _drawn(seed: int) -> tuple[LoggedBatches, Logs]:
    """Type logs drawn at random: rows in any order, blanks, names that are nowhere."""
    random = Random(seed)
    farm, today = _workbook(), demo_entries("metric").singles["as_of"]
    batches: list[Row] = []
    for number in range(COUNT):
        is_ended = random.random() < 0.6
        batches.append(
            {
                "batch": f"N{number}",
                "made": today - timedelta(random.randint(120, 400)),
                "strain": random.choice(STRAINS),
                "bags": random.randint(5, 40),
                "spawn_lot": random.choice([*(f"L{lot}" for lot in range(LOTS)), None]),
                "steam_run": random.choice([*(f"R{run}" for run in range(RUNS)), None, "gone"]),
                "ended": today - timedelta(random.randint(0, 50)) if is_ended else None,
            }
        )
    by_name = {row["batch"]: row for row in batches}
    names = [*by_name, "nowhere"] if seed % 2 else list(by_name)

    def logged(**columns: Any) -> Row:
        name = random.choice(names)
        start = by_name[name]["made"] if name in by_name else today - timedelta(90)
        day = start + timedelta(random.randint(1, 110))
        return {"batch": name, "date": day if random.random() < 0.95 else None, **columns}

    harvests = [
        logged(
            flush=random.randint(1, 3),
            fresh=round(random.uniform(0.5, 4), 2),
            unsold=random.choice([None, 0.25]),
        )
        for _ in range(COUNT)
    ]
    losses = [
        logged(
            blocks=random.randint(1, 3),
            cause=random.choice(["green mold", "other"]),
            seen=random.choice([None, "top"]),
        )
        for _ in range(COUNT)
    ]
    for log, rows in (("batches", batches), ("harvests", harvests), ("losses", losses)):
        for key in rows[0]:
            if (log, key) != ("batches", "batch"):
                farm.set_column(f"{log}.{key}", [row[key] for row in rows])
    market_day = random.choice(WEEKDAYS)
    farm.set("market_day", market_day)
    return farm, Logs(batches, harvests, losses, today, market_day)


def _choose(farm: LoggedBatches, **choices: Any) -> None:
    for kind in ("spawn_lot", "steam_run", "delivery", "batch"):
        farm.set(f"trace_{kind}", choices.get(kind))
    farm.compute()


def _listed(farm: LoggedBatches) -> Traced:
    def rows(log: str) -> list[Row]:
        grid, keys = f"traced_{log}", COLUMNS[log]
        lines = (
            {key: farm.value(f"{grid}.{key}", row) for key in keys} for row in range(ROOM[log])
        )
        return [line for line in lines if line["batch"]]

    return Traced(rows("batches"), rows("harvests"), rows("losses"))


def _said(farm: LoggedBatches) -> list[str]:
    return [farm.value(f"trace_words_{number}") or "" for number in (1, 2, 3)]


def _without_recipe(expected: Traced) -> Traced:
    """Leave out the recipe, which all drawn batches share."""
    for row in expected.batches:
        row["recipe"] = "Beech and bran"
    return expected


@pytest.mark.parametrize("seed", range(4))
def test_drawn_logs(seed: int) -> None:
    farm, logs = _drawn(seed)
    random = Random(seed)
    for column, name in (
        ("spawn_lot", f"L{random.randrange(LOTS)}"),
        ("steam_run", f"R{random.randrange(RUNS)}"),
        ("batch", f"N{random.randrange(COUNT)}"),
        ("batch", f"N{random.randrange(COUNT)}"),
    ):
        _choose(farm, **{column: name})
        expected = _without_recipe(traced(logs, column, name))
        assert_listed(expected, _listed(farm))
        said = _said(farm)[0]
        label = {"spawn_lot": "Spawn lot", "steam_run": "Steam run", "batch": "Batch"}[column]
        if not expected.batches:
            assert said == f"{label} {name} is in no row of the Batches sheet."
        else:
            assert said.startswith(f"{label} {name} ")
            blocks = sum(row["bags"] for row in expected.batches)
            lost = sum(row["lost"] for row in expected.batches)
            assert f"{blocks} blocks: {lost or 'none'} lost, " in said
        _assert_more(_said(farm)[2], expected)
        if column == "batch":
            _assert_shared(_said(farm)[2], logs, expected.batches[0])


def _assert_more(said: str, expected: Traced) -> None:
    """Whatever the page has no room for is counted."""
    over = {log: len(getattr(expected, log)) - room for log, room in ROOM.items()}
    assert ("Not listed" in said) is any(count > 0 for count in over.values())
    for log, count in over.items():
        word = log if count != 1 else {"harvests": "harvest", "losses": "loss"}.get(log, "batch")
        assert (f" {count} {word}" in said) is (count > 0), said


def _assert_shared(said: str, logs: Logs, batch: Row) -> None:
    """Other batches of the same lot or run are named, in the order of the log, up to eight."""
    for column, label in (("spawn_lot", "Same spawn lot"), ("steam_run", "Same steam run")):
        if batch[column] in (None, "gone"):
            assert label not in said
        else:
            others = _others(logs.batches, column, batch)
            assert f"{label}, {batch[column]}: {others}. " in said


def _others(batches: Sequence[Row], column: str, batch: Row) -> str:
    same = [row["batch"] for row in batches if row[column] == batch[column]]
    named = [name for name in same[:9] if name != batch["batch"]]
    more = ", and more" if len(same) > 9 else ""
    return ", ".join(named) + more if len(same) > 1 else "no other batch"


# Half filled, and wrong


def test_nothing_is_picked_at_first() -> None:
    page = made("us", "empty").values["Trace"]
    (row,) = (cell.row for cell in page["A"] if cell.value == "Summary")
    assert (
        page.cell(row + 1, 1).value == "Pick a spawn lot, a steam run, a delivery or a batch above."
    )
    assert not any(
        cell.value not in (None, "")
        for line in page.iter_rows(min_row=row + 2)
        for cell in line
        if cell.style == "farm result"
    )


def test_the_first_one_filled_counts() -> None:
    farm, logs = _drawn(1)
    _choose(farm, steam_run="R2", batch="N1")
    expected = _without_recipe(traced(logs, "steam_run", "R2"))
    assert_listed(expected, _listed(farm))
    assert _said(farm)[0].startswith(
        "More than one is filled: only the steam run is traced. Steam run R2 was used for "
    )


def test_a_name_that_is_nowhere() -> None:
    farm, _ = _drawn(2)
    _choose(farm, spawn_lot="L99")
    assert _said(farm)[0] == "No spawn lot is called L99: pick one from the list of the cell."
    assert _listed(farm) == Traced([], [], [])
    assert _said(farm)[1:] == ["", ""]


def test_a_batch_without_lot_and_run_shares_nothing() -> None:
    farm, _ = _drawn(3)
    farm.set("batches.spawn_lot", None, 5)
    farm.set("batches.steam_run", None, 5)
    _choose(farm, batch="N5")
    assert "Same" not in _said(farm)[2]


def test_one_day_of_picking_is_one_day() -> None:
    farm, logs = _drawn(2)
    farm.set_column("harvests.batch", ["N1"] * COUNT)
    farm.set("harvests.batch", "N7", 4)
    farm.set("harvests.date", logs.today, 4)
    farm.set("market_day", WEEKDAYS[logs.today.weekday()])
    _choose(farm, batch="N7")
    said = _said(farm)
    assert f" kg picked on {logs.today}; " in said[0]
    assert said[1].startswith(f"On sale from the market of {logs.today}; ")


def test_a_row_without_a_date_is_traced_first() -> None:
    farm, _ = _drawn(2)
    farm.set_column("harvests.batch", ["N7", "N7", "N8"])
    farm.set("harvests.date", None, 1)
    _choose(farm, batch="N7")
    assert _listed(farm).harvests[0]["date"] in (None, "")
    assert " kg picked on " in _said(farm)[0]  # the only day that is known


def test_what_has_no_room_is_counted() -> None:
    farm, logs = _drawn(0)
    farm.set_column("batches.spawn_lot", ["L0"] * COUNT)
    for row in logs.batches:
        row["spawn_lot"] = "L0"
    _choose(farm, spawn_lot="L0")
    expected = _without_recipe(traced(logs, "spawn_lot", "L0"))
    assert len(expected.harvests) > ROOM["harvests"]
    assert_listed(expected, _listed(farm))
    _assert_more(_said(farm)[2], expected)
