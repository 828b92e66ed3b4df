"""The Start sheet: first steps, what is out of the ordinary, key figures, charts."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from reading import parts, place
from workbooks import made

from workbook_template.sheets import unusual

if TYPE_CHECKING:
    from office import Document, Office

AS_OF = date(2026, 9, 14)
"""The day that the demo counts from."""
EPOCH = date(1899, 12, 30)
"""Day 0 of spreadsheet dates in LibreOffice."""
FREE_ROW = 95
"""A row below the batches of the season."""
UNUSUAL = "Out of the ordinary"
DONE = "All done. Type one row for each batch, picking and loss; look at this page every Monday."


def row_of(filled: str, title: str) -> int:
    """Return the row of a section of the Start sheet, from 0."""
    start = made("us", filled).values["Start"]
    return next(cell.row - 1 for cell in start["A"] if cell.value == title)


def steps(document: Document) -> list[str]:
    """Return the sentence of the next step and the states of all steps of an empty workbook."""
    sentence, *rows = document.read("Start", row_of("empty", "First steps") + 1, 0, 3, 6)
    return [sentence[0], *(row[column] for row in rows for column in (0, 1, 3, 4))]


def next_cells(document: Document) -> list[str]:
    """Return where the steps of an empty workbook lead."""
    workings = made("us", "empty").values["Start workings"]
    row = next(cell.row for cell in workings["A"] if cell.value == "First steps")
    return [line[0] for line in document.read("Start workings", row + 1, 3, 8, 1)]


def lines(document: Document) -> list[str]:
    """Return what the demo says to be out of the ordinary."""
    row = row_of("demo", UNUSUAL) + 2
    return [line[0] for line in document.read("Start", row, 0, unusual.LINES, 1) if line[0]]


def check_line(document: Document) -> str:
    """Return what the demo says of the checks."""
    return str(document.read("Start", row_of("demo", UNUSUAL) + 1, 0, 1, 1)[0][0])


def typed(document: Document, filled: str, key: str, value: Any, row: int = 0) -> None:
    """Type into an input of an open workbook."""
    at = place(made("us", filled).values, key)
    is_date = isinstance(value, date)
    document.write(
        at.sheet, at.row + row, at.column, [[(value - EPOCH).days if is_date else value]]
    )


def test_an_empty_workbook_begins_with_the_farm() -> None:
    start = made("us", "empty").values["Start"]
    assert start["A5"].value == "First steps"
    assert start["A6"].value.startswith("Next, Farm: ")
    assert start["A7"].value == "1  Farm: 0 of 9 filled"
    assert made("us", "demo").values["Start"]["A9"].value == DONE


def test_steps_count_what_is_filled_and_lead_to_the_next_empty_cell(office: Office) -> None:
    """Nine figures of the farm start blank; an ingredient needs a price and a moisture."""
    with office.kept(made("us", "empty").path) as document:
        assert steps(document)[1] == "1  Farm: 0 of 9 filled"
        typed(document, "empty", "farm_name", "Ours")
        assert steps(document)[1] == "1  Farm: 1 of 9 filled"
        wage = place(made("us", "empty").values, "hourly_wage")
        assert next_cells(document)[0] == f"#'Farm'!B{wage.row + 1}"
        for key in ("hourly_wage", "electricity_price", "bag_price", "spawn_price", "rent"):
            typed(document, "empty", key, 1)
        for key in ("insurance", "vehicle", "other_overhead"):
            typed(document, "empty", key, 1)
        assert steps(document)[0].startswith("Next, Ingredients: ")
        assert steps(document)[1] == "1  Farm: done"
        for row, name in enumerate(("Oak", "Bran")):
            typed(document, "empty", "ingredients.ingredient", name, row)
        typed(document, "empty", "ingredients.moisture", 0.1)
        typed(document, "empty", "ingredients.price", 0.1)
        assert steps(document)[2] == "2  Ingredients: 4 of 6 filled"
        price = place(made("us", "empty").values, "ingredients.bag_price")
        letter = chr(ord("A") + price.column)
        assert next_cells(document)[1] == f"#'Ingredients'!{letter}{price.row + 2}"


def test_what_is_out_of_the_ordinary_is_said_with_its_cell(office: Office) -> None:
    """The oyster incubates 17 days, as typed on the Strains sheet of the demo."""
    with office.kept(made("us", "demo").path) as document:
        made_on = AS_OF - timedelta(17 + 8)
        new = {"recipe": "Beech and bran", "strain": "Blue oyster B3", "bags": 70}
        for key, value in {"batch": "N1", "made": made_on, **new}.items():
            typed(document, "demo", f"batches.{key}", value, FREE_ROW)
        late = "Batch N1: move to fruiting, overdue by 8 days."
        assert late in lines(document)
        typed(document, "demo", "batches.made", made_on + timedelta(1), FREE_ROW)
        assert not any("N1" in line for line in lines(document))


def test_an_over_full_room_is_out_of_the_ordinary(office: Office) -> None:
    """Counted by hand in the season's log: 401 blocks that are not overdue, 51 to start today."""
    words = "Incubation room is over-full on 84 days, first on 2026-09-14: 401 blocks in 9 spaces."
    with office.kept(made("us", "demo").path) as document:
        assert not any("over-full" in line for line in lines(document))
        typed(document, "demo", "rooms.spaces", 9)
        assert lines(document)[0] == words


