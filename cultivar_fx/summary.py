"""Harvest summary: the logs of batches and harvests, summed up by strain, recipe, room or month.

For hosts that have pandas. Ranges come with their headings in the first row, in any order and
with other columns among them; a table with headings goes back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from cultivar_fx.calls.cells import (
    as_grid,
    date_of,
    error_code,
    flat,
    is_blank,
    is_blank_range,
    plain,
    shown,
)
from cultivar_fx.calls.units import converter, parse_number_and_unit, quantity_in
from cultivar_fx.catalog.dimensions import DIMENSIONS
from cultivar_fx.catalog.registry import definition
from cultivar_fx.errors import ErrorGiven, FunctionError, Missing, NotPossible, WrongType
from cultivar_fx.stages import evidence
from cultivar_fx.stages.losses import loss_high, loss_low, student_two_sided, two_sided

if TYPE_CHECKING:
    import pandas as pd

    from cultivar_fx.calls.call import Answer
    from cultivar_fx.catalog.definition import Argument

GROUPS = ("strain", "recipe", "room", "month")
"""What the batches can be summed up by; the month is that in which they were made."""

ASSUMED_DISPERSION = 2.5
"""Where no more is known of a farm: an assumption, as on the Results sheet of the workbook."""
ENOUGH = 7
"""How many batches tell the dispersion of their group."""

_KILOGRAM = "kg"


class _Column(NamedTuple):
    """A column that is read: its heading, and the argument of a function that its numbers are."""

    heading: str
    function: str = ""
    place: int = 0
    blank: float | str | None = None

    @property
    def argument(self) -> Argument | None:
        """What a number of the column may be; nothing where it holds names."""
        return definition(self.function).arguments[self.place] if self.function else None


_BATCH = _Column("batch")
_MADE = _Column("made", "START_DATE")
_BLOCKS = _Column("blocks", "LOSS_LOW", 1)
_LOST = _Column("lost", "LOSS_LOW", blank=0.0)
_DRY = _Column("dry substrate", "BIOLOGICAL_EFFICIENCY", 1)
_DATE = _Column("date", "START_DATE")
_FRESH = _Column("fresh mass", "BIOLOGICAL_EFFICIENCY")


def harvest_summary(
    batches: Any, harvests: Any, by: str, dispersion: float = ASSUMED_DISPERSION
) -> Answer:
    """Losses and yields of all batches of each strain, recipe, room or month.

    Parameters
    ----------
    batches : sequence of sequence
        A row a batch, headings first: Batch, Made, Blocks, Lost, Dry substrate, and Strain,
        Recipe or Room.
    harvests : sequence of sequence
        A row a harvest, headings first: Batch, Date, Fresh mass.
    by : str
        What to sum up by: strain, recipe, room or month.
    dispersion : float, optional
        How much more the losses of batches vary than luck alone would make them vary, for a group
        of fewer than 7 batches: 1 or more; 2.5 if left out, an assumption. Measure yours:
        DISPERSION.

    Returns
    -------
    list of list
        A row of headings, then for each strain, recipe, room or month: blocks, lost, loss rate
        with the ends of its interval, fresh mass, BE, mass of a good block, days.

    Raises
    ------
    FunctionError
        If a heading is missing, or a cell holds what does not belong there; the message names
        table, row and heading.

    Notes
    -----
    Blocks and losses are those of all batches; a blank for the lost ones means that none was.
    Fresh mass, BE, mass of a good block and days from making to the last harvest are those of the
    batches that were harvested, since a batch in progress has no yield yet. BE counts the dry
    substrate of the blocks that were not lost: what the mushrooms grew on.

    A heading may name the unit of its numbers after a comma, ``Fresh mass, lb``; without one they
    are in kg. Masses come back in the unit of the harvests.

    References
    ----------
    Sums and means; Wilson score interval: Newcombe 1998, Stat. Med. 17:857, method 3, on counts
    divided by the dispersion: Rao & Scott 1992, Biometrics 48:577.

    Examples
    --------
    >>> harvest_summary(
    ...     [["Batch", "Made", "Strain", "Blocks", "Lost", "Dry substrate"],
    ...      ["B1", "2026-03-02", "Blue oyster", 20, 2, "20 kg"]],
    ...     [["Batch", "Date", "Fresh mass"], ["B1", "2026-04-11", "14.4 kg"]],
    ...     "strain")[1]
    ['Blue oyster', 20.0, 2.0, 0.1, 0.0152, 0.4443, 14.4, 0.8, 0.8, 40.0]
    """
    if is_blank_range(batches) and is_blank_range(harvests):
        return ""
    name, spread = _group_name(by), _dispersion(dispersion)
    group = [] if name == GROUPS[-1] else [_Column(name, blank="none")]
    made, _ = _read("batches", batches, [_BATCH, _MADE, _BLOCKS, _LOST, _DRY, *group])
    picked, unit = _read("harvests", harvests, [_BATCH, _DATE, _FRESH])
    frame = _joined(made, picked)
    frame["group"] = _labels(frame, group)
    from_kilogram = 1 / quantity_in(f"1 {unit}", DIMENSIONS[_KILOGRAM])
    headings = [
        *(name.capitalize(), "Blocks", "Lost", "Loss rate", "Loss rate, low end"),
        *("Loss rate, high end", f"Fresh mass, {unit}", "BE", f"Mass of a good block, {unit}"),
        "Days",
    ]
    frame["key"] = frame["group"].str.casefold()
    groups = frame.groupby("key", sort=not group)
    return [headings, *(_summed(rows, from_kilogram, spread) for _, rows in groups)]


def why_no_summary(
    batches: Any = None, harvests: Any = None, by: Any = None, dispersion: Any = None
) -> str:
    """Describe why there is no summary; an empty text where there is one."""
    try:
        harvest_summary(batches, harvests, by, dispersion)
    except FunctionError as error:
        return str(error)
    return ""


def _group_name(by: object) -> str:
    """Read what to sum up by; the month, alone, has no column of its own."""
    cells = flat(as_grid(by))
    value = plain(cells[0]) if len(cells) == 1 else by
    name = value.strip().casefold() if isinstance(value, str) else ""
    if name in GROUPS:
        return name
    needs = f"needs {', '.join(GROUPS[:-1])} or {GROUPS[-1]}."
    if error_code(value):
        raise ErrorGiven(f"by: is the error {error_code(value)} already.", error_code(value))
    if is_blank(value):
        raise Missing(f"by: is blank, {needs}")
    raise WrongType(f"by: got {shown(value)}, {needs}")


def _dispersion(given: object) -> float:
    """Read the dispersion of groups with few batches; a blank is the assumption."""
    from cultivar_fx.calls.arguments import read_number

    argument = next(one for one in definition("LOSS_LOW").arguments if one.name == "dispersion")
    cells = flat(as_grid(given))
    value = plain(cells[0]) if len(cells) == 1 else given
    code = error_code(value)
    if code:
        raise ErrorGiven(f"dispersion: is the error {code} already.", code)
    return ASSUMED_DISPERSION if is_blank(value) else read_number(argument, value)


def _read(name: str, table: Any, columns: list[_Column]) -> tuple[pd.DataFrame, str]:
    """Read the wanted columns of a range, and the unit that the last one's heading names."""
    pandas = _pandas()
    grid = as_grid(table)
    if hasattr(table, "columns"):
        grid = [list(table.columns), *(grid if len(table) else [])]
    places, units = _places(name, grid[0], columns)
    rows: list[list[Any]] = []
    for number, line in enumerate(grid[1:], 2):
        cells = [plain(line[place]) for place in places]
        if not all(map(is_blank, cells)):
            where = f"{name}, row {number}"
            rows.append([number, *map(_cell, columns, cells, units, [where] * len(cells))])
    frame = pandas.DataFrame(rows, columns=["row", *(column.heading for column in columns)])
    numbers = {column.heading: float for column in columns if column.function}
    return frame.astype(numbers), units[-1] or _KILOGRAM


