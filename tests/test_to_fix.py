"""One column says what is wrong in a row, its cell stands out, and Checks leads there.

Which words a fault has to have is written out here; that sheets and command agree on the faults of
single cells is for test_rules_agree.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from live_engine import live_engine
from openpyxl.utils import get_column_letter

from workbook_template.build import lay_out
from workbook_template.demo.data import demo_entries
from workbook_template.rules.to_fix import FAULT, WARNING, labels, names, sentences, to_fix
from workbook_template.schema import SINGLE_INPUTS, TABLES
from workbook_template.schema.fields import TO_FIX, Table, is_working
from workbook_template.sheets.checks import FAILS, WAITS
from workbook_template.writing.blocks import Settings
from workbook_template.writing.saving import workbook_bytes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from office import Office

    from workbook_template.writing.layout import Book

UNITS = "us"
AN_ERROR = {"type": "Error", "kind": "Na"}
DAY = 46118.0  # 2026-04-06, within the season of the demo


@cache
def book() -> Book:
    return lay_out(Settings(units=UNITS, typed_functions=False), demo_entries(UNITS))


@cache
def engine() -> Any:
    return live_engine(workbook_bytes(book().workbook, book().filled))


def at(key: str, row: int = 0) -> tuple[str, int, int]:
    """Return where a single cell is, or a cell of a column: sheet, row, column."""
    table, _, column = key.partition(".")
    if not column:
        cell = book().cells[key]
        return cell.sheet, cell.row, cell.column
    place = book().columns[table, column]
    return place.sheet, place.first + row, place.column


def value(key: str, row: int = 0) -> Any:
    return engine().get_value(*at(key, row))


class Typed:
    """The demo with something typed into it, which is taken back at the end."""

    def __init__(self, *typed: tuple[str, int, Any]) -> None:
        self.typed = typed
        self.before = [value(key, row) for key, row, _ in typed]

    def __enter__(self) -> None:
        for key, row, new in self.typed:
            engine().set_value(*at(key, row), new)
        engine().evaluate_all()

    def __exit__(self, *_: object) -> None:
        for (key, row, _), old in zip(self.typed, self.before, strict=True):
            engine().set_value(*at(key, row), old)


def failing() -> list[str]:
    """Return the words of the checks that fail."""
    place = book().columns["checks", "state"]
    rows = range(place.first, place.last + 1)
    states = {row: engine().get_value(place.sheet, row, place.column) for row in rows}
    return [engine().get_value(place.sheet, row, 1) for row in rows if states[row] == FAILS]


def alarms() -> Iterator[tuple[str, str, str]]:
    place = book().columns["alarms", "words"]
    for row in range(place.last - place.first + 1):
        line = [value(f"alarms.{key}", row) or "" for key in ("words", "where", "target")]
        if any(line):
            yield line[0], line[1], line[2]


def test_the_demo_has_nothing_to_fix_or_to_check() -> None:
    with Typed():
        assert (value("faults"), value("cautions"), value("master_check")) == (0, 0, "OK")
        assert list(alarms()) == []


@pytest.mark.parametrize(
    ("key", "row", "new", "words"),
    [
        ("batches.made", 2, "soon", "Made: needs a date."),
        ("batches.made", 2, 20260914.0, "Made: needs a date."),
        ("batches.made", 2, AN_ERROR, "Made: needs a date."),
        ("batches.made", 2, None, "Made: needs a date."),
        ("batches.bags", 2, "x", "Blocks made: needs a whole number, 1 or more."),
        ("batches.ended", 2, 30000.0, "Ended: before the batch was made or moved."),
        ("batches.moved", 2, DAY + 3000, "Moved: after today."),
        ("harvests.date", 3, "x", "Date: needs a date."),
        ("harvests.fresh", 3, "much", "Fresh mass: needs a number, 0 or more."),
        # Ten times what was typed, as a decimal point that was missed makes of it.
        ("harvests.fresh", 3, 593.0, "Fresh mass: more than its blocks weighed."),
        ("harvests.batch", 3, "B999", "Batch: choose one from the list."),
        ("losses.blocks", 1, 999.0, "Blocks made: fewer than were lost."),
        ("spawn_lots.strain", 0, "Nobody's", "Strain: choose one from the list."),
        ("recipe_lines.share", 0, "x", "Share as weighed: needs a share of 0.1 to 100 %."),
        ("recipe_lines.share", 0, 0.9, "Sum of shares: does not add up to 100."),
        ("ingredients.price", 0, "x", "Price in bulk: needs a number, 0 or more."),
        ("strains.be_1", 0, "x", "BE of flush 1: needs a share of 3 to 300 %."),
        ("products.pack_mass", 0, None, "Mass in a pack: needed where mushrooms are sold."),
        ("hourly_wage", 0, "x", "Wage: needs a number, 0 or more."),
        ("rounding", 0, "x", "Rounding allowed: needs a number, above 0 to 0.01."),
    ],
)
def test_one_fault_is_counted_once_and_what_follows_from_it_waits(
    key: str, row: int, new: Any, words: str
) -> None:
    with Typed((key, row, new)):
        assert value("master_check") == "1 to fix", failing()
        (alarm,) = alarms()
        assert alarm[0] == words
        sheet, cell = alarm[2].removeprefix("#'").split("'!")
        assert alarm[1] == f"{sheet} {cell}"
        if "blocks" not in key and "share" not in key:  # those are about another cell
            there, line, column = at(key, row)
            assert (sheet, cell) == (there, f"{get_column_letter(column)}{line}")


@pytest.mark.parametrize(
    ("key", "row", "new", "words"),
    [
        # Five times what was typed; its 82 blocks of 6.1 lb weighed 500 lb.
        ("harvests.fresh", 3, 296.5, "Fresh mass? Far above the plan of its batch."),
        ("harvests.flush", 3, 9.0, "Flush? More than planned for this strain."),
        ("spawn_lots.cost", 0, 5000.0, "Cost of the lot? Far from the price on the Farm"),
        ("batches.block_cost", 3, None, "Figures kept? Copy the five columns named used, "),
    ],
)
def test_what_may_be_right_is_to_be_checked_and_is_no_fault(
    key: str, row: int, new: Any, words: str
) -> None:
    with Typed((key, row, new)):
        assert value("master_check") == "OK, 1 to check"
        (alarm,) = alarms()
        assert alarm[0].startswith(words)


def test_an_ended_batch_without_harvests_is_to_be_checked() -> None:
    batch = value("batches.batch", 2)
    place = book().columns["harvests", "batch"]
    rows = [row for row in range(place.last - place.first) if value("harvests.batch", row) == batch]
    with Typed(*(("harvests.fresh", row, 0.0) for row in rows)):
        text = value("batches.to_fix", 2)
    assert text == "Ended? No harvest, yet not all blocks are lost."


def test_a_block_of_another_size_is_to_be_checked() -> None:
    with Typed(("batches.block_mass", 2, 1.5)):  # lb, where the farm has 6
        text = value("batches.to_fix", 2)
    assert text.startswith("Mass of a block? Far from that on the Farm sheet.")


def test_a_wrong_year_is_to_be_checked() -> None:
    with Typed(("losses.date", 5, value("losses.date", 5) - 365)):
        assert "Date? Long before the row above." in value("losses.to_fix", 5)


def test_what_rests_on_a_faulty_input_waits() -> None:
    with Typed(("recipe_lines.share", 0, "x")):
        place = book().columns["checks", "state"]
        states = [
            engine().get_value(place.sheet, row, place.column)
            for row in range(place.first, place.last + 1)
        ]
    assert WAITS in states
    assert states.count(FAILS) == 1


@pytest.mark.parametrize("new", [AN_ERROR, "x" * 300, -1e300, 1e300, None, True])
def test_no_row_is_ever_an_error(new: Any) -> None:
    """Whatever single cells hold, a row for each, and where every cell of a row holds it."""
    typed, looked_at = [], []
    for key, table in TABLES.items():
        columns = [f"{key}.{one.key}" for one in table.fields]
        place = book().columns[key, TO_FIX]
        rows = place.last - place.first + 1
        typed += [(column, number % (rows - 1), new) for number, column in enumerate(columns)]
        typed += [(column, rows - 1, new) for column in columns]
        looked_at += [(f"{key}.{TO_FIX}", row) for row in range(rows)]
    with Typed(*typed):
        texts = {cell: value(*cell) for cell in looked_at}
    assert not [cell for cell, text in texts.items() if not isinstance(text, str | None)]


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_the_column_is_the_last_that_is_read(table: Table) -> None:
    shown = [column for column in table.columns if not is_working(column)]
    assert shown[-1].key == TO_FIX


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_labels_and_words_keep_the_marks_for_what_they_mean(table: Table) -> None:
    known = list(labels(table).values())
    assert len(set(known)) == len(known)
    texts = [*known, *(rule.words for rule in (*table.faults, *table.warnings))]
    assert not [text for text in texts if re.search(r"[:?\"]|\. |\.$", text)]
    for units in ("us", "metric"):
        said = re.findall(r'"([^"]{9,})"', to_fix(table, units))
        assert all(len(list(sentences(text))) == 1 for text in said if text[-2:] == ". "), said


def test_a_label_is_not_found_in_the_end_of_another() -> None:
    """By hand: FIND looks for what begins a sentence, so Mass is not found in Fresh mass."""
    assert names("$X7", "Mass", FAULT) == 'ISNUMBER(FIND(". Mass:",". "&$X7))'
    assert names("$X7", "Mass", WARNING) == 'ISNUMBER(FIND(". Mass?",". "&$X7))'


def test_each_input_of_a_table_stands_out_where_its_row_names_it() -> None:
    for key, table in TABLES.items():
        sheet, first, said = at(f"{key}.{TO_FIX}")
        rules = {
            (str(area.sqref).split(":")[0], rule.formula[0])
            for area in book().workbook[sheet].conditional_formatting
            for rule in area.rules
        }
        for one in table.fields:
            cell = f"{get_column_letter(at(f'{key}.{one.key}')[2])}{first}"
            text = f"${get_column_letter(said)}{first}"
            assert (cell, names(text, one.label, FAULT)) in rules, (key, one.key)


def test_the_limits_of_what_is_checked_are_inputs_and_assumptions() -> None:
    for key in ("most_of_plan", "times_off", "days_back"):
        assert SINGLE_INPUTS[key].source.startswith("Assumption")


def test_libreoffice_shows_the_link_to_the_first_cell(office: Office, tmp_path: Any) -> None:
    """What the link shows; that a click leads there was not tried in any program."""
    path = tmp_path / "farm.xlsx"
    path.write_bytes(workbook_bytes(book().workbook, book().filled))
    with office.document(path) as document:
        document.write("Batches", 8, 1, [["soon"]])
        document.calculate()
        rows = document.read("Checks", 0, 0, 140, 6)
    (line,) = [row for row in rows if row[4] == FAILS]
    assert line[5] == "Batches B9"