def test_a_failed_check_is_out_of_the_ordinary(office: Office) -> None:
    with office.kept(made("us", "demo").path) as document:
        assert check_line(document) == "All entries pass the checks."
        typed(document, "demo", "rooms.spaces", "many")
        at = place(made("us", "demo").values, "rooms.spaces")
        said = f"Rooms C{at.row + 1}: Shelf spaces: needs a whole number, 1 or more."
        assert check_line(document) == said
        typed(document, "demo", "altitude", "high")  # the Farm sheet comes first
        assert check_line(document).startswith("Farm B")
        assert check_line(document).endswith(" 1 more on Checks.")


def test_what_does_not_fit_is_counted(office: Office) -> None:
    """Twelve old lots: the last line counts those that have none."""
    with office.kept(made("us", "demo").path) as document:
        count = len(lines(document))
        for row in range(12):
            new = {"strain": "Blue oyster B3", "received": AS_OF - timedelta(40), "mass": 5}
            for key, value in {"lot": f"L{row}", **new, "use_by": AS_OF - timedelta(2)}.items():
                typed(document, "demo", f"spawn_lots.{key}", value, 38 + row)
        assert lines(document)[-1] == f"{count + 12 - unusual.LINES + 1} more."


def test_start_says_which_logs_are_nearly_full(office: Office) -> None:
    """Few is a twelfth of the rows, and twelve at most: 94 of 100 losses, 388 of 400 harvests."""

    def said() -> str:
        return str(document.read("Start", 3, 0, 1, 1)[0][0] or "")

    more = "For more, carry the workbook over: see the README."
    assert not made("us", "empty").values["Start"]["A4"].value
    stored = made("us", "demo").values
    with office.kept(made("us", "demo").path) as document:
        assert said() == f"Few empty rows left: Losses: 6. {more}"
        at = place(stored, "harvests.batch")
        free = next(row for row in range(400) if not document.read(at.sheet, at.row + row, 0)[0][0])
        document.write(at.sheet, at.row + free, at.column, [["B1"]] * (387 - free))
        document.calculate()
        assert said() == f"Few empty rows left: Losses: 6. {more}"
        document.write(at.sheet, at.row + 387, at.column, [["B1"]])
        document.calculate()
        assert said() == f"Few empty rows left: Harvests: 12, Losses: 6. {more}"
        for table in ("harvests", "losses"):
            at = place(stored, f"{table}.batch")
            document.write(at.sheet, at.row, at.column, [[None]] * 80)
        document.calculate()
        assert said() == ""


def test_money_names_its_product_line() -> None:
    start = made("us", "demo").values["Start"]
    product = parts(made("us", "demo").values["Costing"])["Choose"].values["Product line"]
    assert f"Money: {product}" in {cell.value for cell in start["D"]}


def test_charts_of_an_empty_workbook_draw_zeros() -> None:
    ahead = parts(made("us", "empty").values["Start workings"])["The next twelve weeks"].rows
    assert len(ahead) == 12
    for week in ahead:
        assert week["Picked and expected, lb"] == week["Demand, lb"] == 0
        assert week["Blocks in incubation"] == week["Blocks in fruiting"] == 0