def _pandas() -> Any:
    try:
        import pandas
    except ImportError as error:
        raise FunctionError(
            'HARVEST_SUMMARY: the library pandas is missing; "pip install cultivar-fx[tables]".'
        ) from error
    return pandas


def _places(name: str, row: list[Any], columns: list[_Column]) -> tuple[list[int], list[str]]:
    """Find the columns by their headings; what follows a comma is the unit."""
    parts = [str(one or "").rpartition(",") for one in row]
    headings = [" ".join((one or rest).split()).casefold() for one, _, rest in parts]
    for column in columns:
        found = headings.count(column.heading)
        if found != 1:
            fault = "has no heading" if not found else f"has {found} headings"
            there = ", ".join(str(one) for one in row if not is_blank(plain(one)))
            raise WrongType(
                f"{name}: {fault} {column.heading.capitalize()!r}, needs one; "
                f"its first row is {shown(there)}."
            )
    places = [headings.index(column.heading) for column in columns]
    return places, [_unit(name, column, *parts[place]) for column, place in zip(columns, places)]


def _unit(name: str, column: _Column, heading: str, comma: str, unit: str) -> str:
    """Return the unit that a heading names, where its numbers have any."""
    argument = column.argument
    if not comma or not argument or not argument.dimension.has_unit:
        return ""
    try:
        converter(unit.strip(), argument.dimension)
    except FunctionError as error:
        raise type(error)(f"{name}: the heading {heading + comma + unit!r} {error}.") from error
    return unit.strip()


