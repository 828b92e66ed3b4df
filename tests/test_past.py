"""What was is not rewritten: a batch keeps what it was made with, whatever the settings say now."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import openpyxl
import pytest
from reading import place, red_checks, table
from workbooks import loaded, made

from workbook_template.demo.season import AS_OF
from workbook_template.operations.carry_over import carry_over
from workbook_template.operations.check import check
from workbook_template.reading.entries import read

if TYPE_CHECKING:
    from office import Document, Office

    from workbook_template.reading.entries import Reading

Row = dict[str, Any]
WEEK = timedelta(7)
TO_COPY = (
    "Figures kept? Copy the five columns named used, and paste them as values over those before."
)
KEPT = ("block_mass", "moisture", "spawn_rate", "block_cost", "picking_cost")
RAISES = {
    "hourly_wage": 24,
    "burden": 0.3,
    "electricity_price": 0.4,
    "block_mass": 8,
    "bag_price": 0.9,
    "spawn_price": 4,
    "harvesting_minutes": 3,
    "blocks_per_load": 60,
    "blocks_per_year": 4000,
    "rent": 20000,
    "incubation_energy": 50,
    "strains.spawn_rate": 0.03,
    "strains.incubation_days": 30,
    "recipes.target_moisture": 0.55,
    "ingredients.bag_price": 1200,
    "equipment.price": 40000,
}
"""A year later: everything costs more, and is done another way."""
AGE = "strains.incubation_days"
"""Decides which batches are old enough to judge, but is no figure of one."""
OF_BATCH = (
    *("dry_substrate", "dry_good", "fresh", "be", "spawn", "cost", "spent", "cost_per_mass"),
    *("block_mass_used", "moisture_used", "spawn_rate_used", "block_cost_used"),
    "picking_cost_used",
)
OF_LOT = ("used", "left", "state")
OF_RESULTS = {
    *("All batches counted", "By strain", "By recipe, each strain by itself"),
    *("BE and days by recipe, each strain by itself", "By month, the last twelve"),
}


def rows(document: Document, key: str, columns: tuple[str, ...]) -> list[Row]:
    """Return what columns of a table of an open demo show, for each filled row."""
    workbook = made("us", "demo").values
    count = len(table(workbook, key, "us"))
    cells = [
        [one[0] for one in document.read(*place(workbook, f"{key}.{column}"), count)]
        for column in columns
    ]
    return [dict(zip(columns, line, strict=True)) for line in zip(*cells, strict=True)]


def raise_everything(document: Document, but: str = "") -> None:
    workbook = made("us", "demo").values
    for key, value in RAISES.items():
        if key == but:
            continue
        at = place(workbook, key)
        name, _, column = key.partition(".")
        count = len(table(workbook, name, "us")) if column else 1
        document.write(*at, [[value]] * count)


def results(document: Document) -> dict[str, list[Any]]:
    """Return what the Results sheet shows of batches; its plan follows the Strains sheet."""
    lines = document.values("Results")["Results"]
    shown: dict[str, list[Any]] = {}
    title = ""
    for before, line in zip([[None], *lines], lines, strict=False):
        if line[0] and before[0] in (None, ""):
            title = str(line[0])
        shown.setdefault(title, []).append(line)
    return {key: value for key, value in shown.items() if key in OF_RESULTS}


def test_no_figure_of_the_past_follows_the_settings(office: Office) -> None:
    """Nothing is held against a computed value: the figures before are those after."""
    with office.kept(made("us", "demo").path) as document:
        states = [row["state"] for row in rows(document, "batches", ("state",))]
        before = rows(document, "batches", OF_BATCH), rows(document, "spawn_lots", OF_LOT)
        shown = results(document)
        assert set(shown) == OF_RESULTS
        raise_everything(document, but=AGE)
        assert results(document) == shown
        raise_everything(document)
        after = rows(document, "batches", OF_BATCH), rows(document, "spawn_lots", OF_LOT)
    ended = [n for n, state in enumerate(states) if state == "ended"]
    assert len(ended) > 30
    assert [after[0][n] for n in ended] == [before[0][n] for n in ended]
    assert after[1] == before[1], "of the lots, all was used before today"
    in_progress = [n for n in range(len(states)) if n not in ended]
    picking = {"spent", "cost_per_mass", "picking_cost_used"}
    for n in in_progress:  # what is still to be picked will be at the new wage
        changed = {key for key in OF_BATCH if after[0][n][key] != before[0][n][key]}
        assert changed <= picking


def typed_rows() -> list[Row]:
    return table(made("us", "demo").values, "batches", "us")


def test_a_new_batch_follows_the_settings(office: Office) -> None:
    """Made this week, and nothing kept: its figures are those of Farm, Strains and Recipes."""
    workbook = made("us", "demo").values
    last = len(typed_rows()) - 1
    first = place(workbook, "batches.block_mass")
    with office.kept(made("us", "demo").path) as document:
        document.write(first.sheet, first.row + last, first.column, [[None] * len(KEPT)])
        before = rows(document, "batches", OF_BATCH)[last]
        raise_everything(document)
        switch = place(workbook, "figures_used")
        document.write(switch.sheet, switch.row, switch.column, [["plan only"]])
        after = rows(document, "batches", (*OF_BATCH, "bags", "to_keep"))[last]
    assert after["block_mass_used"] == RAISES["block_mass"]
    assert after["spawn_rate_used"] == RAISES["strains.spawn_rate"]
    assert after["spawn"] == pytest.approx(after["bags"] * 8 * 0.03)
    assert after["picking_cost_used"] == pytest.approx(24 * 1.3 * 3 / 60)
    assert after["block_cost_used"] > before["block_cost_used"]
    assert after["cost"] == pytest.approx(after["bags"] * after["block_cost_used"])
    assert after["to_keep"] == "follows the settings"


def test_copying_the_figures_used_keeps_them(office: Office) -> None:
    """What the sheet asks for, as a grower does it: all rows at once, pasted as values."""
    workbook = made("us", "demo").values
    batches = typed_rows()
    count = len(batches)
    first, first_used = (
        place(workbook, "batches.block_mass"),
        place(workbook, "batches.block_mass_used"),
    )
    words = f"Batches: rows to check. {TO_COPY}"
    with office.kept(made("us", "demo").path) as document:
        document.write(*first, [[None] * len(KEPT)] * count)
        states = [row["to_keep"] for row in rows(document, "batches", ("to_keep",))]
        is_new = [AS_OF - row["made"].date() < WEEK for row in batches]
        assert 0 < sum(is_new) < 4
        assert states == [
            "follows the settings" if new else "copy the figures used" for new in is_new
        ]
        assert words in red_checks(document, workbook["Checks"])
        document.write(*first, document.read(*first_used, count, len(KEPT)))
        assert words not in red_checks(document, workbook["Checks"])
        before = rows(document, "batches", OF_BATCH)
        raise_everything(document)
        assert rows(document, "batches", OF_BATCH) == before


def test_rows_that_wait_may_be_copied_along(office: Office) -> None:
    """Excel pastes an empty text for a formula that shows nothing; a formula stands in for it."""
    workbook = made("us", "demo").values
    sheet, row, column = place(workbook, "batches.block_mass")
    with office.kept(made("us", "demo").path) as document:
        document.fill(sheet, row + len(typed_rows()), column, '=""', 5, len(KEPT))
        assert red_checks(document, workbook["Checks"]) == []


def test_a_batch_whose_cost_is_not_known_is_asked_for_what_is_known(office: Office) -> None:
    workbook = made("us", "demo").values
    with office.kept(made("us", "demo").path) as document:
        for key in ("block_cost", "picking_cost"):
            document.write(*place(workbook, f"batches.{key}"), [[None]])
        assert rows(document, "batches", ("to_keep",))[0]["to_keep"] == "copy the figures used"
        for key in ("hourly_wage", "bag_price"):
            document.write(*place(workbook, key), [[None]])
        shown = rows(
            document, "batches", ("to_keep", "block_cost_used", "picking_cost_used", "cost")
        )
    assert shown[0]["to_keep"] == "yes"
    assert not any(shown[0][key] for key in ("block_cost_used", "picking_cost_used", "cost"))


def test_check_names_the_batches_to_keep(tmp_path: Path) -> None:
    workbook = loaded(made("us", "demo").path)
    sheet, row, column = place(workbook, "batches.block_cost")
    workbook[sheet].cell(row + 3, column + 1).value = None
    workbook.save(tmp_path / "farm.xlsx")
    checked = check(tmp_path / "farm.xlsx")
    (fault,) = checked.warnings
    assert checked.faults == []
    assert (fault.sheet, fault.cell) == ("Batches", "AB9")
    assert fault.sentence == TO_COPY


FIXTURES = Path(__file__).with_name("fixtures")
EARLIER = sorted(FIXTURES.glob("release_*/demo_us.xlsx"))
SHOWN_BEFORE = (
    "batch",
    "block_mass_used",
    "moisture_used",
    "dry_substrate",
    "fresh",
    "be",
    "spawn",
    "cost",
    "cost_per_mass",
)


def shown_by(reading: Reading, key: str, columns: tuple[str, ...]) -> list[Row]:
    """Return the values that a file holds for columns of a table, for each filled row."""
    found = reading.tables[key]
    return [
        {
            column: reading.contents.stored(found.area.sheet, row.row, found.columns[column])
            for column in columns
        }
        for row in found.rows
    ]


def same(one: Row, other: Row, columns: tuple[str, ...]) -> bool:
    """Return whether two rows show the same, but for the last digits of a number."""
    pairs = [(one[key] or 0, other[key] or 0) for key in columns]
    return all(
        a == b if isinstance(a, str) else b == pytest.approx(a, rel=1e-11, abs=1e-9)
        for a, b in pairs
    )


@pytest.mark.parametrize("path", EARLIER, ids=lambda path: f"{path.parent.name} {path.stem}")
def test_carrying_over_keeps_every_figure_of_every_batch(path: Path, tmp_path: Path) -> None:
    """The figures that the earlier release stored in its file, by its own formulas."""
    new = tmp_path / "new.xlsx"
    report = carry_over(path, new)
    assert (report.looks, report.widths, report.others) == (0, 0, {}), "no look is the grower's"
    both = read(path), read(new)
    before, after = (shown_by(one, "batches", SHOWN_BEFORE) for one in both)
    assert len(before) == len(after) > 50
    for one, other in zip(before, after, strict=True):
        assert same(one, other, SHOWN_BEFORE)
    keeps_its_own = set(KEPT) <= both[0].tables["batches"].columns.keys()
    kept = 0 if keeps_its_own else len(before)
    assert report.kept.batches == kept
    said = [line for line in report.lines() if line.startswith("Kept with")]
    assert [line.startswith(f"Kept with {kept} batches") for line in said] == [True] * bool(kept)
    lots = [shown_by(one, "spawn_lots", OF_LOT) for one in both]
    assert all(same(*pair, OF_LOT) for pair in zip(*lots, strict=True))
    assert check(new).faults == []


def test_carried_into_other_units_the_figures_are_the_same(tmp_path: Path) -> None:
    new = tmp_path / "new.xlsx"
    path = FIXTURES / "release_1" / "demo_us.xlsx"
    carry_over(path, new, units="metric")
    pound = 0.45359237  # kg, by the international agreement of 1959
    columns = ("be", "cost", "spawn")
    for one, other in zip(
        *(shown_by(read(file), "batches", columns) for file in (path, new)), strict=True
    ):
        assert other["be"] == (one["be"] and pytest.approx(one["be"], rel=1e-9))
        assert other["cost"] == pytest.approx(one["cost"], rel=1e-9)
        assert other["spawn"] == pytest.approx(one["spawn"] * pound, rel=1e-9)


def test_what_was_kept_is_carried_as_it_is(tmp_path: Path) -> None:
    path = made("us", "demo").path
    report = carry_over(path, tmp_path / "new.xlsx")
    assert report.kept.figures == 0, "those in progress are still picked"
    after = table(openpyxl.load_workbook(tmp_path / "new.xlsx", data_only=True), "batches", "us")
    kept = [{key: row[key] for key in KEPT} for row in typed_rows()]
    assert [{key: row[key] for key in KEPT} for row in after] == kept
    assert {key: sum(row[key] is None for row in kept) > 0 for key in KEPT} == {
        key: key == "picking_cost" for key in KEPT
    }