def _cell(column: _Column, value: object, unit: str, where: str) -> object:
    """Read one cell: a number, or a name, under which numbers and texts alike are found."""
    from cultivar_fx.calls.arguments import read_number

    place = f"{where}, {column.heading}"
    code = error_code(value)
    if code:
        raise ErrorGiven(f"{place}: is the error {code} already.", code)
    if is_blank(value):
        if column.blank is None:
            raise Missing(f"{place}: is blank, needs a value.")
        return column.blank
    if column.argument is None:
        return _name(value)
    return read_number(column.argument._replace(name=place), _with_unit(value, unit))


def _name(value: object) -> str:
    """Return a name as text; a number has none of the zeros that a spreadsheet does not show."""
    whole = isinstance(value, float) and value.is_integer()
    return " ".join((f"{value:.0f}" if whole else str(value)).split())


def _with_unit(value: object, unit: str) -> object:
    """Return a plain number the unit of its heading; a text that names its unit keeps it."""
    if not unit or isinstance(value, bool):
        return value
    if isinstance(value, str):
        parsed = parse_number_and_unit(value)
        return f"{value} {unit}" if parsed and not parsed[1] else value
    return f"{value} {unit}" if hasattr(value, "__float__") else value


def _joined(batches: pd.DataFrame, harvests: pd.DataFrame) -> pd.DataFrame:
    """Put to each batch its fresh mass and its days; those in progress have none yet."""
    batches["name"] = batches["batch"].str.casefold()
    harvests["name"] = harvests["batch"].str.casefold()
    _need(batches, ~batches["name"].duplicated(), "batches", "is there twice, needs one row")
    _need(
        batches, batches["lost"] <= batches["blocks"], "batches", "has lost more blocks than it had"
    )
    known = harvests["name"].isin(batches["name"])
    _need(harvests, known, "harvests", "is not among the batches")
    picked = harvests.groupby("name").agg(fresh=("fresh mass", "sum"), last=("date", "max"))
    frame = batches.join(picked, on="name")
    frame["good"] = frame["blocks"] - frame["lost"]
    frame["grown on"] = frame["dry substrate"] * frame["good"] / frame["blocks"]
    frame["days"] = frame["last"] // 1 - frame["made"] // 1
    _need(frame, ~(frame["days"] < 0), "batches", "was harvested before it was made")
    unlikely = (frame["good"] == 0) & (frame["fresh"] > 0)
    _need(frame, ~unlikely, "batches", "has a harvest though all its blocks are lost")
    return frame


def _need(frame: pd.DataFrame, holds: Any, name: str, fault: str) -> None:
    """Refuse a table for the first row in which something does not hold."""
    for _, row in frame[~holds].iterrows():
        raise NotPossible(f"{name}, row {row['row']}: batch {row['batch']!r} {fault}.")


def _labels(frame: pd.DataFrame, group: list[_Column]) -> Any:
    if group:
        return frame[group[0].heading]
    return frame["made"].map(lambda day: f"{date_of(day):%Y-%m}").astype(object)


def _summed(rows: pd.DataFrame, from_kilogram: float, assumed: float) -> list[Any]:
    """Return the row of one group; what only harvested batches have is empty without any."""
    blocks, lost = float(rows["blocks"].sum()), float(rows["lost"].sum())
    spread = assumed
    # Where no block or every one is lost, batches cannot differ, and tell no dispersion.
    if len(rows) >= ENOUGH and 0 < lost < blocks:
        spread = evidence.dispersion(list(rows["lost"]), list(rows["blocks"]))
        spread *= _for_few(len(rows) - 1)
    losses = [lost / blocks, loss_low(lost, blocks, dispersion=spread)]
    losses.append(loss_high(lost, blocks, dispersion=spread))
    harvested = rows.dropna(subset=["last"])
    fresh, good = harvested["fresh"].sum(), harvested["good"].sum()
    yields: list[Any] = [""] * 4
    if len(harvested):
        yields[0] = float(fresh * from_kilogram)
        yields[3] = float(harvested["days"].mean())
    if good > 0:
        yields[1] = float(fresh / harvested["grown on"].sum())
        yields[2] = float(fresh * from_kilogram / good)
    return [rows["group"].iloc[0], blocks, lost, *losses, *yields]


def _for_few(degrees: int, confidence: float = 0.95) -> float:
    """Return (t/z)², which widens an interval for a dispersion that few batches tell."""
    low, high = 0.0, 1e6
    for _ in range(100):
        middle = (low + high) / 2
        if student_two_sided(middle, degrees) > 1 - confidence:
            low = middle
        else:
            high = middle
    return high / two_sided(confidence) ** 2
